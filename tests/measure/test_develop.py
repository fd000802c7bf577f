import math

import pytest

from takeoff.measure.develop import develop, heights_at, traced_path
from takeoff.model.plan import Calibration
from takeoff.model.walls import Cove, HeightProfile, Room

ROOM = [(0, 0), (0, 4), (6, 4), (6, 0)]  # down, right, up: counter-clockwise as displayed, inside to the left
L_SHAPE = [(0, 0), (5, 0), (5, 3)]  # right, then down the page: turns right


def placed(face):
    return [(round(o.x0, 9), round(o.x1, 9)) for o in face.openings]


def test_sheet_points_become_metres_by_the_scale(wall):
    # 1:50: one point is 50 x 0.0254 / 72 = 0.0176388... m (derived), so 100 pt are 1.763888... m.
    scale = Calibration(sheet=1, mx=50 * 0.0254 / 72, my=50 * 0.0254 / 72)
    (face,) = develop(wall([(100, 100), (200, 100)]), None, scale)
    assert face.length == pytest.approx(1.7638888889)


def test_quarter_inch_to_the_foot_is_eighteen_points_to_the_foot(wall):
    scale = Calibration(sheet=1, mx=0.3048 / 18, my=0.3048 / 18)
    (face,) = develop(wall([(0, 0), (180, 0)]), None, scale)
    assert face.length == pytest.approx(10 * 0.3048)


def test_stretched_scan_is_measured_with_each_directions_own_scale(wall):
    scale = Calibration(sheet=1, mx=0.02, my=0.03)
    (face,) = develop(wall([(0, 0), (100, 0), (100, 100)]), None, scale)
    assert face.stations == pytest.approx((0.0, 2.0, 5.0))


def test_traced_line_keeps_its_arcs(wall, scale):
    path = traced_path(wall([(0, 0), (2, 0)], bulges=(1.0,)), scale)
    assert path.stations()[-1] == pytest.approx(math.pi)


@pytest.mark.parametrize(
    ("profile", "station", "before", "after"),
    [
        (((0.0, 3.0),), 7.0, 3.0, 3.0),
        (((0.0, 2.0), (4.0, 4.0)), 1.0, 2.5, 2.5),
        (((1.0, 2.0), (4.0, 4.0)), 0.5, 2.0, 2.0),
        (((1.0, 2.0), (4.0, 4.0)), 9.0, 4.0, 4.0),
        (((0.0, 2.0), (3.0, 2.0), (3.0, 5.0)), 3.0, 2.0, 5.0),
    ],
)
def test_height_stands_as_the_profile_says(profile, station, before, after):
    assert heights_at(profile, station) == (before, after)


def test_left_hand_of_a_counter_clockwise_room_sees_inside_corners(wall, scale):
    (face,) = develop(wall(ROOM, closed=True, face="left"), None, scale)
    assert face.turns == pytest.approx((math.pi / 2,) * 4)
    (face,) = develop(wall(ROOM, closed=True, face="right"), None, scale)
    assert face.turns == pytest.approx((-math.pi / 2,) * 4)


def test_both_faces_of_a_thick_wall_swap_inside_for_outside_and_differ_in_length(wall, scale):
    left, right = develop(wall(L_SHAPE, face="both", line="centre", thickness=0.2), None, scale)
    assert (left.side, right.side) == ("left", "right")
    assert left.length == pytest.approx(8.2)
    assert right.length == pytest.approx(7.8)
    assert left.turns[1] == pytest.approx(-math.pi / 2)
    assert right.turns[1] == pytest.approx(math.pi / 2)


def test_with_both_faces_a_line_on_the_face_is_the_left_one(wall, scale):
    left, right = develop(wall(L_SHAPE, face="both", thickness=0.2), None, scale)
    assert left.length == pytest.approx(8.0)
    assert right.length == pytest.approx(7.6)


def test_one_face_of_a_centreline_lies_half_the_thickness_off(wall, scale):
    (face,) = develop(wall(L_SHAPE, face="right", line="centre", thickness=0.2), None, scale)
    assert face.length == pytest.approx(7.8)


def test_door_in_a_thick_wall_is_as_wide_on_both_faces(wall, scale):
    door = {"at": 2.5, "width": 1.0, "height": 2.1}
    left, right = develop(wall(L_SHAPE, face="both", line="centre", thickness=0.2, openings=[door]), None, scale)
    assert placed(left) == [(2.0, 3.0)]
    assert placed(right) == [(2.0, 3.0)]


def test_door_on_the_second_leg_is_square_across_the_wall(wall, scale):
    door = {"at": 6.5, "width": 1.0, "height": 2.1}
    left, right = develop(wall(L_SHAPE, face="both", line="centre", thickness=0.2, openings=[door]), None, scale)
    # The outer face reaches the corner 0.1 m later and starts its second leg 0.1 m before the vertex.
    assert placed(left) == [(6.2, 7.2)]
    assert placed(right) == [(5.8, 6.8)]


