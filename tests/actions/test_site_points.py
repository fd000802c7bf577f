"""What days and prices take although nobody said it is an open point, and one number of days is named everywhere."""

from dataclasses import replace

import pytest

from takeoff import actions
from takeoff.errors import InputError
from takeoff.estimate.labour import burdened_rate
from takeoff.job.edits import PutProduct, PutSystem, SetSettings
from takeoff.model.site import SiteTerms

MONDAY = "2026-03-02"


def keys(store):
    return {point.key for point in actions.open_points(store.job, has_stakes=False).open}


def put_rates(store, **more):
    rates = replace(actions.catalogue_of(store.job).rates, **more)
    store.do(SetSettings(settings=replace(store.job.settings, rates=rates)))


def own_system(store, id, **more):
    store.do(PutSystem(system=replace(actions.catalogue_of(store.job).system(id), **more)))


def test_a_cure_that_the_catalogue_does_not_give_is_open_until_a_person_says_it(store):
    assert "product:cure" not in keys(store)
    own_system(store, "mat-hygienic", cure=0.0)
    assert "product:cure" in keys(store)
    actions.keep_terms(store, SiteTerms(start=MONDAY, cure_hours=72.0))
    assert "product:cure" not in keys(store)


def test_a_coat_whose_data_give_no_least_time_to_the_next_is_open(store):
    steps = actions.catalogue_of(store.job).system("mat-hygienic").steps
    bare = tuple(replace(step, min_recoat=None) if step.id == "glaze" else step for step in steps)
    assert "product:recoat" not in keys(store)
    own_system(store, "mat-hygienic", steps=bare)
    point = next(p for p in actions.open_points(store.job, has_stakes=False).open if p.key == "product:recoat")
    assert "First glaze coat" in point.why
    assert "Prime" not in point.why


def test_a_product_without_limits_of_its_own_is_open(store):
    assert "product:limits" not in keys(store)
    glaze = actions.catalogue_of(store.job).product("epoxy-glaze")
    store.do(PutProduct(product=replace(glaze, least_temperature=None, pot_life=None)))
    assert {"product:limits", "product:pot-life"} <= keys(store)


def test_temperature_and_travel_that_nobody_gave_are_open_where_days_are_planned(store):
    actions.keep_terms(store, SiteTerms(start=MONDAY))
    assert {"site:temperature", "site:travel"} <= keys(store)
    actions.keep_terms(store, SiteTerms(start=MONDAY, temperature=20.0, travel_km=30.0))
    assert not {"site:temperature", "site:travel", "site:limits"} & keys(store)


@pytest.mark.parametrize(
    ("terms", "said"),
    [
        # The shipped glaze is laid from 60 °F, the waterborne primer up to 80 % (both common practice, no source).
        (SiteTerms(start=MONDAY, temperature=10.0), "outside 60.0 °F"),
        (SiteTerms(start=MONDAY, temperature=20.0, humidity=0.84), "is above 80 %"),
        (SiteTerms(start=MONDAY, temperature=20.0, humidity=0.5, moisture=0.05), "at most 4 %"),
    ],
)
def test_what_may_not_be_laid_at_the_site_is_told_by_the_plan_and_is_open(store, terms, said):
    actions.keep_terms(store, terms)
    assert "site:limits" in keys(store)
    assert any(said in note for note in actions.plan_job(actions.make_estimate(store.job)).notes)


def test_wall_at_a_height_without_a_cost_of_access_is_open(store):
    assert "site:access" in keys(store)  # the process room is coated to 12 ft, work slows down from 10 ft
    put_rates(store, access_per_day=150.0)
    assert "site:access" not in keys(store)


def test_access_days_are_one_number_by_hours_and_by_the_plan(store):
    put_rates(store, access_per_day=150.0)
    by_hours = actions.make_estimate(store.job).estimate
    actions.keep_terms(store, SiteTerms(start=MONDAY))
    planned = actions.make_estimate(store.job).estimate
    assert by_hours.site is None
    assert by_hours.access_days == planned.access_days == planned.site.access_days
    amount = 150.0 * planned.access_days
    assert by_hours.line("access").amount == planned.line("access").amount == amount


def test_overtime_follows_the_shift_of_the_site(store):
    # (8 h + 2 h × 1.5) ÷ 10 h = 1.1, the worked example of the handbook form in `takeoff.estimate.labour`.
    put_rates(store, overtime_after=8.0)
    eight = actions.make_estimate(store.job).rates
    actions.keep_terms(store, SiteTerms(start=MONDAY, shift_hours=10.0))
    ten = actions.make_estimate(store.job).rates
    assert burdened_rate(ten) / burdened_rate(eight) == pytest.approx(1.1)


def test_a_shift_that_no_day_has_is_refused():
    with pytest.raises(InputError, match="a shift from 25"):
        SiteTerms(shift_start=25.0)
