"""The daily log, and hours worked that become a person's own rates."""

from datetime import date

import pytest

from takeoff import actions
from takeoff.errors import InputError


@pytest.fixture(autouse=True)
def signed(store):
    store.sign = lambda: ("ann", "2026-03-04T16:00:00")


def record(store, **more):
    given = {"when": "2026-03-02T16:00:00", **more}
    return actions.record_use(store, system="mat-hygienic", room="R104", **given)


def table(store, id, day=None):
    return next(t for t in actions.daily_log(store.job, actions.make_estimate(store.job), day) if t.id == id)


def test_the_log_of_a_day_holds_readings_steps_and_hours_by_person(store):
    store.sign = lambda: ("ann", "2026-03-02T16:00:00")
    actions.record_reading(store, air=20.0, surface=19.0, humidity=0.5, room="R104")
    store.sign = lambda: ("ann", "2026-03-04T16:00:00")
    record(store, step="sand", area=10.0, hours=2.0, person="First hand")
    record(store, step="sand", area=10.0, hours=1.5, person="First hand")
    record(store, step="tack", area=10.0, hours=1.0)
    record(store, step="prime", packs=1.0, area=20.0, when="2026-03-03T16:00:00")
    day = date(2026, 3, 2)
    assert table(store, "hours", day).rows == (("2026-03-02", "First hand", 3.5), ("2026-03-02", "not named", 1.0))
    assert len(table(store, "steps", day).rows) == 3
    assert len(table(store, "steps").rows) == 4
    assert table(store, "readings", day).rows[0][6] == "It may be coated."
    assert table(store, "readings", date(2026, 3, 3)).note == "Nothing is recorded."


def test_a_rate_found_is_the_estimated_rate_by_hours_estimated_over_hours_worked(store):
    # By hand: 20 m2 of the sanding are done; what was estimated for them took twice as long.
    priced = actions.make_estimate(store.job)
    lines = [line for line in priced.estimate.labour if (line.system, line.step) == ("mat-hygienic", "sand")]
    estimated = sum(line.hours for line in lines) * 20.0 / sum(line.basis_value for line in lines)
    record(store, step="sand", area=20.0, hours=2.0 * estimated)
    (row,) = actions.hours_by_step(priced, tuple(store.job.uses.values()))
    assert row.estimated == pytest.approx(estimated)
    assert row.found.rate == pytest.approx(row.labour.rate / 2.0)


def test_rates_found_are_kept_only_where_asked_and_undone_in_one_step(store):
    record(store, step="sand", area=20.0, hours=9.0)
    before = actions.make_estimate(store.job)
    rate = actions.hours_by_step(before, tuple(store.job.uses.values()))[0].found.rate
    actions.keep_found_rates(store, before)
    steps = {step.id: step for step in actions.catalogue_of(store.job).system("mat-hygienic").steps}
    assert steps["sand"].labour.rate == pytest.approx(rate)
    old = {step.id: step for step in before.catalogue.system("mat-hygienic").steps}
    assert steps["tack"] == old["tack"]
    actions.undo(store)
    assert actions.make_estimate(store.job).estimate == before.estimate


def test_hours_without_anything_done_make_no_rate(store):
    record(store, step="sand", hours=9.0)
    with pytest.raises(InputError, match="no rate can be found"):
        actions.keep_found_rates(store, actions.make_estimate(store.job))


def test_the_log_goes_by_the_clock_whatever_zone_a_record_was_written_in(store):
    store.sign = lambda: ("ann", "2026-03-04T16:00:00+00:00")
    record(store, step="sand", area=5.0, when="2026-03-03T09:30:00+02:00", note="first")  # 07:30 UTC
    record(store, step="sand", area=5.0, when="2026-03-03T08:00:00+00:00", note="second")
    assert [row[-1] for row in table(store, "steps").rows] == ["first", "second"]
