"""Edits of walls: traced, copied, flipped, moved, split, joined, removed; of points of their line, and openings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from takeoff.errors import EditError
from takeoff.job import reshape
from takeoff.job.changes import Change, ChangeEntry, edit, fitting, named, needed, put, run_with
from takeoff.job.edits import users_of
from takeoff.job.job import Job
from takeoff.measure.develop import traced_path
from takeoff.model.plan import Point, Sheet
from takeoff.model.walls import Room, Run

TOLD_GAP = 0.001
"""Metres from which a gap that joining closes is told."""
SAG_PT = 0.3
"""Sheet points by which the chords that stand for an arc may miss it."""


@edit("Coat the other side of {walls}")
def FlipWalls(job: Job, *, runs: tuple[str, ...]) -> Iterator[ChangeEntry]:
    """Coat the other side of walls."""
    yield from put_walls(job, [replace(r, face=reshape.OTHER_HAND[r.face]) for r in runs_named(job, runs)])


@edit("Coat both faces of {walls}")
def CoatBothFaces(job: Job, *, runs: tuple[str, ...]) -> Iterator[ChangeEntry]:
    """Coat both faces of walls whose thickness is known."""
    walls = runs_named(job, runs)
    thin = [run.id for run in walls if run.thickness == 0.0]
    if thin:
        raise EditError(
            f"the thickness of {named(thin)} is not known: both faces need it",
            remedy="Set the thickness first.",
            where="thickness",
        )
    yield from put_walls(job, [replace(run, face="both") for run in walls])


@edit("Move {walls}")
def MoveWalls(job: Job, *, runs: tuple[str, ...], by_pt: Point) -> Iterator[ChangeEntry]:
    """Move walls on their sheet, in sheet points."""
    walls = runs_named(job, runs)
    yield from put_walls(job, fitting("by_pt", lambda: [reshape.moved(run, *by_pt) for run in walls]))


@edit("Mirror {walls}")
def MirrorWalls(job: Job, *, runs: tuple[str, ...], is_across: bool = True) -> Iterator[ChangeEntry]:
    """Mirror walls about the middle of all of them: left to right on the unrotated page, else top to bottom."""
    walls = runs_named(job, runs)
    left, top, right, bottom = box_of(walls)
    x, y = (left + right) / 2, (top + bottom) / 2
    a, b = ((x, y), (x, y + 1.0)) if is_across else ((x, y), (x + 1.0, y))
    yield from put_walls(job, [reshape.mirrored(run, a, b) for run in walls])


@edit("Split wall {run}")
def SplitWall(job: Job, *, run: str, at_pt: Point) -> Iterator[ChangeEntry]:
    """Split a wall at the point of its line nearest to a sheet point; a closed one is opened there."""
    wall: Run = needed(job, "run", run)
    second = reshape.free_id(job.runs, "run")
    parts = fitting("at_pt", lambda: reshape.split(wall, at_pt, second, job.calibration_for(wall)))
    yield from put_walls(job, parts)


@edit("Join {walls}")
def JoinWalls(job: Job, *, runs: tuple[str, ...]) -> Change:
    """Join two open walls whose ends meet into one, which keeps the id and the details of the first."""
    walls = runs_named(job, runs)
    if len(walls) != 2:
        raise EditError(
            f"{len(walls)} wall{'s are' if len(walls) != 1 else ' is'} named, and two are joined",
            remedy="Choose two walls whose ends meet.",
            where="runs",
        )
    first, second = walls
    if first.sheet != second.sheet:
        raise EditError(
            f"{first.id} and {second.id} are on different sheets", remedy="Choose two walls of one.", where="runs"
        )
    after = fitting("runs", lambda: reshape.join(first, second, job.calibration_for(first)))
    gap, _, _ = reshape.gap_between(first, second, job.calibration_for(first))
    show = job.settings.display
    told = f", closing a gap of {show.length(gap)}" if gap >= TOLD_GAP else ""
    return Change(
        f"Join {named(runs)}{told}", (put(job, "run", after.id, after), ChangeEntry("run", second.id, second, None))
    )


@edit("Remove {walls}")
def RemoveWalls(job: Job, *, runs: tuple[str, ...]) -> Iterator[ChangeEntry]:
    """Remove walls, and the rooms that only they stood in and nothing on site was recorded of."""
    walls = runs_named(job, runs)
    gone = {run.id for run in walls}
    yield from (ChangeEntry("run", run.id, run, None) for run in walls)
    for id in dict.fromkeys(run.room for run in walls if run.room is not None):
        if set(users_of(job, "room", id)) <= {f"wall {run}" for run in gone}:
            yield ChangeEntry("room", id, job.rooms[id], None)


@edit("Remove room {room}")
def RemoveRoomWithWalls(job: Job, *, room: str) -> Iterator[ChangeEntry]:
    """Remove a room together with its walls."""
    place: Room = needed(job, "room", room)
    runs = [run for run in job.runs.values() if run.room == place.id]
    records = [user for user in users_of(job, "room", place.id) if not user.startswith("wall ")]
    if records:
        raise EditError(
            f'room "{place.id}" is named by {", ".join(records)}',
            remedy="Remove those records from site first.",
            where="room",
        )
    yield from (ChangeEntry("run", run.id, run, None) for run in runs)
    yield ChangeEntry("room", place.id, place, None)


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


COPY_GAP_PT = 24.0
"""Sheet points between walls and their copy, so that both can be told apart (our choice)."""
MOST_COPIES = 500
"""Openings that one edit may add; more is a slip of the hand (our choice)."""


@edit("Move point {number} of wall {run}")
def MovePoint(job: Job, *, run: str, index: int, to_pt: Point) -> Iterator[ChangeEntry]:
    """Move one point of a wall, counted from 0; its openings stay where they are on the plan."""
    wall = run_with(job, run, "point", index)
    moved = {index: to_pt}
    yield from put_walls(job, fitting("to_pt", lambda: [reshape.with_vertices(wall, moved, job.scale_for(wall))]))


@edit("Add a point to wall {run}")
def AddPoint(job: Job, *, run: str, near_pt: Point) -> Iterator[ChangeEntry]:
    """Add a point where a wall's line comes nearest to a sheet point."""
    wall = needed(job, "run", run)
    yield from put_walls(job, fitting("near_pt", lambda: [reshape.with_vertex_added(wall, near_pt)[0]]))


