"""Walls on named layers are read where their ends are drawn on other layers, and foundations beside them are none."""

from __future__ import annotations

import math

import pytest
import shapely

from takeoff.trace.drawing.layer_names import layer_role
from tests.trace.ink import Ink, Pen
from tests.trace.lines.test_plan_rooms import DOOR, OUTER, door, drawn, names, outlined

PEN, THIN = Pen(0.35), Pen(0.12)
FACES = [
    ((0, 0), (9.4, 0)), ((0, 4.4), (9.4, 4.4)), ((0, 0), (0, 4.4)), ((9.4, 0), (9.4, 4.4)),
    ((0.2, 0.2), (5.2, 0.2)), ((5.4, 0.2), (9.2, 0.2)), ((0.2, 4.2), (5.2, 4.2)), ((5.4, 4.2), (9.2, 4.2)),
    ((0.2, 0.2), (0.2, 4.2)), ((9.2, 0.2), (9.2, 4.2)),
    ((5.2, 0.2), (5.2, 0.25)), ((5.4, 0.2), (5.4, 0.25)), ((5.2, 1.15), (5.2, 4.2)), ((5.4, 1.15), (5.4, 4.2)),
]  # fmt: skip
"""The two sides of the walls round two rooms, 5 × 4 m and 3.8 × 4 m; a door stands 50 mm from the corner."""


def faces(ink: Ink) -> None:
    for a, b in FACES:
        ink.line(a, b, "A-WALL", PEN)


def opening(ink: Ink) -> None:
    """Draw a door's jambs and thresholds, all on a layer of their own."""
    for y in (0.25, 1.15):
        ink.line((5.2, y), (5.4, y), "A-OPENING", PEN)
    for x in (5.2, 5.4):
        ink.line((x, 0.25), (x, 1.15), "A-OPENING", PEN)


def footing(ink: Ink) -> None:
    """Draw a foundation 50 mm inside the inner faces, through the walls that stand on it."""
    for a, b in [((0.25, 0.25), (9.15, 0.25)), ((0.25, 4.15), (9.15, 4.15)), ((0.25, 0.25), (0.25, 4.15))]:
        ink.line(a, b, "S-STEM-WALL", PEN)


def test_jambs_on_another_layer_end_the_walls():
    plan = drawn(faces, opening, names, layered=True)
    assert [round(room.area, 2) for room in plan.rooms] == [20.0, 15.2]
    assert [len(room.openings) for room in plan.rooms] == [1, 1]
    door = plan.rooms[0].openings[0]
    assert abs(door.width - 0.9) < 0.01
    assert door.kind == "pass-through"  # its thresholds close no wall, and no leaf is drawn


def test_a_foundation_on_its_layer_is_no_wall():
    """FNDN and FTNG stand for foundations and footings (US National CAD Standard, AIA layer list, from memory)."""
    assert {layer_role(name) for name in ("S-FNDN", "S-STEM-WALL", "S-FTNG-OTLN", "A-FOOTING")} == {"other"}
    plan = drawn(faces, opening, footing, names, layered=True)
    assert [round(room.area, 2) for room in plan.rooms] == [20.0, 15.2]


@pytest.mark.parametrize(("top", "forms"), [(4.24, ["swing"]), (4.1, [])])
def test_where_a_fill_on_another_layer_leaves_a_gap_in_named_walls_is_a_door(top, forms):
    """The faces go on across the door, as a threshold; a fill of less than 0.7 of the walls, as of concrete, is none.

    By hand: of 6.16 m² of walls 4.66 m² lie up to 4.24 m, and 4.22 m² up to 4.1 m, 0.18 m² in the door left out.
    """
    part = shapely.box(0, 0, 9.4, top)

    def fill(ink: Ink) -> None:
        for piece in shapely.get_parts(OUTER.difference(DOOR).intersection(part)).tolist():
            ink.shape(piece, "FILL", fill=0.0)

    store, _ = drawn(lambda ink: ink.shape(OUTER, "A-WALL", stroke=PEN), fill, door, names, layered=True).rooms
    assert [o.form for o in store.openings] == forms


