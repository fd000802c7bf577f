"""What linework says along one straight piece of a run, and which linework of two registered sheets one of them has."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.geometry.intervals import Interval, overlap, total, united, without
from takeoff.geometry.pairs import are_within, linked_groups, nearest_within, pairs_within
from takeoff.model.plan import Point
from takeoff.revise.registration import Floats
from takeoff.units import format_length

Spans = list[Interval]
"""From one station to another each, m."""
Length = Callable[[float], str]
"""Writes a length in metres for people."""
PARALLEL = math.sin(math.radians(1.5))
ACROSS = math.cos(math.radians(15.0))
ALIKE = 0.9
"""Part of what the longest line of a face covers from which another may be the face."""
LEAST_JAMB = 0.05
"""Metres that a jamb reaches into its wall at least: half of a thin partition (judgement, no source)."""


def in_metres(metres: float) -> str:
    """Write a length as ``0.610 m``."""
    return format_length(metres, system="metric")


class Drawn:
    """Lines in building metres, y down, with a tree over them.

    ``is_directed`` says that every line has its ink on the same hand, as edges found in a picture do.
    """

    def __init__(self, lines: Floats, *, is_directed: bool = False) -> None:
        self.is_directed = is_directed
        length = np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1]) if len(lines) else np.zeros(0)
        self.lines = lines[length > 1e-6]
        self._tree = shapely.STRtree(shapely.linestrings(self.lines.reshape(-1, 2, 2)))

    def near(self, a: Point, b: Point, reach: float) -> Floats:
        """Lines within ``reach`` of a line from a to b."""
        return self.about(shapely.linestrings((a, b)), reach)

    def about(self, place: shapely.Geometry, reach: float) -> Floats:
        """Lines within ``reach`` of a place."""
        rows: NDArray[np.int64] = self._tree.query(place, predicate="dwithin", distance=reach)
        return self.lines[np.sort(rows)]

    def distances(self, points: Floats, reach: float) -> Floats:
        """Distance of each point to the nearest line; infinite beyond ``reach``."""
        out = np.full(len(points), np.inf)
        if not len(self.lines) or not len(points):
            return out
        hits, off = self._tree.query_nearest(
            shapely.points(points), max_distance=reach, return_distance=True, all_matches=False
        )
        out[hits[0]] = off
        return out


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A straight piece of a run from ``a`` to ``b`` in metres; ``hand`` is +1 with its wall on the left, else −1."""

    a: Point
    b: Point
    hand: int

    @property
    def length(self) -> float:
        """Length in metres."""
        return math.dist(self.a, self.b)

    @property
    def along(self) -> Point:
        """Unit vector from a to b."""
        length = self.length
        return ((self.b[0] - self.a[0]) / length, (self.b[1] - self.a[1]) / length)

    @property
    def left(self) -> Point:
        """Unit vector to the left hand, y down."""
        t = self.along
        return (t[1], -t[0])

    def at(self, station: float) -> Point:
        """The point at a station from a."""
        t = self.along
        return (self.a[0] + station * t[0], self.a[1] + station * t[1])

    def local(self, lines: Floats) -> Floats:
        """Lines as (station, offset to the left) of both ends."""
        t = self.along
        dx, dy = lines[:, 0::2] - self.a[0], lines[:, 1::2] - self.a[1]
        out: Floats = np.empty((len(lines), 4))
        out[:, 0::2], out[:, 1::2] = dx * t[0] + dy * t[1], dx * t[1] - dy * t[0]
        return out

    def shifted(self, by: float) -> Stretch:
        """The stretch moved to its left."""
        n = self.left
        return Stretch(
            a=(self.a[0] + by * n[0], self.a[1] + by * n[1]),
            b=(self.b[0] + by * n[0], self.b[1] + by * n[1]),
            hand=self.hand,
        )


def parallels(drawn: Drawn, stretch: Stretch, reach: float, heading: int = 0) -> list[tuple[float, float, float]]:
    """Lines that run along a stretch within ``reach`` of it: (offset to the left, from station, to station).

    With ``heading`` +1 or −1, of directed lines only those that go the stretch's way or against it.
    """
    local = stretch.local(drawn.near(stretch.a, stretch.b, reach))
    span = np.hypot(local[:, 2] - local[:, 0], local[:, 3] - local[:, 1])
    level = np.abs(local[:, 3] - local[:, 1]) <= PARALLEL * span
    if drawn.is_directed and heading:
        level &= (local[:, 2] - local[:, 0]) * heading > 0.0
    out = []
    for s0, o0, s1, o1 in local[level].tolist():
        off = (o0 + o1) / 2.0
        if abs(off) <= reach:
            out.append((off, min(s0, s1), max(s0, s1)))
    return out


