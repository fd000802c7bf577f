"""Sizes printed in rooms: rooms that are drawn at a known scale bear it out, and no other."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.scales.room_sizes import room_sizes_alone, room_sizes_at
from takeoff.trace.scales.signs import Signs
from tests.trace.scales.test_dimensions import Paper

POINT = 0.0254 / 72
DOORS = Signs(doors=((0.0, 0.0, 0.9 / (50 * POINT)),))
"""A door of 0.9 m at 1:50."""
ROOMS = ((3.25, 4.1), (2.4, 3.15), (5.05, 3.6), (4.45, 2.7))


def found(
    ratio: float | None, *, factor: float = 1.0, rooms: Sequence[tuple[float, float]] = ROOMS, says: str = "{} x {} m"
) -> list[float]:
    """Draw rooms in a row at 1:50, and return the ratios that the sizes in them give at another scale, or alone."""
    paper, x = Paper((1200, 400)), 50.0
    for wide, deep in rooms:
        right, bottom = x + wide / (50 * POINT), 50 + deep / (50 * POINT)
        paper.page.draw_rect((x, 50, right, bottom))
        paper.page.draw_rect((x + 10, 60, x + 40, 75))  # furniture
        size = says.format(f"{factor * wide:.2f}", f"{factor * deep:.2f}")
        paper.write(size, ((x + right) / 2, (50 + bottom) / 2))
        x = right + 5
    sheet, data = paper.sheet, paper.data()
    linework, lines = read_linework(data, sheet), read_lines(data, sheet)
    alone = ratio is None
    sizes = room_sizes_alone(linework, lines, DOORS) if alone else room_sizes_at(linework, lines, ratio * POINT)
    return [size.m_per_pt / POINT for size in sizes]


def test_sizes_that_fit_the_rooms_around_them_bear_a_scale_out() -> None:
    assert found(50) == pytest.approx([50] * 4, rel=0.005)


@pytest.mark.parametrize("ratio", [25, 35.4, 48, 52, 70.7, 100])
def test_sizes_bear_no_other_scale_out(ratio: float) -> None:
    assert found(ratio) == []


def test_sizes_of_other_rooms_bear_nothing_out() -> None:
    assert found(50, factor=1.07) == []


@pytest.mark.parametrize("says", ["{} x {} m", "{} X {}"])
@pytest.mark.parametrize("factor", [1.0, 1.07])
def test_four_different_sizes_that_fit_their_rooms_tell_the_scale_by_themselves(factor: float, says: str) -> None:
    assert found(None, factor=factor, says=says) == pytest.approx([50 * factor] * 4, rel=0.005)


@pytest.mark.parametrize("rooms", [ROOMS[:3], [*ROOMS[:3], ROOMS[0]]], ids=["three", "one of them twice"])
def test_three_different_sizes_tell_no_scale_by_themselves(rooms: Sequence[tuple[float, float]]) -> None:
    assert found(None, rooms=rooms) == []


def test_sizes_are_looked_for_where_the_doors_are_doors() -> None:
    assert found(None, factor=2.0) == []  # the door would be 1.8 m wide
