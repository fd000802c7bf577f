"""What proposals come to before they are taken: each alone against walls traced exactly, together against the job.

The walls of the new revision are those that are traced by hand on it; a price is that of the whole job, made anew.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from takeoff.actions import measure_ready
from takeoff.actions.deltas import RevisionPrices
from takeoff.actions.quantities import catalogue_of, lots_of
from takeoff.actions.revising import accept_revision, revision_edit
from takeoff.cli.revision_show import revision_json, show_revision
from takeoff.estimate.alternates import AsUsedPrices
from takeoff.job.changes import apply_change
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.units import Display
from tests.revise.conftest import compared

Store = Callable[[str], JobStore]


@pytest.fixture
def opened(store: Store) -> JobStore:
    return store("A")


@pytest.fixture
def prices(opened: JobStore) -> RevisionPrices:
    return RevisionPrices(opened.job, compared(opened, "facility-rev-b.pdf"))


def price(job: Job) -> float:
    catalogue = catalogue_of(job)
    return AsUsedPrices().price(lots_of(job, measure_ready(job)[0].faces, catalogue), catalogue, catalogue.rates)


def area(job: Job, run: str) -> float:
    return next(i for i in measure_ready(job, by="run")[0].measurement.items if i.id == run).quantities.net_area


def test_each_changed_wall_has_its_net_area_before_and_after(prices: RevisionPrices, traced: dict[str, Job]) -> None:
    for id, worth in prices.worths.items():
        assert worth.net_area.before == pytest.approx(area(traced["A"], id), abs=1e-6), id
        assert worth.net_area.after == pytest.approx(area(traced["B"], id), abs=1e-3), id


def test_what_is_taken_together_changes_the_price_as_taking_it_into_the_job_does(
    opened: JobStore, prices: RevisionPrices
) -> None:
    before, taken = opened.job, ["103-walls", "106-walls"]
    told = prices.change(before, taken)
    assert opened.job is before
    accept_revision(opened, prices.revision, taken)
    assert told == pytest.approx(price(opened.job) - price(before), abs=1e-9)
    assert prices.change(before, []) == 0.0


def test_walls_to_look_at_come_first_by_what_is_at_stake_then_changes_by_money_then_what_stays(
    opened: JobStore, prices: RevisionPrices, capsys: pytest.CaptureFixture[str]
) -> None:
    order = sorted((r.before.id for r in prices.revision.runs), key=prices.rank)
    sure = {r.before.id: r.sure for r in prices.revision.runs}
    looked, changed = [i for i in order if not sure[i]], [i for i in order if sure[i] and i in prices.worths]
    stays = [i for i in order if i not in prices.worths]
    assert order == looked + changed + stays
    assert looked[0] == "107-walls"  # its room got another name, and no other price is offered: the whole wall's
    without = {id: run for id, run in opened.job.runs.items() if id != "107-walls"}
    assert prices.worths["107-walls"].stake == pytest.approx(
        price(opened.job) - price(replace(opened.job, runs=without))
    )
    for group in (looked, changed):
        stakes = [prices.worths[id].stake for id in group]
        assert stakes == sorted(stakes, reverse=True)
    money = [abs(prices.worths[id].change) for id in changed]
    assert money == sorted(money, reverse=True)
    assert money[0] > money[1] > 0.0
    show_revision(prices.revision, Display(system="imperial"), (), opened.job)
    text = capsys.readouterr().out
    rows = [line.split()[0] for line in text.splitlines() if line.split()[:1] and line.split()[0] in sure]
    assert rows == order


def test_a_wall_that_cannot_be_measured_yet_has_no_price_rather_than_one_of_nothing(
    opened: JobStore, prices: RevisionPrices
) -> None:
    rooms = {**opened.job.rooms, "R106": replace(opened.job.rooms["R106"], height=None)}
    some = RevisionPrices(replace(opened.job, rooms=rooms), prices.revision)
    assert some.words("106-walls") == "no price yet"
    assert some.words("103-walls") == prices.words("103-walls")


def test_a_job_that_cannot_be_priced_keeps_the_order_and_says_so(opened: JobStore, prices: RevisionPrices) -> None:
    job = replace(
        opened.job, runs={id: replace(run, system="not there") for id, run in opened.job.runs.items()}
    )  # fmt: skip
    unpriced = RevisionPrices(job, prices.revision)
    assert unpriced.worths == {}
    assert unpriced.whole is None
    assert unpriced.change(job, ["103-walls"]) is None
    assert [unpriced.rank(r)[0] for r in ("107-walls", "106-walls", "105-walls")] == [0, 1, 2]


def test_json_has_the_walls_by_money_with_the_price_building_up_to_that_of_all(
    opened: JobStore, prices: RevisionPrices
) -> None:
    rows = revision_json(prices.revision, [], opened.job)["by_money"]
    assert {row["id"] for row in rows} == {r.before.id for r in prices.revision.runs}
    sorts = [row["sort"] for row in rows]
    assert sorts == sorted(sorts, key=["look", "changed", "stays"].index)
    for sort in ("look", "changed"):
        stakes = [row["at_stake"]["amount"] for row in rows if row["sort"] == sort]
        assert stakes == sorted(stakes, reverse=True)
    taken = [row["id"] for row in rows]
    for k in (1, 3, len(rows)):
        after = apply_change(opened.job, revision_edit(opened.job, prices.revision, taken[:k]).apply(opened.job))
        change = price(after) - price(opened.job)
        assert rows[k - 1]["price_change_so_far"]["amount"] == pytest.approx(change, abs=0.01)
