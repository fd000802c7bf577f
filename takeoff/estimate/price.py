"""The estimate: material, labour, the way from direct cost to the price, and its cautions."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from takeoff.estimate.bill import Counts, Taken, price_lines
from takeoff.estimate.labour import burdened_rate, crew_days, labour_lines
from takeoff.model.costs import Estimate, LabourLine, MaterialLine, MaterialNeed, RoomPrice, SiteDays
from takeoff.model.figures import Lot
from takeoff.model.systems import Catalogue, Hazard, Rates, Step, Substrate, System
from takeoff.system.bases import coats_walls, steps_on, wall_areas
from takeoff.system.buildup import build_up
from takeoff.system.catalogue_check import check_rates, check_systems
from takeoff.system.packing import EFFORT
from takeoff.system.packs import buy
from takeoff.system.words import Words, percent
from takeoff.units import UnitSystem
from takeoff.units.money import add, rounded, share_out

_GENERAL = (
    "These quantities come from drawings, not from the site: check dimensions, substrates and openings before "
    "ordering.",
    "Follow the safety data sheet and the written instructions of each product in use, and the codes and authorities "
    "in force where the work is; where they differ from this report, they govern.",
    "Apply only within the stated temperature, humidity, moisture and dew-point limits.",
    "Test old coatings for lead and asbestos before they are sanded or ground.",
    "Work at height needs proper access and fall protection.",
    "Treat tanks, pits and closed rooms as possible confined spaces.",
)
_BY_HAZARD: tuple[tuple[Hazard, str], ...] = (
    (
        "silica",
        "Sanding or grinding concrete, block, plaster or filled coatings can release crystalline silica: use dust "
        "controls and respirators as the law requires.",
    ),
    (
        "epoxy",
        "Uncured epoxies and their amine hardeners can cause lasting skin allergy: keep them off skin, ventilate, and "
        "wear the protection that the data sheet names.",
    ),
    (
        "isocyanate",
        "Isocyanates can cause asthma, serious and lasting: ventilate, use the respirator that the data sheet names, "
        "cover skin, and keep sensitised people away.",
    ),
    (
        "solvent",
        "Solvent vapour burns and harms: ventilate, keep ignition away, and use the protection that the data sheet "
        "names.",
    ),
)
ESTIMATE_ONLY = "This report is an estimate, not a guarantee."
"""What a report says of itself, and a bid does not."""
_CLOSING = ("Structural, fire, hygiene and electrical questions belong to licensed people.", ESTIMATE_ONLY)


def usual_cautions(hazards: Iterable[Hazard]) -> tuple[str, ...]:
    """Return the cautions for work with products of these hazards; the general ones are always among them.

    Examples
    --------
    >>> any("Isocyanates" in sentence for sentence in usual_cautions(["isocyanate"]))
    True
    >>> any("Isocyanates" in sentence for sentence in usual_cautions([]))
    False
    """
    present = set(hazards)
    return (*_GENERAL, *(text for hazard, text in _BY_HAZARD if hazard in present), *_CLOSING)


def estimate(
    lots: Sequence[Lot],
    catalogue: Catalogue,
    rates: Rates,
    *,
    cut_effort: float = EFFORT,
    units: UnitSystem = "metric",
    plan: Callable[[Sequence[LabourLine]], SiteDays | None] | None = None,
    is_priced_by: bool = True,
) -> Estimate:
    """Price the work of all lots: whole packs, labour, and every line up to the price.

    ``lots``: one per room and system, in the order that rooms are listed; none gives an empty estimate that says so in
    its doubts. What they take of ``catalogue`` and ``rates`` is checked, wherever it came from. ``cut_effort`` is how
    long to look for fewer rolls and lengths (`takeoff.system.packing.pack`), ``units`` what the arithmetic writes
    first. ``plan`` plans the labour into days; ``is_priced_by`` tells whether they are paid for, or say only for how
    long access stands. Raises `CatalogueError` or `InputError` when something is not valid or not known, a drop is
    longer than a roll, mat has no face.
    """
    check_rates(rates)
    words = Words(first=units)
    systems = _systems_used(lots, catalogue)
    taken_ids = {step.product for system in systems for step in system.steps}
    check_systems(systems, [product for product in catalogue.products if product.id in taken_ids])
    needs = build_up(lots, catalogue, substrate=rates.substrate, words=words)
    materials = _in_step_order(buy(needs, catalogue, cut_effort=cut_effort, words=words), systems)
    labour = labour_lines(lots, catalogue, rates, words=words)
    days = None if plan is None else plan(labour)
    taken = taken_by(lots, catalogue, rates, materials, labour, days=days, is_priced_by=is_priced_by)
    price = price_lines(taken, rates, currency=catalogue.currency, words=words)
    areas, total = _net_areas(lots, catalogue), price[-1].amount
    net_area = math.fsum(areas.values())
    return Estimate(
        currency=catalogue.currency,
        materials=materials,
        labour=labour,
        price=price,
        rooms=_shares(total, catalogue.currency, 0, _room_names(lots), areas, materials, labour),
        systems=_shares(total, catalogue.currency, 1, {s.id: s.name for s in systems}, areas, materials, labour),
        hours=taken.counts.hours,
        crew_days=taken.days,
        site=taken.site,
        access_days=taken.access_days,
        retention=rounded(total * rates.retention, catalogue.currency),
        net_area=net_area,
        paid_area=math.fsum(_net_areas(lots, catalogue, figure="measured_area").values()),
        price_per_area=total / net_area if net_area > 0.0 else 0.0,
        areas=wall_areas(lots, catalogue, words=words),
        cautions=usual_cautions(h for line in materials for h in catalogue.product(line.product).hazards),
        notes=tuple(dict.fromkeys((*catalogue.notes, *(note for system in systems for note in system.notes)))),
        doubts=_doubts(lots, catalogue, rates, _worked(needs) | _worked(labour), words),
    )


def taken_by(
    lots: Sequence[Lot],
    catalogue: Catalogue,
    rates: Rates,
    materials: Sequence[MaterialLine],
    labour: Sequence[LabourLine],
    *,
    days: SiteDays | None = None,
    is_priced_by: bool = True,
    kind: str = "at whole packs",
) -> Taken:
    """Return what lots take, with what lines of one's own are counted by: by the plan of days where there is one."""
    hours = math.fsum(line.hours for line in labour)
    site = days if is_priced_by else None
    if site is not None:
        hours += site.phases * rates.setup_hours + (site.abrading + site.waiting) * rates.crew
        hours += site.trips * 2.0 * site.travel_hours * rates.crew
        crews = float(site.visits)
    else:
        hours += rates.setup_hours if lots else 0.0
        crews = crew_days(hours, rates)
    whole = math.ceil(crews - 1e-9)
    counts = Counts(
        rooms=len({lot.room for lot in lots}),
        area=math.fsum(_net_areas(lots, catalogue).values()),
        length=math.fsum(lot.quantities.base_length for lot in lots),
        hours=hours,
        visits=whole if site is None else site.visits,
        days=whole if site is None else site.days,
        phases=1 if site is None else site.phases,
    )
    return Taken(
        materials=materials,
        labour=labour,
        days=crews,
        counts=counts,
        is_empty=not lots,
        kind=kind,
        site=site,
        access_days=None if days is None else days.access_days,
    )


