"""Tools that take a box: a rectangular room by two opposite points, and zooming to what is dragged."""

from __future__ import annotations

import math
from collections.abc import Callable

from takeoff.gui.canvas.shape import Shape, box_shape
from takeoff.gui.session import Session
from takeoff.gui.tools.tool import (
    PREVIEW,
    Pick,
    PointsTool,
    Tool,
    from_shown,
    idle_prompt,
    scale_needed,
    take_height,
    to_shown,
    typed_place,
)
from takeoff.job.sketch import box_run
from takeoff.model.plan import Point
from takeoff.units import door_size


class BoxTool(PointsTool):
    """Trace a rectangular room by two opposite corners."""

    id = "box"

    @property
    def first(self) -> Point | None:
        """The first corner, where it is placed."""
        return self.points[0] if self.points else None

    def prompt(self) -> str:
        if self.first is None:
            return idle_prompt(self.session, "click where two walls of a rectangular room meet, on the inside")
        return "Click the opposite point, or type width x depth + Enter."

    def own_points(self) -> tuple[Point, ...]:
        return tuple(self.points)

    def press(self, pick: Pick) -> None:
        self.at = pick
        if self.first is None:
            self._begin(pick.pt)
        elif min(abs(pick.pt[0] - self.first[0]), abs(pick.pt[1] - self.first[1])) > 2 * pick.pt_per_pixel:
            self._make(pick.pt)

    def _begin(self, at: Point) -> None:
        self.session.need_on_sheet([at])
        self.points = [at]

    def release(self, pick: Pick) -> None:
        if self.first is not None and math.dist(pick.raw_pt, self.first) > 20 * pick.pt_per_pixel:
            self.press(pick)

    def typed(self, text: str) -> None:
        """Make the room of a typed width and depth from the first corner towards the pointer."""
        if (place := typed_place(text, self.session)) is not None:
            if self.first is None:
                self._begin(place)
            else:
                self._make(place)
            return
        if self.first is None or self.at is None:
            take_height(self.session, text)
            return
        scale = scale_needed(self.session)
        width, depth = door_size(text)
        sheet = self.session.sheet
        dx, dy = to_shown(sheet, (self.at.pt[0] - self.first[0], self.at.pt[1] - self.first[1]))
        x, y = from_shown(sheet, (math.copysign(width, dx), math.copysign(depth, dy)))
        self._make((self.first[0] + x / scale.mx, self.first[1] + y / scale.my))

    def _make(self, to: Point) -> None:
        assert self.first is not None
        run = box_run(self.session.sheet_id, self.first, to)
        self.session.need_on_sheet(run.points_pt)
        if self.session.new_runs([run], "Trace a room"):
            self.points = []

    def readout(self) -> str:
        if self.first is None or self.at is None or (scale := self.session.scale) is None:
            return ""
        show = self.session.display
        (x0, y0), (x1, y1) = self.first, self.at.pt
        width, depth = (abs(v) for v in to_shown(self.session.sheet, ((x1 - x0) * scale.mx, (y1 - y0) * scale.my)))
        return f"{show.length(width)} × {show.length(depth)}  floor {show.area(width * depth)}"

    def preview(self) -> tuple[Shape, ...]:
        if self.first is None or self.at is None:
            return ()
        return (box_shape(self.first, self.at.pt, colour=PREVIEW, width=2, dash=(6, 4)),)


class ZoomTool(Tool):
    """Drag a box to see it as large as the window; then the tool before comes back."""

    id = "zoom-box"
    snaps = False

    def __init__(self, session: Session, done: Callable[[tuple[Point, ...]], None]) -> None:
        super().__init__(session)
        self._done = done
        self.start: Point | None = None

    def prompt(self) -> str:
        return "Drag a box over what you want to see larger · Escape: stop"

    def press(self, pick: Pick) -> None:
        self.at, self.start = pick, pick.raw_pt

    def release(self, pick: Pick) -> None:
        start, self.start = self.start, None
        if start is not None and abs(pick.raw_pt[0] - start[0]) > 4 * pick.pt_per_pixel:
            self._done((start, pick.raw_pt))

    def preview(self) -> tuple[Shape, ...]:
        if self.start is None or self.at is None:
            return ()
        return (box_shape(self.start, self.at.raw_pt, colour=PREVIEW, width=2),)
