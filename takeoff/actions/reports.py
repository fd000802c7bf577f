"""Writing reports, and the demonstration that goes through a whole job."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path
from typing import Literal

from takeoff.actions.files import find_sheet, read_file, sample_plans
from takeoff.actions.handover import measured_runs
from takeoff.actions.jobs import apply_edits, new_job
from takeoff.actions.marks import mark_of
from takeoff.actions.planning import compare_alternates, next_monday, plan_job, planning_of
from takeoff.actions.quantities import Measured, Priced, make_estimate, refuse_other_currency
from takeoff.actions.scales import set_scale_note
from takeoff.errors import InputError, ReportError
from takeoff.exchange.dxf import write_dxf
from takeoff.job.job import Job, JobSettings
from takeoff.job.store import JobStore
from takeoff.measure.rules import rule_named
from takeoff.measure.totals import summarise
from takeoff.model.plan import Calibration
from takeoff.model.systems import Catalogue
from takeoff.report.bid import Bid, PriceBy, make_bid
from takeoff.report.bid_html import write_bid_html
from takeoff.report.bid_pdf import write_bid_pdf
from takeoff.report.bid_workbook import write_bid_workbook
from takeoff.report.content import ReportContent, SheetPicture
from takeoff.report.csv import write_csv
from takeoff.report.files import write_whole
from takeoff.report.html import write_html
from takeoff.report.letterhead import Letterhead
from takeoff.report.pdf import write_pdf
from takeoff.report.planning_tables import Planning
from takeoff.report.printing import Paper
from takeoff.report.workbook import write_workbook
from takeoff.sheet.frame import box_to_displayed, displayed_size
from takeoff.sheet.render import single_page_pdf
from takeoff.sheet.text import read_lines
from takeoff.units import Display

ReportFormat = Literal["pdf", "html", "xlsx", "csv", "dxf"]
REPORT_FORMATS: tuple[ReportFormat, ...] = ("pdf", "html", "xlsx", "csv", "dxf")
Edition = Literal["full", "bid"]
"""Everything for the contractor's own desk, or what the owner or general contractor is handed."""

Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reported:
    """Written reports: their paths, the figures in them, and what is doubtful."""

    paths: tuple[Path, ...]
    priced: Priced
    doubts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Demonstrated:
    """A demonstration: the job, its figures, the files written, and what is doubtful."""

    job: Job
    priced: Priced
    paths: tuple[Path, ...]
    doubts: tuple[str, ...]


def make_reports(
    store: JobStore,
    folder: Path,
    *,
    formats: Sequence[ReportFormat] = REPORT_FORMATS,
    at: str,
    catalogue: Catalogue | None = None,
    letterhead: Letterhead | None = None,
    paper: Paper | None = None,
    prepared_by: str = "",
    start: date | None = None,
    crews: int = 1,
    progress: Progress | None = None,
    edition: Edition = "full",
    price_by: PriceBy = "lump-sum",
    against: Sequence[str] = (),
) -> Reported:
    """Measure and price a job, and write reports of it.

    Parameters
    ----------
    store
        The open job; its plans go under the marks.
    folder
        Where to write; it is made where there is none.
    formats
        What to write: ``report.pdf``, ``report.html``, ``report.xlsx``, a CSV file per table, ``runs.dxf``; of a bid
        ``bid.pdf``, ``bid.html``, ``bid.xlsx``, files such as ``bid-scope.csv``, ``runs.dxf``.
    at
        The time, ISO 8601; its date goes on the report.
    catalogue
        What to price with; the job's own where ``None``.
    letterhead
        Whose report it is: company lines, logo and own terms.
    paper
        Paper of the PDF; by the job's units where ``None``.
    prepared_by
        Who made it, where the letterhead does not say.
    start, crews
        First day and number of crews for the plan of crew days; without a day there is none, and a bid counts days.
    progress
        Is told the fraction done, 0 to 1.
    edition
        The full report with costs, or the bid without.
    price_by
        How a bid sets out the price.
    against
        Ids of systems to price instead, as alternates.

    Raises
    ------
    ReportError
        When there is nothing to report, when a bid would be in another currency than the job, or when a file cannot be
        written.
    CalibrationError, GeometryError, CatalogueError
        As `make_estimate`.
    """
    tell = progress or (lambda fraction: None)
    if not store.job.runs:
        raise ReportError(
            "the job has no runs",
            remedy="Trace or apply some first: takeoff trace JOB SHEET --all, or takeoff apply JOB EDITS.json.",
        )
    priced = make_estimate(store.job, catalogue=catalogue)
    if edition == "bid":
        refuse_other_currency(store.job, priced.estimate.currency)
    for id in against:
        priced.catalogue.system(id)
    tell(0.2)
    has_pages = not {"pdf", "html"}.isdisjoint(formats)
    content = report_content(store, priced, at=at, with_pages=has_pages, with_spread=edition == "full")
    tell(0.4)
    head = letterhead or Letterhead()
    write: Callable[[ReportFormat], list[Path]]
    doubts = priced.doubts
    if edition == "bid":
        alternates = compare_alternates(store, against, catalogue=priced.catalogue) if against else None
        monday = next_monday(date.fromisoformat(at[:10]))
        bid = make_bid(
            content,
            priced.catalogue,
            letterhead=head,
            price_by=price_by,
            alternates=alternates,
            days=plan_job(priced, start=start or monday, crews=crews, time_limit=0.0),
            first_day=None if start else monday,
        )
        doubts = (*doubts, *priced.catalogue.notes)
        write = partial(_write_bid, bid, folder, paper=paper, prepared_by=prepared_by)
    else:
        planning = Planning()
        if not {"pdf", "html", "xlsx"}.isdisjoint(formats):
            planning = planning_of(
                store, priced, start=start, crews=crews, alternates=against, cut_limit=0.0, days_limit=0.0
            )
        write = partial(
            _write_full,
            content,
            folder,
            catalogue=priced.catalogue,
            planning=planning,
            letterhead=head,
            paper=paper,
            prepared_by=prepared_by,
        )
    paths: list[Path] = []
    for i, kind in enumerate(formats, start=1):
        if kind == "dxf":
            runs = measured_runs(store.job, priced.measured)
            drawing = write_dxf(runs, content.display, title=content.job)
            paths.append(write_whole(folder / "runs.dxf", drawing))
        else:
            paths += write(kind)
        tell(0.4 + 0.6 * i / len(formats))
    return Reported(paths=tuple(paths), priced=priced, doubts=doubts)


