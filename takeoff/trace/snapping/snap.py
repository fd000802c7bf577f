"""Snapping: what of the drawing a point that is picked near it most likely means.

A point snaps to the strongest kind within reach: an end or a crossing before a middle, a middle before the foot of the
perpendicular from the last point, and that before the nearest place along a line. Among equals the nearest wins. An
index of the segments answers at once what lies near a point, on sheets of any size.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import shapely

from takeoff.model.plan import Point
from takeoff.trace.drawing.linework import Flags, Floats, Ints

SnapKind = Literal["end", "crossing", "middle", "perpendicular", "along"]

ALL_KINDS: tuple[SnapKind, ...] = ("end", "crossing", "middle", "perpendicular", "along")
_MOST = 80
"""Segments looked at: the nearest ones, where a hatch puts hundreds within reach."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Snap:
    """Where a picked point snaps to: the kind, the place in sheet points, how far it is, and the segments' rows."""

    kind: SnapKind
    point_pt: Point
    distance_pt: float
    rows: tuple[int, ...]


def snap(
    index: SegmentIndex,
    point: Point,
    radius_pt: float,
    *,
    from_point: Point | None = None,
    kinds: Collection[SnapKind] = ALL_KINDS,
    at_marks: bool = False,
) -> Snap | None:
    """Find what a picked point snaps to.

    Parameters
    ----------
    index
        The segments of the sheet.
    point
        The picked sheet point.
    radius_pt
        How far a snap may lie from it, in sheet points.
    from_point
        The point before it in the line being drawn, for the perpendicular; without it there is none.
    kinds
        The kinds that are wanted.
    at_marks
        The end of a dimension is wanted: it lies where lines cross, and an end, as of a tick, counts where none do.

    Examples
    --------
    >>> index = SegmentIndex.of(np.array([[0.0, 0.0, 10.0, 0.0]]))
    >>> snap(index, (9.0, 1.0), 2.0).kind
    'end'
    >>> snap(index, (7.0, 1.0), 2.0, from_point=(7.4, 30.0))
    Snap(kind='perpendicular', point_pt=(7.4, 0.0), distance_pt=1.077032961426901, rows=(0,))
    """
    rows = index.near(point, radius_pt)
    if not len(rows):
        return None
    feet, distances = feet_on(index.segments[rows], point)
    if len(rows) > _MOST:
        keep = np.argsort(distances, kind="stable")[:_MOST]
        rows, feet, distances = rows[keep], feet[keep], distances[keep]
    segments = index.segments[rows]
    found: list[Snap | None] = []
    if "end" in kinds:
        is_end = index.is_end[rows].ravel()
        found.append(_of("end", segments.reshape(-1, 2)[is_end], np.repeat(rows, 2)[is_end], point))
    if "crossing" in kinds:
        found.append(_crossings(segments, rows, point))
    best = _nearest(found[-1:] if at_marks else found, radius_pt) or _nearest(found, radius_pt)
    if best is None and "middle" in kinds:
        whole = index.is_whole[rows]
        best = _nearest([_of("middle", (segments[:, :2] + segments[:, 2:])[whole] / 2, rows[whole], point)], radius_pt)
    if best is None and "perpendicular" in kinds and from_point is not None:
        best = _nearest([_perpendicular(segments, rows, point, from_point)], radius_pt)
    if best is None and "along" in kinds:
        best = _of("along", feet, rows, point)
    return best


def _nearest(found: list[Snap | None], radius_pt: float) -> Snap | None:
    reached = [s for s in found if s is not None and s.distance_pt <= radius_pt]
    return min(reached, key=lambda s: s.distance_pt, default=None)


def _of(kind: SnapKind, points: Floats, rows: Ints, point: Point) -> Snap | None:
    """Make the snap of the nearest of several points, one per row."""
    if not len(points):
        return None
    distances = np.hypot(points[:, 0] - point[0], points[:, 1] - point[1])
    i = int(np.argmin(distances))
    return Snap(
        kind=kind,
        point_pt=(float(points[i, 0]), float(points[i, 1])),
        distance_pt=float(distances[i]),
        rows=(int(rows[i]),),
    )


