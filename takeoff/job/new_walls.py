"""Edits that add walls or rooms and make the ids for them: traced, copied, put into another room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from takeoff.job.changes import ChangeEntry, Labelled, named, needed, put
from takeoff.job.job import Job
from takeoff.job.reshape import free_id, moved
from takeoff.job.wall_edits import box_of, need_on_sheet, runs_named
from takeoff.model.plan import Point, Sheet
from takeoff.model.walls import Room, Run

COPY_GAP_PT = 24.0
"""Sheet points between walls and their copy, so that both can be told apart (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AddWalls(Labelled):
    """Add walls under new ids; those without a room go into one: the room named, else a new one.

    Parameters
    ----------
    room
        Id of a room of the job for open walls. Closed ones always make a room of their own unless they name one.
    like
        What a new room takes: height, system, cove, name and number.
    """

    says: ClassVar[str] = "{e.title}"
    runs: tuple[Run, ...]
    room: str | None = None
    like: Room | None = None
    title: str = "Trace a wall"

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        room = self.room
        if any(run.room is None for run in self.runs) and (room is None or any(run.closed for run in self.runs)):
            room = free_id(job.rooms, "room")
            yield put(job, "room", room, replace(self.like or Room(id=room), id=room))
        elif room is not None:
            needed(job, "room", room)
        taken = set(job.runs)
        for run in self.runs:
            need_on_sheet(job, run)
            id = free_id(taken, "run")
            taken.add(id)
            if run.room is not None:
                needed(job, "room", run.room)
            yield put(job, "run", id, replace(run, id=id, room=run.room or room))


@dataclass(frozen=True, slots=True, kw_only=True)
class PutInRoom(Labelled):
    """Put walls into a room of the job, or with ``None`` into a new one that takes what ``like`` has."""

    runs: tuple[str, ...]
    room: str | None = None
    like: Room | None = None

    def _said(self) -> str:
        return f"Put {named(self.runs)} into {'a new room' if self.room is None else f'room {self.room}'}"

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        runs = runs_named(job, self.runs)
        room = self.room or free_id(job.rooms, "room")
        if self.room is None:
            yield put(job, "room", room, replace(self.like or Room(id=room), id=room))
        else:
            needed(job, "room", room)
        yield from (put(job, "run", run.id, replace(run, room=room)) for run in runs)


@dataclass(frozen=True, slots=True, kw_only=True)
class DuplicateWalls(Labelled):
    """Copy walls beside themselves; each of their rooms gets a copy without a number for the copies to stand in."""

    says: ClassVar[str] = "Duplicate {walls}"
    runs: tuple[str, ...]

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        runs = runs_named(job, self.runs)
        shift = _free_shift(job, runs)
        copies: dict[str | None, str] = {}
        taken = set(job.rooms)
        for id in dict.fromkeys(run.room for run in runs if run.room is not None):
            room: Room = needed(job, "room", id)
            copies[id] = free_id(taken, "room")
            taken.add(copies[id])
            copy = replace(room, id=copies[id], number="", name=f"{room.name} copy".strip())
            yield put(job, "room", copy.id, copy)
        taken = set(job.runs)
        for run in runs:
            id = free_id(taken, "run")
            taken.add(id)
            after = replace(moved(run, *shift), id=id, room=copies.get(run.room))
            need_on_sheet(job, after)
            yield put(job, "run", id, after)


def _free_shift(job: Job, runs: Sequence[Run]) -> Point:
    """Return how far a copy is moved: beside, below or above its walls, where the sheet has room, else not at all."""
    left, top, right, bottom = box_of(runs)
    across, down = right - left + COPY_GAP_PT, bottom - top + COPY_GAP_PT
    sheet: Sheet = needed(job, "sheet", str(runs[0].sheet))
    ways = ((across, 0.0), (-across, 0.0), (0.0, down), (0.0, -down), (COPY_GAP_PT, COPY_GAP_PT))
    return next(
        ((x, y) for x, y in ways if sheet.holds((left + x, top + y)) and sheet.holds((right + x, bottom + y))),
        (0.0, 0.0),
    )
