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
    Labour,
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
_PRODUCT_KINDS = ("coat", "mat", "broadcast", "linear", "sealant", "cove", "panel", "each")
_UNITS_OF_KIND: tuple[tuple[StepKind, tuple[Unit, ...]], ...] = (
    ("coat", ("L", "kg")),
    ("cove", ("L", "kg")),
    ("sealant", ("L", "kg")),
    ("broadcast", ("kg",)),
    ("mat", ("m2",)),
    ("panel", ("m2",)),
    ("linear", ("m",)),
    ("each", ("each",)),
)
_BASES_OF_KIND = (("coat", "area"), ("mat", "area"), ("broadcast", "area"), ("panel", "area"), ("sealant", "length"))


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
    _check_ids((p.id for p in catalogue.products), "product", where="products")
    _check_ids((s.id for s in catalogue.systems), "system", where="systems")
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
    where = "rates"
    for name in (
        "wage", "setup_hours", "minimum_charge", "cut_up_factor", "access_per_day", "freight", "travel_per_km",
        "per_diem", "lodging", "least_visit_hours", "phase_gap",
    ):  # fmt: skip
        _number(getattr(rates, name), name, where, most=MOST_MONEY)
    for name in ("burden", "contingency", "overhead", "profit", "material_tax", "price_tax", "retention"):
        _fraction(getattr(rates, name), name, where)
    if rates.crew < 1:
        raise CatalogueError(f"a crew of {rates.crew}", remedy="Give a whole number from 1.", where=where)
    if not 0.0 < rates.shift_hours <= 24.0:
        raise CatalogueError(
            f"a shift of {rates.shift_hours:g} hours", remedy="Give more than 0 and at most 24.", where=where
        )
    if rates.profit_basis not in ("markup", "margin"):
        raise CatalogueError(
            f'profit_basis "{rates.profit_basis}" is not known', remedy="Use markup or margin.", where=where
        )
    if rates.profit_basis == "margin" and rates.profit >= 1.0:
        raise CatalogueError(
            f"a margin of {rates.profit * 100:g} % of the price",
            remedy="A margin is less than 1; for a fraction of the cost use profit_basis markup.",
            where=where,
        )
    if not rates.height_factors or rates.height_factors[0][0] != 0.0:
        raise CatalogueError(
            "the height factors do not start at the floor", remedy='Start with ["0 ft", 1.0].', where=where
        )
    for height, factor in rates.height_factors:
        _number(height, "height", where)
        _number(factor, "height factor", where, strict=True)
    if any(b[0] <= a[0] for a, b in pairwise(rates.height_factors)):
        raise CatalogueError("the height factors are not in order of height", remedy="List them upwards.", where=where)
    _choice(rates.substrate, get_args(Substrate), "substrate", where)
    _check_people(rates, where)
    _check_lines(rates, where)


def _check_people(rates: Rates, where: str) -> None:
    """Check the classes of a crew, and overtime."""
    if rates.people and sum(member.count for member in rates.people) != rates.crew:
        raise CatalogueError(
            f"a crew of {rates.crew} and {sum(member.count for member in rates.people)} people in its classes",
            remedy="Give crew as the sum of the counts.",
            where=where,
        )
    for member in rates.people:
        _number(member.count, "count", where, strict=True)
        for name in ("wage", "fringe"):
            _number(getattr(member, name), name, where, most=MOST_MONEY)
        if member.burden is not None:
            _fraction(member.burden, "burden", where)
    if rates.overtime_after is not None:
        _number(rates.overtime_after, "overtime_after", where)
    if not rates.overtime_factor >= 1.0:
        raise CatalogueError(
            f"overtime_factor is {rates.overtime_factor:g}", remedy="Give 1 or more; 1.5 is usual.", where=where
        )


def _check_lines(rates: Rates, where: str) -> None:
    """Check the lines of one's own."""
    _check_ids((line.id for line in rates.lines), "line", where=where)
    for line in rates.lines:
        place = f"{where}, line {line.id}"
        if line.per == "fraction":
            _fraction(line.amount, "amount", place)
        else:
            _number(line.amount, "amount", place, most=MOST_MONEY)
        _choice(line.per, get_args(LinePer), "per", place)
        _choice(line.of, get_args(LineOf), "of", place)
        if (line.per == "fraction") != bool(line.of):
            raise CatalogueError(
                f'a line per {line.per} of "{line.of}"',
                remedy="Name the sum in of where the line is a fraction, and only there.",
                where=place,
            )


