"""What people call walls: a number in their room, from corner to corner, and where on the plan they stand."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import accumulate, pairwise

import shapely

from takeoff.model.cut_lists import Drop, Piece
from takeoff.model.figures import Elevation

SIDES = ("right", "bottom right", "bottom", "bottom left", "left", "top left", "top", "top right")
"""Sides of a plan as displayed, clockwise from the right in eighths of a turn."""
STRAIGHT = 0.95
"""Least distance from end to end, as a part of its length, of a wall that stands on one side (judgement, no source)."""
JOG = 0.3
"""Metres from corner to corner up to which a jog is no wall by itself: about a foot (judgement, no source)."""
OTHER = {"left": "right", "right": "left"}
CLOSE = 1e-4
"""Metres within which two stations are one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """From corner to corner of a face: stations in m, the number of its wall in its room, the side of the plan.

    What is shorter than `JOG` is of the wall before it, and the two ends of a closed face without a corner between them
    are one wall; ``is_main`` is the longest part of each. ``points`` are the first and the last point of the face's
    drawn line that lie on it, counted from 0.
    """

    number: int
    start: float
    end: float
    side: str
    is_main: bool = True
    points: tuple[int, int] = (0, 1)

    @property
    def words(self) -> str:
        """Number and side."""
        return f"{self.number} ({self.side} of plan)" if self.side else str(self.number)

    @property
    def short(self) -> str:
        """Number and side, for a narrow column."""
        return f"{self.number}, {self.side}" if self.side else str(self.number)


@dataclass(frozen=True, slots=True, kw_only=True)
class WallNames:
    """Walls of each face and the name of its room, by the key of the face.

    ``closed`` are faces that have no ends, ``alone`` names of rooms that have one wall. ``runs`` are what traced walls
    are called in lists and in the window, by run: by their room, with a letter.
    """

    walls: Mapping[str, tuple[Stretch, ...]] = field(default_factory=dict)
    rooms: Mapping[str, str] = field(default_factory=dict)
    closed: frozenset[str] = frozenset()
    alone: frozenset[str] = frozenset()
    runs: Mapping[str, str] = field(default_factory=dict)

    def number(self, key: str) -> str:
        """Number the walls of a face: ``1``, or ``2 to 5``; empty for the one wall of a room."""
        found = [wall.number for wall in self.walls[key]]
        if self.rooms[key] in self.alone:
            return ""
        return str(found[0]) if max(found) == found[0] else f"{found[0]} to {max(found)}"

    def face(self, key: str) -> str:
        """Name a face by its room and its walls."""
        number, walls = self.number(key), self.walls[key]
        is_one = len({wall.number for wall in walls}) == 1
        words = ("wall", walls[0].words) if number and is_one else ("wall" if is_one else "walls", number)
        return ", ".join(part for part in (self.rooms[key], " ".join(words).rstrip()) if part)

    def at(self, key: str, station: float) -> Stretch:
        """Return the wall at a station of a face, in m; past the end of a closed face it goes on at its start."""
        walls = self.walls[key]
        on = (station + CLOSE) % walls[-1].end if key in self.closed else station + CLOSE
        return next((wall for wall in walls if wall.start <= on < wall.end), walls[-1])

    def place(self, key: str, station: float) -> str:
        """Name the wall at a station of a face by its room, number and side."""
        words = "" if self.rooms[key] in self.alone else f" {self.at(key, station).words}"
        return ", ".join(part for part in (self.rooms[key], f"wall{words}") if part)

    def what(self, cut: Drop | Piece) -> str:
        """Say what a cut is for: the drop of a wall, the corner between two, an edge of an opening."""
        if isinstance(cut, Drop):
            return f"{self.place(cut.face, cut.x0)}, drop {cut.number}" if cut.face in self.walls else cut.label
        if cut.face not in self.walls:
            return cut.label
        if cut.at is None or not cut.label.endswith("corner"):
            return f"{self.place(cut.face, cut.at or 0.0)}, {cut.label}"
        back = cut.at - 3 * CLOSE
        before = self.at(cut.face, back if cut.face in self.closed else max(back, 0.0))
        ends = dict.fromkeys((before.number, self.at(cut.face, cut.at).number))
        words = " of wall " if len(ends) == 1 else " of walls "
        return ", ".join(
            part for part in (self.rooms[cut.face], cut.label + words + " and ".join(map(str, ends))) if part
        )