@pytest.mark.parametrize(("at", "outer", "inner"), [(5.5, (5.2, 6.2), (4.9, 5.8)), (4.5, (4.0, 5.0), (4.0, 4.9))])
def test_door_that_stands_at_a_corner_is_as_wide_on_the_outer_face_as_it_is(wall, scale, at, outer, inner):
    # Right after and right before the vertex at 5 m; the inner face has no room for the 0.1 m within the corner.
    door = {"at": at, "width": 1.0, "height": 2.1}
    left, right = develop(wall(L_SHAPE, face="both", line="centre", thickness=0.2, openings=[door]), None, scale)
    assert placed(left) == [outer]
    assert placed(right) == [inner]


def test_window_round_a_corner_is_longer_outside_and_shorter_inside(wall, scale):
    window = {"at": 5.0, "width": 2.0, "height": 1.2, "sill": 0.9}
    left, right = develop(wall(L_SHAPE, face="both", line="centre", thickness=0.2, openings=[window]), None, scale)
    assert placed(left) == [(4.0, 6.2)]
    assert placed(right) == [(4.0, 5.8)]


def test_opening_in_a_curved_wall_takes_the_same_angle_on_both_faces(wall, scale):
    quarter = math.tan(math.pi / 8)
    run = wall(
        [(5, 0), (0, 5)],
        bulges=(-quarter,),
        face="both",
        line="centre",
        thickness=0.5,
        openings=[{"at": 5 * math.pi / 4, "width": 1.0, "height": 2.0}],
    )
    for face in develop(run, None, scale):
        radius = face.length / (math.pi / 2)
        (opening,) = face.openings
        assert (opening.x1 - opening.x0) / radius == pytest.approx(1.0 / 5.0)
        assert (opening.x0 + opening.x1) / 2 == pytest.approx(face.length / 2)


def test_step_of_the_top_at_a_vertex_stands_at_the_corner_of_both_faces(wall, scale):
    steps = [(0, 3), (5, 3), (5, 4), (8, 4)]
    left, right = develop(wall(L_SHAPE, face="both", line="centre", thickness=0.2, height=steps), None, scale)
    for face in (left, right):
        assert face.heights_at(face.stations[1]) == (3.0, 4.0)


def test_stepped_wall_round_a_corner_has_the_area_of_its_legs(wall, figures):
    steps = [(0, 3), (5, 3), (5, 4), (8, 4)]
    found = figures(wall(L_SHAPE, face="both", line="centre", thickness=0.2, height=steps))
    # Outside 5.1 x 3 + 3.1 x 4, inside 4.9 x 3 + 2.9 x 4.
    assert found.gross_area == pytest.approx(27.7 + 26.3)


def test_repeated_opening_stands_at_its_spacing(wall, scale):
    pillars = {"at": 1.0, "width": 0.5, "height": 2.0, "count": 3, "spacing": 2.0}
    (face,) = develop(wall([(0, 0), (10, 0)], openings=[pillars]), None, scale)
    assert placed(face) == [(0.75, 1.25), (2.75, 3.25), (4.75, 5.25)]


def test_repeated_opening_without_spacing_stands_one_clear_width_apart(wall, scale):
    (face,) = develop(
        wall([(0, 0), (10, 0)], openings=[{"at": 1.0, "width": 1.0, "height": 2.0, "count": 3}]), None, scale
    )
    assert placed(face) == [(0.5, 1.5), (2.5, 3.5), (4.5, 5.5)]


def test_repeated_opening_without_spacing_closes_up_where_the_run_is_short(wall, scale):
    (face,) = develop(
        wall([(0, 0), (5, 0)], openings=[{"at": 0.5, "width": 1.0, "height": 2.0, "count": 4}]), None, scale
    )
    assert placed(face) == [(0.0, 1.0), (1.25, 2.25), (2.5, 3.5), (3.75, 4.75)]


def test_repeated_opening_goes_on_past_a_closed_runs_first_vertex(wall, scale):
    windows = {"at": 18.0, "width": 1.0, "height": 1.0, "sill": 1.0, "count": 3, "spacing": 1.5}
    (face,) = develop(wall(ROOM, closed=True, openings=[windows]), None, scale)
    assert sorted(placed(face)) == [(0.5, 1.5), (17.5, 18.5), (19.0, 20.0)]


def test_opening_across_a_closed_runs_first_vertex_is_in_two_pieces(wall, scale):
    (face,) = develop(wall(ROOM, closed=True, openings=[{"at": 0.2, "width": 1.0, "height": 2.0}]), None, scale)
    assert placed(face) == [(19.7, 20.0), (0.0, 0.7)]


