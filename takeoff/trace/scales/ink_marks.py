"""Marks on the lines of a scan: where ink stands on both sides of a line a tick, a dot or another line crosses it."""

from __future__ import annotations

import numpy as np

from takeoff.trace.drawing.linework import Flags, Floats
from takeoff.trace.drawing.polygons import spans, square_to
from takeoff.trace.drawing.raster_strokes import Grey, sampled

LEAST_LONG_IN = 0.35
"""Inches that a line with marks is long at the least: those that lead to its ends are shorter, and their marks lie
beside it (judgement)."""
ASIDE_PX, ASIDE_IN = 2.5, 0.018
"""Pixels, or inches if that is more, from the middle of a line at which ink is looked for: beyond its own, and within
a tick of 1/16 in (judgement)."""
INK = 0.4
"""Darkness that is ink."""
WIDEST, SLANT = 3.0, 2.2
"""Distances from the line that a mark is wide at the most, and that its two halves are apart along it: those of a tick
at 45 degrees by two (judgement)."""
STEP_PX = 0.5


def find_marks(dark: Grey, strokes: Floats, dpi: float) -> Floats:
    """Find the places of the marks on straight strokes, in pixels, on an image of ink at so many pixels per inch."""
    aside = max(ASIDE_PX, ASIDE_IN * dpi)
    unit, length = spans(strokes)
    found: list[Floats] = [np.zeros((0, 2))]
    for row in np.flatnonzero(length >= LEAST_LONG_IN * dpi):
        along, normal = unit[row], square_to(unit[row : row + 1])[0]
        stations = np.arange(-aside, length[row] + aside, STEP_PX)
        line = strokes[row, :2] + stations[:, None] * along
        above, below = (_runs(sampled(dark, line + side * aside * normal) > INK, stations, aside) for side in (1, -1))
        places = np.concatenate([above, below])
        order = np.argsort(places)
        is_above = (np.arange(len(places)) < len(above))[order]
        places = places[order]
        cuts = np.flatnonzero(np.diff(places) > SLANT * aside) + 1
        for part, side in zip(np.split(places, cuts), np.split(is_above, cuts), strict=True):
            if side.any() and not side.all():
                found.append(strokes[row, :2] + (part[side].mean() + part[~side].mean()) / 2 * along[None])
    return np.concatenate(found)


def _runs(is_ink: Flags, stations: Floats, aside: float) -> Floats:
    """Return the middles of short runs of ink."""
    change = np.flatnonzero(np.diff(np.concatenate([[False], is_ink, [False]]).astype(np.int8)))
    low, high = stations[change[::2]], stations[change[1::2] - 1]
    middles: Floats = ((low + high) / 2)[high - low <= WIDEST * aside]
    return middles
