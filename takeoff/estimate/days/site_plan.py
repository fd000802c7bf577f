"""The plan of days of priced labour, under the terms of a site."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta

from takeoff.estimate.days.calendar import Calendar
from takeoff.estimate.days.crewing import around_hours, works_of
from takeoff.estimate.days.schedule import plan_days
from takeoff.estimate.days.works import DayPlan, RoomTerms
from takeoff.model.costs import LabourLine
from takeoff.model.site_terms import SiteTerms
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

    Parameters
    ----------
    names
        What rooms are called, by id; those without are called by their id.
    effort
        How long to look for fewer days; that of the terms where ``None``.
    """
    called = names or {}
    shift = rates.shift_hours if terms.shift_hours is None else terms.shift_hours
    works, team = works_of(
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
        team,
        calendar,
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
