"""Writing reports: gathering what they show of a job, its faces as marks on their sheets, and making their files."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from pathlib import Path

from takeoff.actions.handover import measured_runs, refuse_without_walls
from takeoff.actions.planning import compare_alternates, cut_plans, next_monday, plan_job, planning_of
from takeoff.actions.points.deriving import open_points
from takeoff.actions.quantities import Measured, Priced, lots_of, make_estimate, refuse_other_currency, room_labels
from takeoff.errors import ReportError, TakeoffError
from takeoff.estimate.days.batches import late_packs
from takeoff.exchange.dxf import write_dxf
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.rules import rule_named
from takeoff.measure.totals import summarise, wall_labels
from takeoff.model.figures import Elevation, MeasuredItem
from takeoff.model.plan import Calibration, Point, Sheet
from takeoff.model.point_register import Register
from takeoff.report.bid import Bid, make_bid
from takeoff.report.content import Mark, ReportContent, SheetPicture
from takeoff.report.files import write_whole
from takeoff.report.foreman import Foreman, make_foreman
from takeoff.report.kinds import ALL_KINDS, Files, ReportKind, ReportOrder
from takeoff.report.letterhead import Edition
from takeoff.report.planning_tables import UNPLANNED, Planning
from takeoff.report.wall_names import WallNames, name_walls
from takeoff.sheet.frame import box_to_displayed, displayed_size, sheet_to_displayed
from takeoff.sheet.render import single_page_pdf
from takeoff.sheet.text import read_lines

OPEN_LIMIT = 0.02
"""Share of the price that open points may move in a bid: a fiftieth, well inside the usual profit (our choice)."""

Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reported:
    """Written reports: their paths, the figures in them, what is open, notes, and what could not be written."""

    paths: tuple[Path, ...]
    priced: Priced
    points: Register
    notes: tuple[str, ...] = ()
    failures: tuple[ReportError, ...] = ()


def make_reports(
    store: JobStore,
    folder: Path,
    order: ReportOrder = ALL_KINDS,
    *,
    at: str,
    progress: Progress | None = None,
) -> Reported:
    """Measure and price a job, and write reports of it; a kind that cannot be written does not stop the others.

    Raises `ReportError` when there is nothing to report, when a bid would be in another currency than the job, or when
    no kind could be written.

    Parameters
    ----------
    store
        The open job; its plans go under the marks.
    folder
        Where to write; it is made where there is none.
    order
        What to write; each kind says its files.
    """
    tell = progress or (lambda fraction: None)
    kinds = [kind for kind in order.kinds if order.edition in kind.files]
    if not kinds:
        raise ReportError("the foreman's copy is made as PDF alone", remedy="Choose PDF among the kinds.")
    priced = _price(store, order)
    tell(0.2)
    content = report_content(store, priced, order, at=at)
    shown: ReportContent | Bid | Foreman = content
    if order.edition == "bid":
        _refuse_open(content, order)
        shown = _bid(store, priced, content, order)
    elif order.edition == "foreman":
        shown = _foreman(priced, content, order)
    tell(0.4)
    paths: list[Path] = []
    failures: list[ReportError] = []
    for i, kind in enumerate(kinds, start=1):
        try:
            paths += [write_whole(folder / name, data) for name, data in _files(kind, shown, order.edition).items()]
        except ReportError as error:
            failures.append(error)
        tell(0.4 + 0.6 * i / len(kinds))
    if failures and not paths:
        raise failures[0]
    notes = () if order.edition == "full" else priced.catalogue.notes
    return Reported(paths=tuple(paths), priced=priced, points=content.points, notes=notes, failures=tuple(failures))


def _price(store: JobStore, order: ReportOrder) -> Priced:
    """Measure and price the job; refuses what cannot be reported."""
    refuse_without_walls(store.job)
    priced = make_estimate(store.job, catalogue=order.catalogue)
    if order.edition == "bid":
        refuse_other_currency(store.job, priced.estimate.currency)
    for id in order.against:
        priced.catalogue.system(id)
    return priced


def _refuse_open(content: ReportContent, order: ReportOrder) -> None:
    """Refuse a bid of which much is open, unless it was asked for so."""
    points = content.points
    if points.share <= OPEN_LIMIT or order.allows_open:
        return
    raise ReportError(
        f"{points.words()} A bid is written with up to {OPEN_LIMIT:.0%}",
        remedy="Settle them first (takeoff points JOB), or have the bid say what is open: --allow-open.",
    )


def _files(kind: ReportKind, shown: ReportContent | Bid | Foreman, edition: Edition) -> Files:
    """Make the files of a kind; whatever goes wrong in it is told as a refusal that names it."""
    try:
        return kind.write(shown)
    except TakeoffError as error:
        raise ReportError(error.message, remedy=error.remedy, where=error.where or kind.files[edition]) from error


def _foreman(priced: Priced, content: ReportContent, order: ReportOrder) -> Foreman:
    """Make the foreman's copy, with days from the next Monday where nobody named a day."""
    terms, is_dated = priced.terms, priced.has_day(order.start)
    start = order.start if is_dated else next_monday(date.fromisoformat(content.date))
    plan = plan_job(priced, start=start, crews=order.crews if terms is None else None)
    temperature = None if terms is None else terms.temperature
    crews = order.crews if terms is None else terms.crews
    return make_foreman(
        content,
        plan=plan,
        late=late_packs(priced.estimate, priced.catalogue, priced.rates, temperature=temperature),
        cuts=cut_plans(priced),
        first=f"Planned for {crews} crew{'s' * (crews != 1)}"
        + ("." if is_dated else f" from {start}. Nobody named the first day."),
    )


