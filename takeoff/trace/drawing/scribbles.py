"""Solid shapes that a pen fills by going to and fro: the columns and solid walls of some drawing programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.model.plan import Point

Floats = NDArray[np.float64]

LEAST_STROKES = 12
"""Strokes of a path from which it is asked whether it is a scribble (measured on a sheet of 10,951: they have 20 to
300; letters and symbols of one path seldom have so many straight lines)."""
_TO_AND_FRO = 2.0
"""Length of a scribble over its hull's edge, at least (measured on the same sheet: 3 to 12 for each of the slivers that
fill a column; an outline has 1, a letter under 1.5)."""
_THINNEST_PT = 0.1
"""Points; how wide a pen of no width is taken to be: a printer's hairline (common practice, no source)."""


def solid_of(items: Sequence[Any], width: float) -> list[Point] | None:
    """Return the outline of the shape that a path fills with its pen; nothing where it is an ordinary path.

    Parameters
    ----------
    items
        The pieces of a stroked path, as the PDF engine gives them.
    width
        The width of its pen in points.

    Returns
    -------
    list of points or None
        The corners of its hull in points, where the pen's ink would cover all of it.

    Examples
    --------
    >>> there = [("l", (0.0, 0.1 * i), (9.0, 0.1 * i)) for i in range(90)]
    >>> back = [("l", (9.0, 0.1 * i), (0.0, 0.1 * i + 0.1)) for i in range(90)]
    >>> len(solid_of([*there, *back], 0.24)), solid_of(there[:9], 0.24)
    (4, None)
    """
    if len(items) < LEAST_STROKES // 4 or any(item[0] == "c" for item in items):
        return None
    ends = _strokes(items)
    if len(ends) < LEAST_STROKES:
        return None
    length = float(np.hypot(*(ends[:, 1] - ends[:, 0]).T).sum())
    low, high = ends.reshape(-1, 2).min(0), ends.reshape(-1, 2).max(0)
    if length < _TO_AND_FRO * 2 * float(np.hypot(*(high - low))):  # no hull's edge is shorter than twice its longest
        return None
    hull = shapely.convex_hull(shapely.multipoints(ends.reshape(-1, 2)))
    pen = max(width, _THINNEST_PT)
    if length < _TO_AND_FRO * hull.length or hull.area > length * pen:
        return None
    if hull.area == 0.0:  # one line, drawn again and again
        hull = shapely.buffer(hull, pen / 2, cap_style="flat")
    return [(float(x), float(y)) for x, y in shapely.get_coordinates(hull.exterior)[:-1]]


def _strokes(items: Sequence[Any]) -> Floats:
    """Return the straight strokes of a path's pieces as n × 2 ends × (x, y); what goes to and fro may come as boxes."""
    lines = [item[1:3] for item in items if item[0] == "l"]
    boxes = [(x0, y0, x1, y0, x1, y1, x0, y1) for x0, y0, x1, y1 in (item[1] for item in items if item[0] == "re")]
    quads = [(*ul, *ur, *lr, *ll) for ul, ur, ll, lr in (item[1] for item in items if item[0] == "qu")]
    corners = np.array(boxes + quads, np.float64).reshape(-1, 4, 2)
    sides = np.stack([corners, np.roll(corners, -1, axis=1)], axis=2).reshape(-1, 2, 2)
    return np.concatenate([np.array(lines, np.float64).reshape(-1, 2, 2), sides])
