"""The bill: what is paid by a rule is measured by it, and quantity × rate is the amount."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from takeoff import actions
from takeoff.actions.reports import report_content
from takeoff.estimate.days.calendar import Calendar
from takeoff.estimate.days.schedule import plan_days
from takeoff.estimate.days.works import Work
from takeoff.job.edits import PutRoom, PutRun, SetCalibration
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Opening, Room, Run
from takeoff.report.bid import make_bid
from takeoff.report.bill_tables import bill
from takeoff.report.content import ReportContent
from takeoff.report.tables import price_table
from tests.jobs import AT, job_on

PLAN = Path(__file__).parents[2] / "sample_plans" / "facility-metric.pdf"


@pytest.fixture
def din(tmp_path: Path) -> ReportContent:
    """A wall of 8 × 3 m with a window of 1.5 m² and a gate of 9 m²; paid by DIN 18363."""
    openings = (Opening(at=2.0, width=1.5, height=1.0, sill=1.0), Opening(at=6.0, width=3.0, height=3.0))
    run = Run(id="a", sheet=1, room="R", points_pt=((100.0, 100.0), (180.0, 100.0)), openings=openings)
    with job_on(tmp_path / "job.takeoff", PLAN, name="Plant", units="metric", rule="din18363") as store:
        store.do(SetCalibration(calibration=Calibration(sheet=1, mx=0.1, my=0.1)))
        store.do(PutRoom(room=Room(id="R", height=HeightProfile.constant(3.0), system="thin-film")))
        store.do(PutRun(run=run))
        return report_content(store, actions.make_estimate(store.job), at=AT)


def test_a_bid_counts_the_working_days_of_the_site_and_no_others(din):
    # by hand: from Monday, 2 March 2026, with Saturdays and without Thursday, eight hours a day
    calendar = Calendar(start=date(2026, 3, 2), workdays=(0, 1, 2, 3, 4, 5), holidays=(date(2026, 3, 5),))
    works = [Work(id=str(n), room=f"R{n}", step="a", name="A", hours=8.0) for n in range(6)]
    plan = plan_days(works, calendar)
    assert [room.done.date().day for room in plan.rooms] == [2, 3, 4, 6, 7, 9]
    days = make_bid(din, days=plan, first_day=date(2026, 3, 2)).days
    assert days is not None
    assert [row[1:] for row in days.rows] == [(f"day {n}", f"day {n}") for n in range(1, 7)]


def number(text: str) -> float:
    return float(text.replace(",", ""))


def test_what_is_paid_by_a_rule_is_billed_by_it_and_the_net_area_stands_beside(din):
    # DIN 18363: the window of 1.5 m² is measured over, the gate deducted: 24 − 9 = 15 m²; net 24 − 9 − 1.5 = 13.5 m²
    (part,) = bill(din)
    first, second = part.lines[:2]
    assert (first.words, number(first.quantity)) == ("Walls coated, measured by din18363", 15.0)
    assert (second.words, number(second.quantity)) == ("Walls coated, net of openings, as ordered", 13.5)
    assert number(first.rate) == pytest.approx(din.estimate.line("price").amount / 15.0, abs=0.01)
    assert second.rate == "included"
    assert "15.00 m² by the job's measuring rule" in price_table(din.estimate, din.display).note


def test_the_bid_names_the_rule_and_both_areas(din):
    bid = make_bid(din)
    assert dict(bid.headline)["Walls for payment, by din18363"] == "15.00 m²"
    assert dict(bid.headline)["Walls coated, net of openings"] == "13.50 m²"
    titles = [column.title for column in bid.scope.columns]
    assert bid.scope.total[titles.index("Walls, for payment")] == pytest.approx(15.0)
    assert "din18363 (VOB/C ATV DIN 18363" in bid.scope.note


def test_without_a_rule_of_its_own_nothing_is_said_of_payment(content):
    assert not [line for part in bill(content) for line in part.lines if "measured by" in line.words]
    assert "payment" not in make_bid(content).scope.note


def test_quantity_times_rate_as_printed_is_the_amount_and_the_amounts_are_the_price(content, din):
    # plain arithmetic with what is printed, in cents
    for made in (content, din):
        for part, share in zip(bill(made), made.estimate.systems, strict=True):
            first, *others = (line for line in part.lines if line.amount)
            assert "." in first.rate
            assert len(first.rate.partition(".")[2]) == 2, "a rate is money"
            assert round(number(first.quantity) * number(first.rate) * 100) == round(number(first.amount) * 100)
            assert [line.words for line in others] in ([], ["Rounding of the rate"])
            printed = sum(round(number(line.amount) * 100) for line in (first, *others))
            assert printed == round(share.price * 100) == round(number(part.amount) * 100)


@pytest.mark.parametrize("area", [0.0, 0.0004])
def test_a_system_of_which_nothing_shows_is_billed_as_one_sum(din, area):
    # 0.0004 m² prints as 0.0: there is nothing to divide the price by
    (share,) = din.estimate.systems
    tiny = replace(
        din,
        rule="exact-net",
        estimate=replace(din.estimate, systems=(replace(share, area=area),)),
        by_run=replace(din.by_run, items=()),
    )
    (part,) = bill(tiny)
    (line,) = part.lines
    assert (line.words, line.unit, line.quantity) == ("All work of the system", "sum", "1")
    assert line.rate == line.amount == part.amount
    assert make_bid(tiny).unit_prices.rows == (), "a sum has no price of a unit"
