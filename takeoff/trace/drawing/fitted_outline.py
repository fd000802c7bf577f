"""The outline of an area as vertices and bulges: needless vertices dropped, chains of short chords turned into arcs."""

from __future__ import annotations

import math

import numpy as np

from takeoff.model.plan import Point
from takeoff.trace.drawing.curves import MOST_TURN, Arc, fit_arcs
from takeoff.trace.drawing.linework import Floats

LEAST_CHORDS = 5
_JAGGED = math.radians(5)


def outline_of(ring: Floats, straight: float, round_off: float) -> tuple[tuple[Point, ...], tuple[float, ...]]:
    """Return the vertices and bulges of a closed ring.

    ``ring`` holds its vertices in sheet points, the first not repeated. ``straight`` is how far a vertex may lie from
    the line through its neighbours to be dropped, ``round_off`` how far those of a chain may lie from the arc that
    replaces it, in points.

    Examples
    --------
    >>> outline_of(np.array([[0.0, 0], [4, 0], [9, 0], [9, 9], [0, 9]]), 0.1, 0.1)
    (((0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0)), (0.0, 0.0, 0.0, 0.0))
    """
    ring = _without_straight(ring, straight)
    d = np.roll(ring, -1, axis=0) - ring
    before = np.roll(d, 1, axis=0)
    turn = np.arctan2(before[:, 0] * d[:, 1] - before[:, 1] * d[:, 0], (before * d).sum(1))
    first = int(np.argmax(np.abs(turn)))  # start where it turns most, so that no arc is cut by the start
    ring, turn = np.roll(ring, -first, axis=0), np.roll(turn, -first)
    closed = np.concatenate([ring, ring[:1]])
    pieces: list[Arc] = []
    here = 0
    while here < len(ring):
        last, arcs = _arc_from(closed, turn, here, round_off)
        if arcs:
            pieces.extend(arcs)
            here = last
        else:
            pieces.append((*map(float, closed[here]), *map(float, closed[here + 1]), 0.0))  # type: ignore[arg-type]
            here += 1
    return tuple((p[0], p[1]) for p in pieces), tuple(p[4] for p in pieces)


def _arc_from(points: Floats, turn: Floats, here: int, tolerance: float) -> tuple[int, list[Arc]]:
    """Find the longest arc that starts at a vertex: the vertex that it ends at, and the arc in pieces up to half."""
    last = here + 1
    side = np.sign(turn[here + 1 : here + 3].sum())
    while last < len(turn) and -_JAGGED < turn[last] * side < MOST_TURN:
        last += 1
    if not fit_arcs(points[here : here + LEAST_CHORDS + 1], 2 * tolerance):
        return here, []  # where its beginning is off the arc the whole is too: ragged edges have many beginnings
    while last - here >= LEAST_CHORDS:
        arcs = fit_arcs(points[here : last + 1], tolerance)
        if arcs:
            return last, arcs
        last -= 1
    return here, []


def _without_straight(ring: Floats, tolerance: float) -> Floats:
    """Drop vertices that lie on the line through their neighbours, and repeated ones."""
    points = ring
    while len(points) > 3:
        before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
        d = after - before
        length = np.hypot(d[:, 0], d[:, 1])
        off = np.abs((points - before)[:, 0] * d[:, 1] - (points - before)[:, 1] * d[:, 0]) / np.maximum(length, 1e-9)
        step = np.hypot(*(points - before).T)
        goes_on = ((points - before) * (after - points)).sum(1) >= 0
        needless = ((off < tolerance) & goes_on) | (step < 1e-9)
        if not needless.any():
            break
        rank = np.cumsum(needless)  # of neighbours that are all needless, every other one in a round
        needless &= ~np.roll(needless, 1) | (rank % 2 == 1)
        points = points[~needless]
    return points
