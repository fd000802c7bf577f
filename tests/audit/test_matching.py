from __future__ import annotations

import pytest

from takeoff.audit.matching import match_rooms, name_likeness
from takeoff.audit.stated import StatedArea
from takeoff.model.walls import Room

ROOMS = tuple(
    Room(id=f"R{number}", number=number, name=name)
    for number, name in [
        ("101", "Corridor"), ("102", "Gowning"), ("103", "Wash"), ("104", "Process"), ("105", "Packing"),
        ("106", "Cold room"), ("107", "Store"), ("108", "Receiving"), ("B-07", "Electrical"),
    ]
)  # fmt: skip


def room_of(number: str, name: str) -> str | None:
    return match_rooms([StatedArea(number=number, name=name, value=1, unit="sf")], ROOMS)[0].room


@pytest.mark.parametrize(
    ("number", "name", "room"),
    [
        ("104", "PROCESS", "R104"),
        ("Rm. 0104", "", "R104"),
        ("#104", "Proc.", "R104"),
        ("1O4", "Process", "R104"),  # letter O for zero
        ("B07", "ELEC", "RB-07"),
        ("", "CORR.", "R101"),
        ("", "Recieving", "R108"),  # letters changed places
        ("", "COLD RM", "R106"),
        ("", "Coldroom", "R106"),
        ("999", "Nothing like it", None),
    ],
)
def test_rooms_are_matched_by_number_then_name(number, name, room):
    assert room_of(number, name) == room


def test_a_number_wins_over_a_name_that_does_not_agree_and_says_so():
    (match,) = match_rooms([StatedArea(number="104", name="Packing", value=1, unit="sf")], ROOMS)
    assert match.room == "R104"
    assert '"Packing" in the schedule and "Process"' in match.doubts[0]


def test_a_name_with_a_strange_number_is_matched_with_a_doubt():
    (match,) = match_rooms([StatedArea(number="204", name="Process", value=1, unit="sf")], ROOMS)
    assert match.room == "R104"
    assert "204" in match.doubts[0]


def test_two_rooms_of_one_name_are_not_guessed_between():
    twins = (Room(id="a", number="1", name="Store"), Room(id="b", number="2", name="Store"))
    (match,) = match_rooms([StatedArea(name="Store", value=1, unit="sf")], twins)
    assert match.room is None
    assert "several rooms" in match.how


def test_a_room_stated_twice_is_doubted_in_both_rows():
    rows = [StatedArea(number="104", value=v, unit="sf", where=f"row {v}") for v in (2, 3)]
    for match in match_rooms(rows, ROOMS):
        assert match.room == "R104"
        assert "2 times: row 2, row 3" in match.doubts[0]


def test_other_rooms_of_the_building_are_not_alike():
    for one in ROOMS:
        for other in ROOMS:
            if one is not other:
                assert name_likeness(one.name, other.name) < 0.75