def face_spans(found: Sequence[tuple[float, float, float]], offset: float, tolerance: float) -> Spans:
    """Stations along which a face is drawn at an offset, joined where they meet."""
    return united([(a, b) for off, a, b in found if abs(off - offset) <= tolerance], tolerance)


def aligned(drawn: Drawn, stretch: Stretch, reach: float, tolerance: float, heading: int = 0) -> Stretch | None:
    """Lay a stretch on the face that is drawn along it within ``reach``: a run traced by hand lies a little askew.

    Of lines that cover nearly as much as the longest the nearest is taken; nothing where less than a seventh is drawn.
    """
    local = stretch.local(drawn.near(stretch.a, stretch.b, reach))
    span = np.hypot(local[:, 2] - local[:, 0], local[:, 3] - local[:, 1])
    level = np.abs(local[:, 3] - local[:, 1]) <= 2.0 * PARALLEL * span
    level &= (np.abs(local[:, 1]) <= 2.0 * reach) & (np.abs(local[:, 3]) <= 2.0 * reach)
    if drawn.is_directed and heading:
        level &= (local[:, 2] - local[:, 0]) * heading > 0.0
    pieces = local[level & (span > 0.0)]
    within = np.minimum(np.maximum(pieces[:, 0], pieces[:, 2]), stretch.length)
    within = within - np.maximum(np.minimum(pieces[:, 0], pieces[:, 2]), 0.0)
    found: list[tuple[float, float, Stretch]] = []
    for row in np.argsort(-within, kind="stable")[:6]:
        s0, o0, s1, o1 = (float(v) for v in pieces[row])
        if abs(s1 - s0) < 1e-9:
            continue
        slope = (o1 - o0) / (s1 - s0) if within[row] > 20.0 * tolerance else 0.0
        start, end = o0 - slope * s0, o0 + slope * (stretch.length - s0)
        if max(abs(start), abs(end)) > reach:
            continue
        n = stretch.left
        laid = Stretch(
            a=(stretch.a[0] + start * n[0], stretch.a[1] + start * n[1]),
            b=(stretch.b[0] + end * n[0], stretch.b[1] + end * n[1]),
            hand=stretch.hand,
        )
        spans = face_spans(parallels(drawn, laid, tolerance, heading), 0.0, tolerance)
        found.append((total(overlap(spans, [(0.0, laid.length)])), abs(start + end), laid))
    most = max((covered for covered, _, _ in found), default=0.0)
    # the line of a finish lies beside the face, as long as it
    alike = [one for one in found if one[0] > stretch.length / 7.0 and one[0] >= ALIKE * most]
    return min(alike, key=lambda one: one[1])[2] if alike else None


def ends_along(drawn: Drawn, stretch: Stretch, tolerance: float) -> list[float]:
    """Stations at which lines along a face begin or end: openings of a wall whose ends are left open."""
    return sorted({round(s, 6) for _, a, b in parallels(drawn, stretch, tolerance) for s in (a, b)})


def own_parts(lines: Floats, others: Drawn, tolerance: float) -> Floats:
    """What of lines, shape (n, 4), does not lie along other lines: a line that grew is new only where it grew."""
    out: list[list[float]] = []
    for x0, y0, x1, y1 in lines.tolist():
        line = Stretch(a=(x0, y0), b=(x1, y1), hand=1)
        covered = face_spans(parallels(others, line, tolerance), 0.0, tolerance)
        left = without([(0.0, line.length)], covered)
        out.extend([*line.at(a), *line.at(b)] for a, b in left if b - a > tolerance)
    return np.array(out, np.float64).reshape(-1, 4)


def jambs(drawn: Drawn, face: Stretch, reach: float, tolerance: float) -> list[float]:
    """Stations at which a line leaves a face square into the wall: jambs and ends of walls.

    ``reach`` is how near to the face the line must end; lines within ``tolerance`` of one another are one.
    """
    local = face.local(drawn.near(face.a, face.b, reach))
    span = np.hypot(local[:, 2] - local[:, 0], local[:, 3] - local[:, 1])
    square = np.abs(local[:, 3] - local[:, 1]) >= ACROSS * span
    out: list[float] = []
    for s0, o0, s1, o1 in local[square & (span >= LEAST_JAMB)].tolist():
        for at, off, away in ((s0, o0, o1), (s1, o1, o0)):
            if abs(off) <= reach and away * face.hand >= LEAST_JAMB and -reach <= at <= face.length + reach:
                out.append(at)
    out.sort()
    return [s for i, s in enumerate(out) if i == 0 or s - out[i - 1] > tolerance]


Flags = NDArray[np.bool_]
SAMPLES = 7
"""Points along a line that are tried; both ends among them."""
TURNED = 0.05
"""Sine of the angle from which two lines do not lie on one another (3°)."""
TURNED_CHORD = 0.3
"""The same at the most for short lines: curves are cut into other chords at another size of print."""

