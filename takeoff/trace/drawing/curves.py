"""Arcs that a plan file holds as something else: as Bézier curves, or as chains of short chords."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
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
    bulge = -2.0 * rise / chord
    if abs(bulge) < 1e-3 or abs(bulge) > 1.5 or abs(along - chord / 2) > 0.02 * chord:
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

    Parameters
    ----------
    lines
        Rows x0, y0, x1, y1 in the order of drawing.
    line_path
        The path of each row.
    style
        A number per row, equal where rows are drawn alike: a chain goes through such rows only, whatever their path.

    Returns
    -------
    stays
        False for the rows that an arc replaces.
    arcs, paths
        The arcs, and the path that each began on.
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


def fit_arcs(points: Floats, tolerance: float) -> list[Arc]:
    """Fit a circle to the vertices of a chain, as arcs of at most half of it; none where one is further off.

    Parameters
    ----------
    points
        The vertices in their order.
    tolerance
        How far a vertex may lie from the circle, in the unit of the points.
    """
    middle = points.mean(axis=0)
    local = points - middle
    system = np.column_stack([2 * local, np.ones(len(points))])
    solved, _, rank, _ = np.linalg.lstsq(system, (local**2).sum(1), rcond=None)
    if rank < 3:
        return []
    centre = solved[:2] + middle
    distance = np.hypot(*(points - centre).T)
    radius = float(distance.mean())
    if float(np.abs(distance - radius).max()) > tolerance:
        return []
    angle = np.unwrap(np.arctan2(points[:, 1] - centre[1], points[:, 0] - centre[0]))
    sweep = -(angle - angle[0])
    half = int(np.argmin(np.abs(np.abs(sweep) - abs(sweep[-1]) / 2))) if abs(sweep[-1]) > math.pi * 1.01 else 0
    cuts = [0, half, len(points) - 1] if half else [0, len(points) - 1]
    return [
        (*map(float, points[i]), *map(float, points[j]), math.tan(float(sweep[j] - sweep[i]) / 4))  # type: ignore[misc]
        for i, j in pairwise(cuts)
    ]
