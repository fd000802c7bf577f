"""Of a sheet only the part that a building may be drawn on is looked at as a picture."""

from __future__ import annotations

import pytest
import shapely

from takeoff.sheet.files import read_sheets
from takeoff.trace.sheet_reading import drawn_part
from tests.trace.ink import Ink, Pen
from tests.trace.plans import make_plan

M_PER_PT = 50 * 0.0254 / 72


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_frame_title_block_and_empty_paper_are_left_out(rotation: int) -> None:
    """A building of 10 by 6 m at 1:50 stands 200 points from the upper left corner of a sheet of 1600 by 1000."""
    ink = Ink((1600, 1000), lambda p: (200 + p[0] / M_PER_PT, 200 + p[1] / M_PER_PT), layered=False)
    ink.shape(shapely.box(0, 0, 10, 6).difference(shapely.box(0.3, 0.3, 9.7, 5.7)), "", stroke=Pen(0.5))
    ink.raw("q 0.7 w 14 14 1572 972 re S 1440 14 m 1440 986 l S Q", "")
    for y in range(300, 960, 24):
        ink.raw(f"q 0.7 w 1440 {y} m 1586 {y} l S Q", "")
    data = ink.data(rotate=rotation)
    x0, y0, x1, y1 = drawn_part(data, read_sheets(data, "plan.pdf")[0][0], M_PER_PT)
    assert min(x0, y0) > 50
    assert max(x0, y0) < 200
    assert 200 + 10 / M_PER_PT < x1 < 1000
    assert 200 + 6 / M_PER_PT < y1 < 800


@pytest.mark.parametrize("seed", range(6))
def test_no_room_lies_outside_the_part(seed: int) -> None:
    plan = make_plan(seed, "one-pen")
    part = shapely.box(*drawn_part(plan.data, read_sheets(plan.data, "plan.pdf")[0][0], plan.m_per_pt))
    assert all(part.contains(room.outline_pt) for room in plan.rooms)


def test_an_empty_sheet_is_looked_at_whole() -> None:
    data = Ink((600, 400), lambda p: p, layered=False).data(rotate=0)
    assert drawn_part(data, read_sheets(data, "plan.pdf")[0][0], M_PER_PT) == (0.0, 0.0, 600.0, 400.0)
