"""On site: packs used against area done, readings of air and wall, how far each coat is, recoat clocks."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from takeoff.actions.planning import room_names
from takeoff.actions.quantities import Priced, make_estimate
from takeoff.errors import InputError
from takeoff.estimate.climate import Limits, SiteReading, Verdict, judge, scale_time
from takeoff.estimate.onsite import CoatState, CoatTarget, RecoatClock, UseRecord, coat_state, is_over, recoat_clock
from takeoff.job.job import Job
from takeoff.job.site_edits import PutReading, PutUse
from takeoff.job.store import JobStore
from takeoff.model.costs import MaterialNeed
from takeoff.model.site import PackUse, Reading
from takeoff.model.systems import Catalogue, Pack, Product, Step
from takeoff.system.bases import last_wet
from takeoff.system.words import Words


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatProgress:
    """Where one coat of one system stands.

    ``state.packs_to_finish`` are packs named ``pack``; ``packs`` names all that its product comes in.
    """

    system: str
    step: str
    name: str
    pack: str
    packs: tuple[str, ...]
    target: CoatTarget
    state: CoatState


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomClock:
    """The recoat clock of a room after the coat last recorded in it."""

    room: str
    label: str
    step: str
    clock: RecoatClock


def record_use(
    store: JobStore,
    *,
    step: str,
    packs: float,
    area: float,
    system: str | None = None,
    pack: str | None = None,
    room: str | None = None,
    when: str | None = None,
    note: str = "",
    who: str,
    at: str,
    priced: Priced | None = None,
) -> PackUse:
    """Record packs used of a coat and the area done with them; one edit that can be undone.

    Parameters
    ----------
    store
        The open job.
    step, system
        The coat; the system where more than one in use has such a step, there in the room if one is given.
    packs
        Packs opened less what is left in them, in parts of a pack.
    area
        Done with them in m²; a second coat counts again.
    pack
        Name of the pack; the product's largest that is bought where ``None``.
    room
        Id of the room, for its recoat clock.
    when
        When the coat was finished, ISO 8601; ``at`` where ``None``.
    note, who, at
        For the record and the journal; ``at`` is ISO 8601.
    priced
        The priced job, where there is one already.

    Raises
    ------
    InputError
        When there is no such coat or pack, more is recorded as done than there is, or it was finished later than now.
    EditError
        When there is no such room.
    """
    found = priced or make_estimate(store.job)
    coats = _coats(found)
    fitting = [key for key in coats if key[1] == step and system in (None, key[0])]
    if len(fitting) > 1 and room is not None:
        fitting = [key for key in fitting if any(need.room == room for need in coats[key])]
    if len(fitting) > 1:
        which = ", ".join(sorted(s for s, _ in fitting))
        raise InputError(f'more than one system has a coat "{step}"', remedy=f"Say which with --system: {which}.")
    if not fitting:
        known = ", ".join(sorted({i for s, i in coats if system in (None, s)})) or "none"
        of = f"the system {system}" if system else "this job"
        raise InputError(f'no system in use has a coat "{step}"', remedy=f"Coats of {of}: {known}.")
    (key,) = fitting
    product = found.catalogue.product(_step(found.catalogue, key).product or "")
    chosen = _pack(product, pack) if pack else _usual_pack(found, product)
    use = PackUse(
        id=_next("u", store.job.uses),
        system=key[0],
        step=step,
        pack=chosen.name,
        packs=packs,
        area=area,
        room=room,
        when=when or at,
        note=note,
    )
    if _is_later(datetime.fromisoformat(use.when), datetime.fromisoformat(at)):
        raise InputError(f"{use.when} is later than now", remedy="Give the time at which the coat was finished.")
    target = _target(found, key, coats[key])
    records = [_record(found, other, target) for other in (*store.job.uses.values(), use) if _of(other, key)]
    state = coat_state(target, records)
    if is_over(target, state.area_done):
        show = Words(first=found.units)
        raise InputError(
            f"{target.name}: {show.area(state.area_done)} are recorded as done and there are {show.area(target.area)}",
            remedy="Correct the record, or measure the room again.",
        )
    store.do(PutUse(use=use), who=who, at=at)
    return use


def record_reading(
    store: JobStore,
    *,
    air: float,
    surface: float,
    humidity: float,
    room: str | None = None,
    note: str = "",
    who: str,
    at: str,
    limits: Limits | None = None,
) -> Verdict:
    """Judge a reading on site, and keep it in the job; one edit that can be undone.

    Parameters
    ----------
    store
        The open job.
    air, surface
        In °C.
    humidity
        Relative, as a fraction.
    room, note, who, at
        For the record and the journal.
    limits
        What coating is allowed in; the usual ones where ``None``.

    Raises
    ------
    InputError
        When a figure is outside what can be judged.
    EditError
        When there is no such room.
    """
    verdict = judge(
        SiteReading(air=air, surface=surface, humidity=humidity, note=note), limits, units=store.job.settings.units
    )
    reading = Reading(
        id=_next("s", store.job.readings),
        air=air,
        surface=surface,
        humidity=humidity,
        room=room,
        when=at,
        note=note,
    )
    store.do(PutReading(reading=reading), who=who, at=at)
    return verdict


def progress(job: Job | JobStore | Priced, uses: Iterable[PackUse] | None = None) -> tuple[CoatProgress, ...]:
    """Work out where every coat of a job stands, in the order of the estimate.

    Parameters
    ----------
    job
        The job, or what was priced of it: then ``uses`` are needed.
    uses
        Records of use; the job's own where ``None``.

    Raises
    ------
    InputError
        When a record does not fit the coat it is for.
    """
    priced, records = _with_records(job, uses)
    out = []
    for key, needs in _coats(priced).items():
        target = _target(priced, key, needs)
        step = _step(priced.catalogue, key)
        mine = [_record(priced, use, target) for use in records if _of(use, key)]
        state = coat_state(target, mine, words=Words(first=priced.units))
        product = priced.catalogue.product(step.product or "")
        pack = _usual_pack(priced, product)
        out.append(
            CoatProgress(
                system=key[0],
                step=key[1],
                name=step.name,
                pack=pack.name,
                packs=tuple(p.name for p in product.packs),
                target=target,
                state=state,
            )
        )
    return tuple(out)


def recoat_clocks(
    job: Job | JobStore | Priced,
    *,
    now: datetime,
    uses: Iterable[PackUse] | None = None,
    temperature: float | None = None,
) -> tuple[RoomClock, ...]:
    """Read the recoat clock of every room in which a coat was recorded.

    Parameters
    ----------
    job, uses
        As `progress`.
    now
        The time to judge, with its zone where the records have one.
    temperature
        On site in °C, which the windows are scaled to; as stated where ``None``.

    Raises
    ------
    InputError
        When a record is later than now.
    """
    priced, records = _with_records(job, uses)
    names = room_names(priced)
    last: dict[str, tuple[datetime, PackUse]] = {}
    for use in records:
        if use.room is not None and use.when:
            ended = datetime.fromisoformat(use.when)
            if use.room not in last or not _is_later(last[use.room][0], ended):
                last[use.room] = (ended, use)
    out = []
    for room, (ended, use) in last.items():
        label = names.get(room, room)
        if _is_later(ended, now):
            raise InputError(
                f"{use.when} is later than now", remedy="Correct the record.", where=f"room {label}, record {use.id}"
            )
        step = _step(priced.catalogue, (use.system, use.step))
        product = priced.catalogue.product(step.product or "")
        dries = last_wet(priced.catalogue.system(use.system), step)
        wait, within = dries.min_recoat or 0.0, dries.max_recoat
        if temperature is not None:
            wait = scale_time(wait, stated_at=product.temperature, temperature=temperature)
            if within is not None:
                within = scale_time(within, stated_at=product.temperature, temperature=temperature)
        judged = now if (now.tzinfo is None) == (ended.tzinfo is None) else now.replace(tzinfo=ended.tzinfo)
        clock = recoat_clock(ended, judged, min_recoat=wait, max_recoat=within)
        out.append(RoomClock(room=room, label=label, step=step.name, clock=clock))
    return tuple(out)


def _with_records(job: Job | JobStore | Priced, uses: Iterable[PackUse] | None) -> tuple[Priced, tuple[PackUse, ...]]:
    if isinstance(job, Priced):
        return job, tuple(uses or ())
    value = job.job if isinstance(job, JobStore) else job
    return make_estimate(value), tuple(value.uses.values() if uses is None else uses)


def _coats(priced: Priced) -> dict[tuple[str, str], list[MaterialNeed]]:
    """Return the needs of every coat by system and step."""
    needs = [need for line in priced.estimate.materials for need in line.needs]
    places = {
        (system.id, step.id): (n, m)
        for n, system in enumerate(priced.catalogue.systems)
        for m, step in enumerate(system.steps)
        if step.kind == "coat"
    }
    found: dict[tuple[str, str], list[MaterialNeed]] = {}
    for need in sorted(
        (need for need in needs if (need.system, need.step) in places),
        key=lambda need: places[need.system, need.step],
    ):
        found.setdefault((need.system, need.step), []).append(need)
    return found


def _step(catalogue: Catalogue, key: tuple[str, str]) -> Step:
    for step in catalogue.system(key[0]).steps:
        if step.id == key[1]:
            return step
    raise InputError(f'system "{key[0]}" has no step "{key[1]}"', remedy="Remove the record, or put the step back.")


def _target(priced: Priced, key: tuple[str, str], needs: list[MaterialNeed]) -> CoatTarget:
    """Say what a coat should be: its area, every coat of it counted, and its wet film with what the substrate takes."""
    step = _step(priced.catalogue, key)
    product = priced.catalogue.product(step.product or "")
    area = math.fsum(need.basis_value for need in needs) * step.coats
    litres = math.fsum(need.theoretical for need in needs) / _per_litre(product)
    return CoatTarget(
        step="/".join(key),
        name=step.name,
        area=area,
        wet_film=litres / area * 1e-3,
        pack_size=_litres(product, _usual_pack(priced, product)),
        loss=step.loss,
    )


def _of(use: PackUse, key: tuple[str, str]) -> bool:
    return (use.system, use.step) == key


def _record(priced: Priced, use: PackUse, target: CoatTarget) -> UseRecord:
    """Turn a record into packs of the target's size."""
    product = priced.catalogue.product(_step(priced.catalogue, (use.system, use.step)).product or "")
    litres = use.packs * _litres(product, _pack(product, use.pack))
    return UseRecord(step=target.step, packs=litres / target.pack_size, area=use.area, note=use.note)


