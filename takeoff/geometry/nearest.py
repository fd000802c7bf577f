"""Points on a path by station, and the station of the point of a path nearest to another. Same frame as ``arcs``."""

from __future__ import annotations

import math

from takeoff.geometry.arcs import Point, arc_centre, segment_length
from takeoff.geometry.paths import Path


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
            return point_on_segment(a, b, bulge, rest / length)
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
