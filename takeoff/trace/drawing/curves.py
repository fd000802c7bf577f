"""Shapes that a plan file holds as something else: arcs as Bézier curves or chains of chords, solids as pen strokes.

Some drawing programs fill columns and solid walls by going to and fro with the pen.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.geometry.arcs import arc_centre
from takeoff.model.plan import Point

Curve = tuple[Point, Point, Point, Point]
"""A cubic Bézier curve: start, two controls, end."""
Arc = tuple[float, float, float, float, float]
"""x0, y0, x1, y1 and bulge."""
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ROUND = 0.004
"""Share of its radius by which a curve may leave a circle and still be an arc; a quarter circle drawn as one curve in
the usual way leaves it by 0.0003 (common knowledge, no source)."""
LEAST_CHAIN = 4
LEAST_TURN, MOST_TURN = math.radians(0.4), math.radians(31.0)
_JOINED_PT = 0.02
_WIDEST = 1.1
"""Angle of the widest chord of an arc over `MOST_TURN`: corners of a box lie on a circle too, its sides do not."""
LEAST_STROKES = 12
"""Strokes of a path from which it is asked whether it is a scribble (measured on a sheet of 10,951: they have 20 to
300; letters and symbols of one path seldom have so many straight lines)."""
_TO_AND_FRO = 2.0
"""Length of a scribble over its hull's edge, at least (measured on the same sheet: 3 to 12 for each of the slivers that
fill a column; an outline has 1, a letter under 1.5)."""
_THINNEST_PT = 0.1
"""Points; how wide a pen of no width is taken to be: a printer's hairline (common practice, no source)."""


def point_on(curve: Curve, t: float) -> Point:
    """Return the point of a curve at parameter ``t`` in 0..1."""
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = curve
    s = 1.0 - t
    a, b, c, d = s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t
    return (a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3)


def arc_of_curve(curve: Curve) -> float | None:
    """Return the bulge of a curve that is a circular arc, else nothing.

    Examples
    --------
    >>> k = 0.5522847498  # the usual control distance of a quarter circle
    >>> round(arc_of_curve(((1, 0), (1, -k), (k, -1), (0, -1))), 4)  # from right to top: counter-clockwise
    0.4142
    """
    a, b = curve[0], curve[3]
    chord = math.dist(a, b)
    if chord < 1e-6:
        return None
    mid = point_on(curve, 0.5)
    ux, uy = (b[0] - a[0]) / chord, (b[1] - a[1]) / chord
    rise = (mid[0] - a[0]) * uy - (mid[1] - a[1]) * ux  # to the left of the walker as displayed
    along = (mid[0] - a[0]) * ux + (mid[1] - a[1]) * uy
    if abs(rise) < 5e-4 * chord or not 0 < along < chord:
        return None
    depth = (along * (along - chord) + rise * rise) / (2.0 * rise)  # from the chord to the middle of the circle
    height = math.hypot(chord / 2, depth) + math.copysign(depth, depth * rise)
    bulge = -math.copysign(2.0 * height / chord, rise)
    if abs(bulge) > 1.5:
        return None
    centre, radius = arc_centre(a, b, bulge)
    off = max(abs(math.dist(point_on(curve, t), centre) - radius) for t in (0.125, 0.25, 0.375, 0.625, 0.75, 0.875))
    return bulge if off <= ROUND * radius else None


def flatten_curve(curve: Curve, tolerance: float) -> list[Point]:
    """Return points along a curve, both ends included, chords within about ``tolerance`` points of it."""
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = curve
    bend = max(math.hypot(x0 - 2 * x1 + x2, y0 - 2 * y1 + y2), math.hypot(x1 - 2 * x2 + x3, y1 - 2 * y2 + y3))
    count = max(2, min(32, math.ceil(math.sqrt(0.75 * bend / tolerance))))
    return [curve[0], *(point_on(curve, i / count) for i in range(1, count)), curve[3]]


def merge_arcs(arcs: Sequence[Arc]) -> list[Arc]:
    """Join arcs that follow one another on one circle, up to half a circle."""
    merged: list[Arc] = []
    for arc in arcs:
        joined = _joined(merged[-1], arc) if merged else None
        if joined is None:
            merged.append(arc)
        else:
            merged[-1] = joined
    return merged


