"""Reading a finish schedule from a sheet, and setting the rooms of a job by it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace

from takeoff.actions.given import in_doubt
from takeoff.actions.quantities import catalogue_of
from takeoff.apart import apart
from takeoff.errors import InputError
from takeoff.job.changes import Change
from takeoff.job.edits import Batch, PutRoom, SetSettings
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.model.open_points import Basis, basis_of, put_basis, taken_of
from takeoff.model.plan import Sheet
from takeoff.model.systems import System
from takeoff.model.walls import Room
from takeoff.sheet.scope_words import scope_remark
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.schedules.finish_matching import (
    CodeMeaning,
    FinishedRoom,
    ScheduleMatch,
    is_one_name,
    match_schedule,
    wall_remark,
)
from takeoff.trace.schedules.finish_schedule import FinishSchedule, joined_finishes, read_finish_table

_TO_CEILING = re.compile(r"(?:TO\s+|FULL\s+)?(?:CEILING|CLG\.?|FULL|HEIGHT|HT\.?)(?:\s+HEIGHT)?", re.IGNORECASE)
"""A height that is that of the ceiling, as a schedule says it (common practice, no source)."""


def read_finish_schedule(store: JobStore, sheet: Sheet, *, named: Mapping[str, str] | None = None) -> ScheduleMatch:
    """Read the finish schedule of a sheet and lay it upon the rooms of the job, without changing them.

    Raises `InputError` when the sheet is a picture or shows no such table, or a named system is not known.

    Parameters
    ----------
    sheet
        The sheet that shows the schedule as text.
    named
        System ids by wall code, where a person names them.
    """
    if sheet.kind == "image":
        raise InputError(
            "a picture shows no text to read a schedule from",
            remedy="Choose a sheet of a PDF, or set the rooms' systems yourself.",
            where=sheet.called,
        )
    schedule = _finish_table(store.source(sheet.source), sheet)
    before = store.job.sheets.get(sheet.id - 1)
    if schedule.parts and before is not None and before.kind != "image":
        with suppress(InputError):
            schedule = joined_finishes([_finish_table(store.source(before.source), before), schedule])[1]
    return lay_schedule(store.job, schedule, sheet, named=dict(store.job.settings.finish_codes) | dict(named or {}))


@apart
def _finish_table(data: bytes, sheet: Sheet) -> FinishSchedule:
    return read_finish_table(read_linework(data, sheet), read_lines(data, sheet), sheet)


def lay_schedule(job: Job, schedule: FinishSchedule, sheet: Sheet, *, named: Mapping[str, str]) -> ScheduleMatch:
    """Lay the finish schedule of a sheet upon the rooms of a job; errors as `read_finish_schedule`."""
    systems = {system.id: system for system in catalogue_of(job).systems}
    match = match_schedule(schedule, job.rooms.values(), systems, named)
    meant = {meaning.code: meaning for meaning in match.codes}
    known = {*meant, *schedule.legend}
    return replace(
        match,
        rooms=tuple(
            _sourced(found, job.rooms[found.room.id], sheet, meant, systems, wall_remark(found.row, known))
            for found in match.rooms
        ),
    )


def keep_codes(store: JobStore, named: Mapping[str, str]) -> Change | None:
    """Keep in the job which systems finish codes stand for; a code that was kept before gets the new system."""
    known = {system.id for system in catalogue_of(store.job).systems}
    for code, system in named.items():
        if system not in known:
            remedy = f"Known: {', '.join(sorted(known))}."
            raise InputError(f'there is no system "{system}" for code {code}', remedy=remedy)
    before = store.job.settings
    codes = dict(before.finish_codes) | {code.upper(): system for code, system in named.items()}
    after = replace(before, finish_codes=tuple(sorted(codes.items())))
    return store.do(SetSettings(settings=after)) if after != before else None


def _sourced(
    found: FinishedRoom,
    before: Room,
    sheet: Sheet,
    meant: Mapping[str, CodeMeaning],
    systems: Mapping[str, System],
    remark: str,
) -> FinishedRoom:
    """Say of what the row gives a room where it stands, and who says which system its code is.

    ``remark`` is what it says of its walls besides: their system is open then.
    """
    row, room = found.row, found.room
    told = " ".join(t for t in (row.number, row.name, "/".join(row.walls), row.base, row.height_text) if t)
    bases = []
    for field in ("height", "system", "cove"):
        value = getattr(room, field)
        held = basis_of(before, field)
        is_said = {"height": row.height is not None, "cove": False}.get(
            field, bool(row.wall) and held is not None and held.confirmed is None
        )
        if value == getattr(before, field) and (value is None or not is_said):
            continue
        basis = Basis(of=field, taken=taken_of(value), how="schedule", text=told, sheet=sheet.id)
        if field == "system" and (code := meant.get(row.wall.upper())) is not None:
            system = systems.get(code.system or "")
            basis = _of_code(basis, code, "" if system is None else system.name)
            if remark and system is not None:
                basis = _doubted(basis, f"its remarks say “{remark}”")
        if found.how == "number" and not is_one_name(row.name, room.name):
            basis = _doubted(basis, f"the row is of {row.name}, and the plan calls the room {room.name}")
        bases.append(basis)
    held, why = basis_of(room, "height"), f"the finish schedule says “{row.unread_height}”"
    is_unread = bool(row.unread_height) and not _TO_CEILING.fullmatch(row.unread_height)
    if is_unread and held is not None and held.confirmed is None and why not in held.unsure:
        bases.append(_doubted(held, why))
        found = replace(found, changes=(*found.changes, "height"))
    made = replace(room, basis=put_basis(room.basis, *bases))
    if scope_remark(row.remarks) and basis_of(before, "scope") is None:
        return replace(found, room=in_doubt(made, "schedule", row.remarks, sheet.id), changes=(*found.changes, "scope"))
    return replace(found, room=made)


def _doubted(basis: Basis, why: str) -> Basis:
    return replace(basis, unsure="; ".join(filter(None, (basis.unsure, why))))


def _of_code(basis: Basis, code: CodeMeaning, system: str) -> Basis:
    """Return the basis of a system with who says that it is the one of its code; by its words alone it is open."""
    if code.how == "named":
        told = f"code {code.code} is {system}, as it was named for this job"
        return replace(basis, how="person", code=code.code, text=told)
    if code.how == "words":
        return _doubted(basis, f"code {code.code} “{code.words}” is taken for {system} by its words alone")
    return basis


def apply_finish_schedule(store: JobStore, match: ScheduleMatch) -> Change | None:
    """Set every matched room as the schedule has it, in one step that can be undone; nothing where none differs."""
    edits = tuple(PutRoom(room=found.room) for found in match.rooms if found.changes)
    if not edits:
        return None
    title = f"Set {len(edits)} room{'s' * (len(edits) != 1)} by the finish schedule"
    return store.do(Batch(title=title, edits=edits))
