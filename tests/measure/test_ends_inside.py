"""Runs that end inside the wall of another are told, with what is counted although nobody coats it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.measure.overlaps import EndInside, ends_inside
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Run

SCALE = Calibration(sheet=1, mx=0.01, my=0.01)  # 100 points are a metre
HIGH = HeightProfile.constant(3.0)


def wall(id, *points, thickness=0.2, line="centre", face="both", **fields):
    return Run(
        id=id, sheet=1, points_pt=points, face=face, height=HIGH, line=line, thickness=thickness, **fields
    )  # fmt: skip


LONG = wall("long", (0.0, 0.0), (600.0, 0.0))


def inside(*runs):
    return ends_inside(runs, {run.id: SCALE for run in runs})


def test_a_centreline_that_ends_on_a_centreline_is_half_a_wall_too_long():
    """The wall is 0.2 m thick, so its face is 0.1 m off its centreline; the end covers its own 0.15 m of that face."""
    (found,) = inside(LONG, wall("short", (300.0, 0.0), (300.0, 400.0), thickness=0.15))
    assert (found.run, found.other) == ("short", "long")
    assert found.inside == pytest.approx(0.1)
    assert found.covered == pytest.approx(0.15)


def test_both_ends_are_looked_at_and_a_bare_line_covers_nothing():
    other = wall("far", (0.0, 400.0), (600.0, 400.0))
    between = wall("line", (300.0, 0.0), (300.0, 400.0), line="face", face="left", thickness=0.0)
    assert inside(LONG, other, between) == (
        EndInside(run="line", other="long", inside=pytest.approx(0.1), covered=0.0),
        EndInside(run="line", other="far", inside=pytest.approx(0.1), covered=0.0),
    )


def test_what_comes_from_the_side_that_is_not_coated_covers_nothing():
    """Walking along +x on the displayed sheet, what has the larger y lies to the right hand."""
    right = wall("r", (300.0, 0.0), (300.0, 400.0))
    assert inside(wall("long", (0.0, 0.0), (600.0, 0.0), face="left"), right)[0].covered == 0.0
    assert inside(wall("long", (0.0, 0.0), (600.0, 0.0), face="right"), right)[0].covered == pytest.approx(0.2)


@pytest.mark.parametrize(("face", "y", "is_inside"), [("left", 10.0, True), ("left", -10.0, False),
                                                      ("right", -10.0, True), ("right", 10.0, False)])  # fmt: skip
def test_the_body_of_a_wall_traced_on_its_face_lies_behind_that_face(face, y, is_inside):
    traced = wall("long", (0.0, 0.0), (600.0, 0.0), line="face", face=face)
    assert bool(inside(traced, wall("a", (300.0, y), (300.0, math.copysign(400.0, y))))) is is_inside


@pytest.mark.parametrize(
    "other",
    [
        wall("a", (300.0, 10.0), (300.0, 400.0)),
        wall("a", (300.0, 50.0), (300.0, 400.0)),
        wall("a", (600.0, 0.0), (600.0, 400.0)),
        wall("a", (600.0, 0.0), (600.0, 400.0), thickness=0.3),
        wall("a", (600.0, 0.0), (900.0, 0.0)),
        wall("a", (300.0, -400.0), (300.0, 400.0)),
        wall("a", (300.0, 0.0), (300.0, 400.0), ends=("return", "free")),
        wall("a", (200.0, -300.0), (400.0, -300.0), (400.0, 300.0), (200.0, 300.0), closed=True),
    ],
    ids=["ends at the face", "short of it", "corner", "corner of another thickness", "goes on", "crosses",
         "returned end", "closed"],
)  # fmt: skip
def test_ends_that_lie_in_no_wall_are_not_told(other):
    assert inside(LONG, other) == ()


def test_runs_of_other_scales_and_without_one_are_passed_over():
    short = wall("short", (300.0, 0.0), (300.0, 400.0))
    assert (
        ends_inside((LONG, short), {"long": SCALE, "short": Calibration(sheet=1, region="r", mx=0.01, my=0.01)}) == ()
    )
    assert ends_inside((LONG, short), {"long": SCALE}) == ()


@given(turn=st.floats(0.0, 2.0 * math.pi), lean=st.floats(0.6, math.pi - 0.6), back=st.booleans())
def test_however_the_walls_lie_the_way_in_is_half_the_thickness_over_the_sine(turn, lean, back):
    """Right triangle: the half thickness stands across the wall, the way in is its hypotenuse."""

    def at(x, y):
        return (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn))

    long = wall("long", at(-900.0, 0.0), at(900.0, 0.0))
    points = (at(0.0, 0.0), at(400.0 * math.cos(lean), 400.0 * math.sin(lean)))
    (found,) = inside(long, wall("short", *(points[::-1] if back else points)))
    assert found.inside == pytest.approx(0.1 / math.sin(lean), rel=1e-6)
