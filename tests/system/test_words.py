"""Figures in the job's own units first. Factors: NIST Handbook 44, appendix C (1 ft = 0.3048 m, 1 US gal = 231 in³)."""

import pytest

from takeoff.system.words import Words


@pytest.mark.parametrize(
    ("name", "value", "imperial"),
    [
        ("area", 9.290304, "100.0 sf (9.29 m²)"),
        ("length", 3.048, "10.0 ft (3.05 m)"),
        ("width", 0.0508, "2.0 in (51 mm)"),
        ("volume", 3.785411784, "1.00 gal (3.79 L)"),
        ("film", 0.000254, "10.0 mils (254 µm)"),
        ("section", 0.00064516, "1.000 in² (645.2 mm²)"),
    ],
)
def test_a_job_in_feet_reads_feet_first_and_a_metric_job_the_other_way_round(name, value, imperial):
    assert getattr(Words(first="imperial"), name)(value) == imperial
    first, second = imperial.rstrip(")").split(" (")
    assert getattr(Words(), name)(value) == f"{second} ({first})"


def test_pieces_are_counted_per_hundred_of_an_area():
    assert Words(first="imperial").rate(0.107639104, "each", "area") == "1 per 100 sf (10.76 per 100 m²)"
