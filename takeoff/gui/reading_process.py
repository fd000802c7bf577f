"""Reading drawings in a process of their own, so that the window never waits. No toolkit in here."""

from __future__ import annotations

from concurrent.futures import Future
from pathlib import Path
from typing import Any

from takeoff import actions
from takeoff.apart import Apart, StoppedError
from takeoff.errors import SheetError, TakeoffError
from takeoff.gui.session import Session
from takeoff.model.plan import Sheet

PATIENCE = 5
"""By how much a process beside the window comes after it where both want the processor, in steps of ``nice``."""


def read_trace(job: Path, sheet_id: int) -> actions.SheetTrace:
    """Read a sheet of a job file for tracing; this runs in the reading process."""
    with actions.open_job(job) as store:
        return actions.read_sheet_trace(store, sheet_id)


class TraceReader:
    """Keeps sheets read for tracing, each as long as its scales and the drafting styles stay as they were."""

    def __init__(self, session: Session, process: Apart) -> None:
        self._session, self._process = session, process
        self._asked: dict[int, tuple[object, Future[Any]]] = {}

    def forget_faults(self) -> None:
        """Have what could not be read read anew when it is asked for."""
        self._asked = {
            id: (key, future)
            for id, (key, future) in self._asked.items()
            if not future.done() or future.exception() is None
        }

    def trace_of(self, sheet: Sheet) -> actions.SheetTrace | None:
        """Return a sheet as read for tracing, or nothing while it is being read.

        Raises
        ------
        TakeoffError
            When it cannot be traced, with the reason.
        """
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
            asked = (key, self._process.submit(read_trace, self._session.path, sheet.id))
            self._asked[sheet.id] = asked
        future = asked[1]
        if not future.done():
            return None
        error = future.exception()
        if isinstance(error, TakeoffError) and not isinstance(error, StoppedError):
            raise error
        if error is not None:
            raise SheetError(
                f"this sheet could not be read: {error}", remedy="Take the tool again to have it read again."
            ) from error
        result: actions.SheetTrace = future.result()
        return result