@edit("Remove point {number} of wall {run}")
def RemovePoint(job: Job, *, run: str, index: int) -> Iterator[ChangeEntry]:
    """Remove one point of a wall, counted from 0: the two pieces at it become one straight one."""
    wall = run_with(job, run, "point", index)
    yield from put_walls(job, fitting("index", lambda: [reshape.without_vertex(wall, index, job.scale_for(wall))]))


@edit("Bend wall {run} after point {number}")
def BendWall(job: Job, *, run: str, index: int, through_pt: Point) -> Iterator[ChangeEntry]:
    """Bend the piece after a point, counted from 0, into the arc through a sheet point; on its chord: straight."""
    wall = run_with(job, run, "point", index)
    if index >= wall.segment_count:
        raise EditError("nothing follows the last point", remedy="Choose the point before the piece.", where="index")
    scale = job.scale_for(wall)
    yield from put_walls(job, fitting("through_pt", lambda: [reshape.with_bulge(wall, index, through_pt, scale)]))


@edit("Repeat an opening of wall {run} {count} times")
def RepeatOpening(job: Job, *, run: str, index: int, count: int, spacing: float) -> Iterator[ChangeEntry]:
    """Copy an opening, counted from 0, so many times along its wall; ``spacing`` is metres from centre to centre."""
    wall = run_with(job, run, "opening", index)
    if not 1 <= count <= MOST_COPIES:
        raise EditError(
            f"an opening cannot be repeated {count} times", remedy=f"Give 1 to {MOST_COPIES}.", where="count"
        )
    opening = wall.openings[index]
    scale = job.scale_for(wall)
    length = traced_path(wall, scale).stations()[-1] if scale is not None else 0.0
    places = [opening.at + i * spacing for i in range(1, count + 1)]
    at = [place % length if wall.closed and length else place for place in places]
    copies = fitting("spacing", lambda: [replace(opening, at=place) for place in at])
    yield from put_walls(job, fitting("spacing", lambda: [replace(wall, openings=(*wall.openings, *copies))]))


@edit("{title}")
def AddWalls(
    job: Job, *, runs: tuple[Run, ...], room: str | None = None, like: Room | None = None, title: str = "Trace a wall"
) -> Iterator[ChangeEntry]:
    """Add walls under new ids; those without a room go into one: the room named, else a new one.

    Parameters
    ----------
    room
        Id of a room of the job for open walls. Closed ones always make a room of their own unless they name one.
    like
        What a new room takes: height, system, cove, name and number.
    """
    place = room
    if any(run.room is None for run in runs) and (place is None or any(run.closed for run in runs)):
        place = reshape.free_id(job.rooms, "room")
        yield put(job, "room", place, replace(like or Room(id=place), id=place))
    elif place is not None:
        needed(job, "room", place)
    taken = set(job.runs)
    for run in runs:
        need_on_sheet(job, run)
        id = reshape.free_id(taken, "run")
        taken.add(id)
        if run.room is not None:
            needed(job, "room", run.room)
        yield put(job, "run", id, replace(run, id=id, room=run.room or place))


@edit(lambda runs, room, like: f"Put {named(runs)} into {'a new room' if room is None else f'room {room}'}")
def PutInRoom(
    job: Job, *, runs: tuple[str, ...], room: str | None = None, like: Room | None = None
) -> Iterator[ChangeEntry]:
    """Put walls into a room of the job, or with ``None`` into a new one that takes what ``like`` has."""
    walls = runs_named(job, runs)
    place = room or reshape.free_id(job.rooms, "room")
    if room is None:
        yield put(job, "room", place, replace(like or Room(id=place), id=place))
    else:
        needed(job, "room", place)
    yield from (put(job, "run", run.id, replace(run, room=place)) for run in walls)


@edit("Duplicate {walls}")
def DuplicateWalls(job: Job, *, runs: tuple[str, ...]) -> Iterator[ChangeEntry]:
    """Copy walls beside themselves; each of their rooms gets a copy without a number for the copies to stand in."""
    walls = runs_named(job, runs)
    shift = _free_shift(job, walls)
    copies: dict[str | None, str] = {}
    taken = set(job.rooms)
    for id in dict.fromkeys(run.room for run in walls if run.room is not None):
        room: Room = needed(job, "room", id)
        copies[id] = reshape.free_id(taken, "room")
        taken.add(copies[id])
        copy = replace(room, id=copies[id], number="", name=f"{room.name} copy".strip())
        yield put(job, "room", copy.id, copy)
    taken = set(job.runs)
    for run in walls:
        id = reshape.free_id(taken, "run")
        taken.add(id)
        after = replace(reshape.moved(run, *shift), id=id, room=copies.get(run.room))
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
