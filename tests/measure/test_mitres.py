"""Thick walls traced as several runs: their faces meet as those of one run do."""

import math
from dataclasses import replace
from itertools import pairwise, permutations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from takeoff.errors import GeometryError
from takeoff.measure.faces import measure_faces
from takeoff.measure.rules import MeasureSettings
from takeoff.measure.totals import sum_quantities
from takeoff.model.figures import QUANTITY_FIELDS
from takeoff.model.plan import Calibration
from takeoff.model.walls import Cove, HeightProfile, Opening, Run

SCALE = Calibration(sheet=1, mx=1.0, my=1.0, pick=0.0005)
COVE = Cove(height=0.1, toe=0.1, radius=0.025, thickness=0.006, jamb_return=0.03)


def total(*runs):
    faces = measure_faces(runs, {}, {r.id: SCALE for r in runs}, settings=MeasureSettings())
    return sum_quantities([f.quantities for f in faces])


def same(found, expected):
    for name in QUANTITY_FIELDS:
        if name not in ("joined_length", "perimeter"):
            assert getattr(found, name) == pytest.approx(getattr(expected, name), abs=1e-6), name


def turned_round(run):
    """The same wall traced from its other end; its body stays where it is."""
    face = {"left": "right", "right": "left", "both": "both"}[run.face]
    length = sum(math.dist(a, b) for a, b in pairwise(run.points_pt))
    openings = tuple(replace(o, at=length - o.at) for o in run.openings)
    bulges = tuple(-b for b in reversed(run.bulges))
    return replace(run, points_pt=run.points_pt[::-1], face=face, openings=openings, bulges=bulges)


@st.composite
def thick_walls(draw, line=None):
    """Open thick walls of three to five points that run to the right, some with curved segments and a door each."""
    count = draw(st.integers(3, 5))
    steps = draw(st.lists(st.integers(1500, 4000), min_size=count - 1, max_size=count - 1))
    ups = draw(st.lists(st.integers(-3000, 3000), min_size=count, max_size=count))
    points = tuple((sum(steps[:i]) / 1000, ups[i] / 1000) for i in range(count))
    kind = line or draw(st.sampled_from(["centre", "face"]))
    bulges = draw(st.lists(st.sampled_from([0.0, 0.0, 0.0, 0.2, -0.15]), min_size=count - 1, max_size=count - 1))
    return Run(
        id="a",
        sheet=1,
        points_pt=points,
        bulges=tuple(bulges) if any(bulges) else (),
        face="both" if kind == "face" else draw(st.sampled_from(["left", "right", "both"])),
        line=kind,
        thickness=draw(st.integers(50, 400)) / 1000,
        height=HeightProfile.constant(3.0),
        base=draw(st.sampled_from([0.0, 0.3])),
        cove=draw(st.sampled_from([None, COVE])),
    )


@settings(max_examples=60, deadline=None)
@given(thick_walls(), st.data())
def test_a_thick_wall_traced_as_two_runs_measures_as_one(run, data):
    k = data.draw(st.integers(1, len(run.points_pt) - 2))
    first = replace(run, id="a", points_pt=run.points_pt[: k + 1], bulges=run.bulges[:k])
    second = replace(run, id="b", points_pt=run.points_pt[k:], bulges=run.bulges[k:])
    try:
        whole = total(run)
    except GeometryError:
        assume(False)
    same(total(first, second), whole)
    same(total(second, first), whole)


@settings(max_examples=40, deadline=None)
@given(thick_walls("centre"), st.data())
def test_the_direction_of_tracing_does_not_matter(run, data):
    k = data.draw(st.integers(1, len(run.points_pt) - 2))
    first = replace(run, id="a", points_pt=run.points_pt[: k + 1], bulges=run.bulges[:k])
    second = replace(run, id="b", points_pt=run.points_pt[k:], bulges=run.bulges[k:])
    try:
        whole = total(run)
    except GeometryError:
        assume(False)
    same(total(first, turned_round(second)), whole)
    same(total(turned_round(first), turned_round(second)), whole)


