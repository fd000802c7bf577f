"""Reading and showing lengths, areas, volumes, doors and money.

Published numbers: NIST Handbook 44, Appendix C (231 in³ to the US gallon, 7.481 gal to the cubic foot); the other
factors follow from 25.4 mm to the inch by the arithmetic written beside them. Door codes are common practice,
no source.
"""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

import pytest

from takeoff import units
from takeoff.errors import InputError, LengthError
from takeoff.units import Display, door_size, format_length, parse_height, parse_length

INCH = Fraction(254, 10000)


def refusal(text: str, **options: str) -> LengthError:
    with pytest.raises(LengthError) as caught:
        parse_length(text, **options)
    return caught.value


# --- factors ------------------------------------------------------------------------------------------------------


def test_a_gallon_is_231_cubic_inches():
    assert float(231 * (INCH * 10) ** 3) == units.US_GALLON_LITRES


def test_a_cubic_foot_holds_the_gallons_that_handbook_44_prints():
    assert round(units.FOOT**3 * 1000 / units.US_GALLON_LITRES, 3) == 7.481


def test_foot_mil_and_square_foot_follow_from_the_inch():
    assert float(12 * INCH) == units.FOOT
    assert float(INCH / 1000) == units.MIL
    assert float((12 * INCH) ** 2) == units.SQUARE_FOOT


@pytest.mark.parametrize(
    ("factor", "published"),
    [
        (1 / units.SQUARE_FOOT, 10.7639104),
        (units.OUNCE / units.SQUARE_FOOT * 1000, 305.1517),  # 28.349523125 g / 0.09290304 m²
        (units.OUNCE / units.SQUARE_FOOT / 9 * 1000, 33.90575),
        (units.POUND / units.US_GALLON_LITRES, 0.11982643),  # 0.45359237 / 3.785411784
        (units.POUND / units.OUNCE, 16),
        (units.US_GALLON_LITRES / 1000 / units.MIL / units.SQUARE_FOOT, 9625 / 6),  # 231 / 0.001 / 144 = 1604.1667
    ],
)
def test_derived_factors_agree_with_their_arithmetic(factor, published):
    assert factor == pytest.approx(published, rel=2e-7)  # seven digits are printed


# --- reading lengths ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "12'-6\"",
        "12' 6\"",
        "12'6\"",
        "12'-6",
        "12'6",
        "12 ' - 6 \"",
        "12'-6.0\"",
        "12′-6″",
        "12’ 6”",
        "12.5'",
        "12.5 ft",
        "12 1/2'",
        "12½'",
        "12 ft 6 in",
        "12ft-6in",
        "12FT. 6IN.",
        "12 feet 6 inches",
        '150"',
        "150 in",
        "150''",
        "12-6",
        "12 - 6",
        "12–6",
        '12-6"',
        "  12'-6\"\t",
        "12'\u00a06\"",
        "3.81 m",
        "3.81m",
        "3.810 M",
        "3.81 metres",
        "3.81 meters",
        "3,81 m",
        "381 cm",
        "381CM",
        "381,0 cm",
        "3810 mm",
        "3810MM",
        "3810.0 mm",
        "3 810 mm",
        "3\u202f810 mm",
        "3,810 mm",
        "3,810.0 mm",
        "3 810,0 mm",
        "3810",
    ],
)
def test_every_way_of_writing_twelve_feet_six_is_the_same_length(text):
    assert parse_length(text) == 3.81


