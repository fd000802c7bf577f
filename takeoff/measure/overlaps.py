"""Walls that lie wrong: traced twice or the wrong way round, ended inside another's wall, or short of one they meet.

- body: what a run's wall takes of the plan, by its traced line and thickness.
- An end counts as inside where it is deeper in a body than picks can tell. Where two walls meet end to end each end
  lies on the edge of the other body; those meetings are corners (see `takeoff.measure.mitres`).
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.geometry.pairs import near_pairs
from takeoff.measure.develop import ARC_SAG, traced_path
from takeoff.measure.faces import MeasuredFace
from takeoff.measure.joins import join_reach, open_ends
from takeoff.measure.uncertainty import scale_key
from takeoff.model.figures import Elevation
from takeoff.model.plan import Calibration
from takeoff.model.walls import Run

APART = 0.02
"""Metres within which two faces lie on one line (our choice)."""
LEAST = 0.1
"""Metres from which a stretch that two faces share is told."""
TURN = math.radians(1.0)
"""Angle within which two chords run the same way (our choice)."""


def doubled_stretches(
    faces: Sequence[MeasuredFace], calibrations: Mapping[str, Calibration]
) -> tuple[tuple[str, str, float], ...]:
    """Find the pairs of runs of which a stretch is measured twice, with its length in m, longest first.

    Two faces count as one wall where they lie on one line of the same sheet, are coated on the same side and their
    heights overlap.
    """
    shared: dict[tuple[str, str], float] = defaultdict(float)
    for members in by_scale(faces, calibrations):
        ends, owner, runs = _chords(members)
        for i, j, length in zip(*_on_one_line(ends, runs[owner]), strict=True):
            one, other = members[owner[i]], members[owner[j]]
            if meet_in_height(one, other):
                shared[min((one.run, other.run), (other.run, one.run))] += length
    found = [(a, b, length) for (a, b), length in shared.items() if length >= LEAST]
    return tuple(sorted(found, key=lambda f: (-f[2], f[0], f[1])))


def _chords(members: Sequence[Elevation]) -> tuple[NDArray[np.float64], NDArray[np.intp], NDArray[np.intp]]:
    """Return the chords of walls (n, 2, 2), coated on their left hand, whose each is, and the run of each wall."""
    chords = [
        (i, a, b) if e.face == "left" else (i, b, a)
        for i, e in enumerate(members)
        for a, b in pairwise(e.line)
        if a != b
    ]
    runs = np.unique([e.run for e in members], return_inverse=True)[1]
    return np.array([(a, b) for _, a, b in chords]), np.array([i for i, _, _ in chords]), runs


def by_scale(faces: Sequence[MeasuredFace], calibrations: Mapping[str, Calibration]) -> Iterable[list[Elevation]]:
    """Elevations of faces by what shares one scale; calibrations by run id."""
    groups: dict[str, list[Elevation]] = defaultdict(list)
    for face in faces:
        groups[scale_key(calibrations[face.elevation.run])].append(face.elevation)
    return groups.values()


def meet_in_height(a: Elevation, b: Elevation) -> bool:
    """Tell whether the coatings of two walls share a height."""
    return max(a.base, b.base) < min(a.base + a.max_height, b.base + b.max_height)


def _on_one_line(ends: NDArray[np.float64], runs: NDArray[np.intp]) -> tuple[list[int], list[int], list[float]]:
    """Pairs of directed chords (n, 2, 2) of two runs that run the same way on one line, and the length they share."""
    lines = shapely.linestrings(ends)
    i, j = shapely.STRtree(lines).query(lines, predicate="dwithin", distance=APART)
    is_pair = (i < j) & (runs[i] != runs[j])
    i, j = i[is_pair], j[is_pair]
    length = _shared(ends[i], ends[j])
    keep = length > 0.0
    return i[keep].tolist(), j[keep].tolist(), length[keep].tolist()


def _shared(one: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.float64]:
    """Length that pairs of directed chords (n, 2, 2) have in common, 0 unless they run the same way on one line."""
    way, also = one[:, 1] - one[:, 0], other[:, 1] - other[:, 0]
    length = np.hypot(*way.T)
    unit = way / length[:, None]
    from_start = other - one[:, :1]
    along = np.einsum("nij,nj->ni", from_start, unit)
    off = np.abs(np.einsum("nij,nj->ni", from_start, np.stack([-unit[:, 1], unit[:, 0]], axis=1)))
    is_one = (np.einsum("nj,nj->n", unit, also) >= math.cos(TURN) * np.hypot(*also.T)) & (off <= APART).all(axis=1)
    return np.where(is_one, np.minimum(along[:, 1], length) - np.maximum(along[:, 0], 0.0), 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class EndInside:
    """A run that ends inside the wall of another: how much of its line lies in there, and what it covers, both in m.

    ``covered`` is the length of the other's coated face behind the run: its thickness where it comes from a coated
    side, else 0.
    """

    run: str
    other: str
    inside: float
    covered: float


def ends_inside(runs: Iterable[Run], calibrations: Mapping[str, Calibration]) -> tuple[EndInside, ...]:
    """Find the ends of runs that lie inside another run's wall, in the order of the runs.

    ``runs``: the runs; those without a calibration are passed over.
    """
    groups: dict[object, list[Run]] = defaultdict(list)
    for run in runs:
        if run.id in calibrations:
            groups[scale_key(calibrations[run.id])].append(run)
    found: list[EndInside] = []
    for members in groups.values():
        thick = [run for run in members if run.thickness > 0.0]
        ends = [(run, end) for run in members for end in open_ends(run)] if thick else []
        if not ends:
            continue
        lines = {run.id: _line(run, calibrations[run.id]) for run in members}
        bodies = [_body(run, lines[run.id]) for run in thick]
        points = shapely.points([lines[run.id].coords[0 if end == 0 else -1] for run, end in ends])
        near = shapely.STRtree(bodies).query(points, predicate="intersects")
        for j, k in sorted(near.T.tolist()):
            (run, _end), other = ends[j], thick[k]
            reach = join_reach(calibrations[run.id])
            if run.id == other.id or shapely.distance(points[j], bodies[k].boundary) <= reach:
                continue
            way_in = _piece(shapely.intersection(lines[run.id], bodies[k]), points[j])
            comes = _side(lines[other.id], way_in, points[j])
            is_coated = other.face in ("both", comes)
            found.append(
                EndInside(
                    run=run.id, other=other.id, inside=float(way_in.length), covered=run.thickness if is_coated else 0.0
                )
            )
    return tuple(found)


def _line(run: Run, scale: Calibration) -> Any:
    """Traced line in building metres, y down."""
    return shapely.LineString(traced_path(run, scale).flattened(ARC_SAG))


def _body(run: Run, line: Any) -> Any:
    if run.line == "centre":
        return line.buffer(run.thickness / 2.0, cap_style="flat", join_style="mitre")
    # with y down what shapely calls left is the right hand as displayed; the body is behind the coated face
    by = -run.thickness if run.face == "right" else run.thickness
    return line.buffer(by, single_sided=True, join_style="mitre")


def _piece(inside: Any, end: Any) -> Any:
    return min(shapely.get_parts(inside), key=lambda part: shapely.distance(part, end))


def _side(line: Any, way_in: Any, end: Any) -> str:
    """From which hand of a line as displayed somebody comes in."""
    entry = max((shapely.Point(c) for c in way_in.coords), key=lambda p: p.distance(end))
    at = line.project(entry)
    step = min(1e-3, line.length / 4.0)
    before, after = line.interpolate(max(at - step, 0.0)), line.interpolate(min(at + step, line.length))
    across = (after.x - before.x) * (entry.y - before.y) - (after.y - before.y) * (entry.x - before.x)
    return "left" if across < 0.0 else "right"


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
    """Find free ends that touch nothing and lie within `NEAR` of another run of their room, widest gap first."""
    found: dict[frozenset[str], NearMiss] = {}
    for members in by_scale(faces, calibrations):
        ends = [(n, end) for n, e in enumerate(members) if e.room for end in _free_ends(runs[e.run])]
        if not ends:
            continue
        points = shapely.points([members[n].line[0 if end == 0 else -1] for n, end in ends])
        lines = np.array([shapely.LineString(e.line) for e in members], dtype=object)
        near = shapely.STRtree(lines).query(points, predicate="dwithin", distance=NEAR)
        own = np.array(ends)[near[0], 0]
        run = np.unique([e.run for e in members], return_inverse=True)[1]
        base = np.array([e.base for e in members])
        top = base + [e.max_height for e in members]
        meets = np.maximum(base[own], base[near[1]]) < np.minimum(top[own], top[near[1]])
        end, to = near[:, meets & (run[own] != run[near[1]])]
        gaps = shapely.distance(points[end], lines[to])
        order = np.lexsort((to, gaps, end))
        nearest = order[np.unique(end[order], return_index=True)[1]]
        for j, k, gap in zip(end[nearest].tolist(), to[nearest].tolist(), gaps[nearest].tolist(), strict=True):
            one = members[ends[j][0]]
            if gap > join_reach(calibrations[one.run]) + ARC_SAG and members[k].room == one.room:
                found.setdefault(
                    frozenset((one.run, members[k].run)), NearMiss(run=one.run, other=members[k].run, gap=gap)
                )
    return tuple(sorted(found.values(), key=lambda miss: (-miss.gap, miss.run, miss.other)))


def _free_ends(run: Run) -> list[int]:
    return [] if run.closed else [end for end in (0, 1) if run.ends[end] == "free"]


_End = tuple[Elevation, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongFace:
    """A run whose coated side does not go on in the next wall: ``others`` are the runs of its room that it meets so.

    Without others it is a closed run that is coated on its outside although nothing else is in its room.
    """

    run: str
    others: tuple[str, ...] = ()


def wrong_faces(faces: Sequence[MeasuredFace], calibrations: Mapping[str, Calibration]) -> tuple[WrongFace, ...]:
    """Find the runs of rooms that are coated on the other side than the walls that they meet.

    Someone who walks along the walls of a room has the coated face on one hand all the time. Where two ends meet and
    the hand changes, the run that does so at most of its ends is the one told.
    """
    clashes: dict[str, list[str]] = defaultdict(list)
    runs = {f.elevation.run for f in faces}
    sides = Counter(f.elevation.run for f in faces)
    for members in by_scale(faces, calibrations):
        members = [e for e in members if e.room and sides[e.run] == 1]
        for one, other in _back_to_back(members) if members else ():
            clashes[one.run].append(other.run)
        members = [e for e in members if not e.is_closed]
        if not members:
            continue
        reach = max(join_reach(calibrations[e.run]) for e in members)
        for one, other in _clashes([(e, end) for e in members for end in (0, 1)], reach):
            clashes[one.run].append(other.run)
            clashes[other.run].append(one.run)
    found = []
    for run in sorted(clashes, key=lambda id: (-len(clashes[id]), id)):
        others = tuple(other for other in clashes[run] if other in runs)
        if others:
            found.append(WrongFace(run=run, others=tuple(sorted(set(others)))))
            runs.discard(run)
    return (*found, *_inside_out([f.elevation for f in faces]))


def _clashes(ends: Sequence[_End], reach: float) -> list[tuple[Elevation, Elevation]]:
    """Pairs of walls of one room whose ends meet with the coated side on different hands, and meet no other rightly."""
    at = np.array([e.line[0 if end == 0 else -1] for e, end in ends])
    same: set[int] = set()
    clashing: list[tuple[int, int]] = []
    for i, j in near_pairs(at, reach).tolist():
        (one, end), (other, other_end) = ends[i], ends[j]
        if one.run == other.run or not meet_in_height(one, other):
            continue
        if _hand(one, end, arriving=True) == _hand(other, other_end, arriving=False):
            same.update((i, j))
        elif one.room == other.room:
            clashing.append((i, j))
    return [(ends[i][0], ends[j][0]) for i, j in clashing if i not in same and j not in same]


def _back_to_back(members: Sequence[Elevation]) -> Iterator[tuple[Elevation, Elevation]]:
    """Yield open walls with the closed one of their room on whose line they lie, coated on the other side of it."""
    ends, owner, runs = _chords(members)
    count = len(ends)
    for i, j, length in zip(*_on_one_line(np.concatenate([ends, ends[:, ::-1]]), runs[np.tile(owner, 2)]), strict=True):
        if i < count <= j and length >= LEAST:
            one, other = members[owner[i]], members[owner[j - count]]
            if one.room == other.room and other.is_closed and not one.is_closed and meet_in_height(one, other):
                yield one, other


def _hand(e: Elevation, end: int, *, arriving: bool) -> str:
    """On which hand of someone who walks to an end of a wall, or away from it, the coated face is."""
    is_along = (end == 1) if arriving else (end == 0)
    return e.face if is_along else {"left": "right", "right": "left"}[e.face]


def _inside_out(elevations: Sequence[Elevation]) -> list[WrongFace]:
    """Closed runs that are coated on their outside and alone in their room."""
    in_room = Counter(e.room for e in elevations)
    return [
        WrongFace(run=e.run) for e in elevations if e.room and e.is_closed and in_room[e.room] == 1 and not _looks_in(e)
    ]


def _looks_in(e: Elevation) -> bool:
    # with y down a ring that shapely calls counter-clockwise turns clockwise as displayed: its inside is on the right
    return (e.face == "right") == bool(shapely.is_ccw(shapely.linearrings(e.line)))
