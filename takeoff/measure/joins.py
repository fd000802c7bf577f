"""Ends of runs that meet: corners made by two runs, and ends that stop against another run's coated face.

- end: the first or last vertex of a face of an open run, of kind "free" or "abut".
- join: two ends within the calibration's tolerance, coated on the same hand of someone who walks through.
- T-join: an end on the inside of another run's coated face; always an inside corner.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.geometry.arcs import Point, tangents, turn_between
from takeoff.geometry.intervals import Interval, overlap
from takeoff.geometry.pairs import near_pairs
from takeoff.measure.develop import ARC_SAG, Face
from takeoff.measure.elevation import section
from takeoff.measure.kept import Kept
from takeoff.measure.rules import ROUNDING
from takeoff.measure.uncertainty import scale_key
from takeoff.model.plan import Calibration
from takeoff.model.walls import Run

LOOP = 4.0
"""Reaches that an open face must be longer than for its own two ends to meet."""

_End = tuple[int, int]
"""Which of the faces, and which end of it: 0 or 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EndJoin:
    """What one face's end (0 or 1) has of a join: shared length in m, its lowest height, and the run that it meets.

    ``turn`` in radians is positive for an inside corner. It is set on the face that carries the corner, so that a
    corner of two runs counts once.
    """

    end: int
    length: float
    low: float
    turn: float
    other: str


_Found = tuple[list[EndJoin | None], list[EndJoin | None]]
"""What the start and what the finish of each face joins."""


def join_reach(scale: Calibration) -> float:
    """Distance in metres within which two ends of runs of one calibration are one."""
    return max(scale.join_tolerance, ROUNDING)


def open_ends(run: Run) -> tuple[int, ...]:
    """Ends (0, 1) of a run that can meet another run: not those of a closed one, nor returned ends."""
    return () if run.closed else tuple(e for e in (0, 1) if run.ends[e] != "return")


def end_point(face: Face, end: int) -> Point:
    """Where a face starts (0) or finishes (1), in building metres."""
    return face.path.points[0 if end == 0 else -1]


def end_section(face: Face, end: int) -> list[Interval]:
    """What is coated on the vertical at a face's start (0) or finish (1)."""
    return section(face, 0.0, +1) if end == 0 else section(face, face.length, -1)


def _walk(face: Face, end: int, *, arriving: bool) -> tuple[Point, str]:
    """Direction and coated hand of someone who walks along a face to its end, or away from it."""
    segments = face.path.segments()
    t = tangents(*segments[0])[0] if end == 0 else tangents(*segments[-1])[1]
    forward = (end == 1) if arriving else (end == 0)
    if forward:
        return t, face.side
    return (-t[0], -t[1]), "right" if face.side == "left" else "left"


def find_joins(
    faces: Sequence[Face], scales: Sequence[Calibration], *, corner_threshold: float, kept: Kept
) -> tuple[list[EndJoin | None], list[EndJoin | None]]:
    """Find where faces of the same calibration meet.

    ``corner_threshold``: turning angle in radians from which a join is a corner. Gives what the start and what the
    finish of each face joins.
    """
    groups: dict[str, list[int]] = defaultdict(list)
    for i, scale in enumerate(scales):
        groups[scale_key(scale)].append(i)
    found: _Found = ([None] * len(faces), [None] * len(faces))
    for group, members in groups.items():
        reach = max(join_reach(scales[i]) for i in members)
        search = _Search([faces[i] for i in members], reach, corner_threshold, kept, group)
        for i, start, finish in zip(members, *search.joins(), strict=True):
            found[0][i], found[1][i] = start, finish
    return found