@pytest.mark.parametrize(
    "text",
    [
        "12'-6 1/2\"",
        "12' 6 1/2\"",
        "12'-6-1/2\"",
        "12'6½\"",
        "12′-6½″",
        "12-6 1/2",
        "12-6-1/2",
        "12 ft 6.5 in",
        '150 1/2"',
        "12' 6 2/4",
    ],
)
def test_half_an_inch_is_read_in_every_form(text):
    assert parse_length(text) == float(Fraction(301, 2) * INCH)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ('6"', "6"),
        ('1/2"', "1/2"),
        ('.5"', "1/2"),
        ("0'-8\"", "8"),
        ("0'-0\"", "0"),
        ("0", "0"),
        ('½"', "1/2"),
        ('¼"', "1/4"),
        ('¾"', "3/4"),
        ('⅛"', "1/8"),
        ('⅝"', "5/8"),
        ('1⁄16"', "1/16"),
        ('1-1/2"', "3/2"),
        ("5'-0 1/64\"", "3841/64"),
        ("5'-1/2\"", "121/2"),
        ("5' 11 15/16\"", "1151/16"),
        ("1,250'", "15000"),
    ],
)
def test_imperial_lengths_come_out_exact(text, inches):
    assert parse_length(text) == float(Fraction(inches) * INCH)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("6 mm", 0.006),
        ("0,810 m", 0.81),
        ("1 200,5 mm", 1.2005),
        ("12,345 mm", 12.345),
        ("2,1005 m", 2.1005),
        ("3.810 mm", 0.00381),
    ],
)
def test_points_commas_and_spaces_in_metric_lengths(text, metres):
    assert parse_length(text) == metres


def test_a_bare_whole_number_of_three_digits_is_millimetres():
    assert parse_length("100") == 0.1


def test_a_metric_job_reads_every_bare_whole_number_as_millimetres():
    assert parse_length("6", system="metric") == 0.006


@pytest.mark.parametrize("text", ["9", "2", "99"])
def test_a_height_of_a_few_bare_millimetres_is_asked_for_with_its_unit(text):
    with pytest.raises(LengthError, match="has no unit") as refused:
        parse_height(text, system="metric")
    assert f"{text} m or {text} mm" in refused.value.remedy
    assert parse_height(f"{text} mm", system="metric") == int(text) / 1000


def test_a_height_in_bare_millimetres_is_read_from_three_figures_on():
    assert [parse_height(text, system="metric") for text in ("100", "2700", "0")] == [0.1, 2.7, 0.0]
    assert parse_height("9'", system="metric") == pytest.approx(2.7432)


@pytest.mark.parametrize("system", [None, "imperial", "metric"])
def test_the_job_s_system_does_not_touch_a_length_with_a_unit(system):
    assert parse_length("12'-6\"", system=system) == parse_length("3.81 m", system=system) == 3.81


# --- refusing lengths ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "found", "to_write"),
    [
        ("", "empty", "3810 mm"),
        (" \t", "empty", "3810 mm"),
        ("height", "no number", "12'-6 1/2\""),
        ("nan", "no number", "12'-6 1/2\""),
        ("inf m", "no number", "12'-6 1/2\""),
        ("-3 m", "negative", "without its sign"),
        ('−6"', "negative", "without its sign"),
        ('–6"', "negative", "without its sign"),
        ("12'-14\"", "14 in beside the feet", "13'-2\""),
        ("12'-12\"", "12 in beside the feet", "13'-0\""),
        ("12-14", "14 in beside the feet", "13'-2\""),
        ('6 3/2"', "“3/2” is not less than 1", '6 1/2"'),
        ('61/2"', "“61/2” is not less than 1", "a space before"),
        ('4/4"', "“4/4” is not less than 1", '6 1/2"'),
        ('1/0"', "divides by zero", '6 1/2"'),
        ("1.2.3 m", "2 decimal points", "12.5"),
        ('6.5 1/2"', "“6.5” is a decimal beside the fraction 1/2", '6 1/2"'),
        ("12.5'-6\"", "12.5 ft, a part of a foot", "12'-6\""),
        ("12.5-6", "12.5 ft, a part of a foot", "12.5'"),
        ("3.81 m wall", "read up to “3.81 m”; “wall” was not understood", "3.81 m"),
        ("12'-6\" or so", "read up to “12'-6\"”", "12'-6 1/2\""),
        ("12-6-3", "read up to “12-6”; “-3” was not understood", "12'-6 1/2\""),
        ("3 m 81 cm", "read up to “3 m”; “81 cm” was not understood", "3.81 m"),
        ("3 m²", "“²” was not understood", "3.81 m"),
        ("1e3 m", "“e3 m” was not understood", "3.81 m"),
        ("3810 mil", "“mil” was not understood", "3810 mm"),
        ("3.81 m 12'", "mixes metric", "one of them"),
        ("12' 6 cm", "mixes metric", "one of them"),
        ("3'810 mm", "mixes metric", "one of them"),
        ("12", "no unit", "12', 12\", 12 m or 12 mm"),
        ("12.5", "no unit", "12.5', 12.5\", 12.5 m or 12.5 mm"),
        ("3.810", "no unit", "3.810 m"),
        ("6 1/2", "no unit", "6 1/2\" or 6 1/2'"),
        ("1/2", "no unit", "1/2\" or 1/2'"),
        ("12 6", "no unit", "12'-6\""),
        ("12 6 1/2", "no unit", "12'-6 1/2\""),
        ("150 200", "could be two numbers", "150200 mm"),
        ("12-1/2", "12 1/2 in or 12 ft 1/2 in", "12'-0 1/2\""),
        ("3,810 m", "could be 3.810 or 3810", "3.810"),
        ("3,810", "could be 3.810 or 3810", "3.810"),
        ("12,5'", "“12,5” is not one number", "12.5"),
        ("1 200'", "“1 200” is not one number", "without commas or spaces"),
        ("12.", "“12.” is not one number", "12.5"),
        ('+6"', "not a length", "12'-6 1/2\""),
        ("9" * 70, "70 characters", "3810 mm"),
    ],
)
def test_what_is_not_one_length_is_refused_with_what_to_write(text, found, to_write):
    error = refusal(text)
    assert found in error.message
    assert to_write in error.remedy


