"""What was taken for a draft, in words: of each sheet what it is and why, of each room its values and their sources."""

from __future__ import annotations

from dataclasses import dataclass

from takeoff.actions.draft.reading import SheetRead
from takeoff.actions.draft.taking import FIELDS
from takeoff.actions.points.finding import Words
from takeoff.job.job import Job
from takeoff.measure.totals import room_label
from takeoff.model.open_points import HasBasis, basis_of
from takeoff.model.point_register import Register
from takeoff.model.walls import Opening, Room
from takeoff.sheet.uses import SheetUse


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftedSheet:
    """What was made of a sheet: what it is for and by what that is known, what was done, and what could not be."""

    sheet: int
    name: str
    title: str
    drawn: str
    use: SheetUse
    why: str
    done: str
    fault: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftedValue:
    """A value of a room: of what, what was taken in the job's units, and where it came from; ``id`` of a system."""

    of: str
    taken: str
    source: str
    id: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftedRoom:
    """A room of the draft: height, system and cove, its walls, the sizes of its openings, and its open points."""

    room: str
    label: str
    values: tuple[DraftedValue, ...]
    walls: tuple[DraftedValue, ...]
    openings: tuple[DraftedValue, ...]
    open: int

    @property
    def opening_count(self) -> int:
        """How many openings the sizes are of: each has one width."""
        return sum(value.of.endswith(", width") for value in self.openings)


def drafted_sheet(job: Job, read: SheetRead, done: str) -> DraftedSheet:
    """Tell what was made of a sheet."""
    sheet = job.sheets[read.sheet]
    fault = next((f.text for f in sheet.findings if f.about == "draft"), "")
    return DraftedSheet(
        sheet=sheet.id,
        name=Words(job).sheet(sheet.id),
        title=sheet.title,
        drawn=f"{sheet.paths:,} paths" if sheet.kind == "vector" and sheet.paths is not None else f"a {sheet.kind}",
        use=read.use,
        why=read.why,
        done=done,
        fault=fault,
    )


def drafted_room(job: Job, room: Room, points: Register) -> DraftedRoom:
    """Tell what was taken for a room, each value with its source."""
    words = Words(job)
    runs = [run for run in job.runs.values() if run.room == room.id]
    walls = []
    openings = []
    for run in runs:
        basis = basis_of(run, "outline")
        unsure = f"; open: {basis.unsure}" if basis is not None and basis.unsure else ""
        taken = f"{'closed, ' if run.closed else ''}{len(run.points_pt)} points"
        source = f"{_source(words, run, 'outline')}{unsure}"
        walls.append(DraftedValue(of=f"wall {run.id}", taken=taken, source=source))
        for opening in run.openings:
            openings += _opening(words, opening)
    return DraftedRoom(
        room=room.id,
        label=room_label(room),
        values=tuple(_value(words, room, field) for field in FIELDS),
        walls=tuple(walls),
        openings=tuple(openings),
        open=sum(point.where.room == room.id for point in points.open),
    )


def _opening(words: Words, opening: Opening) -> list[DraftedValue]:
    """Tell the sizes of an opening, each with its source."""
    show = words.show.length
    sizes = [(field, getattr(opening, field)) for field in ("width", "height", "sill")]
    return [
        DraftedValue(of=f"{opening.kind}, {field}", taken=show(value), source=_source(words, opening, field))
        for field, value in sizes
        if field != "sill" or value
    ]


def _value(words: Words, room: Room, field: str) -> DraftedValue:
    """Tell height, system or cove of a room."""
    value = getattr(room, field)
    taken, id = "-", ""
    if field == "height" and room.height is not None:
        taken = " to ".join(words.show.length(z) for z in dict.fromkeys(z for _, z in room.height.points))
    elif field == "cove" and room.cove is not None:
        taken = words.show.length(room.cove.height)
    elif value is not None:
        taken, id = words.system(value), value
    source = _source(words, room, field) if value is not None else ""
    return DraftedValue(of=field, taken=taken, source=source, id=id)


def _source(words: Words, value: HasBasis, field: str) -> str:
    basis = basis_of(value, field)
    return words.source(basis) if basis is not None else "given by a person"
