"""Reading the sheets of a set for a draft, values in and values out: one, and many, side by side or on a cluster."""

from __future__ import annotations

from asyncio import CancelledError
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass, field, replace
from pathlib import Path
from threading import Lock
from typing import Any

from takeoff.actions.scales import known_grid, read_or_recognise, tells_grid
from takeoff.actions.sheet_places import MadeScale
from takeoff.actions.traced_sheets import SheetTrace, read_drawn_sheet
from takeoff.apart import Apart
from takeoff.errors import CalibrationError, InputError, SheetError, TakeoffError
from takeoff.model.drafting import DraftingStyle
from takeoff.model.plan import Calibration, ScaleRegion, Sheet
from takeoff.sheet.document import pdf_engine
from takeoff.sheet.ocr import can_recognise, read_scanned_lines
from takeoff.sheet.text import TextLine, read_lines
from takeoff.sheet.uses import SheetUse, use_of, use_of_headings
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.scales.grid_lines import GridLine, KnownGrid, grid_lengths, read_grid
from takeoff.trace.schedules.elevation_views import ElevationView, read_views
from takeoff.trace.schedules.finish_schedule import FinishSchedule, may_show_finishes, read_finish_table
from takeoff.trace.schedules.opening_schedule import OpeningSchedule, may_show_openings, read_opening_table
from takeoff.trace.schedules.sheet_list import read_sheet_list
from takeoff.trace.texts.north_arrow import NorthArrow, read_north_arrows

