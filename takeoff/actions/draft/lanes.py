"""Reading sheets side by side in processes of this machine, each watched: its memory, and the time of each sheet.

A *lane* is one process and the sheet that is in it. What stops a lane is so known to be that sheet; the others go on,
and the lane gets a new process.
"""

from __future__ import annotations

import contextlib
import signal
import time
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import active_children, get_context
from multiprocessing.process import BaseProcess

from takeoff.actions.draft.reading import SheetRead, SheetTask, failed, read_sheet
from takeoff.limits import LOOK, MEMORY_MB, SHEET_SECONDS, limit, memory_of

_KEPT: dict[str, bytes] = {}
"""In a lane's process: the plan file that its sheets are of, by SHA-256."""


def _begin() -> None:
    """Leave it to the parent to end the process where a person presses Ctrl+C."""
    with contextlib.suppress(ValueError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)


def _keep(sha256: str, data: bytes) -> None:
    """Take a plan file into the process, in place of the one before."""
    _KEPT.clear()
    _KEPT[sha256] = data


def _read_kept(task: SheetTask) -> SheetRead:
    return read_sheet(task, _KEPT[task.sheet.source])


class _Lane:
    """One process, started when it is first needed, and the sheet that it reads."""

    def __init__(self) -> None:
        self.future: Future[SheetRead] | None = None
        self.task: SheetTask
        self._pool: ProcessPoolExecutor | None = None
        self._process: BaseProcess | None = None
        self._has = ""
        self._since = 0.0

    def start(self, task: SheetTask, contents: Callable[[str], bytes]) -> None:
        """Have a sheet read."""
        before = active_children()
        if self._pool is None:
            self._pool = ProcessPoolExecutor(1, mp_context=get_context("spawn"), initializer=_begin)
        sha256 = task.sheet.source
        if sha256 != self._has:
            self._pool.submit(_keep, sha256, contents(sha256))
            self._has = sha256
        self.task, self.future, self._since = task, self._pool.submit(_read_kept, task), time.monotonic()
        self._process = next((child for child in active_children() if child not in before), self._process)

    def fault(self) -> str:
        """Say by which limit the sheet is to be stopped; empty while it keeps to them."""
        seconds, most = limit(SHEET_SECONDS), limit(MEMORY_MB)
        if time.monotonic() - self._since > seconds:
            return f"it took more than {seconds:,} s (the limit is {SHEET_SECONDS[0]})"
        if self._process is not None and self._process.pid and memory_of(self._process.pid) > most * 1_000_000:
            return f"it needs more than {most:,} MB of memory (the limit is {MEMORY_MB[0]})"
        return ""

    def taken(self) -> SheetRead:
        """Return what was read; the process may have died of it."""
        assert self.future is not None
        future, self.future = self.future, None
        try:
            return future.result()
        except BrokenProcessPool:
            self.close()
            return failed(self.task, "reading it ended the process; the file may be damaged")

    def close(self) -> None:
        """End the process, be it in the middle of a sheet: it only reads, so nothing is lost."""
        if self._process is not None:
            self._process.kill()
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)
        self._pool, self._process, self.future, self._has = None, None, None, ""


class Lanes:
    """Reads sheets in several processes; the sheets that take longest are to come first."""

    def __init__(self, processes: int) -> None:
        self._count = processes

    def __call__(self, tasks: Iterable[SheetTask], contents: Callable[[str], bytes]) -> Iterator[SheetRead]:
        """Read the sheets; see `takeoff.actions.draft.reading.Readers`."""
        waiting = list(tasks)
        lanes = [_Lane() for _ in range(min(self._count, len(waiting)))]
        waiting.reverse()
        try:
            while waiting or any(lane.future for lane in lanes):
                for lane in lanes:
                    if lane.future is None and waiting:
                        lane.start(waiting.pop(), contents)
                running = [lane for lane in lanes if lane.future is not None]
                wait([lane.future for lane in running if lane.future], timeout=LOOK, return_when=FIRST_COMPLETED)
                for lane in running:
                    if lane.future is not None and lane.future.done():
                        yield lane.taken()
                    elif fault := lane.fault():
                        lane.close()
                        yield failed(lane.task, fault)
        finally:
            for lane in lanes:
                lane.close()
