"""What the window has done in a process beside it, so that it never waits: sheets read, jobs worked out.

No toolkit is imported here: its import writes the fonts anew that an open window is reading from.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from datetime import date
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import Any, TypeVar

from takeoff import actions
from takeoff.apart import Apart, StoppedError, apart
from takeoff.errors import SheetError, TakeoffError
from takeoff.estimate.orders import OrderLine
from takeoff.gui.session import Session
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.model.cut_lists import CutList
from takeoff.model.drafting import DraftingStyle
from takeoff.model.plan import Point, Sheet
from takeoff.model.walls import Run
from takeoff.sheet.layers import without_layers
from takeoff.signing import signed
from takeoff.trace.drawing.linework import Pieces, read_linework
from takeoff.trace.snapping.snap import ALL_KINDS, SegmentIndex, SnapKind, snap
from takeoff.units import in_units

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


def of_estimate(job: Job, work: Callable[..., Made], **given: Any) -> Made:
    """Have a function do something with the estimate of a job."""
    return work(actions.make_estimate(job), **given)


def order_list(job: Job, start: date | None) -> tuple[OrderLine, ...]:
    """List what a job is to order, with days from the first one given."""
    return actions.order_lines(job, actions.make_estimate(job), start=start)


def take_draft(store: JobStore, read: Sequence[actions.SheetRead]) -> actions.Draft:
    """Take what was read of a set into a job as one edit, and price it."""
    return actions.make_draft(store, readers=lambda _tasks, _contents: iter(read))


def read_scanned_scale(store: JobStore, sheet_id: int) -> list[str]:
    """Set the scale of a scan in a job by what is written on it; return what does not agree."""
    made = actions.set_scale_scanned(store, store.job.sheets[sheet_id])
    show = store.job.settings.display
    return [in_units(words, show) for calibration in made for words in calibration.open_words]


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


REACH = 9.0
"""Pixels within which the pointer snaps."""
LEVELS: tuple[tuple[str, tuple[SnapKind, ...]], ...] = (
    ("ends, crossings, middles, right angles and lines", ALL_KINDS),
    ("ends and crossings alone", ("end", "crossing")),
    ("nothing", ()),
)
"""What can be snapped to, in words and in kinds."""
SCAN_DPI = 150.0
SHORTEST_EDGE = 9.0
"""Sheet points below which an edge of ink is a letter's."""
DRAWN_ON = 2.5
"""Sheet points by which an edge of ink is drawn on beyond its ends."""


@apart
def read_pieces(data: bytes, sheet: Sheet, hidden: frozenset[str] = frozenset()) -> Pieces:
    """Read the straight pieces of a sheet's linework, those of hidden layers left out."""
    return read_linework(without_layers(data, hidden) if hidden else data, sheet).pieces


@apart
def read_edges(data: bytes, sheet: Sheet) -> Pieces:
    """Find the straight edges of ink on a scan or a picture, drawn on a little so that they cross at corners."""
    import numpy as np

    from takeoff.revise.pictures import picture_lines
    from takeoff.sheet.frame import displayed_size, displayed_to_sheet
    from takeoff.sheet.render import darkest, render_array

    grey = darkest(render_array(data, sheet, dpi=SCAN_DPI))
    lines = picture_lines(grey, dpi=SCAN_DPI, focus_pt=(0.0, 0.0, *displayed_size(sheet)))
    length = np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1])
    lines, length = lines[length >= SHORTEST_EDGE], length[length >= SHORTEST_EDGE]
    way = (lines[:, 2:] - lines[:, :2]) / length[:, None] * DRAWN_ON
    ends = [
        (*displayed_to_sheet(sheet, x0, y0), *displayed_to_sheet(sheet, x1, y1))
        for x0, y0, x1, y1 in np.hstack((lines[:, :2] - way, lines[:, 2:] + way)).tolist()
    ]
    segments = np.array(ends).reshape(-1, 4)
    none = np.zeros(len(segments), np.int64)  # no arc: none is known to be a whole line
    return Pieces(segments=segments, path=none, is_end=np.zeros((len(segments), 2), bool), arc=none)


