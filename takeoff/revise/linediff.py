"""Which linework of two registered sheets is on one of them only."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from takeoff.geometry.pairs import linked_groups, nearest_within, pairs_within
from takeoff.model.plan import Point
from takeoff.revise.registration import Floats

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
    there, reach = ordered(others), 2.0 * tolerance
    out[pairs_within(ordered(lines), there, reach)[0]] = False
    # a line at 45° may be put in order either way round
    rest = np.flatnonzero(out)
    if len(rest):
        for way in ([0, 1, 2, 3], [2, 3, 0, 1]):
            out[rest[pairs_within(lines[rest][:, way], there, reach)[0]]] = False
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
    import shapely

    tree = shapely.STRtree(shapely.linestrings(others.reshape(-1, 2, 2)))
    part = np.linspace(0.0, 1.0, SAMPLES)[None, :, None]
    points = lines[:, None, :2] * (1 - part) + lines[:, None, 2:] * part
    spots = shapely.points(points.reshape(-1, 2))
    hits, rows = tree.query(spots, predicate="dwithin", distance=tolerance)
    owner = hits // SAMPLES
    size, size_other = (np.hypot(*(s[:, 2:] - s[:, :2]).T) for s in (lines, others))
    short = size <= 2.0 * tolerance
    along = _unit(lines)[owner]
    beside = _unit(others)[rows]
    # chords of one curve differ in direction by eight times their rise over their length
    shorter = np.maximum(np.minimum(size[owner], size_other[rows]), 1e-12)
    turned = np.minimum(TURNED + tolerance / shorter, TURNED_CHORD)
    parallel: Flags = np.abs(along[:, 0] * beside[:, 1] - along[:, 1] * beside[:, 0]) < turned
    held = np.zeros(len(spots), bool)
    held[hits[parallel | short[owner]]] = True
    return np.asarray(held.reshape(-1, SAMPLES).all(1), bool)


def _unit(lines: Floats) -> Floats:
    step = lines[:, 2:] - lines[:, :2]
    unit: Floats = step / np.maximum(np.hypot(step[:, 0], step[:, 1]), 1e-12)[:, None]
    return unit


def groups(lines: Floats, gap: float) -> NDArray[np.int64]:
    """Number the groups of lines that lie within ``gap`` of one another."""
    import shapely

    if not len(lines):
        return np.zeros(0, np.int64)
    shapes = shapely.linestrings(lines.reshape(-1, 2, 2))
    a, b = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=gap)
    return linked_groups(len(lines), a, b)
