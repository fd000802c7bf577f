import math

import pytest

from takeoff.model.plan import Calibration
from takeoff.model.walls import Cove

COVE = Cove(height=0.1, toe=0.1, radius=0.025, thickness=0.006)


def test_two_runs_that_meet_make_the_corner_that_one_run_would(wall, figures):
    whole = figures(wall([(0, 0), (5, 0), (5, -3)]))
    parts = figures(wall([(0, 0), (5, 0)]), wall([(5, 0), (5, -3)], id="b"))
    assert (parts.inside_corners, parts.inside_corner_length) == (1, 3.0)
    assert parts.end_length == pytest.approx(whole.end_length)


def test_two_runs_that_turn_away_from_the_coated_side_make_an_outside_corner(wall, figures):
    parts = figures(wall([(0, 0), (5, 0)]), wall([(5, 0), (5, 3)], id="b"))
    assert (parts.outside_corners, parts.outside_corner_length) == (1, 3.0)
    assert parts.inside_corners == 0


@pytest.mark.parametrize("turned", [(False, True), (True, False), (True, True)])
def test_direction_of_tracing_does_not_matter_to_a_join(wall, figures, turned):
    lines = [[(0, 0), (5, 0)], [(5, 0), (5, -3)]]
    runs = [
        wall(line[::-1] if back else line, id=name, face="right" if back else "left")
        for line, back, name in zip(lines, turned, "ab", strict=True)
    ]
    found = figures(*runs)
    assert (found.inside_corners, found.end_length) == (1, 6.0)


def test_runs_in_line_join_without_a_corner(wall, figures):
    found = figures(wall([(0, 0), (5, 0)]), wall([(5, 0), (9, 0)], id="b"))
    assert (found.inside_corners, found.outside_corners) == (0, 0)
    assert found.end_length == pytest.approx(6.0)
    assert found.joined_length == pytest.approx(6.0)


def test_join_is_as_long_as_the_heights_overlap_and_the_rest_is_termination(wall, figures):
    # 3.0 m against a wainscot from 0.5 to 1.5 m: shared 1.0, sticking out 2.0 of the first.
    found = figures(wall([(0, 0), (5, 0)]), wall([(5, 0), (5, -3)], id="b", height=1.5, base=0.5))
    assert found.inside_corner_length == pytest.approx(1.0)
    assert found.end_length == pytest.approx(3.0 + 2.0 + 1.0)


def test_runs_without_a_common_height_do_not_join(wall, figures):
    found = figures(wall([(0, 0), (5, 0)], height=1.0), wall([(5, 0), (5, -3)], id="b", base=1.2))
    assert found.inside_corners == 0
    assert found.end_length == pytest.approx(2 * 1.0 + 2 * 1.8)


def test_door_at_the_join_shortens_the_corner(wall, figures):
    found = figures(
        wall([(0, 0), (5, 0)], cove=COVE, openings=[{"at": 4.5, "width": 1.0, "height": 2.0}]),
        wall([(5, 0), (5, -3)], id="b", cove=COVE),
    )
    assert found.inside_corner_length == pytest.approx(1.0)
    assert found.cove_inside_corners == 0  # the cove does not reach the corner through the door


@pytest.mark.parametrize("door_on", ["a", "b"])
def test_cove_corner_at_a_join_needs_the_floor_on_both_runs(wall, figures, door_on):
    doors = {"a": {"at": 4.5, "width": 1.0, "height": 2.0}, "b": {"at": 0.5, "width": 1.0, "height": 2.0}}
    lines = {"a": [(0, 0), (5, 0)], "b": [(5, 0), (5, -3)]}
    runs = [wall(lines[k], id=k, cove=COVE, openings=[doors[k]] if k == door_on else []) for k in "ab"]
    assert figures(*runs).cove_inside_corners == 0
    assert figures(*(wall(lines[k], id=k, cove=COVE) for k in "ab")).cove_inside_corners == 1


@pytest.mark.parametrize(("gap", "corners"), [(0.0019, 1), (0.0021, 0)])
def test_ends_meet_within_four_picking_errors(wall, figures, gap, corners):
    # Picked to 0.0005 m: two points within 0.002 m are one.
    found = figures(wall([(0, 0), (5, 0)]), wall([(5, -gap), (5, -3)], id="b"))
    assert found.inside_corners == corners


def test_runs_of_different_scales_do_not_join(wall, figures, scale):
    detail = Calibration(sheet=1, region="detail", mx=1.0, my=1.0, pick=0.0005)
    runs = wall([(0, 0), (5, 0)]), wall([(5, 0), (5, -3)], id="b")
    found = figures(*runs, scales={"a": scale, "b": detail})
    assert found.inside_corners == 0