def name_walls(
    elevations: Sequence[Elevation], rooms: Mapping[str, str], turns: Mapping[str, int] | None = None
) -> WallNames:
    """Number the walls of each room from corner to corner, faces in order.

    ``rooms`` are names by id; the empty id is that of walls in no room. ``turns`` are degrees clockwise by which the
    sheet of a run is displayed turned, by the run's id.
    """
    count: dict[str, int] = {}
    made: dict[str, tuple[Stretch, ...]] = {}
    keys = {e.key for e in elevations}
    for e in elevations:
        room = e.room or ""
        inner = sorted({round(c.station, 4) for c in e.corners if CLOSE < c.station < e.length - CLOSE})
        cuts = list(pairwise((0.0, *inner, e.length)))
        is_joined = (
            e.is_closed
            and len(cuts) > 1
            and not any(c.station <= CLOSE or c.station >= e.length - CLOSE for c in e.corners)
        )
        numbers = _numbers([b - a for a, b in cuts], is_joined=is_joined)
        stands_free = sum(c.turn for c in e.corners) < 0.0 or f"{e.run}:{OTHER[e.face]}" in keys
        turn = (turns or {}).get(e.run, 0) + (180 if stands_free else 0)
        mains = {n: max((b - a, (a, b)) for (a, b), m in zip(cuts, numbers, strict=True) if m == n)[1] for n in numbers}
        made[e.key] = tuple(
            Stretch(
                number=count.get(room, 0) + 1 + n,
                start=a,
                end=b,
                side=_side(e, *mains[n], turn),
                is_main=mains[n] == (a, b),
                points=_points(e, a, b),
            )
            for (a, b), n in zip(cuts, numbers, strict=True)
        )
        count[room] = count.get(room, 0) + 1 + max(numbers)
    names = {e.key: rooms.get(e.room or "", "") for e in elevations}
    of_room: dict[str, set[int]] = {}
    for key, found in made.items():
        of_room.setdefault(names[key], set()).update(wall.number for wall in found)
    return WallNames(
        walls=made,
        rooms=names,
        closed=frozenset(e.key for e in elevations if e.is_closed),
        alone=frozenset(room for room, found in of_room.items() if len(found) == 1),
    )


def _numbers(lengths: Sequence[float], *, is_joined: bool) -> list[int]:
    """Number the stretches of a face from 0: a short one is of the wall before it, and at the start of the next."""
    numbers = []
    number = -1
    for length in lengths:
        number += length >= JOG
        numbers.append(max(number, 0))
    return [*numbers[:-1], 0] if is_joined else numbers


def _side(e: Elevation, start: float, end: float, turn: int) -> str:
    """Say on which side of its room, or of itself where it stands free, a wall is; empty for a curved one."""
    if len(e.line) < 2:
        return ""
    line = shapely.LineString(e.line)
    (a, b) = (shapely.line_interpolate_point(line, s / e.length, normalized=True) for s in (start, end))
    if a.distance(b) < STRAIGHT * (end - start) * line.length / e.length:
        return ""
    sign = 1.0 if e.face == "left" else -1.0
    out = (-sign * (b.y - a.y), sign * (b.x - a.x))
    for _ in range(turn // 90 % 4):
        out = (-out[1], out[0])
    return SIDES[round(math.atan2(out[1], out[0]) / (math.pi / 4)) % len(SIDES)]


def _points(e: Elevation, start: float, end: float) -> tuple[int, int]:
    """Return the points of the drawn line nearest to two stations, which are never one."""
    lengths = [0.0, *accumulate(math.dist(a, b) for a, b in pairwise(e.line))]
    at = [s * e.length / (lengths[-1] or 1.0) for s in lengths]
    a, b = (min(range(len(at)), key=lambda i: abs(at[i] - s)) for s in (start, end))
    return (a, b) if a < b else (max(b - 1, 0), max(b, 1))
