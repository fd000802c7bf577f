"""What a plan of days means for the price: days on site, phases, nights, trips, waiting, and how long access stands.

A visit is one crew on one day. A crew that comes is paid from its first work of the day to its last, and at least the
least hours of a visit. Where no crew is on site for longer than a gap, the crews take their equipment away, and coming
back is a phase of its own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, datetime, timedelta

from takeoff.estimate.days.works import DayPlan
from takeoff.model.costs import SiteDays
from takeoff.model.site_terms import SiteTerms
from takeoff.model.systems import Rates


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
