"""Records from site as edits: checked, replaced, removed, and what they keep from being removed."""

from __future__ import annotations

import pytest

from takeoff.errors import EditError, InputError
from takeoff.job.edits import Batch, PutReading, PutRoom, PutUse, Remove, apply_change
from takeoff.job.job import Job, JobSettings
from takeoff.model.site import PackUse, Reading
from takeoff.model.walls import Room

USE = PackUse(id="u1", system="s", step="glaze", pack="kit", packs=2.5, area=40.0, room="R1")
READING = Reading(id="s1", air=20.0, surface=19.0, humidity=0.5, room="R1")
BOTH = Batch(title="Both", edits=(PutUse(use=USE), PutReading(reading=READING)))
JOB = Job(settings=JobSettings(name="Test"), rooms={"R1": Room(id="R1")})


def after(job, edit):
    return apply_change(job, edit.apply(job))


def test_records_are_kept_and_a_change_backwards_takes_them_out():
    change = BOTH.apply(JOB)
    job = apply_change(JOB, change)
    assert (job.uses, job.readings) == ({"u1": USE}, {"s1": READING})
    assert apply_change(job, change.reversed()) == JOB


def test_a_room_with_records_is_not_removed_before_them():
    job = after(JOB, BOTH)
    with pytest.raises(EditError, match="used by record u1, reading s1"):
        Remove(kind="room", id="R1").apply(job)
    for kind, id in (("use", "u1"), ("reading", "s1")):
        job = after(job, Remove(kind=kind, id=id))
    assert after(job, Remove(kind="room", id="R1")).rooms == {}


@pytest.mark.parametrize("edit", [PutUse(use=USE), PutReading(reading=READING)])
def test_a_record_in_a_room_that_is_not_there_is_refused(edit):
    with pytest.raises(EditError, match='no room "R1"'):
        edit.apply(Job(settings=JobSettings(name="Test")))
    assert after(Job(settings=JobSettings(name="Test")), Batch(title="", edits=(PutRoom(room=Room(id="R1")), edit)))


@pytest.mark.parametrize(("packs", "area"), [(-1.0, 5.0), (1.0, -5.0), (float("nan"), 5.0), (1.0, float("inf"))])
def test_use_below_zero_or_without_a_number_is_refused(packs, area):
    with pytest.raises(InputError, match="no less than 0"):
        PackUse(id="u1", system="s", step="glaze", pack="kit", packs=packs, area=area)


@pytest.mark.parametrize("humidity", [0.0, 1.2, float("nan")])
def test_humidity_that_no_instrument_reads_is_refused(humidity):
    with pytest.raises(InputError):
        Reading(id="s1", air=20.0, surface=19.0, humidity=humidity)
