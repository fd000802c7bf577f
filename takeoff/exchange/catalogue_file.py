"""The catalogue file: TOML with units at the rim, read into checked systems, products and rates.

The file's keys are those of `takeoff.model.systems`; every figure with a unit is a string that says it. Unknown keys,
units and names are refused with their place in the file.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from takeoff.errors import CatalogueError, InputError
from takeoff.exchange import catalogue_units as read
from takeoff.exchange.catalogue_entries import (
    CatalogueEntry,
    CatalogueWritten,
    LineEntry,
    ProductEntry,
    RatesEntry,
    StepEntry,
    SystemEntry,
)
from takeoff.exchange.catalogue_places import placed, refusal_of
from takeoff.exchange.catalogue_steps import put_in
from takeoff.exchange.form_faults import Fault, form_fault
from takeoff.exchange.toml_text import read_toml
from takeoff.model.systems import (
    Catalogue,
    CrewMember,
    Labour,
    OwnLine,
    Pack,
    Product,
    Rates,
    Step,
    System,
    Unit,
)
from takeoff.system.bases import basis_kind
from takeoff.system.check import check_catalogue

Entry = TypeVar("Entry")
LARGEST_FILE = 4_000_000
"""Bytes; a catalogue is text of a few hundred kilobytes at the most."""


def read_catalogue(source: Path | bytes) -> Catalogue:
    """Read and check a catalogue file, or its bytes.

    Raises
    ------
    CatalogueError
        When the file cannot be read, is not TOML, has a key, unit or value that is not known, or does not pass
        `takeoff.system.check.check_catalogue`. Its place is in the error: file, line and table.
    """
    name = "" if isinstance(source, bytes) else str(source)
    data = _bytes_of(source)
    try:
        return _read(_parse(data))
    except CatalogueError as error:
        raise placed(error, data.decode("utf-8", errors="replace"), name) from error


def _read(raw: dict[str, Any]) -> Catalogue:
    raw = put_in(raw)
    entry = _convert(raw, CatalogueEntry)
    units = {product.id: product.unit for product in entry.products}
    for step in entry.steps:
        _step(step, f"step {step.id}", units)
    catalogue = Catalogue(
        name=entry.name,
        currency=entry.currency,
        systems=tuple(_system(s, units) for s in entry.systems),
        products=tuple(_product(p) for p in entry.products),
        rates=_rates(entry.rates),
        notes=entry.notes,
        schema=entry.schema,
    )
    check_catalogue(catalogue)
    return catalogue


def _convert(raw: dict[str, Any], form: type[Entry]) -> Entry:
    """Read the entry of a file into its class, or say what does not fit."""
    try:
        return msgspec.convert(raw, form)
    except msgspec.ValidationError as error:
        fault = form_fault(raw, form) or Fault("$", "value", str(error))
        raise refusal_of(fault, raw) from error


@cache
def default_catalogue() -> Catalogue:
    """Read the catalogue that comes with the program; its prices and rates are examples.

    Examples
    --------
    >>> default_catalogue().system("mat-hygienic").steps[0].id
    'rollers'
    """
    return read_catalogue(default_catalogue_text().encode())


def read_product(raw: dict[str, Any]) -> Product:
    """Read one product from the entry of a file.

    Raises
    ------
    CatalogueError
        When a key or a value is not as it must be.
    """
    return _product(_convert(raw, ProductEntry))


def read_step(raw: dict[str, Any], sold: dict[str, Unit]) -> Step:
    """Read one step from the entry of a file; ``sold`` are the units of products by their ids. Errors as above."""
    entry = _convert(raw, StepEntry)
    return _step(entry, f"step {entry.id}", sold)


def default_catalogue_text() -> str:
    """Return the shipped catalogue as TOML text, to write one's own from."""
    return resources.files("takeoff.exchange").joinpath("catalogue.toml").read_text(encoding="utf-8")