@pytest.mark.parametrize(
    ("text", "system", "to_write"),
    [
        ("150", "imperial", "Write 150' or 150\""),
        ("12.5", "imperial", "Write 12.5' or 12.5\""),
        ("12.5", "metric", "Write 12.5 m or 12.5 mm"),
    ],
)
def test_a_bare_number_that_the_job_s_system_does_not_settle_is_refused(text, system, to_write):
    error = refusal(text, system=system)
    assert "no unit" in error.message
    assert to_write in error.remedy


def test_the_correction_of_too_many_inches_is_itself_a_length():
    remedy = refusal("12'-14 1/2\"").remedy
    assert parse_length(remedy.removeprefix("Write ").removesuffix(" if that is meant.")) == float(
        Fraction(317, 2) * INCH
    )


# --- showing lengths ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("inches", "precision", "text"),
    [
        ("150", 16, "12'-6\""),
        ("301/2", 16, "12'-6 1/2\""),
        ("8", 16, "0'-8\""),
        ("0", 16, "0'-0\""),
        ("1/2", 16, "0'-0 1/2\""),
        ("5/16", 16, "0'-0 5/16\""),
        ("5/16", 8, "0'-0 3/8\""),  # 2.5 eighths: a half goes up
        ("5/16", 4, "0'-0 1/4\""),
        ("1/64", 64, "0'-0 1/64\""),
        ("1/64", 16, "0'-0\""),
        ("12", 1, "1'-0\""),
        ("191/16", 16, "0'-11 15/16\""),
        ("383/32", 16, "1'-0\""),  # 11 31/32: carries into the foot
        ("1439/120", 16, "1'-0\""),
        ("47/4", 2, "1'-0\""),
        ("-301/2", 16, "−12'-6 1/2\""),
        ("-1/64", 16, "0'-0\""),
    ],
)
def test_feet_and_inches_are_rounded_reduced_and_carried(inches, precision, text):
    assert format_length(float(Fraction(inches) * INCH), precision=precision) == text


@pytest.mark.parametrize(
    ("metres", "text"),
    [(3.81, "3.810 m"), (1.0005, "1.001 m"), (1234.5, "1234.500 m"), (-0.2, "−0.200 m"), (-0.0001, "0.000 m")],
)
def test_metric_lengths_are_shown_to_the_millimetre(metres, text):
    assert format_length(metres, system="metric") == text


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("system", ["imperial", "metric"])
def test_a_length_that_is_no_number_is_not_shown(value, system):
    with pytest.raises(InputError, match="cannot be shown"):
        format_length(value, system=system)


@pytest.mark.parametrize("precision", [0, 3, 12, 128, -16])
def test_a_precision_that_no_tape_has_is_refused(precision):
    with pytest.raises(InputError, match="1, 2, 4, 8, 16, 32, 64"):
        format_length(1.0, precision=precision)


