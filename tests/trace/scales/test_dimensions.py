"""Dimension strings: drawn here at a known scale in the usual ways, and read back."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from itertools import pairwise

import pymupdf
import pytest

from takeoff.model.plan import Sheet
from takeoff.sheet.text import TextLine, Word, read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.scales.dimensions import find_dimensions
from takeoff.trace.scales.lengths import DrawnLength, written_lengths
from takeoff.units import parse_length

Place = tuple[float, float]
FOOT = 0.3048
QUARTER_INCH = FOOT / 18
"""Metres per point at 1/4" to the foot: a foot is 18 points."""
HALF_INCH_TEXT = 7.0


class Paper:
    """A page on which dimensions are drawn as draughtsmen do."""

    def __init__(self, size: Place = (800, 600)) -> None:
        self.document = pymupdf.open()
        self.page = self.document.new_page(width=size[0], height=size[1])

    def line(self, a: Place, b: Place, width: float = 0.25) -> None:
        self.page.draw_line(a, b, width=width)

    def write(self, text: str, middle: Place, *, angle: float = 0.0, size: float = HALF_INCH_TEXT) -> None:
        """Write a text round its middle, turned by ``angle`` degrees counter-clockwise as displayed."""
        width = pymupdf.get_text_length(text, fontsize=size)
        start = pymupdf.Point(middle[0] - width / 2, middle[1] + 0.35 * size)
        turn = pymupdf.Matrix(1, 1).prerotate(angle)
        self.page.insert_text(start, text, fontsize=size, morph=(pymupdf.Point(middle), turn))

    def dimension(self, a: Place, b: Place, text: str, *, ends: str = "tick", beyond: float = 0.0) -> None:
        """Draw a dimension line from a to b with its text above it; ``beyond`` overshoots both ends."""
        length = math.dist(a, b)
        ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
        self.line((a[0] - beyond * ux, a[1] - beyond * uy), (b[0] + beyond * ux, b[1] + beyond * uy))
        for (x, y), inward in ((a, 1), (b, -1)):
            self.line((x - 8 * uy, y + 8 * ux), (x + 8 * uy, y - 8 * ux))
            self._end(ends, x, y, inward * ux, inward * uy)
        middle = ((a[0] + b[0]) / 2 + 7 * uy, (a[1] + b[1]) / 2 - 7 * ux)
        self.write(text, middle, angle=-math.degrees(math.atan2(uy, ux)))

    def _end(self, kind: str, x: float, y: float, ux: float, uy: float) -> None:
        if kind == "tick":
            self.line((x - 3 * (ux - uy), y - 3 * (uy + ux)), (x + 3 * (ux - uy), y + 3 * (uy + ux)), 0.7)
        elif kind == "half ticks":
            self.line((x, y), (x + 3 * (ux - uy), y + 3 * (uy + ux)), 0.7)
            self.line((x, y), (x - 3 * (ux - uy), y - 3 * (uy + ux)), 0.7)
        elif kind in ("arrow", "filled arrow"):
            barbs = [(x + 7 * ux - 2 * side * uy, y + 7 * uy + 2 * side * ux) for side in (1, -1)]
            if kind == "arrow":
                for barb in barbs:
                    self.line((x, y), barb)
            else:
                self.page.draw_polyline([(x, y), *barbs, (x, y)], fill=(0, 0, 0), color=None, width=0)
        elif kind == "dot":
            self.page.draw_circle((x, y), 1.6, fill=(0, 0, 0), color=None, width=0)
        elif kind == "fan":  # as plotters write a dot: eight triangles from its middle, each outlined too
            round_ = [(x + 1.6 * math.cos(a * math.pi / 4), y + 1.6 * math.sin(a * math.pi / 4)) for a in range(9)]
            for place, following in pairwise(round_):
                self.page.draw_polyline([(x, y), place, following, (x, y)], fill=(0, 0, 0), width=0.1)
        elif kind == "circle":
            self.page.draw_circle((x, y), 1.6, width=0.25)

    def data(self) -> bytes:
        return bytes(self.document.tobytes())

    def found(self) -> tuple[DrawnLength, ...]:
        data, sheet = self.data(), self.sheet
        return find_dimensions(read_linework(data, sheet), read_lines(data, sheet))

    @property
    def sheet(self) -> Sheet:
        size = self.page.rect
        return Sheet(id=1, source="", page=1, width_pt=size.width, height_pt=size.height)


def line_of(*texts: str, gap: float = 2.0) -> TextLine:
    words, x = [], 0.0
    for text in texts:
        width = 4.0 * len(text)
        words.append(Word(text=text, box_pt=(x, 0.0, x + width, 10.0)))
        x += width + gap
    return TextLine(words=tuple(words), box_pt=(0.0, 0.0, x - gap, 10.0))


