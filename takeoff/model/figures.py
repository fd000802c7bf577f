"""Figures: elevations and measured quantities. SI units throughout: m, m², m³ where not said otherwise."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Literal

from takeoff.model.systems import Substrate
from takeoff.model.walls import Opening, Top

if TYPE_CHECKING:  # slow to load, and wanted here for a name
    from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedOpening:
    """An opening on an elevation: station ``x0`` to ``x1``, ``z0`` to ``z1`` above the floor, made by ``source``."""

    x0: float
    x1: float
    z0: float
    z1: float
    source: Opening
    index: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """A corner at ``station``: turning angle in radians (positive inside, negative outside), length in metres.

    ``joined`` is the id of the other run where two runs make it together, else empty.
    """

    station: float
    turn: float
    length: float
    vertex: int
    joined: str = ""

    @property
    def is_inside(self) -> bool:
        """True where the angle on the coated side is under 180°."""
        return self.turn > 0


ReturnEdge = Literal["jamb", "head", "sill", "end", "top"]
"""Sides of an opening, the end of a wall, the top of a low one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnStrip:
    """A coated return: so long along the edge that it turns from, so deep behind the face; m.

    ``opening`` is the opening's number in the run, from 0; ``None`` for an end or top of the wall itself. ``low`` is
    the lowest height above the floor that it reaches.
    """

    edge: ReturnEdge
    length: float
    depth: float
    low: float
    opening: int | None = None

    @property
    def area(self) -> float:
        """Area in m²."""
        return self.length * self.depth


@dataclass(frozen=True, slots=True, kw_only=True)
class Elevation:
    """One face of a run developed flat: station along (m), height above the floor up (m).

    ``wall`` is the face before openings, ``net`` what is left of it. ``face`` is "left" or "right". ``line`` is the
    developed plan line of the face in building metres, y down, arcs flattened for drawing only. ``returns``
    are coated reveals, wall ends and tops. ``key`` is run id and face, ``a:left``. ``times`` is how often its room is
    built.
    """

    run: str
    face: str
    room: str | None
    system: str | None
    length: float
    is_closed: bool
    top: Top
    base: float
    wall: BaseGeometry
    net: BaseGeometry
    profile: tuple[tuple[float, float], ...]
    openings: tuple[PlacedOpening, ...]
    corners: tuple[Corner, ...]
    line: tuple[tuple[float, float], ...]
    returns: tuple[ReturnStrip, ...] = ()
    times: int = 1

    @property
    def key(self) -> str:
        """Run id and face."""
        return f"{self.run}:{self.face}"

    @property
    def max_height(self) -> float:
        """Highest point of the coating above its base in metres."""
        return max(h for _, h in self.profile) - self.base


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantities:
    """What is measured on one face, or the sum over several; lengths m, areas m², section volumes m³, counts plain.

    ``end_length`` are free vertical ends (terminations), ``joined_length`` vertical ends that go on in another run or
    abut. ``top_exposed_length`` is the part of ``top_length`` that is a termination, and
    ``return_edge_length`` the edges of coated wall ends and tops that are. ``cove_band_area`` is the part of
    the net area that the cove covers. ``perimeter`` is the boundary of the net area and equals base + top + end +
    joined + jamb + head + sill.
    """

    length: float = 0.0
    gross_area: float = 0.0
    net_area: float = 0.0
    deducted_area: float = 0.0
    return_area: float = 0.0
    measured_area: float = 0.0
    base_length: float = 0.0
    top_length: float = 0.0
    top_exposed_length: float = 0.0
    return_edge_length: float = 0.0
    end_length: float = 0.0
    joined_length: float = 0.0
    jamb_length: float = 0.0
    head_length: float = 0.0
    sill_length: float = 0.0
    perimeter: float = 0.0
    inside_corners: float = 0.0
    outside_corners: float = 0.0
    inside_corner_length: float = 0.0
    outside_corner_length: float = 0.0
    cove_length: float = 0.0
    cove_girth_area: float = 0.0
    cove_volume: float = 0.0
    cove_band_area: float = 0.0
    cove_inside_corners: float = 0.0
    cove_outside_corners: float = 0.0
    openings: float = 0.0

    @property
    def opening_edge_length(self) -> float:
        """Jambs, heads and sills together."""
        return self.jamb_length + self.head_length + self.sill_length

    @property
    def corner_length(self) -> float:
        """Inside and outside corners together."""
        return self.inside_corner_length + self.outside_corner_length

    @property
    def termination_length(self) -> float:
        """Every edge where the coating stops in the open: free ends, exposed tops, edges of returns and openings."""
        return self.end_length + self.top_exposed_length + self.return_edge_length + self.opening_edge_length

    @property
    def masked_length(self) -> float:
        """Every line to mask: where the coating stops in the open, and along floor and ceiling."""
        return self.termination_length + self.base_length + self.top_length - self.top_exposed_length

    @property
    def coated_area(self) -> float:
        """What wall coats are ordered for: net area and coated returns, less what the cove covers below its lap."""
        return self.net_area + self.return_area - self.cove_band_area

    def __add__(self, other: Quantities) -> Quantities:
        return Quantities(**{f: getattr(self, f) + getattr(other, f) for f in QUANTITY_FIELDS})

    def __mul__(self, times: float) -> Quantities:
        return self if times == 1 else Quantities(**{f: getattr(self, f) * times for f in QUANTITY_FIELDS})


QUANTITY_FIELDS: tuple[str, ...] = tuple(f.name for f in fields(Quantities))


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertainty:
    """Expanded uncertainties (k = 2) of a total: net area in m² and base length in m (JCGM 100:2008)."""

    net_area: float = 0.0
    base_length: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredItem:
    """One line of a measurement: a room, a run's face or a system; ``sources`` are run ids, ``doubts`` sentences."""

    id: str
    label: str
    quantities: Quantities
    u: Uncertainty
    sources: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """Items, their total and the measuring rule whose figure is ``measured_area``; ``by`` is room, run or system.

    ``left_out`` says which walls could not be measured and so are in no figure, by room, as it is shown.
    """

    by: str
    rule: str
    items: tuple[MeasuredItem, ...]
    total: MeasuredItem
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """The work of one system in one room, on one substrate and in one colour: what an estimate sees instead of runs.

    ``substrate`` is None where nobody said it, ``colour`` empty.
    ``bands`` are (from height, to height, net area) in m, m, m² for work at height. ``times`` is how often the room is
    built: ``quantities`` and ``bands`` are of all copies, and ``faces`` holds each face that often.
    """

    system: str
    room: str
    room_label: str
    quantities: Quantities
    faces: tuple[Elevation, ...] = ()
    bands: tuple[tuple[float, float, float], ...] = ()
    runs: tuple[str, ...] = ()
    substrate: Substrate | None = None
    colour: str = ""
    times: int = 1
