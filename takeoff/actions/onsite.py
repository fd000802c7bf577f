"""On site: packs used and hours against what is done with them, and how far each coat is."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from takeoff.actions.quantities import Priced, make_estimate
from takeoff.errors import InputError
from takeoff.estimate.onsite import CoatState, CoatTarget, Used, coat_state, counted_words, is_over
from takeoff.job.edits import PutUse
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.model.costs import MaterialNeed
from takeoff.model.site import PackUse, read_moment
from takeoff.model.systems import Catalogue, Pack, Product, Step
from takeoff.system.bases import COVERING, basis_kind
from takeoff.system.words import BasisKind, Words
from takeoff.units import Display


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatProgress:
    """Where one coat of one system stands; ``state.packs_to_finish`` are packs named ``pack``."""

    system: str
    step: str
    name: str
    pack: str
    target: CoatTarget
    state: CoatState


def record_use(
    store: JobStore,
    *,
    step: str,
    packs: float = 0.0,
    area: float = 0.0,
    counted: BasisKind | None = None,
    hours: float = 0.0,
    person: str = "",
    system: str | None = None,
    pack: str | None = None,
    room: str | None = None,
    when: str | None = None,
    note: str = "",
    priced: Priced | None = None,
) -> PackUse:
    """Record packs used on a step, what was done with them, and the hours it took; one edit that can be undone.

    Raises `InputError` or `EditError` when it does not fit the job, or was finished later than now.

    Parameters
    ----------
    step, system, room
        The step; the system where more than one in use has it, there in the room if one is given.
    packs, pack
        Packs opened, minus what is left in them, in parts of a pack; its name, or the largest that is bought.
    area, counted
        What was done, in m², m or pieces as the step is counted, a second coat again; in which of these it is given.
    hours, person
        Man-hours on it, and whose where that is to be told.
    when, priced
        When it was finished, ISO 8601; now where that is ``None``. The priced job, where there is one already.
    """
    found, (_, now) = priced or make_estimate(store.job), store.signed()
    called = step_of(found.catalogue, key := _step_called(found, step, system, room))
    use = PackUse(
        id=next_id("u", store.job.uses),
        system=key[0],
        step=step,
        pack=_pack_of(found, called, packs, pack),
        packs=packs,
        area=area,
        counted=basis_kind(called.basis),
        room=room,
        when=when or now,
        note=note,
        hours=hours,
        person=person,
    )
    _refuse_other(use, called, counted)
    if is_later(read_moment(use.when), read_moment(now)):
        raise InputError(f"{use.when} is later than now", remedy="Give the time at which the step was finished.")
    _refuse_too_much(found, store.job, key, use)
    store.do(PutUse(use=use))
    return use


def _refuse_other(use: PackUse, step: Step, counted: BasisKind | None) -> None:
    """Refuse a record of nothing, and one of an area where a step goes by length, or the like."""
    if counted not in (None, use.counted):
        own = use.counted
        raise InputError(f"{step.name} is counted by {own}, not by {counted}", remedy=f"Give the {own} done.")
    if not (use.packs or use.area or use.hours):
        raise InputError("nothing is recorded", remedy="Give packs, what was done, or hours.")


def _pack_of(found: Priced, step: Step, packs: float, name: str | None) -> str:
    """Return the name of the pack that was used, or of the usual one; empty where a step takes nothing."""
    if step.product is None:
        if packs or name:
            raise InputError(f"{step.name} takes no packs", remedy="Record what was done and the hours.")
        return ""
    product = found.catalogue.product(step.product)
    return (_pack(product, name) if name else _usual_pack(found, product)).name


def _step_called(found: Priced, step: str, system: str | None, room: str | None) -> tuple[str, str]:
    """Return the one step in use, by system and step, that is called so."""
    rooms = steps_in_use(found)
    fitting = [key for key in rooms if key[1] == step and system in (None, key[0])]
    if len(fitting) > 1 and room is not None:
        fitting = [key for key in fitting if room in rooms[key]]
    if len(fitting) > 1:
        which = ", ".join(sorted(s for s, _ in fitting))
        raise InputError(f'more than one system has a step "{step}"', remedy=f"Say which with --system: {which}.")
    if not fitting:
        known = ", ".join(sorted({i for s, i in rooms if system in (None, s)})) or "none"
        of = f"the system {system}" if system else "this job"
        raise InputError(f'no system in use has a step "{step}"', remedy=f"Steps of {of}: {known}.")
    return fitting[0]


def whole_of(found: Priced, key: tuple[str, str]) -> float:
    """Return what there is to do of a step in m², m or pieces, every coat of it counted."""
    step = step_of(found.catalogue, key)
    lines = [line.basis_value for line in found.estimate.labour if (line.system, line.step) == key]
    needs = [n.done for line in found.estimate.materials for n in line.needs if (n.system, n.step) == key]
    return math.fsum(needs or lines) * step.coats


def _refuse_too_much(found: Priced, job: Job, key: tuple[str, str], use: PackUse) -> None:
    """Refuse a record after which more is done of a step than there is; a figure rounded as shown is none."""
    whole, uses = whole_of(found, key), [other for other in (*job.uses.values(), use) if _of(other, key)]
    done = math.fsum(other.area for other in uses)
    if use.area and is_over(whole, done, len(uses)):
        show = job.settings.display
        there, recorded = (counted_words(value, use.counted, show) for value in (whole, done))
        raise InputError(
            f"{step_of(found.catalogue, key).name}: {recorded} are recorded as done and there are {there}",
            remedy="Correct the record, or measure the room again.",
        )
    needs = _coats(found).get(key)
    if needs:
        target = _target(found, key, needs)
        coat_state(target, [_record(found, other, target) for other in uses])


def progress(priced: Priced, uses: Iterable[PackUse]) -> tuple[CoatProgress, ...]:
    """Work out where every coat of a job stands, in the order of the estimate.

    Raises `InputError` when a record does not fit the coat it is for.
    """
    records = tuple(uses)
    out = []
    for key, needs in _coats(priced).items():
        target = _target(priced, key, needs)
        step = step_of(priced.catalogue, key)
        mine = [_record(priced, use, target) for use in records if _of(use, key)]
        state = coat_state(target, mine, words=Words(first=priced.units))
        pack = _usual_pack(priced, priced.catalogue.product(step.product or ""))
        out.append(CoatProgress(system=key[0], step=key[1], name=step.name, pack=pack.name, target=target, state=state))
    return tuple(out)


def _coats(priced: Priced) -> dict[tuple[str, str], list[MaterialNeed]]:
    """Return the needs of every coat, mat, mortar, flake and the like by system and step."""
    needs: dict[tuple[str, str], list[MaterialNeed]] = {}
    for need in (need for line in priced.estimate.materials for need in line.needs):
        needs.setdefault((need.system, need.step), []).append(need)
    covering = (key for key in steps_in_use(priced) if step_of(priced.catalogue, key).kind in COVERING)
    return {key: needs[key] for key in covering if key in needs}


def step_of(catalogue: Catalogue, key: tuple[str, str]) -> Step:
    """Return a step by system and id, or refuse a record of one that is gone."""
    for step in catalogue.system(key[0]).steps:
        if step.id == key[1]:
            return step
    raise InputError(f'system "{key[0]}" has no step "{key[1]}"', remedy="Remove the record, or put the step back.")


def step_called(catalogue: Catalogue, key: tuple[str, str]) -> str:
    """Call a step by its own name, then that of its system: where room is short, the first is seen."""
    system = next((system for system in catalogue.systems if system.id == key[0]), None)
    steps = () if system is None else system.steps
    name = next((step.name for step in steps if step.id == key[1]), key[1])
    return f"{name} · {key[0] if system is None else system.name}"


def use_words(use: PackUse, show: Display, *, nothing: str = "", by: str = "") -> str:
    """Say what was used and done; ``nothing`` where only what was done is known, and by whom the hours are."""
    said = [f"{use.packs:g} × {use.pack}"] * bool(use.packs) + [f"{use.hours:g} h {by}".rstrip()] * bool(use.hours)
    done = f" on {counted_words(use.area, use.counted, show)}" if use.area else ""
    return f"{', '.join(said) or nothing}{done}".strip()


def steps_in_use(found: Priced) -> dict[tuple[str, str], set[str]]:
    """Return the steps of a priced job by system and id, with the rooms that each is in."""
    needs = [(n.system, n.step, n.room) for line in found.estimate.materials for n in line.needs]
    rooms: dict[tuple[str, str], set[str]] = {}
    for system, step, place in (*needs, *((n.system, n.step, n.room) for n in found.estimate.labour)):
        rooms.setdefault((system, step), set()).add(place)
    order = [(s.id, one.id) for s in found.catalogue.systems for one in s.steps]
    return {key: rooms[key] for key in order if key in rooms}


def _target(priced: Priced, key: tuple[str, str], needs: list[MaterialNeed]) -> CoatTarget:
    """Say what a step should take: what is to do, every coat of it counted, and its wet film or what each takes."""
    step = step_of(priced.catalogue, key)
    product = priced.catalogue.product(step.product or "")
    whole = whole_of(priced, key)
    loss = step.loss if step.kind != "mat" else 0.0
    net = [need.needed * (1.0 - loss) if need.pieces or step.kind == "mat" else need.theoretical for need in needs]
    loss = 1.0 - math.fsum(net) / math.fsum(need.needed for need in needs)
    return CoatTarget(
        step="/".join(key),
        name=step.name,
        area=whole,
        wet_film=math.fsum(net) / _per_litre(product, step) / whole * 1e-3,
        pack_size=_usual_pack(priced, product).size / _per_litre(product, step),
        loss=loss,
        unit="L" if step.kind == "coat" else product.unit,
        counted=basis_kind(step.basis),
    )


def _of(use: PackUse, key: tuple[str, str]) -> bool:
    return (use.system, use.step) == key


def _record(priced: Priced, use: PackUse, target: CoatTarget) -> Used:
    step = step_of(priced.catalogue, (use.system, use.step))
    product = priced.catalogue.product(step.product or "")
    size = _pack(product, use.pack).size if use.pack else 0.0
    return use.packs * size / _per_litre(product, step) / target.pack_size, use.area


def _per_litre(product: Product, step: Step) -> float:
    """Return how much of its unit a litre of a coat is; other steps are counted in the unit itself."""
    return product.density if step.kind == "coat" and product.unit == "kg" and product.density else 1.0


def _pack(product: Product, name: str) -> Pack:
    for pack in product.packs:
        if pack.name == name:
            return pack
    known = ", ".join(pack.name for pack in product.packs)
    raise InputError(f'{product.name} has no pack "{name}"', remedy=f"Its packs: {known}.")


def _usual_pack(priced: Priced, product: Product) -> Pack:
    bought = {p.pack for line in priced.estimate.materials if line.product == product.id for p in line.packs}
    return max((p for p in product.packs if p.name in bought or not bought), key=lambda pack: pack.size)


def is_later(one: datetime, other: datetime) -> bool:
    """Tell whether one time is after another, by the minute."""
    return one.replace(second=0, microsecond=0) > other


def next_id(letter: str, taken: Iterable[str]) -> str:
    """Return an id of a letter and the next number.

    Examples
    --------
    >>> next_id("u", ["u1", "u9", "x20"])
    'u10'
    """
    numbers = [int(id[1:]) for id in taken if id[:1] == letter and id[1:].isdigit()]
    return f"{letter}{max(numbers, default=0) + 1}"
