"""Writing reports: gathering what they show of a job, its faces as marks on their sheets, and making their files."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
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
from takeoff.estimate.days.works import DayPlan
from takeoff.exchange.dxf import write_dxf
from takeoff.geometry.paths import Path as Chain
from takeoff.geometry.paths import point_at
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.rules import rule_named
from takeoff.measure.totals import summarise, wall_labels
from takeoff.model.figures import Elevation, MeasuredItem
from takeoff.model.plan import Calibration, Point, Sheet
from takeoff.model.point_register import Register
from takeoff.model.site import day_of
from takeoff.report.bid import Bid, make_bid
from takeoff.report.content import Mark, ReportContent, SheetPicture
from takeoff.report.files import write_whole
from takeoff.report.foreman import Foreman, make_foreman
from takeoff.report.kinds import ALL_KINDS, Files, ReportKind, ReportOrder
from takeoff.report.letterhead import Edition
from takeoff.report.planning_tables import UNPLANNED
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
    store: JobStore, folder: Path, order: ReportOrder = ALL_KINDS, *, at: str, progress: Progress | None = None
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
    terms, (plan, monday) = priced.terms, _days(priced, content, order)
    temperature = None if terms is None else terms.temperature
    crews = order.crews if terms is None else terms.crews
    return make_foreman(
        content,
        plan=plan,
        late=late_packs(priced.estimate, priced.catalogue, priced.rates, temperature=temperature),
        cuts=cut_plans(priced),
        first=f"Planned for {crews} crew{'s' * (crews != 1)}"
        + (f" from {monday}. Nobody named the first day." if monday else "."),
    )


def _bid(store: JobStore, priced: Priced, content: ReportContent, order: ReportOrder) -> Bid:
    """Make the bid of a priced job, with working days counted where no first day is named."""
    against, (days, monday) = order.against, _days(priced, content, order)
    return make_bid(
        content,
        price_by=order.price_by,
        alternates=compare_alternates(store.job, against, catalogue=priced.catalogue) if against else None,
        days=days,
        first_day=monday,
    )


def _days(priced: Priced, content: ReportContent, order: ReportOrder) -> tuple[DayPlan, date | None]:
    """Plan the days, from the next Monday where nobody named the first one: that Monday comes with the plan."""
    monday = None if priced.has_day(order.start) else next_monday(date.fromisoformat(content.date))
    return plan_job(priced, start=monday or order.start, crews=_crews(priced, order)), monday


def _crews(priced: Priced, order: ReportOrder) -> int | None:
    """Return the crews that were asked for; where the job has terms of the site, theirs count."""
    return order.crews if priced.terms is None else None


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
        date=str(day_of(at)),
        display=replace(job.settings.display, currency=priced.estimate.currency),
        rule=rule.name,
        rule_source=rule.source,
        by_room=replace(measured.measurement, items=_told_apart(measured.measurement.items)),
        by_run=replace(
            summarise(measured.faces, by="run", rooms=job.rooms, rule=rule.name), left_out=measured.measurement.left_out
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
        drawing=write_dxf(measured_runs(job, measured), job.settings.display, title=job.settings.name)
        if order.needs("drawing")
        else b"",
        planning=planning_of(job, priced, start=order.start, crews=_crews(priced, order), alternates=order.against)
        if order.edition == "full" and order.needs("planning")
        else UNPLANNED,
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
    path = Chain(elevation.line, (0.0,) * (len(elevation.line) - 1), False)
    chords = path.stations()
    by = chords[-1] / elevation.length  # chords that stand for arcs are shorter than the developed line

    def shown(x: float, y: float) -> Point:
        return sheet_to_displayed(sheet, x / scale.mx, y / scale.my)

    def pieces(low: float, high: float) -> Iterator[tuple[Point, Point]]:
        cuts = [low * by, *(s for s in chords if low * by < s < high * by), high * by]
        return pairwise(shown(*point_at(path, s)) for s in cuts)

    line = [shown(*point) for point in elevation.line]
    sign = 1.0 if elevation.face == "left" else -1.0
    return Mark(
        label=elevation.key,
        system=elevation.system or "",
        room=elevation.room or "",
        line_pt=tuple(line),
        hand=tuple(_left_of(a, b, sign) for a, b in pairwise(line)),
        openings_pt=tuple(p for o in elevation.openings for p in pieces(o.x0, o.x1) if p[0] != p[1]),
        corners=tuple((*shown(*point_at(path, c.station * by)), c.is_inside) for c in elevation.corners),
    )


def _left_of(a: Point, b: Point, sign: float) -> Point:
    """Unit vector to the left of the way from a to b with y down, or to the right for sign −1."""
    length = math.dist(a, b)
    return (0.0, 0.0) if length == 0.0 else (sign * (b[1] - a[1]) / length, -sign * (b[0] - a[0]) / length)
