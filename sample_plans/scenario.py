"""The sample building as data: one food-packing wing, invented, in metres.

Frame: x east, y south, from the outer north-west corner of the building at the foot of its straight walls. Dimensions
are round in feet and inches and kept in metres; nothing here knows of paper, pages or files.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

FOOT = 0.3048
INCH = 0.0254
Point = tuple[float, float]


def ft(feet: float, inches: float = 0.0) -> float:
    """Turn feet and inches into metres."""
    return feet * FOOT + inches * INCH


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A room: its inner face clockwise as displayed from the north-west corner, one bulge per side.

    ``top`` is the top of the coating in metres and ``ceiling`` the height of the room. ``corners`` are the heights at
    the corners where the ceiling slopes. ``codes`` are floor, base, wall and ceiling of the finish schedule.
    """

    number: str
    name: str
    points: tuple[Point, ...]
    top: float
    ceiling: float
    system: str
    codes: tuple[str, str, str, str]
    remark: str
    has_cove: bool = True
    corners: tuple[float, ...] = ()
    bulges: tuple[float, ...] = ()
    is_exposed: bool = False
    tag: Point = (0.0, 0.0)

    @property
    def id(self) -> str:
        """Identity in the edits files."""
        return f"R{self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """An opening in a straight wall between the faces ``lo`` and ``hi``; ``axis`` is the direction the wall runs.

    ``at`` is the centre along that axis in building metres. ``style`` says how it is drawn. ``swing`` is -1 towards
    ``lo`` and +1 towards ``hi``; ``hinge`` is -1 at the lower jamb and +1 at the higher. ``rooms`` see it from inside;
    ``reveals`` are the coated reveal depths by room.
    """

    mark: str
    style: str
    axis: str
    at: float
    lo: float
    hi: float
    width: float
    height: float
    rooms: tuple[str, ...]
    sill: float = 0.0
    hinge: int = -1
    swing: int = 1
    reveals: dict[str, float] = field(default_factory=dict)

    @property
    def kind(self) -> str:
        """Kind in the words of the edits file."""
        return {"window": "window", "pass": "pass-through"}.get(self.style, "door")


def _box(x0: float, y0: float, x1: float, y1: float) -> tuple[Point, ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


WIDTH, DEPTH = ft(80), ft(52)
OUTER, INNER = ft(0, 8), ft(0, 6)
XS_NORTH = (ft(0, 8), ft(36, 8), ft(37, 2), ft(63, 2), ft(63, 8), ft(79, 4))
XS_SOUTH = (ft(0, 8), ft(16, 8), ft(17, 2), ft(37, 2), ft(37, 8), ft(51, 8), ft(52, 2), ft(79, 4))
YS = (ft(0, 8), ft(22, 8), ft(23, 2), ft(31, 2), ft(31, 8), ft(51, 4))

BOW_RISE = ft(3)
BOW_CHORD = XS_NORTH[3] - XS_NORTH[2]
BOW_RADIUS = (BOW_CHORD**2 / 4 + BOW_RISE**2) / (2 * BOW_RISE)
BOW_CENTRE: Point = ((XS_NORTH[2] + XS_NORTH[3]) / 2, YS[0] + BOW_RADIUS - BOW_RISE)
BOW_BULGE = -2 * BOW_RISE / BOW_CHORD
"""Negative: from west to east the north wall of the packing room turns clockwise as displayed."""

PIER_X, PIER_Y = ft(39, 8), ft(49, 10)
COVE = {"height": ft(0, 4), "toe": ft(0, 1), "radius": ft(0, 1), "thickness": ft(0, 0.1875)}
STORE_HIGH, STORE_LOW = ft(12), ft(9)

ROOMS: tuple[Room, ...] = (
    Room(
        number="101",
        name="Corridor",
        points=_box(XS_NORTH[0], YS[2], XS_NORTH[5], YS[3]),
        top=ft(4),
        ceiling=ft(9),
        system="flake-wall",
        codes=("F2", "B0", "W5", "C1"),
        remark="Wainscot only; wall above it by others",
        has_cove=False,
        is_exposed=True,
        tag=(ft(31), ft(27, 2)),
    ),
    Room(
        number="102",
        name="Gowning",
        points=(
            (XS_SOUTH[4], YS[4]),
            (XS_SOUTH[5], YS[4]),
            (XS_SOUTH[5], YS[5]),
            (PIER_X, YS[5]),
            (PIER_X, PIER_Y),
            (XS_SOUTH[4], PIER_Y),
        ),
        top=ft(9),
        ceiling=ft(9),
        system="thin-film",
        codes=("F2", "B1", "W4", "C1"),
        remark="Coat the furred pier as the walls",
        tag=(ft(44, 8), ft(42)),
    ),
    Room(
        number="103",
        name="Wash",
        points=_box(XS_SOUTH[0], YS[4], XS_SOUTH[1], YS[5]),
        top=ft(10),
        ceiling=ft(10),
        system="mat-urethane",
        codes=("F1", "B1", "W2", "C2"),
        remark="Splash wall both faces and both ends",
        tag=(ft(8, 8), ft(37, 6)),
    ),
    Room(
        number="104",
        name="Process",
        points=_box(XS_NORTH[0], YS[0], XS_NORTH[1], YS[1]),
        top=ft(12),
        ceiling=ft(12),
        system="mat-hygienic",
        codes=("F1", "B1", "W1", "C2"),
        remark="Pillars full height; coat reveals of windows A",
        tag=(ft(18, 8), ft(10, 3)),
    ),
    Room(
        number="105",
        name="Packing",
        points=_box(XS_NORTH[2], YS[0], XS_NORTH[3], YS[1]),
        bulges=(BOW_BULGE, 0.0, 0.0, 0.0),
        top=ft(10),
        ceiling=ft(10),
        system="mat-polyaspartic",
        codes=("F1", "B1", "W3", "C2"),
        remark="North wall curved; coat reveal of pass-through",
        tag=(ft(50, 2), ft(4, 6)),
    ),
    Room(
        number="106",
        name="Cold room",
        points=_box(XS_SOUTH[2], YS[4], XS_SOUTH[3], YS[5]),
        top=ft(9),
        ceiling=ft(9),
        system="sheet-panel",
        codes=("F1", "B1", "W8", "C3"),
        remark="Sheet set on top of the cove",
        tag=(ft(27, 2), ft(41, 6)),
    ),
    Room(
        number="107",
        name="Store",
        points=_box(XS_NORTH[4], YS[0], XS_NORTH[5], YS[1]),
        top=STORE_HIGH,
        ceiling=STORE_HIGH,
        corners=(STORE_HIGH, STORE_LOW, STORE_LOW, STORE_HIGH),
        system="block-filled",
        codes=("F3", "B0", "W6", "C4"),
        remark="Ceiling falls from west to east",
        has_cove=False,
        tag=(ft(71, 6), ft(11, 9)),
    ),
    Room(
        number="108",
        name="Receiving",
        points=_box(XS_SOUTH[6], YS[4], XS_SOUTH[7], YS[5]),
        top=ft(0, 4),
        ceiling=ft(10),
        system="cove-only",
        codes=("F1", "B1", "W7", "C4"),
        remark="Cove base only; walls as found",
        tag=(ft(65, 8), ft(40, 6)),
    ),
)

_NORTH, _MID_N, _MID_S, _SOUTH = (0.0, YS[0]), (YS[1], YS[2]), (YS[3], YS[4]), (YS[5], DEPTH)


def _opening(
    mark: str, style: str, axis: str, at: float, faces: Point, size: Point, rooms: str, **more: object
) -> Opening:
    return Opening(
        mark=mark,
        style=style,
        axis=axis,
        at=at,
        lo=faces[0],
        hi=faces[1],
        width=size[0],
        height=size[1],
        rooms=tuple(rooms.split()),
        **more,  # type: ignore[arg-type]
    )


SINGLE, DOUBLE, ROLL_UP = (ft(3), ft(7)), (ft(6), ft(7)), (ft(8), ft(8))
WINDOW_A, WINDOW_B, WINDOW_C, WINDOW_D, HATCH = (
    (ft(6), ft(4)),
    (ft(5), ft(3)),
    (ft(4), ft(3)),
    (ft(3), ft(3)),
    (ft(4), ft(3)),
)
_A_REVEAL = {"104": ft(0, 4)}

OPENINGS: tuple[Opening, ...] = (
    _opening("101A", "single", "y", ft(27, 2), (0.0, OUTER), SINGLE, "101", swing=-1),
    _opening("102A", "single", "x", ft(44, 8), _MID_S, SINGLE, "101 102"),
    _opening("103A", "single", "x", ft(12, 8), _MID_S, SINGLE, "101 103", hinge=1),
    _opening("104A", "double", "x", ft(18, 8), _MID_N, DOUBLE, "101 104", swing=-1),
    _opening("105A", "double", "x", ft(44, 8), _MID_N, DOUBLE, "101 105", swing=-1),
    _opening("106A", "single", "x", ft(27, 2), _MID_S, SINGLE, "101 106"),
    _opening("107A", "single", "x", ft(67, 2), _MID_N, SINGLE, "101 107", swing=-1),
    _opening("108A", "double", "x", ft(62, 2), _MID_S, DOUBLE, "101 108"),
    _opening("108B", "rollup", "x", ft(66, 2), _SOUTH, ROLL_UP, "108", swing=-1),
    _opening("P", "pass", "x", ft(55, 2), _MID_N, HATCH, "101 105", sill=ft(3), reveals={"105": ft(0, 6)}),
    _opening("A", "window", "x", ft(9, 8), _NORTH, WINDOW_A, "104", sill=ft(3, 6), reveals=_A_REVEAL),
    _opening("A", "window", "x", ft(27, 8), _NORTH, WINDOW_A, "104", sill=ft(3, 6), reveals=_A_REVEAL),
    _opening("B", "window", "y", ft(9, 8), (XS_NORTH[1], XS_NORTH[2]), WINDOW_B, "104 105", sill=ft(3, 6)),
    _opening("C", "window", "y", ft(38, 8), (0.0, OUTER), WINDOW_C, "103", sill=ft(4)),
    _opening("C", "window", "x", ft(44, 8), _SOUTH, WINDOW_C, "102", sill=ft(4)),
    _opening("D", "window", "x", ft(71, 6), _NORTH, WINDOW_D, "107", sill=ft(4)),
)

PILLAR_SIDE, PILLAR_DIAMETER = ft(1, 6), ft(2)
PILLAR_SQUARE: Point = (ft(12, 8), ft(11, 8))
PILLAR_ROUND: Point = (ft(24, 8), ft(11, 8))
SPLASH: tuple[Point, Point] = ((ft(4, 8), ft(43)), (ft(12, 8), ft(43)))
SPLASH_THICKNESS, SPLASH_HEIGHT = ft(1), ft(6)


def arc_points(radius: float, half_angle: float, count: int = 97) -> list[Point]:
    """List points on an arc about the bow's centre, from west to east."""
    cx, cy = BOW_CENTRE
    steps = [half_angle * (2 * i / (count - 1) - 1) for i in range(count)]
    return [(cx + radius * math.sin(a), cy - radius * math.cos(a)) for a in steps]


def room_outline(room: Room) -> list[Point]:
    """List the inner face of a room as a polygon; the curved wall in short chords."""
    if not room.bulges:
        return list(room.points)
    return [*arc_points(BOW_RADIUS, math.asin(BOW_CHORD / 2 / BOW_RADIUS)), *room.points[2:]]
