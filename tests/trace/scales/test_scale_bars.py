"""Graphic scales: drawn here in the usual ways at a known scale, and read back."""

from __future__ import annotations

from itertools import pairwise

import pytest

from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.scales.lengths import DrawnLength
from takeoff.trace.scales.scale_bars import find_scale_bars
from takeoff.trace.scales.scale_votes import read_scale
from tests.trace.scales.test_dimensions import Paper

FOOT = 0.3048
METRE_AT_1_TO_50 = 72 / 0.0254 / 50


def bars_of(paper: Paper) -> tuple[DrawnLength, ...]:
    data, sheet = paper.data(), paper.sheet
    return find_scale_bars(read_linework(data, sheet), read_lines(data, sheet))


def draw_bar(paper: Paper, numbers: list[float], labels: list[str], unit_pt: float, kind: str = "blocks") -> None:
    """Draw a bar from (100, 300) to the right, its labels above it."""
    places = [100 + number * unit_pt for number in numbers]
    for index, (a, b) in enumerate(pairwise(places)):
        if kind == "blocks":
            paper.page.draw_rect((a, 300, b, 305), width=0.4, fill=(0, 0, 0) if index % 2 == 0 else (1, 1, 1))
        elif kind == "upright blocks":
            paper.page.draw_rect((300, a, 305, b), width=0.4, fill=(0, 0, 0) if index % 2 == 0 else (1, 1, 1))
        else:
            paper.line((a, 305), (b, 305))
    for place, label in zip(places, labels, strict=True):
        if kind == "ticks":
            paper.line((place, 300), (place, 305))
        if kind == "upright blocks":
            paper.write(label, (291, place))
        else:
            paper.write(label, (place, 294))


@pytest.mark.parametrize("kind", ["blocks", "ticks", "upright blocks"])
@pytest.mark.parametrize(
    ("numbers", "labels", "unit_pt", "length", "ratio"),
    [
        ([0, 1, 2, 5], ["0", "1", "2", "5 m"], METRE_AT_1_TO_50, 5.0, 50),
        ([0, 1, 2, 5], ["0m", "1m", "2m", "5m"], METRE_AT_1_TO_50, 5.0, 50),
        ([0, 4, 8, 16], ["0'", "4'", "8'", "16'"], 18.0, 16 * FOOT, 48),
        ([0, 4, 8, 16], ["0", "4", "8", "16 FT"], 9.0, 16 * FOOT, 96),
    ],
)
def test_a_bar_gives_the_scale(
    kind: str, numbers: list[float], labels: list[str], unit_pt: float, length: float, ratio: float
) -> None:
    paper = Paper()
    draw_bar(paper, numbers, labels, unit_pt, kind)
    [bar] = bars_of(paper)
    assert bar.length == pytest.approx(length)
    assert bar.m_per_pt * 72 / 0.0254 == pytest.approx(ratio, rel=1e-3)
    assert bar.text.startswith("0")


def test_the_part_left_of_nought_is_passed_over() -> None:
    paper = Paper()
    for a, b in ((100, 136), (136, 172), (172, 244), (244, 388)):
        paper.page.draw_rect((a, 300, b, 305), width=0.4)
    for place, label in ((100, "4"), (172, "0"), (244, "4"), (316, "8"), (388, "12 ft")):
        paper.write(label, (place, 294))
        paper.line((place, 300), (place, 305))
    [bar] = bars_of(paper)
    assert bar.m_per_pt == pytest.approx(FOOT / 18, rel=1e-3)


def test_a_row_of_four_or_more_without_a_unit_is_taken_for_metres_and_says_so() -> None:
    paper = Paper()
    draw_bar(paper, [0, 1, 2, 3, 4, 5], ["0", "1", "2", "3", "4", "5"], METRE_AT_1_TO_50)
    [bar] = bars_of(paper)
    assert (bar.length, bar.is_bare) == (5.0, True)
    reading = read_scale(
        paper.data(), paper.sheet, read_linework(paper.data(), paper.sheet), read_lines(paper.data(), paper.sheet)
    )
    assert "whose unit is taken for metres" in reading.doubts[0]


def test_labels_that_nearly_touch_come_apart() -> None:
    paper = Paper()
    draw_bar(paper, [0, 1, 2, 4, 8], ["0", "1'", "2'", "4'", "8'"], 9.0)
    assert any(line.text.startswith("0 1'") for line in read_lines(paper.data(), paper.sheet))
    [bar] = bars_of(paper)
    assert bar.length == pytest.approx(8 * FOOT)


def test_a_bar_that_is_too_short_to_tell_the_scale_speaks_against_a_note_that_is_far_off() -> None:
    paper = Paper()
    for feet in (0, 1, 2, 4, 8):
        paper.line((100 + 2.9 * feet, 300), (100 + 2.9 * feet, 304))
        paper.write(f"{feet}'" if feet else "0", (100 + 2.9 * feet, 297.5), size=2.5)
    paper.write('1/16" = 1\'-0"', (400, 500))
    data, sheet = paper.data(), paper.sheet
    reading = read_scale(data, sheet, read_linework(data, sheet), read_lines(data, sheet))
    assert "8'” gives about 1:29" in reading.doubts[0]
    assert reading.reader == "bar"


def test_a_unit_may_stand_beside_the_row() -> None:
    paper = Paper()
    draw_bar(paper, [0, 5, 10], ["0", "5", "10"], 18.0)
    paper.write("FEET", (190, 316))
    [bar] = bars_of(paper)
    assert bar.length == pytest.approx(10 * FOOT)


def test_a_row_without_a_unit_is_no_bar() -> None:
    paper = Paper()
    draw_bar(paper, [0, 5, 10], ["0", "5", "10"], 18.0)
    assert bars_of(paper) == ()


def test_labels_off_the_straight_law_are_no_bar() -> None:
    paper = Paper()
    draw_bar(paper, [0, 5, 10], ["0", "2", "10 ft"], 18.0)
    assert bars_of(paper) == ()


def test_labels_without_edges_are_no_bar() -> None:
    paper = Paper()
    for place, label in ((100, "0"), (190, "5"), (280, "10 ft")):
        paper.write(label, (place, 294))
    assert bars_of(paper) == ()


def test_two_labels_do_not_make_a_bar() -> None:
    paper = Paper()
    draw_bar(paper, [0, 10], ["0", "10 ft"], 18.0)
    assert bars_of(paper) == ()
