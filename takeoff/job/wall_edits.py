"""Edits of whole walls: flipped, moved, mirrored, split, joined, removed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from takeoff.errors import EditError
from takeoff.job.changes import Change, ChangeEntry, Labelled, fitting, named, needed, put
from takeoff.job.edits import users_of
from takeoff.job.job import Job
from takeoff.job.reshape import OTHER_HAND, free_id, gap_between, join, mirrored, moved, split
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