def _write_full(
    content: ReportContent,
    folder: Path,
    kind: ReportFormat,
    *,
    catalogue: Catalogue,
    planning: Planning,
    letterhead: Letterhead,
    paper: Paper | None,
    prepared_by: str,
) -> list[Path]:
    """Write the full report in one form."""
    if kind == "pdf":
        path = folder / "report.pdf"
        write_pdf(
            content,
            path,
            catalogue=catalogue,
            letterhead=letterhead,
            paper=paper,
            prepared_by=prepared_by,
            planning=planning,
        )
        return [path]
    if kind == "html":
        path = folder / "report.html"
        return [write_html(content, path, letterhead=letterhead, prepared_by=prepared_by, planning=planning)]
    if kind == "xlsx":
        path = folder / "report.xlsx"
        return [write_workbook(content, path, planning, letterhead=letterhead, prepared_by=prepared_by)]
    return write_csv(content.tables(), folder)


def _write_bid(bid: Bid, folder: Path, kind: ReportFormat, *, paper: Paper | None, prepared_by: str) -> list[Path]:
    """Write a bid in one form."""
    if kind == "pdf":
        return [write_bid_pdf(bid, folder / "bid.pdf", paper=paper, prepared_by=prepared_by)]
    if kind == "html":
        return [write_bid_html(bid, folder / "bid.html", prepared_by=prepared_by)]
    if kind == "xlsx":
        return [write_bid_workbook(bid, folder / "bid.xlsx", prepared_by=prepared_by)]
    return write_csv(bid.tables(), folder, before="bid-")


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
        made = make_reports(store, folder, at=at, start=monday, progress=progress)
        return Demonstrated(
            job=store.job, priced=made.priced, paths=(path, *made.paths), doubts=(*doubts, *made.doubts)
        )


def report_content(
    store: JobStore, priced: Priced, *, at: str, with_pages: bool = True, with_spread: bool = True
) -> ReportContent:
    """Gather what a report shows of a priced job.

    Parameters
    ----------
    store
        The open job; its plans are read where ``with_pages``.
    priced
        The figures of `make_estimate`.
    at
        The time, ISO 8601; its date goes on the report.
    with_pages
        Whether marked plans are wanted; they take the longest.
    with_spread
        Whether scales say how far off they may be.
    """
    job, measured = store.job, priced.measured
    rule = rule_named(measured.measurement.rule)
    return ReportContent(
        job=job.settings.name,
        date=at[:10],
        display=Display(system=job.settings.units, precision=job.settings.precision, currency=priced.estimate.currency),
        rule=rule.name,
        rule_source=rule.source,
        by_room=measured.measurement,
        by_run=summarise(measured.faces, by="run", rooms=job.rooms, rule=rule.name),
        systems=tuple((share.id, share.label) for share in priced.estimate.systems),
        estimate=priced.estimate,
        job_currency=priced.job_currency,
        rates=priced.rates,
        pictures=_pictures(store, measured) if with_pages else (),
        elevations=tuple(face.elevation for face in measured.faces),
        scales=tuple(
            _scale_words(job, scale, with_spread=with_spread) for scale in dict.fromkeys(measured.calibrations.values())
        ),
        doubts=priced.doubts,
    )


def _pictures(store: JobStore, measured: Measured) -> tuple[SheetPicture, ...]:
    """The sheets that carry runs, as pages with marks."""
    job = store.job
    pictures = []
    for sheet in job.sheets.values():
        faces = [f.elevation for f in measured.faces if job.runs[f.elevation.run].sheet == sheet.id]
        if faces:
            data = store.source(sheet.source)
            pictures.append(
                SheetPicture(
                    sheet=sheet,
                    page_pdf=single_page_pdf(data, sheet),
                    size_pt=displayed_size(sheet),
                    marks=tuple(mark_of(e, measured.calibrations[e.run], sheet) for e in faces),
                    texts_pt=tuple(box_to_displayed(sheet, line.box_pt) for line in read_lines(data, sheet)),
                )
            )
    return tuple(pictures)


def _scale_words(job: Job, scale: Calibration, *, with_spread: bool) -> str:
    sheet = job.sheets[scale.sheet]
    place = f"{sheet.number or f'Sheet {sheet.id}'}" + (f", region {scale.region}" if scale.region else "")
    count = len(scale.dimensions)
    how = {
        "dimensions": f"from {count} known dimension{'s' * (count != 1)}",
        "ratio": "as stated",
        "note": f"from the written note {scale.stated}",
        "embedded": "from the measurement embedded in the file",
    }.get(scale.source, f"{scale.source}, {scale.stated}")
    spread = f" ± {2 * scale.u_scale:.2%} (k = 2)" if with_spread else ""
    stretch = f", y against x {scale.anisotropy:+.2%}" if scale.mx != scale.my else ""
    return f"{place}: 1:{scale.ratio:.4g}{spread}, {how}{stretch}"
