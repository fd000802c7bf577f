"""The keys of a catalogue file and what each may hold: the classes that it is read into and its schema is made from.

An entry has the keys of the value that it is read into (`takeoff.model.systems`). What a file writes otherwise is told
here: texts that may not be empty, figures with their units as texts, and keys that a value has no field of.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, Any, Literal, get_type_hints

import msgspec

from takeoff.model.systems import Basis, CrewMember, OwnLine, Pack, Product, Rates, Step, StepKind, Substrate, System

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
