"""Edits made by hand, one at a time, on a job that need not be complete yet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from takeoff.job.changes import needed
from takeoff.job.edits import Batch, Change, Edit, PutRoom, PutRun, apply_change
from takeoff.job.job import Job, calibration_key
from takeoff.job.store import JobStore
from takeoff.measure.develop import develop
from takeoff.model.systems import Substrate
from takeoff.model.walls import Run


def do_edit(store: JobStore, edit: Edit, *, who: str, at: str) -> Change:
    """Do an edit after trying what it makes of the runs it touches; it is on disk when this returns.

    A run may still lack its scale or its height. An opening off its wall, a height below the base or faces that cannot
    be offset are refused, and nothing is changed.

    Raises
    ------
    EditError, GeometryError
        When the edit does not fit the job or makes a run that no wall can be.
    StoreError
        When it cannot be written.
    """
    change = edit.apply(store.job)
    after = apply_change(store.job, change)
    for entry in change.entries:
        if entry.kind == "run" and entry.after is not None:
            _try(after, entry.after)
        elif entry.kind == "room" and entry.after is not None:
            for run in after.runs.values():
                if run.room == entry.id:
                    _try(after, run)
    return store.do(edit, who=who, at=at)


def set_finish(
    store: JobStore,
    *,
    rooms: Iterable[str] = (),
    runs: Iterable[str] = (),
    colour: str | None = None,
    substrate: Substrate | None = None,
    who: str,
    at: str,
) -> Change:
    """Say the colour and the substrate of rooms or of single walls; one edit that can be undone.

    Parameters
    ----------
    store
        The open job.
    rooms, runs
        Ids.
    colour, substrate
        ``None`` leaves one as it is, an empty colour takes it out.
    who, at
        For the journal.

    Raises
    ------
    EditError
        When there is no such room or wall.
    """
    given = {name: value for name, value in (("colour", colour), ("substrate", substrate)) if value is not None}
    edits: list[Edit] = [PutRoom(room=replace(needed(store.job, "room", id), **given)) for id in rooms]
    edits += [PutRun(run=replace(needed(store.job, "run", id), **given)) for id in runs]
    return store.do(Batch(title="Set colour and substrate", edits=tuple(edits)), who=who, at=at)


def _try(job: Job, run: Run) -> None:
    scale = job.calibrations.get(calibration_key(run.sheet, job.region_for(run)))
    room = job.rooms.get(run.room or "")
    if scale is None or (run.height is None and (room is None or room.height is None)):
        return
    develop(run, room, scale, corner_threshold=job.settings.corner_threshold)
