import pytest

from takeoff.measure.order import natural_key


@pytest.mark.parametrize(
    "listed",
    [
        ["9 Wash", "10 Store", "101 Corridor", "101A Lab", ""],
        ["A1", "a2", "a10", "b"],
        ["Room 2", "Room 10 east", "Room 10 west"],
        ["104² Process", "105 Packing"],
    ],
)
def test_texts_are_listed_as_people_number_rooms(listed):
    assert sorted([*listed[1:], listed[0]], key=natural_key) == listed