def test_end_on_another_runs_coated_face_is_an_inside_corner(wall, figures):
    # The second run comes up the page, which is down from the first one's coated side: right to left, coated below.
    found = figures(wall([(8, 0), (0, 0)]), wall([(4, 3), (4, 0)], id="b", height=2.4))
    assert (found.inside_corners, found.inside_corner_length) == (1, pytest.approx(2.4))
    assert found.end_length == pytest.approx(2 * 3.0 + 2.4)


def test_end_on_another_runs_bare_side_stays_free(wall, figures):
    found = figures(wall([(8, 0), (0, 0)]), wall([(4, -3), (4, 0)], id="b"))
    assert found.inside_corners == 0
    assert found.end_length == pytest.approx(4 * 3.0)


def test_end_on_a_window_of_another_run_meets_what_is_coated_there(wall, figures):
    window = {"at": 4.0, "width": 2.0, "height": 1.0, "sill": 1.0, "kind": "window"}
    found = figures(wall([(8, 0), (0, 0)], openings=[window]), wall([(4, 3), (4, 0)], id="b"))
    assert found.inside_corner_length == pytest.approx(2.0)


def test_end_on_a_closed_runs_face_is_an_inside_corner(wall, figures):
    room = [(0, 0), (0, 4), (6, 4), (6, 0)]
    found = figures(wall(room, closed=True), wall([(3, 4), (3, 2)], id="b"))
    assert found.inside_corners == 5


def test_end_on_a_curved_face_is_an_inside_corner(wall, figures):
    # A half circle of radius 3 about (3, 0), coated inside; a wall from its deepest point to the middle.
    curve = wall([(0, 0), (6, 0)], bulges=(1.0,))
    found = figures(curve, wall([(3, 3), (3, 1)], id="b"))
    assert (found.inside_corners, found.end_length) == (1, pytest.approx(3 * 3.0))


def test_both_faces_of_a_partition_meet_the_wall_they_stand_on(wall, figures):
    partition = wall([(3, 2), (3, 0)], id="b", face="both", line="centre", thickness=0.1)
    found = figures(wall([(6, 0), (0, 0)]), partition)
    assert found.inside_corners == 2


def test_end_that_abuts_something_is_no_termination(wall, figures):
    assert figures(wall([(0, 0), (5, 0)], ends=("abut", "free"))).end_length == pytest.approx(3.0)


def test_line_that_comes_back_to_where_it_began_is_a_closed_room(wall, figures):
    room = [(0, 0), (0, 4), (6, 4), (6, 0)]
    closed, traced = figures(wall(room, closed=True)), figures(wall([*room, room[0]]))
    assert (traced.inside_corners, traced.end_length) == (4, 0.0)
    assert traced.inside_corner_length == pytest.approx(closed.inside_corner_length)


def test_short_pier_does_not_join_its_own_two_ends(wall, figures):
    coarse = Calibration(sheet=1, mx=1.0, my=1.0, pick=0.02)  # two points within 0.08 m are one
    found = figures(wall([(0, 0), (0.06, 0)]), scales={"a": coarse})
    assert found.end_length == pytest.approx(6.0)


def test_four_runs_round_a_room_make_four_corners_in_any_order(wall, figures):
    points = [(0, 0), (0, 4), (6, 4), (6, 0)]
    runs = [wall([points[i], points[(i + 1) % 4]], id=f"w{i}") for i in range(4)]
    for order in (runs, runs[::-1], [runs[2], runs[0], runs[3], runs[1]]):
        found = figures(*order)
        assert (found.inside_corners, found.inside_corner_length) == (4, pytest.approx(12.0))
        assert found.end_length == pytest.approx(0.0)


def test_corner_of_two_runs_names_the_other_run(wall, measure):
    first, second = measure(wall([(0, 0), (5, 0)]), wall([(5, 0), (5, -3)], id="b"))
    (corner,) = (*first.elevation.corners, *second.elevation.corners)
    assert corner.joined in ("a", "b")
    assert corner.turn == pytest.approx(math.pi / 2)


def test_coated_end_of_a_wall_adds_its_thickness_and_two_outside_corners(wall, figures):
    # A nib 2 m long and 0.2 m thick, both faces and the end coated: 2 x 2 x 3 + 0.2 x 3.
    nib = wall([(0, 0), (2, 0)], face="both", line="centre", thickness=0.2, ends=("abut", "return"))
    found = figures(nib)
    assert found.net_area == pytest.approx(12.0)
    assert found.return_area == pytest.approx(0.6)
    assert (found.outside_corners, found.outside_corner_length) == (2, pytest.approx(6.0))
    assert found.end_length == pytest.approx(0.0)


def test_coated_end_of_a_wall_with_one_face_stops_at_the_far_arris(wall, figures):
    found = figures(wall([(0, 0), (2, 0)], thickness=0.2, ends=("abut", "return")))
    assert (found.return_area, found.outside_corners) == (pytest.approx(0.6), 1)
    assert found.end_length == pytest.approx(3.0)