def _joined(first: Arc, second: Arc) -> Arc | None:
    if math.dist(first[2:4], second[0:2]) > _JOINED_PT or first[4] * second[4] <= 0:
        return None
    centre, radius = arc_centre(first[0:2], first[2:4], first[4])
    other, size = arc_centre(second[0:2], second[2:4], second[4])
    slack = 0.01 * radius
    angle = 4 * (math.atan(abs(first[4])) + math.atan(abs(second[4])))
    if abs(size - radius) > slack or math.dist(centre, other) > slack or angle > math.pi * 1.01:
        return None
    return (first[0], first[1], second[2], second[3], math.copysign(math.tan(angle / 4), first[4]))


def chains_to_arcs(lines: Floats, line_path: Ints, style: Ints) -> tuple[NDArray[np.bool_], Floats, Ints]:
    """Find chains of short chords that stand for arcs.

    ``lines`` are rows x0, y0, x1, y1 in the order of drawing, ``line_path`` is the path of each; ``style`` is a number
    per row, equal where rows are drawn alike: a chain goes through such rows only, whatever their path. Returned are a
    flag per row, False where an arc replaces it, the arcs, and the path that each began on.
    """
    none = np.ones(len(lines), bool), np.zeros((0, 5)), np.zeros(0, np.int64)
    if len(lines) < LEAST_CHAIN:
        return none
    d = lines[:, 2:] - lines[:, :2]
    length = np.hypot(d[:, 0], d[:, 1])
    turn = -np.arctan2(d[:-1, 0] * d[1:, 1] - d[:-1, 1] * d[1:, 0], (d[:-1] * d[1:]).sum(1))
    joins = (
        (np.abs(lines[:-1, 2:] - lines[1:, :2]).max(1) < _JOINED_PT)
        & (style[:-1] == style[1:])
        & (np.abs(turn) > LEAST_TURN)
        & (np.abs(turn) < MOST_TURN)
        & (np.abs(length[:-1] - length[1:]) < 0.15 * np.maximum(length[:-1], length[1:]) + 2 * _JOINED_PT)
    )
    # a chain goes on while the turn keeps its size and its side
    goes_on = joins[:-1] & joins[1:] & (np.abs(turn[:-1] - turn[1:]) < 0.25 * np.abs(turn[:-1]) + 0.01)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], goes_on, [False]]).astype(np.int8)))
    stays = np.ones(len(lines), bool)
    arcs: list[Arc] = []
    paths: list[int] = []
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        rows = np.arange(first, last + 2)
        if len(rows) < LEAST_CHAIN:
            continue
        chain = np.concatenate([lines[rows, :2], lines[rows[-1:], 2:]])
        found = fit_arcs(chain, max(0.004 * float(np.ptp(chain, axis=0).max()), _JOINED_PT))
        if found:
            stays[rows] = False
            arcs.extend(found)
            paths.extend([int(line_path[rows[0]])] * len(found))
    return (stays, np.array(arcs), np.array(paths, np.int64)) if arcs else none


def fit_circle(points: Floats) -> tuple[Floats, float] | None:
    """Return middle and radius of the circle that fits points best by least squares; nothing where they are in line."""
    middle = points.mean(axis=0)
    local = points - middle
    system = np.column_stack([2 * local, np.ones(len(points))])
    solved, _, rank, _ = np.linalg.lstsq(system, (local**2).sum(1), rcond=None)
    return (solved[:2] + middle, math.sqrt(float(solved[2] + solved[:2] @ solved[:2]))) if rank == 3 else None


