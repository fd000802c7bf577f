"""The estimate: material, labour, and the way from direct cost to the price."""

from __future__ import annotations

import math
from collections.abc import Sequence

from takeoff.estimate.cautions import usual_cautions
from takeoff.estimate.labour import burdened_rate, crew_days, labour_lines
from takeoff.estimate.money import add, to_cents
from takeoff.estimate.shares import share_by_room, share_by_system
from takeoff.model.costs import Arithmetic, Estimate, LabourLine, MaterialLine, PriceLine, PriceLineId
from takeoff.model.figures import Lot
from takeoff.model.systems import Catalogue, Rates, Substrate, System
from takeoff.system.areas import wall_areas
from takeoff.system.bases import coats_walls
from takeoff.system.buildup import build_up
from takeoff.system.check import check_rates
from takeoff.system.packing import EFFORT
from takeoff.system.packs import buy
from takeoff.system.words import Words, percent
from takeoff.units import UnitSystem, format_money


def estimate(
    lots: Sequence[Lot],
    catalogue: Catalogue,
    rates: Rates,
    *,
    cut_effort: float = EFFORT,
    units: UnitSystem = "metric",
) -> Estimate:
    """Price the work of all lots: whole packs, labour, and every line up to the price.

    Parameters
    ----------
    lots
        One per room and system, in the order that rooms are listed; none gives an empty estimate that says so in its
        doubts.
    catalogue
        Systems and products, checked by `takeoff.system.check.check_catalogue`.
    rates
        What to price with; the catalogue's own are ``catalogue.rates``.
    cut_effort
        How long to look for fewer rolls and lengths, as of `takeoff.system.packing.pack`.
    units
        What the arithmetic writes first; the other system's figures stand beside it.

    Raises
    ------
    CatalogueError
        When the rates are not valid, a lot's system or a step's product is not known, or a drop is longer than a roll.
    InputError
        When mat is to be hung and a lot has no faces.
    """
    check_rates(rates)
    words = Words(first=units)
    systems = _systems_used(lots, catalogue)
    needs = build_up(lots, catalogue, substrate=rates.substrate, words=words)
    materials = _in_step_order(buy(needs, catalogue, cut_effort=cut_effort, words=words), systems)
    labour = labour_lines(lots, catalogue, rates, words=words)
    hours = math.fsum(line.hours for line in labour) + (rates.setup_hours if lots else 0.0)
    days = crew_days(hours, rates)
    price = price_lines(
        materials, labour, rates, days=days, currency=catalogue.currency, is_empty=not lots, kind="at whole packs"
    )
    total = price[-1].amount
    coated = [lot for lot in lots if coats_walls(catalogue.system(lot.system))]
    net_area = math.fsum(lot.quantities.net_area for lot in coated)
    paid_area = math.fsum(lot.quantities.measured_area for lot in coated)
    areas = {(lot.room, lot.system): 0.0 for lot in lots}
    for lot in coated:
        areas[lot.room, lot.system] += lot.quantities.net_area
    return Estimate(
        currency=catalogue.currency,
        materials=materials,
        labour=labour,
        price=price,
        rooms=share_by_room(total, areas, materials, labour, names=_room_names(lots)),
        systems=share_by_system(total, areas, materials, labour, names={s.id: s.name for s in systems}),
        hours=hours,
        crew_days=days,
        net_area=net_area,
        paid_area=paid_area,
        price_per_area=total / net_area if net_area > 0.0 else 0.0,
        areas=wall_areas(lots, catalogue, words=words),
        cautions=usual_cautions(h for line in materials for h in catalogue.product(line.product).hazards),
        notes=tuple(dict.fromkeys((*catalogue.notes, *(note for system in systems for note in system.notes)))),
        doubts=_doubts(
            lots,
            catalogue,
            rates.substrate,
            {(n.room, n.system) for n in needs} | {(n.room, n.system) for n in labour},
            words,
        ),
    )


def margin_of_markup(markup: float) -> float:
    """Return the margin on price that a markup on cost makes, m / (1 + m).

    Examples
    --------
    >>> margin_of_markup(0.25)
    0.2
    """
    return markup / (1.0 + markup)


def markup_of_margin(margin: float) -> float:
    """Return the markup on cost that makes a margin on price, g / (1 − g), for a margin below 1.

    Examples
    --------
    >>> markup_of_margin(0.2)
    0.25
    """
    return margin / (1.0 - margin)