@pytest.mark.parametrize("ends", ["tick", "half ticks", "arrow", "filled arrow", "dot", "fan", "circle", "none"])
@pytest.mark.parametrize("angle", [0, 90, 180, 270, 30, -52])
def test_a_dimension_is_matched_to_its_ends_however_they_are_drawn_and_turned(ends: str, angle: float) -> None:
    paper = Paper()
    reach = 12.5 * 18 / 2  # half of 12'-6" at 18 points to the foot
    ux, uy = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    paper.dimension((400 - reach * ux, 300 - reach * uy), (400 + reach * ux, 300 + reach * uy), "12'-6\"", ends=ends)
    [dimension] = paper.found()
    assert dimension.length == pytest.approx(3.81)
    assert dimension.m_per_pt == pytest.approx(QUARTER_INCH, rel=1e-3)
    assert (dimension.u_least == 0) == (ends != "none")


def test_a_line_that_overshoots_its_ticks_is_measured_between_them() -> None:
    paper = Paper()
    paper.dimension((100, 300), (460, 300), "20'-0\"", beyond=3.4)
    [dimension] = paper.found()
    assert sorted((dimension.start_pt, dimension.end_pt)) == [
        pytest.approx((100, 300), abs=0.01),
        pytest.approx((460, 300), abs=0.01),
    ]


def test_a_line_without_marks_that_stops_short_of_two_walls_spans_them() -> None:
    paper = Paper()
    for x in (100, 300):
        paper.line((x, 50), (x, 150), 2.0)
    paper.line((103, 100), (297, 100))
    paper.write("3.53", (200, 94))
    assert [(found.length, round(found.length_pt)) for found in paper.found()] == [(3.53, 200)]


def test_a_text_that_stands_level_in_a_gap_of_an_upright_line_is_its_length() -> None:
    paper = Paper()
    for y in (100, 300):
        paper.line((90, y), (110, y))
        paper.line((97, y + 3), (103, y - 3), 0.7)
    paper.line((100, 100), (100, 192))
    paper.line((100, 208), (100, 300))
    paper.write("3.53 m", (100, 200))
    assert [(found.length, round(found.length_pt)) for found in paper.found()] == [(3.53, 200)]


def test_a_chain_on_one_line_comes_apart() -> None:
    paper = Paper()
    feet = [4.0, 7.5, 3.25, 12.0]
    x = 60.0
    for length, text in zip(feet, ["4'-0\"", "7'-6\"", "3'-3\"", "12'-0\""], strict=True):
        paper.dimension((x, 200), (x + 18 * length, 200), text)
        x += 18 * length
    assert [d.length for d in paper.found()] == pytest.approx([length * FOOT for length in feet])
    assert [d.m_per_pt for d in paper.found()] == pytest.approx([QUARTER_INCH] * 4, rel=1e-3)


def test_a_line_that_is_broken_for_its_text_is_whole() -> None:
    paper = Paper()
    for a, b in (((100, 300), (255, 300)), ((305, 300), (460, 300))):
        paper.line(a, b)
    for x in (100, 460):
        paper.line((x - 3, 303), (x + 3, 297), 0.7)
    paper.write("20'-0\"", (280, 300))
    [dimension] = paper.found()
    assert dimension.m_per_pt == pytest.approx(QUARTER_INCH, rel=1e-3)


def test_running_dimensions_which_stand_at_their_marks_are_not_matched() -> None:
    paper = Paper()
    paper.line((100, 300), (500, 300))
    for x in (100, 190, 325, 500):
        paper.line((x - 3, 303), (x + 3, 297), 0.7)
        paper.write(f"{(x - 100) / 18:g}'", (x, 290))
    assert paper.found() == ()


def test_a_length_that_stands_at_no_line_is_no_dimension() -> None:
    paper = Paper()
    paper.dimension((100, 300), (460, 300), "20'-0\"")
    paper.write("8'-0\"", (300, 100))
    assert [d.text for d in paper.found()] == ["20'-0\""]


def test_a_room_number_in_its_box_is_no_dimension() -> None:
    paper = Paper()
    paper.page.draw_rect((100, 100, 130, 114), width=0.3)
    paper.write("104", (115, 107))
    assert paper.found() == ()


