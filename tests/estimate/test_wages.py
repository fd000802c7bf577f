"""What a man-hour costs, by hand; classes, fringe and overtime as usual in the trade: common practice, no source."""

import pytest

from takeoff.estimate.wages import burdened_rate, overtime_mean, wage_words
from takeoff.model.systems import CrewMember, Rates

CREW = (
    CrewMember(name="Foreman", count=1, wage=52.0),
    CrewMember(name="Applicator", count=2, wage=34.0, burden=0.40, fringe=6.0),
)


def test_classes_count_by_their_number():
    # (52 x 1.25 + 2 x (34 x 1.4 + 6)) / 3 = (65 + 107.2) / 3
    assert burdened_rate(Rates(burden=0.25, crew=3, people=CREW)) == pytest.approx(57.40)


def test_overtime_raises_wage_and_burden_but_not_fringe():
    # 10 h with 2 h at 1.5: (8 + 3) / 10 = 1.1. (65 x 1.1 + 2 x (47.6 x 1.1 + 6)) / 3 = (71.5 + 116.72) / 3
    rates = Rates(burden=0.25, crew=3, people=CREW, shift_hours=10.0, overtime_after=8.0)
    assert overtime_mean(rates) == pytest.approx(1.1)
    assert burdened_rate(rates) == pytest.approx((71.5 + 116.72) / 3)


def test_forty_six_hours_at_twelve_with_overtime_after_forty_are_the_published_588():
    # 29 CFR 778.110 (a), from memory: 40 h at 12 and 6 h at 18 are 588.
    week = Rates(wage=12.0, burden=0.0, shift_hours=46.0, overtime_after=40.0)
    assert 46.0 * burdened_rate(week) == pytest.approx(588.0)


def test_a_shift_within_the_limit_has_no_overtime():
    assert overtime_mean(Rates(shift_hours=8.0, overtime_after=8.0)) == 1.0
    assert wage_words(Rates(wage=40.0, burden=0.35), "USD") == ("USD 40.00 × (1 + 0.35) = USD 54.00 an hour",)
