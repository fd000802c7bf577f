"""Edits of whole walls: what is moved, mirrored, copied, split or joined measures what plane geometry says it must."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from takeoff.job.edits import PutRun
from takeoff.job.wall_edits import (
    AddPoint,
    BendWall,
    CoatBothFaces,
    FlipWalls,
    JoinWalls,
    MirrorWalls,
    MovePoint,
    MoveWalls,
    RemovePoint,
    RemoveRoomWithWalls,
    RemoveWalls,
    RepeatOpening,
    SplitWall,
)
from takeoff.model.site import Reading
from takeoff.model.walls import Run
from takeoff.units import Display
from tests.job.trying import after, length_pt, refusal


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


# Points of a wall's line, and openings


def test_a_point_is_moved(job):
    moved = after(job, MovePoint(run="a", index=2, to_pt=(300.0, 400.0)))
    assert moved.runs["a"].points_pt == ((100.0, 100.0), (300.0, 100.0), (300.0, 400.0))


@pytest.mark.parametrize("index", [3, -1])
def test_a_point_that_is_not_there_is_refused(job, index):
    assert refusal(job, MovePoint(run="a", index=index, to_pt=(0.0, 0.0))).where == "index"
    assert refusal(job, RemovePoint(run="a", index=index)).where == "index"


@pytest.mark.parametrize("to", [(300.0, 100.0), (float("nan"), 0.0), (0.0, float("inf"))])
def test_a_point_moved_onto_its_neighbour_or_to_nowhere_is_refused(job, to):
    assert refusal(job, MovePoint(run="a", index=0, to_pt=to)).where == "to_pt"


def test_a_point_off_the_sheet_is_refused(job):
    assert "off the sheet" in refusal(job, MovePoint(run="a", index=0, to_pt=(-5.0, 100.0))).message


def test_an_added_point_lies_on_the_line_and_is_removed_again(job):
    more = after(job, AddPoint(run="a", near_pt=(200.0, 108.0)))
    assert more.runs["a"].points_pt[1] == pytest.approx((200.0, 100.0))
    assert after(more, RemovePoint(run="a", index=1)).runs["a"].points_pt == job.runs["a"].points_pt


def test_a_wall_bent_through_the_top_of_its_half_circle_has_bulge_one(job):
    """Bulge 1 is a half circle: tan of a quarter of 180 degrees (the DXF convention, from memory)."""
    bent = after(job, BendWall(run="a", index=0, through_pt=(200.0, 200.0)))
    assert abs(bent.runs["a"].bulges[0]) == pytest.approx(math.tan(math.pi / 4))
    assert after(bent, BendWall(run="a", index=0, through_pt=(200.0, 100.0))).runs["a"].bulges == ()
    assert "last point" in refusal(job, BendWall(run="a", index=2, through_pt=(0.0, 0.0))).message


def test_an_opening_is_repeated_from_centre_to_centre(job):
    more = after(job, RepeatOpening(run="a", index=0, count=2, spacing=0.75))
    assert [o.at for o in more.runs["a"].openings] == pytest.approx([1.0, 1.75, 2.5])
    assert refusal(job, RepeatOpening(run="a", index=1, count=1, spacing=1.0)).where == "index"
    for count in (0, 501):
        assert refusal(job, RepeatOpening(run="a", index=0, count=count, spacing=1.0)).where == "count"
