"""Where the lines of a sheet leave rooms in doubt its picture is read too; what is sure stays as it is."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from takeoff.sheet.text import TextLine, Word
from takeoff.trace.lines.lost_rooms import LostRoom
from takeoff.trace.lines.open_rooms import leak_words
from takeoff.trace.lines.plan_rooms import TracedPlan
from takeoff.trace.lines.traced_rooms import TracedRoom
from takeoff.trace.sheet_reading import _moved_room, with_own, with_second_look
from tests.trace.plans import make_plan
from tests.trace.scoring import read, score


def room(shape, *, sure):
    points = tuple(shapely.get_coordinates(shape.exterior)[:-1].tolist())
    return TracedRoom(
        points_pt=points,
        bulges=(0.0,) * len(points),
        openings=(),
        columns=(),
        name="",
        number="",
        area=shape.area,
        confidence=0.95 if sure else 0.5,
        reasons=("one.",),
        sure=sure,
        outline_sure=sure,
    )


def plan(*shapes, sure):
    return TracedPlan(rooms=tuple(room(s, sure=sure) for s in shapes), shapes=shapes)


LEFT, RIGHT = shapely.box(0, 0, 100, 80), shapely.box(110, 0, 200, 80)
BOTH = shapely.box(0, 0, 200, 80)


def test_a_plan_that_is_sure_is_not_looked_at_again():
    def never():
        raise AssertionError("there was no need to look")

    sure, more = plan(LEFT, RIGHT, BOTH, sure=True), plan(BOTH, sure=False)
    assert with_second_look(sure, never) is sure
    three_of_four = replace(sure, rooms=(*sure.rooms, *more.rooms), shapes=(*sure.shapes, BOTH))
    assert with_second_look(three_of_four, never) is three_of_four
    two_of_three = replace(three_of_four, rooms=three_of_four.rooms[1:], shapes=three_of_four.shapes[1:])
    with pytest.raises(AssertionError, match="no need"):
        with_second_look(two_of_three, never)


def test_a_doubtful_room_gives_way_to_the_rooms_that_the_picture_shows_in_its_place():
    result = with_second_look(plan(BOTH, sure=False), lambda: plan(LEFT, RIGHT, sure=True))
    assert result.shapes == (LEFT, RIGHT)
    assert not any(r.sure for r in result.rooms)
    assert all(r.reasons[0] == "The lines of the sheet were not clear." for r in result.rooms)


def test_a_room_that_the_picture_all_but_guesses_takes_no_place():
    for confidence, shapes in ((0.11, (LEFT,)), (0.09, (BOTH,))):
        seen = plan(LEFT, sure=False)
        seen = replace(seen, rooms=(replace(seen.rooms[0], confidence=confidence),))
        assert with_second_look(plan(BOTH, sure=False), lambda seen=seen: seen).shapes == shapes


def test_a_name_in_a_room_that_gave_way_is_lost_where_no_other_room_holds_it():
    box = (BOTH.bounds[0] + 1, BOTH.bounds[1] + 1, BOTH.bounds[0] + 3, BOTH.bounds[1] + 2)
    name = TextLine(words=(Word(text="STORE", box_pt=box),), box_pt=box)
    far = LEFT if not LEFT.contains(shapely.box(*box).centroid) else RIGHT
    result = with_second_look(plan(BOTH, sure=False), lambda: plan(far, sure=True), [name])
    assert [lost.name for lost in result.lost] == ["STORE"]
    assert "two outlines" in result.lost[0].reason


def test_a_doubtful_room_that_both_readings_have_keeps_its_lines():
    first = plan(LEFT, sure=False)
    result = with_second_look(first, lambda: plan(LEFT.buffer(1.0, join_style="mitre"), RIGHT, sure=True))
    assert result.shapes == (LEFT, RIGHT)
    assert result.rooms[0] is first.rooms[0]


def test_what_the_picture_all_but_guesses_takes_no_place() -> None:
    guessed = replace(room(LEFT, sure=False), confidence=0.01)
    first = plan(BOTH, sure=False)
    result = with_second_look(first, lambda: TracedPlan(rooms=(guessed,), shapes=(LEFT,)))
    assert result.rooms == first.rooms


def test_a_sure_room_stays_whatever_the_picture_shows():
    first = TracedPlan(rooms=(room(BOTH, sure=True), room(BOTH, sure=False)), shapes=(BOTH, BOTH))
    result = with_second_look(first, lambda: plan(LEFT, RIGHT, sure=True))
    assert result.rooms == (first.rooms[0],)


def test_a_plan_drawn_in_one_pen_has_its_rooms_from_its_picture():
    drawn = make_plan(4, "one-pen")
    result = score(read(drawn).rooms, drawn.rooms, drawn.m_per_pt, near=0.015)
    assert result.found >= 0.9 * result.rooms
    assert result.sure_wrong == 0


def test_a_room_that_is_surer_without_what_was_shown_is_kept_and_is_not_sure_where_both_differ():
    own = plan(LEFT, RIGHT, sure=True)
    assert with_own(plan(BOTH, sure=False), own).shapes == (LEFT, RIGHT)
    assert not any(room.sure for room in with_own(plan(BOTH, sure=False), own).rooms)
    assert [room.sure for room in with_own(plan(LEFT, sure=False), own).rooms] == [True, True]
    assert with_own(plan(BOTH, sure=True), own).shapes == (BOTH,)
    closes = replace(own.rooms[0], sure=False, confidence=0.8)
    assert with_own(plan(BOTH, sure=False), replace(own, rooms=(closes, closes))).shapes == (BOTH,)


def test_what_is_told_of_a_part_names_the_places_where_its_leaks_are_on_the_sheet():
    leak = ((40.0, 10.0), (60.0, 10.0))
    told = f"{leak_words([leak], 0.018).capitalize()}."
    doubtful = replace(room(shapely.box(0, 0, 90, 50), sure=False), reasons=(told,), unread=(told,), leaks_pt=(leak,))
    moved = _moved_room(doubtful, 133.0, 215.0)
    assert moved.leaks_pt == (((173.0, 225.0), (193.0, 225.0)),)
    assert moved.reasons == moved.unread == (f"{leak_words(moved.leaks_pt, 0.018).capitalize()}.",)
    lost = LostRoom(name="PANTRY", at_pt=(50.0, 30.0), reason=leak_words([leak], 0.018)).moved(133.0, 215.0)
    assert (lost.at_pt, lost.reason) == ((183.0, 245.0), leak_words(moved.leaks_pt, 0.018))
