"""Planning a priced job: cut lists, crew days, the range of the price, alternates side by side, what to order when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from takeoff.actions.quantities import (
    Priced,
    catalogue_of,
    makes_cove,
    measure_ready,
    price_measured,
    room_names,
    without_cove,
)
from takeoff.actions.readings import changed_terms, judge_terms
from takeoff.errors import InputError
from takeoff.estimate.alternates import Comparison, compare
from takeoff.estimate.climate import degrees
from takeoff.estimate.days.batches import late_packs, late_words
from takeoff.estimate.days.site_plan import plan_labour, site_days
from takeoff.estimate.days.works import DayPlan
from takeoff.estimate.orders import OrderLine, order_list
from takeoff.estimate.simulate import PriceRange, parts_of, simulate_price, usual_spreads
from takeoff.job.job import Job
from takeoff.measure.faces import MeasuredFace
from takeoff.measure.totals import room_label
from takeoff.model.costs import SiteDays
from takeoff.model.cut_lists import CutList
from takeoff.model.site import SiteTerms
from takeoff.model.systems import Catalogue, Keeping
from takeoff.report.files import table_csv, write_whole
from takeoff.report.planning_tables import Planning, order_table, order_workbook
from takeoff.system.bases import coats_walls

AS_IT_IS = "As in the job"
"""Name of the job's own systems among alternates."""
KEEPING = "product:keeping"
"""Key of the open point about lead times and shelf lives."""
_TIMES: dict[Keeping, str] = {"lead_days": "lead time", "shelf_life_days": "shelf life"}


def next_monday(day: date) -> date:
    """Return the first Monday after a day.

    Examples
    --------
    >>> next_monday(date(2026, 3, 2)).isoformat()
    '2026-03-09'
    """
    return day + timedelta(days=7 - day.weekday())


def plan_job(priced: Priced, *, effort: float | None = None, terms: SiteTerms | None = None, **named: Any) -> DayPlan:
    """Plan the steps of every room into days; rooms go by their labels.

    Raises `InputError` when a step does not fit a shift, or something cannot hold: the message names it.

    Parameters
    ----------
    effort
        How long to look for a shorter plan; that of the terms where ``None``, which the price is made by.
    terms
        How the site is worked; the job's own terms where ``None``.
    named
        Terms that are other than those, by the names of their fields; days may be dates.
    """
    chosen = changed_terms(terms or priced.terms or SiteTerms(), **named)
    names = room_names(priced)
    plan = plan_labour(priced.estimate.labour, priced.catalogue, priced.rates, chosen, names=names, effort=effort)
    if not plan.works:
        return plan
    late = late_words(late_packs(priced.estimate, priced.catalogue, priced.rates, temperature=chosen.temperature))
    paid = site_days(plan, chosen, priced.rates)
    said = plan.notes if paid is None or priced.estimate.site is None else (*plan.notes[:-1], _paid_words(plan, paid))
    said = (*said, *limits_words(replace(priced, terms=chosen)))
    return replace(plan, notes=(*said, *([late] if late else []), _priced_words(priced, plan, chosen)))


def limits_words(priced: Priced) -> tuple[str, ...]:
    """Say which products may not be laid in what the site is reckoned with; nothing where all may."""
    verdict = judge_terms(priced)
    if verdict is None or verdict.may_coat or priced.terms is None or priced.terms.temperature is None:
        return ()
    at = f"At {degrees(priced.terms.temperature, priced.units)}"
    if priced.terms.humidity is not None:
        at += f" and {priced.terms.humidity * 100:.0f} % humidity"
    return (f"{at} not everything may be laid. {' '.join(verdict.lines)}",)


def _paid_words(plan: DayPlan, paid: SiteDays) -> str:
    """Say how the hours of the works come to the crew hours that are paid."""
    parts = [f"{plan.asked_hours:.2f} h of steps, set-up and clean-up"]
    if paid.abrading:
        parts.append(f"{paid.abrading:.2f} h of abrading")
    parts.append(f"{paid.waiting:.2f} h of waiting and rounding")
    total = plan.asked_hours + paid.abrading + paid.waiting
    return f"Crew hours: {' + '.join(parts)} = {total:.2f} h, paid in {paid.visits} visits of a crew."


def _priced_words(priced: Priced, plan: DayPlan, terms: SiteTerms) -> str:
    """Say how the hours and days that are priced compare with the plan's."""
    hours, people, days = priced.estimate.hours, priced.rates.crew, priced.estimate.crew_days
    mine, paid = site_days(plan, terms, priced.rates), priced.estimate.site
    if paid is not None and mine is not None:
        said = f"{paid.visits} visits, {paid.days} days on site, phases: {paid.phases}"
        if replace(mine, start=paid.start, finish=paid.finish) == paid:
            return f"The price is made from this plan: {said}."
        return f"The price is made from another plan of the job's own terms: {said}."
    return (
        f"The price by hours has {hours:.2f} man-hours with set-up: {hours:.2f} ÷ {people} = {hours / people:.2f}"
        f" crew hours, {days:.2f} crew days of {priced.rates.shift_hours:g} h;"
        f" this plan keeps crews for {plan.days} × {terms.crews} = {plan.days * terms.crews} days, and the price"
        " does not hold its waiting and visits."
    )


