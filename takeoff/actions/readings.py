"""How the site is worked, and what its air and surfaces are: terms kept, readings judged and kept, recoat clocks read.

A clock is of one surface of a room, from the coat last recorded on it, by the times of its system.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date, datetime
from typing import Any

from takeoff.actions.onsite import is_later, next_id, step_of
from takeoff.actions.quantities import Priced, catalogue_of, finish_of, room_names
from takeoff.errors import InputError
from takeoff.estimate.climate import SiteReading, Verdict, judge, scale_time
from takeoff.estimate.onsite import RecoatClock, recoat_clock, wet_clock
from takeoff.job.changes import Change
from takeoff.job.edits import PutReading, SetSettings
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.model.site import HandOver, PackUse, Reading, SiteTerms, read_moment
from takeoff.model.systems import Product, Step, Surface, System
from takeoff.system.bases import covers, most_between, pour_of, ruling, steps_on, surface_of

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


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomClock:
    """The recoat clock of one surface of a room after the coat last recorded on it.

    ``temperature`` is that in °C which its times are scaled to; None where nobody gave one: as the data sheet states.
    """

    room: str
    label: str
    surface: Surface
    step: str
    clock: RecoatClock
    temperature: float | None


@dataclass(frozen=True, slots=True)
class _Record:
    """A record of what covers a surface, with its time, step and system; and whether it was abraded since."""

    use: PackUse
    ended: datetime
    system: System
    step: Step
    is_abraded: bool = False


def recoat_clocks(priced: Priced, job: Job, *, now: datetime) -> tuple[RoomClock, ...]:
    """Read the recoat clock of every surface of every room that a coat was recorded on.

    What goes in wet into wet may go in now, up to the pot life of what it goes into; later it is taken as done. Times
    are scaled to the wall's temperature as it was last read in the room, or where no room was named; else to that which
    days are planned at. Raises `InputError` when a record is later than now.

    Parameters
    ----------
    now
        The time to judge; of the clock on the wall where this runs where it has no zone.
    """
    now = now.astimezone()
    records = tuple(job.uses.values())
    names = room_names(priced)
    out = []
    for (room, surface), found in _last(priced, records).items():
        label = names.get(room, room)
        if is_later(found.ended, now):
            raise InputError(
                f"{found.use.when} is later than now",
                remedy="Correct the record.",
                where=f"room {label}, record {found.use.id}",
            )
        warmth = _temperature(priced, job, room, now)
        clock = _clock(priced, records, found, max(now, found.ended), warmth)
        step = found.step.name
        out.append(RoomClock(room=room, label=label, surface=surface, step=step, clock=clock, temperature=warmth))
    return tuple(out)


def _temperature(priced: Priced, job: Job, room: str, now: datetime) -> float | None:
    """Return the temperature in °C of a room's walls as last read before a time, else the planned one."""
    read: tuple[datetime, float] | None = None
    for reading in job.readings.values():
        if reading.room not in (None, room) or not reading.when:
            continue
        when = read_moment(reading.when)
        if not is_later(when, now) and (read is None or not is_later(read[0], when)):
            read = when, reading.surface
    if read is not None:
        return read[1]
    return None if priced.terms is None else priced.terms.temperature


def _last(priced: Priced, records: Iterable[PackUse]) -> dict[tuple[str, Surface], _Record]:
    """Return the last record of what covers each surface of each room; hours alone cover nothing."""
    last: dict[tuple[str, Surface], _Record] = {}
    abraded: list[tuple[str, Surface, datetime]] = []
    for use in records:
        if use.room is None or not use.when:
            continue
        step = step_of(priced.catalogue, (use.system, use.step))
        found = _Record(use, read_moment(use.when), priced.catalogue.system(use.system), step)
        abraded += [(use.room, surface, found.ended) for surface in step.abrades]
        key = (use.room, surface_of(step))
        is_laid = covers(step) and bool(use.area or use.packs)
        if is_laid and (key not in last or not is_later(last[key].ended, found.ended)):
            last[key] = found
    for room, surface, when in abraded:
        old = last.get((room, surface))
        if old is not None and not is_later(old.ended, when):
            last[room, surface] = replace(old, is_abraded=True)
    return last


def _clock(
    priced: Priced, records: Iterable[PackUse], found: _Record, now: datetime, temperature: float | None
) -> RecoatClock:
    """Read one clock: wet into wet within the pot life, or the window of what was laid."""
    product = None if found.step.product is None else priced.catalogue.product(found.step.product)

    def scaled(hours: float | None) -> float | None:
        if hours is None or product is None or temperature is None:
            return hours
        return scale_time(hours, stated_at=product.temperature, temperature=temperature)

    pour = pour_of(found.system, found.step)
    into = pour[pour.index(found.step) + 1 :]
    poured = _poured(priced, records, found, pour)
    pot_life = None if poured is None else scaled(_product(priced, poured.step).pot_life)
    if into and poured is not None and pot_life is not None:
        wet = wet_clock(poured.ended, now, pot_life=pot_life, into=into[0].name)
        if wet is not None:
            return wet
    rules = ruling(pour)[surface_of(found.step)]
    most = most_between(rules) if _has_coats_left(priced, records, found) else rules.max_recoat
    if found.is_abraded or _is_abraded_next(found.system, rules):
        most = None
    return recoat_clock(found.ended, now, min_recoat=scaled(rules.min_recoat) or 0.0, max_recoat=scaled(most))


def _product(priced: Priced, step: Step) -> Product:
    return priced.catalogue.product(step.product or "")


def _poured(priced: Priced, records: Iterable[PackUse], found: _Record, pour: Sequence[Step]) -> _Record | None:
    """Return the record of the last liquid that is wet under a step, or is the step itself: its pot life counts."""
    for step in reversed(pour[: pour.index(found.step) + 1]):
        if step.product is None or _product(priced, step).pot_life is None:
            continue
        key = (found.use.system, step.id, found.use.room)
        mine = [use for use in records if (use.system, use.step, use.room) == key and use.when and use.area]
        if mine:
            last = max(mine, key=lambda use: read_moment(use.when))
            return _Record(last, read_moment(last.when), found.system, step)
    return None


def _has_coats_left(priced: Priced, records: Iterable[PackUse], found: _Record) -> bool:
    """Say whether a further coat of the same step is to come in a room, by the areas recorded."""
    if found.step.coats == 1:
        return False
    key = (found.use.system, found.use.step, found.use.room)
    done = math.fsum(use.area for use in records if (use.system, use.step, use.room) == key)
    needs = [need for line in priced.estimate.materials for need in line.needs]
    area = math.fsum(need.basis_value for need in needs if (need.system, need.step, need.room) == key)
    return done < area * (found.step.coats - 0.5)


def _is_abraded_next(system: System, step: Step) -> bool:
    """Say whether the system itself abrades a step's surface before it is covered again."""
    surface = surface_of(step)
    for other in system.steps[system.steps.index(step) + 1 :]:
        if surface in other.abrades or (covers(other) and surface_of(other) == surface and not other.into_wet):
            return surface in other.abrades
    return False
