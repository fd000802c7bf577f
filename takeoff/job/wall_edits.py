"""Edits of walls: flipped, moved, mirrored, split, joined, removed; of points of their line, and openings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from takeoff.errors import EditError
from takeoff.job.changes import Change, ChangeEntry, Labelled, fitting, named, needed, put, run_with
from takeoff.job.edits import users_of
from takeoff.job.job import Job
from takeoff.job.reshape import (
    OTHER_HAND,
    free_id,
    gap_between,
    join,
    mirrored,
    moved,
    split,
    with_bulge,
    with_vertex_added,
    with_vertices,
    without_vertex,
)
from takeoff.measure.develop import traced_path
from takeoff.model.plan import Point
from takeoff.model.walls import Room, Run

TOLD_GAP = 0.001
"""Metres from which a gap that joining closes is told."""
SAG_PT = 0.3
"""Sheet points by which the chords that stand for an arc may miss it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlipWalls(Labelled):
    """Coat the other side of walls."""

    says: ClassVar[str] = "Coat the other side of {walls}"
    runs: tuple[str, ...]

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        yield from put_walls(job, [replace(r, face=OTHER_HAND[r.face]) for r in runs_named(job, self.runs)])


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatBothFaces(Labelled):
    """Coat both faces of walls whose thickness is known."""

    says: ClassVar[str] = "Coat both faces of {walls}"
    runs: tuple[str, ...]

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        runs = runs_named(job, self.runs)
        thin = [run.id for run in runs if run.thickness == 0.0]
        if thin:
            raise EditError(
                f"the thickness of {named(thin)} is not known: both faces need it",
                remedy="Set the thickness first.",
                where="thickness",
            )
        yield from put_walls(job, [replace(run, face="both") for run in runs])


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveWalls(Labelled):
    """Move walls on their sheet, in sheet points."""

    says: ClassVar[str] = "Move {walls}"
    runs: tuple[str, ...]
    by_pt: Point

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        runs = runs_named(job, self.runs)
        yield from put_walls(job, fitting("by_pt", lambda: [moved(run, *self.by_pt) for run in runs]))


