"""Rooms open to one another are parted where their printed areas say that one ends, and nothing is called sure.

The walls are those of `test_plan_rooms`, with a bare gap of 2.2 m in the inner wall, which is 0.2 m thick. By hand: the
rooms are 5.0 × 4.0 = 20.0 m² and 3.8 × 4.0 = 15.2 m², the gap is 0.44 m².
"""

from __future__ import annotations

import math

import pytest
import shapely
from shapely import box

from takeoff.trace.lines.printed_parts import ALONE, FITS, parted_by_areas
from takeoff.trace.texts.printed_sizes import PrintedArea
from tests.trace.ink import Ink
from tests.trace.lines.test_limits import seen
from tests.trace.lines.test_plan_rooms import DOOR, PEN, WINDOW, door, drawn, filled, names, window

GAP = shapely.box(5.2, 1.0, 5.4, 3.2)


def read(first: float, second: float | None = None):
    def areas(ink: Ink) -> None:
        for x, y, area in ((1.5, 3.8, first), (7.4, 2.6, second)):
            if area is not None:
                ink.text((x, y), f"{area:.2f} m2", 8, "A-AREA-IDEN")

    return drawn(filled(GAP), names, areas).rooms


@pytest.mark.parametrize(("first", "second"), [(20.0, 15.64), (20.44, 15.2)])
def test_the_line_that_both_areas_fit_parts_them_and_is_an_opening_in_doubt(first, second):
    rooms = read(first, second)
    assert [(room.name, round(room.area, 2)) for room in rooms] == [("STORE", first), ("OFFICE", second)]
    assert not any(room.sure or room.leaks_pt for room in rooms)
    assert [[(o.form, round(o.width, 2)) for o in room.openings] for room in rooms] == [[("cased", 2.2)]] * 2


def test_areas_that_no_line_fits_leave_one_room_that_is_not_sure():
    (room,) = read(18.0, 17.64)
    assert room.area == pytest.approx(35.64, abs=0.01)
    assert not room.outline_sure
    assert any("18.0 + 17.6 m²" in sentence for sentence in room.reasons)


@pytest.mark.parametrize(("off", "count"), [(0.9, 2), (1.1, 1)])
def test_an_area_may_be_off_by_three_of_a_hundred(off, count):
    """The larger part takes the whole of the difference; both sums agree with the outline."""
    assert len(read(20.44 * (1 + off * FITS), 15.2)) == count


@pytest.mark.parametrize(("off", "areas"), [(0.9, [20.0, 15.64]), (1.1, [35.64])])
def test_an_area_beside_which_nothing_is_printed_may_be_off_by_one_of_a_hundred(off, areas):
    rooms = read(20.0 * (1 - off * ALONE))
    assert [round(room.area, 2) for room in rooms] == areas
    assert not any(room.outline_sure for room in rooms)


def parts_of(shape, *in_them) -> int:
    """Count the parts of a room in metres, in which areas are printed, each at a point."""
    printed = [PrintedArea(text="", at_pt=at, area=area) for at, area in in_them]
    scene = seen(m_per_pt=1.0)
    return len(parted_by_areas([(shape, [])], (), printed, scene)[0])


def parts_by_neck(width: float) -> int:
    """Two rooms of 16 m² that are open to one another over so much of a wall of 0.1 m."""
    shape = shapely.union_all([box(0, 0, 4, 4), box(4, 1, 4.1, 1 + width), box(4.1, 0, 8.1, 4)])
    return parts_of(shape, ((2.0, 2.0), 16.0), ((6.0, 2.0), 16.0))


def parts_by_kink(degrees: float) -> int:
    """A wall of two times five metres that turns by so much into its room; parted where one half of it runs on."""
    rise = 5 * math.tan(math.radians(degrees / 2))
    shape = shapely.Polygon([(0, 0), (5, rise), (10, 0), (10, 4), (0, 4)])
    beyond = 5 * rise  # half of its side, twice the rise, times five metres
    return parts_of(shape, ((25 / 3, rise), beyond), ((2.0, 3.0), shape.area - beyond))


def parts_by_corners(corners: int) -> int:
    """A hall with piers along its wall, and two walls with a gap between them: so many corners stand out into it."""
    piers = [box(1 + 1.2 * i, 0, 1.6 + 1.2 * i, 0.3) for i in range((corners - 4) // 2)]
    shape = box(0, 0, 40, 6) - shapely.union_all([*piers, box(38, 0, 38.2, 2), box(38, 4, 38.2, 6)])
    left = (shape & box(0, 0, 38, 6)).area
    return parts_of(shape, ((10.0, 3.0), left), ((39.0, 3.0), shape.area - left))


@pytest.mark.parametrize(
    ("says", "within", "beyond"),
    [(parts_by_neck, 0.33, 0.27), (parts_by_kink, 11.0, 9.0), (parts_by_corners, 58, 62)],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_on_either_side_of_a_limit_rooms_are_parted_or_not(says, within, beyond):
    assert [says(within), says(beyond)] == [2, 1]


CUPBOARD = shapely.box(0.2, 0.2, 0.7, 2.2)
"""A thing of 0.5 × 2 m in a corner of the room of 20 m², drawn as the walls are."""


@pytest.mark.parametrize(("printed", "area"), [(20.0, 20.0), (20.59, 20.0), (20.63, 19.0), (19.0, 19.0), (19.41, 19.0)])
def test_things_along_the_walls_are_filled_in_where_the_room_is_then_as_large_as_is_printed(printed, area):
    """By hand: 20 m² with the cupboard, 19 m² without; 3 of a hundred off agree."""

    def cupboard(ink: Ink) -> None:
        ink.shape(CUPBOARD, "A-WALL", stroke=PEN, fill=0.3)
        ink.text((3.0, 3.0), f"{printed:.2f} m2", 8, "A-AREA-IDEN")

    (room,) = [
        room for room in drawn(filled(DOOR, WINDOW), door, window, names, cupboard).rooms if room.name == "STORE"
    ]
    assert room.area == pytest.approx(area, abs=0.01)
    assert any("taken for furniture" in reason for reason in room.reasons) == (area == 20.0)
    assert room.sure == (area == 19.0 and printed < 19.5)
