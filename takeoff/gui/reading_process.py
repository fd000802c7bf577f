"""Reading drawings in a process of their own, so that the window never waits. No toolkit in here."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import active_children, get_context
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from takeoff import actions
from takeoff.errors import SheetError, TakeoffError
from takeoff.gui.session import Session
from takeoff.model.plan import Sheet

PATIENCE = 5
"""By how much the reading process comes after the window where both want the processor, in steps of ``nice``."""


class ReadingProcess:
    """One process that reads what it is told to; it is started when it is first needed, and gives way to the window."""

    def __init__(self) -> None:
        self._pool: ProcessPoolExecutor | None = None
        self._begun: list[BaseProcess] = []

    def submit(self, work: Callable[..., Any], *given: Any) -> Future[Any]:
        """Have a function of a module called over there."""
        if self._pool is not None:
            try:
                return self._pool.submit(work, *given)
            except BrokenProcessPool:  # the process has ended of itself
                self.close()
        before = active_children()
        self._pool = ProcessPoolExecutor(1, mp_context=get_context("spawn"), initializer=_give_way)
        made = self._pool.submit(work, *given)
        self._begun = [child for child in active_children() if child not in before]
        return made

    def close(self) -> None:
        """Stop the process, be it in the middle of something: it only reads, so nothing is lost."""
        for child in self._begun:
            child.terminate()
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)
        self._pool, self._begun = None, []


def _give_way() -> None:
    """Leave the processor to the window first; Windows has no call for it here."""
    if hasattr(os, "nice"):
        os.nice(PATIENCE)


def read_trace(job: Path, sheet_id: int) -> actions.SheetTrace:
    """Read a sheet of a job file for tracing; this runs in the reading process."""
    with actions.open_job(job) as store:
        return actions.read_sheet_trace(store, sheet_id)


class TraceReader:
    """Keeps sheets read for tracing, each as long as its scales and the drafting styles stay as they were."""

    def __init__(self, session: Session, process: ReadingProcess) -> None:
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
        if isinstance(error, TakeoffError):
            raise error
        if error is not None:
            raise SheetError(
                f"this sheet could not be read: {error}", remedy="Take the tool again to have it read anew."
            ) from error
        result: actions.SheetTrace = future.result()
        return result
