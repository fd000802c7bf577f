"""Systems, their steps and products, and the rates that price them: data that a catalogue file holds.

Units: films in metres, areas m², volumes litres, masses kg, lengths m, times hours, temperatures °C, money in the
catalogue's currency. Losses, volume solids and percentages are fractions.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from takeoff.errors import CatalogueError

Basis = Literal[
    "net_area",
    "coated_area",
    "gross_area",
    "base_length",
    "top_length",
    "termination_length",
    "masked_length",
    "opening_edge_length",
    "inside_corner_length",
    "outside_corner_length",
    "corner_length",
    "cove_length",
    "cove_girth_area",
    "cove_volume",
    "cove_inside_corners",
    "cove_outside_corners",
    "openings",
    "room",
]
"""What a step is counted by: a figure of ``Quantities``, or once per room. ``coated_area`` is net and returns,
``masked_length`` terminations, floor and ceiling lines."""

StepKind = Literal["coat", "mat", "broadcast", "linear", "sealant", "cove", "panel", "each", "work"]
Substrate = Literal["board", "concrete", "plaster", "block", "brick", "metal", "existing"]
Unit = Literal["L", "kg", "m2", "m", "each"]
Direction = Literal["up", "along"]
"""Mat hangs in drops from the top down, or runs along the face in bands from the base up."""

AtOpenings = Literal["cut_out", "hung_around"]
"""Drops go over an opening and it is cut out of them, or they stop at its jambs."""

Surface = Literal["wall", "cove", "edge"]
"""What has a recoat clock of its own: the wall, its cove, and the edge where the coating stops."""

Hazard = Literal["isocyanate", "epoxy", "solvent", "silica"]
Keeping = Literal["lead_days", "shelf_life_days"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """A way a product is sold: how much is in it (in the product's unit), its price, its colour packs."""

    name: str
    size: float
    price: float
    colours: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """Something bought.

    ``unit`` is what packs are sized in: L, kg, m2 (rolls, panels), m (strips) or each. A roll has a ``width`` in m, and
    each of its packs is as long as its size over that width. ``density`` is kg/L, ``mass_per_area`` kg/m².
    Strips and trims that come in lengths have a ``stock_length`` in m: pieces are cut from whole lengths.
    ``left_in_tools`` is what stays in rollers, trays and pails each time a coat of it is laid in a room.
    It may be laid with air and surface from ``least_temperature`` to ``most_temperature`` in °C, at a relative humidity
    of at most ``most_humidity``, and with the surface at least ``dew_margin`` K above the dew point; the usual limits
    hold where one is None. ``most_moisture`` is what the wall under it may hold, a fraction of its mass, and
    ``substrate_moisture`` what the data sheet says of it in words. ``code`` is what it is ordered by;
    ``lead_days`` are calendar days from the order to the site, ``shelf_life_days`` how long it keeps there;
    ``assumed`` names which of the two nobody took from a supplier or a data sheet.
    ``colour_pack`` is the price of one colour pack; its packs say how many they take. ``pot_life`` is hours at
    ``temperature`` in °C; ``mix`` the parts by volume as written on the data sheet.
    """

    id: str
    name: str
    unit: Unit
    packs: tuple[Pack, ...]
    volume_solids: float = 1.0
    density: float | None = None
    mix: str = ""
    colour_pack: float | None = None
    pot_life: float | None = None
    temperature: float = 23.0
    width: float | None = None
    mass_per_area: float | None = None
    stock_length: float | None = None
    left_in_tools: float = 0.0
    hazards: tuple[Hazard, ...] = ()
    least_temperature: float | None = None
    most_temperature: float | None = None
    most_humidity: float | None = None
    dew_margin: float | None = None
    most_moisture: float | None = None
    substrate_moisture: str = ""
    code: str = ""
    lead_days: int | None = None
    shelf_life_days: int | None = None
    assumed: tuple[Keeping, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Labour:
    """Production of one person on a step: ``rate`` units of the basis per hour, or ``minutes`` per each."""

    rate: float | None = None
    minutes: float | None = None
    height_factor: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of a system.

    ``basis`` is what labour is counted by, and for most kinds the material too. Material by ``kind``:

    - coat: the basis area at ``wet_film`` or ``dry_film`` in m, at ``spread`` in m²/L, or as ``mat_ratio``, the mass of
      resin per mass of the mat hung before it: exactly one of the four. ``coats`` repeats it, material and labour.
    - mat: drops over the faces, whatever the basis; ``lap``, ``trim_top`` and ``trim_base`` in m, hung in
      ``direction`` and, at openings, as ``at_openings`` says.
    - cove: the cove's volume, whatever the basis.
    - sealant: ``amount`` is the bead's section in m², times the basis length.
    - panel: the basis area.
    - broadcast, linear, each, work: ``amount`` of the product's unit per unit of the basis; 1 where not set. Work may
      go without a product.

    ``loss`` is the fraction of what is bought that does not end up on the wall. ``min_recoat`` is
    the least hours after this step before the next may follow, and from coat to coat; ``max_recoat`` the most before
    its ``surface`` is covered again, and from coat to coat where ``max_between`` does not say otherwise. ``surface`` is
    told from the basis where it is None; ``abrades`` are the surfaces that a step of work abrades, which ends what they
    must be covered within. ``wet_edge`` says that it is laid without a stop from corner to corner, ``into_wet`` that it
    goes into the step before it while that is wet, ``fills_pores`` that a coat lies in the pores of the wall and adds
    no film. Where ``on`` names substrates the step is done on these alone. ``day`` is the usual day, from 1.
    """

    id: str
    name: str
    kind: StepKind
    basis: Basis
    product: str | None = None
    wet_film: float | None = None
    dry_film: float | None = None
    spread: float | None = None
    mat_ratio: float | None = None
    amount: float | None = None
    coats: int = 1
    loss: float = 0.0
    lap: float = 0.0
    trim_top: float = 0.0
    trim_base: float = 0.0
    wraps_corners: bool = True
    direction: Direction = "up"
    at_openings: AtOpenings = "cut_out"
    min_recoat: float | None = None
    max_recoat: float | None = None
    max_between: float | None = None
    surface: Surface | None = None
    abrades: tuple[Surface, ...] = ()
    wet_edge: bool = False
    into_wet: bool = False
    fills_pores: bool = False
    on: tuple[Substrate, ...] = ()
    labour: Labour | None = None
    day: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """An ordered build-up under a descriptive name.

    ``substrate_extra`` is what the first coat takes more on a substrate, in litres per m². ``cure`` are the hours from
    the last step until a room may be in service.
    """

    id: str
    name: str
    summary: str
    steps: tuple[Step, ...]
    substrate_extra: tuple[tuple[Substrate, float], ...] = ()
    notes: tuple[str, ...] = ()
    version: int = 1
    cure: float = 0.0


LinePer = Literal["job", "phase", "visit", "day", "room", "area", "length", "hour", "fraction"]
"""What a line of one's own is counted by; areas in m² of coated wall, lengths in m of its base."""

LineOf = Literal["", "material", "labour", "direct", "price"]
"""The sum that a line by a fraction is of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnLine:
    """A line of one's own in the price: a bond, a permit, a mock-up, testing.

    ``amount`` is money for each ``per``; where that is "fraction" it is a fraction of the sum ``of``. A line that is
    ``at_cost`` comes on top of the price without overhead and profit; so does a fraction of the price.
    """

    id: str
    label: str
    amount: float
    per: LinePer = "job"
    of: LineOf = ""
    at_cost: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewMember:
    """People of one class in a crew: how many, their wage an hour, burden on it, and fringe money an hour on top."""

    name: str
    count: int
    wage: float
    burden: float | None = None
    fringe: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """What the estimate is priced with. Percentages are fractions; see ``takeoff.estimate`` for their order.

    ``wage`` is money per hour; ``setup_hours`` are man-hours per job, half before
    the work and half after it; ``freight`` is a sum for the job, ``access_per_day`` money per working day that access
    stands. ``height_factors`` are (from height in m, factor on hours).
    ``cut_up_factor`` is the fraction added to the hours of area steps per metre of corner and opening edge on each m².
    ``profit_basis`` says whether ``profit`` is a markup on cost or a margin of the price before tax.

    Where days are priced: ``travel_per_km`` for a crew's vehicle, ``per_diem`` and ``lodging`` for a person and a day
    or night away, ``least_visit_hours`` that a crew is paid for when it comes; where no crew is there for more than
    ``phase_gap`` working days, coming back is a phase with its own set-up. ``people`` are the classes of a crew of
    several wages, ``crew`` people in all; hours of a shift after ``overtime_after`` cost ``overtime_factor`` times the
    wage. ``lines`` are lines of one's own; ``retention`` is the fraction of the price that is paid late, and only told.
    ``assumed`` names the rates that nobody gave, so that they are as they stand here.
    """

    wage: float = 38.0
    burden: float = 0.35
    crew: int = 4
    shift_hours: float = 8.0
    setup_hours: float = 4.0
    minimum_charge: float = 0.0
    height_factors: tuple[tuple[float, float], ...] = ((0.0, 1.0), (3.0, 1.15), (5.0, 1.35))
    cut_up_factor: float = 0.0
    access_per_day: float = 0.0
    contingency: float = 0.05
    overhead: float = 0.12
    profit: float = 0.10
    profit_basis: Literal["markup", "margin"] = "markup"
    material_tax: float = 0.0
    price_tax: float = 0.0
    freight: float = 0.0
    substrate: Substrate = "concrete"
    travel_per_km: float = 0.0
    per_diem: float = 0.0
    lodging: float = 0.0
    least_visit_hours: float = 4.0
    phase_gap: int = 2
    people: tuple[CrewMember, ...] = ()
    overtime_after: float | None = None
    overtime_factor: float = 1.5
    lines: tuple[OwnLine, ...] = ()
    retention: float = 0.0
    assumed: tuple[str, ...] = ()

    @property
    def not_given(self) -> tuple[str, ...]:
        """Those of ``assumed`` that still stand as they were taken."""
        return tuple(name for name in self.assumed if getattr(self, name) == getattr(Rates(), name))


PRICED_BY = ("wage", "burden", "setup_hours", "contingency", "overhead", "profit")
"""Rates that are in a price although a catalogue leaves them out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """Systems and products by id, default rates, and what to say of them in every estimate."""

    name: str
    currency: str
    systems: tuple[System, ...]
    products: tuple[Product, ...]
    rates: Rates = Rates()
    notes: tuple[str, ...] = ()
    schema: str = "takeoff.catalogue/1"

    def system(self, id: str) -> System:
        """Return the system with this id, or refuse with the ids there are."""
        for system in self.systems:
            if system.id == id:
                return system
        raise CatalogueError(
            f'there is no system "{id}"', remedy=f"Known systems: {', '.join(s.id for s in self.systems) or 'none'}."
        )

    def product(self, id: str) -> Product:
        """Return the product with this id, or refuse."""
        for product in self.products:
            if product.id == id:
                return product
        raise CatalogueError(f'product "{id}" is not in the catalogue', remedy="Add it, or correct the step's product.")