def _bid(store: JobStore, priced: Priced, content: ReportContent, order: ReportOrder) -> Bid:
    """Make the bid of a priced job, with working days counted where no first day is named."""
    monday, against = next_monday(date.fromisoformat(content.date)), order.against
    is_dated = priced.has_day(order.start)
    return make_bid(
        content,
        price_by=order.price_by,
        alternates=compare_alternates(store.job, against, catalogue=priced.catalogue) if against else None,
        days=plan_job(
            priced,
            start=order.start if is_dated else monday,
            crews=order.crews if priced.terms is None else None,
        ),
        first_day=None if is_dated else monday,
    )


def report_content(store: JobStore, priced: Priced, order: ReportOrder = ALL_KINDS, *, at: str) -> ReportContent:
    """Gather what a report shows of a priced job.

    Parameters
    ----------
    store
        The open job; its plans are read where a kind shows them, which takes the longest.
    order
        What the report is to hold; a bid does not say how far off scales may be.
    """
    job, measured = store.job, priced.measured
    rule = rule_named(measured.measurement.rule)
    return ReportContent(
        job=job.settings.name,
        date=at[:10],
        display=replace(job.settings.display, currency=priced.estimate.currency),
        rule=rule.name,
        rule_source=rule.source,
        by_room=replace(measured.measurement, items=_told_apart(measured.measurement.items)),
        by_run=replace(
            summarise(measured.faces, by="run", rooms=job.rooms, rule=rule.name),
            left_out=measured.measurement.left_out,
        ),
        systems=tuple((share.id, share.label) for share in priced.estimate.systems),
        estimate=priced.estimate,
        job_currency=priced.job_currency,
        catalogue=priced.catalogue,
        pictures=_pictures(store, measured) if order.needs("plans") else (),
        elevations=tuple(face.elevation for face in measured.faces),
        walls=wall_names(job, measured),
        scales=tuple(
            _scale_words(job, scale, with_spread=order.edition == "full")
            for scale in dict.fromkeys(measured.calibrations.values())
        ),
        uncoated=frozenset(area.system for area in priced.estimate.areas if not area.is_coated),
        points=open_points(job, priced=priced),
        lots=tuple(lots_of(job, measured.faces, priced.catalogue)),
        letterhead=order.letterhead,
        paper=order.paper,
        drawing=_drawing(job, measured) if order.needs("drawing") else b"",
        planning=_planning(store, priced, order),
    )


