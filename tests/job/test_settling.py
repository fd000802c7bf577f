"""Confirming open points: in the value that has the basis, or in the job by the point's key."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff.errors import EditError
from takeoff.job.changes import apply_change
from takeoff.job.edits import BasisAt, Confirm
from takeoff.model.open_points import Basis, Confirmed, Settled, basis_of

ANN = Confirmed(by="ann", at="2026-01-05T08:00:00Z")
HEIGHT = Basis(of="height", taken=2.1, how="assumed")
SILL = Basis(of="sill", taken=0.0, how="assumed")
RATES = Settled(key="rates", state="1", words="The rates are ours.", confirmed=ANN)


@pytest.fixture
def assumed(job):
    run = job.runs["a"]
    door = replace(run.openings[0], basis=(HEIGHT, SILL))
    return replace(job, runs={**job.runs, "a": replace(run, openings=(door,))})


def test_confirmed_fields_of_one_opening_keep_their_values_and_know_who_and_when(assumed):
    at = BasisAt(kind="run", id="a", opening=0, field="height")
    edit = Confirm(confirmed=ANN, bases=(at, replace(at, field="sill")), points=(RATES,))
    change = edit.apply(assumed)
    after = apply_change(assumed, change)
    door = after.runs["a"].openings[0]
    assert edit.label == "Confirm 3 open points"
    assert [basis_of(door, field).confirmed for field in ("height", "sill")] == [ANN, ANN]
    assert (door.height, door.sill, after.settled) == (2.1, 0.0, {"rates": RATES})
    assert apply_change(after, change.reversed()) == assumed


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        (Confirm(confirmed=ANN), "no open point is named"),
        (Confirm(confirmed=ANN, bases=(BasisAt(kind="run", id="a", opening=7, field="height"),)), "has no opening 8"),
        (Confirm(confirmed=ANN, bases=(BasisAt(kind="run", id="a", opening=0, field="width"),)), "given by a person"),
        (Confirm(confirmed=ANN, bases=(BasisAt(kind="room", id="R9", field="height"),)), "there is no room"),
    ],
)
def test_what_is_not_there_cannot_be_confirmed(assumed, edit, said):
    with pytest.raises(EditError, match=said):
        edit.apply(assumed)
