from __future__ import annotations

from collections.abc import Callable

import pytest

from takeoff.audit.areas import RoomAreas
from takeoff.audit.reasons import Claim, find_reasons
from takeoff.audit.stated import FACTORS, AreaUnit, StatedArea
from takeoff.audit.tries import Try
from takeoff.model.walls import Opening
from takeoff.units import Display

Measure = Callable[..., RoomAreas]
FOOT = 0.3048
IMPERIAL = Display(system="imperial")
DOOR = Opening(at=2.0, width=1.8, height=2.1)
WINDOW = Opening(at=8.0, width=2.0, height=1.5, sill=0.9, kind="window")


def likely_causes(
    stated: StatedArea, room: RoomAreas, *, others: dict[str, RoomAreas] | None = None, display: Display
) -> tuple[Try, ...]:
    claims = [Claim(label="104", stated=stated, room=room, differs=True)]
    for label, other in (others or {}).items():
        told = StatedArea(value=round(other.areas["net"][0], 1), unit="m2", decimals=1)
        claims.append(Claim(label=label, stated=told, room=other, differs=True))
    return find_reasons(claims, basis="net", display=display)[1]["104"]


def causes(room: RoomAreas, area: float, unit: AreaUnit = "m2", **more: object) -> list[tuple[str, str]]:
    stated = StatedArea(number="104", value=round(area / FACTORS[unit], 1), unit=unit, decimals=1)
    found = likely_causes(stated, room, display=Display(system="metric"))
    return [(c.kind, c.text) for c in found]


def test_a_floor_area_is_recognised(measured_room):
    assert causes(measured_room(openings=(DOOR,)), 24.0)[0][0] == "floor"


def test_a_gross_area_is_recognised(measured_room):
    assert causes(measured_room(openings=(DOOR, WINDOW)), 60.0)[0][0] == "gross"


def test_square_metres_under_square_feet_are_recognised(measured_room):
    room = measured_room(openings=(DOOR,))
    net = room.areas["net"][0]
    stated = StatedArea(number="104", value=round(net, 1), unit="sf", decimals=1)
    (first, *_) = likely_causes(stated, room, display=IMPERIAL)
    assert (first.kind, first.text) == ("unit", "agrees if the number is in m², not sf")


def test_a_height_of_nine_feet_for_ten_is_solved_for_with_its_arithmetic(measured_room):
    room = measured_room(24 * FOOT, 16 * FOOT, 10 * FOOT)
    stated = StatedArea(number="104", value=80 * 9, unit="sf")
    (first, *_) = likely_causes(stated, room, display=IMPERIAL)
    assert first.text == "agrees if the height is 9'-0\" instead of 10'-0\""
    assert first.arithmetic == "800.0 sf − 80'-0\" × 1'-0\" = 720.0 sf"


def test_the_arithmetic_of_a_lower_height_tells_what_openings_take(measured_room):
    tall = Opening(at=2.0, width=2.0, height=2.9)
    room = measured_room(height=3.0, openings=(tall,))
    (first, *_) = [
        c
        for c in likely_causes(
            StatedArea(value=room.at_height(2.5), unit="m2", decimals=2), room, display=Display(system="metric")
        )
        if c.kind == "height"
    ]
    # 20 m × 0.5 m = 10 m², and the opening is cut by 2.0 m × 0.4 m = 0.80 m²
    assert "20.000 m × 0.500 m (10.00 m², of which openings take 0.80 m²) = 45.00 m²" in first.arithmetic


def test_a_rule_that_leaves_small_openings_in_is_recognised(measured_room):
    # DIN 18363 leaves openings up to 2.5 m² in: the window of 3.0 m² is deducted, the hatch of 2.4 m² is not
    hatch = Opening(at=14.0, width=1.6, height=1.5, sill=1.0, kind="pass-through")
    room = measured_room(openings=(WINDOW, hatch))
    assert ("rule", "agrees if it is measured by the rule din18363") in causes(room, 60.0 - 3.0)


def test_two_digits_that_changed_places_are_recognised(measured_room):
    room = measured_room(openings=(DOOR,))  # 56.22 m²
    assert ("digits", "agrees if two digits changed places: 56.2 m²") in causes(room, 65.2)


def test_walls_measured_to_the_centrelines_are_recognised_where_rooms_agree_on_the_thickness(measured_room):
    rooms = [measured_room(6.0, d, openings=(DOOR, WINDOW)) for d in (4.0, 5.1, 7.3)]
    claims = [
        Claim(
            label=f"10{i}", room=r, differs=True,
            stated=StatedArea(value=round(r.areas["net"][0] + 4 * 0.4 * 3.0, 1), unit="m2", decimals=1),
        )
        for i, r in enumerate(rooms)
    ]  # fmt: skip
    (lead,), reasons = find_reasons(claims, basis="net", display=Display(system="metric"))
    assert lead.text == "agree if they are measured to the centrelines of walls 0.400 m thick"
    assert {causes[0].kind for causes in reasons.values()} == {"centreline"}


def test_a_row_of_another_room_is_recognised(measured_room):
    room = measured_room()
    stated = StatedArea(value=91.7, unit="m2", decimals=1)
    # 2 × (9.28 + 6) × 3
    packing = measured_room(9.28, 6.0, name="Packing")
    found = likely_causes(stated, room, others={"105 Packing": packing}, display=Display(system="metric"))
    assert "agrees if the row belongs to 105 Packing" in [c.text for c in found]


def test_every_cause_offered_makes_the_areas_agree(measured_room):
    room = measured_room(openings=(DOOR, WINDOW))
    u = room.areas["net"][1]
    for tenths in range(100, 1200, 37):
        stated = StatedArea(value=tenths / 10, unit="m2", decimals=1)
        for cause in likely_causes(stated, room, display=Display(system="metric")):
            if cause.kind in ("unit", "digits"):
                assert cause.area == pytest.approx(room.areas["net"][0])
            else:
                assert abs(cause.area - stated.area) <= 2.0 * max(u, room.areas["floor"][1]) + 0.1
