"""What the window has done in a process beside it, so that it never waits: sheets read, jobs worked out.

No toolkit is imported here: its import writes the fonts anew that an open window is reading from.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

from takeoff import actions
from takeoff.apart import Apart, StoppedError
from takeoff.errors import SheetError, TakeoffError
from takeoff.estimate.days.works import DayPlan
from takeoff.estimate.orders import OrderLine
from takeoff.estimate.simulate import PriceRange
from takeoff.gui.session import Session
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.model.cut_lists import CutList
from takeoff.model.drafting import DraftingStyle
from takeoff.model.plan import Sheet
from takeoff.signing import signed

Made = TypeVar("Made")


def with_store(path: Path, work: Callable[..., Made], *given: Any) -> Made:
    """Have a function do something with a job file that it is given open; this runs in a process beside the window."""
    with actions.open_job(path, signed) as store:
        return work(store, *given)


def with_job(path: Path, work: Callable[..., Made], *given: Any) -> Made:
    """Have a function do something with the job of a file; this runs in a process beside the window."""
    with actions.open_job(path) as store:
        return work(store.job, *given)


def cut_plans(job: Job, effort: float) -> tuple[CutList, ...]:
    """Plan the cuts of a job; an effort of 1 is about a second."""
    return actions.cut_plans(actions.make_estimate(job, cut_effort=effort))


def plan_days(job: Job, start: date | None, crews: int, effort: float) -> DayPlan:
    """Plan the days of a job by its terms of the site, but for the first day and the crews; effort as above."""
    return actions.plan_job(actions.make_estimate(job), start=start, crews=crews, effort=effort)


def order_list(job: Job, start: date | None) -> tuple[OrderLine, ...]:
    """List what a job is to order, with days from the first one given."""
    return actions.order_lines(job, actions.make_estimate(job), start=start)


def price_range(job: Job, draws: int, seed: int) -> PriceRange:
    """Draw the range of a job's price."""
    return actions.price_range(actions.make_estimate(job), draws=draws, seed=seed)


def take_draft(store: JobStore, read: Sequence[actions.SheetRead]) -> actions.Draft:
    """Take what was read of a set into a job as one edit, and price it."""
    return actions.make_draft(store, readers=lambda _tasks, _contents: iter(read))


def read_scanned_scale(store: JobStore, sheet_id: int) -> list[str]:
    """Set the scale of a scan in a job by what is written on it; return what does not agree."""
    made = actions.set_scale_scanned(store, store.job.sheets[sheet_id])
    return [words for calibration in made for words in calibration.open_words]


def propose_style(store: JobStore, sheet_id: int) -> tuple[DraftingStyle, float] | None:
    """Read a sheet: the style that its walls were found by, and the share of outlines that are sure."""
    parts = actions.read_sheet_trace(store, sheet_id).parts
    return actions.proposed_style([plan for _, _, plan in parts], "proposed")


class TraceReader:
    """Keeps sheets read for tracing, each as long as its scales and the drafting styles stay as they were."""

    def __init__(self, session: Session, process: Apart) -> None:
        self._session, self._process = session, process
        self._asked: dict[int, tuple[object, Future[Any]]] = {}

    def forget_faults(self) -> None:
        """Have what could not be read read anew when it is asked for."""
        failed = [id for id, (_, future) in self._asked.items() if future.done() and future.exception() is not None]
        for id in failed:
            del self._asked[id]

    def trace_of(self, sheet: Sheet) -> actions.SheetTrace | None:
        """Return a sheet as read for tracing, or nothing while it is being read; one that cannot be is refused."""
        job = self._session.job
        key = (
            tuple(c for c in job.calibrations.values() if c.sheet == sheet.id),
            tuple(r for r in job.regions.values() if r.sheet == sheet.id),
            tuple(job.styles.values()),
        )
        asked = self._asked.get(sheet.id)
        if asked is None or asked[0] != key:
            if asked is not None:
                asked[1].cancel()
            asked = (key, self._process.submit(with_store, self._session.path, actions.read_sheet_trace, sheet.id))
            self._asked[sheet.id] = asked
        future = asked[1]
        if not future.done():
            return None
        error = future.exception()
        if isinstance(error, TakeoffError) and not isinstance(error, StoppedError):
            raise error
        if error is not None:
            remedy = "Take the tool again to have it read again."
            raise SheetError(f"this sheet could not be read: {error}", remedy=remedy) from error
        result: actions.SheetTrace = future.result()
        return result