def fit_arcs(points: Floats, tolerance: float) -> list[Arc]:
    """Fit a circle to the vertices of a chain, as arcs of at most half of it; none where one is further off.

    ``points`` are the vertices in their order; ``tolerance`` is how far one may lie from the circle, in their unit.
    """
    fitted = fit_circle(points)
    if fitted is None:
        return []
    centre, _ = fitted
    distance = np.hypot(*(points - centre).T)
    radius = float(distance.mean())
    chord = float(np.hypot(*np.diff(points, axis=0).T).max())
    if float(np.abs(distance - radius).max()) > tolerance or chord > 2 * radius * math.sin(_WIDEST * MOST_TURN / 2):
        return []
    angle = np.unwrap(np.arctan2(points[:, 1] - centre[1], points[:, 0] - centre[0]))
    sweep = -(angle - angle[0])
    half = int(np.argmin(np.abs(np.abs(sweep) - abs(sweep[-1]) / 2))) if abs(sweep[-1]) > math.pi * 1.01 else 0
    cuts = [0, half, len(points) - 1] if half else [0, len(points) - 1]
    return [
        (*map(float, points[i]), *map(float, points[j]), math.tan(float(sweep[j] - sweep[i]) / 4))  # type: ignore[misc]
        for i, j in pairwise(cuts)
    ]


def solids_of(paths: Sequence[tuple[Sequence[Any], float]]) -> dict[int, list[Point]]:
    """Return the outlines of the shapes that paths fill with their pens, by the paths' places; none of ordinary paths.

    Each path is its pieces, as the PDF engine gives them, and the width of its pen in points. An outline is the corners
    of the path's hull in points, where the pen's ink would cover all of it.

    Examples
    --------
    >>> there = [("l", (0.0, 0.1 * i), (9.0, 0.1 * i)) for i in range(90)]
    >>> back = [("l", (9.0, 0.1 * i), (0.0, 0.1 * i + 0.1)) for i in range(90)]
    >>> {place: len(corners) for place, corners in solids_of([(there[:9], 0.24), ([*there, *back], 0.24)]).items()}
    {1: 4}
    """
    strokes = {place: _strokes(items) for place, (items, _) in enumerate(paths) if len(items) >= LEAST_STROKES // 4}
    strokes = {place: ends for place, ends in strokes.items() if len(ends) >= LEAST_STROKES}
    if not strokes:
        return {}
    places, counts = np.array(list(strokes)), np.array([len(own) for own in strokes.values()])
    ends = np.array([end for own in strokes.values() for end in own], np.float64).reshape(-1, 2, 2)
    first = np.cumsum(counts) - counts
    length = np.add.reduceat(np.hypot(*(ends[:, 1] - ends[:, 0]).T), first)
    size = np.maximum.reduceat(ends.max(1), first) - np.minimum.reduceat(ends.min(1), first)
    may_be = length >= 2 * _TO_AND_FRO * size.max(1)  # no hull's edge is shorter than twice its longer side
    if not may_be.any():
        return {}
    ends, places, counts, length = ends[np.repeat(may_be, counts)], places[may_be], counts[may_be], length[may_be]
    owners = np.repeat(np.arange(len(places)), 2 * counts)
    hulls = shapely.convex_hull(shapely.linestrings(ends.reshape(-1, 2), indices=owners))
    pens = np.maximum([paths[place][1] for place in places.tolist()], _THINNEST_PT)
    area = shapely.area(hulls)
    is_solid = (length >= _TO_AND_FRO * np.maximum(shapely.length(hulls), 1e-9)) & (area <= length * pens)
    flat = is_solid & (area == 0.0)  # one line, drawn again and again
    hulls[flat] = shapely.buffer(hulls[flat], pens[flat] / 2, cap_style="flat")
    return {
        place: [(float(x), float(y)) for x, y in shapely.get_coordinates(hull)[:-1]]
        for place, hull in zip(places[is_solid].tolist(), hulls[is_solid], strict=True)
    }


def _strokes(items: Sequence[Any]) -> list[tuple[float, ...]]:
    """Return the straight strokes of a path's pieces, x0, y0, x1, y1; none where it has a curve.

    What goes to and fro may come as boxes.
    """
    found: list[tuple[float, ...]] = []
    for kind, *rest in items:
        if kind == "l":
            found.append((*rest[0], *rest[1]))
        elif kind == "c":
            return []
        else:
            corners = corners_of(kind, rest[0])
            found += [(*corners[i - 1], *corners[i]) for i in range(4)]
    return found


def corners_of(kind: str, box: Any) -> list[Point]:
    """Return the corners of a rectangle ("re") or a quadrangle as the PDF engine gives them, one after another."""
    if kind == "re":
        x0, y0, x1, y1 = box
        return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    ul, ur, ll, lr = box
    return [ul, ur, lr, ll]
