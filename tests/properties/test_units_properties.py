"""Laws of reading and showing lengths."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from takeoff.errors import LengthError
from takeoff.units import INCH, PRECISIONS, format_length, parse_length

lengths = st.floats(min_value=0.0, max_value=1000.0)
precisions = st.sampled_from(PRECISIONS)


@given(metres=lengths, precision=precisions)
def test_a_shown_length_reads_back_within_half_a_part_of_an_inch(metres, precision):
    back = parse_length(format_length(metres, precision=precision))
    assert abs(back - metres) <= INCH / precision / 2 + 1e-12


@given(metres=lengths, precision=precisions)
def test_a_length_read_back_is_shown_the_same(metres, precision):
    shown = format_length(metres, precision=precision)
    assert format_length(parse_length(shown), precision=precision) == shown


@given(parts=st.integers(min_value=0, max_value=10**6), precision=precisions)
def test_a_length_on_the_tape_s_marks_reads_back_exactly(parts, precision):
    metres = float(Fraction(parts, precision) * Fraction(254, 10000))
    assert parse_length(format_length(metres, precision=precision)) == metres


@given(metres=lengths, precision=precisions)
def test_inches_stay_under_a_foot_and_fractions_reduced(metres, precision):
    feet, inches = format_length(metres, precision=precision).removesuffix('"').split("'-")
    whole, _, part = inches.partition(" ")
    assert int(feet) >= 0
    assert 0 <= int(whole) < 12
    if part:
        assert str(Fraction(part)) == part
        assert Fraction(part) < 1


@given(metres=lengths, precision=precisions)
def test_a_negative_length_is_the_positive_one_with_a_sign(metres, precision):
    shown = format_length(metres, precision=precision)
    expected = shown if parse_length(shown) == 0 else f"−{shown}"
    assert format_length(-metres, precision=precision) == expected


@given(millimetres=st.integers(min_value=0, max_value=10**6))
def test_whole_millimetres_survive_in_every_metric_form(millimetres):
    metres = millimetres / 1000
    assert parse_length(f"{millimetres} mm") == metres
    assert parse_length(format_length(metres, system="metric")) == metres
    assert parse_length(f"{millimetres:,} mm") == metres
    assert parse_length(str(millimetres), system="metric") == metres


@given(feet=st.integers(0, 500), inches=st.integers(0, 11), sixteenths=st.integers(1, 15))
def test_feet_inches_and_sixteenths_are_the_same_in_every_notation(feet, inches, sixteenths):
    exact = float((feet * 12 + inches + Fraction(sixteenths, 16)) * Fraction(254, 10000))
    for text in (
        f"{feet}'-{inches} {sixteenths}/16\"",
        f"{feet} FT {inches} {sixteenths}/16 IN",
        f"{feet}-{inches} {sixteenths}/16",
        f"{feet}′ {inches}-{sixteenths}⁄16″",
        f'{feet * 12 + inches} {sixteenths}/16"',
    ):
        assert parse_length(text) == exact


@given(text=st.text(alphabet="0123456789.,/-'\" mcftin½″x", max_size=14))
def test_any_text_is_a_finite_length_or_a_refusal_with_a_remedy(text):
    refusal = None
    metres = 0.0
    try:
        metres = parse_length(text)
    except LengthError as error:
        refusal = error
    assert 0.0 <= metres < 1e14
    assert refusal is None or (refusal.message and refusal.remedy)
