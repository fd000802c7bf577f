"""Texts and schedule rows that say what a wall is like are told; lengths that follow the lines are not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Opening, Room, Run
from takeoff.revise.carry import CarriedRun
from takeoff.revise.changes import SheetChange
from takeoff.revise.governing import ScheduleChange, ScheduleRows, governed, rows_about
from takeoff.revise.sheet_texts import schedule_changes

SCALE = Calibration(sheet=2, mx=0.01, my=0.01)
DOOR = Opening(at=2.0, width=0.9, height=2.1, mark="104A")
RUN = Run(
    id="a", sheet=1, room="R", points_pt=((0, 0), (600, 0), (600, 400), (0, 400)), closed=True, face="right",
    openings=(DOOR,),
)  # fmt: skip
CARRIED = CarriedRun(before=RUN, after=RUN, verdict="unchanged", sure=True, lengths=(20.0, 20.0), moved=0.0)
ROOMS = {"R": Room(id="R", number="104", name="Process")}


def text(before: str, after: str, at: tuple[float, float] = (300, 200)) -> SheetChange:
    x, y = at
    return SheetChange(kind="text", box_pt=(x - 10, y - 4, x + 10, y + 4), size=0.2, before=before, after=after)


def notes(*changes: SheetChange, openings: tuple[ScheduleChange, ...] = ()) -> tuple[str, ...]:
    found = governed([CARRIED], ROOMS, changes=changes, rows=[ScheduleRows(openings=openings)], scale=SCALE)
    return tuple(note.text for note in found.get("a", ()))


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("CLG 12'-0\"", "CLG 11'-0\""), ("CH 2700", "CH 2400"), ("WP-1", "WP-2"), ("PROCESS", "PACKING"),
        ("104", "114"), ("SPLASH WALL", ""), ("", "TILE TO 6'-0\" HIGH"),
        ("", "N.I.C."), ("(4) TYP", ""), ("", "CH 2400"),
    ],
)  # fmt: skip
def test_texts_that_say_what_walls_are_like(before: str, after: str) -> None:
    assert len(notes(text(before, after))) == 1
    assert notes(text(before, after, at=(900, 200))) == ()


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("12'-6\"", "13'-0\""),
        ("3810", "3962"),
        ("CLG 12'-0\"", "CLG 3658"),
        ("", "A-201"),
        ("", "AE-501"),
        ("2", ""),
        ("6'-0\"", ""),
    ],
)
def test_lengths_marks_of_sections_and_the_same_in_another_unit_are_no_news(before: str, after: str) -> None:
    assert notes(text(before, after)) == ()


@pytest.mark.parametrize(("before", "after"), [("", "W2"), ("P-1", ""), ("", "EP-1/EP-2"), ("", "FRP1")])
def test_a_finish_code_that_comes_or_goes_alone_is_looked_at(before: str, after: str) -> None:
    assert len(notes(text(before, after))) == 1
    bare = replace(CARRIED, before=replace(RUN, openings=()), after=replace(RUN, openings=()))
    assert governed([bare], ROOMS, changes=[text(before, after)], rows=(), scale=SCALE)["a"]


def test_a_code_in_the_form_of_an_opening_s_mark_is_one_near_an_opening_alone() -> None:
    marked = replace(CARRIED, before=replace(RUN, openings=(replace(DOOR, mark="W1"),)))
    at_door, apart = text("", "W2", at=(250, 60)), text("", "W2", at=(300, 300))
    for change, count in ((at_door, 0), (apart, 1)):
        found = governed([marked], ROOMS, changes=[change], rows=(), scale=SCALE)
        assert len(found.get("a", ())) == count


def test_the_mark_of_an_opening_near_by_tells_its_wall() -> None:
    assert "look at the opening that it marks" in notes(text("104A", "104C", at=(200, -150)))[0]
    assert notes(text("105A", "105C", at=(200, -150))) == ()


def test_a_changed_row_of_the_opening_schedule_tells_the_walls_with_that_mark() -> None:
    rows = schedule_changes("opening schedule", {"104A": "3' × 7'"}, {"104A": "3' × 8'"})
    assert notes(openings=rows) == ("opening schedule: 104A is now 3' × 8', was 3' × 7'",)


@pytest.mark.parametrize(
    ("change", "stays"),
    [
        (text("W2", "W3"), True), (text("104", "114"), True), (text("CH 9'-0\"", "CH 10'-0\""), False),
        (text("104A", "104C", at=(200, -150)), False),
    ],
)  # fmt: skip
def test_a_text_stays_open_where_taking_the_wall_does_not_carry_it_out(change: SheetChange, stays: bool) -> None:
    higher = replace(CARRIED, after=replace(RUN, height=HeightProfile.constant(3.048)))
    (told,) = governed([higher], ROOMS, changes=[change], rows=(), scale=SCALE)["a"]
    assert told.is_done is not stays


@pytest.mark.parametrize(
    ("schedule", "key", "after", "stays"),
    [
        ("opening", "104A", "1.2 m × 2.1 m", True), ("opening", "104A", "", True), ("finish", "104", "", True),
    ],
)  # fmt: skip
def test_a_row_stays_open_but_for_that_of_an_opening_that_is_gone(
    schedule: str, key: str, after: str, stays: bool
) -> None:
    rows = schedule_changes(f"{schedule} schedule", {key: "as before"}, {key: after} if after else {})
    own = ScheduleRows(openings=rows) if schedule == "opening" else ScheduleRows(finishes=rows)
    (told,) = rows_about(CARRIED, ROOMS["R"], [own])
    assert told.is_done is not stays
    without = replace(CARRIED, after=replace(RUN, openings=()))
    (told,) = rows_about(without, ROOMS["R"], [own])
    assert told.is_done is (schedule == "opening" and not after)
