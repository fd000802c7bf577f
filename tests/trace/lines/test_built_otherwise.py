"""Walls in a curve, in two leaves or that fill their page, leaves that slide, and named layers that hold but a part."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely

from takeoff.model.plan import Calibration
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.sheet_reading import read_vector_plan, with_second_look
from tests.trace.ink import Ink, Pen
from tests.trace.lines.test_plan_rooms import M_PER_PT, door, drawn, names, place
from tests.trace.test_sheet_reading import plan as read

PEN, THIN = Pen(0.5), Pen(0.18)
CENTRE, INNER, OUTER = (6.0, 14.0), 8.0, 12.3
"""The middle of a room in a ring, and the radii of its curved inner faces: metres."""
FROM, TO = math.radians(250), math.radians(290)


def at(radius, angle):
    return (CENTRE[0] + radius * math.cos(angle), CENTRE[1] + radius * math.sin(angle))


def sector(low, high, start, stop):
    angles = [start + (stop - start) * i / 40 for i in range(41)]
    return shapely.Polygon([at(low, a) for a in angles] + [at(high, a) for a in reversed(angles)])


def curved(ink: Ink) -> None:
    """Draw a room between two curved walls, with a window of chords in the outer one and a door in the inner one."""
    whole = sector(INNER - 0.2, OUTER + 0.3, FROM - 0.02, TO + 0.02)
    hollow = sector(INNER, OUTER, FROM, TO)
    half, leaf = 0.9 / OUTER, 0.45 / INNER
    glass = sector(OUTER - 0.1, OUTER + 0.4, math.radians(270) - half, math.radians(270) + half)
    way = sector(INNER - 0.3, INNER + 0.1, math.radians(262) - leaf, math.radians(262) + leaf)
    for part in shapely.get_parts(whole.difference(shapely.union_all([hollow, glass, way]))).tolist():
        ink.shape(part, "0", stroke=PEN)
    for off in (0.0, 0.13, 0.17, 0.3):
        ink.polyline([at(OUTER + off, math.radians(270) + half * i / 3) for i in range(-3, 4)], "0", THIN)
    ink.text((6.0, 4.0), "SUITE", 8, "0")


def test_a_window_in_a_curved_wall_is_one_and_chords_of_the_curve_are_no_faults():
    """By the formula of a ring's sector: (12.3² − 8²) / 2 × 40° = 30.47 m²."""
    (room,) = drawn(curved, size=(800, 500)).rooms
    assert room.area == pytest.approx((OUTER**2 - INNER**2) / 2 * math.radians(40), rel=0.003)
    assert sorted((o.kind, round(o.width, 1)) for o in room.openings) == [("door", 0.9), ("window", 1.8)]
    assert room.sure


def cavity(ink: Ink) -> None:
    """Draw walls of two leaves of 100 mm with 80 mm between them that nothing closes at a window."""
    gap = shapely.box(2.0, -0.1, 3.5, 0.4)
    outer = shapely.box(0, 0, 5.56, 4.56)
    for off in (0.0, 0.18):
        ring = outer.buffer(-off, join_style="mitre").difference(outer.buffer(-off - 0.1, join_style="mitre"))
        ink.shape(ring.difference(gap), "0", stroke=PEN)
    for level in (0.0, 0.1, 0.14, 0.28):
        ink.line((2.0, level), (3.5, level), "0", THIN)
    ink.text((2.8, 2.3), "STORE", 8, "0")


def test_two_leaves_with_a_cavity_are_one_wall_and_its_window_is_one_opening():
    (room,) = drawn(cavity).rooms
    assert room.area == pytest.approx(5.0 * 4.0, abs=1e-3)
    assert [(o.form, round(o.width, 2)) for o in room.openings] == [("window", 1.5)]
    assert room.outline_sure


def blocks(ink: Ink) -> None:
    """Draw walls of 200 mm block by block, each 390 mm long: the joints cross the wall at one spacing."""
    for x, y, wide, deep, count in (
        (0.2, 0.0, 0.39, 0.2, 12), (0.2, 4.1, 0.39, 0.2, 12), (0.0, 0.0, 0.2, 0.41, 10),
    ):  # fmt: skip
        for i in range(count):
            at = (x + i * wide, y) if wide > deep else (x, y + i * deep)
            ink.shape(shapely.box(*at, at[0] + wide, at[1] + deep), "0", stroke=PEN)
    ink.shape(shapely.box(0.0, 4.1, 0.2, 4.3), "0", stroke=PEN)
    for low, high in ((0.0, 2.0), (2.9, 4.3)):
        ink.shape(shapely.box(4.88, low, 5.08, high), "0", stroke=PEN)
    ink.text((2.4, 2.1), "STORE", 8, "0")


def test_a_wall_that_is_drawn_block_by_block_is_one():
    """By hand: 4.68 × 3.9 m inside, a way of 900 mm."""
    (room,) = drawn(blocks).rooms
    assert room.area == pytest.approx(4.68 * 3.9, abs=1e-3)
    assert [(o.form, round(o.width, 2)) for o in room.openings] == [("cased", 0.9)]


