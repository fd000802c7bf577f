from datetime import date, datetime

import pytest

from takeoff.estimate.days.site_plan import site_days
from takeoff.estimate.days.works import DayPlan, PlannedWork
from takeoff.model.site import SiteTerms
from takeoff.model.systems import Rates

RATES = Rates(crew=3, least_visit_hours=4.0, phase_gap=2)


def at(day, hour):
    return datetime(2026, 3, day, hour)


def bar(day, begin, end, crew="Crew"):
    work = PlannedWork(
        work=f"{day}-{begin}", room="R", step="s", name="S", kind="work", start=at(day, begin), end=at(day, end),
        bars=((at(day, begin), at(day, end)),), crews=(crew,), reason="r",
    )  # fmt: skip
    return work, float(end - begin)


def plan(*bars, abrading=0.0):
    works = tuple(work for work, _ in bars)
    asked = sum(hours for _, hours in bars) - abrading
    return DayPlan(
        works=works, rooms=(), finish=works[-1].end, days=0, hours=0.0, bound=0.0, abraded=0,
        asked_hours=asked, abrading_hours=abrading,
    )  # fmt: skip


def test_a_visit_is_paid_from_its_first_work_to_its_last_and_at_least_the_least_hours():
    # Mon 2 h: paid 4, 2 waited. Tue 7 to 9 and 14 to 15, 3 h: paid 8, 5 waited. Wed 8 h: none waited.
    found = site_days(plan(bar(2, 7, 9), bar(3, 7, 9), bar(3, 14, 15), bar(4, 7, 15)), SiteTerms(), RATES)
    assert (found.visits, found.days, found.phases, found.access_days) == (3, 3, 1, 3)
    assert found.waiting == pytest.approx(2.0 + 5.0)


def test_two_crews_on_one_day_are_two_visits_of_one_day():
    found = site_days(plan(bar(2, 7, 15, "Crew 1"), bar(2, 7, 15, "Crew 2")), SiteTerms(crews=2), RATES)
    assert (found.visits, found.days, found.trips, found.waiting) == (2, 1, 2, 0.0)


def test_a_longer_time_away_is_a_phase_with_its_own_access_and_the_weekend_is_none():
    # Fri 6 March, Mon 9: the weekend is no time away. Fri 13: three working days between, more than two.
    found = site_days(plan(bar(6, 7, 15), bar(9, 7, 15), bar(13, 7, 15)), SiteTerms(), RATES)
    assert (found.phases, found.access_days, found.days) == (2, 3, 3)
    near = site_days(plan(bar(6, 7, 15), bar(9, 7, 15), bar(12, 7, 15)), SiteTerms(), RATES)
    assert (near.phases, near.access_days) == (1, 5)


def test_crews_that_stay_travel_once_a_phase_and_sleep_there():
    # Mon to Fri: 5 days and 4 nights for each of 3 people.
    week = plan(*[bar(day, 7, 15) for day in (2, 3, 4, 5, 6)])
    stay = site_days(week, SiteTerms(stay=True, travel_hours=2.0, travel_km=150.0), RATES)
    assert (stay.trips, stay.day_rates, stay.nights) == (1, 15, 12)
    home = site_days(week, SiteTerms(travel_hours=2.0), RATES)
    assert (home.trips, home.day_rates, home.nights) == (5, 0, 0)


def test_abrading_that_the_plan_adds_is_no_waiting():
    found = site_days(plan(bar(2, 7, 15), abrading=3.0), SiteTerms(), RATES)
    assert (found.abrading, found.waiting) == (3.0, 0.0)


def test_a_plan_of_nothing_has_no_days():
    empty = DayPlan(works=(), rooms=(), finish=None, days=0, hours=0.0, bound=0.0, abraded=0)
    assert site_days(empty, SiteTerms(), RATES) is None


def test_holidays_and_saturdays_count_as_the_terms_say():
    friday_and_monday = plan(bar(6, 7, 15), bar(9, 7, 15))
    assert site_days(friday_and_monday, SiteTerms(has_saturdays=True), RATES).access_days == 3
    assert site_days(friday_and_monday, SiteTerms(holidays=("2026-03-09",)), RATES).access_days == 1
    assert site_days(friday_and_monday, SiteTerms(), RATES).finish == date(2026, 3, 9)
