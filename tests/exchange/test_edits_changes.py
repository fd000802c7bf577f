"""What an edits file can have done to walls, rooms and settings, and where it says that something does not fit."""

from __future__ import annotations

import json
from dataclasses import replace

import jsonschema
import pytest

from takeoff.errors import EditError
from takeoff.exchange.edits_entries import WORDS
from takeoff.exchange.edits_file import edits_schema, read_edits
from takeoff.job.edits import apply_change
from takeoff.job.job import Job, JobSettings
from takeoff.model.plan import Calibration, Sheet
from takeoff.model.walls import HeightProfile, Opening, Room, Run

DOOR = Opening(at=0.5, width=0.9, height=2.1)
HIGH = HeightProfile.constant(3.0)


@pytest.fixture
def job():
    """Two walls that meet at (200, 100), at 1 cm to a point, in one room."""
    return Job(
        settings=JobSettings(name="Cold store", units="metric"),
        sheets={1: Sheet(id=1, source="", page=1, width_pt=900.0, height_pt=600.0)},
        calibrations={"1": Calibration(sheet=1, mx=0.01, my=0.01)},
        rooms={"R1": Room(id="R1", height=HIGH)},
        runs={
            "a": Run(id="a", sheet=1, room="R1", points_pt=((100.0, 100.0), (200.0, 100.0)), openings=(DOOR,)),
            "b": Run(id="b", sheet=1, room="R1", points_pt=((200.0, 100.0), (200.0, 300.0))),
        },
    )


CHANGES = (
    {"change": "flip", "runs": ["a", "b"]},
    {"change": "flip", "runs": ["a", "b"]},
    {"change": "move", "runs": ["a", "b"], "by": [10, 20]},
    {"change": "mirror", "runs": ["a", "b"], "way": "left-right"},
    {"change": "duplicate", "runs": ["a"]},
    {"change": "join", "runs": ["a", "b"]},
    {"change": "split", "run": "a", "at": [110, 220]},
    {"change": "add-point", "run": "a", "near": [150, 120]},
    {"change": "move-point", "run": "a", "index": 1, "to": [150, 125]},
    {"change": "bend", "run": "a", "index": 0, "through": [190, 110]},
    {"change": "remove-point", "run": "a", "index": 1},
    {"change": "remove-opening", "run": "run-1", "index": 0},
    {"change": "remove-runs", "runs": ["run-1"]},
)


def file(*changes, **more):
    return json.dumps({"schema": "takeoff.edits/1", "changes": list(changes), **more})


def applied(job, *changes, **more):
    return apply_change(job, read_edits(file(*changes, **more), job, known_systems=frozenset()).apply(job))


def refusal(job, *changes, **more):
    with pytest.raises(EditError) as caught:
        read_edits(file(*changes, **more), job, known_systems=frozenset())
    return caught.value


def test_changes_are_done_in_turn_each_on_what_those_before_it_left(job):
    after = applied(job, *CHANGES)
    assert sorted(after.runs) == ["a", "run-2"]
    assert list(after.rooms) == ["R1"]  # the copy's room went with its wall
    assert after.runs["a"].face == "right"  # mirrored once
    jsonschema.validate(json.loads(file(*CHANGES)), edits_schema())


def test_every_change_of_the_file_has_an_edit(job):
    used = {change["change"] for change in CHANGES} | {"both-faces", "remove-room", "repeat-opening"}
    assert used == set(WORDS)
    run = {"id": "a", "sheet": 1, "room": "R1", "points": [[100, 100], [400, 100]], "thickness": 0.2,
           "openings": [{"at": 0.5, "width": 0.9, "height": 2.1}]}  # fmt: skip
    more = {"change": "repeat-opening", "run": "a", "index": 0, "count": 2, "spacing": "1 m"}
    after = applied(job, {"change": "both-faces", "runs": ["a"]}, more, runs=[run])
    assert after.runs["a"].face == "both"
    assert [o.at for o in after.runs["a"].openings] == [0.5, 1.5, 2.5]
    assert applied(job, {"change": "remove-room", "room": "R1"}).runs == {}


def test_settings_that_are_named_change_and_the_others_stay(job):
    after = applied(job, settings={"rule": "smm7", "name": "Cold store 2"})
    assert (after.settings.rule, after.settings.name, after.settings.units) == ("smm7", "Cold store 2", "metric")


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"change": "fly"}, "$.changes[0].change"),
        ({"change": "flip", "runs": ["z"]}, "$.changes[0].runs"),
        ({"change": "flip", "runs": []}, "$.changes[0].runs"),
        ({"change": "flip", "runs": ["a"], "way": "up"}, "$.changes[0]"),
        ({"change": "join", "runs": ["a"]}, "$.changes[0].runs"),
        ({"change": "bend", "run": "a", "index": 1, "through": [0, 0]}, "$.changes[0].index"),
        ({"change": "move-point", "run": "a", "index": 0, "to": [200, 100]}, "$.changes[0].to"),
        ({"change": "repeat-opening", "run": "a", "index": 0, "count": 1, "spacing": "far"}, "$.changes[0].spacing"),
        ({"change": "remove-room", "room": "R9"}, "$.changes[0].room"),
    ],
)
def test_a_change_that_does_not_fit_is_refused_with_its_place(job, change, path):
    error = refusal(job, change)
    assert error.where == path
    assert error.remedy


@pytest.mark.parametrize("settings", [{"rule": "none"}, {"currency": "12"}, {"name": " "}, {"units": "yards"}])
def test_settings_that_are_not_known_are_refused(job, settings):
    assert refusal(job, settings=settings).where.startswith("$.settings")


def test_places_on_the_page_as_shown_are_turned_back_by_its_rotation(job):
    """Shown turned by 90° clockwise (ISO 32000, Rotate), what goes 10 right and 20 down goes 20 right, 10 up on it."""
    turned = replace(job, sheets={1: replace(job.sheets[1], rotation=90)})

    def shown(x, y):
        return [600.0 - y, x]

    moved = applied(turned, {"change": "move", "runs": ["a"], "by": [10, 20]}, page="as-shown")
    assert moved.runs["a"].points_pt == ((120.0, 90.0), (220.0, 90.0))
    bent = applied(turned, {"change": "move-point", "run": "b", "index": 1, "to": shown(250, 310)}, page="as-shown")
    assert bent.runs["b"].points_pt[1] == (250.0, 310.0)
    traced = {"id": "c", "sheet": 1, "room": "R1", "points": [shown(300, 100), shown(300, 200)]}
    assert applied(turned, runs=[traced], page="as-shown").runs["c"].points_pt == ((300.0, 100.0), (300.0, 200.0))
    mirror = {"change": "mirror", "runs": ["a", "b"]}
    across = applied(turned, {**mirror, "way": "left-right"}, page="as-shown")
    assert across.runs == applied(turned, {**mirror, "way": "top-bottom"}).runs
