"""A shape that a pen fills by going to and fro is the same shape as a filled one."""

from __future__ import annotations

import math

import pytest
import shapely

from takeoff.trace.drawing.curves import solids_of
from tests.trace.ink import Pen
from tests.trace.lines.test_plan_rooms import DOOR, WINDOW, door, drawn, filled, names, window

COLUMN = (2.0, 2.0, 2.4, 2.4)
"""A column of 400 mm by 400 mm in the room of 20 m²."""


def zigzag(ink):
    """Fill the column by one pen stroke, to and fro every 5 mm: closer than its pen is wide."""
    x0, y0, x1, y1 = COLUMN
    rows = [y0 + 0.005 * i for i in range(81)]
    points = [(x, y) for i, y in enumerate(rows) for x in ((x0, x1) if i % 2 == 0 else (x1, x0))]
    assert points[-1][1] == pytest.approx(y1)
    ink.polyline(points, "A-WALL", Pen(0.7))


def solid(ink):
    ink.shape(shapely.box(*COLUMN), "A-WALL", stroke=Pen(0.25), fill=0.0)


@pytest.mark.parametrize("column", [zigzag, solid])
def test_a_column_is_read_alike_as_scribble_and_as_fill(column):
    plan = drawn(filled(DOOR, WINDOW), door, window, names, column, layered=False)
    room = plan.rooms[0]
    assert len(room.columns) == 1
    area = shapely.Polygon(room.columns[0].points_pt).area
    side = math.dist(room.columns[0].points_pt[0], room.columns[0].points_pt[1])
    assert area == pytest.approx(side**2, rel=0.02)
    assert room.area == pytest.approx(20.0 - 0.4**2, abs=0.005)


def test_lines_that_leave_paper_between_them_are_no_solid():
    """A hatch in one path, its lines ten times as far apart as its pen is wide."""
    hatch = [("l", (0.0, 2.4 * i), (90.0, 2.4 * i)) for i in range(40)]
    assert not solids_of([(hatch, 0.24)])


def test_a_line_drawn_again_and_again_is_as_wide_as_its_pen():
    stroke = [("l", (0.0, 0.0), (10.0, 0.0)), ("l", (10.0, 0.0), (0.0, 0.0))] * 10
    ring = solids_of([(stroke, 0.5)])[0]
    assert shapely.Polygon(ring).area == pytest.approx(10.0 * 0.5)
