"""Joins between the faces of one calibration, kept while faces come and go.

Which ends meet depends only on the ends and faces within reach, so after a change `find_joins` is asked again for the
ends near it and whatever those can meet, and for no others.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

import shapely

from takeoff.measure.box_index import Box, BoxIndex
from takeoff.measure.develop import ARC_SAG, Face
from takeoff.measure.joins import SLACK, EndJoin, end_point, find_joins, joins_by_face, open_ends

FaceKey = tuple[str, int]
"""Run id, and which of the run's faces."""

FaceEnd = tuple[FaceKey, int]

WIDE = 0.25
"""Part of the faces from which all joins are found anew."""


class KeptJoins:
    """Faces of one calibration and the joins between them."""

    def __init__(self) -> None:
        """Start without faces."""
        self._faces: dict[FaceKey, Face] = {}
        self._reaches: dict[FaceKey, float] = {}
        self._count: Counter[float] = Counter()
        self._reach = 0.0
        self._joins: dict[FaceKey, tuple[EndJoin, ...]] = {}
        self._index: BoxIndex[FaceKey] = BoxIndex({})

    def joins_of(self, key: FaceKey) -> tuple[EndJoin, ...]:
        """Joins of a face."""
        return self._joins.get(key, ())

    def update(
        self,
        gone: Sequence[FaceKey],
        put: Mapping[FaceKey, tuple[Face, float]],
        *,
        order: Mapping[str, int],
        corner_threshold: float,
    ) -> set[FaceKey]:
        """Take faces out, put faces in, and find the joins again where that matters.

        Parameters
        ----------
        gone
            Faces that are no more.
        put
            New and changed faces, each with its reach in m.
        order
            Place of every run among the runs; joins at one point are found in this order.
        corner_threshold
            Turning angle in radians from which a join is a corner.

        Returns
        -------
        set
            Faces whose joins are no longer what they were.
        """
        before = [self._faces[k] for k in (*gone, *put) if k in self._faces]
        is_wide = len(gone) + len(put) > WIDE * len(self._faces)
        self._replace(gone, put)
        reach = max(self._count, default=0.0)
        if is_wide or reach != self._reach:
            self._reach = reach
            self._index = BoxIndex({k: _box(f) for k, f in self._faces.items()})
            part = set(self._faces)
            ends = {(k, e) for k, f in self._faces.items() for e in open_ends(f.run)}
        else:
            for key in gone:
                self._index.remove(key)
            for key, (face, _) in put.items():
                self._index.put(key, _box(face))
            ends = self._ends_near([*before, *(f for f, _ in put.values())])
            around = self._reach + ARC_SAG + SLACK
            part = {k for k, _ in ends} | self._index.near(
                _around(end_point(self._faces[k], e), around) for k, e in ends
            )
        return self._find(part, ends, put, order, corner_threshold)

    def _replace(self, gone: Sequence[FaceKey], put: Mapping[FaceKey, tuple[Face, float]]) -> None:
        for key in (*gone, *put):
            if key in self._faces:
                del self._faces[key]
                old = self._reaches.pop(key)
                self._count[old] -= 1
                if not self._count[old]:
                    del self._count[old]
        for key in gone:
            self._joins.pop(key, None)
        for key, (face, reach) in put.items():
            self._faces[key] = face
            self._reaches[key] = reach
            self._count[reach] += 1

    def _ends_near(self, touched: Sequence[Face]) -> set[FaceEnd]:
        """Ends within reach of some faces' lines, with every end that is linked to one of them end by end."""
        around = self._reach + ARC_SAG + SLACK
        near: set[FaceEnd] = set()
        for face in touched:
            box = _box(face)
            wide = (box[0] - around, box[1] - around, box[2] + around, box[3] + around)
            ends = [(k, e) for k in self._index.near([wide]) for e in open_ends(self._faces[k].run)]
            points = shapely.points([end_point(self._faces[k], e) for k, e in ends]) if ends else []
            gaps = shapely.distance(shapely.LineString(face.path.flattened(ARC_SAG)), points)
            near.update(end for end, gap in zip(ends, gaps, strict=True) if gap <= around)
        step = self._reach + SLACK
        frontier = near
        while frontier:
            boxes = [_around(end_point(self._faces[k], e), step) for k, e in frontier]
            found = set()
            for key in self._index.near(boxes):
                for end in open_ends(self._faces[key].run):
                    x, y = end_point(self._faces[key], end)
                    if any(b[0] <= x <= b[2] and b[1] <= y <= b[3] for b in boxes):
                        found.add((key, end))
            frontier = found - near
            near = near | frontier
        return near

    def _find(
        self,
        part: set[FaceKey],
        ends: set[FaceEnd],
        put: Mapping[FaceKey, tuple[Face, float]],
        order: Mapping[str, int],
        threshold: float,
    ) -> set[FaceKey]:
        members = sorted(part, key=lambda k: (order[k[0]], k[1]))
        faces = [self._faces[k] for k in members]
        joins = find_joins(faces, [""] * len(faces), [self._reach] * len(faces), corner_threshold=threshold)
        changed = set()
        for key, seen in zip(members, joins_by_face(faces, joins), strict=True):
            before = self._joins.get(key, ())
            kept = () if key in put else tuple(j for j in before if (key, j.end) not in ends)
            after = tuple(sorted((*kept, *(j for j in seen if (key, j.end) in ends)), key=lambda j: j.end))
            if after != before:
                self._joins[key] = after
                changed.add(key)
        return changed


def _box(face: Face) -> Box:
    xs, ys = zip(*face.path.flattened(ARC_SAG), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _around(point: Iterable[float], by: float) -> Box:
    x, y = point
    return x - by, y - by, x + by, y + by
