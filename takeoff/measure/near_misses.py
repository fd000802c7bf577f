"""Ends of walls that almost meet another wall of their room: the corner between them is not counted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.measure.develop import ARC_SAG
from takeoff.measure.faces import MeasuredFace
from takeoff.measure.joins import join_reach
from takeoff.measure.uncertainty import scale_key
from takeoff.model.figures import Elevation
from takeoff.model.plan import Calibration
from takeoff.model.walls import Run

NEAR = 0.25
"""Metres up to which a gap between two walls of a room is no way through, so most likely a slip (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NearMiss:
    """A run with a free end that lies so far, in m, from another run of its room."""

    run: str
    other: str
    gap: float


def near_misses(
    faces: Sequence[MeasuredFace], runs: Mapping[str, Run], calibrations: Mapping[str, Calibration]
) -> tuple[NearMiss, ...]:
    """Find free ends that touch nothing and lie within `NEAR` of another run of their room, widest gap first.

    Parameters
    ----------
    faces
        Measured faces; their lines are in building metres, y down.
    runs, calibrations
        Runs and calibrations by run id.
    """
    by_scale: dict[str, list[Elevation]] = defaultdict(list)
    for face in faces:
        by_scale[scale_key(calibrations[face.elevation.run])].append(face.elevation)
    found: dict[frozenset[str], NearMiss] = {}
    for members in by_scale.values():
        ends = [(e, end) for e in members if e.room for end in _free_ends(runs[e.run])]
        if not ends:
            continue
        points = shapely.points([e.line[0 if end == 0 else -1] for e, end in ends])
        lines = np.array([shapely.LineString(e.line) for e in members], dtype=object)
        near = shapely.STRtree(lines).query(points, predicate="dwithin", distance=NEAR)
        gaps: dict[int, list[tuple[float, int]]] = defaultdict(list)
        for j, k, gap in zip(*near.tolist(), shapely.distance(points[near[0]], lines[near[1]]).tolist(), strict=True):
            if members[k].run != ends[j][0].run and _overlap(members[k], ends[j][0]):
                gaps[j].append((gap, k))
        for j, others in gaps.items():
            one = ends[j][0]
            gap, k = min(others)
            if gap > join_reach(calibrations[one.run]) + ARC_SAG and members[k].room == one.room:
                found.setdefault(
                    frozenset((one.run, members[k].run)), NearMiss(run=one.run, other=members[k].run, gap=gap)
                )
    return tuple(sorted(found.values(), key=lambda miss: (-miss.gap, miss.run, miss.other)))


def _free_ends(run: Run) -> list[int]:
    return [] if run.closed else [end for end in (0, 1) if run.ends[end] == "free"]


def _overlap(a: Elevation, b: Elevation) -> bool:
    return max(a.base, b.base) < min(a.base + a.max_height, b.base + b.max_height)
