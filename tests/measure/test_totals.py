import pytest

from takeoff.measure.totals import height_bands, lots, natural_key, room_label, sum_quantities, summarise, wall_labels
from takeoff.model.figures import QUANTITY_FIELDS, Quantities
from takeoff.model.walls import HeightProfile, Room, Run

R1 = Room(id="R1", name="Process", number="104", height=HeightProfile.constant(3.0), system="mat")
R2 = Room(id="R2", name="Store", height=HeightProfile.constant(2.4), system="flake")
ROOMS = {"R1": R1, "R2": R2}


@pytest.fixture
def faces(wall, measure):
    """A closed room of 20 m, a partition of 4 m in it (both faces), a store wall of 5 m, and a wall without a room."""
    return measure(
        wall([(0, 0), (0, 4), (6, 4), (6, 0)], id="a", closed=True, height=None, room="R1"),
        wall(
            [(1, 1), (1, 3)], id="b", height=None, room="R1", face="both", line="centre", thickness=0.1, system="flake"
        ),
        wall([(20, 0), (25, 0)], id="c", height=None, room="R2"),
        wall([(40, 0), (43, 0)], id="d", height=2.0, openings=[{"at": 1.0, "width": 1.0, "height": 1.0}]),
        rooms=(R1, R2),
    )


def item(measurement, id):
    return next(i for i in measurement.items if i.id == id)


def test_rooms_add_up_to_the_total(faces):
    found = summarise(faces, by="room", rooms=ROOMS, rule="exact-net")
    assert {i.label: i.quantities.net_area for i in found.items} == pytest.approx(
        {"104 Process": 72.0, "Store": 12.0, "No room": 5.0}
    )
    assert found.total.quantities.net_area == pytest.approx(89.0)
    assert item(found, "R1").sources == ("a", "b")


def test_systems_and_runs_add_up_to_the_same_total(faces):
    for by, ids in (("system", {"mat", "flake", ""}), ("run", {"a", "b", "c", "d"})):
        found = summarise(faces, by=by, rooms=ROOMS, rule="exact-net")
        assert {i.id for i in found.items} == ids
        assert sum(i.quantities.net_area for i in found.items) == pytest.approx(89.0)
    assert item(summarise(faces, by="run", rooms=ROOMS, rule="exact-net"), "b").quantities.net_area == pytest.approx(
        12.0
    )


def test_every_figure_of_the_total_is_the_sum_of_its_items(faces):
    found = summarise(faces, by="run", rooms=ROOMS, rule="exact-net")
    for name in QUANTITY_FIELDS:
        parts = sum(getattr(i.quantities, name) for i in found.items)
        assert getattr(found.total.quantities, name) == pytest.approx(parts)


def test_measurement_of_nothing_is_nothing():
    found = summarise((), by="room", rooms={}, rule="exact-net")
    assert found.items == ()
    assert found.total.quantities == Quantities()
    assert found.total.u.net_area == 0.0


def test_sum_of_no_quantities_is_zero():
    assert sum_quantities([]) == Quantities()


def test_quantities_add_figure_by_figure(faces):
    first, second = faces[0].quantities, faces[1].quantities
    assert first + second == sum_quantities([first, second])


@pytest.mark.parametrize(
    ("room", "label"), [(None, "No room"), (R1, "104 Process"), (R2, "Store"), (Room(id="x"), "x")]
)
def test_room_is_called_by_number_and_name(room, label):
    assert room_label(room) == label


def test_lots_hold_each_system_of_each_room(faces):
    found = {(lot.system, lot.room): lot for lot in lots(faces, rooms=ROOMS, band_edges=(2.0,))}
    assert set(found) == {("mat", "R1"), ("flake", "R1"), ("flake", "R2")}  # the wall without a system is in none
    assert found["flake", "R1"].quantities.net_area == pytest.approx(12.0)
    assert found["flake", "R1"].runs == ("b",)
    assert [f.key for f in found["flake", "R1"].faces] == ["b:left", "b:right"]
    assert found["mat", "R1"].bands == ((0.0, 2.0, pytest.approx(40.0)), (2.0, 3.0, pytest.approx(20.0)))


def test_height_bands_are_exact_under_a_slope(wall, measure):
    # Top from 2 to 4 over 4 m: below 3 m there are 4 x 2 + 2 x 1 + 2 x 1 / 2 = 11, above 2 x 1 / 2 = 1.
    (face,) = measure(wall([(0, 0), (4, 0)], height=[(0, 2), (4, 4)]))
    assert height_bands([face.elevation], [3.0]) == ((0.0, 3.0, pytest.approx(11.0)), (3.0, 4.0, pytest.approx(1.0)))


def test_height_bands_leave_out_openings(wall, measure):
    (face,) = measure(wall([(0, 0), (4, 0)], openings=[{"at": 2.0, "width": 1.0, "height": 2.5}]))
    assert height_bands([face.elevation], [1.0, 2.0]) == (
        (0.0, 1.0, pytest.approx(3.0)),
        (1.0, 2.0, pytest.approx(3.0)),
        (2.0, 3.0, pytest.approx(3.5)),
    )


def test_height_bands_sum_to_the_net_area(faces):
    bands = height_bands([f.elevation for f in faces], [1.8, 2.2, 2.9, 7.0])
    assert sum(area for _, _, area in bands) == pytest.approx(sum(f.quantities.net_area for f in faces))
    assert all(low < high <= 3.0 for low, high, _ in bands)


def test_no_edges_give_one_band(faces):
    ((low, high, area),) = height_bands([f.elevation for f in faces], [])
    assert (low, high, area) == (0.0, 3.0, pytest.approx(89.0))


def test_rooms_are_listed_by_number_as_people_count_and_those_without_come_last(wall, measure):
    rooms = {
        "x": Room(id="x", number="10", name="Store", system="mat"),
        "y": Room(id="y", number="9", name="Wash", system="flake"),
        "a": Room(id="a", number="101", name="Corridor", system="mat"),
    }
    walls = [
        wall([(10 * n, 0), (10 * n + 2, 0)], id=f"w{n}", room=id, height=2.0) for n, id in enumerate(("x", "a", "y"))
    ]
    faces = measure(*walls, wall([(50, 0), (52, 0)], id="none", height=2.0), rooms=tuple(rooms.values()))
    listed = summarise(faces, by="room", rooms=rooms, rule="exact-net").items
    assert [i.label for i in listed] == ["9 Wash", "10 Store", "101 Corridor", "No room"]
    assert [lot.room_label for lot in lots(faces, rooms=rooms, band_edges=())] == [
        "9 Wash", "10 Store", "101 Corridor",
    ]  # fmt: skip


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


def test_rooms_and_walls_that_nobody_named_are_told_by_numbers_and_letters():
    rooms = {"room-1": Room(id="room-1"), "b": Room(id="b", number="104", name="Lab"), "own": Room(id="own")}
    assert [room_label(room) for room in rooms.values()] == ["Room 1", "104 Lab", "own"]
    line = ((0.0, 0.0), (90.0, 0.0))
    walls = [("run-1", "b"), ("run-2", "room-1"), ("run-3", "b"), ("run-4", None)]
    runs = [Run(id=id, sheet=1, points_pt=line, room=room) for id, room in walls]
    assert wall_labels(runs, rooms) == {
        "run-1": "wall A of 104 Lab",
        "run-2": "wall of Room 1",
        "run-3": "wall B of 104 Lab",
        "run-4": "wall in no room",
    }
