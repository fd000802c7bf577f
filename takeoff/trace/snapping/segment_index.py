"""An index of straight segments that answers at once what lies near a point, on sheets of any size."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.model.plan import Point

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Nearest:
    """The segment nearest to a point: its row, the foot of the point on it, and the distance in sheet points."""

    row: int
    point_pt: Point
    distance_pt: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SegmentIndex:
    """Segments in sheet points with a tree over them.

    ``segments`` has a row (x0, y0, x1, y1) per segment; ``is_end`` says of both its ends whether something drawn ends
    there (a chord in the middle of an arc has none); ``is_whole`` whether the segment is a straight line of its own,
    so that its middle means something.

    Examples
    --------
    >>> index = SegmentIndex.of(np.array([[0.0, 0.0, 10.0, 0.0], [0.0, 5.0, 10.0, 5.0]]))
    >>> index.nearest((4.0, 1.0), within_pt=3.0)
    Nearest(row=0, point_pt=(4.0, 0.0), distance_pt=1.0)
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

    def __len__(self) -> int:
        """Return the number of segments."""
        return len(self.segments)

    def nearest(self, point: Point, *, within_pt: float) -> Nearest | None:
        """Find the segment nearest to a sheet point, at most ``within_pt`` points away."""
        found = self._tree.query_nearest(shapely.Point(point), max_distance=within_pt, all_matches=False)
        if not len(found):
            return None
        feet, distances = feet_on(self.segments[found[:1]], point)
        return Nearest(
            row=int(found[0]), point_pt=(float(feet[0, 0]), float(feet[0, 1])), distance_pt=float(distances[0])
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
