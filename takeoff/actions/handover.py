"""Walls as files of drawings show them, and what is taken in from other files: whole jobs, and walls."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from takeoff.actions.jobs import apply_edits
from takeoff.actions.quantities import Measured, catalogue_of, measure_ready
from takeoff.errors import InputError, ReportError
from takeoff.exchange.annotated_pdf_reader import read_annotated_pdf
from takeoff.exchange.catalogue_file import catalogue_schema
from takeoff.exchange.dxf_reader import read_dxf
from takeoff.exchange.edits_file import edits_schema
from takeoff.exchange.job_json import job_from_json, job_schema
from takeoff.exchange.plan_lines import PlanRun, plan_runs
from takeoff.job.changes import Change
from takeoff.job.job import Job
from takeoff.job.store import JobStore, Sign
from takeoff.measure.totals import room_label
from takeoff.model.plan import Sheet
from takeoff.sheet.files import read_sheets, source_of

SchemaName = Literal["edits", "job", "system", "catalogue"]
DIALECT = "https://json-schema.org/draft/2020-12/schema"


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """Runs that came in from another file: the edit that they made, how many, and what is doubtful about them."""

    change: Change
    count: int
    doubts: tuple[str, ...]


def measured_runs(job: Job, measured: Measured | None = None) -> tuple[PlanRun, ...]:
    """Pair every run of a job that can be measured with its lines and figures, ready for a file of drawings.

    Raises `ReportError` when there is no run, or none can be measured.
    """
    refuse_without_walls(job)
    if measured is None:
        measured, pending = measure_ready(job)
        if not measured.faces:
            raise ReportError(f"no wall can be measured: {pending[0].message}", remedy=pending[0].remedy)
    labels = {id: room_label(room) for id, room in job.rooms.items()}
    return plan_runs(job, measured.faces, labels, {s.id: s.name for s in catalogue_of(job).systems})


def refuse_without_walls(job: Job) -> None:
    """Refuse to hand over a job in which nothing is traced.

    Raises `ReportError` when there is no run.
    """
    if not job.runs:
        raise ReportError(
            "the job has no walls",
            remedy="Trace or apply some first: takeoff trace JOB SHEET --all, or takeoff apply JOB EDITS.json.",
        )


def import_annotated_pdf(
    store: JobStore, data: bytes, *, height: float | None = None, name: str = "the PDF"
) -> TakenIn:
    """Take the runs of a PDF's annotations into a job, as one edit.

    Raises `InputError` when the pages cannot be matched with sheets, or carry no measurement.

    Parameters
    ----------
    store
        The open job. Its sheets are those of the file's pages where the file is one of its plans, or has as many pages
        as the job has sheets.
    height
        Top of the coating above the floor in m, for measurements of other programs.
    """
    job = store.job
    found = read_annotated_pdf(
        data,
        _sheets_of(job, data, name),
        scales={c.sheet: c for c in job.calibrations.values() if c.region is None},
        taken=tuple(job.runs),
        height=height,
    )
    return TakenIn(change=apply_edits(store, found.edits), count=found.count, doubts=found.doubts)


def import_dxf(store: JobStore, data: bytes, sheet: Sheet, **how: Any) -> TakenIn:
    """Take the lines of a DXF drawing into a job as runs on a sheet, as one edit.

    ``how`` are layers, unit, height and origin as `read_dxf` takes them. Raises `InputError` when the file is no DXF
    drawing, says no unit, or has no line on the layers.
    """
    job = store.job
    found = read_dxf(data, sheet, job.calibration_of(sheet.id), taken=tuple(job.runs), **how)
    return TakenIn(change=apply_edits(store, found.edits), count=found.count, doubts=found.doubts)


def _sheets_of(job: Job, data: bytes, name: str) -> dict[int, Sheet]:
    """Match the pages of a PDF, counted from 1, with the job's sheets."""
    sha = source_of(data, name).sha256
    if sha in job.sources:
        return {s.page: s for s in job.sheets.values() if s.source == sha}
    pages, _ = read_sheets(data, name)
    if len(pages) != len(job.sheets):
        raise InputError(
            f"the file has {len(pages)} pages and the job has {len(job.sheets)} sheets",
            remedy="Take in a marked copy of the job's own plans.",
        )
    for page, sheet in zip(pages, job.sheets.values(), strict=True):
        if abs(page.width_pt - sheet.width_pt) > 1 or abs(page.height_pt - sheet.height_pt) > 1:
            raise InputError(
                f"page {page.page} is {page.width_pt:g} × {page.height_pt:g} points and {sheet.called} is "
                f"{sheet.width_pt:g} × {sheet.height_pt:g}",
                remedy="Take in a marked copy of the job's own plans.",
            )
    return {page.page: sheet for page, sheet in zip(pages, job.sheets.values(), strict=True)}


def import_json(path: Path, data: bytes, *, sign: Sign) -> JobStore:
    """Make a job file from an exported job, with its history; close it afterwards.

    Parameters
    ----------
    path
        Where to write; there must be no file yet.
    who, at
        Name and time for the journal, where the exported job has none.
    """
    job, sources, history = job_from_json(data)
    return JobStore.create(path, job, sources, history=history, sign=sign)


def schema_of(name: SchemaName) -> dict[str, Any]:
    """Return the JSON schema of the edits file, an exported job, a catalogue, or one system of a catalogue."""
    made = {"edits": edits_schema, "job": job_schema}.get(name, catalogue_schema)()
    if name == "system":
        definitions = made["$defs"]
        catalogue = definitions[made["$ref"].rpartition("/")[2]] if "$ref" in made else made
        made = {**catalogue["properties"]["systems"]["items"], "$defs": definitions}
    return {"$schema": DIALECT, "$id": f"urn:x-takeoff:{name}:1", **made}
