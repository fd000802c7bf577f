"""Reading sheets side by side in processes apart; what stops one of them is known to be the sheet that is in it."""

from __future__ import annotations

from asyncio import CancelledError
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from pathlib import Path
from threading import Lock
from typing import Any

from takeoff.actions.draft.sheet_reads import SheetRead, SheetTask, failed, read_sheet
from takeoff.apart import Apart
from takeoff.errors import InputError, SheetError
from takeoff.sheet.document import pdf_engine

_KEPT: dict[str, bytes] = {}
"""In a lane's process: the plan file that its sheets are of, by SHA-256."""


def _read(task: SheetTask, data: bytes | None) -> SheetRead:
    """Read a sheet, of a new plan file or of the one that is kept."""
    if data is not None:
        _KEPT.clear()
        _KEPT[task.sheet.source] = data
    return read_sheet(task, _KEPT[task.sheet.source])


EARLY = 2
"""Processes that are started before it is known how many sheets there are: each takes about a second to be ready."""


_LOADS = (__name__, "pymupdf", "numpy.ma", "numpy.random")
"""What reading a sheet loads."""


def _be_ready() -> None:
    """Load in a lane's process what reading a sheet takes."""
    pdf_engine()


class Lanes:
    """Reads sheets in several processes; the sheets that take longest are to come first.

    Parameters
    ----------
    processes
        How many at most.
    is_early
        Whether the first of them get ready at once, while the plans are still being opened.
    """

    def __init__(self, processes: int, *, is_early: bool = False) -> None:
        self._count = processes
        self._early = [Apart(loads=_LOADS) for _ in range(min(processes, EARLY))] if is_early else []
        for lane in self._early:
            lane.submit(_be_ready)

    def __call__(self, tasks: Iterable[SheetTask], contents: Callable[[str], bytes]) -> Iterator[SheetRead]:
        """Read the sheets; see `takeoff.actions.draft.sheet_reads.Readers`."""
        waiting = list(tasks)
        waiting.reverse()
        more = min(self._count, len(waiting)) - len(self._early)
        lanes, self._early = [*self._early, *(Apart(loads=_LOADS) for _ in range(more))], []
        free = [(lane, "") for lane in reversed(lanes)]
        reading: dict[Future[SheetRead], tuple[Apart, SheetTask]] = {}
        try:
            while waiting or reading:
                while free and waiting:
                    (lane, has), task = free.pop(), waiting.pop()
                    sha256 = task.sheet.source
                    data = None if has == sha256 else contents(sha256)
                    reading[lane.submit(_read, task, data)] = lane, task
                for future in wait(reading, return_when=FIRST_COMPLETED).done:
                    lane, task = reading.pop(future)
                    fault = future.exception()
                    if fault is not None and not isinstance(fault, SheetError):
                        raise fault
                    free.append((lane, "" if fault else task.sheet.source))
                    yield future.result() if fault is None else failed(task, fault.message)
        finally:
            for lane in lanes:
                lane.close()


PATIENCE = 30
"""Seconds without a sheet done after which it is looked whether any worker is left: one is started again in a few."""
CONNECT = 15
"""Seconds to wait for a scheduler that does not answer."""
_ONE = Lock()


def _same(data: bytes) -> bytes:
    return data


def _read_alone(task: SheetTask, data: bytes) -> SheetRead:
    """Read a sheet in a worker, one at a time whatever threads it has: the PDF engine allows no more."""
    with _ONE:
        return read_sheet(task, data)


class Cluster:
    """Reads sheets on the workers of a scheduler; memory and time are limited by whoever started them."""

    def __init__(self, at: str) -> None:
        """Take the address of a scheduler, or the path of its scheduler file."""
        self._at = at

    def __call__(self, tasks: Iterable[SheetTask], contents: Callable[[str], bytes]) -> Iterator[SheetRead]:
        """Read the sheets; see `takeoff.actions.draft.sheet_reads.Readers`.

        Raises `InputError` when the extra is not installed, the scheduler does not answer, or it has no workers.
        """
        try:
            import dask
            import distributed
        except ImportError as error:
            raise InputError(
                "reading on a cluster needs a package that is not installed",
                remedy='Install it with: pip install "takeoff[cluster]".',
            ) from error
        where = {"scheduler_file": self._at} if Path(self._at).is_file() else {"address": self._at}
        try:
            client = distributed.Client(**where, timeout=CONNECT)
        except (OSError, ValueError) as error:
            raise InputError(
                f"the scheduler {self._at} does not answer",
                remedy="Start it, or name its address or its scheduler file.",
            ) from error
        # a plan file goes with its task, whatever its size
        with client, dask.config.set({"distributed.admin.large-graph-warning-threshold": "10GB"}):
            if not client.nthreads():
                raise InputError(f"the scheduler {self._at} has no workers", remedy="Start workers and try again.")
            waiting = list(tasks)
            sources = dict.fromkeys(task.sheet.source for task in waiting)
            plans = {sha256: client.submit(_same, contents(sha256), pure=False) for sha256 in sources}
            reading = {client.submit(_read_alone, t, plans[t.sheet.source], pure=False): t for t in waiting}
            while reading:
                try:
                    done = distributed.wait(list(reading), PATIENCE, "FIRST_COMPLETED").done
                except TimeoutError:
                    done = () if client.nthreads() else reading
                for future in list(done):
                    yield _answer(client, future, reading.pop(future))


def _answer(client: Any, future: Any, task: SheetTask) -> SheetRead:
    """Return what a worker read; a sheet that it died of, or that no worker is left for, is told as its fault."""
    while future.done() or client.nthreads():
        try:
            read: SheetRead = future.result(PATIENCE)
        except TimeoutError as fault:
            if future.status == "error":
                return failed(task, f"its worker ended with {fault}")
            if not client.nthreads():  # it was read, and the worker that held it is gone
                break
        except (Exception, CancelledError) as fault:
            return failed(task, f"its worker ended with {fault}")
        else:
            return read
    return failed(task, "the cluster has no workers any more; start workers and draft again")