def test_both_faces_of_a_wall_may_lie_on_layers_of_their_own_in_another_script():
    """By hand: 5 × 4 m and 3.8 × 4 m; 墙线 are lines of walls, 墙体 bodies of walls, 家具 is furniture."""

    def draw(ink: Ink) -> None:
        for i, (a, b) in enumerate(FACES):
            ink.line(a, b, ("墙线", "墙体")[i % 2], PEN)
        ink.polyline([(1.0, 1.0), (3.0, 1.0), (3.0, 1.1), (1.0, 1.1), (1.0, 1.0)], "家具", PEN)

    plan = drawn(draw, opening, names, layered=True)
    assert [round(room.area, 2) for room in plan.rooms] == [20.0, 15.2]


def outer(ink: Ink) -> None:
    """Draw the walls round both rooms on their layer, and none between them."""
    for x0, y0, x1, y1 in ((0, 0, 9.4, 4.4), (0.2, 0.2, 9.2, 4.2)):
        ink.polyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)], "A-WALL", PEN)


def partition(ink: Ink) -> None:
    """Draw a partition of 80 mm from wall to wall in a lighter pen, on a layer whose name tells nothing."""
    for x in (5.2, 5.28):
        ink.line((x, 0.2), (x, 4.2), "CABIN", THIN)


def desk(ink: Ink) -> None:
    ink.polyline([(7.0, 1.0), (7.6, 1.0), (7.6, 1.1), (7.0, 1.1), (7.0, 1.0)], "CABIN", THIN)


def test_a_partition_in_another_pen_parts_rooms_from_named_wall_to_named_wall_and_its_rooms_are_not_sure():
    """By hand: 5.0 × 4 m and 3.92 × 4 m; what stands free in a room is no wall."""
    assert [round(room.area, 1) for room in drawn(outer, names, layered=True).rooms] == [36.0]
    plan = drawn(outer, partition, desk, names, layered=True)
    assert [round(room.area, 2) for room in plan.rooms] == [20.0, 15.68]
    assert not any(room.sure or room.outline_sure for room in plan.rooms)
    assert any("drawn otherwise than the walls" in reason for reason in plan.rooms[0].reasons)
    assert [round(room.area, 1) for room in drawn(outer, desk, names, layered=True).rooms] == [36.0]


def tag(radius: float, height: float):
    """Write the mark of the door in a circle beside it, where the end of the wall looks."""

    def draw(ink: Ink) -> None:
        ink.arc((5.5, 1.45), radius, 0.0, math.pi, "A-WALL", PEN)
        ink.arc((5.5, 1.45), radius, math.pi, math.pi, "A-WALL", PEN)
        ink.text((5.5, 1.45), "D4", height, "A-WALL")

    return draw


@pytest.mark.parametrize(("radius", "height", "is_mark"), [(0.25, 6, True), (0.25, 2.5, False)])
def test_the_circle_round_a_mark_is_no_wall_though_its_layer_says_so(radius, height, is_mark):
    """A round room is larger than four times the height of its name's letters; this circle is 3 or 7 times as large."""
    plan = drawn(outlined(DOOR), door, names, tag(radius, height), layered=True)
    assert ([len(room.openings) for room in plan.rooms] == [1, 1]) == is_mark


def test_where_no_opening_leads_into_any_room_the_sheet_may_be_no_plan():
    plan = drawn(outlined(), names, layered=True)
    assert len(plan.rooms) == 2
    assert not any(room.outline_sure for room in plan.rooms)
    assert any("it may be no plan" in reason for room in plan.rooms for reason in room.reasons)


def test_arcs_on_a_layer_of_other_things_are_no_swings_of_doors():
    """P-SANR-FIXT stands for plumbing fixtures (US National CAD Standard, from memory)."""

    def swings(layer):
        def arc(ink: Ink) -> None:
            ink.line((5.2, 1.0), (4.3, 1.0), layer, THIN)
            ink.arc((5.2, 1.0), 0.9, math.pi / 2, math.pi / 2, layer, THIN)

        return arc

    for layer, forms in (("A-DOOR", {"swing"}), ("P-SANR-FIXT", {"cased"})):
        rooms = drawn(outlined(DOOR), swings(layer), names, layered=True).rooms
        assert {opening.form for room in rooms for opening in room.openings} == forms
