"""Edits made by hand, one at a time, on a job that need not be complete yet."""

from __future__ import annotations

from takeoff.job.edits import Change, Edit, apply_change
from takeoff.job.job import Job, calibration_key
from takeoff.job.store import JobStore
from takeoff.measure.develop import develop
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


def _try(job: Job, run: Run) -> None:
    scale = job.calibrations.get(calibration_key(run.sheet, job.region_for(run)))
    room = job.rooms.get(run.room or "")
    if scale is None or (run.height is None and (room is None or room.height is None)):
        return
    develop(run, room, scale, corner_threshold=job.settings.corner_threshold)
