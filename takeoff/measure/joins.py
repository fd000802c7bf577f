"""Ends of runs that meet: corners made by two runs, and ends that stop against another run's coated face.

- end: the first or last vertex of a face of an open run, of kind "free" or "abut".
- join: two ends within the calibration's tolerance, coated on the same hand of someone who walks through.
- T-join: an end on the inside of another run's coated face; always an inside corner.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree

from takeoff.geometry.arcs import Point, tangents, turn_between
from takeoff.geometry.intervals import Interval, overlap
from takeoff.measure.develop import ARC_SAG, Face
from takeoff.measure.elevation import section
from takeoff.measure.settings import ROUNDING
from takeoff.model.plan import Calibration
from takeoff.model.walls import Run

SLACK = 1e-6
"""Metres by which a search goes further than it must; what it finds is then measured."""

LOOP = 4.0
"""Reaches that an open face must be longer than for its own two ends to meet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Join:
    """Two faces that meet: ``first`` (its end 0 or 1) goes on in ``second`` (``second_end`` is None for a T-join).

    ``turn`` in radians is positive for an inside corner; ``shared`` are the height intervals coated on both.
    """

    first: int
    first_end: int
    second: int
    second_end: int | None
    turn: float
    shared: tuple[Interval, ...]

    @property
    def length(self) -> float:
        """Shared length in metres."""
        return sum(b - a for a, b in self.shared)


@dataclass(frozen=True, slots=True, kw_only=True)
class EndJoin:
    """What one face's end (0 or 1) has of a join: shared length in m, its lowest height, and the run that it meets.

    ``turn`` is set on the face that carries the corner, so that a corner of two runs counts once.
    """

    end: int
    length: float
    low: float
    turn: float
    other: str


def join_reach(scale: Calibration) -> float:
    """Distance in metres within which two ends of runs of one calibration are one."""
    return max(scale.join_tolerance, ROUNDING)


def joins_by_face(faces: Sequence[Face], joins: Sequence[Join]) -> list[tuple[EndJoin, ...]]:
    """Joins as each face sees them, in the order of ``faces``; the start comes before the finish."""
    out: list[list[EndJoin]] = [[] for _ in faces]
    for j in joins:
        first, second = faces[j.first].run.id, faces[j.second].run.id
        low = min(a for a, _ in j.shared)
        out[j.first].append(EndJoin(end=j.first_end, length=j.length, low=low, turn=j.turn, other=second))
        if j.second_end is not None:
            out[j.second].append(EndJoin(end=j.second_end, length=j.length, low=low, turn=0.0, other=first))
    return [tuple(sorted(ends, key=lambda e: e.end)) for ends in out]


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
    faces: Sequence[Face], groups: Sequence[str], tolerances: Sequence[float], *, corner_threshold: float
) -> list[Join]:
    """Find where faces of the same calibration meet.

    Parameters
    ----------
    faces
        Developed faces.
    groups
        Calibration key of each face: only faces of one group can meet.
    tolerances
        Distance in metres within which two ends are one, per face.
    corner_threshold
        Turning angle in radians from which a join is a corner.
    """
    by_group: dict[str, list[int]] = defaultdict(list)
    for i, group in enumerate(groups):
        by_group[group].append(i)
    joins: list[Join] = []
    for members in by_group.values():
        ends = [(i, e) for i in members for e in open_ends(faces[i].run)]
        if not ends:
            continue
        at = np.array([end_point(faces[i], e) for i, e in ends])
        reach = max(tolerances[i] for i in members)
        taken: set[tuple[int, int]] = set()
        for j, k in _nearest_pairs(at, reach):
            if ends[j][0] == ends[k][0] and faces[ends[j][0]].length <= LOOP * reach:
                continue  # a short face, not a line that comes back to where it began
            join = _end_join(faces, ends[j], ends[k], corner_threshold)
            if join is not None and ends[j] not in taken and ends[k] not in taken:
                joins.append(join)
                taken.update((ends[j], ends[k]))
        joins.extend(_t_joins(faces, members, [x for x in ends if x not in taken], reach))
    return joins


