"""Reading sheets side by side in processes apart; what stops one of them is known to be the sheet that is in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait

from takeoff.actions.draft.reading import SheetRead, SheetTask, failed, read_sheet
from takeoff.apart import Apart
from takeoff.errors import SheetError
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
        """Read the sheets; see `takeoff.actions.draft.reading.Readers`."""
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
