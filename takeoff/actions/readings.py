"""How the site is worked, and what its air and surfaces are: terms kept with the job, readings judged and kept."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields, replace
from datetime import date
from typing import Any

from takeoff.actions.given import next_id
from takeoff.actions.quantities import Priced, catalogue_of, finish_of
from takeoff.errors import InputError
from takeoff.estimate.climate import SiteReading, Verdict, judge
from takeoff.job.changes import Change
from takeoff.job.edits import PutReading, SetSettings
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.model.site import HandOver, Reading, SiteTerms
from takeoff.model.systems import Product
from takeoff.system.bases import steps_on

LAID = ("coat", "cove")
"""Kinds of step whose product has limits to be laid in."""


def record_reading(
    store: JobStore,
    *,
    air: float,
    surface: float,
    humidity: float,
    moisture: float | None = None,
    room: str | None = None,
    note: str = "",
) -> Verdict:
    """Judge a reading on site, and keep it in the job; one edit that can be undone.

    Raises `InputError` when a figure is outside what can be judged.

    Parameters
    ----------
    air, surface
        In °C.
    humidity, moisture
        Relative humidity of the air, and moisture of the wall by mass: fractions.
    """
    reading = Reading(
        id=next_id("s", store.job.readings),
        air=air,
        surface=surface,
        humidity=humidity,
        room=room,
        when=store.signed()[1],
        note=note,
        moisture=moisture,
    )
    verdict = judge_reading(store.job, reading)
    store.do(PutReading(reading=reading))
    return verdict


def judge_reading(job: Job, reading: Reading) -> Verdict:
    """Judge a reading by the products that are laid in its room, or anywhere in the job where it names none."""
    seen = SiteReading(air=reading.air, surface=reading.surface, humidity=reading.humidity, moisture=reading.moisture)
    return judge(seen, units=job.settings.units, products=products_laid(job, reading.room))


def judge_terms(priced: Priced) -> Verdict | None:
    """Judge the temperature, humidity and moisture that days are planned at; None where no temperature is given."""
    terms = priced.terms
    if terms is None or terms.temperature is None:
        return None
    laid = products_priced(priced)
    seen = SiteReading(
        air=terms.temperature, surface=terms.temperature, humidity=terms.humidity, moisture=terms.moisture
    )
    return judge(seen, units=priced.units, products=laid) if laid else None


def products_priced(priced: Priced) -> tuple[Product, ...]:
    """Return the products that are priced and have limits to be laid in."""
    kinds = {(s.id, step.id): step.kind for s in priced.catalogue.systems for step in s.steps}
    return tuple(
        priced.catalogue.product(line.product)
        for line in priced.estimate.materials
        if any(kinds[need.system, need.step] in LAID for need in line.needs)
    )


def products_laid(job: Job, room: str | None = None) -> tuple[Product, ...]:
    """Return what the systems in use lay on walls and coves, or those of one room: what has limits to be laid in."""
    catalogue = catalogue_of(job)
    usual = catalogue.rates.substrate
    used = {(one.system, one.substrate or usual) for one in job.rooms.values() if room in (None, one.id)}
    for run in job.runs.values():
        if room in (None, run.room):
            place = job.rooms.get(run.room or "")
            own = run.system or (None if place is None else place.system)
            used.add((own, finish_of(job, run)[0] or usual))
    known = {system.id: system for system in catalogue.systems}
    steps = [step for id, on in sorted(used, key=str) if id in known for step in steps_on(known[id], on)]
    ids = dict.fromkeys(step.product for step in steps if step.kind in LAID and step.product)
    return tuple(catalogue.product(id) for id in ids)


def changed_terms(terms: SiteTerms, **named: Any) -> SiteTerms:
    """Return terms with those that are named; ``None`` leaves one as it is, and days may be dates.

    Raises `InputError` when one is not known, or is nothing that a site can be worked by.

    Examples
    --------
    >>> changed_terms(SiteTerms(), start=date(2026, 3, 2), crews=2).start
    '2026-03-02'
    """
    known = {field.name for field in fields(SiteTerms)}
    given = {name: value for name, value in named.items() if value is not None}
    for name in given:
        if name not in known:
            raise InputError(f'there is no term "{name}"', remedy=f"Terms: {', '.join(sorted(known))}.")
    return replace(terms, **{name: _plain(value) for name, value in given.items()})


def keep_terms(store: JobStore, terms: SiteTerms | None) -> Change:
    """Keep how the site is worked with the job, or forget it; one edit that can be undone.

    Hand-overs of rooms that were removed since go. Raises `InputError` when another one is of no room of the job.
    """
    rooms, settings = store.job.rooms, store.job.settings
    before = settings.site.handed_over if settings.site is not None else ()
    for found in () if terms is None else terms.handed_over:
        if found.room not in rooms and found not in before:
            known = ", ".join(rooms) or "none"
            raise InputError(f'there is no room "{found.room}" to hand over', remedy=f"Rooms: {known}.")
    if terms is not None:
        terms = replace(terms, handed_over=tuple(found for found in terms.handed_over if found.room in rooms))
    return store.do(SetSettings(settings=replace(settings, site=terms)))


def handed_over(terms: SiteTerms, days: Mapping[str, str]) -> tuple[HandOver, ...]:
    """Return the hand-overs of terms with these by room; an empty day takes a room's out."""
    merged = {found.room: found.day for found in terms.handed_over} | dict(days)
    return tuple(HandOver(room=room, day=day) for room, day in merged.items() if day)


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Iterable) and not isinstance(value, str):
        return tuple(_plain(each) for each in value)
    return value
