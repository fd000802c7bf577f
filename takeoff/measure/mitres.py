"""Where the faces of thick walls end when two or more runs meet at one point of the plan.

A face that lies off the traced line ends square to it, unless another wall of the same thickness goes on from there:
then both faces run to where they meet, as they do at a vertex of one run. Of several walls at a point each face meets
the next wall's, going round; there every one has to be traced on its centreline.

- wall end: the first or last point of an open run that has a face off its traced line.
- outward: away from the wall end along its run.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from operator import attrgetter

import numpy as np

from takeoff.errors import GeometryError
from takeoff.geometry.arcs import Point, segment_length, tangents, turn_between
from takeoff.geometry.pairs import linked_groups, near_pairs
from takeoff.geometry.paths import Path, meeting_point
from takeoff.measure.develop import FaceEnds, face_offsets, traced_path
from takeoff.measure.joins import join_reach
from takeoff.measure.uncertainty import scale_key
from takeoff.model.plan import Calibration
from takeoff.model.walls import Run

SHARPEST = math.radians(170.0)
"""Turning angle from which a corner is too sharp for its faces to be taken to where they meet (judgement)."""

_EndKey = tuple[str, int]
_Segment = tuple[Point, Point, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class _WallEnd:
    """A wall end: its segment outward, the body's offsets to the left of it, and each face's side with its offset."""

    key: _EndKey
    scale: str
    reach: float
    outward: _Segment
    body: tuple[float, float]
    is_centred: bool
    faces: tuple[tuple[str, float], ...]

    @property
    def at(self) -> Point:
        """Where it is, in building metres."""
        return self.outward[0]

    @property
    def heading(self) -> float:
        """Angle of the way outward, counter-clockwise as displayed."""
        (x, y), _ = tangents(*self.outward)
        return math.atan2(-y, x)


def find_mitres(runs: Sequence[Run], calibrations: Mapping[str, Calibration]) -> dict[str, FaceEnds]:
    """Find where the faces of runs end when thick walls meet.

    Gives points in building metres, by side and end, of each run that another wall meets.
    """
    ends = [end for run in runs if run.thickness and not run.closed for end in _wall_ends(run, calibrations[run.id])]
    out: dict[str, dict[tuple[str, int], Point]] = defaultdict(dict)
    for members in _meetings(sorted(ends, key=attrgetter("key"))):
        for id, side, end, point in _points(members):
            out[id][side, end] = point
    return dict(out)


def _wall_ends(run: Run, scale: Calibration) -> list[_WallEnd]:
    offsets = face_offsets(run)
    if not any(offsets.values()):
        return []
    path: Path = traced_path(run, scale)
    segments = path.segments()
    half = run.thickness / 2.0
    low, high = (-half, half) if run.line == "centre" else (-run.thickness, 0.0)
    a, b, bulge = segments[-1]
    ways: tuple[tuple[int, _Segment, tuple[float, float]], ...] = (
        (0, segments[0], (low, high)),
        (1, (b, a, -bulge), (-high, -low)),
    )
    return [
        _WallEnd(
            key=(run.id, end),
            scale=scale_key(scale),
            reach=join_reach(scale),
            outward=outward,
            body=body,
            is_centred=run.line == "centre",
            faces=tuple((side, by if end == 0 else -by) for side, by in offsets.items() if by),
        )
        for end, outward, body in ways
        if run.ends[end] != "return"
    ]


def _points(members: Sequence[_WallEnd]) -> list[tuple[str, str, int, Point]]:
    """Where the faces at some wall ends that meet end: run, side, end and point."""
    if not _is_one_wall(members) or (len(members) > 2 and not all(m.is_centred for m in members)):
        return []
    out = []
    ring = sorted(members, key=lambda m: m.heading)
    for i, end in enumerate(ring):
        for side, by in end.faces:
            # the face on the left of the way outward meets the next wall counter-clockwise
            other = ring[(i + 1 if by > 0.0 else i - 1) % len(ring)]
            point = _met(end, other, by)
            if point is not None:
                out.append((end.key[0], side, end.key[1], point))
    return out


def _meetings(ends: Sequence[_WallEnd]) -> list[list[_WallEnd]]:
    """Wall ends of one calibration that lie within reach of one another, two or more."""
    if len(ends) < 2:
        return []
    near = near_pairs(np.array([end.at for end in ends]), max(end.reach for end in ends))
    met = [
        (i, j)
        for i, j in near.tolist()
        if ends[i].scale == ends[j].scale and math.dist(ends[i].at, ends[j].at) <= ends[i].reach
    ]
    group = linked_groups(len(ends), *np.array(met, np.int64).reshape(-1, 2).T)
    groups: dict[int, list[_WallEnd]] = defaultdict(list)
    for end, number in zip(ends, group.tolist(), strict=True):
        groups[number].append(end)
    return [g for g in groups.values() if len(g) > 1]


def _is_one_wall(ends: Sequence[_WallEnd]) -> bool:
    """Tell whether the walls' bodies go on in one another: as thick, and on the same side of the traced lines."""
    low, high = ends[0].body
    return all(math.isclose(-low, e.body[1], abs_tol=1e-9) and math.isclose(-high, e.body[0], abs_tol=1e-9)
               for e in ends[1:])  # fmt: skip


def _met(end: _WallEnd, other: _WallEnd, by: float) -> Point | None:
    """Where a face, ``by`` to the left of the way outward, meets the other wall's; nothing where it cannot."""
    (ax, ay), (bx, by_), bulge = other.outward
    shift = (end.at[0] - ax, end.at[1] - ay)
    before = ((bx + shift[0], by_ + shift[1]), end.at, -bulge)
    arriving, leaving = tangents(*before)[1], tangents(*end.outward)[0]
    turn = abs(turn_between(arriving, leaving))
    shorter = min(segment_length(*before), segment_length(*end.outward))
    if turn >= SHARPEST or abs(by) * math.tan(turn / 2.0) >= shorter:
        return None
    try:
        return meeting_point(before, end.outward, end.at, by)
    except GeometryError:
        return None