def filling(ink: Ink) -> None:
    ink.shape(
        shapely.box(0, 0, 14.2, 10.2).difference(
            shapely.union_all([shapely.box(0.2, 0.2, 8, 10), shapely.box(8.2, 0.2, 14, 10)])
        ),
        "0",
        stroke=PEN,
    )


def test_walls_that_fill_their_page_are_no_frame():
    plan = drawn(filling, size=(925, 700))
    assert sorted(round(room.area, 1) for room in plan.rooms) == [56.8, 76.4]


def hung(ink: Ink) -> None:
    """Draw two rooms with a bare gap of 900 mm between them, and a leaf of 40 mm that hangs beside the wall."""
    walls = shapely.box(0, 0, 9.4, 4.4).difference(
        shapely.union_all(
            [shapely.box(0.2, 0.2, 5.2, 4.2), shapely.box(5.4, 0.2, 9.2, 4.2), shapely.box(5.1, 1, 5.5, 1.9)]
        )
    )
    for part in shapely.get_parts(walls).tolist():
        ink.shape(part, "0", stroke=PEN)
    ink.shape(shapely.box(5.42, 0.95, 5.46, 1.95), "0", stroke=THIN)


def test_a_leaf_that_hangs_beside_the_wall_is_a_door_that_slides():
    rooms = drawn(hung, names).rooms
    assert [[o.form for o in room.openings] for room in rooms] == [["sliding"], ["sliding"]]
    assert all(room.sure for room in rooms)


def test_leaves_that_slide_in_front_of_one_another_close_a_front_of_glass():
    def walls(ink: Ink) -> None:
        ink.shape(shapely.box(0, 0, 6.4, 4.2).difference(shapely.box(0.2, 0.2, 6.2, 4.2)), "0", stroke=PEN, fill=0.3)
        for a, b, y in ((0.25, 2.2, 4.0), (4.2, 6.15, 4.0), (2.15, 3.2, 4.1), (3.2, 4.25, 4.1)):
            for level in (y - 0.015, y + 0.015):
                ink.line((a, level), (b, level), "0", THIN)

    (room,) = drawn(walls).rooms
    assert room.area == pytest.approx(6.0 * 3.85, abs=0.3)
    assert not room.sure
    assert not room.leaks_pt


@pytest.mark.parametrize(("shed", "more", "areas"), [(0, 0, [15.2, 20.0]), (1, 1, [5.8, 15.2, 20.0]), (1, 0, [5.8])])
def test_walls_of_which_named_layers_hold_but_a_part_are_read_by_their_pen(shed, more, areas):
    """The faces of one wall are on a layer for something else: what is named closes no room, or one door's of three."""
    ink = Ink((720, 700), place, layered=True)
    outer, inner = shapely.box(0, 0, 9.4, 4.4), (shapely.box(0.2, 0.2, 5.2, 4.2), shapely.box(5.4, 0.2, 9.2, 4.2))
    walls = [outer.difference(shapely.union_all([*inner, shapely.box(5.1, 1.0, 5.5, 1.9)]))]
    if shed:
        walls += [shapely.box(0, 6, 3, 8.6).difference(shapely.union_all([shapely.box(0.2, 6.2, 2.8, 8.4), WAY]))]
        swing(ink, (2.8, 6.8))
    for part in shapely.get_parts(walls).tolist():
        for ring in (part.exterior, *part.interiors):
            for a, b in pairwise(ring.coords):
                ink.line(a, b, "A-FLOR-LEVL" if 4.1 < min(a[1], b[1]) < 5 else "A-WALL", PEN)
    door(ink)
    for _ in range(more):
        swing(ink, (7.5, 2.0))
    data = ink.data(rotate=0)
    sheet = read_sheets(data, "plan.pdf")[0][0]
    calibration = Calibration(sheet=1, mx=M_PER_PT, my=M_PER_PT)
    plan = read_vector_plan(data, read_linework(data, sheet), read_lines(data, sheet), sheet, calibration)
    assert sorted(round(room.area, 1) for room in plan.rooms if not room.leaks_pt) == pytest.approx(areas, abs=0.15)
    assert all(("pairs of lines" in room.reasons[0]) == (len(areas) > 1) for room in plan.rooms if not room.leaks_pt)


WAY = shapely.box(2.7, 6.8, 3.1, 7.7)


def swing(ink: Ink, hinge: tuple[float, float]) -> None:
    """Draw a leaf of 0.9 m that opens to the left, and its swing."""
    ink.line(hinge, (hinge[0] - 0.9, hinge[1]), "A-DOOR", THIN)
    ink.arc(hinge, 0.9, math.pi / 2, math.pi / 2, "A-DOOR", THIN)


def test_a_doubtful_room_does_not_give_way_to_a_small_part_of_it():
    whole, part = shapely.box(0, 0, 200, 80), shapely.box(0, 0, 40, 80)
    assert with_second_look(read(whole, sure=False), lambda: read(part, sure=True)).shapes == (whole,)
