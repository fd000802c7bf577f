"""Chains of segments: stations, turning, nearest points, offset lines with mitred corners. Same frame as ``arcs``."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import accumulate

from takeoff.errors import GeometryError
from takeoff.geometry.arcs import (
    Point,
    arc_centre,
    flatten_segment,
    is_straight,
    segment_length,
    tangents,
    turn_between,
)


@dataclass(frozen=True, slots=True)
class Path:
    """A chain of segments: ``points`` (n), one ``bulge`` per segment (n if closed, else n − 1)."""

    points: tuple[Point, ...]
    bulges: tuple[float, ...]
    is_closed: bool

    def segments(self) -> list[tuple[Point, Point, float]]:
        """Start, end and bulge of each segment; the bulge of a straight one is 0."""
        ends = (*self.points[1:], self.points[0])
        return [
            (a, b, 0.0 if is_straight(bulge) else bulge)
            for a, b, bulge in zip(self.points, ends, self.bulges, strict=False)
        ]

    def stations(self) -> tuple[float, ...]:
        """Stations of the vertices along the chain; for a closed one the last value is the whole length."""
        return (0.0, *accumulate(segment_length(*s) for s in self.segments()))

    def end_tangents(self) -> list[tuple[Point, Point]]:
        """Tangents at the start and end of each segment."""
        return [tangents(*s) for s in self.segments()]

    def turns(self) -> list[float]:
        """Turning angle at each vertex, counter-clockwise positive; 0 at the ends of an open chain."""
        n, t = len(self.points), self.end_tangents()
        if self.is_closed:
            return [turn_between(t[i - 1][1], t[i][0]) for i in range(n)]
        return [0.0, *(turn_between(t[i - 1][1], t[i][0]) for i in range(1, n - 1)), 0.0]

    def flattened(self, tolerance: float) -> list[Point]:
        """Points along the chain with arcs broken into chords within ``tolerance``."""
        out: list[Point] = [self.points[0]]
        for a, b, bulge in self.segments():
            out.extend(flatten_segment(a, b, bulge, tolerance)[1:])
        return out


def meeting_point(before: tuple[Point, Point, float], after: tuple[Point, Point, float], at: Point, d: float) -> Point:
    """Return where the offsets of two segments, the second of which begins where the first ends, meet near ``at``.

    Raises `GeometryError` where the line turns back on itself or a radius would vanish.

    Parameters
    ----------
    before, after
        Start, end and bulge of each.
    at
        The point that they share.
    d
        Offset to the left; negative to the right.

    Examples
    --------
    >>> meeting_point(((0.0, 0.0), (4.0, 0.0), 0.0), ((4.0, 0.0), (4.0, 4.0), 0.0), (4.0, 0.0), 0.5)
    (4.5, -0.5)
    """
    t0, t1 = tangents(*before)[1], tangents(*after)[0]
    n0, n1 = (t0[1], -t0[0]), (t1[1], -t1[0])
    k = 1.0 + n0[0] * n1[0] + n0[1] * n1[1]
    if k < 1e-6:
        raise GeometryError(
            "the line turns back on itself, so its faces have no meeting point", remedy="Move or remove that point."
        )
    guess = (at[0] + d * (n0[0] + n1[0]) / k, at[1] + d * (n0[1] + n1[1]) / k)
    if before[2] == 0.0 and after[2] == 0.0:
        return guess
    # Newton on the two distances: exact for lines and circles, started at the mitre of the tangents
    x, y = guess
    for _ in range(50):
        rows = []
        for segment, normal in ((before, n0), (after, n1)):
            if segment[2] == 0.0:
                rows.append((normal[0], normal[1], (x - at[0]) * normal[0] + (y - at[1]) * normal[1] - d))
            else:
                centre, radius = arc_centre(*segment)
                want = radius - d if segment[2] > 0 else radius + d
                gap = math.hypot(x - centre[0], y - centre[1])
                if want <= 0 or gap == 0:
                    raise GeometryError(
                        "a face of the curved wall would have no radius left",
                        remedy="Check the thickness and the face of the curved wall.",
                    )
                rows.append(((x - centre[0]) / gap, (y - centre[1]) / gap, gap - want))
        (a, b, e), (c, f, g) = rows
        det = a * f - b * c
        if abs(det) < 1e-9:  # smooth joint: both conditions say the same
            n = math.hypot(a, b)
            return (x - e * a / n, y - e * b / n)
        dx, dy = (e * f - b * g) / det, (a * g - e * c) / det
        x, y = x - dx, y - dy
        if math.hypot(dx, dy) < 1e-13 * (1.0 + abs(x) + abs(y)):
            break
    return (x, y)


def offset_path(path: Path, distance: float, ends: tuple[Point | None, Point | None] = (None, None)) -> Path:
    """Offset a chain to its left by ``distance`` (negative: to its right) with mitred corners; arcs stay arcs.

    An open chain's offset ends square to it, or at ``ends`` where those are given, which lie on it or on its
    prolongation. Raises `GeometryError` where the chain turns back on itself or a side or radius would vanish.

    Examples
    --------
    >>> square = Path(((0, 0), (4, 0), (4, 4), (0, 4)), (0, 0, 0, 0), True)
    >>> offset_path(square, -1.0).stations()[-1]  # clockwise on screen, so the right hand is inside
    8.0
    """
    if distance == 0.0:
        return path
    segs = path.segments()
    n = len(path.points)
    points: list[Point] = []
    for i, p in enumerate(path.points):
        if path.is_closed or 0 < i < n - 1:
            points.append(meeting_point(segs[i - 1], segs[i % len(segs)], p, distance))
        elif (end := ends[0 if i == 0 else 1]) is not None:
            points.append(end)
        else:
            t = tangents(*segs[0])[0] if i == 0 else tangents(*segs[-1])[1]
            points.append((p[0] + distance * t[1], p[1] - distance * t[0]))
    bulges: list[float] = []
    for i, (a, b, bulge) in enumerate(segs):
        a2, b2 = points[i], points[(i + 1) % n]
        if bulge == 0.0:
            if (b2[0] - a2[0]) * (b[0] - a[0]) + (b2[1] - a2[1]) * (b[1] - a[1]) <= 0:
                raise GeometryError(
                    f"segment {i + 1} is shorter than the wall's thickness allows", remedy="Trace the faces one by one."
                )
            bulges.append(0.0)
            continue
        centre, radius = arc_centre(a, b, bulge)
        if (radius - distance if bulge > 0 else radius + distance) <= 0:
            raise GeometryError(
                f"the face of curved segment {i + 1} would have no radius left",
                remedy="Check the thickness and the face of the curved wall.",
            )
        start = math.atan2(a2[1] - centre[1], a2[0] - centre[0])
        sweep = (math.atan2(b2[1] - centre[1], b2[0] - centre[0]) - start) % (2.0 * math.pi)
        if bulge > 0:  # counter-clockwise as displayed is a falling angle with y down
            sweep = 2.0 * math.pi - sweep
        if sweep - 4.0 * math.atan(abs(bulge)) > math.pi:  # its ends have passed each other
            raise GeometryError(
                f"curved segment {i + 1} is shorter than the wall's thickness allows",
                remedy="Trace the faces one by one.",
            )
        bulges.append(math.copysign(math.tan(sweep / 4.0), bulge))
    return Path(tuple(points), tuple(bulges), path.is_closed)


def carry_station(path: Path, other: Path, index: int, station: float, *, stations: tuple[float, ...]) -> float:
    """Distance from vertex ``index`` on an offset line of the point square to ``station`` on the traced line.

    ``stations`` are the traced line's; the result is kept within the offset segment.
    """
    a, b, bulge = path.segments()[index]
    a2, b2, bulge2 = other.segments()[index]
    length, length2 = segment_length(a, b, bulge), segment_length(a2, b2, bulge2)
    u = station - stations[index]
    if bulge == 0.0:
        tx, ty = (b[0] - a[0]) / length, (b[1] - a[1]) / length
        u -= (a2[0] - a[0]) * tx + (a2[1] - a[1]) * ty
    else:
        centre, _ = arc_centre(a, b, bulge)
        shift = math.atan2(a2[1] - centre[1], a2[0] - centre[0]) - math.atan2(a[1] - centre[1], a[0] - centre[0])
        shift = math.atan2(math.sin(shift), math.cos(shift)) * (-1.0 if bulge > 0 else 1.0)
        u = (u / length * 4.0 * math.atan(abs(bulge)) - shift) / (4.0 * math.atan(abs(bulge2))) * length2
    return min(max(u, 0.0), length2)


def point_on_segment(a: Point, b: Point, bulge: float, part: float) -> Point:
    """Point at a part of a segment's length, 0 at its start and 1 at its end.

    Examples
    --------
    >>> point_on_segment((0.0, 0.0), (4.0, 0.0), 0.0, 0.25)
    (1.0, 0.0)
    """
    if part <= 0.0:
        return a
    if part >= 1.0:
        return b
    if bulge == 0.0:
        return (a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part)
    centre, radius = arc_centre(a, b, bulge)
    angle = math.atan2(a[1] - centre[1], a[0] - centre[0]) - 4.0 * math.atan(bulge) * part
    return (centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))


def part_nearest(a: Point, b: Point, bulge: float, point: Point) -> float:
    """Part of a segment's length, from 0 to 1, at which it comes nearest to a point.

    Examples
    --------
    >>> part_nearest((0.0, 0.0), (4.0, 0.0), 0.0, (1.0, 7.0))
    0.25
    """
    if bulge == 0.0:
        dx, dy = b[0] - a[0], b[1] - a[1]
        along = (point[0] - a[0]) * dx + (point[1] - a[1]) * dy
        return min(max(along / (dx * dx + dy * dy), 0.0), 1.0)
    centre, _ = arc_centre(a, b, bulge)
    sweep = -4.0 * math.atan(bulge)
    start = math.atan2(a[1] - centre[1], a[0] - centre[0])
    turned = math.atan2(point[1] - centre[1], point[0] - centre[0]) - start
    turned = math.fmod(turned if sweep > 0 else -turned, 2.0 * math.pi)
    part = (turned + 2.0 * math.pi if turned < 0.0 else turned) / abs(sweep)
    if part <= 1.0:
        return part
    return 0.0 if math.dist(point, a) <= math.dist(point, b) else 1.0


def nearest_station(path: Path, point: Point) -> tuple[float, int, float]:
    """Station of the point of a path nearest to a point, the segment it lies on, and the distance to it."""
    best = (0.0, 0, math.inf)
    station = 0.0
    for i, (a, b, bulge) in enumerate(path.segments()):
        length = segment_length(a, b, bulge)
        part = part_nearest(a, b, bulge, point)
        away = math.dist(point_on_segment(a, b, bulge, part), point)
        if away < best[2]:
            best = (station + part * length, i, away)
        station += length
    return best


def point_at(path: Path, station: float) -> Point:
    """Point of a path at a station; its ends for stations beyond them."""
    rest = station
    segments = path.segments()
    for a, b, bulge in segments:
        length = segment_length(a, b, bulge)
        if rest <= length:
            return point_on_segment(a, b, bulge, rest / length if length else 0.0)
        rest -= length
    return segments[-1][1]


def split_bulge(bulge: float, part: float) -> tuple[float, float]:
    """Bulges of the two pieces of an arc that is split at a part of its length.

    Examples
    --------
    >>> [round(b, 9) for b in split_bulge(1.0, 0.5)]  # a half circle gives two quarter circles: tan 22.5°
    [0.414213562, 0.414213562]
    """
    quarter = math.atan(bulge)
    return math.tan(quarter * part), math.tan(quarter * (1.0 - part))
