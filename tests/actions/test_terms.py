from datetime import date, datetime

import pytest

from takeoff import actions
from takeoff.actions.quantities import room_names
from takeoff.errors import InputError
from takeoff.model.site import HandOver, SiteTerms

MONDAY = date(2026, 3, 2)


def days_of(plan):
    bars = [bar for work in plan.works for bar in work.bars]
    return len({begin.date() for begin, _ in bars})


def test_the_price_and_the_plan_name_one_number_of_days(store):
    actions.keep_terms(store, SiteTerms(start=MONDAY.isoformat()))
    priced = actions.make_estimate(store.job)
    plan = actions.plan_job(actions.make_estimate(store.job))
    site = priced.estimate.site
    assert (site.days, site.start) == (days_of(plan), MONDAY)
    assert priced.estimate.crew_days == site.visits
    assert plan.notes[-1].startswith("The price is made from this plan")
    # Every hour of every visit is paid: steps, set-up, abrading and waiting.
    lines = {line.id: line.amount for line in priced.estimate.price}
    rate = priced.rates.wage * (1 + priced.rates.burden)
    paid = sum(lines[id] for id in ("labour", "setup", "abrading", "waiting")) / rate
    crew_hours = sum(_visit_hours(plan).values())
    assert paid == pytest.approx(crew_hours * priced.rates.crew, abs=0.05)


def _visit_hours(plan):
    """Return hours from the first work of a day to the last, four at the least."""
    days = {}
    for work in plan.works:
        for begin, end in work.bars:
            first, last = days.get(begin.date(), (begin, end))
            days[begin.date()] = (min(first, begin), max(last, end))
    return {day: max(4.0, (last - first).total_seconds() / 3600.0) for day, (first, last) in days.items()}


def test_a_room_is_not_worked_in_before_it_is_handed_over(store):
    terms = SiteTerms(start=MONDAY.isoformat(), handed_over=(HandOver(room="R104", day="2026-03-11"),))
    plan = actions.plan_job(actions.make_estimate(store.job), terms=terms)
    label = room_names(actions.make_estimate(store.job))["R104"]
    assert min(work.start for work in plan.works if work.room == label) >= datetime(2026, 3, 11)
    assert min(work.start for work in plan.works) < datetime(2026, 3, 3)


def test_without_terms_the_price_is_made_by_hours_and_forgetting_them_brings_it_back(store):
    before = actions.make_estimate(store.job).estimate
    assert before.site is None
    actions.keep_terms(store, SiteTerms())
    assert actions.make_estimate(store.job).estimate.site is not None
    actions.keep_terms(store, None)
    assert actions.make_estimate(store.job).estimate == before


def test_terms_can_be_kept_for_days_alone(store):
    actions.keep_terms(store, SiteTerms(start=MONDAY.isoformat(), is_priced_by=False))
    assert actions.make_estimate(store.job).estimate.site is None
    assert actions.plan_job(actions.make_estimate(store.job)).works[0].start.date() == MONDAY


def test_a_room_cures_as_long_as_its_system_says_or_the_terms_do(store):
    own = actions.plan_job(actions.make_estimate(store.job), start=MONDAY)
    cures = {(room.ready - room.done).total_seconds() / 3600.0 for room in own.rooms}
    assert cures == {72.0, 24.0}  # coated walls, and sheet panels, as the shipped catalogue has them
    told = actions.plan_job(actions.make_estimate(store.job), start=MONDAY, cure_hours=10.0)
    assert {(room.ready - room.done).total_seconds() / 3600.0 for room in told.rooms} == {10.0}


@pytest.mark.parametrize(
    ("terms", "message"),
    [
        ({"crews": 0}, "0 crews"),
        ({"start": "soon"}, "not a date"),
        ({"travel_km": -1.0}, "distance of -1"),
        ({"effort": 1e9}, r"effort of 1e\+09"),
        ({"cure_hours": 1e300}, "cure of"),
        ({"start": "9999-12-31"}, "year 9999"),
        ({"temperature": 200.0}, "200 °C"),
        ({"share_area": 0.0}, "0 m²"),
        ({"crews": 10**9}, "crews"),
    ],
)
def test_terms_that_no_site_is_worked_by_are_refused(terms, message):
    with pytest.raises(InputError, match=message):
        SiteTerms(**terms)


def test_terms_are_kept_on_when_a_room_that_is_handed_over_is_removed(store):
    handed = (HandOver(room="R104", day="2026-03-11"), HandOver(room="R105", day="2026-03-12"))
    actions.keep_terms(store, SiteTerms(handed_over=handed))
    actions.remove_from_job(store, rooms=["R104"])
    actions.keep_terms(store, actions.changed_terms(store.job.settings.site, crews=2))
    assert store.job.settings.site == SiteTerms(handed_over=handed[1:], crews=2)


def test_a_room_that_is_not_there_cannot_be_handed_over(store):
    with pytest.raises(InputError, match='no room "X"'):
        actions.keep_terms(store, SiteTerms(handed_over=(HandOver(room="X", day="2026-03-11"),)))


def test_terms_come_back_with_the_job(store):
    from takeoff.exchange.job_json import job_from_json, job_to_json

    terms = SiteTerms(
        start="2026-03-02", holidays=("2026-03-06",), handed_over=(HandOver(room="R104", day="2026-03-11"),)
    )
    actions.keep_terms(store, terms)
    job, _, _ = job_from_json(job_to_json(store))
    assert job.settings.site == terms


def test_rooms_without_a_day_of_hand_over_are_one_open_point_until_it_is_given(store):
    def found():
        return {point.key for point in actions.open_points(store.job, has_stakes=False).open}

    assert "site:handed-over" not in found()
    actions.keep_terms(store, SiteTerms(start=MONDAY.isoformat()))
    assert "site:handed-over" in found()
    rooms = {run.room for run in store.job.runs.values() if run.room}
    opens = tuple(HandOver(room=room, day=MONDAY.isoformat()) for room in sorted(rooms))
    actions.keep_terms(store, SiteTerms(start=MONDAY.isoformat(), handed_over=opens))
    assert "site:handed-over" not in found()


def test_a_price_by_hours_is_an_open_point_with_what_a_plan_would_make_of_it(store):
    def found():
        points = {point.key: point for point in actions.open_points(store.job).points}
        return points.get("site:by-hours")

    by_hours = actions.make_estimate(store.job).estimate.line("price").amount
    point = found()
    assert point.is_open
    # The same job priced by the plan of one crew, Monday to Friday, differs by what is at stake.
    actions.keep_terms(store, SiteTerms())
    planned = actions.make_estimate(store.job).estimate
    assert point.stake.money == pytest.approx(abs(planned.line("price").amount - by_hours), abs=0.005)
    assert f"{planned.site.visits} visits" in point.why
    assert found() is None
    actions.keep_terms(store, None)
    actions.confirm_points(store, [found()])
    assert not found().is_open
