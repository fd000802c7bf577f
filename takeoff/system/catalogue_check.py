"""The check of a catalogue: every refusal names the place and what to do.

What may stand in a field at all, its type and its choices, is held by whatever reads it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from takeoff.errors import CatalogueError
from takeoff.model.systems import Catalogue, Product, Rates, Step, StepKind, System, Unit
from takeoff.system.bases import basis_kind

THICKEST_FILM = 0.03
"""Metres; a film thicker than this in one coat is taken for a slip of the unit."""

MOST_MONEY = 1e9
"""Largest sum that a pack, an hour or a day may cost; a slip of the keys is what goes beyond it. Currencies of small
units need so much: some 40,000 dollars in dong (from memory). No source."""
MOST_FRACTION = 2.0
"""Largest overhead, profit, tax and the like: 200 %. More is a percentage written for a fraction. No source."""
MOST_TAX = 0.5
"""Largest tax, and part of the price that is paid late: twice the highest value added taxes (27 %, from memory). With 1
for 1 % the price would double."""
MOST_FACTOR, MOST_MAT_RATIO = 10.0, 20.0
"""Largest factor on hours at a height, and masses of resin for one of mat: more is a percentage. No source."""
MOST_HOURS, MOST_DAYS = 8760.0, 3650
"""Longest pot life, cure and recoat time, a year, and longest lead time and shelf life, ten years: beyond it is a
slip of the unit, and days are laid out to their end. No source."""
MOST_SETUP, MOST_GAP, MOST_CREW, MOST_COATS = 1000, 366, 1000, 100
"""Most hours to set up, working days between phases, people in a crew and coats of a step. No source."""
COLDEST, HOTTEST = -45.0, 60.0
"""Temperatures in °C that a product is stated or may be laid at; those that a site may have."""
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
_RATE_NUMBERS = ("wage", "minimum_charge", "access_per_day", "freight", "travel_per_km", "per_diem", "lodging")
_RATE_FRACTIONS = ("burden", "contingency", "overhead", "profit", "cut_up_factor")
_TAXES = ("material_tax", "price_tax", "retention")


def check_catalogue(catalogue: Catalogue) -> None:
    """Refuse a catalogue that no estimate can be made with.

    Raises `CatalogueError` at the first fault, with its place: ``system thin-film, step prime``, ``product primer``,
    ``rates``.
    """
    is_code = bool(re.fullmatch("[A-Z]{3}", catalogue.currency))
    said = f'"{catalogue.currency}" is not a currency code'
    _At("").refuse(not is_code, said, "Use three capital letters, such as USD or EUR.")
    _At("products").ids((p.id for p in catalogue.products), "product")
    _At("systems").ids((s.id for s in catalogue.systems), "system")
    check_systems(catalogue.systems, catalogue.products)
    check_rates(catalogue.rates)


def check_systems(systems: Sequence[System], products: Sequence[Product]) -> None:
    """Refuse systems and products that no estimate can be made with; errors as `check_catalogue`."""
    for product in products:
        _check_product(product, _At(f"product {product.id}"))
    by_id = {p.id: p for p in products}
    for system in systems:
        _check_system(system, by_id, _At(f"system {system.id}"))


def check_rates(rates: Rates) -> None:
    """Refuse rates that price nothing sensibly.

    Raises `CatalogueError` when a rate is negative or not finite, the crew is empty, a margin is 100 % or more, or the
    height factors do not start at the floor and rise.
    """
    at = _At("rates")
    at.numbers(rates, *_RATE_NUMBERS, most=MOST_MONEY)
    at.numbers(rates, "setup_hours", most=MOST_SETUP)
    at.numbers(rates, "least_visit_hours", most=24)
    at.numbers(rates, "phase_gap", most=MOST_GAP)
    at.numbers(rates, "crew", strict=True, most=MOST_CREW)
    for name in _RATE_FRACTIONS:
        at.fraction(getattr(rates, name), name)
    for name in _TAXES:
        at.fraction(getattr(rates, name), name, MOST_TAX)
    is_shift = 1.0 <= rates.shift_hours <= 24.0
    at.refuse(not is_shift, f"a shift of {rates.shift_hours:g} hours", "Give 1 to 24.")
    at.refuse(
        rates.profit_basis == "margin" and rates.profit >= 1.0,
        f"a margin of {rates.profit * 100:g} % of the price",
        "A margin is less than 1; for a fraction of the cost use profit_basis markup.",
    )
    factors = rates.height_factors
    is_low = bool(factors) and factors[0][0] == 0.0
    at.refuse(not is_low, "the height factors do not start at the floor", 'Start with ["0 ft", 1.0].')
    for height, factor in factors:
        at.number(height, "height")
        at.number(factor, "height factor", strict=True, most=MOST_FACTOR)
    is_falling = any(b[0] <= a[0] for a, b in pairwise(factors))
    at.refuse(is_falling, "the height factors are not in order of height", "List them upwards.")
    _check_people(rates, at)
    _check_lines(rates, at)


def _check_people(rates: Rates, at: _At) -> None:
    count = sum(member.count for member in rates.people)
    said = f"a crew of {rates.crew} and {count} people in its classes"
    at.refuse(bool(rates.people) and count != rates.crew, said, "Give crew as the sum of the counts.")
    for member in rates.people:
        at.numbers(member, "count", strict=True)
        at.numbers(member, "wage", "fringe", most=MOST_MONEY)
        at.fraction(member.burden or 0.0, "burden")
    at.numbers(rates, "overtime_after")
    factor = rates.overtime_factor
    at.refuse(not factor >= 1.0, f"overtime_factor is {factor:g}", "Give 1 or more; 1.5 is usual.")


def _check_lines(rates: Rates, rates_at: _At) -> None:
    rates_at.ids((line.id for line in rates.lines), "line")
    for line in rates.lines:
        at = rates_at.part(f"line {line.id}")
        if line.per == "fraction":
            at.fraction(line.amount, "amount")
        else:
            at.number(line.amount, "amount", most=MOST_MONEY)
        remedy = "Name the sum in of where the line is a fraction, and only there."
        at.refuse((line.per == "fraction") != bool(line.of), f'a line per {line.per} of "{line.of}"', remedy)


def _check_product(product: Product, at: _At) -> None:
    at.refuse(not product.packs, "the product has no packs", "Give at least one pack with size and price.")
    at.ids((p.name for p in product.packs), "pack")
    for pack in product.packs:
        own = at.part(f'pack "{pack.name}"')
        own.numbers(pack, "size", strict=True)
        own.numbers(pack, "price", strict=True, most=MOST_MONEY)
        own.refuse(pack.colours < 0, f"{pack.colours} colour packs", "Give a whole number from 0.")
        is_bare = pack.colours > 0 and product.colour_pack is None
        own.refuse(is_bare, "the pack takes colour packs and they have no price", "Give the product colour_pack.")
    for name in ("volume_solids", "most_humidity", "most_moisture"):
        part, said = getattr(product, name), f"{name.replace('_', ' ')} of {getattr(product, name)}"
        is_part = part is None or 0.0 < part <= 1.0
        at.refuse(not is_part, said, "Give a fraction above 0 and up to 1, such as 0.65.")
    at.numbers(product, "density", "width", "mass_per_area", "stock_length", strict=True)
    at.numbers(product, "pot_life", strict=True, most=MOST_HOURS)
    at.numbers(product, "left_in_tools", "dew_margin")
    at.numbers(product, "colour_pack", most=MOST_MONEY)
    at.numbers(product, "lead_days", "shelf_life_days", most=MOST_DAYS)
    _check_temperatures(product, at)
    if product.stock_length is not None:
        _check_stock(product, product.stock_length, at)


def _check_temperatures(product: Product, at: _At) -> None:
    least, most = product.least_temperature, product.most_temperature
    for celsius in (product.temperature, least, most):
        is_one = celsius is None or COLDEST <= celsius <= HOTTEST
        at.refuse(not is_one, f"a temperature of {celsius} °C", "Give −45 to 60 °C.")
    if least is not None and most is not None:
        said = f"least_temperature of {least:.4g} °C is more than most_temperature of {most:.4g} °C"
        at.refuse(least > most, said, "Swap or correct them.")


def _check_stock(product: Product, stock_length: float, at: _At) -> None:
    is_length = product.unit == "m"
    at.refuse(not is_length, f"a stock length on a product sold by {product.unit}", "Sell it by m, or leave it out.")
    for pack in product.packs:
        lengths = pack.size / stock_length
        is_broken = round(lengths) < 1 or abs(lengths - round(lengths)) > 1e-6 * lengths
        said = f'pack "{pack.name}" holds {lengths:.3g} stock lengths'
        at.refuse(is_broken, said, "Give packs of whole stock lengths.")


def _check_system(system: System, products: dict[str, Product], at: _At) -> None:
    at.refuse(not system.steps, "the system has no steps", "Give it at least one.")
    at.ids((step.id for step in system.steps), "step")
    at.numbers(system, "cure", most=MOST_HOURS)
    for substrate, extra in system.substrate_extra:
        at.number(extra, f"substrate_extra for {substrate}")
    remedy = "Take into_wet out, or put the wet step before it."
    first = system.steps[0]
    at.part(f"step {first.id}").refuse(first.into_wet, "there is no wet step before it", remedy)
    mat: Product | None = None
    for step in system.steps:
        _check_step(step, at.part(f"step {step.id}"), products, mat)
        if step.kind == "mat":
            mat = products[step.product or ""]


def _check_step(step: Step, at: _At, products: dict[str, Product], mat: Product | None) -> None:
    is_loss = 0.0 <= step.loss < 1.0
    at.refuse(not is_loss, f"a loss of {step.loss:g}", "Give a fraction from 0 to less than 1, such as 0.12.")
    at.numbers(step, "coats", strict=True, most=MOST_COATS)
    at.numbers(step, "lap", "trim_top", "trim_base")
    at.numbers(step, "min_recoat", "max_recoat", "max_between", most=MOST_HOURS)
    _check_window(step, at)
    is_both = step.direction == "along" and step.at_openings == "hung_around"
    remedy = 'Have openings cut out of it, or hang it "up".'
    at.refuse(is_both, "mat run along a wall cannot be hung around openings", remedy)
    at.numbers(step, "amount", strict=True)
    if (labour := step.labour) is not None:
        is_one = (labour.rate is None) != (labour.minutes is None)
        at.refuse(not is_one, "labour needs a rate or minutes, one of them", "Give exactly one.")
        at.number(labour.minutes if labour.rate is None else labour.rate, "labour", strict=True)
    base = _BASE_OF_KIND.get(step.kind, basis_kind(step.basis))
    remedy = f"Use a basis that is {'an' if base == 'area' else 'a'} {base}."
    at.refuse(basis_kind(step.basis) != base, f"a {step.kind} cannot be counted by {step.basis}", remedy)
    if step.product is None:
        is_bought = step.kind in _UNITS_OF_KIND
        at.refuse(is_bought, f"a {step.kind} needs a product", "Name one, or make the step work.")
        return
    said = f'product "{step.product}" is not in the catalogue'
    at.refuse(step.product not in products, said, "Add it, or correct the step's product.")
    _check_use(step, products[step.product], at, mat)


def _check_window(step: Step, at: _At) -> None:
    for name in ("max_recoat", "max_between"):
        least, most = step.min_recoat, getattr(step, name)
        if least is not None and most is not None:
            said = f"min_recoat of {least:g} h is more than {name} of {most:g} h"
            at.refuse(least > most, said, "Swap or correct them.")
    abrades = bool(step.abrades) and step.kind != "work"
    at.refuse(abrades, f"a {step.kind} abrades nothing", "Make the abrading a step of work.")


def _check_use(step: Step, product: Product, at: _At, mat: Product | None) -> None:
    allowed = _UNITS_OF_KIND.get(step.kind, (product.unit,))
    said = f'a {step.kind} cannot take "{product.id}", which is sold by {product.unit}'
    at.refuse(product.unit not in allowed, said, f"Use a product sold by {' or '.join(allowed)}.")
    is_bare = product.unit == "kg" and step.kind in ("coat", "cove", "sealant") and product.density is None
    at.refuse(is_bare, f'"{product.id}" is sold by kg and used by volume', "Give the product a density.")
    has_none = step.kind in ("broadcast", "sealant", "work") and step.amount is None
    at.refuse(has_none, f"the {step.kind} has a product and no amount", "Give amount.")
    if step.kind == "mat":
        at.refuse(product.width is None, f'the mat "{product.id}" has no width', "Give the roll's width.")
        width = product.width or 0.0
        said = f"a lap of {step.lap:g} m on a mat {width:g} m wide"
        at.refuse(step.lap >= width, said, "The lap must be less than the roll's width.")
    if step.kind == "coat":
        _check_film(step, product, at, mat)


def _check_film(step: Step, product: Product, at: _At, mat: Product | None) -> None:
    ways = [n for n in ("wet_film", "dry_film", "spread", "mat_ratio") if getattr(step, n) is not None]
    said = f"the coat gives {' and '.join(ways) if ways else 'no film'}"
    at.refuse(len(ways) != 1, said, "Give exactly one of wet_film, dry_film, spread and mat_ratio.")
    at.numbers(step, ways[0], strict=True)
    at.numbers(step, "mat_ratio", most=MOST_MAT_RATIO)
    wet = step.wet_film or (step.dry_film or 0.0) / product.volume_solids
    said = f"a wet film of {wet * 1000:.4g} mm in one coat"
    at.refuse(wet > THICKEST_FILM, said, f"Check the unit; at most {THICKEST_FILM * 1000:g} mm is taken.")
    at.refuse(
        step.mat_ratio is not None and (mat is None or mat.mass_per_area is None or product.density is None),
        "mat_ratio needs a mat step before it, the mat's mass_per_area and the resin's density",
        "Add what is missing, or give the coat a wet film.",
    )


@dataclass(frozen=True, slots=True)
class _At:
    """A place in a catalogue, and the checks that name it."""

    place: str

    def part(self, name: str) -> _At:
        return _At(f"{self.place}, {name}")

    def refuse(self, is_wrong: bool, found: str, remedy: str) -> None:
        if is_wrong:
            raise CatalogueError(found, remedy=remedy, where=self.place)

    def ids(self, ids: Iterable[str], noun: str) -> None:
        seen: set[str] = set()
        for id in ids:
            self.refuse(not id.strip(), f"a {noun} has an empty name", "Give each one of its own.")
            self.refuse(id in seen, f'{noun} "{id}" is there twice', "Give each one of its own.")
            seen.add(id)

    def fraction(self, value: float, name: str, most: float = MOST_FRACTION) -> None:
        self.number(value, name)
        remedy = f"Give a fraction up to {most:g}: {value / 100:g} is {value:g} %."
        self.refuse(value > most, f"{name} is {value:g}, which is {value:,.0%}", remedy)

    def numbers(self, holder: object, *names: str, strict: bool = False, most: float = math.inf) -> None:
        """Check fields that are numbers, where they are given."""
        for name in names:
            if (value := getattr(holder, name)) is not None:
                self.number(value, name, strict=strict, most=most)

    def number(self, value: float | None, name: str, *, strict: bool = False, most: float = math.inf) -> None:
        if value is not None and value > most:
            self.refuse(True, f"{name} is {value}", f"Give at most {most:,.0f}.")
        is_wrong = value is None or not math.isfinite(value) or value < 0.0 or (strict and value == 0.0)
        remedy = f"Give a number {'above zero' if strict else 'that is not negative'}."
        self.refuse(is_wrong, f"{name} is {value}", remedy)
