"""Rooms, runs, openings, height profiles and coves."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar, Literal

from takeoff.errors import GeometryError
from takeoff.geometry.paths import Path
from takeoff.model.open_points import Basis
from takeoff.model.plan import Point
from takeoff.model.systems import Substrate

Face = Literal["left", "right", "both"]
Line = Literal["face", "centre"]
End = Literal["free", "abut", "return"]
Top = Literal["ceiling", "exposed", "return"]
OpeningKind = Literal["door", "window", "pass-through", "louvre", "equipment"]
Edge = Literal["jamb", "head", "sill"]

MAX_HEIGHT = 100.0
"""Metres; a coating that ends higher than this above its floor is taken for a slip of the unit."""
LEAST = 0.001
"""Metres; the smallest height of a coating and size of an opening, a millimetre: less is a slip. No source."""
TALLEST_DOOR = 6.0
"""Metres; an opening up to here is never refused for its height: 20 ft, above common dock doors. No source."""
ABOVE_WALL = 1.5
"""A higher opening may reach above the coating by this factor; coatings often end below the head of a door."""


def _finite(value: float, name: str, *, low: float = -math.inf, high: float = math.inf, strict: bool = False) -> None:
    if not math.isfinite(value):
        raise GeometryError(f"{name} is {value!r}", remedy="Give a finite length.")
    if value <= low if strict else value < low:
        raise GeometryError(
            f"{name} is {value:g} m, it must be {'more than' if strict else 'at least'} {low:g} m",
            remedy="Check the number and its unit.",
        )
    if value > high:
        raise GeometryError(f"{name} is {value:g} m, more than {high:g} m", remedy="Check the number and its unit.")


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightProfile:
    """Top of the coating above the floor, in metres, along a run.

    ``points`` are (station, height) pairs in order of station, joined by straight lines; two pairs at one station make
    a step; before the first and after the last pair the height stays constant. One pair is a constant height.
    """

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        if not self.points:
            raise GeometryError("the height profile is empty", remedy="Give a height such as 10'-0\" or 3.0.")
        for station, height in self.points:
            _finite(station, "height station", low=0.0)
            _finite(height, "height", low=LEAST, high=MAX_HEIGHT)
        stations = [p[0] for p in self.points]
        if any(b < a for a, b in pairwise(stations)):
            raise GeometryError(
                "the height stations are not in order", remedy="List them from the wall's start to its end."
            )
        if any(stations[i] == stations[i + 2] for i in range(len(stations) - 2)):
            raise GeometryError(
                "three heights stand at one station", remedy="A step takes two pairs: the height before and after it."
            )

    @classmethod
    def constant(cls, height: float) -> HeightProfile:
        """Make the profile of a level top."""
        return cls(points=((0.0, height),))

    @property
    def is_constant(self) -> bool:
        """True where the top is level from end to end."""
        return all(h == self.points[0][1] for _, h in self.points)

    @property
    def mark(self) -> float | str:
        """What a basis keeps of it: the height where it is level, else its pairs."""
        if self.is_constant:
            return self.points[0][1]
        return " ".join(f"{station:.9g}:{height:.9g}" for station, height in self.points)


USUAL_TOE = 0.0254
"""Metres that a cove reaches out on the floor: an inch (common practice, no source)."""
USUAL_THICKNESS = 0.1875 * 0.0254
"""Metres of mortar on a cove's legs: 3/16 in (common practice; a published kit covers 35 ft of 4 in cove at that)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cove:
    """An integral cove base: leg height and toe from the finished corner, fillet radius and leg thickness, in metres.

    ``jamb_return`` is the length by which the cove turns into each jamb of a door. ``lap`` is how far the wall coat
    laps down over the top of the cove; with 0 it starts at the cove's top.
    """

    height: float
    toe: float
    radius: float
    thickness: float
    jamb_return: float = 0.0
    lap: float = 0.0

    def __post_init__(self) -> None:
        _finite(self.height, "cove height", low=0.0, high=2.0, strict=True)
        _finite(self.toe, "cove toe", low=0.0, high=2.0, strict=True)
        _finite(self.radius, "cove radius", low=0.0)
        _finite(self.thickness, "cove thickness", low=0.0, high=0.2)
        _finite(self.jamb_return, "cove jamb return", low=0.0, high=2.0)
        _finite(self.lap, "cove lap", low=0.0, high=self.height)
        if self.radius > min(self.height, self.toe):
            raise GeometryError(
                f"a cove radius of {self.radius:g} m does not fit legs of {self.height:g} m and {self.toe:g} m",
                remedy="The radius can be at most the shorter leg.",
            )

    @classmethod
    def usual(
        cls, height: float, *, toe: float | None = None, radius: float | None = None, thickness: float | None = None
    ) -> Cove:
        """Make a cove of which only some sizes are known; the others are those that are usual (`USUAL_TOE` and so on).

        Examples
        --------
        >>> cove = Cove.usual(0.1016)
        >>> cove.toe, cove.radius, round(cove.thickness, 7)
        (0.0254, 0.0254, 0.0047625)
        """
        out = min(max(USUAL_TOE, radius or 0.0), height) if toe is None else toe
        return cls(
            height=height,
            toe=out,
            radius=min(height / 4.0, height, out) if radius is None else radius,
            thickness=min(USUAL_THICKNESS, height, out) if thickness is None else thickness,
        )

    @property
    def mark(self) -> str:
        """What a basis keeps of it: leg, toe, radius and thickness."""
        return " ".join(f"{size:.9g}" for size in (self.height, self.toe, self.radius, self.thickness))


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """An opening on a run.

    ``at`` is the station of its centre in metres from the run's first vertex, measured along the traced line. It spans
    from ``sill`` to ``sill + height`` above the floor. ``count`` equal openings follow one another along the run,
    ``spacing`` metres from centre to centre (``None``: one clear width apart, closer where the run is too short).
    ``reveal`` is the depth of the reveal and ``coated`` names which of its sides are coated. An opening has one reveal:
    of a run measured on both faces it is the depth on both together. ``outline`` makes it a polygon: (u, v) pairs, u
    from the centre along the run, v above the sill, within width × height. ``basis`` says of "width", "height", "sill"
    and "kind" how a reader or a default got them; a field without one is a person's.
    """

    at: float
    width: float
    height: float
    sill: float = 0.0
    count: int = 1
    spacing: float | None = None
    kind: OpeningKind = "door"
    reveal: float = 0.0
    coated: tuple[Edge, ...] = ()
    outline: tuple[tuple[float, float], ...] | None = None
    mark: str = ""
    basis: tuple[Basis, ...] = ()

    def __post_init__(self) -> None:
        _finite(self.at, "opening at", low=0.0)
        _finite(self.width, "opening width", low=LEAST)
        _finite(self.height, "opening height", low=LEAST, high=MAX_HEIGHT)
        _finite(self.sill, "opening sill", low=0.0, high=MAX_HEIGHT)
        _finite(self.reveal, "reveal", low=0.0, high=10.0)
        if self.spacing is not None:
            _finite(self.spacing, "opening spacing", low=0.0, strict=True)
        if not 1 <= self.count <= 10_000:
            raise GeometryError(f"an opening count of {self.count:,}", remedy="Give a whole number from 1 to 10,000.")
        if self.outline is not None and len(self.outline) < 3:
            raise GeometryError("an opening outline needs three points or more", remedy="Leave it out for a rectangle.")
        half, slack = self.width / 2, 1e-9
        for u, v in self.outline or ():
            if not (-half - slack <= u <= half + slack and -slack <= v <= self.height + slack):
                raise GeometryError(
                    "an opening outline leaves its width × height",
                    remedy="u runs from −width/2 to width/2, v from 0 to height.",
                )