def _litres(product: Product, pack: Pack) -> float:
    return pack.size / _per_litre(product)


def _per_litre(product: Product) -> float:
    """Return how much of its unit a litre of a coat is."""
    return product.density if product.unit == "kg" and product.density else 1.0


def _pack(product: Product, name: str) -> Pack:
    for pack in product.packs:
        if pack.name == name:
            return pack
    known = ", ".join(pack.name for pack in product.packs)
    raise InputError(f'{product.name} has no pack "{name}"', remedy=f"Its packs: {known}.")


def _usual_pack(priced: Priced, product: Product) -> Pack:
    """Return the largest pack that is bought of a product."""
    bought = {p.pack for line in priced.estimate.materials if line.product == product.id for p in line.packs}
    return max((p for p in product.packs if p.name in bought or not bought), key=lambda pack: pack.size)


def _is_later(one: datetime, other: datetime) -> bool:
    """Tell whether one time is after another; zones count where both have one."""
    if one.tzinfo is None or other.tzinfo is None:
        one, other = one.replace(tzinfo=None), other.replace(tzinfo=None)
    return one > other


def _next(letter: str, taken: Iterable[str]) -> str:
    numbers = [int(id[1:]) for id in taken if id[:1] == letter and id[1:].isdigit()]
    return f"{letter}{max(numbers, default=0) + 1}"
