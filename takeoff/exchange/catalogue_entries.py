"""The keys of a catalogue file and what each may hold: the classes that it is read into and its schema is made from."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from takeoff.model.systems import (
    AtOpenings,
    Basis,
    Direction,
    Hazard,
    Keeping,
    LineOf,
    StepKind,
    Substrate,
    Surface,
    Unit,
)

Text = Annotated[str, msgspec.Meta(min_length=1, max_length=2000)]
"""What may not be empty, nor a book."""


class PackEntry(msgspec.Struct, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """A pack."""

    name: Text
    size: Text
    price: float
    colours: int = 0


class ProductEntry(msgspec.Struct, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """A product."""

    id: Text
    name: Text
    unit: Unit
    packs: tuple[PackEntry, ...]
    volume_solids: float = 1.0
    density: str | None = None
    mix: str = ""
    colour_pack: float | None = None
    pot_life: str | None = None
    temperature: str = "23 C"
    width: str | None = None
    mass_per_area: str | None = None
    stock_length: str | None = None
    left_in_tools: str | None = None
    hazards: tuple[Hazard, ...] = ()
    least_temperature: str | None = None
    most_temperature: str | None = None
    most_humidity: float | None = None
    dew_margin: str | None = None
    most_moisture: float | None = None
    substrate_moisture: str = ""
    code: str = ""
    lead_days: Annotated[int, msgspec.Meta(ge=0)] | None = None
    shelf_life_days: Annotated[int, msgspec.Meta(ge=0)] | None = None
    assumed: tuple[Keeping, ...] = ()


class StepEntry(msgspec.Struct, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """A step, written out in full."""

    id: Text
    name: Text
    kind: StepKind
    basis: Basis
    product: str | None = None
    wet_film: str | None = None
    dry_film: str | None = None
    spread: str | None = None
    mat_ratio: float | None = None
    amount: str | None = None
    coats: int = 1
    loss: float = 0.0
    lap: str | None = None
    trim_top: str | None = None
    trim_base: str | None = None
    wraps_corners: bool = True
    direction: Direction = "up"
    at_openings: AtOpenings = "cut_out"
    min_recoat: str | None = None
    max_recoat: str | None = None
    max_between: str | None = None
    surface: Surface | None = None
    abrades: tuple[Surface, ...] = ()
    wet_edge: bool = False
    into_wet: bool = False
    fills_pores: bool = False
    on: tuple[Substrate, ...] = ()
    labour: str | None = None
    height_factor: bool = True
    day: Annotated[int, msgspec.Meta(ge=1)] | None = None
    note: str = ""


class SystemEntry(msgspec.Struct, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """A system, its steps written out in full."""

    id: Text
    name: Text
    summary: str = ""
    steps: tuple[StepEntry, ...]
    substrate_extra: dict[Substrate, str] = {}
    notes: tuple[str, ...] = ()
    version: int = 1
    cure: str | None = None


class LineEntry(msgspec.Struct, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """A line of one's own in the price."""

    id: Text
    label: Text
    amount: float
    per: Literal["job", "phase", "visit", "day", "room", "m2", "ft2", "m", "ft", "hour", "fraction"] = "job"
    of: LineOf = ""
    at_cost: bool = False


class PersonEntry(msgspec.Struct, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """People of one class in a crew."""

    name: Text
    count: int
    wage: float
    burden: float | None = None
    fringe: float = 0.0


class RatesEntry(msgspec.Struct, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """The table of rates."""

    wage: float | None = None
    burden: float | None = None
    crew: int | None = None
    shift_hours: float | None = None
    setup_hours: float | None = None
    minimum_charge: float | None = None
    height_factors: tuple[tuple[str, float], ...] | None = None
    cut_up_factor: float | None = None
    access_per_day: float | None = None
    contingency: float | None = None
    overhead: float | None = None
    profit: float | None = None
    profit_basis: Literal["markup", "margin"] | None = None
    material_tax: float | None = None
    price_tax: float | None = None
    freight: float | None = None
    substrate: Substrate | None = None
    travel_per_distance: str | None = None
    per_diem: float | None = None
    lodging: float | None = None
    least_visit_hours: float | None = None
    phase_gap: int | None = None
    people: tuple[PersonEntry, ...] | None = None
    overtime_after: float | None = None
    overtime_factor: float | None = None
    lines: tuple[LineEntry, ...] | None = None
    retention: float | None = None


class StepUse(StepEntry, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """A step as a file writes it: in full, or what is different from the step of the list that it names."""

    step: Text | None = None
    id: Text | None = None  # type: ignore[assignment]
    name: Text | None = None  # type: ignore[assignment]
    kind: StepKind | None = None  # type: ignore[assignment]
    basis: Basis | None = None  # type: ignore[assignment]


class SystemWritten(SystemEntry, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """A system as a file writes it: steps in full, by id, or with what is different."""

    steps: tuple[Text | StepUse, ...]  # type: ignore[assignment]


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
