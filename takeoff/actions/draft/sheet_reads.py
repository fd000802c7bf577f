"""Reading one sheet of a set for a draft: values in, values out, so that it can be done in any process anywhere."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace

from takeoff.actions.scales import read_scales
from takeoff.actions.sheet_places import MadeScale
from takeoff.actions.traced_sheets import SheetTrace, read_drawn_sheet
from takeoff.errors import CalibrationError, TakeoffError
from takeoff.model.drafting import DraftingStyle
from takeoff.model.plan import Calibration, ScaleRegion, Sheet
from takeoff.sheet.text import read_lines
from takeoff.sheet.uses import SheetUse, use_of, use_of_headings
from takeoff.trace.drawing.linework import read_linework
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
    """A sheet to read, with what the job has of it: its scales, their regions, and the drafting styles of the job."""

    sheet: Sheet
    scales: tuple[Calibration, ...] = ()
    regions: tuple[ScaleRegion, ...] = ()
    styles: tuple[DraftingStyle, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRead:
    """What a sheet says: its use and by what it is known, scales read now, rooms, schedules, views; or its fault.

    ``listed`` are number and title of the sheets that it names, where it shows a list of them; ``norths`` its north
    arrows.
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
    fault: str = ""


Readers = Callable[[Iterable[SheetTask], Callable[[str], bytes]], Iterator[SheetRead]]
"""What reads the sheets of a set in some order of its own and gives each as it is done; it is given what gives the
bytes of a plan file by its SHA-256."""


def read_here(tasks: Iterable[SheetTask], contents: Callable[[str], bytes]) -> Iterator[SheetRead]:
    """Read sheets one after another in this process."""
    for task in tasks:
        yield read_sheet(task, contents(task.sheet.source))


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
        if self.sheet.kind == "image":
            self._trace(task)
            return self.found
        lines = read_lines(self.data, self.sheet)
        if use == "unknown":
            use, why = use_of_headings(lines)
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
        if use in TRACED and not task.scales and self.sheet.kind == "vector":
            taken = [region.id for region in task.regions]
            made = read_scales(self.data, self.sheet, linework, lines, taken=taken)
            self.found = replace(self.found, scales=tuple(made))
        self._trace(task)
        return self.found

    def _trace(self, task: SheetTask) -> None:
        if self.found.use not in TRACED:
            return
        scales = task.scales or tuple(calibration for _, calibration in self.found.scales)
        if not scales:
            raise CalibrationError("it has no scale yet, and a picture carries none that is read in a draft")
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
