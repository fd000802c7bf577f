"""A room traced from a scan is the room that was drawn, and one that may be wrong is not called sure."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest
import shapely

from takeoff.model.plan import Calibration, Sheet
from takeoff.sheet.files import read_sheets
from takeoff.sheet.render import render_array
from takeoff.trace.lines.plan_rooms import trace_room
from takeoff.trace.scans.raster_plan import read_raster_plan
from tests.trace.ink import Ink, Pen
from tests.trace.made_scans import scan_plan
from tests.trace.plans import Plan, TrueOpening, TrueRoom
from tests.trace.scoring import polygon_of, score

M_PER_PT = 50 * 0.0254 / 72
PEN, THIN = Pen(0.7), Pen(0.18)
LEFT, RIGHT = shapely.box(0.2, 0.2, 5.2, 4.2), shapely.box(5.4, 0.2, 9.2, 4.2)
OUTER = shapely.box(0.0, 0.0, 9.4, 4.4).difference(shapely.union_all([LEFT, RIGHT]))
DOOR, WINDOW = shapely.box(5.19, 1.0, 5.41, 1.9), shapely.box(2.0, -0.01, 3.5, 0.21)
"""Two rooms, 5 × 4 m and 3.8 × 4 m, in walls of 200 mm; a door of 900 mm between them, a window of 1500 mm."""


def place(point):
    return (point[0] / M_PER_PT + 60, point[1] / M_PER_PT + 60)


def plan_of(*, fill, stroke=PEN, kind="test"):
    """Draw the two rooms, with furniture, a dimension and a name, and give them as a plan with its truth."""
    ink = Ink((680, 380), place, layered=False)
    for part in shapely.get_parts(OUTER.difference(shapely.union_all([DOOR, WINDOW]))).tolist():
        ink.shape(part, "", stroke=stroke, fill=fill)
    for y in (0.0, 0.1, 0.2):
        ink.line((2.0, y), (3.5, y), "", THIN)
    ink.line((5.2, 1.9), (4.3, 1.9), "", THIN)
    ink.arc((5.2, 1.9), 0.9, -math.pi / 2, -math.pi / 2, "", THIN)
    ink.shape(shapely.box(6.4, 2.2, 8.0, 3.0), "", stroke=THIN)
    ink.line((0.2, 3.7), (5.2, 3.7), "", THIN)
    ink.text((2.6, 2.4), "STORE", 8, "")
    ink.text((2.6, 3.6), "5.00", 5, "")

    def moved(shape):
        return shapely.Polygon([place(p) for p in shape.exterior.coords])

    def opening(a, b, kind, width):
        return TrueOpening(side_pt=(place(a), place(b)), kind=kind, width=width)

    rooms = (
        TrueRoom(
            outline_pt=moved(LEFT),
            columns_pt=(),
            openings=(opening((5.2, 1.0), (5.2, 1.9), "door", 0.9), opening((2.0, 0.2), (3.5, 0.2), "window", 1.5)),
            name="STORE",
            number="",
        ),
        TrueRoom(
            outline_pt=moved(RIGHT),
            columns_pt=(),
            openings=(opening((5.4, 1.0), (5.4, 1.9), "door", 0.9),),
            name="",
            number="",
        ),
    )
    return Plan(data=ink.data(rotate=0), m_per_pt=M_PER_PT, rooms=rooms, kind=kind, seed=0)


def traced(plan, quality):
    scan = scan_plan(plan, quality)
    return scan, read_raster_plan(scan.pixels, scan.sheet, scan.calibration)


@pytest.mark.parametrize("quality", ["fair", "poor"])
@pytest.mark.parametrize("fill", [None, 0.4], ids=["outlined", "filled"])
def test_both_rooms_of_a_scan_are_found_with_their_openings(fill, quality):
    scan, plan = traced(plan_of(fill=fill), quality)
    result = score(plan.rooms, scan.rooms, M_PER_PT, near=0.015)
    assert result.faults == []
    assert (result.found, result.right) == (2, 3)
    assert result.traced > 0.95 * result.length


@pytest.mark.parametrize("fill", [None, 0.4], ids=["outlined", "filled"])
def test_the_area_of_a_scanned_room_is_within_half_a_hundredth_of_what_was_drawn(fill):
    scan, plan = traced(plan_of(fill=fill), "good")
    room = trace_room(plan, scan.rooms[0].outline_pt.centroid.coords[0])
    # the room is drawn 5 m by 4 m
    assert room is not None
    assert room.area == pytest.approx(20.0, rel=0.005)


def test_a_click_between_the_walls_of_two_rooms_answers_the_room_that_was_clicked():
    scan, plan = traced(plan_of(fill=0.0), "good")
    for true in scan.rooms:
        room = trace_room(plan, true.outline_pt.centroid.coords[0])
        assert room is not None
        assert polygon_of(room).intersection(true.outline_pt).area > 0.97 * true.outline_pt.area


def test_the_width_of_a_scanned_door_is_within_40_mm():
    _, plan = traced(plan_of(fill=None), "fair")
    doors = [o for room in plan.rooms for o in room.openings if o.kind == "door"]
    assert len(doors) == 2
    assert all(abs(door.width - 0.9) < 0.04 for door in doors)


def test_a_wall_at_a_slant_keeps_its_angle():
    ink = Ink((680, 380), place, layered=False)
    room = shapely.Polygon([(0.2, 0.2), (6.2, 0.2), (5.2, 4.2), (0.2, 4.2)])
    ink.shape(shapely.buffer(room, 0.2, join_style="mitre").difference(room), "", fill=0.3)
    drawn = Plan(data=ink.data(rotate=0), m_per_pt=M_PER_PT, rooms=(), kind="slant", seed=0)
    _, plan = traced(drawn, "clean")
    (found,) = plan.rooms
    assert found.area == pytest.approx(5.5 * 4.0, rel=0.005)
    points = np.array(found.points_pt)
    d = np.roll(points, -1, axis=0) - points
    angles = np.degrees(np.arctan2(d[:, 1], d[:, 0])) % 180
    # its side goes 1 m aside over 4 m: atan(1/4) = 14.036 degrees off square
    assert min(abs(angles - (90 + 14.036))) < 0.15


def test_a_niche_of_150_mm_is_kept():
    ink = Ink((680, 380), place, layered=False)
    room = shapely.box(0.2, 0.2, 5.2, 4.2).union(shapely.box(2.0, 4.1, 3.0, 4.35))
    ink.shape(shapely.box(0.0, 0.0, 5.4, 4.6).difference(room), "", fill=0.3)
    drawn = Plan(data=ink.data(rotate=0), m_per_pt=M_PER_PT, rooms=(), kind="niche", seed=0)
    _, plan = traced(drawn, "good")
    (found,) = plan.rooms
    assert len(found.points_pt) == 8
    assert found.area == pytest.approx(room.area, rel=0.005)


def two_rooms_drawn(wall, *, mark):
    """Two rooms of 4 × 4 m in bare outline, a wall between them with a door and, if it is wanted, a low wall."""
    rooms = [shapely.box(0.3, 0.3, 4.3, 4.3), shapely.box(4.3 + wall, 0.3, 8.3 + wall, 4.3)]
    outer = shapely.box(0.0, 0.0, 8.6 + wall, 4.6).difference(shapely.union_all(rooms))
    door, low = shapely.box(4.29, 3.0, 4.31 + wall, 3.9), shapely.box(4.29, 1.0, 4.31 + wall, 2.2)
    ink = Ink((720, 400), place, layered=False)
    for part in shapely.get_parts(outer.difference(shapely.union_all([door, low] if mark else [door]))).tolist():
        ink.shape(part, "", stroke=PEN)
    ink.line((4.3, 3.0), (3.4, 3.0), "", THIN)
    ink.arc((4.3, 3.0), 0.9, math.pi / 2, math.pi / 2, "", THIN)
    if mark:
        for x in (4.3, 4.3 + wall):
            ink.line((x, 1.0), (x, 2.2), "", THIN)
    return rooms, Plan(data=ink.data(rotate=0), m_per_pt=M_PER_PT, rooms=(), kind="two", seed=0)


@pytest.mark.parametrize("wall", [0.2, 0.5, 0.8])
def test_a_wall_that_is_two_bare_lines_is_seen_however_thick_it_is(wall):
    rooms, drawn = two_rooms_drawn(wall, mark=False)
    _, plan = traced(drawn, "good")
    assert sorted(r.area for r in plan.rooms) == pytest.approx(sorted(r.area for r in rooms), rel=0.005)
    doors = [o for room in plan.rooms for o in room.openings if o.kind == "door"]
    assert len(doors) == 2
    assert all(abs(door.width - 0.9) < 0.05 for door in doors)


def test_a_way_over_a_low_wall_is_a_pass_through():
    _, drawn = two_rooms_drawn(0.2, mark=True)
    _, plan = traced(drawn, "good")
    found = sorted(o.kind for room in plan.rooms for o in room.openings)
    assert found == ["door", "door", "pass-through", "pass-through"]
    widths = [o.width for room in plan.rooms for o in room.openings if o.kind == "pass-through"]
    assert widths == pytest.approx([1.2, 1.2], abs=0.05)


@pytest.mark.parametrize("quality", ["clean", "good"])
def test_a_bowed_wall_is_an_arc(quality):
    ink = Ink((680, 420), place, layered=False)
    # a circle of 3.25 m radius stands 1.5 m above a chord of 5.41 m (2 √(2 · 3.25 · 1.5 − 1.5²))
    half = math.sqrt(2 * 3.25 * 1.5 - 1.5**2)
    turns = np.linspace(-math.asin(half / 3.25), math.asin(half / 3.25), 90)
    bow = [(3.2 + 3.25 * math.sin(t), 2.0 - 1.75 - 3.25 * math.cos(t) + 3.25) for t in turns]
    room = shapely.Polygon([*bow, (3.2 + half, 5.2), (3.2 - half, 5.2)])
    ink.shape(shapely.buffer(room, 0.25, join_style="mitre").difference(room), "", stroke=PEN)
    drawn = Plan(data=ink.data(rotate=0), m_per_pt=M_PER_PT, rooms=(), kind="bow", seed=0)
    _, plan = traced(drawn, quality)
    (found,) = plan.rooms
    assert found.area == pytest.approx(room.area, rel=0.005)
    assert max(abs(bulge) for bulge in found.bulges) > 0.3
    assert len(found.points_pt) < 10
    if quality == "clean":  # others lie askew
        drawn_face = shapely.LinearRing([place(p) for p in room.exterior.coords])
        assert polygon_of(found).exterior.hausdorff_distance(drawn_face) * M_PER_PT < 0.02


def test_a_room_without_any_opening_is_not_called_sure():
    ink = Ink((680, 380), place, layered=False)
    ink.shape(shapely.box(0, 0, 4.4, 4.4).difference(shapely.box(0.2, 0.2, 4.2, 4.2)), "", stroke=PEN, fill=0.4)
    _, plan = traced(Plan(data=ink.data(rotate=0), m_per_pt=M_PER_PT, rooms=(), kind="shut", seed=0), "good")
    (room,) = plan.rooms
    assert not room.sure
    assert "No door and no other way leads into it." in room.reasons
    assert "It was read from a picture." in room.reasons


def test_a_blank_picture_has_no_rooms():
    sheet = Sheet(id=1, source="", page=1, width_pt=300, height_pt=200, kind="image", dpi=72)
    calibration = Calibration(sheet=1, mx=M_PER_PT, my=M_PER_PT)
    plan = read_raster_plan(np.full((200, 300), 250, np.uint8), sheet, calibration)
    assert plan.rooms == ()


def test_a_sheet_that_is_shown_turned_gives_rooms_in_the_unturned_page():
    plan = plan_of(fill=0.4)
    upright = read_sheets(plan.data, "plan.pdf")[0][0]
    pixels = render_array(plan.data, upright, dpi=150)
    calibration = Calibration(sheet=1, mx=M_PER_PT, my=M_PER_PT)
    turned = Sheet(
        id=1,
        source="",
        page=1,
        width_pt=upright.width_pt,
        height_pt=upright.height_pt,
        rotation=90,
        kind="image",
        dpi=150,
    )
    shown = np.ascontiguousarray(np.rot90(pixels, -1))
    result = score(read_raster_plan(shown, turned, calibration).rooms, plan.rooms, M_PER_PT, near=0.015)
    assert result.found == 2


def seen_with(scan, pixels):
    return read_raster_plan(pixels, scan.sheet, scan.calibration).rooms


def test_no_room_of_a_picture_taken_at_an_angle_is_sure_and_each_says_by_how_much_lengths_differ():
    scan = scan_plan(many_rooms(), "clean")
    flat = seen_with(scan, scan.pixels)
    assert any(room.sure for room in flat)
    assert not any("at an angle" in reason for room in flat for reason in room.reasons)
    height, width = scan.pixels.shape
    # the upper edge comes 4 % shorter than the lower one
    edge = np.array([(0.02 * width, 0), (0.98 * width, 0), (width, height), (0, height)], np.float32)
    whole = np.array([(0, 0), (width, 0), (width, height), (0, height)], np.float32)
    bent = cv2.warpPerspective(
        scan.pixels, cv2.getPerspectiveTransform(whole, edge), (width, height), borderValue=(255, 255, 255)
    )
    rooms = seen_with(scan, bent)
    assert len(rooms) == len(flat)
    assert not any(room.sure for room in rooms)
    told = [reason for room in rooms for reason in room.reasons if "at an angle" in reason]
    assert len(told) == len(rooms)
    # the walls take up 6.6 m of the sheet's 8.5 m
    assert float(told[0].split("differ by ")[1].split("%")[0]) == pytest.approx(4 * 6.6 / (480 * M_PER_PT), rel=0.25)


def many_rooms():
    """Draw four rooms in a row over four more, each with a door."""
    rooms = [
        shapely.box(0.2 + 3.2 * i, 0.2 + 3.2 * k, 3.2 + 3.2 * i, 3.2 + 3.2 * k) for i in range(4) for k in range(2)
    ]
    doors = [shapely.box(r.bounds[0] + 1, r.bounds[1] - 0.21, r.bounds[0] + 1.9, r.bounds[1] + 0.01) for r in rooms]
    ink = Ink((680, 480), place, layered=False)
    walls = shapely.box(0, 0, 13, 6.6).difference(shapely.union_all([*rooms, *doors]))
    for part in shapely.get_parts(walls).tolist():
        ink.shape(part, "", stroke=PEN, fill=0.3)
    for door in doors:
        x0, _, x1, y1 = door.bounds
        ink.line((x0, y1), (x0, y1 + 0.9), "", THIN)
        ink.arc((x0, y1), x1 - x0, 0, math.pi / 2, "", THIN)
    return Plan(data=ink.data(rotate=0), m_per_pt=M_PER_PT, rooms=(), kind="many", seed=0)


def test_a_sheet_of_white_lines_on_blue_gives_the_rooms_of_the_same_in_black_on_white():
    scan = scan_plan(plan_of(fill=0.4), "clean")
    share = scan.pixels[..., :1] if scan.pixels.ndim == 3 else scan.pixels[..., None]
    blue = np.array([30, 80, 150]) + (255 - share) / 255.0 * np.array([200, 160, 95])
    rooms, other = seen_with(scan, scan.pixels), seen_with(scan, np.rint(blue).astype(np.uint8))
    assert [room.area for room in other] == pytest.approx([room.area for room in rooms], rel=0.005)
    assert [len(room.openings) for room in other] == [len(room.openings) for room in rooms]
