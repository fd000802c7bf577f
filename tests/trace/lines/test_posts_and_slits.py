"""Columns drawn in another pen, which interrupt the faces of walls, and walls that are drawn short of another one."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from takeoff.trace.lines.wall_ends import drawn_posts
from tests.trace.lines.test_plan_rooms import DOOR, WINDOW, drawn, filled, names

FACES = np.array([[0.0, 0.0, 40.0, 0.0], [50.0, 0.0, 90.0, 0.0], [0.0, 8.0, 90.0, 8.0]])
"""Two faces of a wall 8 points apart; the lower one stops at a column from 40 to 50."""
COLUMN = [[40.0, -4.0, 50.0, -4.0], [50.0, -4.0, 50.0, 8.0], [50.0, 8.0, 40.0, 8.0], [40.0, 8.0, 40.0, -4.0]]


def test_a_box_on_which_faces_of_walls_end_is_a_column_and_another_is_furniture():
    beside = [[x0, y0 + 30.0, x1, y1 + 30.0] for x0, y0, x1, y1 in COLUMN]
    found = drawn_posts(FACES, np.array([*COLUMN, *beside]), small=5.0, large=25.0, reach=0.2)
    box = shapely.box(*found.reshape(-1, 2).min(0), *found.reshape(-1, 2).max(0))
    assert box.equals(shapely.box(40.0, -4.0, 50.0, 8.0))


def test_a_box_of_another_size_than_columns_have_is_none():
    assert not len(drawn_posts(FACES, np.array(COLUMN), small=11.0, large=25.0, reach=0.2))


def test_a_wall_drawn_100_mm_short_of_another_goes_on_to_it():
    """By hand: 5 × 4 and 3.8 × 4 m, though the wall between them stops 100 mm before the outer one."""
    plan = drawn(filled(DOOR, WINDOW, shapely.box(5.19, 4.1, 5.41, 4.2)), names)
    assert [room.area for room in plan.rooms] == pytest.approx([20.0, 15.2], abs=0.05)
