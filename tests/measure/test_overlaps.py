"""Walls that two runs measure twice are told, with the length that they share."""

from __future__ import annotations

import pytest

from takeoff.measure.faces import measure_faces
from takeoff.measure.overlaps import doubled_stretches
from takeoff.measure.rules import MeasureSettings
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Run

SCALE = Calibration(sheet=1, mx=0.01, my=0.01)


def wall(id, *points, face="left", **fields):
    height = fields.pop("height", HeightProfile.constant(3.0))
    return Run(id=id, sheet=1, points_pt=points, face=face, height=height, **fields)


def doubled(*runs):
    scales = {run.id: SCALE for run in runs}
    return doubled_stretches(measure_faces(runs, {}, scales, settings=MeasureSettings()), scales)


def test_a_run_traced_twice_is_told_with_its_whole_length():
    ((a, b, length),) = doubled(wall("a", (0.0, 0.0), (400.0, 0.0)), wall("b", (0.0, 0.5), (400.0, 0.5)))
    assert {a, b} == {"a", "b"}
    assert length == pytest.approx(4.0)


def test_the_same_wall_traced_the_other_way_with_the_same_side_is_told():
    one, other = wall("a", (0.0, 0.0), (400.0, 0.0)), wall("b", (500.0, 0.0), (100.0, 0.0), face="right")
    ((_, _, length),) = doubled(one, other)
    assert length == pytest.approx(3.0)


@pytest.mark.parametrize(
    "other",
    [
        wall("b", (0.0, 0.0), (400.0, 0.0), face="right"),
        wall("b", (400.0, 0.0), (800.0, 0.0)),
        wall("b", (0.0, 20.0), (400.0, 20.0)),
        wall("b", (200.0, -100.0), (200.0, 100.0)),
        wall("b", (0.0, 0.0), (400.0, 0.0), base=3.0, height=HeightProfile.constant(4.0)),
    ],
    ids=["other side", "goes on from it", "another wall", "crosses it", "above it"],
)
def test_walls_that_are_two_are_not_told(other):
    assert doubled(wall("a", (0.0, 0.0), (400.0, 0.0)), other) == ()


def test_both_faces_of_one_thick_wall_are_two_walls():
    assert doubled(wall("a", (0.0, 0.0), (400.0, 0.0), face="both", thickness=0.2)) == ()


def test_a_wall_of_many_points_close_together_is_not_held_against_itself_and_is_still_found_on_another():
    teeth = [(n / 10.0, float(n % 2)) for n in range(3000)]
    assert doubled(wall("a", *teeth)) == ()
    ((_, _, length),) = doubled(
        wall("a", *teeth, (300.0, 100.0), (500.0, 100.0)), wall("b", (350.0, 100.0), (450.0, 100.0))
    )
    assert length == pytest.approx(1.0)
