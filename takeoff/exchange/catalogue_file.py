"""The catalogue file: TOML with units at the rim, read into checked systems, products and rates.

The file's keys are those of `takeoff.model.systems`; every figure with a unit is a string that says it. Unknown keys,
units and names are refused with their place in the file.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache, partial
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
from takeoff.exchange.catalogue_writer import put_in
from takeoff.exchange.form_faults import Fault, form_fault, placed, read_toml, refusal_of
from takeoff.model.systems import (
    PRICED_BY,
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
from takeoff.system.catalogue_check import check_catalogue

Entry = TypeVar("Entry")
LARGEST_FILE = 4_000_000
"""Bytes; a catalogue is text of a few hundred kilobytes at the most."""


def read_catalogue(source: Path | bytes) -> Catalogue:
    """Read and check a catalogue file, or its bytes.

    Raises `CatalogueError` when the file cannot be read, is not TOML, has a key, unit or value that is not known, or
    does not pass `takeoff.system.catalogue_check.check_catalogue`. Its place is in the error: file, line and table.
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
    """Read one product from the entry of a file."""
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


def _figure(kind: str) -> Callable[[str], float]:
    return partial(read.read_figure, kind)


_READERS: dict[str, Callable[[str], float]] = {
    **dict.fromkeys(("wet_film", "dry_film"), _figure("film")),
    **dict.fromkeys(("pot_life", "min_recoat", "max_recoat", "max_between", "cure"), _figure("time")),
    **dict.fromkeys(("width", "stock_length", "lap", "trim_top", "trim_base"), read.read_length),
    **dict.fromkeys(("temperature", "least_temperature", "most_temperature"), read.read_temperature),
    "spread": _figure("spread"),
    "density": _figure("density"),
    "mass_per_area": _figure("mass per area"),
    "dew_margin": _figure("difference of temperatures"),
}
"""What reads the keys of products, steps and systems whose figure has a unit of its own."""


def _fields(entry: msgspec.Struct, at: str, **readers: Callable[[str], float]) -> dict[str, Any]:
    """Read the keys of an entry that are given; what is left out is as the value has it by itself."""
    how = _READERS | readers
    given = {name: value for name in entry.__struct_fields__ if (value := getattr(entry, name)) is not None}
    return {name: _at(f"{at}, {name}", how[name], v) if name in how else v for name, v in given.items()}


def _product(entry: ProductEntry) -> Product:
    at = f"product {entry.id}"

    def size(text: str) -> float:
        return read.read_size(text, entry.unit)

    packs = tuple(Pack(**_fields(pack, f'{at}, pack "{pack.name}"', size=size)) for pack in entry.packs)
    return Product(**_fields(entry, at, left_in_tools=size) | {"packs": packs})


def _system(entry: SystemEntry, units: dict[str, Unit]) -> System:
    at = f"system {entry.id}"
    extra = tuple(
        (substrate, _at(f"{at}, substrate_extra.{substrate}", _figure("volume per area"), text))
        for substrate, text in entry.substrate_extra.items()
    )
    steps = tuple(_step(step, f"{at}, step {step.id}", units) for step in entry.steps)
    return System(**_fields(entry, at) | {"steps": steps, "substrate_extra": extra})


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
    fields = _fields(entry, at) | {"amount": amount, "labour": _labour(entry, f"{at}, labour")}
    del fields["height_factor"]  # of the labour
    return Step(**fields)


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
        return Labour(minutes=_at(at, _figure("time each"), entry.labour), height_factor=entry.height_factor)
    rate = _at(at, read.read_rate, entry.labour, basis_kind(entry.basis))
    return Labour(rate=rate, height_factor=entry.height_factor)


def _rates(entry: RatesEntry) -> Rates:
    given = _fields(entry, "rates", travel_per_distance=read.read_per_distance)
    if entry.height_factors is not None:
        given["height_factors"] = tuple(
            (_at("rates, height_factors", read.read_length, height), factor) for height, factor in entry.height_factors
        )
    if "travel_per_distance" in given:
        given["travel_per_km"] = given.pop("travel_per_distance")
    if entry.people is not None:
        given["people"] = tuple(CrewMember(**msgspec.structs.asdict(person)) for person in entry.people)
    if entry.lines is not None:
        given["lines"] = tuple(_line(line) for line in entry.lines)
    left_out = (name for name in PRICED_BY if name not in given and not (name == "wage" and entry.people))
    given["assumed"] = (*given.get("assumed", ()), *left_out)
    return replace(Rates(), **given)


def _line(entry: LineEntry) -> OwnLine:
    per, factor = read.LINE_UNITS[entry.per]
    return OwnLine(**msgspec.structs.asdict(entry) | {"amount": entry.amount / factor, "per": per})