# --- doors --------------------------------------------------------------------------------------------------------


def test_door_3070_is_three_by_seven_feet_and_21_square_feet():
    width, height = door_size("3070")
    assert (width, height) == (0.9144, 2.1336)
    assert width * height / units.SQUARE_FOOT == pytest.approx(21.0, abs=1e-12)


@pytest.mark.parametrize(
    "code",
    [
        "3070",
        " 3070 ",
        "3-0 x 7-0",
        "3-0x7-0",
        "3/0 7/0",
        "3/0 X 7/0",
        "3/0×7/0",
        "3'-0\" x 7'-0\"",
        "3'-0\" 7'-0\"",
        '36" x 84"',
        "3 ft by 7 ft",
    ],
)
def test_every_way_of_writing_a_3070_door_is_the_same_door(code):
    assert door_size(code) == (0.9144, 2.1336)


@pytest.mark.parametrize(
    ("code", "width", "height"),
    [("2868", 32, 80), ("6070", 72, 84), ("21068", 34, 80), ("30610", 36, 82), ("211610", 35, 82)],
)
def test_door_codes_give_feet_and_inches_of_width_then_height(code, width, height):
    assert door_size(code) == (float(width * INCH), float(height * INCH))


@pytest.mark.parametrize(
    "code", ["900x2100", "900 × 2100", "900 2100", "900 x 2100 mm", "0.9 m x 2.1 m", "90 cm x 210 cm"]
)
def test_metric_doors_are_millimetres_without_a_unit(code):
    assert door_size(code) == (0.9, 2.1)


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ("", "not a door size"),
        ("30", "not a door size"),
        ("0070", "not a door size"),
        ("3000", "not a door size"),
        ("2100", "not a door size"),
        ("3070 x", "not a door size"),
        ("3-0 x 7-0 x 2", "not a door size"),
        ("11110", "could be 1-1 x 1-10 or 1-11 x 1-0"),
        ("900 x 0", "no width or no height"),
        ("3/14 7/0", "14 in beside the feet"),
        ("90x210 cm", "“90” has no unit"),
        ("3-0 x -7-0", "negative"),
    ],
)
def test_what_is_not_one_door_is_refused(code, found):
    with pytest.raises(LengthError) as caught:
        door_size(code)
    assert found in caught.value.message
    assert caught.value.remedy


# --- other figures ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "expected", "unit"),
    [
        (units.figure_value("length", 3.81, "imperial"), 12.5, "ft"),
        (units.figure_value("area", 1.0, "imperial"), 10.7639104, "sf"),
        (units.figure_value("volume", 42.9043, "imperial"), 11.33412, "gal"),  # 1000 ft² at 16 mil with 12 % loss
        (units.figure_value("mass", 0.45359237, "imperial"), 1.0, "lb"),
        (units.figure_value("film", 406.4e-6, "imperial"), 16.0, "mils"),
        (units.figure_value("spread", 1.0, "imperial"), 40.745833, "sf/gal"),  # 10.7639104 × 3.785411784
        (units.figure_value("per area", 10.7639104, "imperial"), 1.0, "/sf"),
        (units.figure_value("length", 3.81, "metric"), 3.81, "m"),
        (units.figure_value("area", 2.5, "metric"), 2.5, "m²"),
        (units.figure_value("volume", 2.5, "metric"), 2.5, "L"),
        (units.figure_value("mass", 2.5, "metric"), 2.5, "kg"),
        (units.figure_value("film", 406.4e-6, "metric"), 406.4, "µm"),
        (units.figure_value("spread", 5.2, "metric"), 5.2, "m²/L"),
        (units.figure_value("per area", 3.0, "metric"), 3.0, "/m²"),
    ],
)
def test_figures_turn_into_the_unit_shown(value, expected, unit):
    assert value == (pytest.approx(expected, rel=1e-6), unit)


