"""What stands against walls, runs along them or lies round them changes nothing of what they are."""

from __future__ import annotations

import math

import pytest
import shapely

from tests.trace.ink import Ink
from tests.trace.lines.test_plan_rooms import (
    DOOR,
    OUTER,
    PEN,
    THIN,
    WINDOW,
    door,
    drawn,
    filled,
    names,
    outlined,
    window,
)


def areas(*steps, layered=False):
    return [round(room.area, 2) for room in drawn(*steps, door, window, names, layered=layered).rooms]


def cupboards(ink: Ink) -> None:
    """Draw five cupboards of 0.4 × 1.2 m that stand out from the walls, and two desks on two feet each."""
    for x in (0.6, 1.4, 6.2, 7.0, 7.8):
        ink.shape(shapely.box(x, 3.0, x + 0.4, 4.2), "0", stroke=THIN)
    for x in (3.0, 8.0):
        desk = shapely.box(x, 0.2, x + 0.9, 0.8).difference(shapely.box(x + 0.2, 0.2, x + 0.7, 0.6))
        ink.shape(desk, "0", stroke=THIN)


@pytest.mark.parametrize("walls", [filled, outlined])
def test_furniture_in_a_thinner_pen_that_stands_against_walls_is_no_wall(walls):
    assert areas(walls(DOOR, WINDOW), cupboards) == [20.0, 15.2]


@pytest.mark.parametrize("walls", [filled, outlined])
def test_partitions_in_a_thinner_pen_between_walls_are_walls(walls):
    """By hand: of 3.8 × 4 m 2.0 × 4 m on one side of a partition; the other has neither a name nor a door."""

    def partition(ink: Ink) -> None:
        ink.shape(shapely.box(7.4, 0.2, 7.5, 4.2), "0", stroke=THIN)

    assert areas(walls(DOOR, WINDOW), partition) == [20.0, 8.0]


def test_a_frame_and_a_title_block_in_the_pen_of_the_walls_do_not_hide_them():
    """Furniture in one thinner pen goes round both rooms, with more names in it than walls may lack."""

    def sheet(ink: Ink) -> None:
        ink.shape(shapely.box(-0.9, -0.9, 11.5, 5.8), "0", stroke=PEN)
        for i in range(12):
            ink.line((-0.9, 5.0 + 0.06 * i), (11.5, 5.0 + 0.06 * i), "0", PEN)

    def furniture(ink: Ink) -> None:
        for room in (shapely.box(0.2, 0.2, 5.2, 4.2), shapely.box(5.4, 0.2, 9.2, 4.2)):
            ring = room.buffer(-0.5, join_style="mitre").exterior
            for k in range(14):
                at = ring.interpolate(k / 14, normalized=True)
                ink.shape(shapely.box(at.x - 0.3, at.y - 0.04, at.x + 0.3, at.y + 0.04), "0", stroke=THIN)

    def more(ink: Ink) -> None:
        ink.text((3.0, 1.6), "BATH", 8, "0")
        ink.text((8.2, 1.4), "LAB", 8, "0")

    assert areas(outlined(DOOR, WINDOW), sheet, furniture, more)[:2] == [20.0, 15.2]


def test_boards_and_plaster_on_the_faces_of_walls_that_a_layer_names_are_in_the_walls():
    """A line runs 16 mm inside all faces; rooms are measured to the finished ones."""

    def boards(ink: Ink) -> None:
        for part in shapely.get_parts(OUTER.difference(shapely.union_all([DOOR, WINDOW]))).tolist():
            ink.shape(shapely.buffer(part, -0.016, join_style="mitre"), "A-WALL", stroke=THIN)

    assert areas(outlined(DOOR, WINDOW), boards, layered=True) == [20.0, 15.2]


@pytest.mark.parametrize(("hinge", "count"), [(1.95, 1), (3.0, 1), (None, 0)])
def test_a_swing_is_told_that_fits_no_door_though_it_hangs_beside_one(hinge, count):
    """A second leaf of 0.8 m, beside the jamb of a door that another leaf shuts, shuts along the wall."""

    def second(ink: Ink) -> None:
        ink.line((5.2, hinge), (4.4, hinge), "0", THIN)
        ink.arc((5.2, hinge), 0.8, math.pi / 2, math.pi / 2, "0", THIN)

    store = drawn(filled(DOOR, WINDOW), *([second] if hinge else []), door, window, names).rooms[0]
    assert any("fit no opening: 1" in told for told in store.unread) == bool(count)
    assert store.sure != bool(count)
