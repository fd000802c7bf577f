"""The strips of a sheet that hold its title block: between its frame and a line from side to side of the frame."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.trace.drawing.linework import Floats

_LONG = 0.6
"""Share of the sheet's side from which a line may be one of its frame."""
_DEEPEST = 0.3
"""Share of the sheet's side that a title block is deep at the most (common practice, no source)."""
_LEAST_WORDS = 8
"""Words from which a strip is a title block and no margin."""
_TOUCH_PT = 1.5
"""Points by which a line of the frame may miss another one that it ends on."""
_SKEW_PT = 0.5
"""Points by which a line may leave level or plumb."""


def title_strips(segments: Floats, words: Sequence[Polygon], size_pt: tuple[float, float]) -> Geometry:
    """Return the area of the sheet that its title block takes; empty where there is none.

    A line parts a title block from the plan if it runs from one side of the frame to the other, near an edge of the
    sheet, with words between. The lines of grids and sections run on past the plan, but to no frame.

    Parameters
    ----------
    segments
        All straight pieces on the sheet, x0, y0, x1, y1 in sheet points.
    words
        Boxes of words.
    size_pt
        Width and height of the sheet in points.
    """
    middles = np.array([((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for b in (w.bounds for w in words)]).reshape(-1, 2)
    lines = [_long(segments, axis, size_pt) for axis in (0, 1)]
    found: list[Geometry] = []
    for axis in (0, 1):
        size = size_pt[1 - axis]
        crossing = lines[1 - axis]
        for at, low, high in lines[axis].tolist():
            if not all(_ends_on(end, at, crossing) for end in (low, high)):
                continue
            for start, stop in ((0.0, at), (at, size)):
                inside = (middles[:, 1 - axis] > start) & (middles[:, 1 - axis] < stop)
                if stop - start < _DEEPEST * size and inside.sum() >= _LEAST_WORDS:
                    sides = (0.0, start, size_pt[0], stop) if axis == 0 else (start, 0.0, stop, size_pt[1])
                    found.append(shapely.box(*sides))
    return shapely.union_all(found) if found else Polygon()


def _long(segments: Floats, axis: int, size_pt: tuple[float, float]) -> Floats:
    """Return the long lines along an axis (0: level, 1: plumb): where they stand, from where to where they run."""
    a, b = segments[:, axis], segments[:, 2 + axis]
    c, d = segments[:, 1 - axis], segments[:, 3 - axis]
    chosen = (np.abs(b - a) > _LONG * size_pt[axis]) & (np.abs(d - c) < _SKEW_PT)
    rows = np.column_stack([(c + d) / 2, np.minimum(a, b), np.maximum(a, b)])[chosen]
    return np.unique(np.round(rows, 1), axis=0)


def _ends_on(end: float, at: float, crossing: Floats) -> bool:
    """Tell whether a line's end lies on one of the lines that cross it."""
    near = np.abs(crossing[:, 0] - end) < _TOUCH_PT
    return bool((near & (crossing[:, 1] - _TOUCH_PT < at) & (at < crossing[:, 2] + _TOUCH_PT)).any())
