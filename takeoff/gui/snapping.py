"""Snapping to what is drawn on the sheet and to what is traced already. No toolkit in here."""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import Future
from functools import partial
from itertools import pairwise

from takeoff.apart import Apart, apart
from takeoff.gui.session import Session
from takeoff.model.plan import Point, Sheet
from takeoff.model.walls import Run
from takeoff.sheet.layers import without_layers
from takeoff.trace.drawing.linework import Pieces, read_linework
from takeoff.trace.snapping.snap import ALL_KINDS, SegmentIndex, SnapKind, snap

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
    if not rows:
        return None
    return SegmentIndex.of(np.array(rows), np.array(ends), np.array(whole))
