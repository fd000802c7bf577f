"""Sizes printed in rooms: rooms that are drawn at a known scale bear it out, and no other."""

from __future__ import annotations

import io
from collections.abc import Sequence

import pytest
from PIL import Image

from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.scales.room_sizes import faces_of, room_sizes_alone, room_sizes_at
from takeoff.trace.scales.scale_votes import read_scanned_scale
from takeoff.trace.scales.signs import Signs
from tests.trace.scales.test_dimensions import Paper

POINT = 0.0254 / 72
DOORS = Signs(doors=((0.0, 0.0, 0.9 / (50 * POINT)),))
"""A door of 0.9 m at 1:50."""
ROOMS = ((3.25, 4.1), (2.4, 3.15), (5.05, 3.6), (4.45, 2.7))


def drawn(
    factor: float = 1.0, rooms: Sequence[tuple[float, float]] = ROOMS, says: str = "{} x {} m", pen: float = 0.0
) -> Paper:
    """Draw rooms in a row at 1:50 and say that they are ``factor`` times as large; a pen so wide draws their walls."""
    paper, x = Paper((1200, 400)), 50.0
    for wide, deep in rooms:
        right, bottom = x + wide / (50 * POINT), 50 + deep / (50 * POINT)
        half = pen / 2
        paper.page.draw_rect((x - half, 50 - half, right + half, bottom + half), width=pen or 1.0)
        paper.page.draw_rect((x + 10, 60, x + 40, 75))  # furniture
        size = says.format(f"{factor * wide:.2f}", f"{factor * deep:.2f}")
        paper.write(size, ((x + right) / 2, (50 + bottom) / 2))
        x = right + 5 + 2 * pen
    return paper


def alone(paper: Paper) -> tuple[list[float], bool]:
    """Return the ratios that sizes give by themselves, and whether they do so for sure."""
    faces, lines = faces_of(read_linework(paper.data(), paper.sheet)), read_lines(paper.data(), paper.sheet)
    sizes, is_sure = room_sizes_alone(faces, lines, DOORS)
    return [size.m_per_pt / POINT for size in sizes], is_sure


def found(ratio: float, factor: float = 1.0) -> list[float]:
    """Return the ratios that sizes give at a scale that is told otherwise."""
    paper = drawn(factor)
    faces, lines = faces_of(read_linework(paper.data(), paper.sheet)), read_lines(paper.data(), paper.sheet)
    return [size.m_per_pt / POINT for size in room_sizes_at(faces, lines, ratio * POINT)]


def test_sizes_that_fit_the_rooms_around_them_bear_a_scale_out() -> None:
    assert found(50) == pytest.approx([50] * 4, rel=0.005)


@pytest.mark.parametrize("ratio", [25, 35.4, 48, 52, 70.7, 100])
def test_sizes_bear_no_other_scale_out(ratio: float) -> None:
    assert found(ratio) == []


def test_sizes_of_other_rooms_bear_nothing_out() -> None:
    assert found(50, factor=1.07) == []


@pytest.mark.parametrize(
    ("factor", "says", "pen"), [(1.0, "{} x {} m", 0.0), (1.07, "{} x {} m", 0.0), (1.0, "{} X {}", 0.0)]
)
def test_four_different_sizes_that_fit_their_rooms_tell_the_scale_by_themselves(
    factor: float, says: str, pen: float
) -> None:
    assert alone(drawn(factor, says=says, pen=pen)) == (pytest.approx([50 * factor] * 4, rel=0.005), True)


def test_walls_that_a_wide_pen_draws_end_at_its_edges() -> None:
    assert alone(drawn(pen=9.0)) == (pytest.approx([50] * 4, rel=0.005), True)


def test_a_pen_that_may_draw_a_wall_or_its_face_leaves_it_open() -> None:
    """At 1:50 it is 44 mm wide: by its middle and by its edges sizes give scales a hundredth apart."""
    assert alone(drawn(pen=2.5))[1] is False


@pytest.mark.parametrize(("pen", "times"), [(1.9, 1), (2.1, 3)])
def test_edges_of_pens_wider_than_draughtsmen_use_for_lines_may_be_faces(pen: float, times: int) -> None:
    paper = drawn(pen=pen)
    walls = len(ROOMS) * 4
    lines = read_linework(paper.data(), paper.sheet)
    assert len(faces_of(lines)) - len(lines.lines) == (times - 1) * walls


def test_walls_in_a_picture_end_where_their_ink_does() -> None:
    paper = drawn(pen=9.0)
    out = io.BytesIO()
    pixels = paper.page.get_pixmap(dpi=150)
    Image.frombytes("RGB", (pixels.width, pixels.height), pixels.samples).save(out, "PNG", dpi=(150, 150))
    [sheet] = read_sheets(out.getvalue(), "picture.png")[0]
    reading = read_scanned_scale(out.getvalue(), sheet, read_lines(paper.data(), paper.sheet), 150.0)
    assert (reading.m_per_pt or 0) / POINT == pytest.approx(50, rel=0.005)


@pytest.mark.parametrize("rooms", [ROOMS[:3], [*ROOMS[:3], ROOMS[0]]], ids=["three", "one of them twice"])
def test_three_different_sizes_tell_no_scale_by_themselves(rooms: Sequence[tuple[float, float]]) -> None:
    assert alone(drawn(rooms=rooms)) == ([], False)


def test_sizes_to_a_tenth_of_a_metre_propose_a_scale_and_are_not_sure_of_it() -> None:
    rooms = [(round(wide, 1), round(deep, 1)) for wide, deep in ROOMS]
    paper = drawn(rooms=rooms, says="{:.3} x {:.3} m")
    ratios, is_sure = alone(paper)
    assert (ratios, is_sure) == (pytest.approx([50] * 4, rel=0.03), False)


def test_sizes_are_looked_for_where_the_doors_are_doors() -> None:
    assert alone(drawn(2.0)) == ([], False)  # the door would be 1.8 m wide
