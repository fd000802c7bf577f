"""Walls that are to be pulled down part no rooms, and whoever takes the room is told.

Yellow is pulled down, red is new, grey or hatched stays on plans of changes to buildings in Germany, Austria and
Switzerland (common knowledge, no source); DEMO, and D as the last field, mark what is to be demolished on layers of the
US National CAD Standard (from memory).
"""

from __future__ import annotations

import pytest
import shapely

from tests.trace.ink import Ink
from tests.trace.lines.test_plan_rooms import DOOR, M_PER_PT, OUTER, PEN, THIN, drawn, filled, names

YELLOW, RED = (1.0, 1.0, 0.66), (1.0, 0.77, 0.77)
INNER = shapely.box(5.2, 0.2, 5.4, 4.2)
ROUND = OUTER.difference(INNER)
"""The walls round both rooms: 9 × 4 m within."""


def stays(*gaps):
    """Draw the walls round both rooms in grey, with none between them."""

    def draw(ink: Ink) -> None:
        ink.shape(ROUND.difference(shapely.union_all(gaps)), "A-WALL", stroke=PEN, fill=0.5)

    return draw


def between(colour, layer="A-FILL", gap=DOOR):
    def draw(ink: Ink) -> None:
        for part in shapely.get_parts(INNER.difference(gap)).tolist():
            ink.shape(part, layer, stroke=None, fill=colour)

    return draw


def one_name(*area):
    def draw(ink: Ink) -> None:
        ink.text((1.5, 3.2), "STORE", 8, "A-AREA-IDEN")
        for text in area:
            ink.text((1.5, 3.5), text, 8, "A-AREA-IDEN")

    return draw


def test_a_yellow_wall_parts_no_room_and_that_is_told():
    """By hand: 9 × 4 = 36 m², of which the yellow wall takes none."""
    (room,) = drawn(stays(shapely.box(0, 1, 0.2, 1.9)), between(YELLOW), one_name("36.00 m2")).rooms
    assert room.area == pytest.approx(36.0, abs=1e-3)
    assert room.outline_sure
    assert any("pulled down" in sentence for sentence in room.taken)


def test_a_red_wall_is_new_and_parts_rooms():
    plan = drawn(stays(), between(RED), names)
    assert [round(room.area, 2) for room in plan.rooms] == [20.0, 15.2]
    assert not any(room.taken for room in plan.rooms)


def test_where_all_walls_are_yellow_they_are_walls():
    def yellow(ink: Ink) -> None:
        for part in shapely.get_parts(OUTER.difference(DOOR)).tolist():
            ink.shape(part, "A-FILL", fill=YELLOW)

    assert [round(room.area, 2) for room in drawn(yellow, names).rooms] == [20.0, 15.2]


@pytest.mark.parametrize("layer", ["A-WALL-DEMO", "A-WALL-FULL-D"])
def test_a_wall_on_a_layer_of_what_goes_parts_no_room(layer):
    def walls(ink: Ink) -> None:
        ink.shape(ROUND, "A-WALL", stroke=PEN)
        ink.shape(INNER, layer, stroke=THIN)

    (room,) = drawn(walls, one_name(), layered=True).rooms
    assert room.area == pytest.approx(36.0, abs=1e-3)
    assert room.taken


def test_strokes_in_one_line_with_even_gaps_are_dashes_and_close_no_wall():
    """Two dashed lines 0.2 m apart, each plotted as strokes of 3 pt and gaps of 2 pt, are the edges of a beam."""

    def strokes(ink: Ink) -> None:
        for x in (5.2, 5.4):
            y = 0.2
            while y < 4.1:
                ink.line((x, y), (x, min(y + 3 * M_PER_PT, 4.2)), "A-OVHD", PEN)
                y += 5 * M_PER_PT

    def walls(ink: Ink) -> None:
        ink.shape(ROUND, "A-WALL", stroke=PEN)

    (room,) = drawn(walls, strokes, one_name()).rooms
    assert room.area == pytest.approx(36.0, abs=1e-3)


def test_filled_walls_are_read_as_before_beside_a_yellow_floor():
    def floor(ink: Ink) -> None:
        ink.shape(shapely.box(0.2, 0.2, 5.2, 4.2), "A-FLOR", fill=YELLOW)

    plan = drawn(floor, filled(DOOR), names)
    assert [round(room.area, 2) for room in plan.rooms] == [20.0, 15.2]
    assert not any(room.taken for room in plan.rooms)
