"""Planning a priced job: cut lists, crew days, the range of the price, alternates side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta

from takeoff.actions.quantities import Priced, catalogue_of, make_estimate, measure, price_measured
from takeoff.errors import InputError
from takeoff.estimate.alternates import Alternate, Comparison, compare
from takeoff.estimate.days.batches import late_packs, late_words
from takeoff.estimate.days.calendar import Calendar
from takeoff.estimate.days.crewing import around_hours, works_of
from takeoff.estimate.days.schedule import plan_days
from takeoff.estimate.days.works import DayPlan, RoomTerms
from takeoff.estimate.simulate import PriceRange, parts_of, simulate_price, usual_spreads
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.faces import MeasuredFace
from takeoff.model.cutting import CutList
from takeoff.model.systems import Catalogue
from takeoff.report.planning_tables import Planning
from takeoff.system.bases import coats_walls

SLOT_MINUTES = 5
"""Minutes that the works of a job are counted in."""

AS_IT_IS = "As in the job"
"""Name of the job's own systems among alternates."""


def next_monday(day: date) -> date:
    """Return the first Monday after a day.

    Examples
    --------
    >>> next_monday(date(2026, 3, 2)).isoformat()
    '2026-03-09'
    """
    return day + timedelta(days=7 - day.weekday())


def plan_job(
    job: Job | JobStore | Priced,
    *,
    start: date,
    crews: int = 1,
    shift_start: float = 7.0,
    shift_hours: float | None = None,
    workdays: Sequence[int] = (0, 1, 2, 3, 4),
    holidays: Sequence[date] = (),
    temperature: float | None = None,
    cure_hours: float = 0.0,
    ready_by: date | None = None,
    effort: float = 10.0,
    catalogue: Catalogue | None = None,
) -> DayPlan:
    """Plan the steps of every room into days; rooms go by their labels.

    Parameters
    ----------
    job
        The job, or what was priced of it.
    start
        First day; work begins on the first working day from it.
    crews
        Crews of the size that the rates say.
    shift_start, shift_hours
        Hour of the day, and hours worked; the rates' hours where ``None``.
    workdays, holidays
        Weekdays that are worked, 0 for Monday, and days that are not.
    temperature
        On site in °C, which recoat windows and pot lives are scaled to; as stated where ``None``.
    cure_hours
        From the last step of a room until it is in service.
    ready_by
        Day by whose end every room must be in service.
    effort
        How long to look for a shorter plan, as of `takeoff.estimate.days.schedule.plan_days`; 0 gives the quick plan.
    catalogue
        What to price with, where ``job`` is not priced yet.

    Raises
    ------
    InputError
        When a step does not fit a shift, or something cannot hold: the message names it.
    """
    priced = _priced(job, catalogue)
    names = room_names(priced)
    shift = priced.rates.shift_hours if shift_hours is None else shift_hours
    works, team = works_of(
        priced.estimate.labour,
        priced.catalogue,
        priced.rates,
        crews=crews,
        shift_hours=shift,
        temperature=temperature,
        names=names,
    )
    calendar = Calendar(
        start=start,
        shift_start=shift_start,
        shift_hours=shift,
        workdays=tuple(workdays),
        holidays=tuple(holidays),
    )
    due = None if ready_by is None else datetime.combine(ready_by, time(23, 59))
    rooms = [RoomTerms(room=room, cure=cure_hours, ready_by=due) for room in dict.fromkeys(work.room for work in works)]
    around = around_hours(priced.rates, crews)
    plan = plan_days(
        works,
        team,
        calendar,
        rooms=rooms,
        setup=around,
        cleanup=around,
        effort=effort,
        minutes=SLOT_MINUTES,
    )
    if not works:
        return plan
    late = late_words(late_packs(priced.estimate, priced.catalogue, priced.rates, temperature=temperature))
    return replace(plan, notes=(*plan.notes, *([late] if late else []), _priced_words(priced, plan, crews)))


def _priced_words(priced: Priced, plan: DayPlan, crews: int) -> str:
    """Say how the hours and crew days that are priced compare with the plan's."""
    hours, people = priced.estimate.hours, priced.rates.crew
    days = priced.estimate.crew_days
    return (
        f"Priced are {hours:.2f} man-hours, set-up with them: {hours:.2f} ÷ {people} = {hours / people:.2f} crew hours,"
        f" {days:.2f} crew days of {priced.rates.shift_hours:g} h, access for {math.ceil(days - 1e-9)};"
        f" this plan keeps crews there for {plan.days} × {crews} = {plan.days * crews} days."
    )


