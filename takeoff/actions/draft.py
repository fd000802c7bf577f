"""A draft of a job: from the plans as they came to figures and a price, as far as the drawings say it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from takeoff.actions.open_points import open_points
from takeoff.actions.points.finding import Words
from takeoff.actions.quantities import Priced, make_estimate
from takeoff.actions.scales import set_scale_read
from takeoff.actions.schedules import read_finish_schedule
from takeoff.actions.tracing import trace_sheet
from takeoff.errors import TakeoffError
from takeoff.job.edits import Batch, PutRoom
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.totals import room_label
from takeoff.model.open_points import basis_of, put_basis
from takeoff.model.plan import Sheet
from takeoff.model.point_register import Register
from takeoff.model.walls import Room
from takeoff.sheet.scales import ratio_text
from takeoff.sheet.text import read_lines
from takeoff.sheet.uses import SheetUse, use_of, use_of_headings

FIELDS = ("height", "system", "cove")


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftedSheet:
    """What was made of a sheet: what it is for and by what that is known, what was done, and what could not be."""

    sheet: int
    name: str
    use: SheetUse
    why: str
    done: str
    fault: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftedRoom:
    """A room of the draft: its values in words, each with its source, and how many open points it has."""

    room: str
    label: str
    values: tuple[tuple[str, str, str], ...]
    openings: int
    open: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """Everything that a draft ends with: sheets, rooms, figures and open points; ``priced`` what can be measured."""

    sheets: tuple[DraftedSheet, ...]
    rooms: tuple[DraftedRoom, ...]
    priced: Priced
    points: Register


def make_draft(store: JobStore, *, who: str, at: str, progress: Callable[[float], None] | None = None) -> Draft:
    """Take from the sheets of a job all that they say: scales, rooms, openings, heights, systems, coves.

    What is in the job already stays as it is: scales that are set, rooms that are traced, values of rooms that a person
    gave. Running it again after answers adds what is still missing. Each step is an edit of its own that can be undone;
    a sheet that fails is told, and the others go on.

    Parameters
    ----------
    store
        The open job.
    who, at
        Who does it and at what time, for the journal.
    progress
        Is told the fraction done, 0 to 1.

    Raises
    ------
    CatalogueError
        When the job's catalogue cannot price it.
    """
    tell = progress or (lambda fraction: None)
    made: list[DraftedSheet] = []
    uses = {sheet.id: _use(store, sheet) for sheet in store.job.sheets.values()}
    sheets = sorted(store.job.sheets.values(), key=lambda s: (uses[s.id][0] == "schedule", s.id))
    for count, sheet in enumerate(sheets, start=1):
        use, why = uses[sheet.id]
        done, fault = "", ""
        try:
            if use in ("floor plan", "unknown"):
                done = _plan(store, sheet, who=who, at=at)
            elif use == "schedule":
                done = _schedule(store, sheet, who=who, at=at)
        except TakeoffError as error:
            fault = error.message
        made.append(
            DraftedSheet(
                sheet=sheet.id, name=Words(store.job).sheet(sheet.id), use=use, why=why, done=done, fault=fault
            )
        )
        tell(count / len(sheets))
    priced = make_estimate(store.job)
    points = open_points(store.job, priced=priced)
    rooms = tuple(_room(store.job, room, points) for room in store.job.rooms.values())
    return Draft(sheets=tuple(sorted(made, key=lambda m: m.sheet)), rooms=rooms, priced=priced, points=points)


def _use(store: JobStore, sheet: Sheet) -> tuple[SheetUse, str]:
    """Tell what a sheet is for: by its title block, else by the headings on it."""
    use, why = use_of(sheet)
    if use != "unknown" or sheet.kind == "image":
        return use, why
    try:
        return use_of_headings(read_lines(store.source(sheet.source), sheet))
    except TakeoffError:
        return use, why


def _plan(store: JobStore, sheet: Sheet, *, who: str, at: str) -> str:
    """Read the scale of a plan where it has none, and trace its rooms."""
    said = []
    if not any(c.sheet == sheet.id for c in store.job.calibrations.values()):
        scale = set_scale_read(store, sheet, who=who, at=at)[0]
        said.append(f"scale {ratio_text(scale.mx)} from {scale.source}")
    traced = trace_sheet(store, sheet.id, all=True, who=who, when=at)
    said.append(f"{len(traced.put)} rooms traced")
    if traced.known:
        said.append(f"{len(traced.known)} there already")
    if traced.doubtful:
        said.append(f"{len(traced.doubtful)} not taken, to be looked at")
    return ", ".join(said)


def _schedule(store: JobStore, sheet: Sheet, *, who: str, at: str) -> str:
    """Give rooms what a finish schedule says of them where nothing is known yet."""
    match = read_finish_schedule(store, sheet)
    edits = []
    for found in match.rooms:
        before = store.job.rooms[found.room.id]
        missing = [field for field in FIELDS if getattr(before, field) is None]
        if is_ceiling(before) and found.room.height is not None:
            missing.append("height")
        fields = {f: getattr(found.room, f) for f in missing if getattr(found.room, f) is not None}
        bases = [b for field in fields if (b := basis_of(found.room, field)) is not None]
        after = replace(before, **fields, basis=put_basis(before.basis, *bases))
        if any(basis_of(before, b.of) != b for b in bases):
            edits.append(PutRoom(room=after))
    if edits:
        count = len(edits)
        title = f"Set {count} room{'s' * (count != 1)} by the finish schedule of {sheet.number or sheet.id}"
        store.do(Batch(title=title, edits=tuple(edits)), who=who, at=at)
    return f"finish schedule, {len(match.rooms)} rooms matched, {len(edits)} set"


def is_ceiling(room: Room) -> bool:
    """Tell whether a room's height is that of its ceiling as printed: what a schedule coats goes before it."""
    basis = basis_of(room, "height")
    return basis is not None and basis.how in ("stated", "note")


def _room(job: Job, room: Room, points: Register) -> DraftedRoom:
    words = Words(job)
    values = []
    for field in FIELDS:
        value = getattr(room, field)
        text = "-"
        if field == "height" and room.height is not None:
            text = words.show.length(room.height.points[0][1])
        elif field == "cove" and room.cove is not None:
            text = words.show.length(room.cove.height)
        elif value is not None:
            text = str(value)
        basis = basis_of(room, field)
        values.append((field, text, words.source(basis) if basis is not None else "given" if value is not None else ""))
    runs = [run for run in job.runs.values() if run.room == room.id]
    return DraftedRoom(
        room=room.id,
        label=room_label(room),
        values=tuple(values),
        openings=sum(opening.count for run in runs for opening in run.openings),
        open=sum(point.where.room == room.id for point in points.open),
    )
