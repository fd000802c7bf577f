"""A draft of a job: from the plans as they came to figures and a price, as far as the drawings say it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from takeoff.actions.draft.sheet_reads import TRACED, Readers, SheetRead, SheetTask, read_here, read_set
from takeoff.actions.draft.taking import FIELDS, Taking
from takeoff.actions.points.deriving import open_points
from takeoff.actions.points.finding import Words
from takeoff.actions.quantities import Priced, measure_ready, price_measured
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.totals import room_label
from takeoff.model.open_points import HasBasis, basis_of
from takeoff.model.point_register import Register
from takeoff.model.walls import Opening, Room
from takeoff.sheet.uses import SheetUse, use_of
from takeoff.trace.schedules.finish_matching import CodeMeaning


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
        drawn=f"{sheet.paths:,} paths" if sheet.kind == "vector" and sheet.paths is not None else "a picture",
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
        walls.append(DraftedValue(of=words.wall(run), taken=taken, source=source))
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
    show = words.show.length
    sizes = [(field, getattr(opening, field)) for field in ("width", "height", "sill")]
    return [
        DraftedValue(of=f"{opening.kind}, {field}", taken=show(value), source=_source(words, opening, field))
        for field, value in sizes
        if field != "sill" or value
    ]


def _value(words: Words, room: Room, field: str) -> DraftedValue:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """Everything that a draft ends with: sheets, finish codes, rooms, figures and open points.

    ``priced`` is what can be measured; ``not_read`` how many sheets were left where a person stopped the work.
    """

    sheets: tuple[DraftedSheet, ...]
    codes: tuple[CodeMeaning, ...]
    rooms: tuple[DraftedRoom, ...]
    priced: Priced
    points: Register
    not_read: int = 0


def make_draft(
    store: JobStore, *, readers: Readers = read_here, progress: Callable[[float], None] | None = None
) -> Draft:
    """Take from the sheets of a job all that they say: scales, rooms, openings, heights, systems, coves.

    What is in the job already stays as it is: scales that are set, rooms that are traced, values of rooms that a person
    gave. Running it again after answers adds what is still missing, and renews what a schedule gave. All of it is one
    step to undo. A sheet that fails is told and is an open point; the others go on. Where the person stops it, what was
    read by then is taken. ``readers``: what reads the sheets: here one after another, or side by side (`Lanes`). Raises
    `InputError` when the readers cannot work at all.
    """
    tasks = sheet_tasks(store.job)
    read: dict[int, SheetRead] = {}
    try:
        for found in read_set(tasks, store.source, readers):
            read[found.sheet] = found
            if progress is not None:
                progress(len(read) / len(tasks))
    except KeyboardInterrupt:
        pass
    taking = Taking(store, read)
    with store.together("Draft the job from its sheets"):
        taking.take()
    return summed_up(store.job, read, taking.done, taking.codes, not_read=len(tasks) - len(read))


def sheet_tasks(job: Job) -> list[SheetTask]:
    """Return the sheets of a job to be read; first what takes longest: rooms are looked for, and much is drawn.

    A sheet that a newer revision replaces is not read.
    """
    tasks = [
        SheetTask(
            sheet=sheet,
            scales=tuple(c for c in job.calibrations.values() if c.sheet == sheet.id),
            regions=tuple(r for r in job.regions.values() if r.sheet == sheet.id),
            styles=tuple(job.styles.values()),
        )
        for sheet in job.sheets.values()
        if sheet.replaced_by is None
    ]
    return sorted(tasks, key=lambda task: (use_of(task.sheet)[0] not in TRACED, -(task.sheet.paths or 0)))


def summed_up(
    job: Job, read: Mapping[int, SheetRead], done: Mapping[int, str], codes: tuple[CodeMeaning, ...], *, not_read: int
) -> Draft:
    """Measure and price a drafted job, and tell what was taken with its sources and what is open."""
    ready = measure_ready(job)
    priced = price_measured(job, ready[0])
    points = open_points(job, priced=priced, ready=ready)
    return Draft(
        sheets=tuple(drafted_sheet(job, read[id], done.get(id, "")) for id in sorted(read)),
        codes=codes,
        rooms=tuple(drafted_room(job, room, points) for room in job.rooms.values()),
        priced=priced,
        points=points,
        not_read=not_read,
    )