def _worked(lines: Sequence[MaterialNeed] | Sequence[LabourLine]) -> set[tuple[str, str]]:
    return {(line.room, line.system) for line in lines}


def _net_areas(lots: Sequence[Lot], catalogue: Catalogue, *, figure: str = "net_area") -> dict[tuple[str, str], float]:
    """Return m², net or another figure, by room and system; 0 under systems that coat no walls."""
    areas = {(lot.room, lot.system): 0.0 for lot in lots}
    for lot in lots:
        if coats_walls(catalogue.system(lot.system)):
            areas[lot.room, lot.system] += float(getattr(lot.quantities, figure))
    return areas


def _systems_used(lots: Sequence[Lot], catalogue: Catalogue) -> tuple[System, ...]:
    used = {lot.system: catalogue.system(lot.system) for lot in lots}
    return tuple(system for system in catalogue.systems if system.id in used)


def _in_step_order(materials: Sequence[MaterialLine], systems: Sequence[System]) -> tuple[MaterialLine, ...]:
    """Put products in the order in which the steps of the systems first take them."""
    steps = [(system.id, step.id) for system in systems for step in system.steps]
    place = {key: n for n, key in enumerate(steps)}
    return tuple(sorted(materials, key=lambda line: min(place[need.system, need.step] for need in line.needs)))


def _room_names(lots: Sequence[Lot]) -> dict[str, str]:
    names: dict[str, str] = {}
    for lot in lots:
        names.setdefault(lot.room, lot.room_label or lot.room)
    return names


