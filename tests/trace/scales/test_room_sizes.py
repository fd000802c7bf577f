"""Sizes printed in rooms: rooms that are drawn at a known scale bear it out, and no other."""

from __future__ import annotations

import pytest

from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.scales.room_sizes import room_sizes_at
from tests.trace.scales.test_dimensions import Paper

POINT = 0.0254 / 72
ROOMS = ((3.25, 4.1), (2.4, 3.15), (5.05, 3.6), (4.45, 2.7))


def found(ratio: float, *, factor: float = 1.0) -> list[float]:
    """Draw four rooms in a row at 1:50, and return the ratios that the sizes in them give at another scale."""
    paper, x = Paper((1200, 400)), 50.0
    for wide, deep in ROOMS:
        right, bottom = x + wide / (50 * POINT), 50 + deep / (50 * POINT)
        paper.page.draw_rect((x, 50, right, bottom))
        paper.page.draw_rect((x + 10, 60, x + 40, 75))  # furniture
        paper.write(f"{factor * wide:.2f} x {factor * deep:.2f} m", ((x + right) / 2, (50 + bottom) / 2))
        x = right + 5
    sheet, data = paper.sheet, paper.data()
    sizes = room_sizes_at(read_linework(data, sheet), read_lines(data, sheet), ratio * POINT)
    return [size.m_per_pt / POINT for size in sizes]


def test_sizes_that_fit_the_rooms_around_them_bear_a_scale_out() -> None:
    assert found(50) == pytest.approx([50] * 4, rel=0.005)


@pytest.mark.parametrize("ratio", [25, 35.4, 48, 52, 70.7, 100])
def test_sizes_bear_no_other_scale_out(ratio: float) -> None:
    assert found(ratio) == []


def test_sizes_of_other_rooms_bear_nothing_out() -> None:
    assert found(50, factor=1.07) == []