def _check_product(product: Product) -> None:
    where = f"product {product.id}"
    _choice(product.unit, get_args(Unit), "unit", where)
    if not product.packs:
        raise CatalogueError(
            "the product has no packs", remedy="Give at least one pack with size and price.", where=where
        )
    _check_ids((p.name for p in product.packs), "pack", where=where)
    for pack in product.packs:
        place = f'{where}, pack "{pack.name}"'
        _number(pack.size, "size", place, strict=True)
        _number(pack.price, "price", place, strict=True, most=MOST_MONEY)
        if pack.colours < 0:
            raise CatalogueError(f"{pack.colours} colour packs", remedy="Give a whole number from 0.", where=place)
        if pack.colours and product.colour_pack is None:
            raise CatalogueError(
                "the pack takes colour packs and they have no price",
                remedy="Give the product colour_pack.",
                where=place,
            )
    if not 0.0 < product.volume_solids <= 1.0:
        raise CatalogueError(
            f"volume solids of {product.volume_solids:g}",
            remedy="Give a fraction above 0 and up to 1, such as 0.65.",
            where=where,
        )
    for name in ("density", "pot_life", "width", "mass_per_area", "stock_length"):
        value = getattr(product, name)
        if value is not None:
            _number(value, name, where, strict=True)
    if product.colour_pack is not None:
        _number(product.colour_pack, "colour_pack", where)
    if product.stock_length is not None:
        _check_stock(product, product.stock_length, where)
    for hazard in product.hazards:
        _choice(hazard, get_args(Hazard), "hazard", where)


def _check_stock(product: Product, stock_length: float, where: str) -> None:
    """Check that a product sold in lengths has packs of whole lengths."""
    if product.unit != "m":
        raise CatalogueError(
            f"a stock length on a product sold by {product.unit}", remedy="Sell it by m, or leave it out.", where=where
        )
    for pack in product.packs:
        lengths = pack.size / stock_length
        if round(lengths) < 1 or abs(lengths - round(lengths)) > 1e-6 * lengths:
            raise CatalogueError(
                f'pack "{pack.name}" holds {lengths:.3g} stock lengths',
                remedy="Give packs of whole stock lengths.",
                where=where,
            )


def _check_system(system: System, products: dict[str, Product]) -> None:
    where = f"system {system.id}"
    if not system.steps:
        raise CatalogueError("the system has no steps", remedy="Give it at least one.", where=where)
    _check_ids((step.id for step in system.steps), "step", where=where)
    _number(system.cure, "cure", where)
    for substrate, extra in system.substrate_extra:
        _choice(substrate, get_args(Substrate), "substrate", where)
        _number(extra, f"substrate_extra for {substrate}", where)
    if system.steps[0].into_wet:
        raise CatalogueError(
            "there is no wet step before it",
            remedy="Take into_wet out, or put the wet step before it.",
            where=f"{where}, step {system.steps[0].id}",
        )
    mat: Product | None = None
    for step in system.steps:
        place = f"{where}, step {step.id}"
        _check_step(step, place, products, mat)
        if step.kind == "mat":
            mat = products[step.product or ""]


def _check_step(step: Step, where: str, products: dict[str, Product], mat: Product | None) -> None:
    _choice(step.kind, get_args(StepKind), "kind", where)
    _choice(step.basis, get_args(Basis), "basis", where)
    if not 0.0 <= step.loss < 1.0:
        raise CatalogueError(
            f"a loss of {step.loss:g}", remedy="Give a fraction from 0 to less than 1, such as 0.12.", where=where
        )
    if step.coats < 1:
        raise CatalogueError(f"{step.coats} coats", remedy="Give a whole number from 1.", where=where)
    for name in ("lap", "trim_top", "trim_base", "min_recoat", "max_recoat", "max_between"):
        value = getattr(step, name)
        if value is not None:
            _number(value, name, where)
    _check_window(step, where)
    _choice(step.direction, get_args(Direction), "direction", where)
    _choice(step.at_openings, get_args(AtOpenings), "at_openings", where)
    if step.direction == "along" and step.at_openings == "hung_around":
        raise CatalogueError(
            "mat run along a wall cannot be hung around openings",
            remedy='Have openings cut out of it, or hang it "up".',
            where=where,
        )
    if step.amount is not None:
        _number(step.amount, "amount", where, strict=True)
    if step.labour is not None:
        _check_labour(step.labour, where)
    for kind, base in _BASES_OF_KIND:
        if step.kind == kind and basis_kind(step.basis) != base:
            raise CatalogueError(
                f"a {kind} cannot be counted by {step.basis}",
                remedy=f"Use a basis that is {_article(base)}.",
                where=where,
            )
    if step.product is None:
        if step.kind in _PRODUCT_KINDS:
            raise CatalogueError(
                f"a {step.kind} needs a product", remedy="Name one, or make the step work.", where=where
            )
        return
    if step.product not in products:
        raise CatalogueError(
            f'product "{step.product}" is not in the catalogue',
            remedy="Add it, or correct the step's product.",
            where=where,
        )
    _check_use(step, products[step.product], where, mat)


