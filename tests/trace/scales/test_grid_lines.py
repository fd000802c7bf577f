"""Grid lines: found by the circle round their names, and known in metres where another sheet of the set is dimensioned.

That one grid runs through a set and is dimensioned on few of its sheets is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import pytest

from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.scales.grid_lines import GridLine, KnownGrid, grid_lengths, read_grid
from takeoff.trace.scales.scale_votes import read_scale
from tests.trace.scales.test_dimensions import Paper
from tests.trace.scales.test_scale_votes import POINT, ratio

ACROSS, UP = {"1": 0.0, "2": 90.0, "3": 150.0}, {"A": 0.0, "B": 120.0}
"""Grid lines up and along the sheet, in points from the first: bays of two widths one way, one bay the other way."""


def draw_grid(
    paper: Paper,
    up: Mapping[str, float] = ACROSS,
    along: Mapping[str, float] = UP,
    *,
    start: tuple[float, float] = (150.0, 150.0),
    times: float = 1.0,
    radius: float = 12.0,
) -> Paper:
    """Draw grid lines with a circle at their end, up the sheet at ``up`` and along it at ``along``."""
    left, top = start
    for name, x in up.items():
        bubble(paper, name, (left + times * x, top - 40), radius)
        paper.line((left + times * x, top - 40 + radius), (left + times * x, top + 300))
    for name, y in along.items():
        bubble(paper, name, (left - 40, top + times * y), radius)
        paper.line((left - 40 + radius, top + times * y), (left + 400, top + times * y))
    return paper


def bubble(paper: Paper, name: str, middle: tuple[float, float], radius: float = 12.0) -> None:
    paper.page.draw_circle(middle, radius, width=0.25)
    paper.write(name, middle)


def grid_of(paper: Paper) -> tuple[GridLine, ...]:
    data = paper.data()
    return read_grid(read_linework(data, paper.sheet), read_lines(data, paper.sheet))


def known(paper: Paper, m_per_pt: float = 96 * POINT) -> KnownGrid:
    return KnownGrid(called="sheet A101", m_per_pt=m_per_pt, u=0.0002, lines=grid_of(paper))


def told(paper: Paper, others: Sequence[KnownGrid]) -> float | None:
    """Return the N of 1:N that a sheet is read at beside others of its set."""
    data = paper.data()
    linework, lines = read_linework(data, paper.sheet), read_lines(data, paper.sheet)
    return ratio(read_scale(data, paper.sheet, linework, lines, lambda: others))


def test_a_grid_line_is_a_line_that_ends_at_a_circle_with_its_name():
    found = {(g.name, g.is_along, round(g.at_pt)) for g in grid_of(draw_grid(Paper()))}
    assert found == {("1", False, 150), ("2", False, 240), ("3", False, 300), ("A", True, 150), ("B", True, 270)}


def test_a_circle_may_be_drawn_stroke_by_stroke_and_touch_another():
    paper = Paper()
    for name, x in (("1", 200.0), ("2", 226.0)):
        round_ = [(x + 12 * math.cos(k * math.pi / 12), 200 + 12 * math.sin(k * math.pi / 12)) for k in range(25)]
        for a, b in pairwise(round_):
            paper.line(a, b)
        paper.write(name, (x, 200))
        paper.line((x, 212), (x, 400))
    assert [(g.name, round(g.at_pt)) for g in grid_of(paper)] == [("1", 200), ("2", 226)]


def test_marks_of_sections_and_numbers_without_a_line_are_no_grid_lines():
    paper = Paper()
    bubble(paper, "3", (200, 200))  # a mark without a line
    bubble(paper, "1", (300, 200), 20)
    paper.write("A301", (300, 212), size=6)  # a section: its sheet stands below
    paper.line((320, 200), (600, 200))
    bubble(paper, "7", (200, 400))
    paper.line((208.5, 408.5), (260, 460))  # a note's leader, aslant
    assert grid_of(paper) == ()


@pytest.mark.parametrize("times", [1.0, 2.0, 0.5])
def test_the_grid_of_another_sheet_tells_the_scale_whatever_that_of_this_one_is(times):
    assert told(draw_grid(Paper(), start=(200, 200), times=times), [known(draw_grid(Paper()))]) == 96 / times


def test_a_scale_bar_that_the_grid_contradicts_tells_nothing():
    """As on a set whose bar was copied from plans of twice the size."""
    paper = draw_grid(Paper())
    paper.dimension((150, 560), (150 + 148.2, 560), "8'-0\"")
    assert told(paper, []) == pytest.approx(46.7, abs=0.2)
    assert told(paper, [known(draw_grid(Paper()))]) == 96


def test_the_grid_of_another_building_tells_nothing():
    this = known(draw_grid(Paper()))
    assert told(draw_grid(Paper(), {"1": 0.0, "2": 60.0, "3": 150.0}), [this]) is None
    assert told(draw_grid(Paper(), {"1": 0.0, "2": 80.0, "3": 133.3}), [this]) is None  # fits one way, not the other


def test_bays_that_are_all_alike_tell_it_only_where_they_fit_both_ways():
    even = {"1": 0.0, "2": 80.0, "3": 160.0}
    assert told(draw_grid(Paper(), even, {}), [known(draw_grid(Paper(), even, {}))]) is None
    assert told(draw_grid(Paper(), even), [known(draw_grid(Paper(), even))]) == 96


def test_two_plans_on_a_sheet_have_a_grid_each():
    paper = draw_grid(Paper((1200, 600)), start=(100, 150))
    draw_grid(paper, start=(700, 150))
    assert told(paper, [known(draw_grid(Paper()))]) == 96
    draw_grid(paper, start=(500, 400), times=0.5)
    assert grid_lengths(grid_of(paper), [known(draw_grid(Paper()))]) == []  # one of them at another scale