MOST_ALIKE = 10_000
"""Times that a room is built at the most (judgement, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A room: what the finish schedule says of it. ``height`` is the top of the coating above the floor.

    ``colour`` is of its coats, ``substrate`` what they go onto; empty and None where nobody said it. ``basis`` says how
    height, system and cove were got, of "scope" which words say that it may not be in the contract, of "times" that
    it is built several times, and of "codes" which finish codes stand in it. ``count`` is how often it is built as it
    is traced: all that is measured of it counts that often.
    """

    id: str
    name: str = ""
    number: str = ""
    height: HeightProfile | None = None
    system: str | None = None
    cove: Cove | None = None
    basis: tuple[Basis, ...] = ()
    colour: str = ""
    substrate: Substrate | None = None
    count: int = 1

    scope: ClassVar[str] = "in the price"
    """Whether its walls are priced: a basis says which words make that unsure."""
    codes: ClassVar[str] = ""

    def __post_init__(self) -> None:
        if not 1 <= self.count <= MOST_ALIKE:
            raise GeometryError(
                f"a room that is built {self.count} times", remedy=f"Give a whole number from 1 to {MOST_ALIKE}."
            )

    @property
    def times(self) -> str:
        """How often it is built, in words."""
        return "once" if self.count == 1 else f"{self.count} times"


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A traced line of wall face.

    ``points_pt`` are sheet points; ``bulges`` has one value per segment (per vertex if closed): the tangent of a
    quarter of the included angle, positive where the arc turns counter-clockwise on the drawing as displayed (the DXF
    convention). ``face`` is the coated side, the left or right hand of someone who walks the points in order on the
    drawing as displayed. With ``line = "centre"`` each face lies half a thickness from the traced line; with ``line =
    "face"`` the traced line is the face itself, and with both faces it is the left one and the other lies one thickness
    to its right. What is left ``None`` of ``height``, ``system``, ``cove`` and ``substrate``, or empty of ``colour``,
    comes from the room; ``no_cove`` keeps the room's cove off this run. ``base`` is where the coating starts above the
    floor. An end is "free" (the coating stops: a termination), "abut" (it goes on in something else) or "return" (the
    coated end of a wall as thick as ``thickness``). ``top`` "exposed" makes the top edge a termination, and "return"
    coats the top of a low wall, as deep as it is thick. ``basis`` says how a reader or a default got a field, "outline"
    for the line as a whole, "gaps" for whether all openings were read; a field without one is a person's.
    """

    id: str
    sheet: int
    room: str | None = None
    points_pt: tuple[Point, ...]
    bulges: tuple[float, ...] = ()
    closed: bool = False
    face: Face = "left"
    line: Line = "face"
    thickness: float = 0.0
    height: HeightProfile | None = None
    base: float = 0.0
    system: str | None = None
    cove: Cove | None = None
    no_cove: bool = False
    top: Top = "ceiling"
    ends: tuple[End, End] = ("free", "free")
    openings: tuple[Opening, ...] = ()
    basis: tuple[Basis, ...] = ()
    colour: str = ""
    substrate: Substrate | None = None

    def __post_init__(self) -> None:
        n = len(self.points_pt)
        if n < (3 if self.closed and not any(self.bulges) else 2):
            raise GeometryError(
                f"{'a closed' if self.closed else 'an open'} wall of {n} point{'s' * (n != 1)}",
                remedy="An open wall needs two points, a closed one three.",
            )
        for x, y in self.points_pt:
            if not (math.isfinite(x) and math.isfinite(y)):
                raise GeometryError("a point is not a finite number", remedy="Give sheet points as [x, y].")
        segments = n if self.closed else n - 1
        if self.bulges and len(self.bulges) not in (segments, n):
            raise GeometryError(
                f"{len(self.bulges)} bulges for {segments} segments",
                remedy="Give one bulge per segment, 0 for straight.",
            )
        if not all(math.isfinite(b) and abs(b) < 1e3 for b in self.bulges):
            raise GeometryError("a bulge is not a usable number", remedy="A half circle is 1; a straight segment is 0.")
        for i in range(segments):
            if self.points_pt[i] == self.points_pt[(i + 1) % n]:
                raise GeometryError(
                    f"points {i + 1} and {(i + 1) % n + 1} are the same", remedy="Leave one of them out."
                )
        _finite(self.thickness, "thickness", low=0.0, high=10.0)
        _finite(self.base, "base", low=0.0, high=MAX_HEIGHT)
        if self.height is not None and all(h <= self.base for _, h in self.height.points):
            raise GeometryError("the coating's top is not above its base", remedy="Raise the height or lower the base.")
        if self.thickness == 0 and (self.face == "both" or self.line == "centre" or "return" in (*self.ends, self.top)):
            raise GeometryError(
                "both faces, a centreline, a returned end or top need the wall's thickness", remedy='Set "thickness".'
            )

    @property
    def outline(self) -> str:
        """A short text that is another one as soon as the line is another: what a basis keeps of it."""
        line = repr((self.closed, self.points_pt, self.segment_bulges))
        return hashlib.sha256(line.encode()).hexdigest()[:16]

    @property
    def gaps(self) -> str:
        """A short text that is another one as soon as an opening comes, goes or moves: what a basis keeps of them."""
        places = repr(sorted((round(o.at, 4), round(o.width, 4)) for o in self.openings))
        return hashlib.sha256(places.encode()).hexdigest()[:16]

    @property
    def segment_count(self) -> int:
        """Number of segments, the closing one included."""
        return len(self.points_pt) if self.closed else len(self.points_pt) - 1

    @property
    def segment_bulges(self) -> tuple[float, ...]:
        """One bulge per segment; zeros where none were given."""
        return self.bulges[: self.segment_count] if self.bulges else (0.0,) * self.segment_count

    @property
    def path_pt(self) -> Path:
        """The traced line as a path of sheet points."""
        return Path(self.points_pt, self.segment_bulges, self.closed)


def check_opening_height(opening: Opening, top: HeightProfile | None) -> None:
    """Refuse an opening far higher than the wall that it is in, such as a door of 70 ft in a wall of 10 ft.

    Raises `GeometryError` when it is higher than `TALLEST_DOOR`, and its head lies above `ABOVE_WALL` times the top of
    the coating, ``top``; nothing is refused where that is not known.
    """
    highest = math.inf if top is None else max(height for _, height in top.points)
    if opening.height > TALLEST_DOOR and opening.sill + opening.height > ABOVE_WALL * highest:
        raise GeometryError(
            f"an opening {opening.height:.2f} m high in a wall coated up to {highest:.2f} m",
            remedy="Check the height and its unit, or set the wall's height first.",
        )