def _shares(
    price: float,
    currency: str,
    side: int,
    labels: Mapping[str, str],
    areas: Mapping[tuple[str, str], float],
    materials: Sequence[MaterialLine],
    labour: Sequence[LabourLine],
) -> tuple[RoomPrice, ...]:
    """Share the price out to rooms (side 0) or systems (side 1), so that the shares add up to it exactly.

    A product's cost goes by what is needed of it, labour where it falls, and the price in proportion to both; where
    nothing costs anything, by net area. ``areas`` are net m² by room and system.
    """
    parts = [
        ((need.room, need.system), part)
        for line in materials
        for need, part in zip(
            line.needs, share_out(line.cost, [need.needed for need in line.needs], currency), strict=True
        )
    ]
    area = {id: math.fsum(own) for id, own in _by_id(labels, side, areas.items()).items()}
    material = {id: add(own) for id, own in _by_id(labels, side, parts).items()}
    work = [((line.room, line.system), line.cost) for line in labour]
    labours = {id: add(own) for id, own in _by_id(labels, side, work).items()}
    direct = [add((material[id], labours[id])) for id in labels]
    prices = share_out(price, direct if any(direct) else list(area.values()), currency)
    return tuple(
        RoomPrice(id=id, label=label, area=area[id], material=material[id], labour=labours[id], price=part)
        for (id, label), part in zip(labels.items(), prices, strict=True)
    )


def _by_id(labels: Iterable[str], side: int, parts: Iterable[tuple[tuple[str, str], float]]) -> dict[str, list[float]]:
    """Group what falls to each id; what falls to another is left out."""
    groups: dict[str, list[float]] = {id: [] for id in labels}
    for key, part in parts:
        if key[side] in groups:
            groups[key[side]].append(part)
    return groups


def _left_to_defaults(steps: Sequence[Step], catalogue: Catalogue) -> Iterator[str]:
    """Say what steps leave to what a catalogue file has by itself, and what that does to the price."""
    coats = [(step, catalogue.product(step.product)) for step in steps if step.kind == "coat" and step.product]
    idle = [step.name for step in steps if step.labour is None and step.kind != "each"]
    lossless = [step.name for step, product in coats if not (step.loss or product.left_in_tools)]
    solid = [step.name for step, product in coats if step.dry_film is not None and product.volume_solids == 1.0]
    for names, words in (
        (idle, "gives no labour for {}: no hours of these are in the price"),
        (lossless, "gives no loss for {}: what is spilled and stays in tools is not bought"),
        (solid, "takes what {} is laid with for all solids, its dry film for its wet film"),
    ):
        if names:
            yield words.format(", ".join(names))


POROUS: tuple[Substrate, ...] = ("block", "brick")
"""Substrates whose pores and joints show through mat unless they are filled (common practice, no source)."""


def _doubts(
    lots: Sequence[Lot], catalogue: Catalogue, rates: Rates, worked: set[tuple[str, str]], words: Words
) -> tuple[str, ...]:
    """Say what the figures leave out: nothing to price, no work or wage, cove without a step, pores not filled."""
    if not lots:
        return ("There is nothing to price: no room that was measured has a system.",)
    doubts: list[str] = []
    if burdened_rate(rates) == 0.0:
        doubts.append("An hour of the crew costs nothing: no labour is in the price.")
    for name in ("burden", "contingency", "overhead"):
        if (part := getattr(rates, name)) >= 1.0:
            doubts.append(f"The {name} is {part:g}, {percent(part)}: where a factor is meant, it is {part - 1.0:g}.")
    for lot in lots:
        name, system = lot.room_label or lot.room, catalogue.system(lot.system)
        if (lot.room, lot.system) not in worked:
            doubts.append(f"{name}: nothing that the system {system.name} is counted by was measured.")
        makes_cove = any(step.kind == "cove" for step in system.steps)
        if lot.quantities.cove_length > 0.0 and not makes_cove:
            cove = words.length(lot.quantities.cove_length)
            doubts.append(
                f"{name}: {cove} of cove were measured and the system {system.name} has no step that makes it."
            )
    for id, own in dict.fromkeys((lot.system, lot.substrate or rates.substrate) for lot in lots):
        done = steps_on(catalogue.system(id), own)
        doubts += [f"The system {id} {words}." for words in _left_to_defaults(done, catalogue)]
        elsewhere = [step for step in catalogue.system(id).steps if step.on and step.kind == "coat"]
        if elsewhere and not set(elsewhere).intersection(done):
            names = ", ".join(dict.fromkeys(step.name for step in elsewhere))
            doubts.append(f"The system {id} lays {names} on other substrates alone and has no such coat for {own}.")
        steps = done if own in POROUS else ()
        mat = next((n for n, step in enumerate(steps) if step.kind == "mat"), 0)
        if mat and not any(step.fills_pores for step in steps[:mat]):
            doubts.append(
                f"The system {id} hangs mat on {own} without a filler: pores and joints show through. Add a coat "
                "that fills them, or say that the wall is filled by others."
            )
    return tuple(dict.fromkeys(doubts))
