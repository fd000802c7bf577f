"""The numbers that steer what is read of scales: what a sheet has on either side of each, and what is read of it."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from takeoff.model.plan import Sheet
from takeoff.sheet.ocr import scan_dpi
from takeoff.sheet.text import TextLine, Word
from takeoff.trace.drawing.linework import empty_linework
from takeoff.trace.drawing.raster_strokes import find_strokes
from takeoff.trace.scales.grid_lines import grid_lengths
from takeoff.trace.scales.scale_weighing import weigh_votes
from takeoff.trace.scales.signs import Signs, read_signs
from tests.trace.scales.test_dimensions import Paper
from tests.trace.scales.test_grid_lines import ACROSS, draw_grid, grid_of, known
from tests.trace.scales.test_scale_bars import bars_of, draw_bar
from tests.trace.scales.test_scale_votes import POINT, ratio, vote


def is_bar_heard(u: float) -> bool:
    """Tell whether a scale bar that is known so badly, and is twice off, speaks against four dimensions."""
    dimensions = [vote("dimension", 48 * k) for k in (1.0, 1.0002, 1.0006, 0.9994)]
    return weigh_votes([*dimensions, vote("bar", 96, u=u)]).doubts != ()


def are_checked(u: float) -> bool:
    """Tell whether four dimensions that are known so well together are to be checked with a longer one."""
    return weigh_votes([vote("dimension", 50, u=2 * u) for _ in range(4)]).doubts != ()


def reader_of(off: float) -> str:
    """Return what tells the scale where the dimensions are so much off the note."""
    return weigh_votes([vote("note", 48), *(vote("dimension", 48 * (1 + off), u=0.0001) for _ in range(4))]).reader


def unit_of(drawn: float) -> float | None:
    """Return the ratio of large bare numbers that as metres would be drawn at this ratio."""
    lengths = (8.0, 12.0, 14.0, 12.0, 60.0)
    bare = [vote("dimension", drawn, text=f"{one:.2f}", span=one / (drawn * POINT)) for one in lengths]
    return ratio(weigh_votes([replace(one, is_bare=True) for one in bare]))


def asks_of_map(plan: float, beside: float) -> bool:
    """Tell whether a plan that is dimensioned throughout is asked about for a note of another scale beside its own."""
    signs = Signs(drawn_pt=(0.0, -1.0, 50.0, 1.0))
    votes = [vote("note", beside), vote("note", plan), *(vote("dimension", plan) for _ in range(5))]
    return weigh_votes(votes, signs).doubts != ()


def dpi_of(longest: float) -> float:
    """Return the pixels per inch at which a drawing with letters as lines is read, by its longer side in points."""
    return scan_dpi(Sheet(id=1, source="", page=1, width_pt=longest, height_pt=100.0))


def is_reduced(size_pt: float) -> bool:
    """Tell whether lines of text so high, capitals of 0.6 of that, are those of a reduced print: under 1.4 mm."""
    line = TextLine(words=(Word(text="NOTE", box_pt=(0, 0, 90, size_pt)),), box_pt=(0, 0, 90, size_pt))
    signs = read_signs(empty_linework(), [line])
    return "letters are only" in " ".join(weigh_votes([vote("note", 48)], signs).doubts)


def strokes(hole: int, length: int = 60) -> int:
    """Count the strokes of a line two pixels wide, with a break in its middle and as much ink on either side."""
    ink = np.zeros((80, 240), np.float32)
    ink[40:42, 20 : 20 + length] = ink[40:42, 20 + length + hole : 20 + 2 * length + hole] = 1.0
    return len(find_strokes(ink))


def is_one_stroke(rise: float) -> bool:
    """Tell whether a line and a paler one beside it are one, where the ink between them is paler by so much still."""
    ink = np.zeros((80, 240), np.float32)
    ink[40:42, 20:200], ink[42:44, 20:200], ink[44:46, 20:200] = 1.0, 0.3, 0.3 + rise
    return bool(find_strokes(ink)[0, 1] > 41.5)  # the middle of the line alone is at 40.5 to 41.2


def is_bar(off: float) -> bool:
    """Tell whether ticks 400 points apart in all are a bar of which one stands so many points off its place."""
    paper, unit = Paper(), 80.0
    draw_bar(paper, [0, 1, 2 + off / unit, 5], ["0", "1", "2", "5 m"], unit, "ticks")
    return len(bars_of(paper)) == 1


def fits(off: float) -> bool:
    """Tell whether a grid is the one of another sheet where its middle line lies so many points off."""
    this = known(draw_grid(Paper()))
    return bool(grid_lengths(grid_of(draw_grid(Paper(), {"1": 0.0, "2": 90.0 + off, "3": 150.0})), [this]))


def is_uneven(times: float) -> bool:
    """Tell whether bays one way, of which one is so many times as wide, tell which part of a building they are of."""
    bays = {"1": 0.0, "2": 100.0 * times, "3": 100.0 + 100.0 * times}
    return bool(grid_lengths(grid_of(draw_grid(Paper(), bays, {})), [known(draw_grid(Paper(), bays, {}))]))


def fits_both_ways(times: float) -> bool:
    """Tell whether a grid is that of another sheet where it is so many times wider one way."""
    up = {name: times * at for name, at in ACROSS.items()}
    return bool(grid_lengths(grid_of(draw_grid(Paper(), up)), [known(draw_grid(Paper()))]))


def is_grid_line(*, beside: float = 0.0, aslant: float = 0.0, off: float = 0.0, open_by: float = 0.0) -> bool:
    """Tell whether a line at a circle of 12 points is a grid line.

    Its name stands ``beside`` the middle, it runs ``aslant`` by so many points, it aims past the middle by ``off``, and
    the circle is open by so many degrees.
    """
    paper = Paper()
    turn = math.radians(open_by)
    round_ = [
        (300 + 12 * math.cos(a), 300 + 12 * math.sin(a)) for a in np.linspace(turn / 2, 2 * math.pi - turn / 2, 40)
    ]
    for a, b in pairwise(round_):
        paper.line(a, b)
    paper.write("4", (300 + beside, 300))
    paper.line((300 + off, 312), (300 + off + aslant, 500))
    return bool(grid_of(paper))


@pytest.mark.parametrize(
    ("says", "within", "beyond"),
    [
        (is_bar_heard, (0.092, True), (0.108, False)),
        (are_checked, (0.0027, True), (0.0023, False)),
        (reader_of, (0.0046, "note"), (0.0054, "dimension")),
        (unit_of, (700.0, 700.0), (940.0, 286.5)),
        (strokes, (3, 1), (4, 2)),
        (lambda length: strokes(30, length), (8, 2), (7, 0)),
        (is_one_stroke, (0.09, True), (0.11, False)),
        (is_reduced, (6.1, True), (7.2, False)),
        (is_bar, (1.8, True), (2.2, False)),
        (lambda beside: asks_of_map(50, beside), (410, False), (390, True)),
        (lambda beside: asks_of_map(120, beside), (490, False), (470, True)),
        (dpi_of, (421.0, 400.0), (2000.0, 200.0)),
        (fits, (0.9, True), (1.4, False)),
        (is_uneven, (1.06, True), (1.04, False)),
        (fits_both_ways, (1.002, True), (1.004, False)),
        (lambda beside: is_grid_line(beside=beside), (6.5, True), (8.0, False)),
        (lambda off: is_grid_line(off=off), (1.0, True), (1.4, False)),
        (lambda aslant: is_grid_line(aslant=aslant), (0.4, True), (0.6, False)),
        (lambda degrees: is_grid_line(open_by=degrees), (60.0, True), (80.0, False)),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_on_either_side_of_a_limit_something_else_is_read(says, within, beyond):
    assert [says(within[0]), says(beyond[0])] == [within[1], beyond[1]]
