"""Edits made by hand, one at a time, on a job that need not be complete yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.actions.quantities import Measured, measure_runs
from takeoff.errors import CalibrationError, GeometryError
from takeoff.job.edits import Change, Edit, apply_change
from takeoff.job.job import Job, calibration_key
from takeoff.job.store import JobStore
from takeoff.measure.develop import develop
from takeoff.measure.kept import Kept, no_sweeps
from takeoff.measure.totals import By
from takeoff.model.plan import Calibration
from takeoff.model.walls import Run


@dataclass(frozen=True, slots=True, kw_only=True)
class Pending:
    """A run that cannot be measured yet: why, and what to do about it."""

    run: str
    message: str
    remedy: str


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


def edit_doubts(job: Job, change: Change) -> tuple[str, ...]:
    """Say what the runs that an edit touched lack before they can be measured, and what is doubtful about the others.

    Parameters
    ----------
    job
        The job after the edit.
    change
        What the edit changed.
    """
    rooms = {entry.id for entry in change.entries if entry.kind == "room"}
    ids = {entry.id for entry in change.entries if entry.kind == "run"}
    without_scale: dict[str, list[str]] = {}
    doubts: list[str] = []
    for run in job.runs.values():
        if run.id not in ids and run.room not in rooms:
            continue
        try:
            scale = job.calibration_for(run)
        except CalibrationError as error:
            without_scale.setdefault(str(error), []).append(run.id)
            continue
        try:
            faces = develop(run, job.rooms.get(run.room or ""), scale, corner_threshold=job.settings.corner_threshold)
        except GeometryError as error:
            doubts.append(f"{error} It is not measured until then.")
            continue
        doubts.extend(dict.fromkeys(doubt for face in faces for doubt in face.doubts))
    waiting = (f"{why} Until then nothing is measured of {_listed(runs)}." for why, runs in without_scale.items())
    return (*waiting, *doubts)


def _listed(runs: Sequence[str]) -> str:
    """Name a few runs, and count the rest.

    Examples
    --------
    >>> _listed(["a"]), _listed(["a", "b", "c", "d", "e", "f"])
    ('run a', 'runs a, b, c, d and 2 more')
    """
    shown = ", ".join(runs[:4]) + (f" and {len(runs) - 4} more" if len(runs) > 4 else "")
    return f"run{'s' * (len(runs) != 1)} {shown}"


@no_sweeps()
def measure_ready(job: Job, *, by: By = "room", kept: Kept | None = None) -> tuple[Measured, tuple[Pending, ...]]:
    """Measure the runs of a job that can be measured, and say of each other one what it lacks.

    Parameters
    ----------
    job, by
        The job, and what the items are: rooms, runs or systems.
    kept
        What was measured of the job before an edit; see `takeoff.actions.quantities.measure`.
    """
    kept = kept or Kept()
    rows = [(run, job.regions, job.calibrations) for run in job.runs.values()]
    scales = kept.memo("scales").renew(list(job.runs), rows, lambda new: [_scale(job, rows[i][0]) for i in new])
    lacks: dict[str, Pending] = {s.run: s for s in scales if isinstance(s, Pending)}
    calibrations = {id: s for id, s in zip(job.runs, scales, strict=True) if not isinstance(s, Pending)}
    runs = [run for run in job.runs.values() if run.id in calibrations]
    refused: dict[str, GeometryError] = {}
    measured = measure_runs(job, runs, calibrations, by=by, kept=kept, refused=refused)
    lacks.update({id: Pending(run=id, message=e.message, remedy=e.remedy) for id, e in refused.items()})
    return measured, tuple(lacks[id] for id in job.runs if id in lacks) if lacks else ()


def _scale(job: Job, run: Run) -> Calibration | Pending:
    """Scale that a run is measured with, or what it lacks."""
    try:
        return job.calibration_for(run)
    except CalibrationError as error:
        return Pending(run=run.id, message=error.message, remedy="Set the scale of its sheet.")
