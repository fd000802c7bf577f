"""Rooms open to one another are parted where their printed areas say that one ends, and nothing is called sure.

The walls are those of `test_plan_rooms`, with a bare gap of 2.2 m in the inner wall, which is 0.2 m thick. By hand: the
rooms are 5.0 × 4.0 = 20.0 m² and 3.8 × 4.0 = 15.2 m², the gap is 0.44 m².
"""

from __future__ import annotations

import pytest
import shapely

from takeoff.trace.lines.printed_parts import FITS
from tests.trace.ink import Ink
from tests.trace.lines.test_plan_rooms import drawn, filled, names

GAP = shapely.box(5.2, 1.0, 5.4, 3.2)


def read(first: float, second: float):
    def areas(ink: Ink) -> None:
        for x, y, area in ((1.5, 3.8, first), (7.4, 2.6, second)):
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
def test_an_area_may_be_off_by_two_of_a_hundred(off, count):
    """The larger part takes the whole of the difference; both sums agree with the outline."""
    assert len(read(20.0 * (1 + off * FITS), 15.64)) == count
