"""Edits of whole walls: what is moved, mirrored, copied, split or joined measures what plane geometry says it must."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from takeoff.errors import EditError
from takeoff.job.edits import PutRun, apply_change
from takeoff.job.wall_edits import (
    CoatBothFaces,
    FlipWalls,
    JoinWalls,
    MirrorWalls,
    MoveWalls,
    RemoveRoomWithWalls,
    RemoveWalls,
    SplitWall,
)
from takeoff.model.site import Reading
from takeoff.model.walls import Run
from takeoff.units import Display


def after(job, edit):
    change = edit.apply(job)
    changed = apply_change(job, change)
    assert apply_change(changed, change.reversed()) == job
    return changed


def refusal(job, edit):
    with pytest.raises(EditError) as caught:
        edit.apply(job)
    assert caught.value.remedy
    return caught.value


def length_pt(run):
    return sum(math.dist(a, b) for a, b, _ in run.path_pt.segments())


@pytest.fixture
def two(job):
    """The job with a second wall that begins where the first ends."""
    second = Run(id="b", sheet=1, room="R1", points_pt=((300.0, 250.0), (100.0, 250.0)))
    return after(job, PutRun(run=second))


def test_flipping_twice_changes_nothing(two):
    once = after(two, FlipWalls(runs=("a", "b")))
    assert [once.runs[id].face for id in "ab"] == ["right", "right"]
    assert after(once, FlipWalls(runs=("a", "b"))) == two


def test_both_faces_are_coated_where_the_thickness_is_known(job):
    assert "thickness" in refusal(job, CoatBothFaces(runs=("a",))).message
    thick = after(job, PutRun(run=replace(job.runs["a"], thickness=0.2)))
    assert after(thick, CoatBothFaces(runs=("a",))).runs["a"].face == "both"


def test_moving_and_mirroring_keep_every_length_and_mirroring_turns_the_coated_hand(two):
    """Rigid motions keep distances; a reflection reverses orientation (plane geometry, from memory)."""
    moved = after(two, MoveWalls(runs=("a", "b"), by_pt=(12.5, -30.0)))
    assert moved.runs["a"].points_pt[0] == (112.5, 70.0)
    for is_across in (True, False):
        changed = after(two, MirrorWalls(runs=("a", "b"), is_across=is_across))
        assert changed.runs["a"].face == "right"
        for id in "ab":
            assert length_pt(changed.runs[id]) == pytest.approx(length_pt(two.runs[id]))
        again = after(changed, MirrorWalls(runs=("a", "b"), is_across=is_across))
        assert sum(again.runs["a"].points_pt, ()) == pytest.approx(sum(two.runs["a"].points_pt, ()))
    assert "off the sheet" in refusal(two, MoveWalls(runs=("a",), by_pt=(-200.0, 0.0))).message


def test_what_is_split_and_joined_again_is_as_long_as_before(job):
    parted = after(job, SplitWall(run="a", at_pt=(300.0, 100.0)))
    assert list(parted.runs) == ["a", "run-1"]
    assert length_pt(parted.runs["a"]) + length_pt(parted.runs["run-1"]) == pytest.approx(350.0)
    whole = after(parted, JoinWalls(runs=("a", "run-1")))
    assert list(whole.runs) == ["a"]
    assert whole.runs["a"].points_pt == job.runs["a"].points_pt
    assert whole.runs["a"].openings == job.runs["a"].openings


def test_a_gap_that_joining_closes_is_told(job):
    parted = after(job, SplitWall(run="a", at_pt=(300.0, 100.0)))
    shifted = replace(parted.runs["run-1"], points_pt=((301.5, 100.0), *parted.runs["run-1"].points_pt[1:]))
    change = JoinWalls(runs=("a", "run-1")).apply(replace(parted, runs={**parted.runs, "run-1": shifted}))
    gap = Display(system=job.settings.units).length(1.5 * job.calibrations["1"].mx)
    assert change.label == f"Join a, run-1, closing a gap of {gap}"


def test_walls_that_do_not_meet_or_are_not_two_are_not_joined(two):
    away = after(two, MoveWalls(runs=("b",), by_pt=(0.0, 40.0)))
    assert "do not meet" in refusal(away, JoinWalls(runs=("a", "b"))).message
    assert "1 wall is named" in refusal(two, JoinWalls(runs=("a", "a"))).message
    other = after(two, PutRun(run=Run(id="c", sheet=2, points_pt=((300.0, 250.0), (9.0, 9.0)))))
    assert "different sheets" in refusal(other, JoinWalls(runs=("a", "c"))).message
    assert "different sheets" in refusal(other, MirrorWalls(runs=("a", "c"))).message
    bare = replace(two, calibrations={})
    assert "scale" in refusal(bare, SplitWall(run="a", at_pt=(300.0, 100.0))).message


def test_a_room_goes_with_its_last_wall_unless_something_on_site_was_recorded_of_it(two):
    assert after(two, RemoveWalls(runs=("a",))).rooms == two.rooms
    assert after(two, RemoveWalls(runs=("a", "b"))).rooms == {}
    reading = Reading(id="1", when="2026-03-02T08:00:00+00:00", air=20.0, surface=18.0, humidity=0.5, room="R1")
    recorded = replace(two, readings={"1": reading})
    assert list(after(recorded, RemoveWalls(runs=("a", "b"))).rooms) == ["R1"]
    assert "reading 1" in refusal(recorded, RemoveRoomWithWalls(room="R1")).message
    gone = after(two, RemoveRoomWithWalls(room="R1"))
    assert (gone.rooms, gone.runs) == ({}, {})


def test_no_wall_or_one_that_is_not_there_is_refused(job):
    assert "no wall" in refusal(job, FlipWalls(runs=())).message
    assert "Known: a." in refusal(job, RemoveWalls(runs=("z",))).remedy
