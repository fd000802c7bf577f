import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.geometry.cove import cove_girth, cove_section, fillet_section

INCH = 0.0254


def test_fillet_of_one_inch_has_the_section_of_a_square_less_a_quarter_disc():
    # Derived: 1 - pi/4 = 0.2146018 in2, 138.4525 mm2.
    assert fillet_section(INCH) / INCH**2 == pytest.approx(0.2146018, abs=1e-7)
    assert fillet_section(INCH) * 1e6 == pytest.approx(138.4525, abs=1e-4)


def test_hundred_feet_of_one_inch_fillet_take_1_1148_gallons():
    # Derived: 257.522 in3 over 231 in3 to the gallon (NIST Handbook 44, App. C).
    assert fillet_section(INCH) / INCH**2 * 1200 / 231 == pytest.approx(1.114815, abs=1e-6)


@pytest.mark.parametrize(
    ("legs", "radius", "girth"),
    [(4 * INCH, INCH, 7.570796 * INCH), (0.100, 0.025, 0.1892699), (0.1, 0.0, 0.2), (0.1, 0.1, 0.1 * math.pi / 2)],
)
def test_girth_is_both_legs_less_the_radius_and_a_quarter_circle(legs, radius, girth):
    assert cove_girth(legs, legs, radius) == pytest.approx(girth, abs=1e-7)


def test_section_counts_the_corner_square_of_both_legs_once():
    # Derived: 0.006 (0.1 + 0.1 - 0.006) + 0.2146018 x 0.025^2 = 0.00129813 m2; b (h + t) would add 36 mm2.
    assert cove_section(0.1, 0.1, 0.025, 0.006) == pytest.approx(0.00129813, abs=1e-8)


def test_section_without_thickness_is_the_fillet_alone():
    assert cove_section(0.1, 0.1, 0.025, 0.0) == fillet_section(0.025)


@given(st.floats(0.02, 0.3), st.floats(0.02, 0.3), st.floats(0, 0.02))
def test_girth_is_shorter_than_the_legs_and_longer_than_the_chord(height, toe, radius):
    girth = cove_girth(height, toe, radius)
    assert math.hypot(height, toe) - 1e-12 <= girth <= height + toe + 1e-12
