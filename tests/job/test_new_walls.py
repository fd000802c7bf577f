"""Walls added, copied and put into rooms, under ids of their own."""

from __future__ import annotations

from dataclasses import replace

from takeoff.job.edits import PutRun
from takeoff.job.wall_edits import AddWalls, DuplicateWalls, PutInRoom
from takeoff.model.walls import HeightProfile, Room, Run
from tests.job.trying import after, refusal


def test_an_added_wall_gets_an_id_and_a_room_of_its_own_with_what_that_takes(job):
    run = Run(id="new", sheet=1, points_pt=((10.0, 10.0), (90.0, 10.0), (90.0, 60.0)), closed=True)
    changed = after(job, AddWalls(runs=(run,), like=Room(id="x", system="s", height=HeightProfile.constant(2.5))))
    assert changed.runs["run-1"] == replace(run, id="run-1", room="room-1")
    assert changed.rooms["room-1"] == Room(id="room-1", system="s", height=HeightProfile.constant(2.5))
    assert AddWalls(runs=(run,), title="Trace a room").label == "Trace a room"


def test_an_added_open_wall_goes_into_the_room_named_and_makes_none(job):
    run = Run(id="new", sheet=1, points_pt=((10.0, 10.0), (90.0, 10.0)))
    changed = after(job, AddWalls(runs=(run, run), room="R1"))
    assert [changed.runs[id].room for id in ("run-1", "run-2")] == ["R1", "R1"]
    assert changed.rooms == job.rooms
    assert "R9" in refusal(job, AddWalls(runs=(run,), room="R9")).message
    assert "off the sheet" in refusal(job, AddWalls(runs=(replace(run, points_pt=((0.0, 0.0), (9e5, 0.0))),))).message


def test_walls_are_put_into_a_room_of_the_job_or_a_new_one(two):
    changed = after(two, PutInRoom(runs=("b",), like=Room(id="x", name="Store")))
    assert changed.runs["b"].room == "room-1"
    assert changed.rooms["room-1"] == Room(id="room-1", name="Store")
    assert after(changed, PutInRoom(runs=("a", "b"), room="R1")).runs["b"].room == "R1"
    assert "R9" in refusal(two, PutInRoom(runs=("a",), room="R9")).message


def test_a_copy_stands_beside_its_walls_in_a_room_of_its_own(two):
    changed = after(two, DuplicateWalls(runs=("a", "b")))
    assert list(changed.runs) == ["a", "b", "run-1", "run-2"]
    assert {changed.runs[id].room for id in ("run-1", "run-2")} == {"room-1"}
    assert changed.rooms["room-1"].name == "Process copy"
    assert changed.rooms["room-1"].height == two.rooms["R1"].height
    assert min(x for x, _ in changed.runs["run-2"].points_pt) > max(x for x, _ in two.runs["a"].points_pt)
    assert changed.runs["run-1"].openings == two.runs["a"].openings


def test_a_copy_that_has_no_room_beside_its_walls_stands_below_them(job):
    wide = Run(id="w", sheet=1, points_pt=((20.0, 100.0), (590.0, 100.0)))
    changed = after(after(job, PutRun(run=wide)), DuplicateWalls(runs=("w",)))
    assert changed.runs["run-1"].points_pt == ((20.0, 124.0), (590.0, 124.0))
