"""Recoat clocks on site: for each surface of a room, from the coat last recorded on it, by the times of its system."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from takeoff.actions.onsite import is_later, step_of
from takeoff.actions.planning import room_names
from takeoff.actions.quantities import Priced
from takeoff.errors import InputError
from takeoff.estimate.climate import scale_time
from takeoff.estimate.onsite import RecoatClock, recoat_clock, wet_clock
from takeoff.job.job import Job
from takeoff.model.site import PackUse
from takeoff.model.systems import Product, Step, Surface, System
from takeoff.system.bases import covers, most_between, pour_of, ruling, surface_of


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
        The time to judge, with its zone where the records have one.
    """
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
        judged = now if (now.tzinfo is None) == (found.ended.tzinfo is None) else now.replace(tzinfo=found.ended.tzinfo)
        warmth = _temperature(priced, job, room, judged)
        clock = _clock(priced, records, found, max(judged, found.ended), warmth)
        step = found.step.name
        out.append(RoomClock(room=room, label=label, surface=surface, step=step, clock=clock, temperature=warmth))
    return tuple(out)


def _temperature(priced: Priced, job: Job, room: str, now: datetime) -> float | None:
    """Return the temperature in °C of a room's walls as last read before a time, else the planned one."""
    read: tuple[datetime, float] | None = None
    for reading in job.readings.values():
        if reading.room not in (None, room) or not reading.when:
            continue
        when = datetime.fromisoformat(reading.when)
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
        found = _Record(use, datetime.fromisoformat(use.when), priced.catalogue.system(use.system), step)
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
            last = max(mine, key=lambda use: datetime.fromisoformat(use.when))
            return _Record(last, datetime.fromisoformat(last.when), found.system, step)
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
    return next((surface_of(step) in other.abrades for other in _after(system, step)), False)


def _after(system: System, step: Step) -> Iterator[Step]:
    """Yield the steps after a step that abrade its surface or cover it."""
    surface = surface_of(step)
    for other in system.steps[system.steps.index(step) + 1 :]:
        if surface in other.abrades or (covers(other) and surface_of(other) == surface and not other.into_wet):
            yield other
