"""Rooms that a new revision parts, joins or adds: traced as everywhere, and the walls whose place they take."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.actions.given import SAG_PT, Given, runs_of, shape_of
from takeoff.actions.traced_sheets import SheetTrace, read_drawn_sheet, with_schedules
from takeoff.actions.tracing import id_of_room
from takeoff.geometry.pairs import linked_groups
from takeoff.job.job import Job
from takeoff.measure.develop import traced_path
from takeoff.model.plan import Calibration, ScaleRegion
from takeoff.model.walls import Room, Run
from takeoff.revise.carry import CarriedRun
from takeoff.revise.drawn_walls import NewWall
from takeoff.revise.registration import Registration
from takeoff.revise.sheet_pair import SheetPair
from takeoff.trace.lines.traced_rooms import TracedRoom

OVERLAP = 0.3
"""Part of the smaller of two outlines that they share from which they are about one place (judgement, no source)."""
NEW = 0.3
"""Part of a room's outline that is newly drawn from which it is a new room (judgement, no source)."""
SAME_ROOM = 0.03
"""Part of a room's area by which it may be traced otherwise and still be the same: jambs and glass (judgement)."""
SAME_OPENING = 0.3
"""Metres within which an opening of the old walls is the one that was traced."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoomsAnew:
    """Rooms that one place has on the new revision, as they would be put into the job.

    ``runs`` are the walls whose place they take, none where they are new; ``rooms`` with their walls.
    """

    runs: tuple[str, ...]
    rooms: tuple[tuple[Room, tuple[Run, ...]], ...]

    @property
    def key(self) -> str:
        """Id by which it is taken: that of its first old wall, else of its first room."""
        return self.runs[0] if self.runs else self.rooms[0][0].id

    @property
    def words(self) -> str:
        """What was found, in a few words."""
        names = ", ".join(" ".join(t for t in (r.number, r.name) if t) or r.id for r, _ in self.rooms)
        rooms = "1 room" if len(self.rooms) == 1 else f"{len(self.rooms)} rooms"
        if not self.runs:
            return f"a new room: {names}"
        return f"{rooms} drawn in place of {', '.join(self.runs)}: {names}"


def rooms_anew(
    job: Job,
    pair: SheetPair,
    carried: Sequence[CarriedRun],
    *,
    scales: Sequence[Calibration],
    regions: Sequence[ScaleRegion],
    new_walls: Sequence[NewWall],
) -> tuple[RoomsAnew, ...]:
    """Trace the new sheet where walls came or went; nothing is read of it where none did.

    ``carried`` are proposals for the walls of the old sheet; ``scales`` and ``regions`` are those of the new one.
    """
    within = {id for wall in new_walls for id in wall.runs}
    asked = {one.before.id for one in carried if one.is_lost or one.before.id in within}
    if not pair.is_vector or not (asked or new_walls):
        return ()
    trace = read_drawn_sheet(
        pair.new_data, pair.new, scales, {r.id: r for r in regions}, tuple(job.styles.values())
    )  # fmt: skip
    trace = with_schedules(trace, [table for table in pair.opening_tables[1:] if table])
    carry = pair.registration.carry
    outlines = {
        one.before.id: shapely.Polygon([carry(p) for p in one.before.path_pt.flattened(SAG_PT)]).buffer(0)
        for one in carried
        if one.before.closed
    }
    rooms = [(room, shape_of(room)) for room in trace.rooms()]
    parted = {id for wall in new_walls for id in wall.runs if not wall.stands_free}
    lost = {one.before.id for one in carried if one.is_lost}
    found = [
        (runs, own)
        for runs, own in _groups(rooms, outlines, asked)
        if all(shape.area > 0.0 for _, shape in own)
        and not (_is_one_room(own, [outlines[run] for run in runs]) and not (parted | lost) & set(runs))
    ]
    strokes = shapely.linestrings(pair.differences.added.reshape(-1, 2, 2))
    fresh = [
        ((), [(room, shape)])
        for room, shape in rooms
        if not any(_share(shape, other) > OVERLAP for other in outlines.values())
        and _is_of(shape.boundary, strokes, pair.tolerance_pt)
    ]
    maker = _Maker(job, trace, pair.registration)
    return tuple(maker.made(runs, own, outlines) for runs, own in (*found, *fresh))


Drawn = list[tuple[TracedRoom, shapely.Geometry]]


def _is_one_room(own: Drawn, outlines: Sequence[shapely.Geometry]) -> bool:
    """Tell whether one room was traced where one was before, with the same outline."""
    if len(own) > 1 or len(outlines) > 1:
        return False
    (_, shape), outline = own[0], outlines[0]
    return bool(shape.symmetric_difference(outline).area <= SAME_ROOM * outline.area)


def _is_of(outline: shapely.Geometry, strokes: NDArray[np.object_], reach: float) -> bool:
    """Tell whether enough of an outline lies on lines that the new sheet alone draws."""
    near = shapely.buffer(strokes[shapely.dwithin(strokes, outline, reach)], reach)
    return bool(outline.intersection(shapely.union_all(near)).length > NEW * outline.length)


def _share(a: shapely.Geometry, b: shapely.Geometry) -> float:
    return float(a.intersection(b).area / max(min(a.area, b.area), 1e-9))


def _groups(
    rooms: Drawn, outlines: dict[str, shapely.Geometry], asked: set[str]
) -> Iterator[tuple[tuple[str, ...], Drawn]]:
    """Walls all of which are asked about, with the rooms that lie in them: each place once."""
    ids = list(outlines)
    links = [
        (i, len(ids) + k)
        for i, outline in enumerate(outlines.values())
        for k, (_, shape) in enumerate(rooms)
        if _share(shape, outline) > OVERLAP
    ]
    a, b = np.array(links, np.int64).reshape(-1, 2).T
    group = linked_groups(len(ids) + len(rooms), a, b)
    for place in np.unique(group[a]):
        runs = tuple(id for id, own in zip(ids, group, strict=False) if own == place)
        if asked.issuperset(runs):
            yield runs, [room for room, own in zip(rooms, group[len(ids) :], strict=True) if own == place]


class _Maker:
    """Makes rooms and walls for the job of what was traced."""

    def __init__(self, job: Job, trace: SheetTrace, registration: Registration) -> None:
        self._job, self._trace, self._registration = job, trace, registration
        self._taken: set[str] = set()

    def made(self, runs: Sequence[str], own: Drawn, outlines: dict[str, shapely.Geometry]) -> RoomsAnew:
        """The rooms of one place: the largest part of an old room is that room, the others are like it."""
        job, sheet = self._job, self._trace.sheet.id
        given = Given(height=None, system=None, cove=None, ceilings=self._trace.ceilings)
        out = []
        for room, shape in sorted(own, key=lambda r: -r[1].area):
            run = max(runs, key=lambda id: outlines[id].intersection(shape).area, default=None)
            like = job.rooms.get(job.runs[run].room or "") if run is not None else None
            base = like or Room(id="")
            if not base.id or base.id in self._taken:
                base = replace(base, id=id_of_room(job, room, self._taken), number=room.number, name=room.name)
            if base.height is None:
                base = given.with_height(base, given.printed_in(room), sheet)
            self._taken.add(base.id)
            walls = [
                self._with_openings(wall, runs) for wall in runs_of(room, base.id, sheet, job.settings.units, None)
            ]
            others = set(job.runs).difference(runs)
            out.append((base, tuple(replace(w, id=f"{w.id}-{sheet}") if w.id in others else w for w in walls)))
        return RoomsAnew(runs=tuple(runs), rooms=tuple(out))

    def _with_openings(self, wall: Run, runs: Sequence[str]) -> Run:
        """The wall with what is known of its openings from the walls before."""
        known = [
            (self._registration.carry(_at(run, opening.at, self._job.calibration_for(run))), opening)
            for run in map(self._job.runs.__getitem__, runs)
            for opening in run.openings
        ]
        scale = next(s for region, s, _ in self._trace.parts if region is None)
        openings = []
        for opening in wall.openings:
            x, y = _at(wall, opening.at, scale)
            like = min(known, key=lambda k: math.hypot(k[0][0] - x, k[0][1] - y), default=None)
            far = math.inf if like is None else math.hypot((like[0][0] - x) * scale.mx, (like[0][1] - y) * scale.my)
            if like is not None and far <= SAME_OPENING and like[1].kind == opening.kind and like[1].outline is None:
                opening = replace(like[1], at=opening.at, width=opening.width)
            openings.append(opening)
        return replace(wall, openings=tuple(openings))


def _at(run: Run, station: float, scale: Calibration) -> tuple[float, float]:
    """Sheet point at a station of a run."""
    line = shapely.LineString(traced_path(run, scale).flattened(0.01))
    at = line.interpolate(min(station, line.length))
    return (at.x / scale.mx, at.y / scale.my)