@dataclass(frozen=True, slots=True, kw_only=True)
class MirrorWalls(Labelled):
    """Mirror walls about the middle of all of them: left to right on the unrotated page, else top to bottom."""

    says: ClassVar[str] = "Mirror {walls}"
    runs: tuple[str, ...]
    is_across: bool = True

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        runs = runs_named(job, self.runs)
        left, top, right, bottom = box_of(runs)
        x, y = (left + right) / 2, (top + bottom) / 2
        a, b = ((x, y), (x, y + 1.0)) if self.is_across else ((x, y), (x + 1.0, y))
        yield from put_walls(job, [mirrored(run, a, b) for run in runs])


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitWall(Labelled):
    """Split a wall at the point of its line nearest to a sheet point; a closed one is opened there."""

    says: ClassVar[str] = "Split wall {e.run}"
    run: str
    at_pt: Point

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        run: Run = needed(job, "run", self.run)
        second = free_id(job.runs, "run")
        parts = fitting("at_pt", lambda: split(run, self.at_pt, second, job.calibration_for(run)))
        yield from put_walls(job, parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinWalls(Labelled):
    """Join two open walls whose ends meet into one, which keeps the id and the details of the first."""

    says: ClassVar[str] = "Join {walls}"
    runs: tuple[str, ...]

    def apply(self, job: Job) -> Change:
        """Check the edit against a job and return its change."""
        runs = runs_named(job, self.runs)
        if len(runs) != 2:
            raise EditError(
                f"{len(runs)} wall{'s are' if len(runs) != 1 else ' is'} named, and two are joined",
                remedy="Choose two walls whose ends meet.",
                where="runs",
            )
        first, second = runs
        if first.sheet != second.sheet:
            raise EditError(
                f"{first.id} and {second.id} are on different sheets", remedy="Choose two walls of one.", where="runs"
            )
        after = fitting("runs", lambda: join(first, second, job.calibration_for(first)))
        gap, _, _ = gap_between(first, second, job.calibration_for(first))
        show = job.settings.display
        told = f", closing a gap of {show.length(gap)}" if gap >= TOLD_GAP else ""
        return Change(
            self.label + told, (put(job, "run", after.id, after), ChangeEntry("run", second.id, second, None))
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class RemoveWalls(Labelled):
    """Remove walls, and the rooms that only they stood in and nothing on site was recorded of."""

    says: ClassVar[str] = "Remove {walls}"
    runs: tuple[str, ...]

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        runs = runs_named(job, self.runs)
        gone = {run.id for run in runs}
        yield from (ChangeEntry("run", run.id, run, None) for run in runs)
        for id in dict.fromkeys(run.room for run in runs if run.room is not None):
            if set(users_of(job, "room", id)) <= {f"wall {run}" for run in gone}:
                yield ChangeEntry("room", id, job.rooms[id], None)


@dataclass(frozen=True, slots=True, kw_only=True)
class RemoveRoomWithWalls(Labelled):
    """Remove a room together with its walls."""

    says: ClassVar[str] = "Remove room {e.room}"
    room: str

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        room: Room = needed(job, "room", self.room)
        runs = [run for run in job.runs.values() if run.room == room.id]
        records = [user for user in users_of(job, "room", room.id) if not user.startswith("wall ")]
        if records:
            raise EditError(
                f'room "{room.id}" is named by {", ".join(records)}',
                remedy="Remove those records from site first.",
                where="room",
            )
        yield from (ChangeEntry("run", run.id, run, None) for run in runs)
        yield ChangeEntry("room", room.id, room, None)


def runs_named(job: Job, ids: Sequence[str]) -> list[Run]:
    """Return the runs of some ids, each once."""
    if not ids:
        raise EditError("no wall is named", remedy="Choose at least one wall.", where="runs")
    return [needed(job, "run", id) for id in dict.fromkeys(ids)]


def need_on_sheet(job: Job, run: Run) -> None:
    """Refuse a run with a point off its sheet."""
    if not all(needed(job, "sheet", str(run.sheet)).holds(pt) for pt in run.points_pt):
        raise EditError("a point lies off the sheet", remedy="Keep walls on the paper.", where="points")


def put_walls(job: Job, runs: Iterable[Run]) -> Iterator[ChangeEntry]:
    """Set walls to what they become; parameters and errors as for `need_on_sheet`."""
    for run in runs:
        need_on_sheet(job, run)
        yield put(job, "run", run.id, run)


def box_of(runs: Sequence[Run]) -> tuple[float, float, float, float]:
    """Return left, top, right and bottom of runs of one sheet."""
    if len({run.sheet for run in runs}) > 1:
        raise EditError("the walls are on different sheets", remedy="Choose walls of one sheet.", where="runs")
    xs, ys = zip(*(p for run in runs for p in run.path_pt.flattened(SAG_PT)), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


MOST_COPIES = 500
"""Openings that one edit may add; more is a slip of the hand (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MovePoint(Labelled):
    """Move one point of a wall, counted from 0; its openings stay where they are on the plan."""

    says: ClassVar[str] = "Move point {number} of wall {e.run}"
    run: str
    index: int
    to_pt: Point

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        run = run_with(job, self.run, "point", self.index)
        moved = {self.index: self.to_pt}
        yield from put_walls(job, fitting("to_pt", lambda: [with_vertices(run, moved, job.scale_for(run))]))


@dataclass(frozen=True, slots=True, kw_only=True)
class AddPoint(Labelled):
    """Add a point where a wall's line comes nearest to a sheet point."""

    says: ClassVar[str] = "Add a point to wall {e.run}"
    run: str
    near_pt: Point

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        run = needed(job, "run", self.run)
        yield from put_walls(job, fitting("near_pt", lambda: [with_vertex_added(run, self.near_pt)[0]]))


@dataclass(frozen=True, slots=True, kw_only=True)
class RemovePoint(Labelled):
    """Remove one point of a wall, counted from 0: the two pieces at it become one straight one."""

    says: ClassVar[str] = "Remove point {number} of wall {e.run}"
    run: str
    index: int

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        run = run_with(job, self.run, "point", self.index)
        yield from put_walls(job, fitting("index", lambda: [without_vertex(run, self.index, job.scale_for(run))]))


@dataclass(frozen=True, slots=True, kw_only=True)
class BendWall(Labelled):
    """Bend the piece after a point, counted from 0, into the arc through a sheet point; on its chord: straight."""

    says: ClassVar[str] = "Bend wall {e.run} after point {number}"
    run: str
    index: int
    through_pt: Point

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        run = run_with(job, self.run, "point", self.index)
        if self.index >= run.segment_count:
            raise EditError(
                "nothing follows the last point", remedy="Choose the point before the piece.", where="index"
            )
        scale = job.scale_for(run)
        yield from put_walls(job, fitting("through_pt", lambda: [with_bulge(run, self.index, self.through_pt, scale)]))


@dataclass(frozen=True, slots=True, kw_only=True)
class RepeatOpening(Labelled):
    """Copy an opening, counted from 0, so many times along its wall; ``spacing`` is metres from centre to centre."""

    says: ClassVar[str] = "Repeat an opening of wall {e.run} {e.count} times"
    run: str
    index: int
    count: int
    spacing: float

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        run = run_with(job, self.run, "opening", self.index)
        if not 1 <= self.count <= MOST_COPIES:
            raise EditError(
                f"an opening cannot be repeated {self.count} times",
                remedy=f"Give 1 to {MOST_COPIES}.",
                where="count",
            )
        opening = run.openings[self.index]
        scale = job.scale_for(run)
        length = traced_path(run, scale).stations()[-1] if scale is not None else 0.0
        places = [opening.at + i * self.spacing for i in range(1, self.count + 1)]
        at = [place % length if run.closed and length else place for place in places]
        copies = fitting("spacing", lambda: [replace(opening, at=place) for place in at])
        yield from put_walls(job, fitting("spacing", lambda: [replace(run, openings=(*run.openings, *copies))]))
