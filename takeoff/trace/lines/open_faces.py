"""Faces of walls that leak: lines across them, so that one break in a face does not lose the walls that hang on it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Geometry

from takeoff.trace.drawing.linework import Floats, Ints
from takeoff.trace.drawing.polygons import lengths_inside, spans, square_to

_LONG = 0.4
"""Metres that two faces run beside one another at the least; jambs and nibs are shorter (judgement)."""
_ALIKE = 0.006
"""Metres by which the thicknesses of walls of one kind differ on paper (judgement: plotted files round to 0.12 pt)."""
_SHARE, _LEAST = 0.1, 3.0
"""Share of the length of all pairs of faces, and metres, from which their distance is a thickness of walls on this
sheet: furniture that stands once is shorter (judgement)."""
_ON = 0.5
"""Share of a line that lies on walls that were found, from which it needs no partner (judgement)."""
_HIDDEN = 0.1
"""Share of the overlap of two lines from which a nearer line between them hides one from the other (judgement)."""
_ROW = 0.05
"""Share by which lines are farther from one neighbour than from the other at the most where they stand in a row, as
treads and boards do (judgement); the panes of a window stand nearer to one another than to the faces."""
_LEVEL = 0.0015
"""Sine of the angle between two faces of one wall at the most (judgement)."""


def lines_across(segments: Floats, found: Sequence[Geometry], *, thin: float, thick: float, metre: float) -> Floats:
    """Return lines that close the strips between two faces where nothing else does, at both ends of their overlap.

    Each is where two lines end that run side by side, as far apart as walls are thick on this sheet, with nothing
    between.

    ``segments`` are rows x0, y0, x1, y1 of what may be walls; ``found`` is what walls were found already; ``thin`` and
    ``thick`` are the least and greatest thickness of a wall; all in sheet points, of which a metre has ``metre``.
    """
    u, length = spans(segments)
    long = length > _LONG * metre
    lines, u, length = segments[long], u[long], length[long]
    first, away, low, high = _pairs(lines, u, length, thick)
    fits = (np.abs(away) > thin) & (high - low > _LONG * metre)
    first, away, low, high = first[fits], away[fits], low[fits], high[fits]
    told = _thicknesses(np.abs(away), high - low, metre)
    is_wall = (np.abs(np.abs(away)[:, None] - told) < _ALIKE * metre).any(1)
    inside = np.full(len(lines), np.inf)
    rows = np.unique(first[is_wall])
    if len(rows):
        walls = shapely.buffer(shapely.union_all(found), 0.01 * metre)
        inside[rows] = lengths_inside(shapely.linestrings(lines[rows].reshape(-1, 2, 2)), walls)
    chosen = is_wall & (inside < _ON * length)[first]
    first, away = first[chosen], away[chosen, None]
    across = away * square_to(u[first])
    ends = [lines[first, :2] + at[chosen, None] * u[first] for at in (low, high)]
    return np.concatenate([np.concatenate([end, end + across], axis=1) for end in ends])


def _pairs(lines: Floats, u: Floats, length: Floats, thick: float) -> tuple[Ints, Floats, Floats, Floats]:
    """Return pairs of lines that run along each other, both ways round, with no third as near on any side of the two.

    These are the row of one, how far to its left the other lies, and from where to where on it they run side by side.
    """
    shapes = shapely.linestrings(lines.reshape(-1, 2, 2))
    first, second = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=thick)
    along = (np.abs(u[first, 0] * u[second, 1] - u[first, 1] * u[second, 0]) < _LEVEL) & (first != second)
    first, second = first[along], second[along]
    step = lines[second].reshape(-1, 2, 2) - lines[first, None, :2]
    at = (step * u[first, None]).sum(2)
    away = (step[:, :, 1] * u[first, None, 0] - step[:, :, 0] * u[first, None, 1]).mean(1)
    low, high = np.maximum(at.min(1), 0.0), np.minimum(at.max(1), length[first])
    order = np.lexsort((np.abs(away), first))
    order = order[(high > low)[order]]
    first, second, away, low, high = first[order], second[order], away[order], low[order], high[order]
    kept = np.ones(len(first), bool)
    for i, (a, b) in enumerate(zip(*(np.searchsorted(first, first, side) for side in ("left", "right")), strict=True)):
        beside = np.minimum(high[a:b], high[i]) - np.maximum(low[a:b], low[i]) > _HIDDEN * (high[i] - low[i])
        is_same = (away[a:b] > 0) == (away[i] > 0)
        nearer = np.abs(away[a:b]) < np.where(is_same, 1.0, 1.0 + _ROW) * abs(away[i])
        nearer[i - a] = False
        kept[i] = not (beside & nearer).any()
    once = np.minimum(first, second) * len(lines) + np.maximum(first, second)
    kept &= ~np.isin(once, once[~kept])
    return first[kept], away[kept], low[kept], high[kept]


def _thicknesses(away: Floats, long: Floats, metre: float) -> Floats:
    """Return the distances that many pairs have, by the length that they run."""
    order = np.argsort(away)
    away, long = away[order], long[order]
    if not len(away):
        return away
    sums = np.append(0.0, np.cumsum(long))
    low = np.searchsorted(away, away - _ALIKE * metre)
    high = np.searchsorted(away, away + _ALIKE * metre, "right")
    runs = sums[high] - sums[low]
    return np.unique(away[(runs > _SHARE * sums[-1]) & (runs > 2 * _LEAST * metre)])
