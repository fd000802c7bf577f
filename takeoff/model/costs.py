"""Material, labour and price lines.

Every line carries its ``arithmetic``: how it came about in words, the numbers put in, and the result, one line each.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from takeoff.model.cut_lists import CutPlan, MatLayout, Piece, StockPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialNeed:
    """What one step in one room takes: theoretical, loss, and needed amount in the product's unit.

    ``done`` is what the step is counted by on site, in m², m or pieces. ``theoretical`` is before loss, ``in_tools``
    the part of what is needed that stays in tools; for mat the area covered, and ``layouts`` say where its drops hang,
    face by face, spare drops last. ``pieces`` are the lengths to cut of a product that comes in stock lengths.
    """

    system: str
    step: str
    room: str
    product: str
    unit: str
    basis: str
    basis_value: float
    theoretical: float
    loss: float
    needed: float
    arithmetic: tuple[str, ...]
    in_tools: float = 0.0
    layouts: tuple[MatLayout, ...] = ()
    pieces: tuple[Piece, ...] = ()
    runs: tuple[str, ...] = ()
    done: float = 0.0
    colour: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaLine:
    """The wall that one system's coats cover in one room, in m²: net + returns − what is behind the cove.

    ``is_coated`` is False for a system without wall coats; ``coated`` is 0 then.
    """

    system: str
    room: str
    room_label: str
    net: float
    returns: float
    behind_cove: float
    coated: float
    is_coated: bool
    arithmetic: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackCount:
    """So many of one pack."""

    pack: str
    size: float
    price: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialLine:
    """One product in one colour to buy for the whole job: need, whole packs, left over, cost.

    ``cut_plan`` says what is cut from each roll of a mat, ``stock_plan`` from each length of a strip.
    """

    product: str
    name: str
    unit: str
    needed: float
    packs: tuple[PackCount, ...]
    bought: float
    left_over: float
    colour_packs: int
    cost: float
    arithmetic: tuple[str, ...]
    needs: tuple[MaterialNeed, ...] = ()
    cut_plan: CutPlan | None = None
    stock_plan: StockPlan | None = None
    colour: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabourLine:
    """Hours of one step in one room, and their cost at the burdened rate."""

    system: str
    step: str
    name: str
    room: str
    basis: str
    basis_value: float
    hours: float
    cost: float
    arithmetic: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceLine:
    """One line from direct cost up to the price; the id of a line of one's own begins with ``own:``."""

    id: str
    label: str
    amount: float
    arithmetic: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomPrice:
    """A room's or a system's share of the price, by its own direct cost."""

    id: str
    label: str
    area: float
    material: float
    labour: float
    price: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteDays:
    """A plan in the figures that are paid for.

    ``visits`` counts crews by days, ``days`` the days on which any crew is on site, and ``phases`` how often crews come
    with their equipment. ``access_days`` are the working days from the first to the last of each phase. ``trips`` go
    there and back, ``travel_hours`` and ``travel_km`` one way; ``nights`` and ``day_rates`` are counted by person.
    ``abrading`` and ``waiting`` are crew hours.
    """

    start: date
    finish: date
    crews: int
    visits: int
    days: int
    phases: int
    access_days: int
    trips: int
    nights: int
    day_rates: int
    travel_hours: float
    travel_km: float
    abrading: float
    waiting: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A priced job: what to buy, hours, and the way from direct cost to price.

    ``net_area`` is the wall under systems that coat walls, in m², and ``paid_area`` the same by the measuring rule that
    it was measured with. ``areas`` lead from it to what coats are ordered for
    and labour is counted by. ``hours`` are man-hours, set-up included;
    ``crew_days`` are those hours over crew and shift; or, where it is priced by a plan of days, which ``site`` counts,
    the visits of crews. ``access_days`` are the working days that access stands for, by a plan; None where none was
    made. ``retention`` is the part of the price that is paid late. Money is rounded to the cent line by
    line, so that what is printed adds up.
    """

    currency: str
    materials: tuple[MaterialLine, ...]
    labour: tuple[LabourLine, ...]
    price: tuple[PriceLine, ...]
    rooms: tuple[RoomPrice, ...]
    systems: tuple[RoomPrice, ...]
    hours: float
    crew_days: float
    net_area: float
    price_per_area: float
    cautions: tuple[str, ...]
    paid_area: float = 0.0
    areas: tuple[AreaLine, ...] = ()
    notes: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    site: SiteDays | None = None
    retention: float = 0.0
    access_days: int | None = None

    @property
    def has_price(self) -> bool:
        """True where something is bought or worked, so that there is a price to speak of."""
        return bool(self.materials or self.labour)

    @property
    def pays_by_rule(self) -> bool:
        """True where the area for payment is another than the net area."""
        return self.paid_area > 0.0 and abs(self.paid_area - self.net_area) > 1e-6

    @property
    def price_per_paid_area(self) -> float:
        """Price per m² of the area for payment."""
        return self.line("price").amount / self.paid_area if self.paid_area > 0.0 else 0.0

    def line(self, id: str) -> PriceLine:
        """Return the price line with this id."""
        return next(p for p in self.price if p.id == id)
