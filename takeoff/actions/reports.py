"""Writing reports."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from takeoff.actions.planning import compare_alternates, next_monday, plan_job
from takeoff.actions.quantities import Priced, make_estimate, refuse_other_currency
from takeoff.actions.report_content import report_content
from takeoff.errors import ReportError, TakeoffError
from takeoff.job.store import JobStore
from takeoff.model.point_register import Register
from takeoff.report.bid import Bid, make_bid
from takeoff.report.content import ReportContent
from takeoff.report.files import write_whole
from takeoff.report.kinds import Files, ReportKind
from takeoff.report.order import ALL_KINDS, ReportOrder

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

    Parameters
    ----------
    store
        The open job; its plans go under the marks.
    folder
        Where to write; it is made where there is none.
    order
        What to write; each kind says its files.
    at
        The time, ISO 8601; its date goes on the report.
    progress
        Is told the fraction done, 0 to 1.

    Raises
    ------
    ReportError
        When there is nothing to report, when a bid would be in another currency than the job, or when no kind could be
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
    priced = make_estimate(store.job, catalogue=order.catalogue)
    if order.edition == "bid":
        refuse_other_currency(store.job, priced.estimate.currency)
    for id in order.against:
        priced.catalogue.system(id)
    tell(0.2)
    content = report_content(store, priced, order, at=at)
    if order.edition == "bid":
        _refuse_open(content, order)
    bid = _bid(store, priced, content, order) if order.edition == "bid" else None
    tell(0.4)
    paths: list[Path] = []
    failures: list[ReportError] = []
    for i, kind in enumerate(order.kinds, start=1):
        try:
            files = _files(kind, content, bid)
            paths += [write_whole(folder / name, data) for name, data in files.items()]
        except ReportError as error:
            failures.append(error)
        tell(0.4 + 0.6 * i / len(order.kinds))
    if failures and not paths:
        raise failures[0]
    notes = () if bid is None else priced.catalogue.notes
    return Reported(paths=tuple(paths), priced=priced, points=content.points, notes=notes, failures=tuple(failures))


def _refuse_open(content: ReportContent, order: ReportOrder) -> None:
    """Refuse a bid of which much is open, unless it was asked for so."""
    points = content.points
    if points.share <= OPEN_LIMIT or order.allows_open:
        return
    raise ReportError(
        f"{points.words()} A bid is written with up to {OPEN_LIMIT:.0%}",
        remedy="Settle them first (takeoff points JOB), or have the bid say what is open: --allow-open.",
    )


def _files(kind: ReportKind, content: ReportContent, bid: Bid | None) -> Files:
    """Make the files of a kind; whatever goes wrong in it is told as a refusal that names it."""
    try:
        return kind.full(content) if bid is None else kind.bid(bid)
    except TakeoffError as error:
        file = kind.file if bid is None else kind.bid_file
        raise ReportError(error.message, remedy=error.remedy, where=error.where or file) from error


def _bid(store: JobStore, priced: Priced, content: ReportContent, order: ReportOrder) -> Bid:
    """Make the bid of a priced job, with working days counted where no first day is named."""
    monday = next_monday(date.fromisoformat(content.date))
    against = order.against
    is_dated = order.start is not None or (priced.terms is not None and bool(priced.terms.start))
    return make_bid(
        content,
        price_by=order.price_by,
        alternates=compare_alternates(store, against, catalogue=priced.catalogue) if against else None,
        days=plan_job(
            priced,
            start=order.start if is_dated else monday,
            crews=order.crews if priced.terms is None else None,
        ),
        first_day=None if is_dated else monday,
    )
