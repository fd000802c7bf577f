from __future__ import annotations

import math

import pytest

from takeoff.audit.stated import StatedArea, read_number, read_unit, split_amount
from takeoff.errors import InputError


def test_a_square_foot_is_0_09290304_square_metres():
    # 0.3048², international foot (NIST Handbook 44, Appendix C)
    assert StatedArea(number="1", value=1.0, unit="sf").area == pytest.approx(0.09290304, rel=1e-12)


def test_rounding_to_a_whole_square_foot_has_the_spread_of_a_rectangle():
    # JCGM 100:2008, 4.3.7: half-width a gives a/√3
    area = StatedArea(number="1", value=500.0, unit="sf", decimals=0)
    assert area.u_rounding == pytest.approx(0.5 * 0.09290304 / math.sqrt(3.0))


@pytest.mark.parametrize("text", ["sf", "S.F.", "sq ft", "Sq. Ft.", "SQFT", "square feet", "ft2", "ft²", "Area (SF)"])
def test_square_feet_are_recognised(text):
    assert read_unit(text) == "sf"


@pytest.mark.parametrize("text", ["m2", "m²", "M2", "sqm", "sq m", "sq. m.", "square metres", "Net area [m²]"])
def test_square_metres_are_recognised(text):
    assert read_unit(text) == "m2"


@pytest.mark.parametrize("text", ["Area", "Surface", "Staff room", "Offset", "Item 2", "Room 12"])
def test_words_without_a_unit_name_none(text):
    assert read_unit(text) is None


def test_a_heading_with_both_units_is_refused():
    with pytest.raises(InputError, match="both"):
        read_unit("Area sf / m2")


@pytest.mark.parametrize(
    ("text", "comma", "value", "decimals"),
    [
        ("1,391.5", False, 1391.5, 1),
        ("1391", False, 1391.0, 0),
        ("1.391,50", True, 1391.5, 2),
        ("12 345", False, 12345.0, 0),
        ("1’234.5", False, 1234.5, 1),
        ("1 234 567,5", True, 1234567.5, 1),
    ],
)
def test_numbers_are_read_as_schedules_write_them(text, comma, value, decimals):
    assert read_number(text, decimal_comma=comma) == (value, decimals)


@pytest.mark.parametrize(
    "text", ["12,34.5", "1.2.3", "abc", "", "1,23", "120 130 5", "12 5", "1 234,567", "1\u2009234'567"]
)
def test_what_is_no_number_is_refused(text):
    with pytest.raises(InputError):
        read_number(text)


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_areas_that_no_room_has_are_refused(value):
    with pytest.raises(InputError):
        StatedArea(value=value, unit="sf")


def test_something_other_than_a_unit_after_the_number_is_refused():
    with pytest.raises(InputError, match="not a unit of area"):
        split_amount("120 ft")
