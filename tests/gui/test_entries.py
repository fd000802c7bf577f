"""What people type into fields, read and shown again."""

from __future__ import annotations

from datetime import date

import pytest

from takeoff.errors import InputError, TakeoffError
from takeoff.gui.entries import COUNT, DATE, cove_text, height_text, read_cove, read_height, read_length, read_number
from takeoff.units import Display

IMPERIAL, METRIC = Display(), Display(system="metric")
FOOT = 0.3048


@pytest.mark.parametrize("text", ["10'-0\"", "10'", '120"', "3.048 m"])
def test_a_level_height_is_read_in_every_form(text):
    assert read_height(text, IMPERIAL).points == ((0.0, pytest.approx(10 * FOOT)),)


def test_a_slope_goes_from_end_to_end():
    height = read_height("9' to 12'", IMPERIAL, length=4.0)
    assert height.points == ((0.0, pytest.approx(9 * FOOT)), (4.0, pytest.approx(12 * FOOT)))


def test_a_slope_without_a_length_is_refused():
    with pytest.raises(TakeoffError, match="one wall"):
        read_height("9' to 12'", IMPERIAL)


def test_stations_make_steps_and_read_back_as_shown():
    height = read_height("0: 9', 8': 9', 8': 12'", IMPERIAL)
    assert len(height.points) == 3
    again = read_height(height_text(height, IMPERIAL), IMPERIAL)
    assert [p for pair in again.points for p in pair] == pytest.approx([p for pair in height.points for p in pair])


def test_nothing_is_no_height():
    assert read_height("  ", IMPERIAL) is None
    assert height_text(None, IMPERIAL) == ""


@pytest.mark.parametrize("text", ["high", "9 to", "9':", "-3'", "0'"])
def test_what_is_no_height_is_refused(text):
    with pytest.raises(TakeoffError):
        read_height(text, IMPERIAL, length=3.0)


def test_a_cove_is_read_by_its_leg_or_by_all_its_sizes():
    usual = read_cove('4"', IMPERIAL)
    # 4 in leg, 1 in toe, 3/16 in thick: common practice
    assert (usual.height, usual.toe, usual.thickness) == pytest.approx((0.1016, 0.0254, 0.0047625))
    full = read_cove('6" x 4", radius 1", thick 3/8"', IMPERIAL)
    assert full.height == pytest.approx(0.1524)
    assert full.thickness == pytest.approx(0.009525)
    assert read_cove("none", IMPERIAL) is None


@pytest.mark.parametrize("display", [IMPERIAL, METRIC])
def test_a_cove_reads_back_as_shown(display):
    cove = read_cove("100 mm x 75 mm, radius 25 mm, thick 6 mm", METRIC)
    again = read_cove(cove_text(cove, display), display)
    for name in ("height", "toe", "radius", "thickness"):
        assert getattr(again, name) == pytest.approx(getattr(cove, name), abs=0.8e-3)


@pytest.mark.parametrize("text", ['4" x 4" x 4"', '4", colour red', "big"])
def test_what_is_no_cove_is_refused(text):
    with pytest.raises(TakeoffError):
        read_cove(text, IMPERIAL)


def test_counts_and_lengths():
    assert COUNT.read(" 3 ", METRIC, "") == 3
    assert read_length("", METRIC) == 0.0
    with pytest.raises(TakeoffError, match="whole number"):
        COUNT.read("many", METRIC, "")


@pytest.mark.parametrize("text", ["", "three", "nan", "inf", "1,5"])
def test_what_is_no_number_is_refused_with_its_name(text):
    with pytest.raises(InputError, match="packs"):
        read_number(text, "packs")


def test_a_day_is_read_as_the_standard_writes_it():
    # ISO 8601: year, month, day
    assert DATE.read(" 2026-03-09 ", METRIC, "") == date(2026, 3, 9)
    with pytest.raises(InputError, match="is not a date"):
        DATE.read("9.3.2026", METRIC, "")
    with pytest.raises(InputError, match="year 1026"):
        DATE.read("1026-03-09", METRIC, "")
