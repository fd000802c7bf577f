"""The check of a catalogue: every refusal names the place and what to do."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from itertools import pairwise
from typing import get_args

from takeoff.errors import CatalogueError
from takeoff.model.systems import (
    AtOpenings,
    Basis,
    Catalogue,
    Direction,
    Hazard,
    LineOf,
    LinePer,
    Product,
    Rates,
    Step,
    StepKind,
    Substrate,
    Surface,
    System,
    Unit,
)
from takeoff.system.bases import basis_kind

THICKEST_FILM = 0.03
"""Metres; a film thicker than this in one coat is taken for a slip of the unit."""

MOST_MONEY = 1e6
"""Largest sum that a pack, an hour or a day may cost; a slip of the keys is what goes beyond it. No source."""
MOST_FRACTION = 2.0
"""Largest overhead, profit, tax and the like: 200 %. More is a percentage written for a fraction. No source."""
_UNITS_OF_KIND: dict[StepKind, tuple[Unit, ...]] = {
    "coat": ("L", "kg"),
    "cove": ("L", "kg"),
    "sealant": ("L", "kg"),
    "broadcast": ("kg",),
    "mat": ("m2",),
    "panel": ("m2",),
    "linear": ("m",),
    "each": ("each",),
}
_BASE_OF_KIND = {"coat": "area", "mat": "area", "broadcast": "area", "panel": "area", "sealant": "length"}
_RATE_NUMBERS = (
    "wage", "setup_hours", "minimum_charge", "cut_up_factor", "access_per_day", "freight", "travel_per_km",
    "per_diem", "lodging", "least_visit_hours", "phase_gap",
)  # fmt: skip
_RATE_FRACTIONS = ("burden", "contingency", "overhead", "profit", "material_tax", "price_tax", "retention")


def check_catalogue(catalogue: Catalogue) -> None:
    """Refuse a catalogue that no estimate can be made with.

    Raises
    ------
    CatalogueError
        At the first fault, with its place: ``system thin-film, step prime``, ``product primer``, ``rates``.
    """
    if not re.fullmatch("[A-Z]{3}", catalogue.currency):
        raise CatalogueError(
            f'"{catalogue.currency}" is not a currency code', remedy="Use three capital letters, such as USD or EUR."
        )
    _check_ids((p.id for p in catalogue.products), "product", "products")
    _check_ids((s.id for s in catalogue.systems), "system", "systems")
    for product in catalogue.products:
        _check_product(product)
    products = {p.id: p for p in catalogue.products}
    for system in catalogue.systems:
        _check_system(system, products)
    check_rates(catalogue.rates)


def check_rates(rates: Rates) -> None:
    """Refuse rates that price nothing sensibly.

    Raises
    ------
    CatalogueError
        When a rate is negative or not finite, the crew is empty, a margin is 100 % or more, or the height factors do
        not start at the floor and rise.
    """
    at = "rates"
    for name in _RATE_NUMBERS:
        _number(getattr(rates, name), name, at, most=MOST_MONEY)
    for name in _RATE_FRACTIONS:
        _fraction(getattr(rates, name), name, at)
    _refuse(rates.crew < 1, f"a crew of {rates.crew}", "Give a whole number from 1.", at)
    is_shift = 0.0 < rates.shift_hours <= 24.0
    _refuse(not is_shift, f"a shift of {rates.shift_hours:g} hours", "Give more than 0 and at most 24.", at)
    is_basis = rates.profit_basis in ("markup", "margin")
    _refuse(not is_basis, f'profit_basis "{rates.profit_basis}" is not known', "Use markup or margin.", at)
    _refuse(
        rates.profit_basis == "margin" and rates.profit >= 1.0,
        f"a margin of {rates.profit * 100:g} % of the price",
        "A margin is less than 1; for a fraction of the cost use profit_basis markup.",
        at,
    )
    factors = rates.height_factors
    is_low = bool(factors) and factors[0][0] == 0.0
    _refuse(not is_low, "the height factors do not start at the floor", 'Start with ["0 ft", 1.0].', at)
    for height, factor in factors:
        _number(height, "height", at)
        _number(factor, "height factor", at, strict=True)
    is_falling = any(b[0] <= a[0] for a, b in pairwise(factors))
    _refuse(is_falling, "the height factors are not in order of height", "List them upwards.", at)
    _choice(rates.substrate, get_args(Substrate), "substrate", at)
    _check_people(rates, at)
    _check_lines(rates, at)


def _check_people(rates: Rates, at: str) -> None:
    count = sum(member.count for member in rates.people)
    _refuse(
        bool(rates.people) and count != rates.crew,
        f"a crew of {rates.crew} and {count} people in its classes",
        "Give crew as the sum of the counts.",
        at,
    )
    for member in rates.people:
        _number(member.count, "count", at, strict=True)
        for name in ("wage", "fringe"):
            _number(getattr(member, name), name, at, most=MOST_MONEY)
        _fraction(member.burden or 0.0, "burden", at)
    _number(rates.overtime_after or 0.0, "overtime_after", at)
    factor = rates.overtime_factor
    _refuse(not factor >= 1.0, f"overtime_factor is {factor:g}", "Give 1 or more; 1.5 is usual.", at)


def _check_lines(rates: Rates, at: str) -> None:
    _check_ids((line.id for line in rates.lines), "line", at)
    for line in rates.lines:
        place = f"{at}, line {line.id}"
        if line.per == "fraction":
            _fraction(line.amount, "amount", place)
        else:
            _number(line.amount, "amount", place, most=MOST_MONEY)
        _choice(line.per, get_args(LinePer), "per", place)
        _choice(line.of, get_args(LineOf), "of", place)
        _refuse(
            (line.per == "fraction") != bool(line.of),
            f'a line per {line.per} of "{line.of}"',
            "Name the sum in of where the line is a fraction, and only there.",
            place,
        )


def _check_product(product: Product) -> None:
    at = f"product {product.id}"
    _choice(product.unit, get_args(Unit), "unit", at)
    _refuse(not product.packs, "the product has no packs", "Give at least one pack with size and price.", at)
    _check_ids((p.name for p in product.packs), "pack", at)
    for pack in product.packs:
        place = f'{at}, pack "{pack.name}"'
        _number(pack.size, "size", place, strict=True)
        _number(pack.price, "price", place, strict=True, most=MOST_MONEY)
        _refuse(pack.colours < 0, f"{pack.colours} colour packs", "Give a whole number from 0.", place)
        _refuse(
            pack.colours > 0 and product.colour_pack is None,
            "the pack takes colour packs and they have no price",
            "Give the product colour_pack.",
            place,
        )
    for name in ("volume_solids", "most_humidity", "most_moisture"):
        part, said = getattr(product, name), f"{name.replace('_', ' ')} of {getattr(product, name)}"
        is_part = part is None or 0.0 < part <= 1.0
        _refuse(not is_part, said, "Give a fraction above 0 and up to 1, such as 0.65.", at)
    for name in ("density", "pot_life", "width", "mass_per_area", "stock_length"):
        if (value := getattr(product, name)) is not None:
            _number(value, name, at, strict=True)
    for name in ("colour_pack", "left_in_tools"):
        _number(getattr(product, name) or 0.0, name, at)
    if product.stock_length is not None:
        _check_stock(product, product.stock_length, at)
    for hazard in product.hazards:
        _choice(hazard, get_args(Hazard), "hazard", at)


def _check_stock(product: Product, stock_length: float, at: str) -> None:
    """Check that a product sold in lengths has packs of whole lengths."""
    is_length = product.unit == "m"
    _refuse(not is_length, f"a stock length on a product sold by {product.unit}", "Sell it by m, or leave it out.", at)
    for pack in product.packs:
        lengths = pack.size / stock_length
        _refuse(
            round(lengths) < 1 or abs(lengths - round(lengths)) > 1e-6 * lengths,
            f'pack "{pack.name}" holds {lengths:.3g} stock lengths',
            "Give packs of whole stock lengths.",
            at,
        )


def _check_system(system: System, products: dict[str, Product]) -> None:
    at = f"system {system.id}"
    _refuse(not system.steps, "the system has no steps", "Give it at least one.", at)
    _check_ids((step.id for step in system.steps), "step", at)
    _number(system.cure, "cure", at)
    for substrate, extra in system.substrate_extra:
        _choice(substrate, get_args(Substrate), "substrate", at)
        _number(extra, f"substrate_extra for {substrate}", at)
    _refuse(
        system.steps[0].into_wet,
        "there is no wet step before it",
        "Take into_wet out, or put the wet step before it.",
        f"{at}, step {system.steps[0].id}",
    )
    mat: Product | None = None
    for step in system.steps:
        _check_step(step, f"{at}, step {step.id}", products, mat)
        if step.kind == "mat":
            mat = products[step.product or ""]


def _check_step(step: Step, at: str, products: dict[str, Product], mat: Product | None) -> None:
    for name, choices in (("kind", StepKind), ("basis", Basis), ("direction", Direction), ("at_openings", AtOpenings)):
        _choice(getattr(step, name), get_args(choices), name, at)
    is_loss = 0.0 <= step.loss < 1.0
    _refuse(not is_loss, f"a loss of {step.loss:g}", "Give a fraction from 0 to less than 1, such as 0.12.", at)
    _refuse(step.coats < 1, f"{step.coats} coats", "Give a whole number from 1.", at)
    for name in ("lap", "trim_top", "trim_base", "min_recoat", "max_recoat", "max_between"):
        _number(getattr(step, name) or 0.0, name, at)
    _check_window(step, at)
    _refuse(
        step.direction == "along" and step.at_openings == "hung_around",
        "mat run along a wall cannot be hung around openings",
        'Have openings cut out of it, or hang it "up".',
        at,
    )
    if step.amount is not None:
        _number(step.amount, "amount", at, strict=True)
    if (labour := step.labour) is not None:
        is_one = (labour.rate is None) != (labour.minutes is None)
        _refuse(not is_one, "labour needs a rate or minutes, one of them", "Give exactly one.", at)
        _number(labour.minutes if labour.rate is None else labour.rate, "labour", at, strict=True)
    base = _BASE_OF_KIND.get(step.kind, basis_kind(step.basis))
    _refuse(
        basis_kind(step.basis) != base,
        f"a {step.kind} cannot be counted by {step.basis}",
        f"Use a basis that is {'an' if base == 'area' else 'a'} {base}.",
        at,
    )
    if step.product is None:
        is_bought = step.kind in _UNITS_OF_KIND
        _refuse(is_bought, f"a {step.kind} needs a product", "Name one, or make the step work.", at)
        return
    _refuse(
        step.product not in products,
        f'product "{step.product}" is not in the catalogue',
        "Add it, or correct the step's product.",
        at,
    )
    _check_use(step, products[step.product], at, mat)


def _check_window(step: Step, at: str) -> None:
    for name in ("max_recoat", "max_between"):
        least, most = step.min_recoat, getattr(step, name)
        if least is not None and most is not None:
            said = f"min_recoat of {least:g} h is more than {name} of {most:g} h"
            _refuse(least > most, said, "Swap or correct them.", at)
    for substrate in step.on:
        _choice(substrate, get_args(Substrate), "on", at)
    for surface in (*step.abrades, *([step.surface] if step.surface else ())):
        _choice(surface, get_args(Surface), "surface", at)
    abrades = bool(step.abrades) and step.kind != "work"
    _refuse(abrades, f"a {step.kind} abrades nothing", "Make the abrading a step of work.", at)


def _check_use(step: Step, product: Product, at: str, mat: Product | None) -> None:
    """Check that the product can be used in the way the step says."""
    allowed = _UNITS_OF_KIND.get(step.kind, (product.unit,))
    _refuse(
        product.unit not in allowed,
        f'a {step.kind} cannot take "{product.id}", which is sold by {product.unit}',
        f"Use a product sold by {' or '.join(allowed)}.",
        at,
    )
    is_bare = product.unit == "kg" and step.kind in ("coat", "cove", "sealant") and product.density is None
    _refuse(is_bare, f'"{product.id}" is sold by kg and used by volume', "Give the product a density.", at)
    has_none = step.kind in ("broadcast", "sealant", "work") and step.amount is None
    _refuse(has_none, f"the {step.kind} has a product and no amount", "Give amount.", at)
    if step.kind == "mat":
        if product.width is None:
            raise CatalogueError(f'the mat "{product.id}" has no width', remedy="Give the roll's width.", where=at)
        said = f"a lap of {step.lap:g} m on a mat {product.width:g} m wide"
        _refuse(step.lap >= product.width, said, "The lap must be less than the roll's width.", at)
    if step.kind == "coat":
        _check_film(step, product, at, mat)


def _check_film(step: Step, product: Product, at: str, mat: Product | None) -> None:
    ways = [n for n in ("wet_film", "dry_film", "spread", "mat_ratio") if getattr(step, n) is not None]
    _refuse(
        len(ways) != 1,
        f"the coat gives {' and '.join(ways) if ways else 'no film'}",
        "Give exactly one of wet_film, dry_film, spread and mat_ratio.",
        at,
    )
    _number(getattr(step, ways[0]), ways[0], at, strict=True)
    wet = step.wet_film or (step.dry_film or 0.0) / product.volume_solids
    _refuse(
        wet > THICKEST_FILM,
        f"a wet film of {wet * 1000:.4g} mm in one coat",
        f"Check the unit; at most {THICKEST_FILM * 1000:g} mm is taken.",
        at,
    )
    _refuse(
        step.mat_ratio is not None and (mat is None or mat.mass_per_area is None or product.density is None),
        "mat_ratio needs a mat step before it, the mat's mass_per_area and the resin's density",
        "Add what is missing, or give the coat a wet film.",
        at,
    )


def _refuse(is_wrong: bool, found: str, remedy: str, where: str) -> None:
    if is_wrong:
        raise CatalogueError(found, remedy=remedy, where=where)


def _check_ids(ids: Iterable[str], noun: str, where: str) -> None:
    seen: set[str] = set()
    for id in ids:
        _refuse(not id.strip(), f"a {noun} has an empty name", "Give each one of its own.", where)
        _refuse(id in seen, f'{noun} "{id}" is there twice', "Give each one of its own.", where)
        seen.add(id)


def _fraction(value: float, name: str, where: str) -> None:
    _number(value, name, where)
    remedy = f"Give a fraction up to {MOST_FRACTION:g}: {value / 100:g} is {value:g} %."
    _refuse(value > MOST_FRACTION, f"{name} is {value:g}, which is {value:,.0%}", remedy, where)


def _number(value: float | None, name: str, where: str, *, strict: bool = False, most: float = math.inf) -> None:
    if value is not None and value > most:
        raise CatalogueError(f"{name} is {value:g}", remedy=f"Give at most {most:,.0f}.", where=where)
    is_wrong = value is None or not math.isfinite(value) or value < 0.0 or (strict and value == 0.0)
    remedy = f"Give a number {'above zero' if strict else 'that is not negative'}."
    _refuse(is_wrong, f"{name} is {value}", remedy, where)


def _choice(value: str, choices: tuple[str, ...], name: str, where: str) -> None:
    _refuse(value not in choices, f'{name} "{value}" is not known', f"Use one of {', '.join(choices)}.", where)