@pytest.mark.parametrize(
    ("shown", "text"),
    [
        (units.format_figure("area", 48.66, "metric"), "48.66 m²"),
        (units.format_figure("area", 48.66, "imperial"), "523.8 sf"),  # 48.66 × 10.7639104 = 523.772
        (units.format_figure("area", 1234.5, "metric"), "1,234.50 m²"),
        (units.format_figure("volume", 42.9043, "imperial"), "11.33 gal"),
        (units.format_figure("volume", 42.9043, "metric"), "42.90 L"),
        (units.format_figure("mass", 45.359237, "imperial"), "100.0 lb"),
        (units.format_figure("mass", 45.359237, "metric"), "45.4 kg"),
        (units.format_figure("film", 406.4e-6, "imperial"), "16.0 mils"),
        (units.format_figure("film", 406.4e-6, "metric"), "406 µm"),
        (units.format_money(1234.5, "USD"), "USD 1,234.50"),
        (units.format_money(2.675, "EUR"), "EUR 2.68"),  # as typed, not as the float 2.67499…
        (units.format_money(Decimal("-0.005"), "USD"), "USD −0.01"),
        (units.format_money(-0.004, "USD"), "USD 0.00"),
    ],
)
def test_figures_are_shown_with_their_unit(shown, text):
    assert shown == text


@pytest.mark.parametrize("currency", ["", "usd", "$", "USDX", "US1"])
def test_money_without_a_currency_code_is_refused(currency):
    with pytest.raises(InputError, match="three capital letters"):
        units.format_money(1.0, currency)


@pytest.mark.parametrize("value", [math.nan, math.inf, Decimal("NaN"), 1e300])
def test_money_that_is_no_sum_is_refused(value):
    with pytest.raises(InputError, match="cannot be shown"):
        units.format_money(value, "USD")


# --- display ------------------------------------------------------------------------------------------------------


def test_an_imperial_display_shows_every_figure_in_trade_units():
    show = Display(system="imperial", precision=2, currency="CAD")
    assert show.length(3.8227) == "12'-6 1/2\""
    assert show.area(60.0) == "645.8 sf"
    assert show.volume(3.785411784) == "1.00 gal"
    assert units.format_figure("mass", 0.45359237, "imperial") == "1.0 lb"
    assert show.film(25.4e-6) == "1.0 mils"
    assert units.format_figure("spread", 5.2, "imperial") == "211.9 sf/gal"  # 5.2 × 40.745833 = 211.878
    assert show.money(10) == "CAD 10.00"
    assert show.money_per_area(107.639104) == "CAD 10.00/sf"


def test_a_metric_display_shows_every_figure_in_metric():
    show = Display(system="metric", currency="EUR")
    assert show.length(3.8227) == "3.823 m"
    assert show.area(60.0) == "60.00 m²"
    assert show.volume(1.5) == "1.50 L"
    assert units.format_figure("mass", 1.5, "metric") == "1.5 kg"
    assert show.film(125e-6) == "125 µm"
    assert units.format_figure("spread", 5.2, "metric") == "5.20 m²/L"
    assert show.money_per_area(12.5) == "EUR 12.50/m²"


@pytest.mark.parametrize("system", ["imperial", "metric"])
@pytest.mark.parametrize("figure", ["length", "area", "volume", "mass", "film", "spread"])
def test_table_numbers_and_units_are_those_of_the_converter(system, figure):
    show = Display(system=system)
    assert (show.number(figure, 7.25), show.unit(figure)) == units.figure_value(figure, 7.25, system)
    if figure in ("length", "area"):
        assert getattr(show, f"{figure}_number")(7.25) == show.number(figure, 7.25)
        assert getattr(show, f"{figure}_unit") == show.unit(figure)


def test_a_display_refuses_a_precision_or_currency_that_it_could_not_show():
    with pytest.raises(InputError, match="1/10 in"):
        Display(precision=10)
    with pytest.raises(InputError, match="dollar"):
        Display(currency="dollar")


@pytest.mark.parametrize("text", ["12-6", "12 – 6 1/2", "3-6"])
def test_feet_and_inches_without_their_signs_are_refused_where_units_are_metric(text):
    """It may be a range, or two numbers."""
    assert units.parse_length(text, system="imperial") == units.parse_length(text)
    with pytest.raises(LengthError, match="units are metric"):
        units.parse_length(text, system="metric")
