"""Gathering what a report shows of a job."""

from __future__ import annotations

from takeoff.actions.handover import export_dxf
from takeoff.actions.marks import mark_of
from takeoff.actions.open_points import open_points
from takeoff.actions.planning import planning_of
from takeoff.actions.quantities import Measured, Priced
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.rules import rule_named
from takeoff.measure.totals import summarise
from takeoff.model.plan import Calibration
from takeoff.model.point_register import Register
from takeoff.report.content import ReportContent, SheetPicture
from takeoff.report.order import ALL_KINDS, ReportOrder
from takeoff.report.planning_tables import UNPLANNED, Planning
from takeoff.sheet.frame import box_to_displayed, displayed_size
from takeoff.sheet.render import single_page_pdf
from takeoff.sheet.text import read_lines
from takeoff.units import Display


def report_content(
    store: JobStore, priced: Priced, order: ReportOrder = ALL_KINDS, *, at: str, points: Register | None = None
) -> ReportContent:
    """Gather what a report shows of a priced job.

    Parameters
    ----------
    store
        The open job; its plans are read where a kind shows them, which takes the longest.
    priced
        The figures of `make_estimate`.
    order
        What the report is to hold; a bid does not say how far off scales may be.
    at
        The time, ISO 8601; its date goes on the report.
    points
        The job's open points, where they are at hand.

    Raises
    ------
    InputError, CatalogueError
        As `planning_of`.
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
        catalogue=priced.catalogue,
        pictures=_pictures(store, measured) if order.needs("plans") else (),
        elevations=tuple(face.elevation for face in measured.faces),
        scales=tuple(
            _scale_words(job, scale, with_spread=order.edition == "full")
            for scale in dict.fromkeys(measured.calibrations.values())
        ),
        points=points or open_points(job, priced=priced),
        letterhead=order.letterhead,
        paper=order.paper,
        drawing=export_dxf(store, measured) if order.needs("drawing") else b"",
        planning=_planning(store, priced, order),
    )


def _planning(store: JobStore, priced: Priced, order: ReportOrder) -> Planning:
    """What the full report shows besides the estimate; a bid holds nothing of it."""
    if order.edition == "bid" or not order.needs("planning"):
        return UNPLANNED
    return planning_of(
        store,
        priced,
        start=order.start,
        crews=order.crews if priced.terms is None else None,
        alternates=order.against,
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