def _nearest_pairs(at: np.ndarray, reach: float) -> list[tuple[int, int]]:
    """Pairs of ends within reach, nearest first and then in the order of ``ends``, whatever lies elsewhere."""
    pairs = cKDTree(at).query_pairs(reach + SLACK, output_type="ndarray")
    if not len(pairs):
        return []
    gap = at[pairs[:, 0]] - at[pairs[:, 1]]
    distance = np.sqrt(gap[:, 0] ** 2 + gap[:, 1] ** 2)
    order = np.lexsort((pairs[:, 1], pairs[:, 0], distance))
    return [(j, k) for j, k in pairs[order[distance[order] <= reach]].tolist()]


def _end_join(faces: Sequence[Face], a: tuple[int, int], b: tuple[int, int], threshold: float) -> Join | None:
    incoming, hand = _walk(faces[a[0]], a[1], arriving=True)
    outgoing, hand_b = _walk(faces[b[0]], b[1], arriving=False)
    turn = turn_between(incoming, outgoing)
    if hand != hand_b or math.pi - abs(turn) < 1e-6:
        return None
    turn = turn if hand == "left" else -turn
    shared = overlap(end_section(faces[a[0]], a[1]), end_section(faces[b[0]], b[1]))
    if not shared:
        return None
    return Join(
        first=a[0],
        first_end=a[1],
        second=b[0],
        second_end=b[1],
        turn=turn if abs(turn) >= threshold else 0.0,
        shared=tuple(shared),
    )


def _t_joins(faces: Sequence[Face], members: list[int], ends: list[tuple[int, int]], reach: float) -> list[Join]:
    if not ends:
        return []
    chains = [faces[i].path.flattened(ARC_SAG) for i in members]
    lines = shapely.linestrings(
        [p for chain in chains for p in chain], indices=np.repeat(np.arange(len(chains)), [len(c) for c in chains])
    )
    points = shapely.points([end_point(faces[i], e) for i, e in ends])
    around = reach + ARC_SAG
    x, y = shapely.get_x(points), shapely.get_y(points)
    margin = around + SLACK
    near = shapely.STRtree(lines).query(shapely.box(x - margin, y - margin, x + margin, y + margin))
    near = near[:, shapely.distance(points[near[0]], lines[near[1]]) <= around]
    found: dict[tuple[int, int], Join] = {}
    for j, k in near[:, np.lexsort((near[1], near[0]))].T.tolist():
        (i, e), other = ends[j], members[k]
        if other == i or (i, e) in found or faces[other].run.id == faces[i].run.id:
            continue
        station = float(shapely.line_locate_point(lines[k], points[j])) / lines[k].length * faces[other].length
        if not faces[other].run.closed and not reach < station < faces[other].length - reach:
            continue
        if not _comes_from_coated_side(faces[i], e, faces[other], station):
            continue
        shared = overlap(
            end_section(faces[i], e), overlap(section(faces[other], station, -1), section(faces[other], station, +1))
        )
        if shared:
            found[(i, e)] = Join(
                first=i, first_end=e, second=other, second_end=None, turn=math.pi / 2, shared=tuple(shared)
            )
    return list(found.values())


def _comes_from_coated_side(face: Face, end: int, other: Face, station: float) -> bool:
    """Tell whether the face arrives at the other from the side on which the other is coated."""
    direction, _ = _walk(face, end, arriving=True)
    i = next((k for k in range(len(other.stations) - 1) if station <= other.stations[k + 1]), len(other.stations) - 2)
    a, b, _ = other.path.segments()[i]
    across = (b[0] - a[0]) * direction[1] - (b[1] - a[1]) * direction[0]
    # with y down a positive cross product means that the walker heads to the right hand of the other line
    return across > 0 if other.side == "left" else across < 0