def test_opening_over_the_end_by_less_than_the_picking_error_is_clipped(wall):
    # Picked to 0.01 m a coordinate: two points within 0.04 m are one.
    scale = Calibration(sheet=1, mx=1.0, my=1.0, pick=0.01)
    (face,) = develop(wall([(0, 0), (5, 0)], openings=[{"at": 4.52, "width": 1.0, "height": 2.0}]), None, scale)
    assert placed(face) == [(4.02, 5.0)]


def test_run_takes_from_its_room_what_it_leaves_open(wall, scale):
    cove = Cove(height=0.1, toe=0.1, radius=0.025, thickness=0.006)
    room = Room(id="R1", height=HeightProfile.constant(2.7), system="mat-hygienic", cove=cove)
    (face,) = develop(wall([(0, 0), (5, 0)], height=None, room="R1"), room, scale)
    assert (face.profile, face.system, face.cove) == (((0.0, 2.7),), "mat-hygienic", cove)
    assert face.has_room_height


def test_run_keeps_what_it_says_itself(wall, scale):
    cove = Cove(height=0.1, toe=0.1, radius=0.025, thickness=0.006)
    room = Room(id="R1", height=HeightProfile.constant(2.7), system="mat-hygienic", cove=cove)
    (face,) = develop(wall([(0, 0), (5, 0)], room="R1", system="flake", no_cove=True), room, scale)
    assert (face.profile, face.system, face.cove) == (((0.0, 3.0),), "flake", None)
    assert not face.has_room_height


@pytest.mark.parametrize(
    ("height", "base", "opening", "doubt"),
    [
        (1.2, 0.0, {"at": 2.0, "width": 1.0, "height": 1.0, "sill": 1.5}, "above the coating"),
        (3.0, 1.0, {"at": 2.0, "width": 1.0, "height": 0.8, "kind": "window"}, "below the coating"),
        ([(0, 3), (9, 4)], 0.0, None, "beyond the wall's end"),
        (3.0, 0.0, {"at": 2.0, "width": 1.0, "height": 2.0}, None),
    ],
)
def test_what_has_no_effect_is_doubted(wall, scale, height, base, opening, doubt):
    run = wall([(0, 0), (5, 0)], height=height, base=base, openings=[opening] if opening else [])
    (face,) = develop(run, None, scale)
    assert [doubt in d for d in face.doubts] == ([True] if doubt else [])


def test_a_run_shorter_than_the_picks_and_one_taller_than_a_hall_are_doubted_once(wall, scale):
    # two picks are told apart from four times 0.5 mm on
    short = develop(wall([(0, 0), (0.0015, 0)], face="both", thickness=0.1), None, scale)
    assert [d for f in short for d in f.doubts] == ["wall a: it is 1.5 mm long, less than picks can tell: remove it"]
    tall = develop(wall([(0, 0), (5, 0)], height=30.0, face="both", thickness=0.1), None, scale)
    assert [d for f in tall for d in f.doubts] == [
        "wall a: its top is 30.000 m (98'-5 1/8\") above the floor: check the height and its unit"
    ]


@pytest.mark.parametrize(
    ("kind", "width", "height", "is_told"),
    [
        ("door", 2.1, 0.9, True), ("door", 1.6, 1.45, True), ("door", 1.6, 1.55, False), ("door", 0.9, 2.1, False),
        ("door", 0.8, 0.9, False), ("window", 2.1, 0.9, False), ("door", 4.0, 3.0, False),
    ],
)  # fmt: skip
def test_a_low_door_that_is_wider_than_high_may_have_its_sizes_swapped(wall, scale, kind, width, height, is_told):
    opening = {"at": 2.5, "width": width, "height": height, "kind": kind}
    (face,) = develop(wall([(0, 0), (5, 0)], openings=[opening]), None, scale)
    assert ["were width and height swapped?" in d for d in face.doubts] == [True] * is_told


def test_opening_within_a_corner_of_a_thick_wall_is_doubted_on_the_inner_face(wall, scale):
    slot = {"at": 4.95, "width": 0.1, "height": 1.0}
    left, right = develop(wall(L_SHAPE, face="both", line="centre", thickness=0.2, openings=[slot]), None, scale)
    assert placed(left) == [(4.9, 5.0)]
    assert placed(right) == []
    assert left.doubts == ()
    assert right.doubts == ("wall a, opening 1: it lies within a corner of the wall and is not on its right face",)


@pytest.mark.parametrize(("base", "is_told"), [(0.0, False), (0.1, True), (0.3, True), (1.2, False)])
def test_a_wall_that_starts_just_above_the_floor_and_so_loses_its_cove_is_doubted(wall, scale, base, is_told):
    cove = Cove(height=0.1, toe=0.025, radius=0.02, thickness=0.005)
    (face,) = develop(wall([(0, 0), (5, 0)], base=base, cove=cove), None, scale)
    assert any("its cove is left out" in doubt for doubt in face.doubts) == is_told
    (bare,) = develop(wall([(0, 0), (5, 0)], base=base), None, scale)
    assert bare.doubts == ()
