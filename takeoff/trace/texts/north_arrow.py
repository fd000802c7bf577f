"""North arrows: a tip that points from the middle of its symbol to a letter N, or from round that letter outwards.

A *symbol* is what is drawn near the letter and hangs together. Only what is plain counts: a sharp tip that is the
foremost of the symbol on its way from the middle, which is that of its circle, else of all of it. No standard says how
north is drawn; these are the common forms (common practice, no source).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.geometry.arcs import arc_centre
from takeoff.geometry.pairs import linked_groups
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.frame import sheet_to_displayed
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Floats, Linework

_NORTH = re.compile(r"N\.?|(?:TRUE |PLAN |PROJECT )?NORTH", re.IGNORECASE)
REACH = 8.0
"""Heights of the letter within which its symbol lies (judgement)."""
LEAST = 0.8
"""Heights of the letter that a symbol is wide or high at least (judgement)."""
MANY = 400
"""Lines near a letter above which it stands in a drawing, not beside a symbol (judgement)."""
TOUCH_PT = 0.6
SHARPEST, BLUNTEST = math.radians(6.0), math.radians(65.0)
"""Angles of a tip: an arrow's head, no hatch and no corner."""
OFF = math.radians(10.0)
"""How far the letter may stand beside the line from the middle to the tip."""
SNAP = math.radians(2.0)
"""A direction so near to an axis of the page is on it: arrows are often placed by hand."""


@dataclass(frozen=True, slots=True)
class NorthArrow:
    """Where north is on a sheet as displayed: radians clockwise from up; and where that is drawn, in sheet points."""

    turn: float
    at_pt: Point

    @property
    def words(self) -> str:
        """The direction in words.

        Examples
        --------
        >>> NorthArrow(math.pi / 2, (0.0, 0.0)).words, NorthArrow(math.radians(340), (0.0, 0.0)).words
        ('right', '20° to the left of up')
        """
        degrees = round(math.degrees(self.turn)) % 360
        plain = {0: "up", 90: "right", 180: "down", 270: "left"}.get(degrees)
        side, angle = ("right", degrees) if degrees < 180 else ("left", 360 - degrees)
        return plain or f"{angle}° to the {side} of up"


def read_north_arrows(linework: Linework, lines: Sequence[TextLine], sheet: Sheet) -> tuple[NorthArrow, ...]:
    """Return the plain north arrows of a sheet."""
    found = (_arrow(linework, line, sheet) for line in lines if _NORTH.fullmatch(line.text.strip()))
    return tuple(arrow for arrow in found if arrow is not None)


def _arrow(linework: Linework, line: TextLine, sheet: Sheet) -> NorthArrow | None:
    reach = REACH * line.size
    rows, arcs = (_near(drawn, line, reach) for drawn in (linework.lines, linework.arcs))
    if not 0 < len(rows) <= MANY:
        return None
    for symbol in _symbols(rows):
        ends = symbol.reshape(-1, 2)
        if np.ptp(ends, axis=0).max() < LEAST * line.size:
            continue
        middle = _circle_among(arcs, ends)
        if middle is None:
            middle = shapely.MultiPoint(ends).convex_hull.centroid.coords[0]
        tip = _tip(symbol, middle, line, reach)
        if tip is not None:
            (x0, y0), (x1, y1) = (sheet_to_displayed(sheet, *at) for at in (middle, tip))
            turn = math.atan2(x1 - x0, y0 - y1) % math.tau
            straight = round(turn / (math.pi / 2)) * math.pi / 2
            return NorthArrow(straight % math.tau if abs(turn - straight) < SNAP else turn, tip)
    return None


def _near(drawn: Floats, line: TextLine, reach: float) -> Floats:
    """Return what is drawn near a letter as a whole."""
    near: Floats = drawn[np.abs(drawn[:, :4] - np.tile(line.middle_pt, 2)).max(1, initial=0.0) < reach]
    return near


def _symbols(rows: Floats) -> Iterator[Floats]:
    """Part lines into those that hang together."""
    drawn = shapely.linestrings(rows.reshape(-1, 2, 2))
    one, other = shapely.STRtree(drawn).query(drawn, predicate="dwithin", distance=TOUCH_PT)
    owner = linked_groups(len(rows), one, other)
    for symbol in np.unique(owner):
        yield rows[owner == symbol]


def _circle_among(arcs: Floats, ends: Floats) -> Point | None:
    """Return the middle of the circle that a symbol stands in or on."""
    for x0, y0, x1, y1, bulge in arcs.tolist():
        middle, radius = arc_centre((x0, y0), (x1, y1), bulge)
        if np.hypot(*(ends - middle).T).min() < radius:
            return middle
    return None


def _tip(symbol: Floats, middle: Point, letter: TextLine, reach: float) -> Point | None:
    """Return the sharp tip that points to the letter; where the letter stands in the middle, the only one."""
    ends, at = symbol.reshape(-1, 2), letter.middle_pt
    tips: list[Point] = []
    for x, y in np.unique(np.round(ends, 1), axis=0).tolist():
        ahead = np.array((x - middle[0], y - middle[1]))
        is_foremost = ((ends - middle) @ ahead).max() < ahead @ ahead + TOUCH_PT * math.hypot(*ahead)
        if is_foremost and _is_sharp((x, y), symbol, middle):
            tips.append((x, y))
    if math.dist(middle, at) < letter.size:
        return tips[0] if len(tips) == 1 else None
    on = [tip for tip in tips if abs(_between(middle, tip, at)) < OFF and math.dist(tip, at) < reach / 2]
    return on[0] if len(on) == 1 else None


def _is_sharp(tip: Point, symbol: Floats, middle: Point) -> bool:
    """Tell whether two pieces meet in a point at an acute angle that opens towards the middle."""
    turns = []
    for x0, y0, x1, y1 in symbol.tolist():
        near, far = sorted(((x0, y0), (x1, y1)), key=lambda end: math.dist(end, tip))
        if math.dist(near, tip) < TOUCH_PT < math.dist(far, tip):
            turns.append(_between(tip, middle, far))
    low, high = min(turns, default=0.0), max(turns, default=0.0)
    return SHARPEST < high - low < BLUNTEST and abs(low + high) < (high - low) / 2


def _between(origin: Point, one: Point, other: Point) -> float:
    """Return the angle at a point from one direction to another, in −π..π."""
    a = math.atan2(one[1] - origin[1], one[0] - origin[0])
    b = math.atan2(other[1] - origin[1], other[0] - origin[0])
    return (b - a + math.pi) % math.tau - math.pi