MOST_TRIED, MOST_ALIKE = 200, 50
"""Lines, and lines like each of them, that a shift is looked for among."""
MOVED = 0.8
"""Part of the lines that a shift lays on others at least."""


def unmatched(lines: Floats, others: Floats, tolerance: float) -> Flags:
    """Tell which lines do not lie on other lines, as a whole.

    A line that is drawn again in one piece is found at once; what is left is tried point by point, so that a line may
    be drawn anew in other pieces, longer or shorter.

    Parameters
    ----------
    lines, others
        Segments, shape (n, 4), in one frame.
    tolerance
        Distance within which they are one, in units of the frame.
    """
    out = np.ones(len(lines), bool)
    if not len(lines) or not len(others):
        return out
    for way in ([0, 1, 2, 3], [2, 3, 0, 1]):
        rest = np.flatnonzero(out)
        out[rest[are_within(lines[rest][:, way], others, 2.0 * tolerance)]] = False
    rest = np.flatnonzero(out)
    if len(rest):
        out[rest] = ~_covered(lines[rest], others, tolerance)
    return out


def ordered(lines: Floats) -> Floats:
    """Lines with their ends in one order, whichever way they were drawn; upright ones by their height."""
    along = lines + 1e-6 * lines[:, [1, 0, 3, 2]]
    turned: Floats = np.where((along[:, 0] > along[:, 2])[:, None], lines[:, [2, 3, 0, 1]], lines)
    return turned


def common_shift(lines: Floats, others: Floats, tolerance: float) -> Point | None:
    """The shift that lays lines on other ones, where there is one for four fifths of them or more.

    Parameters as for `unmatched`; a shift within the tolerance is none.
    """
    a, b = _placed(lines), _placed(others)
    rows, found, _ = pairs_within(a[:MOST_TRIED, 2:], b[:, 2:], 2.0 * tolerance)
    nth = np.arange(len(rows)) - np.searchsorted(rows, rows)
    rows, found = rows[nth < MOST_ALIKE], found[nth < MOST_ALIKE]
    if not len(rows):
        return None
    spots = b[found, :2] - a[rows, :2]
    best = spots[int(np.argmax(np.bincount(pairs_within(spots, spots, 2.0 * tolerance)[0])))]
    shift = spots[np.hypot(*(spots - best).T) <= 2.0 * tolerance].mean(0)
    there = nearest_within(_placed(lines + np.tile(shift, 2)), b, 3.0 * tolerance)[1] >= 0
    if there.mean() < MOVED or np.hypot(*shift) <= tolerance:
        return None
    return (float(shift[0]), float(shift[1]))


def _placed(lines: Floats) -> Floats:
    """Beginnings and steps of lines, whichever way they were drawn."""
    placed = ordered(lines)
    return np.column_stack([placed[:, :2], placed[:, 2:] - placed[:, :2]])


def _covered(lines: Floats, others: Floats, tolerance: float) -> Flags:
    tree = shapely.STRtree(shapely.linestrings(others.reshape(-1, 2, 2)))
    part = np.linspace(0.0, 1.0, SAMPLES)[None, :, None]
    points = lines[:, None, :2] * (1 - part) + lines[:, None, 2:] * part
    spots = shapely.points(points.reshape(-1, 2))
    hits, rows = tree.query(spots, predicate="dwithin", distance=tolerance)
    owner = hits // SAMPLES
    size, size_other = (np.hypot(*(s[:, 2:] - s[:, :2]).T) for s in (lines, others))
    short = size <= 2.0 * tolerance
    along = unit(lines)[owner]
    beside = unit(others)[rows]
    # chords of one curve differ in direction by eight times their rise over their length
    shorter = np.maximum(np.minimum(size[owner], size_other[rows]), 1e-12)
    turned = np.minimum(TURNED + tolerance / shorter, TURNED_CHORD)
    parallel: Flags = np.abs(along[:, 0] * beside[:, 1] - along[:, 1] * beside[:, 0]) < turned
    held = np.zeros(len(spots), bool)
    held[hits[parallel | short[owner]]] = True
    return np.asarray(held.reshape(-1, SAMPLES).all(1), bool)


def unit(lines: Floats) -> Floats:
    """The directions of lines, as vectors of length 1."""
    step = lines[:, 2:] - lines[:, :2]
    made: Floats = step / np.maximum(np.hypot(step[:, 0], step[:, 1]), 1e-12)[:, None]
    return made


def groups(lines: Floats, gap: float) -> NDArray[np.int64]:
    """Number the groups of lines that lie within ``gap`` of one another."""
    if not len(lines):
        return np.zeros(0, np.int64)
    shapes = shapely.linestrings(lines.reshape(-1, 2, 2))
    a, b = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=gap)
    return linked_groups(len(lines), a, b)
