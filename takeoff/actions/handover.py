"""Handing a job over in forms that other programs read, and taking runs in from them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from takeoff.actions.jobs import apply_edits
from takeoff.actions.quantities import Measured, catalogue_of, finish_of, measure_ready
from takeoff.errors import InputError, ReportError
from takeoff.exchange.annotated_pdf import PlanSet, annotated_pdf
from takeoff.exchange.annotated_pdf_reader import read_annotated_pdf
from takeoff.exchange.dxf import write_dxf
from takeoff.exchange.dxf_reader import read_dxf
from takeoff.exchange.geojson import write_geojson, write_geopackage
from takeoff.exchange.ifc import write_ifc
from takeoff.exchange.plan_lines import PlanRun, plan_runs
from takeoff.exchange.xfdf import write_xfdf
from takeoff.job.changes import Change
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.totals import room_label
from takeoff.model.plan import Sheet
from takeoff.model.systems import Catalogue, Substrate, System
from takeoff.sheet.files import read_sheets, source_of
from takeoff.system.bases import counts_wall_area, steps_on
from takeoff.system.buildup import coat_films


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """Runs that came in from another file: the edit that they made, how many, and what is doubtful about them."""

    change: Change
    count: int
    doubts: tuple[str, ...]


def measured_runs(job: Job, measured: Measured | None = None) -> tuple[PlanRun, ...]:
    """Pair every run of a job that can be measured with its lines and figures, ready for a file of drawings.

    Raises
    ------
    ReportError
        When there is no run, or none can be measured.
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

    Raises
    ------
    ReportError
        When there is no run.
    """
    if not job.runs:
        raise ReportError(
            "the job has no walls",
            remedy="Trace or apply some first: takeoff trace JOB SHEET --all, or takeoff apply JOB EDITS.json.",
        )


def export_annotated_pdf(
    store: JobStore, *, who: str, at: str, flattened: bool = False, tell: Callable[[str], object] = lambda text: None
) -> bytes:
    """Give the plans as PDF with runs and openings as standard annotations, or drawn in where ``flattened``.

    What acts by itself in a plan file, or leads out of it, is taken out; ``tell`` is told what that was.

    Raises
    ------
    ReportError, SheetError
        When there is no run, none can be measured, or a plan cannot be used.
    """
    return annotated_pdf(_plan_set(store, who=who, at=at), flattened=flattened, tell=tell)


def export_xfdf(store: JobStore, *, who: str, at: str, tell: Callable[[str], object] = lambda text: None) -> bytes:
    """Give the marks of the plans alone, as XFDF; ``tell`` is told how pages are counted over several plan files.

    Raises
    ------
    ReportError, SheetError
        When there is no run, none can be measured, or a plan cannot be used.
    """
    sources = list(store.job.sources.values())
    if len(sources) > 1:
        tell("pages are counted through all plan files in their order, as in the marked PDF")
    return write_xfdf(_plan_set(store, who=who, at=at), file=sources[0].name if len(sources) == 1 else "marked.pdf")


def _plan_set(store: JobStore, *, who: str, at: str) -> PlanSet:
    job = store.job
    scales = [(job.regions[c.region] if c.region else None, c) for c in job.calibrations.values()]
    return PlanSet(
        title=job.settings.name,
        author=who,
        at=at,
        display=job.settings.display,
        sheets=tuple(job.sheets.values()),
        files={sha: store.source(sha) for sha in job.sources},
        scales=scales,
        runs=measured_runs(job),
    )


def import_annotated_pdf(
    store: JobStore, data: bytes, *, who: str, at: str, height: float | None = None, name: str = "the PDF"
) -> TakenIn:
    """Take the runs of a PDF's annotations into a job, as one edit.

    Parameters
    ----------
    store
        The open job. Its sheets are those of the file's pages where the file is one of its plans, or has as many pages
        as the job has sheets.
    data
        The PDF.
    who, at
        Name and time for the journal.
    height
        Top of the coating above the floor in m, for measurements of other programs.
    name
        The file's name, for refusals.

    Raises
    ------
    InputError
        When the pages cannot be matched with sheets, or carry no measurement.
    EditError
        When a run does not fit the job.
    SheetError
        When the file cannot be read.
    """
    job = store.job
    found = read_annotated_pdf(
        data,
        _sheets_of(job, data, name),
        scales={c.sheet: c for c in job.calibrations.values() if c.region is None},
        taken=tuple(job.runs),
        height=height,
    )
    change = apply_edits(store, found.edits, who=who, at=at)
    return TakenIn(change=change, count=found.count, doubts=found.doubts)


def export_dxf(store: JobStore, measured: Measured | None = None) -> bytes:
    """Give all runs as a DXF drawing in building feet or metres, after the job's units, measured now where not before.

    Raises
    ------
    ReportError
        When there is no run, or none can be measured.
    """
    job = store.job
    return write_dxf(measured_runs(job, measured), job.settings.display, title=job.settings.name)


def export_ifc(store: JobStore, *, at: str) -> bytes:
    """Give all runs as an IFC4 model: walls with coverings and their base quantities; needs the extra ``ifc``.

    Raises
    ------
    ReportError
        When there is no run, none can be measured, or the library is not installed.
    """
    job, catalogue = store.job, catalogue_of(store.job)
    substrates = {finish_of(job, run)[0] for run in job.runs.values()}
    layers = {(s.id, str(on or "")): _layers(s, catalogue, on) for s in catalogue.systems for on in substrates}
    return write_ifc(measured_runs(job), title=job.settings.name, at=at, layers=layers)


def _layers(system: System, catalogue: Catalogue, substrate: Substrate | None) -> list[tuple[str, str, float]]:
    """The coats of a system on a substrate that leave a film: step, product and dry thickness in metres."""
    products = {product.id: product for product in catalogue.products}
    steps = steps_on(system, substrate or catalogue.rates.substrate)
    mat = next((products.get(step.product or "") for step in steps if step.kind == "mat"), None)
    used = [(step, products.get(step.product or "")) for step in steps if counts_wall_area(step.basis)]
    dry = [(step, product, coat_films(step, product, mat)[1] * step.coats) for step, product in used]
    return [(step.name, product.name, film) for step, product, film in dry if product is not None and film > 0.0]


def export_geojson(store: JobStore) -> bytes:
    """Give all faces and rooms as GeoJSON in building metres.

    Raises
    ------
    ReportError
        When there is no run, or none can be measured.
    """
    return write_geojson(measured_runs(store.job), title=store.job.settings.name)


def export_geopackage(store: JobStore) -> bytes:
    """Give all faces and rooms as a GeoPackage in building metres; needs the extra ``gis``.

    Raises
    ------
    ReportError
        When there is no run, none can be measured, or the library is not installed.
    """
    return write_geopackage(measured_runs(store.job))


def import_dxf(
    store: JobStore,
    data: bytes,
    sheet: Sheet,
    *,
    who: str,
    at: str,
    layers: str = "A-WALL*",
    unit: float | None = None,
    height: float | None = None,
    origin: tuple[float, float] = (0.0, 0.0),
) -> TakenIn:
    """Take the lines of a DXF drawing into a job as runs on a sheet, as one edit; parameters as `read_dxf`.

    Raises
    ------
    InputError
        When the file is no DXF drawing, says no unit, or has no line on the layers.
    CalibrationError
        When the sheet has no scale.
    EditError
        When a run does not fit the job, such as one that lies off the sheet.
    """
    job = store.job
    found = read_dxf(
        data,
        sheet,
        job.calibration_of(sheet.id),
        layers=layers,
        unit=unit,
        taken=tuple(job.runs),
        height=height,
        origin=origin,
    )
    change = apply_edits(store, found.edits, who=who, at=at)
    return TakenIn(change=change, count=found.count, doubts=found.doubts)


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
                f"page {page.page} is {page.width_pt:g} × {page.height_pt:g} points and sheet {sheet.id} is "
                f"{sheet.width_pt:g} × {sheet.height_pt:g}",
                remedy="Take in a marked copy of the job's own plans.",
            )
    return {page.page: sheet for page, sheet in zip(pages, job.sheets.values(), strict=True)}