class _Search:
    def __init__(self, faces: Sequence[Face], reach: float, threshold: float, kept: Kept, group: str) -> None:
        self._faces, self._reach, self._threshold, self._kept, self._group = faces, reach, threshold, kept, group
        self._keys = [(face.run.id, face.side) for face in faces]
        self._found: _Found = ([None] * len(faces), [None] * len(faces))

    def joins(self) -> _Found:
        """What the start and the finish of each face joins."""
        ends = _open_points(self._faces)
        of = np.repeat(np.arange(len(ends)), [len(e) for e in ends]).tolist()
        table = np.array(list(chain.from_iterable(ends))).reshape(-1, 3)
        if len(table):
            names = list(zip(of, table[:, 0].astype(int).tolist(), strict=True))
            self._join_ends(names, table[:, 1:])
            loose = [n for n, (i, e) in enumerate(names) if self._found[e][i] is None]
            self._join_tees([names[n] for n in loose], table[loose, 1:])
        return self._found

    def _join_ends(self, ends: Sequence[_End], at: NDArray[np.float64]) -> None:
        """Join ends that lie within reach, the nearest first and then in the order of the faces."""
        pairs = [(*ends[j], *ends[k]) for j, k in near_pairs(at, self._reach).tolist()]
        rows = [(self._faces[i], e, self._faces[k], f) for i, e, k, f in pairs]
        keys = [(self._keys[i], e, self._keys[k], f) for i, e, k, f in pairs]
        memo = self._kept.memo(f"meetings {self._group}")
        meetings = memo.renew(keys, rows, lambda new: [_end_join(*rows[n], self._threshold) for n in new])
        for (i, e, k, f), meeting in zip(pairs, meetings, strict=True):
            if meeting is None or self._found[e][i] is not None or self._found[f][k] is not None:
                continue
            if i == k and self._faces[i].length <= LOOP * self._reach:
                continue  # a short face, not a line that comes back to where it began
            self._found[e][i], self._found[f][k] = meeting

    def _join_tees(self, ends: Sequence[_End], at: NDArray[np.float64]) -> None:
        """Join ends that stop on the inside of another run's coated face to the first such face."""
        tree = shapely.STRtree([shapely.LineString(face.path.flattened(ARC_SAG)) for face in self._faces])
        near = tree.query(shapely.points(at), predicate="dwithin", distance=self._reach + ARC_SAG)
        pairs = sorted((*ends[j], k) for j, k in near.T.tolist())
        pairs = [(i, e, k) for i, e, k in pairs if self._keys[i][0] != self._keys[k][0]]
        rows = [(self._faces[i], e, self._faces[k], self._reach) for i, e, k in pairs]
        keys = [(self._keys[i], e, self._keys[k]) for i, e, k in pairs]
        memo = self._kept.memo(f"tees {self._group}")
        for (i, e, _), join in zip(
            pairs, memo.renew(keys, rows, lambda new: [_tee(*rows[n]) for n in new]), strict=True
        ):
            if self._found[e][i] is None:
                self._found[e][i] = join


def _end_join(one: Face, end: int, two: Face, other_end: int, threshold: float) -> tuple[EndJoin, EndJoin] | None:
    incoming, hand = _walk(one, end, arriving=True)
    outgoing, hand_b = _walk(two, other_end, arriving=False)
    turn = turn_between(incoming, outgoing)
    if hand != hand_b or math.pi - abs(turn) < 1e-6:
        return None
    turn = turn if hand == "left" else -turn
    shared = overlap(end_section(one, end), end_section(two, other_end))
    if not shared:
        return None
    length, low = _extent(shared)
    return (
        EndJoin(end=end, length=length, low=low, turn=turn if abs(turn) >= threshold else 0.0, other=two.run.id),
        EndJoin(end=other_end, length=length, low=low, turn=0.0, other=one.run.id),
    )


def _extent(shared: Sequence[Interval]) -> tuple[float, float]:
    return sum(b - a for a, b in shared), min(a for a, _ in shared)


def _tee(one: Face, end: int, other: Face, reach: float) -> EndJoin | None:
    line = shapely.LineString(other.path.flattened(ARC_SAG))
    at = shapely.Point(end_point(one, end))
    station = float(shapely.line_locate_point(line, at)) / line.length * other.length
    if not other.run.closed and not reach < station < other.length - reach:
        return None
    if not _comes_from_coated_side(one, end, other, station):
        return None
    shared = overlap(end_section(one, end), overlap(section(other, station, -1), section(other, station, +1)))
    if not shared:
        return None
    length, low = _extent(shared)
    return EndJoin(end=end, length=length, low=low, turn=math.pi / 2, other=other.run.id)


def _open_points(faces: Sequence[Face]) -> list[list[tuple[int, float, float]]]:
    """Ends of faces that can meet others, and where they are."""
    return [[(e, *end_point(face, e)) for e in open_ends(face.run)] for face in faces]


def _comes_from_coated_side(face: Face, end: int, other: Face, station: float) -> bool:
    """Tell whether the face arrives at the other from the side on which the other is coated."""
    direction, _ = _walk(face, end, arriving=True)
    i = min(bisect_left(other.stations, station, 1), len(other.stations) - 1) - 1
    a, b, _ = other.path.segments()[i]
    across = (b[0] - a[0]) * direction[1] - (b[1] - a[1]) * direction[0]
    # with y down a positive cross product means that the walker heads to the right hand of the other line
    return across > 0 if other.side == "left" else across < 0
