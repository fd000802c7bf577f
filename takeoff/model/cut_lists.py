"""Mat and strips to cut: drops on a face, the rolls and stock lengths they come from. Lengths in metres, areas m²."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """One piece of mat on a face: stations ``x0`` to ``x1``, heights ``z0`` to ``z1`` above the floor.

    On a closed face stations go on past its length where drops go on past its start. ``length`` and ``width`` are
    what is cut, trims included; ``width`` may be less than the roll's. ``number`` counts on its face from 1 in hanging
    order. ``is_short`` says that it does not reach from base to top.
    """

    face: str
    number: int
    x0: float
    x1: float
    z0: float
    z1: float
    length: float
    width: float
    is_short: bool = False

    @property
    def label(self) -> str:
        """Face and number, ``a:left/3``."""
        return f"{self.face}/{self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Offcut:
    """A rectangle that comes free where an opening is cut out of the drop named in ``source``."""

    source: str
    length: float
    width: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MatLayout:
    """The drops of one face or several, what comes free, and the joints between pieces.

    ``returns`` are pieces for coated reveals, ends and tops of walls. ``seam_length`` is every joint between
    neighbouring pieces; ``lap_area`` what laps cover twice; ``net_area`` the wall that is covered. ``roll_width`` is
    the width the layout was made for.
    """

    roll_width: float
    drops: tuple[Drop, ...]
    offcuts: tuple[Offcut, ...]
    seam_length: float
    lap: float
    net_area: float
    returns: tuple[Drop, ...] = ()

    @property
    def pieces(self) -> tuple[Drop, ...]:
        """Every piece that is cut: drops and returns."""
        return (*self.drops, *self.returns)

    @property
    def lap_area(self) -> float:
        """What laps at the joints cover twice."""
        return self.seam_length * self.lap

    @property
    def mat_area(self) -> float:
        """Mat cut for the drops: laps, trims and the openings cut out of them included."""
        return math.fsum(drop.length * drop.width for drop in self.pieces)

    @property
    def free_area(self) -> float:
        """Rectangles that come free where openings are cut out of drops."""
        return math.fsum(offcut.length * offcut.width for offcut in self.offcuts)

    @property
    def hung_area(self) -> float:
        """Mat that hangs, laps and trims included."""
        return self.mat_area - self.free_area


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One cut across a roll: its length, the drop that sets it, and the pieces laid into what it leaves."""

    number: int
    length: float
    drop: Drop
    beside: tuple[Drop, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Roll:
    """A roll with its cuts in order, and what is left at its end in m."""

    number: int
    cuts: tuple[Cut, ...]
    left: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reuse:
    """A piece cut from what came free where an opening was cut out of the drop labelled ``source``."""

    drop: Drop
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPlan:
    """Rolls to open and what to cut from each.

    ``lower_bound`` is how many rolls the cuts take at least; ``first_fit`` what first-fit decreasing takes with every
    drop cut across the whole roll and nothing reused. ``lap_length`` is the part of ``seam_length`` that laps.
    ``mat_area`` is what is cut for the drops, ``free_area`` the rectangles of it that come free at openings, whether
    reused or not.
    """

    roll_length: float
    roll_width: float
    rolls: tuple[Roll, ...]
    reused: tuple[Reuse, ...]
    lower_bound: int
    first_fit: int
    seam_length: float
    lap_length: float
    lap_area: float
    mat_area: float
    free_area: float
    net_area: float

    @property
    def bought_area(self) -> float:
        """Whole rolls."""
        return len(self.rolls) * self.roll_length * self.roll_width

    @property
    def waste_area(self) -> float:
        """What is bought and does not hang on the wall: ends of rolls, what is beside drops, openings cut out."""
        return max(0.0, self.bought_area - self.mat_area + self.free_area)

    @property
    def waste(self) -> float:
        """Waste as a fraction of what is bought."""
        return self.waste_area / self.bought_area if self.rolls else 0.0

    @property
    def gap(self) -> int:
        """Rolls by which a better plan for these cuts is not ruled out."""
        return len(self.rolls) - self.lower_bound


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A length to cut from stock, and where it goes: a face by its key and a station on it in m, where it is known."""

    label: str
    length: float
    face: str = ""
    at: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLength:
    """One stock length: the pieces cut from it in order, and what is left in m."""

    number: int
    pieces: tuple[Piece, ...]
    left: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StockPlan:
    """Stock lengths to open and what to cut from each.

    ``joints`` counts where a piece longer than the stock is made of several.
    """

    stock_length: float
    stock: tuple[StockLength, ...]
    lower_bound: int
    first_fit: int
    joints: int

    @property
    def waste_length(self) -> float:
        """What is bought and is in no piece."""
        used = math.fsum(piece.length for length in self.stock for piece in length.pieces)
        return max(0.0, len(self.stock) * self.stock_length - used)


@dataclass(frozen=True, slots=True, kw_only=True)
class CutList:
    """What is cut of one product: ``rolls`` of a mat, or ``lengths`` of a strip."""

    product: str
    name: str
    rolls: CutPlan | None = None
    lengths: StockPlan | None = None