def room_names(priced: Priced) -> dict[str, str]:
    """Return what people call each room of an estimate, by id; ids are added where two have one name."""
    labels = {room.id: room.label or room.id for room in priced.estimate.rooms}
    many = {label for label in labels.values() if list(labels.values()).count(label) > 1}
    return {id: f"{label} ({id})" if label in many else label for id, label in labels.items()}


def price_range(priced: Priced, *, draws: int = 100_000, seed: int = 1) -> PriceRange:
    """Draw the usual spreads of hours and material and return the range of the price before tax on it.

    Parameters
    ----------
    priced
        A priced job.
    draws, seed
        How many, and what makes them the same again.

    Raises
    ------
    InputError
        When there is nothing to price, or nothing is drawn.
    """
    parts = parts_of(priced.estimate)
    if not parts:
        raise InputError("there is nothing to price", remedy="Give rooms a system first.")
    return simulate_price(parts, usual_spreads(parts), priced.rates, draws=draws, seed=seed)


def compare_alternates(
    job: Job | JobStore, systems: Sequence[str], *, catalogue: Catalogue | None = None
) -> Comparison:
    """Price a job as it is and with each of these systems on all its coated walls.

    What a system does not coat, such as cove alone, stays as it is in every alternate.

    Parameters
    ----------
    job
        The job.
    systems
        Ids of systems, one alternate each.
    catalogue
        What to price with; the job's own where ``None``.

    Raises
    ------
    CatalogueError
        When a system is not in the catalogue.
    InputError
        When none is named, or one twice.
    """
    value = job.job if isinstance(job, JobStore) else job
    chosen = catalogue or catalogue_of(value)
    measured = measure(value)
    alternates = [
        Alternate(
            name=AS_IT_IS,
            estimate=price_measured(value, measured, catalogue=chosen).estimate,
        )
    ]
    for id in systems:
        name = chosen.system(id).name
        other = replace(measured, faces=tuple(_with_system(face, id, chosen) for face in measured.faces))
        priced = price_measured(value, other, catalogue=chosen)
        alternates.append(Alternate(name=name, estimate=priced.estimate))
    return compare(alternates)


def cut_plans(priced: Priced) -> tuple[CutList, ...]:
    """Return what is cut from each roll and each stock length that is priced, product by product."""
    return tuple(
        CutList(product=line.product, name=line.name, rolls=line.cut_plan, lengths=line.stock_plan)
        for line in priced.estimate.materials
        if line.cut_plan or line.stock_plan
    )


def planning_of(
    job: Job | JobStore,
    priced: Priced,
    *,
    start: date | None = None,
    crews: int = 1,
    alternates: Sequence[str] = (),
    has_range: bool = True,
    days_effort: float = 0.0,
) -> Planning:
    """Plan what reports show besides the estimate.

    Parameters
    ----------
    job, priced
        The job and its figures.
    start
        First day; no days are planned where ``None``.
    crews
        Crews of the size that the rates say.
    alternates
        Ids of systems to price instead; nothing is compared where there are none.
    has_range
        Whether the range of the price is drawn.
    days_effort
        How long to look for fewer days.

    Raises
    ------
    InputError, CatalogueError
        As `plan_job` and `compare_alternates`.
    """
    return Planning(
        cuts=cut_plans(priced),
        days=None if start is None else plan_job(priced, start=start, crews=crews, effort=days_effort),
        price_range=price_range(priced) if has_range and parts_of(priced.estimate) else None,
        alternates=compare_alternates(job, alternates, catalogue=priced.catalogue) if alternates else None,
    )


def _priced(job: Job | JobStore | Priced, catalogue: Catalogue | None) -> Priced:
    if isinstance(job, Priced):
        return job
    return make_estimate(job.job if isinstance(job, JobStore) else job, catalogue=catalogue)


def _with_system(face: MeasuredFace, system: str, catalogue: Catalogue) -> MeasuredFace:
    """Give a face another system where its own coats walls."""
    own = face.elevation.system
    if not own or not coats_walls(catalogue.system(own)):
        return face
    return replace(face, elevation=replace(face.elevation, system=system))
