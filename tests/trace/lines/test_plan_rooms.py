"""A room traced from a drawing is the room that was drawn, and one that may be wrong is not called sure."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from shapely import Polygon

from takeoff.model.plan import Calibration
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import empty_linework, read_linework
from takeoff.trace.lines.plan_rooms import read_plan, trace_room
from takeoff.trace.lines.room_verdict import unwritten_doubted
from tests.trace.ink import Ink, Pen
from tests.trace.known_plans import reference_folder, reference_plans, sample_plans_known
from tests.trace.plans import DEVELOPMENT, HELD_OUT, KINDS, make_plan
from tests.trace.scoring import polygon_of, read, score

M_PER_PT = 50 * 0.0254 / 72
PEN, THIN, DASHED = Pen(0.7), Pen(0.18), Pen(0.18, 0.0, "[3 2] 0")
OUTER = shapely.box(0.0, 0.0, 9.4, 4.4).difference(
    shapely.union_all([shapely.box(0.2, 0.2, 5.2, 4.2), shapely.box(5.4, 0.2, 9.2, 4.2)])
)
DOOR, WINDOW = shapely.box(5.19, 1.0, 5.41, 1.9), shapely.box(2.0, -0.01, 3.5, 0.21)
"""Two rooms, 5 × 4 m and 3.8 × 4 m, in walls of 200 mm; a door of 900 mm between them, a window of 1500 mm."""


def place(point):
    return (point[0] / M_PER_PT + 60, point[1] / M_PER_PT + 60)


def drawn(*steps, layered=False, size=(720, 400)):
    """Draw on an empty sheet, and trace it."""
    ink = Ink(size, place, layered=layered)
    for step in steps:
        step(ink)
    data = ink.data(rotate=0)
    sheet = read_sheets(data, "plan.pdf")[0][0]
    calibration = Calibration(sheet=1, mx=M_PER_PT, my=M_PER_PT)
    return read_plan(read_linework(data, sheet), read_lines(data, sheet), sheet, calibration)


def filled(*gaps):
    def draw(ink):
        for part in shapely.get_parts(OUTER.difference(shapely.union_all(gaps))).tolist():
            ink.shape(part, "A-WALL", stroke=PEN, fill=0.3)

    return draw


def outlined(*gaps):
    def draw(ink):
        for part in shapely.get_parts(OUTER.difference(shapely.union_all(gaps))).tolist():
            ink.shape(part, "A-WALL", stroke=PEN)

    return draw


def heavy(ink):
    """Draw the walls as single lines 200 mm wide, leaving out the door and the window."""
    pen = Pen(0.2 / M_PER_PT)
    for a, b in [
        ((0, 0.1), (2.0, 0.1)), ((3.5, 0.1), (9.4, 0.1)), ((0, 4.3), (9.4, 4.3)), ((0.1, 0), (0.1, 4.4)),
        ((9.3, 0), (9.3, 4.4)), ((5.3, 0.2), (5.3, 1.0)), ((5.3, 1.9), (5.3, 4.2)),
    ]:  # fmt: skip
        ink.line(a, b, "A-WALL", pen)


def door(ink):
    ink.line((5.2, 1.0), (4.3, 1.0), "A-DOOR", THIN)
    ink.arc((5.2, 1.0), 0.9, math.pi / 2, math.pi / 2, "A-DOOR", THIN)


def window(ink):
    for y in (0.0, 0.1, 0.2):
        ink.line((2.0, y), (3.5, y), "A-GLAZ", THIN)


def names(ink):
    ink.text((1.5, 3.2), "STORE", 8, "A-AREA-IDEN")
    ink.text((1.5, 3.5), "12", 8, "A-AREA-IDEN")
    ink.text((7.4, 2.0), "OFFICE", 8, "A-AREA-IDEN")
    ink.text((7.4, 2.3), "13", 8, "A-AREA-IDEN")


@pytest.mark.parametrize("layered", [False, True])
@pytest.mark.parametrize("walls", [filled(DOOR, WINDOW), outlined(DOOR, WINDOW), heavy])
def test_a_room_is_its_inner_face_with_its_openings(walls, layered):
    """By hand: 5 × 4 = 20 m², 18 m round; the door 900 mm and the window 1500 mm wide."""
    plan = drawn(walls, door, window, names, layered=layered)
    assert [(r.number, r.name) for r in plan.rooms] == [("12", "STORE"), ("13", "OFFICE")]
    room = plan.rooms[0]
    assert room.area == pytest.approx(20.0, abs=1e-3)
    assert polygon_of(room).length * M_PER_PT == pytest.approx(18.0, abs=1e-3)
    assert [(o.form, o.kind, round(o.width, 3)) for o in sorted(room.openings, key=lambda o: o.width)] == [
        ("swing", "door", 0.9),
        ("window", "window", 1.5),
    ]
    assert room.sure
    other = plan.rooms[1]
    assert other.area == pytest.approx(3.8 * 4, abs=1e-3)
    assert [o.form for o in other.openings] == ["swing"]


def framed(pen, leaf=1.04):
    """A door as building models are drawn: its swing over the frame, its leaf shut as well, a threshold."""

    def draw(ink):
        hinge = (5.2, 1.45 - leaf / 2)
        ink.line(hinge, (5.2 - leaf, hinge[1]), "A-DOOR", THIN)
        ink.arc(hinge, leaf, math.pi / 2, math.pi / 2, "A-DOOR", THIN)
        for x in (5.27, 5.31):
            ink.line((x, 1.0), (x, 1.9), "A-DOOR", pen)
        for x in (5.2, 5.4):
            ink.line((x, 1.0), (x, 1.9), "A-DOOR", THIN)

    return draw


@pytest.mark.parametrize("pen", [THIN, PEN])
@pytest.mark.parametrize("walls", [filled(DOOR, WINDOW), outlined(DOOR, WINDOW)])
def test_a_door_that_is_drawn_shut_too_is_no_window_and_no_wall(walls, pen):
    """The leaf is 1040 mm over a frame of 70 mm on either side, the gap 900 mm."""
    room = drawn(walls, framed(pen), window, names).rooms[0]
    assert [(o.kind, round(o.width, 2)) for o in room.openings if o.form != "window"] == [("door", 0.9)]
    assert room.sure


def test_a_swing_at_what_looks_like_a_window_is_told():
    room = drawn(filled(DOOR, WINDOW), framed(THIN, leaf=1.4), window, names).rooms[0]
    assert not room.sure
    assert "Door swings at its walls that fit no opening: 1." in room.unread


def test_the_face_is_on_the_left_of_one_who_walks_the_run():
    """With y down a run that turns left all the way has a negative area by the shoelace formula."""
    room = drawn(filled(DOOR, WINDOW), door, window, names).rooms[0]
    x, y = zip(*room.points_pt, strict=True)
    twice = sum(x[i] * y[(i + 1) % 4] - x[(i + 1) % 4] * y[i] for i in range(4))
    assert twice < 0


def test_an_opening_stands_at_its_station():
    """The door's middle is at (5.2, 1.45), the window's at (2.75, 0.2)."""
    room = drawn(filled(DOOR, WINDOW), door, window, names).rooms[0]
    ring = shapely.LineString([*room.points_pt, room.points_pt[0]])
    places = {o.kind: ring.interpolate(o.at / M_PER_PT) for o in room.openings}
    for kind, point in (("door", (5.2, 1.45)), ("window", (2.75, 0.2))):
        assert math.dist(places[kind].coords[0], place(point)) < 0.01


def test_a_click_gives_the_room_round_it_and_none_outside():
    plan = drawn(filled(DOOR, WINDOW), door, window, names)
    assert trace_room(plan, place((1.0, 1.0))).number == "12"
    assert trace_room(plan, place((8.0, 1.0))).number == "13"
    assert trace_room(plan, place((12.0, 1.0))) is None


def test_a_wide_bare_gap_leaves_two_rooms_open_to_one_another():
    plan = drawn(filled(shapely.box(5.19, 1.0, 5.41, 3.6), WINDOW), window, names)
    assert len(plan.rooms) == 1
    assert not plan.rooms[0].sure
    assert any("2 names" in reason for reason in plan.rooms[0].reasons)


def test_a_narrow_bare_gap_is_a_cased_opening():
    plan = drawn(filled(DOOR, WINDOW), window, names)
    assert [o.form for o in plan.rooms[1].openings] == ["cased"]


def test_a_room_that_nobody_can_enter_is_not_sure():
    plan = drawn(filled(), names)
    assert [(r.number, r.sure) for r in plan.rooms] == [("12", False), ("13", False)]
    assert plan.rooms[0].area == pytest.approx(20.0, abs=1e-3)


def test_furniture_tiles_and_dimensions_change_nothing():
    def clutter(ink):
        ink.shape(shapely.box(0.3, 2.4, 1.9, 3.0), "A-FURN", stroke=THIN)
        ink.shape(shapely.box(3.0, 2.0, 3.4, 2.4), "A-FURN", stroke=THIN)
        ink.polyline([(0.2, 1.2), (0.8, 1.2), (0.8, 2.2), (0.2, 2.2)], "A-FURN", THIN)
        for i in range(12):
            ink.line((5.5 + 0.3 * i, 0.2), (5.5 + 0.3 * i, 4.2), "A-FLOR-PATT", THIN)
            ink.line((5.4, 0.4 + 0.3 * i), (9.2, 0.4 + 0.3 * i), "A-FLOR-PATT", THIN)
        ink.line((0.2, 3.9), (5.2, 3.9), "A-ANNO-DIMS", THIN)
        ink.text((2.7, 3.8), "5.00", 5, "A-ANNO-DIMS")

    plain, full = (drawn(filled(DOOR, WINDOW), door, window, names, *more) for more in ((), (clutter,)))
    assert [polygon_of(r).equals(polygon_of(s)) for r, s in zip(plain.rooms, full.rooms, strict=True)] == [True, True]
    assert [r.openings for r in plain.rooms] == [r.openings for r in full.rooms]
    assert [r.columns for r in full.rooms] == [(), ()]


def test_columns_are_runs_of_their_own_and_round_ones_are_arcs():
    def columns(ink):
        ink.shape(shapely.box(1.0, 1.0, 1.4, 1.4), "A-COLS", stroke=PEN, fill=0.3)
        ink.shape(shapely.Point(3.0, 2.0).buffer(0.2, quad_segs=24), "A-COLS", stroke=PEN, fill=0.3)

    room = drawn(filled(DOOR, WINDOW), door, window, names, columns).rooms[0]
    assert room.area == pytest.approx(20 - 0.16 - math.pi * 0.04, abs=1e-3)
    square, circle = sorted(room.columns, key=lambda c: -len(c.points_pt))
    assert len(square.points_pt) == 4
    assert [round(abs(b), 2) for b in circle.bulges] == [1.0, 1.0]


def test_two_pilasters_face_to_face_do_not_part_a_room():
    """Tiles run from one to the other, as glass would; the room stays whole, 20 m² less the pilasters."""

    def pilasters(ink):
        for box in (shapely.box(2.4, 0.15, 2.9, 0.4), shapely.box(2.4, 4.0, 2.9, 4.25)):
            ink.shape(box, "A-WALL", stroke=PEN, fill=0.3)
        for i in range(12):
            ink.line((0.3 + 0.4 * i, 0.4), (0.3 + 0.4 * i, 4.0), "A-FLOR-PATT", THIN)

    rooms = drawn(filled(DOOR), door, names, pilasters).rooms
    assert [r.number for r in rooms] == ["12", "13"]
    assert rooms[0].area == pytest.approx(20 - 2 * 0.5 * 0.2, abs=1e-3)


@pytest.mark.parametrize("walls", [filled(DOOR), outlined(DOOR)])
def test_a_column_before_a_pilaster_and_a_swing_is_no_end_of_a_wall(walls):
    """A column of 400 mm stands 800 mm before a pilaster and 900 mm before the door: 20 m² less both."""

    def boxes(ink):
        for box in (shapely.box(3.4, 1.3, 3.8, 1.7), shapely.box(3.4, 0.2, 3.8, 0.5)):
            ink.shape(box, "A-COLS", stroke=PEN, fill=0.3)

    room = drawn(walls, door, names, boxes).rooms[0]
    assert room.area == pytest.approx(20 - 0.4 * 0.4 - 0.4 * 0.3, abs=1e-3)
    assert [o.form for o in room.openings] == ["swing"]
    assert len(room.columns) == 1


def test_two_lines_of_a_grid_with_their_bubbles_are_no_wall():
    """They run through room and walls, 200 mm apart, in a thin pen of their own."""

    def grid(ink):
        for x, y in ((3.3, 4.9), (3.5, 5.3)):
            ink.line((x, -0.5), (x, y), "S-GRID", THIN)
            ink.arc((x, y + 0.2), 0.2, 0, 2 * math.pi, "S-GRID-IDEN", THIN)
            ink.text((x, y + 0.2), "A", 5, "S-GRID-IDEN")

    room = drawn(outlined(DOOR), door, names, grid).rooms[0]
    assert room.area == pytest.approx(20.0, abs=1e-3)
    assert room.sure


def test_a_wall_that_a_dimension_is_written_over_is_a_wall():
    def words(ink):
        ink.text((2.6, 0.1), "5.00", 5, "A-ANNO-DIMS")
        ink.text((7.0, 4.3), "OFFICE", 7, "A-AREA-IDEN")

    rooms = drawn(outlined(DOOR), door, names, words).rooms
    assert [round(r.area, 3) for r in rooms] == [20.0, 15.2]


def test_the_end_of_a_pier_between_two_doors_faces_no_gap_across_the_room():
    """In this plan such a gap parted room 176, for the swings of both doors hang at the pier."""
    plan = make_plan(25, "finish-lines")
    result = score(read(plan).rooms, plan.rooms, plan.m_per_pt)
    assert (result.found, result.false_rooms) == (result.rooms, 0)


def test_filled_walls_whose_narrowed_outline_touches_itself_are_read():
    """The geometry engine narrowed the walls of this plan to a shape that it then refused."""
    plan = make_plan(36, "poché-plain")
    result = score(read(plan).rooms, plan.rooms, plan.m_per_pt)
    assert (result.found, result.sure_wrong) == (result.rooms, 0)


def test_a_dashed_line_beside_a_wide_gap_is_a_roll_up_door():
    gap = shapely.box(9.19, 1.0, 9.41, 3.4)

    def hood(ink):
        ink.line((8.9, 1.0), (8.9, 3.4), "A-DOOR", DASHED)

    plan = drawn(filled(DOOR, WINDOW, gap), door, window, names, hood)
    assert ("roll-up", 2.4) in [(o.form, round(o.width, 3)) for o in plan.rooms[1].openings]


def test_a_curved_wall_is_an_arc():
    """By hand: a half disc of radius 3 m has 14.137 m²; the curved face is a half circle."""
    ring = shapely.Point(5, 4.2).buffer(3.2, quad_segs=48).intersection(shapely.box(0, 0, 10, 4.4))
    hole = shapely.Point(5, 4.2).buffer(3.0, quad_segs=48).intersection(shapely.box(0, 0, 10, 4.2))
    gap = shapely.box(4.5, 4.19, 5.4, 4.41)

    def walls(ink):
        ink.shape(ring.difference(hole).difference(gap), "A-WALL", stroke=PEN, fill=0.3)

    room = drawn(walls).rooms[0]
    assert room.area == pytest.approx(math.pi * 9 / 2, rel=2e-3)
    turns = sum(4 * math.atan(b) for b in room.bulges)
    assert turns == pytest.approx(math.pi, abs=0.05)
    assert len(room.points_pt) <= 4


def test_an_empty_sheet_has_no_rooms():
    plan = make_plan(0, "layered")
    sheet = read_sheets(plan.data, "plan.pdf")[0][0]
    calibration = Calibration(sheet=1, mx=plan.m_per_pt, my=plan.m_per_pt)
    assert read_plan(empty_linework(), [], sheet, calibration).rooms == ()


def test_a_table_and_a_frame_are_no_rooms():
    """A frame of two lines round the sheet, and a table with words in its cells."""

    def table(ink):
        ink.raw("q 0.7 w 10 10 700 380 re S 14 14 692 372 re S Q", "G-ANNO-TTLB")
        for i in range(9):
            ink.raw(f"q 0.7 w 610 {40 + 20 * i} m 690 {40 + 20 * i} l S Q", "G-ANNO-SCHD")
            ink.text((622, 50 + 20 * i), f"D{i}", 6, "G-ANNO-SCHD", raw=True)
        for x in (610, 640, 690):
            ink.raw(f"q 0.7 w {x} 40 m {x} 200 l S Q", "G-ANNO-SCHD")

    assert [r.number for r in drawn(outlined(DOOR, WINDOW), door, window, names, table).rooms] == ["12", "13"]


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "one-pen"])
def test_the_rooms_of_a_made_up_plan_are_found(kind):
    plan = make_plan(1, kind)
    result = score(read(plan).rooms, plan.rooms, plan.m_per_pt)
    assert result.found == result.rooms, result.faults
    assert result.false_rooms == 0, result.faults
    assert result.sure_wrong == 0, result.faults
    assert result.traced > 0.98 * result.length


def test_where_everything_is_drawn_in_one_pen_no_room_is_called_sure_and_wrong():
    for seed in (1, 2, 3):
        plan = make_plan(seed, "one-pen")
        result = score(read(plan).rooms, plan.rooms, plan.m_per_pt)
        assert result.sure_wrong == 0, result.faults


def test_a_counter_in_the_pen_of_the_walls_is_no_wall():
    """A front 600 mm before the wall and two ends: the room stays 5 × 4 m, and is not sure for the lines in it."""

    def counter(ink):
        ink.polyline([(0.8, 0.2), (0.8, 0.8), (2.9, 0.8), (2.9, 0.2)], "A-FURN", PEN)

    room = drawn(outlined(DOOR), door, names, counter).rooms[0]
    assert room.area == pytest.approx(20.0, abs=1e-3)
    assert not room.sure


def test_a_pilaster_whose_side_stands_in_a_row_with_tiles_stays_in_its_wall():
    """In this plan the loss of one side of a pilaster opened the walls of rooms 123 and 162."""
    plan = make_plan(7, "one-pen")
    shapes = {room.number: polygon_of(room) for room in read(plan).rooms}
    for true in plan.rooms:
        if true.number in ("123", "162"):
            assert shapes[true.number].area == pytest.approx(true.outline_pt.area, rel=0.02)


def test_the_plans_to_judge_by_are_not_the_plans_to_work_with():
    assert not set(DEVELOPMENT) & set(HELD_OUT)
    assert make_plan(3, "outline").data == make_plan(3, "outline").data


@pytest.mark.parametrize("plan", sample_plans_known(), ids=lambda plan: plan.kind)
def test_the_sample_plans_are_traced_as_their_edits_trace_them(plan):
    result = score(read(plan).rooms, plan.rooms, plan.m_per_pt)
    assert result.faults == []
    assert (result.found, result.named, result.right) == (8, 8, result.openings)
    assert max(result.errors) < 0.005


@pytest.mark.skipif(reference_folder() is None, reason="TAKEOFF_REFERENCE names no folder of reference plans")
def test_the_closed_rooms_of_the_reference_plans_are_traced():
    for plan in reference_plans():
        result = score(read(plan).rooms, plan.rooms, plan.m_per_pt)
        assert result.found == result.rooms, result.faults
        assert result.sure_wrong == 0, result.faults
        assert result.right == result.openings, result.faults


def test_a_scale_along_y_that_differs_is_in_the_widths():
    """The door stands in a wall along y: with metres per point along y 2 % more, it is 2 % wider."""
    ink = Ink((720, 400), place, layered=True)
    for step in (filled(DOOR, WINDOW), door, window, names):
        step(ink)
    data = ink.data(rotate=90)
    sheet = read_sheets(data, "plan.pdf")[0][0]
    even = Calibration(sheet=1, mx=M_PER_PT, my=M_PER_PT)
    plans = [
        read_plan(read_linework(data, sheet), read_lines(data, sheet), sheet, scale)
        for scale in (even, replace(even, my=M_PER_PT * 1.02))
    ]
    widths = [{o.kind: o.width for o in plan.rooms[0].openings} for plan in plans]
    assert widths[1]["door"] == pytest.approx(1.02 * widths[0]["door"], rel=1e-3)
    assert widths[1]["window"] == pytest.approx(widths[0]["window"], rel=1e-3)
    assert isinstance(polygon_of(plans[0].rooms[0]), Polygon)


@pytest.mark.parametrize("apart", [0.0, 0.008])
def test_slabs_of_a_metre_in_the_pen_of_the_walls_are_no_walls_and_no_glass(apart):
    """Slabs of 1 m, drawn as one grid or one by one with joints of 8 mm, through both rooms and out of the building."""

    def slabs(ink):
        floor = shapely.box(0.2, 0.2, 5.2, 4.2).union(shapely.box(5.4, 0.2, 9.2, 4.2)).union(shapely.box(0, 4.4, 12, 7))
        for i in range(13):
            for j in range(8):
                slab = shapely.box(i - 0.45 + apart, j - 0.65 + apart, i + 0.55, j + 0.35).intersection(floor)
                for part in shapely.get_parts(slab).tolist():
                    if part.area > 0:
                        ink.shape(part, "A-FLOR", stroke=PEN)

    plan = drawn(outlined(DOOR, WINDOW), door, window, slabs, names, size=(800, 500))
    assert sorted(round(room.area, 1) for room in plan.rooms) == [15.2, 20.0]


@pytest.mark.parametrize("named", [0, 8])
def test_a_heavier_pen_that_draws_walls_alone_goes_before_one_that_draws_more_and_much_else(named):
    """The yard's wall in the thin pen encloses 100 m² more than the house does, with no names or with eight."""

    def yard(ink):
        corners = [(-1, -1), (14, -1), (14, 10), (6, 10), (6, 6), (-1, 6)]
        whole = Polygon(corners)
        ink.shape(whole.difference(whole.buffer(-0.12, join_style="mitre")), "A-SITE", stroke=THIN)
        for i in range(60):
            x, y = 0.5 + 0.7 * (i % 12), 0.5 + 0.6 * (i // 12)
            ink.line((x, y), (x + 2.0, y + 0.4 + 0.08 * i), "A-FURN", THIN)
        for i in range(named):
            ink.text((6.6 + 3.4 * (i % 2), 5.6 + 1.1 * (i // 2)), "STORE", 5, "0")

    plan = drawn(outlined(DOOR), door, yard, size=(1300, 800))
    assert [round(room.area, 2) for room in plan.rooms] == [20.0, 15.2]


def test_a_room_without_a_name_is_doubtful_where_the_letters_of_the_sheet_were_recognised():
    store, office = drawn(outlined(DOOR), door, names, layered=True).rooms
    judged = unwritten_doubted([store, replace(office, name="", number="")])
    assert [room.outline_sure for room in (store, office, *judged)] == [True, True, True, False]


def test_a_bed_in_the_pen_of_the_walls_is_no_room():
    """By hand: the office has 15.2 m², of which 1.6 × 1.6 m stand under the bed."""

    def bed(ink):
        ink.shape(shapely.box(5.6, 2.4, 7.2, 4.0).difference(shapely.box(5.7, 2.5, 7.1, 3.9)), "A-WALL", stroke=PEN)

    plan = drawn(outlined(DOOR), door, bed, names)
    assert [round(room.area, 2) for room in plan.rooms] == [20.0, 12.64]


def test_what_walls_close_without_a_name_or_an_opening_is_listed_and_no_room_where_others_have_names():
    """A shaft of 1.6 × 1.4 m beside the rooms, as walls are drawn."""

    def shaft(ink):
        walls = shapely.box(9.4, 0.0, 11.2, 1.8).difference(shapely.box(9.4, 0.2, 11.0, 1.6))
        ink.shape(walls, "A-WALL", stroke=PEN, fill=0.3)

    named, bare = drawn(filled(DOOR), shaft, door, names), drawn(filled(DOOR), shaft, door)
    assert [room.name for room in named.rooms] == ["STORE", "OFFICE"]
    assert [lost.reason.split(" without")[0] for lost in named.lost] == ["walls close 2.2 m² there"]
    assert len(bare.rooms) == 3


@pytest.mark.parametrize(
    ("gap", "faces", "is_told"),
    [
        (shapely.box(0.2, -0.01, 5.2, 0.21), [((0.2, y), (5.2, y)) for y in (0.0, 0.2)], True),
        (shapely.box(5.19, 2.2, 5.41, 4.2), [((x, 2.2), (x, 4.2)) for x in (5.2, 5.4)], False),
    ],
    ids=["the front of a garage", "a partition"],
)
def test_a_front_in_a_thinner_pen_is_told_though_it_is_as_wide_as_its_room_and_a_partition_is_not(gap, faces, is_told):
    def thin(ink):
        for a, b in faces:
            ink.line(a, b, "A-WALL", THIN)

    room = drawn(outlined(DOOR, gap), thin, door, names, layered=True).rooms[0]
    assert any("thinner pen" in reason for reason in room.unread) is is_told
    assert room.sure is not is_told