@pytest.mark.parametrize(
    ("text", "metres", "step"),
    [
        ("19' - 5 5/8\"", 19 * FOOT + 5.625 * 0.0254, 0.0254 / 8),
        ('157 1/2"', 157.5 * 0.0254, 0.0254 / 2),
        ("12'-6\" TYP.", 3.81, 0.0254),
        ("±12'-6\"", 3.81, 0.0254),
        ("3'-0\" [914]", 0.9144, 0.0254),
        ("3.81 m", 3.81, 0.01),
        ("381 cm", 3.81, 0.01),
        ("3810 mm", 3.81, 0.001),
        ("12.5'", 3.81, 0.1 * FOOT),
        ("3810", 3.81, 0.001),
        ("3.810", 3.81, 0.001),
        ("3,81", 3.81, 0.01),
        ("3.81⁵", 3.815, 0.001),  # half a centimetre raised, as DIN 1356-1 has it (from memory)
        ("36⁵", 0.365, 0.001),
        ("-3810.00-", 3.81, 0.00001),  # the line is broken for it
        ("3810.00 REF", 3.81, 0.00001),
    ],
)
def test_lengths_are_read_with_the_last_place_that_they_show(text: str, metres: float, step: float) -> None:
    [written] = written_lengths([line_of(*text.split(" "))])
    assert written.length == pytest.approx(metres)
    assert written.step == pytest.approx(step)
    assert written.is_bare == re.sub(r"[.,-]| REF", "", text).isdigit()


@pytest.mark.parametrize(
    "text",
    [
        "A202",
        "101A",
        "R 9042",
        "CLG 2743",
        '1/4" = 1\'-0"',
        "2026-03-02",
        "SHEET 3 OF 9",
        "-3.60",
        "8.00 - 9.30",
        "10-12",
    ],
)
def test_other_texts_are_no_lengths(text: str) -> None:
    assert written_lengths([line_of(*text.split(" "))]) == []


def test_feet_and_inches_may_lack_their_marks() -> None:
    assert [found.length for found in written_lengths([line_of("12-6")])] == pytest.approx([3.81])


def test_several_lengths_on_one_line_of_text_come_apart_at_wide_gaps() -> None:
    found = written_lengths([line_of("3'-0\"", "5'-6\"", gap=40.0)])
    assert [written.length for written in found] == [parse_length("3'-0\""), parse_length("5'-6\"")]


def test_a_sheet_without_lines_or_without_text_has_no_dimensions() -> None:
    paper = Paper()
    paper.write("20'-0\"", (280, 300))
    assert paper.found() == ()
    empty: Sequence[TextLine] = []
    assert find_dimensions(read_linework(paper.data(), paper.sheet), empty) == ()


def test_a_dimension_line_may_end_where_its_filled_arrowheads_begin() -> None:
    paper = Paper()
    paper.line((107, 200), (273, 200))
    for x, inward in ((100, 1), (280, -1)):
        paper.line((x, 190), (x, 210))
        paper._end("filled arrow", x, 200, inward, 0)
    paper.write("10'-0\"", (190, 194))
    [found] = paper.found()
    assert found.length_pt == pytest.approx(180, abs=0.05)
    assert found.u_least == 0


@pytest.mark.parametrize("times", [1.0, 5.0, 12.0])
def test_the_marks_of_a_page_plotted_several_times_larger_are_as_much_larger(times: float) -> None:
    paper = Paper((800 * times, 600 * times))
    paper.line((107 * times, 200 * times), (273 * times, 200 * times))
    for x, inward in ((100, 1), (280, -1)):
        barbs = [((x + 7 * inward) * times, (200 + side) * times) for side in (1.5, -1.5)]
        paper.page.draw_polyline([(x * times, 200 * times), *barbs], fill=(0, 0, 0), color=None, width=0)
    paper.write("10'-0\"", (190 * times, 193 * times), size=HALF_INCH_TEXT * times)
    (found,) = paper.found()
    assert found.m_per_pt == pytest.approx(QUARTER_INCH / times, rel=1e-3)


def test_a_white_field_that_clears_the_line_for_its_text_is_no_dimension_line() -> None:
    """Two white triangles with a white pen lie behind each text, as some programs write them."""
    paper = Paper()
    x0, y0, x1, y1 = 390, 294, 412, 306
    paper.line((100, 300), (380, 300))
    paper.line((420, 300), (700, 300))
    for end, inward in ((100, 1), (700, -1)):
        paper._end("tick", end, 300, inward, 0)
    for corner in ((x0, y0), (x1, y1)):
        paper.page.draw_polyline([(x0, y1), corner, (x1, y0)], color=(1, 1, 1), fill=(1, 1, 1), closePath=True, width=0)
    paper.write("600", (401, 300), size=11)
    [found] = paper.found()
    assert sorted((found.start_pt[0], found.end_pt[0])) == pytest.approx([100, 700])
