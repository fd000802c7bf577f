"""Door swings: the arc that a leaf sweeps, and the leaf."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.geometry.arcs import arc_centre, segment_length
from takeoff.model.plan import Point
from takeoff.trace.drawing.linework import Flags, Floats, Linework
from takeoff.trace.drawing.looks import roles_of

LEAF = (0.45, 1.7)
"""Metres; least and greatest width of a door leaf (common practice, no source)."""
WIDEST = 2.5
"""Metres; the widest leaf whose arc is believed where the leaf is drawn at it: doors of halls and plants (common
practice, no source)."""
_BESIDE = 0.1
"""Part of a leaf's width that its lines lie beside the line from hinge to free edge: a leaf has a thickness."""
_MOSTLY = 0.6
"""Part of a leaf's width from which a line beside it is that leaf (judgement)."""
SWEEP = (math.radians(25), math.radians(100))


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """A door swing: the hinge, where the free edge of the leaf stands when open and when shut, in sheet points.

    ``has_leaf`` is False where only the arc is drawn. ``knows_ends`` is False where ``open_pt`` and ``shut_pt`` may be
    the other way round: without a leaf, or where a threshold looks like one.
    ``row`` is the row of the arc in the linework.
    """

    hinge_pt: Point
    open_pt: Point
    shut_pt: Point
    radius_pt: float
    has_leaf: bool
    knows_ends: bool
    row: int

    @property
    def shuts_at_pt(self) -> tuple[Point, ...]:
        """Where the free edge of the leaf may stand when shut."""
        return (self.shut_pt,) if self.knows_ends else (self.shut_pt, self.open_pt)


def find_swings(linework: Linework, m_per_pt: float) -> tuple[Swing, ...]:
    """Find the door swings of a sheet; what its layer gives to other things, such as basins, has none.

    ``m_per_pt`` is metres per sheet point.
    """
    low, usual, high = LEAF[0] / m_per_pt, LEAF[1] / m_per_pt, WIDEST / m_per_pt
    leaves = _leaves(linework.lines, low, high)
    tree = shapely.STRtree(shapely.points(leaves[:, :2]))
    found: list[Swing] = []
    is_other = (roles_of(linework) == "other")[linework.arc_path]
    for row in np.flatnonzero(~is_other).tolist():
        x0, y0, x1, y1, bulge = linework.arcs[row].tolist()
        a, b = (x0, y0), (x1, y1)
        if not SWEEP[0] <= 4 * math.atan(abs(bulge)) <= SWEEP[1]:
            continue
        centre, radius = arc_centre(a, b, bulge)
        if not low <= radius <= high or segment_length(a, b, bulge) < 0.3 * low:
            continue
        near = leaves[tree.query(shapely.Point(centre), predicate="dwithin", distance=0.12 * radius)]
        ends = [_reaches(near, end, radius) for end in (a, b)]
        if radius > usual and not max(ends):
            continue
        is_first = ends[0] >= ends[1]
        found.append(
            Swing(
                hinge_pt=centre,
                open_pt=a if is_first else b,
                shut_pt=b if is_first else a,
                radius_pt=radius,
                has_leaf=max(ends) > 0,
                knows_ends=(ends[0] > 0) != (ends[1] > 0),
                row=row,
            )
        )
    return tuple(found)


def leaf_rows(swings: Sequence[Swing], segments: Floats) -> Flags:
    """Mark the segments that are the leaf of a door, open or drawn shut: along the line from its hinge to a free edge.

    One that is drawn shut, or a threshold, would close its own door where it has the pen of the walls. It runs along
    most of that line: a wall beside the hinge, which a leaf lies before, does not.
    """
    flags = np.zeros(len(segments), bool)
    hung = [swing for swing in swings if swing.has_leaf]
    if not hung:
        return flags
    tree = shapely.STRtree(shapely.points((segments[:, :2] + segments[:, 2:]) / 2.0))
    drawn = [(swing, end) for swing in hung for end in (swing.open_pt, swing.shut_pt)]
    leaves = shapely.linestrings([[swing.hinge_pt, end] for swing, end in drawn])
    for leaf, row in tree.query(leaves, "dwithin", [_BESIDE * swing.radius_pt for swing, _ in drawn]).T:
        swing, end = drawn[leaf]
        along = (np.array(end) - swing.hinge_pt) / swing.radius_pt
        ends = segments[row].reshape(2, 2) - swing.hinge_pt
        at, off = ends @ along, np.abs(ends @ (-along[1], along[0]))
        reach = _BESIDE * swing.radius_pt
        lies = off.max() < reach and at.min() > -0.5 * reach and at.max() < swing.radius_pt + reach
        flags[row] |= bool(lies and np.ptp(at) > _MOSTLY * swing.radius_pt)
    return flags


def _leaves(lines: Floats, low: float, high: float) -> Floats:
    """Return the lines long enough for a leaf, once in each direction."""
    lengths = np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1])
    fit = lines[(lengths >= 0.8 * low) & (lengths <= 1.2 * high)]
    return np.concatenate([fit, fit[:, [2, 3, 0, 1]]])


def _reaches(leaves: Floats, end: Point, radius: float) -> int:
    """Count the leaves that end near a point."""
    return int((np.hypot(leaves[:, 2] - end[0], leaves[:, 3] - end[1]) < 0.12 * radius).sum())