def price_range(priced: Priced, *, draws: int = 100_000, seed: int = 1) -> PriceRange:
    """Draw the usual spreads of hours and material and return the range of the price before tax on it.

    ``draws`` and ``seed``: how many, and what makes them the same again. Raises `InputError` when there is nothing to
    price, or nothing is drawn.
    """
    parts = parts_of(priced.estimate)
    if not parts:
        raise InputError("there is nothing to price", remedy="Give rooms a system first.")
    total = priced.measured.measurement.total
    area = total.quantities.net_area
    off = total.u.net_area / area / 2.0 if area > 0.0 else 0.0
    spreads = usual_spreads(parts, quantity=off)
    return simulate_price(
        parts, spreads, priced.rates, draws=draws, seed=seed, asked=priced.estimate.line("net_price").amount
    )


def compare_alternates(job: Job, systems: Sequence[str], *, catalogue: Catalogue | None = None) -> Comparison:
    """Price a job as it is and with each of these systems on all its coated walls.

    What a system does not coat, such as cove alone, stays as it is in every alternate. ``systems``: ids of systems, one
    alternate each. Raises `InputError` when none is named, or one twice.
    """
    chosen = catalogue or catalogue_of(job)
    measured = measure_ready(job)[0]
    alternates = [(AS_IT_IS, price_measured(job, measured, catalogue=chosen).estimate)]
    notes = []
    for system in map(chosen.system, systems):
        other = replace(measured, faces=tuple(_with_system(face, system.id, chosen) for face in measured.faces))
        alternates.append((system.name, price_measured(job, other, catalogue=chosen).estimate))
        taken = {face.elevation.run for face in other.faces if face.elevation.system == system.id}
        bare = without_cove(job, [job.runs[id] for id in taken]) if makes_cove(system) else {}
        if bare:
            rooms = ", ".join(sorted(room_label(job.rooms[id]) for id in bare))
            notes.append(f'"{system.name}" makes a cove, and none was given for {rooms}: none is priced there.')
    found = compare(alternates)
    return replace(found, notes=(*found.notes, *notes))


def cut_plans(priced: Priced) -> tuple[CutList, ...]:
    """Return what is cut from each roll and each stock length that is priced, product by product."""
    return tuple(
        CutList(product=line.product, name=line.name, rolls=line.cut_plan, lengths=line.stock_plan)
        for line in priced.estimate.materials
        if line.cut_plan or line.stock_plan
    )


def planning_of(
    job: Job, priced: Priced, *, start: date | None = None, crews: int | None = None, alternates: Sequence[str] = ()
) -> Planning:
    """Plan what reports show besides the estimate.

    Parameters
    ----------
    start
        First day; where ``None`` that of the job's terms, and no days are planned where they have none.
    crews
        Crews of the size that the rates say; those of the job's terms where ``None``.
    alternates
        Ids of systems to price instead; nothing is compared where there are none.
    """
    return Planning(
        cuts=cut_plans(priced),
        days=plan_job(priced, start=start, crews=crews) if priced.has_day(start) else None,
        price_range=price_range(priced) if parts_of(priced.estimate) else None,
        alternates=compare_alternates(job, alternates, catalogue=priced.catalogue) if alternates else None,
    )


def _with_system(face: MeasuredFace, system: str, catalogue: Catalogue) -> MeasuredFace:
    """Give a face another system where its own coats walls."""
    own = face.elevation.system
    if not own or not coats_walls(catalogue.system(own)):
        return face
    return replace(face, elevation=replace(face.elevation, system=system))


def assumed_times(priced: Priced) -> str:
    """List the lead times and shelf lives of what is bought that nobody took from a supplier; empty where none is."""
    products = {line.product: priced.catalogue.product(line.product) for line in priced.estimate.materials}
    told = [(p.name, ", ".join(f"{_TIMES[of]} {getattr(p, of)} days" for of in p.assumed)) for p in products.values()]
    return "; ".join(f"{name} ({times})" for name, times in told if times)


def order_lines(job: Job, priced: Priced, *, start: date | None = None) -> tuple[OrderLine, ...]:
    """Return the order list of a priced job.

    Parameters
    ----------
    job, priced
        A job and its price. Lead times and shelf lives that a person confirmed are no longer marked as assumed.
    start
        First day; that of the job's terms where ``None``. Where those have none either, nothing is dated.
    """
    plan = plan_job(priced, start=start) if priced.has_day(start) else None
    lines = order_list(priced.estimate, priced.catalogue, plan)
    known = job.settled.get(KEEPING)
    if known is None or known.state != assumed_times(priced):
        return lines
    return tuple(replace(line, assumed=()) for line in lines)


def write_order(job: Job, lines: tuple[OrderLine, ...], path: Path) -> Path:
    """Write an order list as CSV or as a workbook, by the name of the file.

    Raises `InputError` when the name ends in neither .csv nor .xlsx.
    """
    kind = path.suffix.lower()
    if kind == ".csv":
        return write_whole(path, table_csv(order_table(lines)))
    if kind != ".xlsx":
        raise InputError(
            f'"{path.name}" is neither CSV nor a workbook', remedy="Name it such as order.csv or order.xlsx."
        )
    return write_whole(path, order_workbook(lines, job.settings.name, job.settings.display))
