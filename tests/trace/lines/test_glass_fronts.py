"""Fronts of glass close rooms where no wall does; what only looks like one parts no room."""

from __future__ import annotations

import numpy as np
import shapely

from takeoff.trace.lines.glass_fronts import _Front, _uncrossed
from tests.trace.ink import Ink, Pen
from tests.trace.lines.test_limits import seen
from tests.trace.lines.test_plan_rooms import drawn

PEN, GLASS = Pen(0.7), Pen(0.18)
OPEN = shapely.box(0, 0, 6.4, 4.2).difference(shapely.box(0.2, 0.2, 6.2, 4.2))
"""Walls of 200 mm round three sides of a room of 6 × 4 m."""


def walls(ink: Ink) -> None:
    ink.shape(OPEN, "A-WALL", stroke=PEN, fill=0.3)


def closed_walls(ink: Ink) -> None:
    ink.shape(shapely.box(0, 0, 6.4, 4.4).difference(shapely.box(0.2, 0.2, 6.2, 4.2)), "A-WALL", stroke=PEN, fill=0.3)


def panes(*spans: tuple[float, float], y: float):
    def draw(ink: Ink) -> None:
        for a, b in spans:
            for level in (y - 0.015, y + 0.015):
                ink.line((a, level), (b, level), "0", GLASS)

    return draw


def test_panes_with_posts_between_them_close_a_room_that_is_never_sure():
    plan = drawn(walls, panes((0.25, 2.15), (2.2, 4.2), (4.25, 6.15), y=4.1))
    assert [round(room.area, 1) for room in plan.rooms] == [23.3]
    (room,) = plan.rooms
    assert [opening.kind for opening in room.openings] == ["window"]
    assert not room.sure
    assert not room.outline_sure


def test_panes_that_end_in_the_open_close_nothing():
    plan = drawn(walls, panes((0.25, 2.15), (2.2, 4.2), y=4.1))
    assert not any(room.area > 20 and not room.leaks_pt for room in plan.rooms)


def test_the_shelf_and_the_rod_of_a_closet_part_no_room():
    plan = drawn(closed_walls, panes((0.2, 6.2), y=2.0))
    assert [round(room.area, 1) for room in plan.rooms] == [24.0]


def test_a_thin_partition_parts_a_room_that_has_names_on_both_its_sides():
    """Panels 30 mm thick, as offices and wards are parted by: a pane and a shelf are drawn no otherwise."""

    def names(store: float, office: float):
        return lambda ink: [ink.text((2.0, store), "STORE", 8, "0"), ink.text((2.0, office), "OFFICE", 8, "0")]

    panel = panes((0.2, 6.2), y=2.0)
    parted = drawn(closed_walls, panel, names(1.0, 3.0)).rooms
    assert sorted((room.name, round(room.area, 1)) for room in parted) == [("OFFICE", 13.1), ("STORE", 10.7)]
    assert not any(room.sure or room.outline_sure for room in parted)
    assert [round(room.area, 1) for room in drawn(closed_walls, panel, names(2.5, 3.5)).rooms] == [24.0]


def test_no_front_crosses_itself_however_it_slants():
    """Rounding puts what is cut from a slanting line a hair beside it."""
    turns = [0.1 * i for i in range(1, 60)]
    rows = [_Front(a=np.zeros(2), b=90.0 * np.array([np.cos(t), np.sin(t)]), thick=1.0) for t in turns]
    scene = seen(walls)
    assert all(_uncrossed([row], scene) == [row] for row in rows)