def catalogue_schema() -> dict[str, Any]:
    """Return the JSON schema of the catalogue file."""
    return msgspec.json.schema(CatalogueWritten)


def _bytes_of(source: Path | bytes) -> bytes:
    if isinstance(source, bytes):
        data = source
    else:
        try:
            data = source.read_bytes()
        except OSError as error:
            raise CatalogueError(
                f"the catalogue cannot be read ({error.strerror})", remedy="Check its path.", where=str(source)
            ) from error
    if len(data) > LARGEST_FILE:
        raise CatalogueError(
            f"the catalogue is {len(data):,} bytes long", remedy=f"At most {LARGEST_FILE:,} bytes are taken."
        )
    return data


def _parse(data: bytes) -> dict[str, Any]:
    try:
        return read_toml(data)
    except InputError as error:
        raise CatalogueError(f"the catalogue cannot be read: {error.message}", remedy=error.remedy) from error


def _at(where: str, reader: Callable[..., float], text: str, *more: Any) -> float:
    """Read one figure, and put its place in a refusal."""
    try:
        return reader(text, *more)
    except CatalogueError as error:
        raise CatalogueError(error.message, remedy=error.remedy, where=where) from error


def _maybe(where: str, reader: Callable[..., float], text: str | None) -> float | None:
    return None if text is None else _at(where, reader, text)


def _size_in(unit: Unit) -> Callable[..., float]:
    """Return what reads an amount in a product's unit."""
    return lambda text: read.read_size(text, unit)


def _product(entry: ProductEntry) -> Product:
    at = f"product {entry.id}"
    return Product(
        id=entry.id,
        name=entry.name,
        unit=entry.unit,
        packs=tuple(
            Pack(
                name=p.name,
                size=_at(f'{at}, pack "{p.name}", size', read.read_size, p.size, entry.unit),
                price=p.price,
                colours=p.colours,
            )
            for p in entry.packs
        ),
        volume_solids=entry.volume_solids,
        density=_maybe(f"{at}, density", read.read_density, entry.density),
        mix=entry.mix,
        colour_pack=entry.colour_pack,
        pot_life=_maybe(f"{at}, pot_life", read.read_time, entry.pot_life),
        temperature=_at(f"{at}, temperature", read.read_temperature, entry.temperature),
        width=_maybe(f"{at}, width", read.read_length, entry.width),
        mass_per_area=_maybe(f"{at}, mass_per_area", read.read_mass_per_area, entry.mass_per_area),
        stock_length=_maybe(f"{at}, stock_length", read.read_length, entry.stock_length),
        left_in_tools=_maybe(f"{at}, left_in_tools", _size_in(entry.unit), entry.left_in_tools) or 0.0,
        hazards=entry.hazards,
        least_temperature=_maybe(f"{at}, least_temperature", read.read_temperature, entry.least_temperature),
        most_temperature=_maybe(f"{at}, most_temperature", read.read_temperature, entry.most_temperature),
        most_humidity=entry.most_humidity,
        dew_margin=_maybe(f"{at}, dew_margin", read.read_degrees_apart, entry.dew_margin),
        most_moisture=entry.most_moisture,
        substrate_moisture=entry.substrate_moisture,
        code=entry.code,
        lead_days=entry.lead_days,
        shelf_life_days=entry.shelf_life_days,
        assumed=entry.assumed,
    )


def _system(entry: SystemEntry, units: dict[str, Unit]) -> System:
    at = f"system {entry.id}"
    return System(
        id=entry.id,
        name=entry.name,
        summary=entry.summary,
        steps=tuple(_step(step, f"{at}, step {step.id}", units) for step in entry.steps),
        substrate_extra=tuple(
            (substrate, _at(f"{at}, substrate_extra.{substrate}", read.read_volume_per_area, text))
            for substrate, text in entry.substrate_extra.items()
        ),
        notes=entry.notes,
        version=entry.version,
        cure=_maybe(f"{at}, cure", read.read_time, entry.cure) or 0.0,
    )