def _crossings(segments: Floats, rows: Ints, point: Point) -> Snap | None:
    first, second = np.triu_indices(len(segments), 1)
    p, r = segments[first, :2], segments[first, 2:] - segments[first, :2]
    q, s = segments[second, :2], segments[second, 2:] - segments[second, :2]
    cross = r[:, 0] * s[:, 1] - r[:, 1] * s[:, 0]
    size = np.hypot(r[:, 0], r[:, 1]) * np.hypot(s[:, 0], s[:, 1])
    crosses = np.abs(cross) > 1e-6 * size
    first, second = first[crosses], second[crosses]
    p, r, s, cross, between = (x[crosses] for x in (p, r, s, cross, q - p))
    t = (between[:, 0] * s[:, 1] - between[:, 1] * s[:, 0]) / cross
    u = (between[:, 0] * r[:, 1] - between[:, 1] * r[:, 0]) / cross
    slack = 1e-6
    meets = (t >= -slack) & (t <= 1 + slack) & (u >= -slack) & (u <= 1 + slack)
    found = _of("crossing", (p + t[:, None] * r)[meets], np.flatnonzero(meets), point)
    if found is None:
        return None
    pair = found.rows[0]
    return replace(found, rows=(int(rows[first[pair]]), int(rows[second[pair]])))


def _perpendicular(segments: Floats, rows: Ints, point: Point, from_point: Point) -> Snap | None:
    feet, distances = feet_on(segments, from_point)
    d = segments[:, 2:] - segments[:, :2]
    away = np.asarray(from_point) - feet
    lengths = np.hypot(d[:, 0], d[:, 1])
    square = (distances > 1e-6) & (np.abs((d * away).sum(1)) <= 1e-6 * lengths * distances)
    return _of("perpendicular", feet[square], rows[square], point)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SegmentIndex:
    """Segments in sheet points with a tree over them.

    ``segments`` has a row (x0, y0, x1, y1) per segment; ``is_end`` says of both its ends whether something drawn ends
    there (a chord in the middle of an arc has none); ``is_whole`` whether the segment is a straight line of its own,
    so that its middle means something.
    """

    segments: Floats
    is_end: Flags
    is_whole: Flags
    _tree: shapely.STRtree = field(repr=False)

    @classmethod
    def of(cls, segments: Floats, is_end: Flags | None = None, is_whole: Flags | None = None) -> SegmentIndex:
        """Build the index of an array of segments; without flags every segment is a line of its own."""
        rows = np.ascontiguousarray(segments, np.float64).reshape(-1, 4)
        return cls(
            segments=rows,
            is_end=np.ones((len(rows), 2), bool) if is_end is None else is_end,
            is_whole=np.ones(len(rows), bool) if is_whole is None else is_whole,
            _tree=shapely.STRtree(shapely.linestrings(rows.reshape(-1, 2, 2))),
        )

    def near(self, point: Point, radius_pt: float) -> Ints:
        """Return the rows of all segments within a distance of a sheet point, in no order."""
        rows: Ints = self._tree.query(shapely.Point(point), predicate="dwithin", distance=radius_pt)
        return rows


def feet_on(segments: Floats, point: Point) -> tuple[Floats, Floats]:
    """Return the nearest point of each segment to a point, and its distance.

    Examples
    --------
    >>> feet_on(np.array([[0.0, 0.0, 10.0, 0.0]]), (12.0, 0.0))
    (array([[10.,  0.]]), array([2.]))
    """
    start, d = segments[:, :2], segments[:, 2:] - segments[:, :2]
    squared = (d * d).sum(1)
    along = ((np.asarray(point) - start) * d).sum(1) / np.where(squared > 0, squared, 1.0)
    feet: Floats = start + np.clip(along, 0.0, 1.0)[:, None] * d
    return feet, np.hypot(feet[:, 0] - point[0], feet[:, 1] - point[1])
