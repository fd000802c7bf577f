"""Walls of one room that cannot be coated on the sides that they say: one is traced the wrong way round."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.geometry.pairs import NearPairs
from takeoff.measure.faces import MeasuredFace
from takeoff.measure.joins import join_reach
from takeoff.measure.overlaps import by_scale, meet_in_height
from takeoff.model.figures import Elevation
from takeoff.model.plan import Calibration

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
        members = [e for e in members if e.room and not e.is_closed and sides[e.run] == 1]
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
    for i, j in NearPairs().of(at, reach).tolist():
        (one, end), (other, other_end) = ends[i], ends[j]
        if one.run == other.run or not meet_in_height(one, other):
            continue
        if _hand(one, end, arriving=True) == _hand(other, other_end, arriving=False):
            same.update((i, j))
        elif one.room == other.room:
            clashing.append((i, j))
    return [(ends[i][0], ends[j][0]) for i, j in clashing if i not in same and j not in same]


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
