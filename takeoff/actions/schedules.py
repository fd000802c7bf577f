"""Reading a finish schedule from a sheet, and setting the rooms of a job by it."""

from __future__ import annotations

from collections.abc import Mapping

from takeoff.actions.quantities import catalogue_of
from takeoff.errors import InputError
from takeoff.job.changes import Change
from takeoff.job.edits import Batch, PutRoom
from takeoff.job.store import JobStore
from takeoff.model.plan import Sheet
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.schedules.finish_matching import ScheduleMatch, match_schedule
from takeoff.trace.schedules.finish_schedule import read_finish_table


def read_finish_schedule(store: JobStore, sheet: Sheet, *, named: Mapping[str, str] | None = None) -> ScheduleMatch:
    """Read the finish schedule of a sheet and lay it upon the rooms of the job, without changing them.

    Parameters
    ----------
    store
        The open job.
    sheet
        The sheet that shows the schedule as text.
    named
        System ids by wall code, where a person names them.

    Raises
    ------
    InputError
        When the sheet is a picture or shows no such table, or a named system is not known.
    """
    if sheet.kind == "image":
        raise InputError(
            "a picture shows no text to read a schedule from",
            remedy="Choose a sheet of a PDF, or set the rooms' systems yourself.",
            where=f"sheet {sheet.number or sheet.id}",
        )
    data = store.source(sheet.source)
    schedule = read_finish_table(read_linework(data, sheet), read_lines(data, sheet), sheet)
    systems = {system.id: system for system in catalogue_of(store.job).systems}
    return match_schedule(schedule, store.job.rooms.values(), systems, named)


def apply_finish_schedule(store: JobStore, match: ScheduleMatch, *, who: str, at: str) -> Change | None:
    """Set every matched room as the schedule has it, in one step that can be undone; nothing where none differs.

    Raises
    ------
    EditError
        When a room was removed or a system is gone since the schedule was read.
    """
    edits = tuple(PutRoom(room=found.room) for found in match.rooms if found.changes)
    if not edits:
        return None
    title = f"Set {len(edits)} room{'s' * (len(edits) != 1)} by the finish schedule"
    return store.do(Batch(title=title, edits=edits), who=who, at=at)
