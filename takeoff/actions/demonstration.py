"""The demonstration that goes through a whole job."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from takeoff.actions.files import find_sheet, read_file, sample_plans
from takeoff.actions.jobs import apply_edits, new_job
from takeoff.actions.planning import next_monday
from takeoff.actions.quantities import Priced
from takeoff.actions.reports import Progress, make_reports
from takeoff.actions.scales import set_scale_note
from takeoff.errors import InputError, ReportError
from takeoff.job.job import Job, JobSettings
from takeoff.model.point_register import Register
from takeoff.report.kinds import ReportOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class Demonstrated:
    """A demonstration: the job, its figures, the files written, what is open, notes, and what could not be written."""

    job: Job
    priced: Priced
    paths: tuple[Path, ...]
    points: Register
    notes: tuple[str, ...]
    failures: tuple[ReportError, ...]


def run_demo(folder: Path, *, who: str, at: str, progress: Progress | None = None) -> Demonstrated:
    """Do a whole job on the sample plans: plans, scale, rooms and runs, figures, reports.

    The job file in ``folder`` is made anew; reports of an earlier demonstration are replaced.

    Raises
    ------
    InputError
        When the sample plans are missing, or the folder cannot be made.
    """
    plans = sample_plans()
    path = folder / "demo.takeoff"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for suffix in ("", "-wal", "-shm"):
            path.with_name(path.name + suffix).unlink(missing_ok=True)
    except OSError as error:
        raise InputError(
            f"{folder} cannot be written to ({error.strerror})", remedy="Name another folder: --out DIR."
        ) from error
    name = "facility-imperial.pdf"
    settings = JobSettings(name="Sample dairy, packing wing")
    store, doubts = new_job(path, [(name, read_file(plans / name, "plan file"))], settings, who=who, at=at)
    with store:
        sheet = find_sheet(store.job, "A-101")
        set_scale_note(store, sheet, sheet.scale_note, who=who, at=at)
        apply_edits(store, read_file(plans / "facility-edits.json", "edits file"), who=who, at=at)
        monday = next_monday(date.fromisoformat(at[:10]))
        made = make_reports(store, folder, ReportOrder(start=monday), at=at, progress=progress)
        return Demonstrated(
            job=store.job,
            priced=made.priced,
            paths=(path, *made.paths),
            points=made.points,
            notes=(*doubts, *made.notes),
            failures=made.failures,
        )
