"""Plans of made jobs, judged by the catalogue alone: no surface is coated past its window unless it is abraded."""

import random
import re
from datetime import date, timedelta

from takeoff.estimate.days.calendar import Calendar
from takeoff.estimate.days.crewing import works_of
from takeoff.estimate.days.schedule import plan_days
from takeoff.estimate.labour import labour_lines
from takeoff.exchange.catalogue_file import default_catalogue
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Rates

JOBS = 30
"""Made jobs that are planned as a test; `tests/bench/recoat_windows.py` plans 200 and prints them."""
FACTOR_TEN_DEGREES = 2.0  # as docs/formulas.md: doubling per 10 °C


def made_job(draw):
    """Draw one to three rooms, most often one, with systems of the shipped catalogue, and how they are worked."""
    catalogue = default_catalogue()
    lots = []
    for n in range(draw.choice([1, 1, 1, 2, 3])):
        area, length = draw.uniform(15.0, 220.0), draw.uniform(6.0, 60.0)
        lots.append(
            Lot(
                system=draw.choice(catalogue.systems).id,
                room=f"R{n}",
                room_label=f"R{n}",
                quantities=Quantities(
                    net_area=area, cove_length=length, cove_girth_area=0.2 * length,
                    cove_inside_corners=draw.randint(0, 8), cove_outside_corners=draw.randint(0, 3),
                    end_length=draw.uniform(1.0, 9.0),
                    inside_corner_length=draw.uniform(5.0, 20.0),
                ),
            )
        )  # fmt: skip
    rates = Rates(crew=draw.randint(2, 5), shift_hours=draw.choice([6.0, 8.0, 10.0]), setup_hours=0.0)
    calendar = Calendar(
        start=date(2026, 3, 2) + timedelta(days=draw.randint(0, 6)),
        shift_hours=rates.shift_hours,
        workdays=draw.choice([(0, 1, 2, 3, 4), (0, 1, 2, 3, 4, 5), (0, 1, 2, 3)]),
        holidays=(date(2026, 3, 5),) if draw.random() < 0.3 else (),
    )
    return catalogue, lots, rates, calendar, draw.choice([None, 12.0, 30.0]), draw.randint(1, 2)


def surface(step):
    if step.kind == "cove" or step.basis in ("cove_length", "cove_girth_area"):
        return "cove"
    return "wall" if step.basis in ("coated_area", "net_area", "gross_area") else "edge"


COVERING = ("coat", "mat", "broadcast", "cove", "panel", "sealant")


def numbers(work):
    """Return coat, coats, part and parts of a work by what the plan says of it."""
    found = {what: (int(n), int(of)) for what, n, of in re.findall(r"(coat|part) (\d+) of (\d+)", work.reason)}
    return (*found.get("coat", (1, 1)), *found.get("part", (1, 1)))


def faults(catalogue, lots, plan, temperature):
    """Follow each surface of each room through a plan, by the steps of its system as the catalogue has them.

    A surface is a list of stretches: from and to as fractions, when it was covered, and the window from then.
    """
    found = []
    for lot in lots:
        steps = {step.id: step for step in catalogue.system(lot.system).steps}
        mine = [w for w in plan.works if w.room == lot.room]
        abraded = {w.work for w in mine if w.kind == "abrade"}
        last = {}
        laying = {}
        for work in sorted((w for w in mine if w.kind == "work"), key=lambda w: w.start):
            pour = [steps[id] for id in work.step.split("+")]
            coat, coats, part, parts = numbers(work)
            laid = [step for step in pour if step.kind in COVERING]
            low, high = (part - 1) / parts, part / parts
            if part == 1:
                laying = {surface(step): [] for step in laid}
            missed = []
            for on in {surface(step) for step in laid}:
                for start, stop, end, least, most in last.get(on, []):
                    if min(high, stop) - max(low, start) < 1e-9:
                        continue
                    waited = (work.start - end) / timedelta(hours=1)
                    if waited < least - 1e-6:
                        found.append(f"{work.work} after {waited:.1f} h, at least {least:.1f}")
                    if most is not None and waited > most + 1e-6:
                        missed.append(f"{work.work} after {waited:.1f} h, at most {most:.1f}")
            if missed and work.work not in abraded:
                found += missed
            if not missed and work.work in abraded:
                found.append(f"{work.work} abraded for nothing")
            for on in {other for step in pour for other in step.abrades}:
                last[on] = [(*stretch[:4], None) for stretch in last.get(on, [])]
            for step in [step for step in laid if step.min_recoat is not None or step.max_recoat is not None] or laid:
                most = step.max_recoat if coat == coats or step.max_between is None else step.max_between
                factor = 1.0
                if temperature is not None:
                    stated = catalogue.product(step.product).temperature
                    factor = FACTOR_TEN_DEGREES ** ((stated - temperature) / 10.0)
                within = None if most is None else most * factor
                laying[surface(step)].append((low, high, work.end, (step.min_recoat or 0.0) * factor, within))
            if part == parts:
                last |= laying
    return found


def planned(draw):
    """Plan the next made job; return what is at fault in it, and its plan."""
    catalogue, lots, rates, calendar, temperature, crews = made_job(draw)
    lines = labour_lines(lots, catalogue, rates)
    share = draw.choice([None, 40.0])
    works = works_of(lines, catalogue, rates, crews=crews, temperature=temperature, share_area=share)
    plan = plan_days(works, calendar, crews=crews, effort=0.0, minutes=5)
    return faults(catalogue, lots, plan, temperature), plan


def test_no_surface_of_made_jobs_is_coated_past_its_window_without_abrading():
    draw = random.Random(16)
    found = [planned(draw) for _ in range(JOBS)]
    assert [faulty for faulty, _ in found if faulty] == []
    assert sum(plan.abraded for _, plan in found) > 0  # weekends and holidays do make some windows be missed
