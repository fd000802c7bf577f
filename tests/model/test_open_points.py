"""Bases: what a value rests on, and when that is void."""

from __future__ import annotations

from dataclasses import replace

import msgspec
import pytest

from takeoff.model.open_points import Basis, Confirmed, basis_of, put_basis, taken_of
from takeoff.model.walls import Cove, HeightProfile, Opening, Room, Run

ASSUMED = Basis(of="height", taken=2.1, how="assumed", text="the plan shows none", low=2.0, high=2.4)
DOOR = Opening(at=1.0, width=0.9, height=2.1, basis=(ASSUMED,))


def test_an_assumed_value_is_open_until_it_is_confirmed():
    confirmed = replace(ASSUMED, confirmed=Confirmed(by="ann", at="2026-01-05T08:00:00Z"))
    assert (ASSUMED.is_open, confirmed.is_open) == (True, False)


@pytest.mark.parametrize("how", ["stated", "schedule", "note", "measured", "person"])
def test_what_the_drawing_or_a_person_says_is_open_only_where_the_reading_is_unsure(how):
    read = Basis(of="height", taken=2.1, how=how)
    assert not read.is_open
    assert replace(read, unsure="two rows have this mark").is_open


def test_a_basis_is_void_once_its_field_has_another_value_and_comes_back_with_the_value():
    given = replace(DOOR, height=2.4)
    assert basis_of(DOOR, "height") == ASSUMED
    assert basis_of(given, "height") is None
    assert basis_of(replace(given, height=2.1), "height") == ASSUMED
    assert basis_of(replace(DOOR, at=2.0, width=1.2), "height") == ASSUMED


def test_a_field_without_a_basis_is_a_persons():
    assert basis_of(DOOR, "width") is None


def test_a_basis_replaces_that_of_its_field_alone():
    sill = Basis(of="sill", taken=0.0, how="assumed")
    read = Basis(of="height", taken=2.1, how="schedule")
    assert put_basis((ASSUMED, sill), read) == (read, sill)
    assert put_basis((ASSUMED, sill), sill, ASSUMED) == (ASSUMED, sill)  # the same said again changes nothing


def test_compound_values_are_kept_by_their_mark():
    level, sloped = HeightProfile.constant(3.0), HeightProfile(points=((0.0, 3.0), (4.0, 3.5)))
    cove = Cove(height=0.1, toe=0.05, radius=0.025, thickness=0.005)
    assert (taken_of(level), taken_of(sloped), taken_of(cove)) == (3.0, "0:3 4:3.5", "0.1 0.05 0.025 0.005")
    room = Room(id="R1", height=level, basis=(Basis(of="height", taken=3.0, how="note", text="CLG 3.0"),))
    assert basis_of(room, "height") is not None
    assert basis_of(replace(room, height=sloped), "height") is None
    assert basis_of(replace(room, height=None), "height") is None


def test_the_basis_of_a_line_is_void_once_a_point_is_moved():
    run = Run(id="a", sheet=1, points_pt=((0.0, 0.0), (10.0, 0.0)))
    run = replace(run, basis=(Basis(of="outline", taken=run.outline, how="measured", unsure="an end is loose"),))
    assert basis_of(run, "outline") is not None
    assert basis_of(replace(run, points_pt=((0.0, 0.0), (11.0, 0.0))), "outline") is None


def test_a_basis_reads_back_as_it_was_written():
    for taken in (2.1, "window", 3.0):
        basis = replace(ASSUMED, taken=taken, at_pt=(1.5, 2.5), confirmed=Confirmed(by="ann", at="2026-01-05"))
        assert msgspec.json.decode(msgspec.json.encode(basis), type=Basis) == basis
