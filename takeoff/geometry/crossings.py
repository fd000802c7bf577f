"""Where a chain crosses itself. Same frame as ``arcs``; arcs are taken as chords.

- crossing: two parts of the chain pass from one side of each other to the other, be it at a vertex.
- touch: they meet and part on the same side, or run along one another. A touch is no crossing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from takeoff.geometry.arcs import Point, flatten_segment
from takeoff.geometry.paths import Path

SLACK = 1e-9
"""Distance within which a point lies on a line."""


@dataclass(frozen=True, slots=True)
class _Chord:
    """A chord from ``a`` to ``b`` of segment ``index``; ``before`` is the chain's point before ``a``, if any."""

    a: Point
    b: Point
    before: Point | None
    index: int


def crossing_segments(path: Path, *, sag: float, reach: float = 0.0) -> tuple[int, int] | None:
    """Find two segments of a chain that cross; segments that only touch do not.

    Gives the indices of the two segments, the lower first.

    Parameters
    ----------
    sag
        Distance by which the chords that stand for an arc may leave it.
    reach
        A crossing this near to either end of an open chain is its end touching the chain.

    Examples
    --------
    >>> crossing_segments(Path(((0, 0), (4, 4), (4, 0), (0, 4)), (0, 0, 0, 0), True), sag=0.001)
    (0, 2)
    """
    if len(path.bulges) < 2:
        return None
    chords = sorted(_chords(path, sag), key=lambda chord: min(chord.a[0], chord.b[0]))
    for i, one in enumerate(chords):
        right = max(one.a[0], one.b[0]) + SLACK
        low, high = min(one.a[1], one.b[1]) - SLACK, max(one.a[1], one.b[1]) + SLACK
        for k in range(i + 1, len(chords)):
            two = chords[k]
            if min(two.a[0], two.b[0]) > right:
                break
            if two.a == one.b or two.b == one.a:
                continue  # neighbours, which share a point and no other
            if min(two.a[1], two.b[1]) > high or max(two.a[1], two.b[1]) < low:
                continue
            at = _crossing(one, two)
            if at is None:
                continue
            if not path.is_closed and min(math.dist(at, path.points[0]), math.dist(at, path.points[-1])) <= reach:
                continue
            return min(one.index, two.index), max(one.index, two.index)
    return None


def _chords(path: Path, sag: float) -> list[_Chord]:
    out: list[_Chord] = []
    for index, segment in enumerate(path.segments()):
        for a, b in pairwise(flatten_segment(*segment, sag)):
            out.append(_Chord(a, b, out[-1].a if out else None, index))
    if path.is_closed:
        out[0] = _Chord(out[0].a, out[0].b, out[-1].a, out[0].index)
    return out


def _side(a: Point, b: Point, p: Point) -> float:
    """Distance of a point from the line through two others, with its side as sign."""
    return ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / math.dist(a, b)


def _crossing(one: _Chord, two: _Chord) -> Point | None:
    """Point where two chords cross within both, or where a vertex of one chain passes through the other."""
    c, d = _side(one.a, one.b, two.a), _side(one.a, one.b, two.b)
    a, b = _side(two.a, two.b, one.a), _side(two.a, two.b, one.b)
    if min(abs(a), abs(b), abs(c), abs(d)) > SLACK:
        if (a > 0) == (b > 0) or (c > 0) == (d > 0):
            return None
        part = a / (a - b)
        return (one.a[0] + part * (one.b[0] - one.a[0]), one.a[1] + part * (one.b[1] - one.a[1]))
    if abs(c) <= SLACK and _passes(one, two):
        return two.a
    if abs(a) <= SLACK and _passes(two, one):
        return one.a
    return None


def _passes(through: _Chord, chord: _Chord) -> bool:
    """Tell whether the chain passes through another chord, or through its start, with the start of ``chord``."""
    at = chord.a
    if chord.before is None or math.dist(at, through.b) <= SLACK:
        return False  # an end, or a vertex that the next chord deals with
    if math.dist(at, through.a) > SLACK:
        along = (at[0] - through.a[0]) * (through.b[0] - through.a[0])
        along += (at[1] - through.a[1]) * (through.b[1] - through.a[1])
        if not 0.0 < along < math.dist(through.a, through.b) ** 2:
            return False
        before = through.a
    elif through.before is None:
        return False
    else:
        before = through.before
    bounds = sorted(_bearing(at, p) for p in (before, through.b))
    sides = []
    for p in (chord.before, chord.b):
        bearing = _bearing(at, p)
        if min(abs(math.remainder(bearing - b, 2.0 * math.pi)) for b in bounds) < SLACK:
            return False
        sides.append(bounds[0] < bearing < bounds[1])
    return sides[0] != sides[1]


def _bearing(at: Point, p: Point) -> float:
    return math.atan2(p[1] - at[1], p[0] - at[0])
