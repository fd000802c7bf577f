"""The foreman's copy: everything that the work needs, and nothing of money."""

from __future__ import annotations

import math
import re
from collections import Counter
from datetime import date
from pathlib import Path

import pytest

from takeoff import actions
from takeoff.actions.quantities import Priced
from takeoff.actions.reports import report_content
from takeoff.errors import ReportError
from takeoff.estimate.days.batches import late_packs
from takeoff.estimate.days.works import DayPlan
from takeoff.report.content import ReportContent
from takeoff.report.files import write_whole
from takeoff.report.foreman import Foreman, make_foreman
from takeoff.report.kinds import KINDS, ReportOrder, kinds_named
from tests.jobs import AT, sample_on
from tests.report.page_texts import page_texts
from tests.report.test_bid import pdf_texts

MONEY = {"usd", "eur", "price", "prices", "priced", "cost", "costs", "wage", "wages", "overhead", "profit", "markup",
         "margin", "burden", "tax", "paid", "payment", "money", "dollars", "budget", "contingency"}  # fmt: skip


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> tuple[ReportContent, Priced, DayPlan]:
    with sample_on(tmp_path_factory.mktemp("foreman") / "job.takeoff", name="Sample dairy") as store:
        priced = actions.make_estimate(store.job)
        plan = actions.plan_job(priced, start=date(2026, 3, 9), effort=0.0)
        return report_content(store, priced, ReportOrder(edition="foreman"), at=AT), priced, plan


@pytest.fixture(scope="module")
def copy(sample: tuple[ReportContent, Priced, DayPlan]) -> Foreman:
    content, priced, plan = sample
    late = late_packs(priced.estimate, priced.catalogue, priced.rates)
    return make_foreman(content, plan=plan, late=late, cuts=actions.cut_plans(priced), first="Planned for 1 crew.")


@pytest.fixture(scope="module")
def file(copy: Foreman, tmp_path_factory: pytest.TempPathFactory) -> Path:
    (kind,) = kinds_named("pdf")
    ((name, data),) = kind.write(copy).items()
    assert name == "foreman.pdf"
    return write_whole(tmp_path_factory.mktemp("pdf") / name, data)


def test_no_word_and_no_figure_of_the_whole_file_is_of_money(file, sample):
    """Words of all pages, descriptions of pictures, bookmarks and properties; every amount of the estimate."""
    _, priced, _ = sample
    told = pdf_texts(file)
    words = Counter(re.findall(r"[a-z]+", told.lower()))
    assert words["prime"] > 5
    assert not MONEY & words.keys()
    assert not re.search(r"[$€£]", told)
    e = priced.estimate
    amounts = [p.amount for p in e.price] + [m.cost for m in e.materials] + [x.cost for x in e.labour]
    shown = {f"{a:,.2f}" for a in amounts if a > 100.0} | {f"{a:.2f}" for a in amounts if a > 100.0}
    assert len(shown) > 50
    assert not [amount for amount in shown if amount in told]


def test_the_same_search_finds_money_in_the_full_report(sample, tmp_path):
    content, priced, _ = sample
    (kind,) = kinds_named("pdf")
    ((_, data),) = kind.write(content).items()
    told = " ".join(page_texts(write_whole(tmp_path / "r.pdf", data)))
    assert MONEY & set(re.findall(r"[a-z]+", told.lower()))
    assert f"{priced.estimate.line('price').amount:,.2f}" in told


def test_every_shift_of_every_step_stands_in_its_day_with_why_it_starts_then(copy, sample):
    _, _, plan = sample
    rows = {(table.title[4:], row[0][:5], row[1], row[2]): row[-1] for table in copy.steps for row in table.rows}
    for work in plan.works:
        for n, (begin, _) in enumerate(work.bars):
            why = rows[f"{begin:%Y-%m-%d}", f"{begin:%H:%M}", work.room, work.name]
            assert why == ("goes on" if n else work.reason)
    assert len(rows) == sum(len(work.bars) for work in plan.works)


def test_every_piece_of_every_roll_is_cut_once_in_feet_inches_and_fractions(copy, sample):
    content, priced, _ = sample
    (plan,) = (found.rolls for found in actions.cut_plans(priced) if found.rolls is not None)
    drops = [drop for roll in plan.rolls for cut in roll.cuts for drop in (cut.drop, *cut.beside)]
    drops += [reuse.drop for reuse in plan.reused]
    rows = [row for table in copy.cuts.values() for row in table.rows]
    keys = {e.key for e in content.elevations}
    assert len(rows) == len([drop for drop in drops if drop.face in keys])
    assert all(re.match(r"\d+'-\d+( \d+/\d+)?\"", str(row[2])) for row in rows)
    first = next(drop for drop in drops if drop.face == "104-walls:right" and drop.number == 1)
    row = next(row for row in copy.cuts["R104"].rows if row[0] == "1, top" and row[1] == "1")
    assert row[2] == content.display.length(first.length) == "12'-4\""  # 12 ft of wall and 4 in of trim
    assert row[3] == "4'-2\""  # a roll of 50 in


def test_a_kit_that_outlasts_its_pot_life_is_mixed_in_as_many_parts_as_it_takes(copy, sample):
    _, priced, _ = sample
    late = {(p.name, p.pack): p for p in late_packs(priced.estimate, priced.catalogue, priced.rates)}
    assert copy.mixing is not None
    for name, pack, minutes, pot_life, parts in copy.mixing.rows:
        found = late[name, pack]
        assert float(minutes) == pytest.approx(found.hours * 60, abs=0.5)
        assert found.hours / int(parts) <= found.pot_life + 1e-9
        assert found.hours / (int(parts) - 1) > found.pot_life
        assert float(pot_life) == pytest.approx(found.pot_life * 60, abs=0.5)


def test_limits_are_those_of_each_product_in_the_units_of_the_job(copy, sample):
    _, priced, _ = sample
    limits = {row[0]: row for row in copy.limits.rows}
    primer = next(p for p in priced.catalogue.products if p.name == "Epoxy primer, waterborne, two parts")
    assert primer.least_temperature is not None
    fahrenheit = primer.least_temperature * 9 / 5 + 32  # NIST SP 811, B.8
    assert str(limits[primer.name][1]).startswith(f"{fahrenheit:.0f} to ")
    assert limits[primer.name][3] == "5"  # °F above the dew point, MIL-HDBK-1110 section 9.6.6


def test_what_all_steps_take_of_a_product_is_what_the_whole_packs_hold(copy, sample):
    _, priced, _ = sample
    for line in priced.estimate.materials:
        if line.unit != "L" or not any(p.count for p in line.packs):
            continue
        taken = math.fsum(
            float(str(row[3]).split()[0].replace(",", "")) for row in copy.packs.rows if row[2] == line.name
        )
        assert taken == pytest.approx(line.needed / 3.785411784, abs=0.01 * len(line.needs))  # US gallon, NIST SP 811


def test_only_the_pdf_is_made_of_it(tmp_path):
    with sample_on(tmp_path / "job.takeoff", name="Sample dairy") as store:
        made = actions.make_reports(store, tmp_path / "out", ReportOrder(edition="foreman"), at=AT)
        assert [path.name for path in made.paths] == ["foreman.pdf"]
        others = tuple(kind for kind in KINDS if kind.name != "pdf")
        with pytest.raises(ReportError, match="made as PDF alone"):
            actions.make_reports(store, tmp_path / "none", ReportOrder(kinds=others, edition="foreman"), at=AT)
