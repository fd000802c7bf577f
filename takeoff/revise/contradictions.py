"""Dimensions that the new revision of a sheet writes otherwise than it draws them, where the old one did not."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from takeoff.model.plan import Calibration, Point
from takeoff.revise.carry import CarriedRun
from takeoff.revise.linework_along import PARALLEL, Length
from takeoff.revise.registration import Registration
from takeoff.trace.scales.dimensions import DimensionString
from takeoff.trace.scales.lengths import PLACE_PT

MISSED = 0.02
"""Metres by which a dimension is off at the least that is told (judgement, no source)."""
SAME_LINE = 0.15
"""Metres within which a dimension of both revisions lies on one line."""
WALL = 0.3
"""Metres between an end of a dimension and the face that it stands for: a wall's thickness (judgement, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """A dimension as written, as it is drawn in metres, and the ends in metres that may be wrong.

    ``span`` is from where to where it runs, in metres of the new sheet.
    """

    text: str
    drawn: float
    ends: tuple[Point, ...]
    span: tuple[Point, Point]

    def words(self, length: Length) -> str:
        """Say what does not fit; ``length`` writes a length in metres."""
        return f'the dimension "{self.text}" is drawn {length(self.drawn)} long: find out which of them is right'

    def stands_at(self, one: CarriedRun, scale: Calibration) -> bool:
        """Tell whether a wall ends the dimension: a side square to it at one of its ends, the whole of it within."""
        run = one.after or one.before
        (x0, y0), (x1, y1) = self.span
        along = ((x1 - x0) / self.drawn, (y1 - y0) / self.drawn)
        points = np.array([scale.to_metres(p) for p in run.path_pt.flattened(1.0)])
        at = (points - self.span[0]) @ along
        if at.min() < -WALL or at.max() > self.drawn + WALL:
            return False
        stations = [float(np.dot(np.subtract(end, self.span[0]), along)) for end in self.ends]
        return any(
            abs(b - a) <= PARALLEL * math.dist(p, q) and any(abs(a - end) <= WALL for end in stations)
            for (a, b), (p, q) in zip(pairwise(at), pairwise(points), strict=True)
        )


def contradictions(
    old: Sequence[DimensionString],
    new: Sequence[DimensionString],
    registration: Registration,
    old_scale: Calibration,
    new_scale: Calibration,
) -> Iterator[Contradiction]:
    """Find the dimensions that fitted what the old revision draws and do not fit what the new one draws.

    ``old`` and ``new``: the dimensions that each revision shows, in its own sheet points.
    """
    known = [
        (new_scale.to_metres(registration.carry(d.start_pt)), new_scale.to_metres(registration.carry(d.end_pt)))
        for d in old
        if not _is_off(d, old_scale)
    ]
    for one in new:
        if not _is_off(one, new_scale):
            continue
        span = (new_scale.to_metres(one.start_pt), new_scale.to_metres(one.end_pt))
        was = next((ends for ends in known if _is_on(ends, span)), None)
        if was is None:
            continue
        moved = tuple(p for p in span if min(math.dist(p, q) for q in was) > MISSED)
        yield Contradiction(text=one.text.strip(), drawn=math.dist(*span), ends=moved or span, span=span)


def _is_off(one: DimensionString, scale: Calibration) -> bool:
    drawn = math.dist(scale.to_metres(one.start_pt), scale.to_metres(one.end_pt))
    size = math.sqrt(scale.mx * scale.my)
    slack = max(MISSED, one.step, 3.0 * math.sqrt(2.0) * PLACE_PT * size, 3.0 * scale.u_scale * drawn)
    return abs(drawn - one.length) > slack


def _is_on(was: tuple[Point, Point], now: tuple[Point, Point]) -> bool:
    """Tell whether two dimensions lie on one line and share half of it."""
    long = math.dist(*now)
    along = np.subtract(now[1], now[0]) / long
    steps = np.array([np.subtract(p, now[0]) for p in was])
    off = np.abs(steps @ np.array([-along[1], along[0]])).max()
    low, high = sorted((steps @ along).tolist())
    return bool(off <= SAME_LINE and min(high, long) - max(low, 0.0) >= 0.5 * max(long, high - low))