class Snapper:
    """Snaps for the sheets of a session; linework is read when a sheet is first shown."""

    def __init__(self, session: Session, process: Apart) -> None:
        self.session, self._process = session, process
        self._indexes: dict[int, SegmentIndex | None] = {}
        self._reading: dict[int, Future[Pieces]] = {}
        self._runs: tuple[object, int, SegmentIndex | None] | None = None
        self._level = 0

    def step(self) -> str:
        """Snap to fewer kinds, or to all again; return what is snapped to."""
        self._level = (self._level + 1) % len(LEVELS)
        return LEVELS[self._level][0]

    def prepare(self, sheet: Sheet) -> None:
        """Start reading the linework of a sheet."""
        if sheet.id in self._indexes or sheet.id in self._reading:
            return
        data, look = self.session.store.source(sheet.source), self.session.looks.get(sheet.id)
        if sheet.kind == "vector":
            hidden = look.hidden if look is not None else frozenset[str]()
            self._reading[sheet.id] = self._process.submit(read_pieces, data, sheet, hidden)
        else:
            self._reading[sheet.id] = self._process.submit(read_edges, data, sheet)

    def forget(self, sheet: Sheet) -> None:
        """Have the linework of a sheet read anew when it is next prepared: other layers of it are seen."""
        self._indexes.pop(sheet.id, None)
        self._reading.pop(sheet.id, None)

    def is_ready(self, sheet: Sheet) -> bool:
        """Whether snaps to the linework of a sheet are at hand."""
        future = self._reading.get(sheet.id)
        if future is not None and future.done():
            del self._reading[sheet.id]
            self._indexes[sheet.id] = _index(future.result()) if future.exception() is None else None
        return sheet.id in self._indexes

    def snap(
        self,
        point: Point,
        pt_per_pixel: float,
        *,
        from_point: Point | None = None,
        own: Sequence[Point] = (),
        at_marks: bool = False,
    ) -> tuple[Point, str]:
        """Return the point that the pointer snaps to and the kind of snap, or the point itself and nothing.

        ``at_marks`` tells that the end of a printed dimension is wanted.
        """
        reach = REACH * pt_per_pixel
        kinds = LEVELS[self._level][1]
        if not kinds:
            return point, ""
        for p in own:
            if math.dist(p, point) <= reach:
                return p, "end"
        strong = ("end", "crossing")
        runs = self._run_index()
        sheet = self.session.sheet
        drawn = self._indexes.get(sheet.id) if self.is_ready(sheet) else None
        near = partial(snap, from_point=from_point, kinds=kinds, at_marks=at_marks)
        snaps = (near(index, point, reach) for index in (runs, drawn) if index is not None)
        found = [s for s in snaps if s is not None]
        if not found:
            return point, ""
        best = min(found, key=lambda s: (s.kind not in strong, s.kind == "along", s.distance_pt))
        return best.point_pt, best.kind

    def _run_index(self) -> SegmentIndex | None:
        job = self.session.job
        if self._runs is None or self._runs[0] is not job or self._runs[1] != self.session.sheet_id:
            self._runs = (job, self.session.sheet_id, _run_segments(self.session.runs_here()))
        return self._runs[2]


def _index(pieces: Pieces) -> SegmentIndex | None:
    return SegmentIndex.of(pieces.segments, pieces.is_end, pieces.is_whole) if len(pieces.segments) else None


def _run_segments(runs: Sequence[Run]) -> SegmentIndex | None:
    import numpy as np

    from takeoff.geometry.arcs import flatten_segment

    rows: list[tuple[float, float, float, float]] = []
    ends: list[tuple[bool, bool]] = []
    whole: list[bool] = []
    for run in runs:
        n = len(run.points_pt)
        for i, bulge in enumerate(run.segment_bulges):
            chain = flatten_segment(run.points_pt[i], run.points_pt[(i + 1) % n], bulge, 0.5)
            for k, (a, b) in enumerate(pairwise(chain)):
                rows.append((*a, *b))
                ends.append((k == 0, k == len(chain) - 2))
                whole.append(bulge == 0.0)
    return SegmentIndex.of(np.array(rows), np.array(ends), np.array(whole)) if rows else None
