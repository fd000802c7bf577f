"""Reshaping runs: openings stay in place, and what is split measures what it measured whole."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.errors import EditError
from takeoff.job import reshape
from takeoff.measure.develop import traced_path
from takeoff.measure.faces import measure_faces
from takeoff.measure.rules import MeasureSettings
from takeoff.measure.totals import sum_quantities
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Opening, Run

SCALE = Calibration(sheet=1, mx=0.01, my=0.01)
SQUARE = ((0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0))
DOOR = Opening(at=9.0, width=0.9, height=2.1)
WINDOW = Opening(at=2.0, width=1.2, height=0.9, sill=0.9, kind="window")


def room(**fields):
    return Run(
        **{
            "id": "a",
            "sheet": 1,
            "points_pt": SQUARE,
            "closed": True,
            "face": "right",
            "height": HeightProfile.constant(3.0),
            "openings": (DOOR, WINDOW),
            **fields,
        }
    )


def chain(**fields):
    return room(closed=False, ends=("free", "free"), **fields)


def total(*runs):
    faces = measure_faces(runs, {}, {run.id: SCALE for run in runs}, settings=MeasureSettings())
    return sum_quantities([face.quantities for face in faces])


def place(run, opening):
    from takeoff.geometry.paths import point_at

    return point_at(traced_path(run, SCALE), opening.at)


def test_moving_a_corner_leaves_the_openings_of_other_walls_where_they_are():
    before = room()
    after = reshape.with_vertices(before, {1: (450.0, -20.0)}, SCALE)
    assert math.dist(place(before, DOOR), place(after, after.openings[0])) < 1e-9


def test_a_corner_put_in_changes_no_figure():
    before = room()
    after, index = reshape.with_vertex_added(before, (200.0, 5.0))
    assert after.points_pt[index] == (200.0, 0.0)
    assert total(after).net_area == pytest.approx(total(before).net_area, rel=1e-12)


def test_a_corner_put_into_an_arc_leaves_the_arc():
    before = room(bulges=(0.3, 0.0, 0.0, 0.0), openings=())
    after, _ = reshape.with_vertex_added(before, (200.0, 60.0))
    assert traced_path(after, SCALE).stations()[-1] == pytest.approx(
        traced_path(before, SCALE).stations()[-1], rel=1e-9
    )


def test_a_corner_put_in_and_taken_out_gives_the_run_again():
    before = room(openings=())
    added, index = reshape.with_vertex_added(before, (200.0, 0.0))
    assert reshape.without_vertex(added, index, SCALE).points_pt == before.points_pt


def test_every_corner_of_an_open_and_a_closed_run_can_be_taken_out():
    for run in (room(openings=()), chain(openings=()), room(openings=(), bulges=(0.2, 0.0, 0.1, 0.0))):
        for i in range(4):
            after = reshape.without_vertex(run, i, SCALE)
            assert len(after.points_pt) == 3
            assert len(after.segment_bulges) == (3 if run.closed else 2)


def test_the_last_two_points_cannot_be_taken_out():
    run = Run(id="a", sheet=1, points_pt=((0.0, 0.0), (10.0, 0.0)))
    with pytest.raises(EditError, match="no line"):
        reshape.without_vertex(run, 0, SCALE)


@given(st.floats(0.05, 0.95))
def test_the_parts_of_a_split_run_measure_what_it_measured(part):
    before = chain(openings=())
    path = traced_path(before, SCALE)
    at = part * path.stations()[-1]
    from takeoff.geometry.paths import point_at

    x, y = point_at(path, at)
    a, b = reshape.split(before, (x / SCALE.mx, y / SCALE.my), "b", SCALE)
    assert total(a, b).net_area == pytest.approx(total(before).net_area, rel=1e-9)
    assert total(a, b).base_length == pytest.approx(total(before).base_length, rel=1e-9)


def test_a_split_keeps_openings_on_their_walls_and_a_join_brings_the_run_back():
    before = chain(openings=(WINDOW, Opening(at=8.0, width=0.9, height=2.1)))
    a, b = reshape.split(before, (400.0, 100.0), "b", SCALE)
    assert [len(a.openings), len(b.openings)] == [1, 1]
    back = reshape.join(a, b, SCALE)
    assert total(back).net_area == pytest.approx(total(before).net_area, rel=1e-12)
    assert [o.at for o in back.openings] == pytest.approx([o.at for o in before.openings])


def test_a_split_through_a_door_is_refused():
    with pytest.raises(EditError, match="lies across"):
        reshape.split(chain(openings=(WINDOW,)), (200.0, 0.0), "b", SCALE)


def test_a_sloped_height_is_parted_where_the_run_is_split():
    before = chain(openings=(), height=HeightProfile(points=((0.0, 3.0), (10.0, 5.0))))
    a, b = reshape.split(before, (400.0, 100.0), "b", SCALE)
    assert a.height.points[-1] == (5.0, 4.0)
    assert b.height.points[0] == (0.0, 4.0)
    assert total(a, b).net_area == pytest.approx(total(before).net_area, rel=1e-9)


def test_a_closed_run_is_opened_where_it_is_split():
    before = room(openings=())
    (after,) = reshape.split(before, (400.0, 150.0), "b", SCALE)
    assert not after.closed
    assert after.points_pt[0] == after.points_pt[-1] == (400.0, 150.0)
    assert total(after).net_area == pytest.approx(total(before).net_area, rel=1e-12)


def test_runs_whose_ends_do_not_meet_are_not_joined():
    a = chain(openings=())
    b = reshape.moved(chain(id="b", openings=()), 900.0, 0.0)
    with pytest.raises(EditError, match="do not meet"):
        reshape.join(a, b, SCALE)


@pytest.mark.parametrize("ratio", [48, 96, 384])
def test_ends_meet_within_what_picks_can_tell_apart_and_openings_stay_where_they_are(ratio):
    # a point of the sheet is ratio × 25.4 / 72 mm; picks are good to 0.5 of it, so two are apart from 4 × 0.5 on
    metre = ratio * 0.0254 / 72
    scale = Calibration(sheet=1, mx=metre, my=metre)
    a = Run(id="a", sheet=1, points_pt=((0.0, 0.0), (300.0, 0.0)), height=HeightProfile.constant(3.0))
    door = Opening(at=100.0 * metre, width=0.9, height=2.1)
    for gap in (0.0, 1.9):
        b = Run(id="b", sheet=1, points_pt=((300.0 + gap, 0.0), (900.0, 0.0)), height=a.height, openings=(door,))
        one = reshape.join(a, b, scale)
        assert one.points_pt == ((0.0, 0.0), (300.0, 0.0), (900.0, 0.0))
        assert one.openings[0].at == pytest.approx((400.0 + gap) * metre)
    far = Run(id="b", sheet=1, points_pt=((302.1, 0.0), (900.0, 0.0)), height=a.height)
    with pytest.raises(EditError, match=f"do not meet: {2.1 * metre:.3f} m "):
        reshape.join(a, far, scale)


@given(st.floats(0.2, 4.0))
def test_a_reversed_run_with_its_side_kept_measures_the_same(rise):
    before = chain(height=HeightProfile(points=((0.0, 3.0), (6.0, 3.0 + rise))), openings=(WINDOW,))
    after = reshape.reversed_run(before, SCALE)
    assert after.face != before.face
    assert total(after).net_area == pytest.approx(total(before).net_area, rel=1e-9)
    assert total(after).inside_corners == total(before).inside_corners


def test_a_mirrored_room_is_coated_inside_still():
    before = room()
    after = reshape.mirrored(before, (0.0, 0.0), (0.0, 1.0))
    assert total(after).inside_corners == total(before).inside_corners == 4
    assert total(after).net_area == pytest.approx(total(before).net_area, rel=1e-12)


def test_an_arc_through_a_point_passes_it():
    from takeoff.geometry.arcs import arc_centre

    bulge = reshape.bulge_through((0.0, 0.0), (10.0, 0.0), (4.0, 2.0))
    centre, radius = arc_centre((0.0, 0.0), (10.0, 0.0), bulge)
    assert math.dist(centre, (4.0, 2.0)) == pytest.approx(radius)
    after = reshape.with_bulge(room(openings=()), 0, (200.0, 30.0), SCALE)
    assert after.segment_bulges[0] != 0.0


def test_area_is_positive_counter_clockwise_as_displayed():
    # y runs down the page: right, up, left is counter-clockwise as displayed
    assert reshape.signed_area_pt(((0.0, 0.0), (4.0, 0.0), (4.0, -3.0))) == 6.0


def test_free_ids_fill_gaps():
    assert reshape.free_id(["run-1", "run-2"], "run") == "run-3"