WITH_WALLS: tuple[SheetUse, ...] = ("floor plan", "unknown")
"""Uses of sheets whose rooms are taken."""
TRACED: tuple[SheetUse, ...] = (*WITH_WALLS, "ceiling plan")
"""Uses of sheets that rooms are looked for on; on a ceiling plan for the heights that are printed in them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetTask:
    """A sheet to read, with what the job has of it: its scales, their regions, and the drafting styles of the job.

    ``grids`` are the grid lines of the set's sheets whose scale is sure.
    """

    sheet: Sheet
    scales: tuple[Calibration, ...] = ()
    regions: tuple[ScaleRegion, ...] = ()
    styles: tuple[DraftingStyle, ...] = ()
    grids: tuple[KnownGrid, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRead:
    """What a sheet says: its use and by what it is known, scales read now, rooms, schedules, views; or its fault.

    ``listed`` are number and title of the sheets that it names, where it shows a list of them; ``norths`` its north
    arrows; ``grid`` its grid lines.
    """

    sheet: int
    use: SheetUse
    why: str
    scales: tuple[MadeScale, ...] = ()
    trace: SheetTrace | None = None
    openings: OpeningSchedule | None = None
    finishes: FinishSchedule | None = None
    views: tuple[ElevationView, ...] = ()
    listed: tuple[tuple[str, str], ...] = ()
    norths: tuple[NorthArrow, ...] = ()
    grid: tuple[GridLine, ...] = ()
    fault: str = ""


Readers = Callable[[Iterable[SheetTask], Callable[[str], bytes]], Iterator[SheetRead]]
"""What reads the sheets of a set in some order of its own and gives each as it is done; it is given what gives the
bytes of a plan file by its SHA-256."""


def read_here(tasks: Iterable[SheetTask], contents: Callable[[str], bytes]) -> Iterator[SheetRead]:
    """Read sheets one after another in this process."""
    for task in tasks:
        yield read_sheet(task, contents(task.sheet.source))


def read_set(
    tasks: Sequence[SheetTask], contents: Callable[[str], bytes], readers: Readers = read_here
) -> Iterator[SheetRead]:
    """Read the sheets of a set; then once more those whose scale is open and told by the grid lines of others."""
    read: dict[int, SheetRead] = {}
    for found in readers(tasks, contents):
        read[found.sheet] = found
        yield found
    known: dict[int, KnownGrid] = {}
    waiting: list[SheetTask] = []
    for task in tasks:
        own = read.get(task.sheet.id)
        if own is None or not own.grid:
            continue
        scale = next((c for c in (*task.scales, *(c for _, c in own.scales)) if c.region is None), None)
        if scale is not None and tells_grid(scale):
            known[own.sheet] = known_grid(task.sheet, scale, own.grid)
        elif not task.scales:
            waiting.append(task)
    grids = tuple(known.values())
    again = [replace(task, grids=grids) for task in waiting if grid_lengths(read[task.sheet.id].grid, grids)]
    if again:
        yield from readers(again, contents)


@dataclass(slots=True)
class _Page:
    """A sheet of a file, read as far as it is asked about."""

    data: bytes
    sheet: Sheet
    found: SheetRead = field(init=False)

    def read(self, task: SheetTask) -> SheetRead:
        """Read all that a draft takes; a reader that refuses leaves what the others found."""
        use, why = use_of(self.sheet)
        self.found = SheetRead(sheet=self.sheet.id, use=use, why=why)
        lines = [] if self.sheet.kind == "image" else read_lines(self.data, self.sheet)
        if use == "unknown" or not self.sheet.title:
            headed = use_of_headings(lines or self._letters())
            use, why = headed if use == "unknown" or headed[0] == "floor plan" else (use, why)
            self.found = replace(self.found, use=use, why=why)
        if self.found.use in ("other", "unknown"):
            self.found = replace(self.found, listed=read_sheet_list(lines, self.sheet))
        has_openings, has_finishes = may_show_openings(lines, self.sheet), may_show_finishes(lines, self.sheet)
        if use == "elevation":
            views = read_views(lines, self.sheet, lambda: read_linework(self.data, self.sheet))
            self.found = replace(self.found, views=views)
        if not (has_openings or has_finishes or use in TRACED):
            return self.found
        linework = read_linework(self.data, self.sheet)
        if has_openings:
            self.found = replace(self.found, openings=read_opening_table(linework, lines, self.sheet))
        if has_finishes:
            self.found = replace(self.found, finishes=read_finish_table(linework, lines, self.sheet))
        if use in WITH_WALLS:
            self.found = replace(self.found, norths=read_north_arrows(linework, lines, self.sheet))
        if use in TRACED:
            self.found = replace(self.found, grid=read_grid(linework, lines))
        if use in TRACED and not task.scales and (self.sheet.kind == "vector" or can_recognise()):
            taken = [region.id for region in task.regions]
            made = read_or_recognise(self.data, self.sheet, linework, lines, taken=taken, grids=lambda: task.grids)
            self.found = replace(self.found, scales=tuple(made))
        self._trace(task)
        return self.found

    def _letters(self) -> list[TextLine]:
        """Recognise the letters of a sheet without text."""
        return read_scanned_lines(self.data, self.sheet) if can_recognise() else []

    def _trace(self, task: SheetTask) -> None:
        if self.found.use not in TRACED:
            return
        scales = task.scales or tuple(calibration for _, calibration in self.found.scales)
        if not scales:
            raise CalibrationError("it has no scale yet, and without the OCR library none is read of a picture")
        regions = {region.id: region for region in task.regions}
        regions |= {region.id: region for region, _ in self.found.scales if region is not None}
        self.found = replace(self.found, trace=read_drawn_sheet(self.data, self.sheet, scales, regions, task.styles))


def read_sheet(task: SheetTask, data: bytes) -> SheetRead:
    """Read a sheet for a draft: what it is for, its scales where it has none, its rooms and its schedules.

    What refuses the sheet, or fails on it, is told as its fault beside what was read before it.
    """
    page = _Page(data, task.sheet)
    try:
        return page.read(task)
    except TakeoffError as error:
        fault = error.message
    except Exception as error:  # one sheet must not end the work on a whole set
        fault = f"reading it failed ({type(error).__name__}: {error})"
    found = getattr(page, "found", None) or failed(task, "")
    return replace(found, fault=fault)


def failed(task: SheetTask, fault: str) -> SheetRead:
    """Return what is known of a sheet that could not be read."""
    use, why = use_of(task.sheet)
    return SheetRead(sheet=task.sheet.id, use=use, why=why, fault=fault)


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
