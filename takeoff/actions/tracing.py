"""Tracing rooms from what is drawn on a sheet: one at a point, or all of them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import shapely

from takeoff.actions.given import SAG_PT, Given, ceiling_words, runs_of, shape_of, with_scope
from takeoff.actions.scale_basis import weighed_by_areas
from takeoff.actions.traced_sheets import SheetTrace, read_sheet_trace
from takeoff.errors import InputError
from takeoff.job.changes import Change
from takeoff.job.edits import Batch, Edit, PutFindings, PutRoom, PutRun, SetCalibration
from takeoff.job.job import Job
from takeoff.job.reshape import free_id, signed_area_pt
from takeoff.job.store import JobStore
from takeoff.model.open_points import Basis, Confirmed
from takeoff.model.plan import Finding, Point
from takeoff.model.walls import Cove, Room
from takeoff.sheet.uses import shows_no_plan
from takeoff.trace.lines.lost_rooms import LostRoom
from takeoff.trace.lines.traced_rooms import TracedRoom
from takeoff.trace.texts.printed_sizes import CeilingNote

SAME = 0.8
"""Share of the larger of two outlines that they have in common from which they are one room (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Traced:
    """What tracing did: the rooms put into the job by id, those left for a look, the change, and what was assumed.

    ``known`` are rooms that were traced already; nothing was done about them. ``lost`` are the names, numbers and
    areas of rooms that stand in no room that was read.
    """

    put: tuple[tuple[str, TracedRoom], ...]
    doubtful: tuple[TracedRoom, ...]
    change: Change | None
    notes: tuple[str, ...]
    known: tuple[TracedRoom, ...] = ()
    lost: tuple[LostRoom, ...] = ()


def trace_sheet(
    store: JobStore,
    sheet_id: int,
    *,
    at: Sequence[Point] = (),
    all: bool = False,
    height: float | None = None,
    system: str | None = None,
    cove: Cove | None = None,
    basis: Sequence[Basis] = (),
    ceilings: Sequence[CeilingNote] | None = None,
    read: SheetTrace | None = None,
) -> Traced:
    """Trace rooms into the job as one step to undo; rooms that are traced already are left as they are.

    Raises `InputError` when neither or both of ``at`` and ``all`` are given, or a point lies in no closed room.

    Parameters
    ----------
    store, sheet_id
        The open job, and the sheet by its position in the register.
    at
        Sheet points, one in each room that is wanted; doubtful rooms are put into the job too, and listed.
    all
        Trace every room instead; the doubtful ones are left out of the job, listed, and kept as open points.
    height, system, cove, basis
        What new rooms take: top of the coating in metres, which rooms without a height take too; id of the system; how
        these were got, of those that no person gave: they are open points.
    ceilings
        Printed ceiling heights; ``None``: those of the sheet, where no height is given. They go before ``height``.
    read
        The sheet as `read_sheet_trace` read it; without it the sheet is read now.
    """
    if bool(at) == all:
        raise InputError("points and all rooms were asked for together, or neither", remedy="Give one or the other.")
    sheet = store.job.sheets.get(sheet_id)
    if all and read is None and sheet is not None and (no_plan := shows_no_plan(sheet)):
        unasked = f"No room was looked for on {sheet.called}: {no_plan}. Point at a room to trace it anyway"
        return Traced(put=(), doubtful=(), change=None, notes=(unasked,))
    trace = read or read_sheet_trace(store, sheet_id)
    if ceilings is None:
        ceilings = trace.ceilings if height is None else ()
    given = Given(height=height, system=system, cove=cove, ceilings=tuple(ceilings), basis=tuple(basis))
    if all:
        return _trace_all(store, trace, given)
    wanted, known = _apart(store.job, sheet_id, _rooms_at(trace, at))
    doubtful = tuple(room for room in wanted if not room.sure)
    return _put(store, trace, wanted, doubtful, given, known=known)


def _trace_all(store: JobStore, trace: SheetTrace, given: Given) -> Traced:
    """Put every room of a sheet into the job of which the outline is sure."""
    rooms, known = _apart(store.job, trace.sheet.id, trace.rooms())
    sure = [room for room in rooms if room.sure or room.outline_sure]
    doubtful = tuple(room for room in rooms if room not in sure)
    traced = _put(store, trace, sure, doubtful, given, known=known, left=doubtful)
    told = () if rooms or known else (f"No room was found on {trace.sheet.called}: {trace.nothing_found}",)
    return replace(traced, lost=_lost(trace, doubtful), notes=(*traced.notes, *told))


def _rooms_at(trace: SheetTrace, at: Sequence[Point]) -> list[TracedRoom]:
    """Return the room round each of some sheet points, each room once."""
    wanted: list[TracedRoom] = []
    for point in at:
        room = trace.room_at(point)
        if room is None:
            raise InputError(
                f"no closed room was found round {point[0]:g},{point[1]:g}: {trace.why_none_at(point)}",
                remedy="Point at the middle of a room, show one of its walls (takeoff style), or trace it by hand.",
                where=trace.sheet.called,
            )
        if room not in wanted:
            wanted.append(room)
    return wanted


def accept_traced(
    store: JobStore,
    read: SheetTrace,
    rooms: Sequence[TracedRoom],
    *,
    height: float | None = None,
    system: str | None = None,
    cove: Cove | None = None,
    basis: Sequence[Basis] = (),
) -> Traced:
    """Put traced rooms into the job that a person has looked at, as one step to undo; parameters as `trace_sheet`."""
    given = Given(height=height, system=system, cove=cove, ceilings=read.ceilings, basis=tuple(basis))
    by, at = store.signed()
    return _put(store, read, rooms, (), given, seen=Confirmed(by=by, at=at))


def is_traced(job: Job, sheet_id: int, room: TracedRoom) -> bool:
    """Tell whether a traced room is in the job already, by whatever hand."""
    return bool(_apart(job, sheet_id, [room])[1])


def _apart(job: Job, sheet: int, rooms: Sequence[TracedRoom]) -> tuple[list[TracedRoom], list[TracedRoom]]:
    """Part rooms that are not traced yet from those that closed runs coated inside hold already, by whatever hand.

    So do the parts of a traced outline that was split since.
    """
    held = [
        shapely.Polygon(line).buffer(0)
        for run in job.runs.values()
        if run.closed and run.sheet == sheet
        for line in [run.path_pt.flattened(SAG_PT)]
        if run.face in ("both", "left" if signed_area_pt(line) > 0 else "right")
    ]
    parts = [
        shapely.LineString(run.path_pt.flattened(SAG_PT))
        for run in job.runs.values()
        if not run.closed and run.sheet == sheet and any(basis.of == "outline" for basis in run.basis)
    ]
    fresh: list[TracedRoom] = []
    known: list[TracedRoom] = []
    for room in rooms:
        shape = shape_of(room)
        is_held = any(shape.intersection(h).area > SAME * max(shape.area, h.area) for h in held)
        if parts and not is_held:
            line = shape.boundary.buffer(2 * SAG_PT)
            is_held = any(line.contains(part) for part in parts)
        (known if is_held else fresh).append(room)
    return fresh, known


def _put(
    store: JobStore,
    trace: SheetTrace,
    rooms: Sequence[TracedRoom],
    doubtful: tuple[TracedRoom, ...],
    given: Given,
    *,
    known: Sequence[TracedRoom] = (),
    left: Sequence[TracedRoom] | None = None,
    seen: Confirmed | None = None,
) -> Traced:
    """Put rooms into the job; ``left`` are all that were found on the sheet and not taken, ``seen`` who looked."""
    sheet = trace.sheet
    edits: list[Edit] = []
    put: list[tuple[str, TracedRoom]] = []
    taken: set[str] = set()
    printed: dict[str, list[CeilingNote]] = {}
    for room in rooms:
        there = _known_room(store.job, sheet.id, room, taken)
        made = there or Room(
            id=id_of_room(store.job, room, taken),
            name=room.name,
            number=room.number,
            system=given.system,
            cove=given.cove,
            basis=tuple(b for b in given.basis if b.of != "height"),
        )
        if made.height is None:
            if notes := given.printed_in(room):
                printed[made.id] = notes
            made = given.with_height(made, notes, sheet.id)
        made = with_scope(made, shape_of(room), trace.lines, sheet.id)
        if made != there:
            edits.append(PutRoom(room=made))
        taken.add(made.id)
        put.append((made.id, room))
        edits.extend(PutRun(run=run) for run in runs_of(room, made.id, sheet.id, store.job.settings.units, seen))
    edits += _told_of_sheet(store.job, trace, left, has_rooms=bool(rooms or known))
    title = f"Trace {len(put)} room{'s' * (len(put) != 1)} on {sheet.called}"
    change = store.do(Batch(title=title, edits=tuple(edits))) if edits else None
    told = (*ceiling_words(store.job, printed), *_notes(put), *_known_notes(known))
    return Traced(put=tuple(put), doubtful=doubtful, change=change, notes=told, known=tuple(known))


def _told_of_sheet(
    job: Job, trace: SheetTrace, left: Sequence[TracedRoom] | None, *, has_rooms: bool
) -> Iterator[Edit]:
    """Keep what was found on a sheet and not taken, and its scale where printed areas speak of it."""
    now = job.sheets.get(trace.sheet.id)
    told = (f for f in now.findings if f.about == "room" and left is None) if now is not None else ()
    findings = tuple(dict.fromkeys((*trace.findings, *told, *_left_findings(left or (), trace))))
    if not (left is None or has_rooms or left or trace.lost):
        findings = (*findings, Finding(about="room", text=f"no room was found on it: {trace.nothing_found}"))
    if now is not None and {f for f in now.findings if f.about in ("room", "mark")} != set(findings):
        yield PutFindings(sheet=now.id, about=("room", "mark"), findings=findings)
    weighed = weighed_by_areas(trace) if left is not None else None
    if weighed is not None:
        yield SetCalibration(calibration=weighed)


def _left_findings(rooms: Sequence[TracedRoom], trace: SheetTrace) -> list[Finding]:
    """Say which rooms were found and not taken, and which names stand in no room."""
    findings = []
    for lost in _lost(trace, rooms):
        written = f"{lost.name} is written here, but no room was read: " if lost.name else ""
        text = f"{written}{lost.reason}. {lost.mend}"
        findings.append(Finding(about="room", text=text, at_pt=lost.at_pt, name=lost.name))
    for room in rooms:
        shape = shape_of(room)
        at = shape.representative_point()
        label = room.label or "a room without a name"
        against = " ".join(room.reasons[1:]) or room.reasons[0]
        scale = next((s for region, s, _ in trace.parts if region is None), trace.parts[0][1])
        length = shape.length * (scale.mx + scale.my) / 2.0
        text = f"{label} was found and not taken: {against}"
        findings.append(Finding(about="room", text=text, at_pt=(at.x, at.y), length=length, name=room.label))
    return findings


def _lost(trace: SheetTrace, rooms: Sequence[TracedRoom]) -> tuple[LostRoom, ...]:
    """Return what tells of rooms that were not read; what stands in one of some rooms is told with that."""
    covered = [shape_of(room) for room in rooms]
    return tuple(lost for lost in trace.lost if not any(shape.contains(shapely.Point(lost.at_pt)) for shape in covered))


def _known_notes(known: Sequence[TracedRoom]) -> tuple[str, ...]:
    if not known:
        return ()
    names = ", ".join(room.label or "one without a name" for room in known)
    several = f"{len(known)} rooms are traced already and were left as they are"
    which = "1 room is traced already and was left as it is" if len(known) == 1 else several
    return (f"{which}: {names}; remove the walls of a room to trace it again",)


def _known_room(job: Job, sheet: int, room: TracedRoom, taken: set[str]) -> Room | None:
    """Find the room of the job that the traced one is: one with its number that has no walls yet, or some here.

    A number alone does not make a room: floors and wings have the same ones.
    """
    if not room.number:
        return None
    shape = shape_of(room).buffer(SAG_PT)
    same = []
    for other in job.rooms.values():
        if other.number.casefold() != room.number.casefold() or other.id in taken:
            continue
        runs = [run for run in job.runs.values() if run.room == other.id]
        lines = [shapely.LineString(run.path_pt.flattened(SAG_PT)) for run in runs if run.sheet == sheet]
        if not runs or any(line.intersects(shape) for line in lines):
            same.append(other)
    return same[0] if len(same) == 1 else None


def id_of_room(job: Job, room: TracedRoom, taken: set[str]) -> str:
    """Make an id that no room has: R and the number, else the name, else a count."""
    plain = re.sub(r"[^a-z0-9]+", "-", room.name.casefold()).strip("-") or "room"
    base, used = f"R{room.number}" if room.number else plain, job.rooms.keys() | taken
    if not (room.number or room.name):
        return free_id(used, base)
    return free_id(used, base, 2) if base in used else base


def _notes(put: Sequence[tuple[str, TracedRoom]]) -> tuple[str, ...]:
    scheduled = [opening for _, room in put for opening in room.openings if opening.height is not None]
    if not scheduled:
        return ()
    several, marks = "s have" if len(scheduled) != 1 else " has", dict.fromkeys(o.mark for o in scheduled)
    return (f"{len(scheduled)} opening{several} the height of a schedule: {', '.join(marks)}",)