def price_lines(
    materials: Sequence[MaterialLine],
    labour: Sequence[LabourLine],
    rates: Rates,
    *,
    days: float,
    currency: str,
    is_empty: bool,
    kind: str,
) -> tuple[PriceLine, ...]:
    """Give every line from material to the price, the price last.

    Parameters
    ----------
    materials, labour, rates
        What costs, and the rates for the rest.
    days
        Days of a full crew, for access.
    currency
        Code of the currency, for the arithmetic.
    is_empty
        Whether there is no work at all: then neither set-up nor a minimum is charged.
    kind
        How material is counted, in words.
    """

    def money(value: float) -> str:
        return format_money(value, currency)

    def of(fraction: float, base: float) -> str:
        return f"{percent(fraction)} of {money(base)}"

    rate = burdened_rate(rates)
    hourly = f"{money(rates.wage)} × (1 + {rates.burden:g}) = {money(rate)} an hour"
    setup_hours = 0.0 if is_empty else rates.setup_hours
    whole_days = math.ceil(days - 1e-9)

    material = add(line.cost for line in materials)
    material_tax = to_cents(material * rates.material_tax)
    freight = to_cents(rates.freight) if materials else 0.0
    labour_cost = add(line.cost for line in labour)
    setup = to_cents(setup_hours * rate)
    access = to_cents(whole_days * rates.access_per_day)
    direct = add((material, material_tax, freight, labour_cost, setup, access))
    contingency = to_cents(direct * rates.contingency)
    overhead = to_cents((direct + contingency) * rates.overhead)
    cost = add((direct, contingency, overhead))
    is_margin = rates.profit_basis == "margin"
    profit = to_cents(cost * (markup_of_margin(rates.profit) if is_margin else rates.profit))
    before_minimum = add((cost, profit))
    lift = 0.0 if is_empty else max(0.0, add((to_cents(rates.minimum_charge), -before_minimum)))
    net_price = add((before_minimum, lift))
    tax = to_cents(net_price * rates.price_tax)
    price = add((net_price, tax))

    profit_words = (
        f"Markup of {of(rates.profit, cost)}: a margin of {margin_of_markup(rates.profit) * 100:.2f} % of price."
    )
    if is_margin:
        markup = markup_of_margin(rates.profit) * 100
        profit_words = (
            f"Margin of {of(rates.profit, before_minimum)} before tax: a markup of {markup:.2f} % on {money(cost)}."
        )
    return (
        _price_line("material", "Material", material, f"{len(materials)} products {kind}."),
        _price_line("material_tax", "Tax on material", material_tax, of(rates.material_tax, material)),
        _price_line("freight", "Freight", freight, "A sum for the job, where there is material."),
        _price_line("labour", "Labour", labour_cost, hourly, f"{len(labour)} lines of hours at that rate."),
        _price_line(
            "setup",
            "Set-up and clean-up",
            setup,
            f"{setup_hours:g} h × {money(rate)}: half to set up, half to clean up.",
        ),
        _price_line("access", "Access", access, f"{whole_days} started crew days × {money(rates.access_per_day)}"),
        _price_line(
            "direct", "Direct cost", direct, "Material, tax on it, freight, labour, set-up and clean-up, access."
        ),
        _price_line("contingency", "Contingency", contingency, of(rates.contingency, direct)),
        _price_line("overhead", "Overhead", overhead, of(rates.overhead, add((direct, contingency)))),
        _price_line("profit", "Profit", profit, profit_words),
        _price_line("minimum", "Up to the minimum charge", lift, f"Minimum charge {money(rates.minimum_charge)}."),
        _price_line("net_price", "Price before tax", net_price, "Direct cost, contingency, overhead, profit, minimum."),
        _price_line("tax", "Tax on price", tax, of(rates.price_tax, net_price)),
        _price_line("price", "Price", price, f"{money(net_price)} + {money(tax)}"),
    )


def _price_line(id: PriceLineId, label: str, amount: float, *lines: str) -> PriceLine:
    return PriceLine(id=id, label=label, amount=amount, arithmetic=Arithmetic(lines=lines))


def _systems_used(lots: Sequence[Lot], catalogue: Catalogue) -> tuple[System, ...]:
    """Return the systems of the lots in catalogue order."""
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


POROUS: tuple[Substrate, ...] = ("block", "brick")
"""Substrates whose pores and joints show through mat unless they are filled (common practice, no source)."""


def _doubts(
    lots: Sequence[Lot], catalogue: Catalogue, substrate: Substrate, worked: set[tuple[str, str]], words: Words
) -> tuple[str, ...]:
    """Say what the figures leave out: nothing to price, lots without work, cove without a step, pores not filled."""
    if not lots:
        return ("There is nothing to price: no room that was measured has a system.",)
    doubts = []
    for lot in lots:
        name = lot.room_label or lot.room
        if (lot.room, lot.system) not in worked:
            doubts.append(f"{name}: nothing that the system {lot.system} is counted by was measured.")
        makes_cove = any(step.kind == "cove" for step in catalogue.system(lot.system).steps)
        if lot.quantities.cove_length > 0.0 and not makes_cove:
            cove = words.length(lot.quantities.cove_length)
            doubts.append(
                f"{name}: {cove} of cove were measured and the system {lot.system} has no step that makes it."
            )
    for id in dict.fromkeys(lot.system for lot in lots) if substrate in POROUS else ():
        steps = catalogue.system(id).steps
        mat = next((n for n, step in enumerate(steps) if step.kind == "mat"), 0)
        if mat and not any(step.fills_pores for step in steps[:mat]):
            doubts.append(
                f"The system {id} hangs mat on {substrate} without a filler: pores and joints show through. Add a coat "
                "that fills them, or say that the wall is filled by others."
            )
    return tuple(doubts)