def _step(entry: StepEntry, at: str, units: dict[str, Unit]) -> Step:
    amount: float | None = None
    if entry.amount is not None:
        place = f"{at}, amount"
        if entry.kind == "sealant":
            amount = _at(place, read.read_section, entry.amount)
        elif entry.product is None:
            raise CatalogueError("there is an amount and no product", remedy="Name the product.", where=place)
        elif entry.product in units:
            amount = _at(place, read.read_amount, entry.amount, units[entry.product], basis_kind(entry.basis))
    return Step(
        id=entry.id,
        name=entry.name,
        kind=entry.kind,
        basis=entry.basis,
        product=entry.product,
        wet_film=_maybe(f"{at}, wet_film", read.read_film, entry.wet_film),
        dry_film=_maybe(f"{at}, dry_film", read.read_film, entry.dry_film),
        spread=_maybe(f"{at}, spread", read.read_spread, entry.spread),
        mat_ratio=entry.mat_ratio,
        amount=amount,
        coats=entry.coats,
        loss=entry.loss,
        lap=_maybe(f"{at}, lap", read.read_length, entry.lap) or 0.0,
        trim_top=_maybe(f"{at}, trim_top", read.read_length, entry.trim_top) or 0.0,
        trim_base=_maybe(f"{at}, trim_base", read.read_length, entry.trim_base) or 0.0,
        wraps_corners=entry.wraps_corners,
        direction=entry.direction,
        at_openings=entry.at_openings,
        min_recoat=_maybe(f"{at}, min_recoat", read.read_time, entry.min_recoat),
        max_recoat=_maybe(f"{at}, max_recoat", read.read_time, entry.max_recoat),
        max_between=_maybe(f"{at}, max_between", read.read_time, entry.max_between),
        surface=entry.surface,
        abrades=entry.abrades,
        wet_edge=entry.wet_edge,
        into_wet=entry.into_wet,
        fills_pores=entry.fills_pores,
        on=entry.on,
        labour=_labour(entry, f"{at}, labour"),
        day=entry.day,
        note=entry.note,
    )


def _labour(entry: StepEntry, at: str) -> Labour | None:
    if entry.labour is None:
        return None
    if entry.labour.endswith("/each"):
        if basis_kind(entry.basis) != "count":
            raise CatalogueError(
                f'"{entry.labour}" on a step that is counted by {entry.basis}',
                remedy='Give a rate of the basis, such as "150 ft2/h" or "12 ft/h".',
                where=at,
            )
        return Labour(minutes=_at(at, read.read_minutes, entry.labour), height_factor=entry.height_factor)
    rate = _at(at, read.read_rate, entry.labour, basis_kind(entry.basis))
    return Labour(rate=rate, height_factor=entry.height_factor)


def _rates(entry: RatesEntry) -> Rates:
    given = {name: value for name in entry.__struct_fields__ if (value := getattr(entry, name)) is not None}
    if entry.height_factors is not None:
        given["height_factors"] = tuple(
            (_at("rates, height_factors", read.read_length, height), factor) for height, factor in entry.height_factors
        )
    if (travel := given.pop("travel_per_distance", None)) is not None:
        given["travel_per_km"] = _at("rates, travel_per_distance", read.read_per_distance, travel)
    if entry.people is not None:
        given["people"] = tuple(CrewMember(**msgspec.structs.asdict(person)) for person in entry.people)
    if entry.lines is not None:
        given["lines"] = tuple(_line(line) for line in entry.lines)
    return replace(Rates(), **given)


def _line(entry: LineEntry) -> OwnLine:
    per, factor = read.LINE_UNITS[entry.per]
    return OwnLine(
        id=entry.id, label=entry.label, amount=entry.amount / factor, per=per, of=entry.of, at_cost=entry.at_cost
    )