def _check_window(step: Step, where: str) -> None:
    """Check the recoat window and what is abraded."""
    for name in ("max_recoat", "max_between"):
        most = getattr(step, name)
        if step.min_recoat is not None and most is not None and step.min_recoat > most:
            raise CatalogueError(
                f"min_recoat of {step.min_recoat:g} h is more than {name} of {most:g} h",
                remedy="Swap or correct them.",
                where=where,
            )
    for surface in (*step.abrades, *([step.surface] if step.surface else ())):
        _choice(surface, get_args(Surface), "surface", where)
    if step.abrades and step.kind != "work":
        raise CatalogueError(f"a {step.kind} abrades nothing", remedy="Make the abrading a step of work.", where=where)


def _check_use(step: Step, product: Product, where: str, mat: Product | None) -> None:
    """Check that the product can be used in the way the step says."""
    for kind, allowed in _UNITS_OF_KIND:
        if step.kind == kind and product.unit not in allowed:
            raise CatalogueError(
                f'a {kind} cannot take "{product.id}", which is sold by {product.unit}',
                remedy=f"Use a product sold by {' or '.join(allowed)}.",
                where=where,
            )
    if product.unit == "kg" and step.kind in ("coat", "cove", "sealant") and product.density is None:
        raise CatalogueError(
            f'"{product.id}" is sold by kg and used by volume', remedy="Give the product a density.", where=where
        )
    if step.kind in ("broadcast", "sealant", "work") and step.amount is None:
        raise CatalogueError(f"the {step.kind} has a product and no amount", remedy="Give amount.", where=where)
    if step.kind == "mat":
        if product.width is None:
            raise CatalogueError(f'the mat "{product.id}" has no width', remedy="Give the roll's width.", where=where)
        if step.lap >= product.width:
            raise CatalogueError(
                f"a lap of {step.lap:g} m on a mat {product.width:g} m wide",
                remedy="The lap must be less than the roll's width.",
                where=where,
            )
    if step.kind == "coat":
        _check_film(step, product, where, mat)


def _check_film(step: Step, product: Product, where: str, mat: Product | None) -> None:
    ways = [n for n in ("wet_film", "dry_film", "spread", "mat_ratio") if getattr(step, n) is not None]
    if len(ways) != 1:
        raise CatalogueError(
            f"the coat gives {' and '.join(ways) if ways else 'no film'}",
            remedy="Give exactly one of wet_film, dry_film, spread and mat_ratio.",
            where=where,
        )
    _number(getattr(step, ways[0]), ways[0], where, strict=True)
    wet = step.wet_film or (step.dry_film or 0.0) / product.volume_solids
    if wet > THICKEST_FILM:
        raise CatalogueError(
            f"a wet film of {wet * 1000:.4g} mm in one coat",
            remedy=f"Check the unit; at most {THICKEST_FILM * 1000:g} mm is taken.",
            where=where,
        )
    if step.mat_ratio is not None and (mat is None or mat.mass_per_area is None or product.density is None):
        raise CatalogueError(
            "mat_ratio needs a mat step before it, the mat's mass_per_area and the resin's density",
            remedy="Add what is missing, or give the coat a wet film.",
            where=where,
        )


def _check_labour(labour: Labour, where: str) -> None:
    if (labour.rate is None) == (labour.minutes is None):
        raise CatalogueError("labour needs a rate or minutes, one of them", remedy="Give exactly one.", where=where)
    _number(labour.rate if labour.rate is not None else labour.minutes, "labour", where, strict=True)


def _check_ids(ids: Iterable[str], noun: str, *, where: str) -> None:
    seen: set[str] = set()
    for id in ids:
        if not id.strip():
            raise CatalogueError(f"a {noun} has an empty name", remedy="Give each one of its own.", where=where)
        if id in seen:
            raise CatalogueError(f'{noun} "{id}" is there twice', remedy="Give each one of its own.", where=where)
        seen.add(id)


def _fraction(value: float, name: str, where: str) -> None:
    _number(value, name, where)
    if value > MOST_FRACTION:
        raise CatalogueError(
            f"{name} is {value:g}, which is {value:,.0%}",
            remedy=f"Give a fraction up to {MOST_FRACTION:g}: {value / 100:g} is {value:g} %.",
            where=where,
        )


def _number(value: float | None, name: str, where: str, *, strict: bool = False, most: float = math.inf) -> None:
    if value is not None and value > most:
        raise CatalogueError(f"{name} is {value:g}", remedy=f"Give at most {most:,.0f}.", where=where)
    if value is None or not math.isfinite(value) or value < 0.0 or (strict and value == 0.0):
        raise CatalogueError(
            f"{name} is {value}",
            remedy=f"Give a number {'above zero' if strict else 'that is not negative'}.",
            where=where,
        )


def _choice(value: str, choices: tuple[str, ...], name: str, where: str) -> None:
    if value not in choices:
        raise CatalogueError(f'{name} "{value}" is not known', remedy=f"Use one of {', '.join(choices)}.", where=where)


def _article(kind: str) -> str:
    return f"an {kind}" if kind == "area" else f"a {kind}"
