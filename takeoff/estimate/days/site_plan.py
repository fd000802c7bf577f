"""The plan of days of priced labour under the terms of a site, and the visits that it takes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta

from takeoff.estimate.days.calendar import Calendar
from takeoff.estimate.days.crewing import around_hours, works_of
from takeoff.estimate.days.schedule import plan_days
from takeoff.estimate.days.works import DayPlan, RoomTerms
from takeoff.model.costs import LabourLine, SiteDays
from takeoff.model.site import SiteTerms
from takeoff.model.systems import Catalogue, Rates

SLOT_MINUTES = 5
"""Minutes that the works of a job are counted in."""

SOME_MONDAY = date(2024, 1, 1)
"""What a plan is laid from where nobody gave a first day and no room has one: only counts are taken from it."""


def plan_labour(
    labour: Sequence[LabourLine],
    catalogue: Catalogue,
    rates: Rates,
    terms: SiteTerms,
    *,
    names: Mapping[str, str] | None = None,
    effort: float | None = None,
) -> DayPlan:
    """Plan labour into days.

    ``names`` are what rooms are called, by id; those without are called by their id. ``effort`` is how long to look for
    fewer days, that of the terms where ``None``.
    """
    called = names or {}
    shift = rates.shift_hours if terms.shift_hours is None else terms.shift_hours
    works = works_of(
        labour,
        catalogue,
        rates,
        crews=terms.crews,
        shift_hours=shift,
        temperature=terms.temperature,
        share_area=terms.share_area,
        names=called,
    )
    calendar = Calendar(
        start=first_day(terms),
        shift_start=terms.shift_start,
        shift_hours=shift,
        workdays=terms.workdays,
        holidays=tuple(date.fromisoformat(day) for day in terms.holidays),
    )
    around = around_hours(rates, terms.crews)
    return plan_days(
        works,
        calendar,
        crews=terms.crews,
        rooms=_room_terms(labour, catalogue, terms, called),
        setup=around,
        cleanup=around,
        effort=terms.effort if effort is None else effort,
        minutes=SLOT_MINUTES,
    )


def first_day(terms: SiteTerms) -> date:
    """Return the first day: the one given, else the Monday of the week in which the first room is handed over.

    Examples
    --------
    >>> first_day(SiteTerms(start="2026-03-03")).isoformat()
    '2026-03-03'
    """
    if terms.start:
        return date.fromisoformat(terms.start)
    days = [date.fromisoformat(found.day) for found in terms.handed_over]
    return min(days) - timedelta(days=min(days).weekday()) if days else SOME_MONDAY


def _room_terms(
    labour: Sequence[LabourLine], catalogue: Catalogue, terms: SiteTerms, names: Mapping[str, str]
) -> list[RoomTerms]:
    opens = {found.room: datetime.combine(date.fromisoformat(found.day), time()) for found in terms.handed_over}
    due = datetime.combine(date.fromisoformat(terms.ready_by), time(23, 59)) if terms.ready_by else None
    cures: dict[str, float] = {}
    for line in labour:
        cure = catalogue.system(line.system).cure if terms.cure_hours is None else terms.cure_hours
        cures[line.room] = max(cures.get(line.room, 0.0), cure)
    return [
        RoomTerms(room=names.get(room, room), open_from=opens.get(room), cure=cure, ready_by=due)
        for room, cure in cures.items()
    ]


def site_days(plan: DayPlan, terms: SiteTerms, rates: Rates) -> SiteDays | None:
    """Count what a plan takes on site; None where nothing is planned.

    Paid crew hours are those of every visit; what of them is neither steps, set-up, clean-up nor abrading is waiting.
    ``rates``: people in a crew, the least hours of a visit, and the gap that ends a phase.
    """
    on_site: dict[tuple[str, date], list[tuple[datetime, datetime]]] = {}
    for work in plan.works:
        for crew in work.crews:
            for begin, end in work.bars:
                on_site.setdefault((crew, begin.date()), []).append((begin, end))
    if not on_site:
        return None
    days = sorted({day for _, day in on_site})
    holidays = {date.fromisoformat(text) for text in terms.holidays}
    phases = _phases(days, terms, holidays, rates.phase_gap)
    paid = math.fsum(max(rates.least_visit_hours, _span(bars)) for bars in on_site.values())
    people = rates.crew * terms.crews
    calendar = sum((last - first).days + 1 for first, last in phases)
    return SiteDays(
        start=days[0],
        finish=days[-1],
        crews=terms.crews,
        visits=len(on_site),
        days=len(days),
        phases=len(phases),
        access_days=sum(_working(first, last, terms, holidays) for first, last in phases),
        trips=len(phases) * terms.crews if terms.stay else len(on_site),
        nights=(calendar - len(phases)) * people if terms.stay else 0,
        day_rates=calendar * people if terms.stay else 0,
        travel_hours=terms.travel_hours,
        travel_km=terms.travel_km,
        abrading=plan.abrading_hours,
        waiting=max(0.0, paid - plan.asked_hours - plan.abrading_hours),
    )


def _span(bars: Sequence[tuple[datetime, datetime]]) -> float:
    return (max(end for _, end in bars) - min(begin for begin, _ in bars)) / timedelta(hours=1)


def _phases(days: Sequence[date], terms: SiteTerms, holidays: set[date], gap: int) -> list[tuple[date, date]]:
    """Part days on site where no crew is there for more than so many working days."""
    phases = [(days[0], days[0])]
    for day in days[1:]:
        away = _working(phases[-1][1], day, terms, holidays) - 2
        if away > gap:
            phases.append((day, day))
        else:
            phases[-1] = (phases[-1][0], day)
    return phases


def _working(first: date, last: date, terms: SiteTerms, holidays: set[date]) -> int:
    """Count the working days from one day to another, both with them."""
    every = (first + timedelta(days=n) for n in range((last - first).days + 1))
    return sum(day.weekday() in terms.workdays and day not in holidays for day in every)