def wall_names(job: Job, measured: Measured) -> WallNames:
    """Number the walls of each room of a measured job from corner to corner."""
    rooms = summarise(measured.faces, by="room", rooms=job.rooms, rule=measured.measurement.rule).items
    turns = {run.id: job.sheets[run.sheet].rotation for run in job.runs.values()}
    elevations = [face.elevation for face in measured.faces]
    names = name_walls(elevations, {room.id: room.label for room in _told_apart(rooms)}, turns)
    return replace(names, runs=wall_labels(job.runs.values(), job.rooms))


def _told_apart(rooms: Sequence[MeasuredItem]) -> tuple[MeasuredItem, ...]:
    """Rooms of one name with their ids, as the plan of days names them."""
    labels = room_labels({room.id: room.label for room in rooms})
    return tuple(replace(room, label=labels[room.id]) for room in rooms)


def _drawing(job: Job, measured: Measured) -> bytes:
    return write_dxf(measured_runs(job, measured), job.settings.display, title=job.settings.name)


def _planning(store: JobStore, priced: Priced, order: ReportOrder) -> Planning:
    """What the full report shows besides the estimate; the other editions hold nothing of it."""
    if order.edition != "full" or not order.needs("planning"):
        return UNPLANNED
    return planning_of(
        store.job,
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


def mark_of(elevation: Elevation, scale: Calibration, sheet: Sheet) -> Mark:
    """Put one face on its sheet, in points of the page as displayed.

    ``elevation``: the face; its line is in building metres.
    """
    line = [sheet_to_displayed(sheet, x / scale.mx, y / scale.my) for x, y in elevation.line]
    stations = _stations(elevation)
    sign = 1.0 if elevation.face == "left" else -1.0
    corners = [(*_point_at(line, stations, c.station), c.is_inside) for c in elevation.corners]
    return Mark(
        label=elevation.key,
        system=elevation.system or "",
        room=elevation.room or "",
        line_pt=tuple(line),
        hand=tuple(_left_of(a, b, sign) for a, b in pairwise(line)),
        openings_pt=tuple(
            piece for o in elevation.openings for piece in _pieces(line, stations, o.x0, o.x1) if piece[0] != piece[1]
        ),
        corners=tuple(corners),
    )


def _left_of(a: Point, b: Point, sign: float) -> Point:
    """Unit vector to the left of the way from a to b with y down, or to the right for sign −1."""
    length = math.dist(a, b)
    if length == 0.0:
        return (0.0, 0.0)
    return (sign * (b[1] - a[1]) / length, -sign * (b[0] - a[0]) / length)


def _stations(elevation: Elevation) -> list[float]:
    """Stations of the drawn line's points; chords are stretched so that the last one is the developed length."""
    at = [0.0]
    for a, b in pairwise(elevation.line):
        at.append(at[-1] + math.dist(a, b))
    return [s * elevation.length / at[-1] for s in at]


def _point_at(line: Sequence[Point], stations: Sequence[float], station: float) -> Point:
    i = min(max(bisect_right(stations, station) - 1, 0), len(line) - 2)
    span = stations[i + 1] - stations[i]
    part = min(max((station - stations[i]) / span, 0.0), 1.0) if span > 0.0 else 0.0
    (x0, y0), (x1, y1) = line[i], line[i + 1]
    return (x0 + (x1 - x0) * part, y0 + (y1 - y0) * part)


def _pieces(line: Sequence[Point], stations: Sequence[float], low: float, high: float) -> list[tuple[Point, Point]]:
    """The drawn line between two stations, a piece for each straight part."""
    cuts = [low, *(s for s in stations if low < s < high), high]
    points = [_point_at(line, stations, s) for s in cuts]
    return list(pairwise(points))
