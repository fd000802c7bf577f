"""The catalogue file: TOML with units at the rim, read into checked systems, products and rates.

The file's keys are those of `takeoff.model.systems`; every figure with a unit is a string that says it. What a file
writes otherwise is told with the classes that it is read into, which its schema is made from: texts that may not be
empty, figures with their units as texts, and keys that a value has no field of. Unknown keys, units and names are
refused with their place in the file.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache, partial
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, TypeVar, get_type_hints

import msgspec

from takeoff.errors import CatalogueError, InputError
from takeoff.exchange import catalogue_units as read
from takeoff.exchange.catalogue_writer import put_in
from takeoff.exchange.form_faults import Fault, form_fault, placed, read_toml, refusal_of
from takeoff.model.systems import (
    PRICED_BY,
    Basis,
    Catalogue,
    CrewMember,
    Labour,
    OwnLine,
    Pack,
    Product,
    Rates,
    Step,
    StepKind,
    Substrate,
    System,
    Unit,
)  # fmt: skip
from takeoff.system.bases import basis_kind
from takeoff.system.catalogue_check import check_catalogue

Text = Annotated[str, msgspec.Meta(min_length=1, max_length=2000)]
"""What may not be empty, nor a book."""
FIGURE = (str | None, None)
"""A figure with its unit; where it is left out the value has it by itself."""
_DAYS = (Annotated[int, msgspec.Meta(ge=0)] | None, None)
_Key = tuple[str, Any] | tuple[str, Any, Any]
"""Name and type, and the default of what may be left out."""


def _made(name: str, says: str, keys: Sequence[_Key], *bases: type) -> Any:
    return msgspec.defstruct(
        name, keys, bases=bases or None, namespace={"__doc__": says}, module=__name__,
        forbid_unknown_fields=True, frozen=True, kw_only=True,
    )  # fmt: skip


def _keys_of(value: type, after: dict[str, _Key] | None = None, **written: Any) -> list[_Key]:
    """Give the fields of a value as keys.

    ``written`` are types of keys that a file writes otherwise, each with its default where that is another, too;
    ``after`` are keys that a value has no field of, each by the field that it follows.
    """
    types, keys = get_type_hints(value), list[_Key]()
    for field in dataclasses.fields(value):
        kind, default = types[field.name], field.default
        if field.name in written:
            told = written[field.name]
            kind, default = told if isinstance(told, tuple) else (told, default)
        keys.append((field.name, kind) if default is dataclasses.MISSING else (field.name, kind, default))
        keys += [after[field.name]] if after and field.name in after else []
    return keys


if TYPE_CHECKING:
    PackEntry = Any
    ProductEntry = Any
    StepEntry = Any
    SystemEntry = Any
    LineEntry = Any
    RatesEntry = Any
    StepUse = Any
    SystemWritten = Any
else:
    PackEntry = _made("PackEntry", "A pack.", _keys_of(Pack, name=Text, size=Text))
    _figures = ("density", "pot_life", "width", "mass_per_area", "stock_length", "left_in_tools", "dew_margin")
    _product = _keys_of(
        Product, id=Text, name=Text, packs=tuple[PackEntry, ...], temperature=(str, "23 C"), lead_days=_DAYS,
        shelf_life_days=_DAYS, **dict.fromkeys((*_figures, "least_temperature", "most_temperature"), FIGURE),
    )  # fmt: skip
    ProductEntry = _made("ProductEntry", "A product.", _product)
    _figures = ("wet_film", "dry_film", "spread", "amount", "lap", "trim_top", "trim_base", "labour")
    _step = _keys_of(
        Step, {"labour": ("height_factor", bool, True)}, id=Text, name=Text,
        day=(Annotated[int, msgspec.Meta(ge=1)] | None, None),
        **dict.fromkeys((*_figures, "min_recoat", "max_recoat", "max_between"), FIGURE),
    )  # fmt: skip
    StepEntry = _made("StepEntry", "A step, written out in full.", _step)
    _system = _keys_of(
        System, id=Text, name=Text, summary=(str, ""), steps=tuple[StepEntry, ...],
        substrate_extra=(dict[Substrate, str], {}), cure=FIGURE,
    )  # fmt: skip
    SystemEntry = _made("SystemEntry", "A system, its steps written out in full.", _system)
    _per = Literal["job", "phase", "visit", "day", "room", "m2", "ft2", "m", "ft", "hour", "fraction"]
    LineEntry = _made(
        "LineEntry", "A line of one's own in the price.", _keys_of(OwnLine, id=Text, label=Text, per=_per)
    )
    PersonEntry = _made("PersonEntry", "People of one class in a crew.", _keys_of(CrewMember, name=Text))
    _rates = _keys_of(
        Rates, height_factors=tuple[tuple[str, float], ...], travel_per_km=str, people=tuple[PersonEntry, ...],
        lines=tuple[LineEntry, ...],
    )  # fmt: skip
    _named = {"travel_per_km": "travel_per_distance"}
    _rates = [(_named.get(name, name), kind | None, None) for name, kind, _ in _rates]
    RatesEntry = _made("RatesEntry", "The table of rates.", _rates)
    _own = {"step": Text, "id": Text, "name": Text, "kind": StepKind, "basis": Basis}
    _says = "A step as a file writes it: in full, or what is different from the step of the list that it names."
    StepUse = _made("StepUse", _says, [(name, kind | None, None) for name, kind in _own.items()], StepEntry)
    _says = "A system as a file writes it: steps in full, by id, or with what is different."
    SystemWritten = _made("SystemWritten", _says, [("steps", tuple[Text | StepUse, ...])], SystemEntry)


class CatalogueEntry(msgspec.Struct, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """The whole file, with every step written out in full where it is used."""

    schema: Literal["takeoff.catalogue/1"]
    name: Text
    currency: Text
    products: tuple[ProductEntry, ...]
    steps: tuple[StepEntry, ...] = ()
    systems: tuple[SystemEntry, ...]
    rates: RatesEntry = RatesEntry()
    notes: tuple[str, ...] = ()


class CatalogueWritten(CatalogueEntry, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """The file as it is written: steps may build on each other."""

    steps: tuple[StepUse, ...] = ()
    systems: tuple[SystemWritten, ...]


Entry = TypeVar("Entry")
LARGEST_FILE = 4_000_000
"""Bytes; a catalogue is text of a few hundred kilobytes at the most."""


def read_catalogue(source: Path | bytes) -> Catalogue:
    """Read and check a catalogue file, or its bytes.

    Raises `CatalogueError` when the file cannot be read, is not TOML, has a key, unit or value that is not known, or
    does not pass `takeoff.system.catalogue_check.check_catalogue`. Its place is in the error: file, line and table.
    """
    name = "" if isinstance(source, bytes) else str(source)
    try:
        data = source if isinstance(source, bytes) else source.read_bytes()
    except OSError as error:
        said = f"the catalogue cannot be read ({error.strerror})"
        raise CatalogueError(said, remedy="Check its path.", where=name) from error
    if len(data) > LARGEST_FILE:
        raise CatalogueError(
            f"the catalogue is {len(data):,} bytes long", remedy=f"At most {LARGEST_FILE:,} bytes are taken."
        )
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
    **{key: read.read_length if kind == "length" else _figure(kind) for key, (kind, *_) in read.KINDS.items()},
    **dict.fromkeys(read.DEGREES, read.read_temperature),
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