def pillar(*, gap=0.0, **more):
    """A square of thick walls, 4 m on the centreline, as four runs."""
    corners = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (0.0, 0.0)]
    sides = [
        Run(
            id=f"s{i}", sheet=1, points_pt=(a, (b[0] + gap, b[1])), face="both", line="centre", thickness=0.2,
            height=HeightProfile.constant(3.0), **more,
        )
        for i, (a, b) in enumerate(pairwise(corners))
    ]  # fmt: skip
    return sides


def test_four_runs_round_a_room_have_an_inner_and_an_outer_face():
    # by hand: 4 × 4.2 m outside and 4 × 3.8 m inside, 3 m high, four corners on each
    for order in permutations(pillar()):
        found = total(*order)
        assert found.net_area == pytest.approx((16.8 + 15.2) * 3.0)
        assert (found.inside_corners, found.outside_corners) == (4.0, 4.0)
        assert found.end_length == pytest.approx(0.0, abs=1e-9)


def test_ends_that_are_picked_apart_by_less_than_the_tolerance_meet_too():
    found = total(*pillar(gap=0.001))
    assert (found.inside_corners, found.outside_corners) == (4.0, 4.0)
    assert found.end_length == pytest.approx(0.0, abs=1e-9)
    assert found.net_area == pytest.approx(96.0, abs=0.03)


@pytest.mark.parametrize("angles", [(0, 90, 180), (0, 120, 240), (10, 100, 200, 290), (0, 72, 144, 216, 288)])
def test_walls_that_meet_at_one_point_stop_at_one_another(angles):
    runs = [
        Run(
            id=f"w{a}", sheet=1, face="both", line="centre", thickness=0.3, height=HeightProfile.constant(2.0),
            points_pt=((0.0, 0.0), (5 * math.cos(math.radians(a)), -5 * math.sin(math.radians(a)))),
        )
        for a in angles
    ]  # fmt: skip
    found = total(*runs)
    # by hand: between two walls at an angle w, both faces begin 0.15 / tan(w / 2) from the point
    gaps = [math.radians((b - a) % 360) for a, b in pairwise([*angles, angles[0]])]
    length = 2 * 5 * len(angles) - sum(2 * 0.15 / math.tan(w / 2) for w in gaps)
    assert found.base_length == pytest.approx(length)
    assert found.inside_corners == sum(w < math.pi - 0.2 for w in gaps)
    assert found.end_length == pytest.approx(2.0 * 2 * len(angles))


def test_walls_of_different_thickness_or_on_other_sides_of_the_line_end_square():
    first, second = pillar()[:2]
    thin = replace(second, thickness=0.1)
    assert total(first, thin).base_length == pytest.approx(16.0)
    traced = [replace(r, line="face") for r in (first, second)]
    assert total(*traced).base_length == pytest.approx(8.0 + 8.0 - 2 * 0.2)
    assert total(traced[0], replace(traced[1], points_pt=traced[1].points_pt[::-1])).base_length == pytest.approx(16.0)


def test_a_door_at_the_corner_of_two_runs_lies_as_in_one():
    door = Opening(at=4.45, width=0.9, height=2.1)
    one = Run(
        id="a", sheet=1, points_pt=((0.0, 0.0), (4.0, 0.0), (4.0, 3.0)), face="both", line="centre", thickness=0.2,
        height=HeightProfile.constant(3.0), openings=(door,),
    )  # fmt: skip
    parts = (
        replace(one, points_pt=one.points_pt[:2], openings=()),
        replace(one, id="b", points_pt=one.points_pt[1:], openings=(replace(door, at=0.45),)),
    )
    whole, split = total(one), total(*parts)
    assert split.net_area == pytest.approx(whole.net_area)
    assert split.base_length == pytest.approx(whole.base_length)


def test_a_wall_too_short_for_its_corners_ends_square_and_says_so():
    def at(x, y, end, id):
        return Run(
            id=id, sheet=1, points_pt=((x, y), end), face="both", line="centre", thickness=0.3,
            height=HeightProfile.constant(3.0),
        )  # fmt: skip

    runs = (at(0, 0, (0.25, 0), "short"), at(0, 0, (0, 3), "p"), at(0.25, 0, (0.25, 3), "q"))
    faces = measure_faces(runs, {}, {r.id: SCALE for r in runs}, settings=MeasureSettings())
    doubts = [d for f in faces for d in f.doubts]
    assert doubts == ["wall short: it is too short for its right face to meet those of the walls beside it"]
