"""Tools whose work are points: rectangular rooms, zooming to a box, known dimensions, regions of another scale."""

from __future__ import annotations

import math
from collections.abc import Callable

from takeoff import actions
from takeoff.errors import InputError
from takeoff.gui.canvas.view import Shape, box_shape
from takeoff.gui.job_shapes import dimension_shapes
from takeoff.gui.session import Session
from takeoff.gui.tools import tool
from takeoff.job.job import calibration_key
from takeoff.job.reshape import free_id
from takeoff.job.sketch import box_run
from takeoff.model.plan import Calibration, KnownDimension, Point
from takeoff.units import door_size, parse_length


class BoxTool(tool.PointsTool):
    """Trace a rectangular room by two opposite corners."""

    id = "box"

    @property
    def first(self) -> Point | None:
        """The first corner, where it is placed."""
        return self.points[0] if self.points else None

    def prompt(self) -> str:
        if self.first is None:
            return tool.idle_prompt(self.session, "click where two walls of a rectangular room meet, on the inside")
        return "Click the opposite point, or type width x depth + Enter."

    def own_points(self) -> tuple[Point, ...]:
        return tuple(self.points)

    def press(self, pick: tool.Pick) -> None:
        self.at = pick
        if self.first is None:
            self._begin(pick.pt)
        elif min(abs(pick.pt[0] - self.first[0]), abs(pick.pt[1] - self.first[1])) > 2 * pick.pt_per_pixel:
            self._make(pick.pt)

    def _begin(self, at: Point) -> None:
        self.session.need_on_sheet([at])
        self.points = [at]

    def release(self, pick: tool.Pick) -> None:
        if self.first is not None and math.dist(pick.raw_pt, self.first) > 20 * pick.pt_per_pixel:
            self.press(pick)

    def typed(self, text: str) -> None:
        """Make the room of a typed width and depth from the first corner towards the pointer."""
        if (place := tool.typed_place(text, self.session)) is not None:
            if self.first is None:
                self._begin(place)
            else:
                self._make(place)
            return
        if self.first is None or self.at is None:
            tool.take_height(self.session, text)
            return
        scale = tool.scale_needed(self.session)
        width, depth = door_size(text)
        sheet = self.session.sheet
        dx, dy = tool.to_shown(sheet, (self.at.pt[0] - self.first[0], self.at.pt[1] - self.first[1]))
        x, y = tool.from_shown(sheet, (math.copysign(width, dx), math.copysign(depth, dy)))
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
        width, depth = (abs(v) for v in tool.to_shown(self.session.sheet, ((x1 - x0) * scale.mx, (y1 - y0) * scale.my)))
        return f"{show.length(width)} × {show.length(depth)}  floor {show.area(width * depth)}"

    def preview(self) -> tuple[Shape, ...]:
        if self.first is None or self.at is None:
            return ()
        return (box_shape(self.first, self.at.pt, colour=tool.PREVIEW, width=2, dash=(6, 4)),)


class ZoomTool(tool.Tool):
    """Drag a box to see it as large as the window; then the tool before comes back."""

    id = "zoom-box"
    snaps = False

    def __init__(self, session: Session, done: Callable[[tuple[Point, ...]], None]) -> None:
        super().__init__(session)
        self._done = done
        self.start: Point | None = None

    def prompt(self) -> str:
        return "Drag a box over what you want to see larger · Escape: stop"

    def press(self, pick: tool.Pick) -> None:
        self.at, self.start = pick, pick.raw_pt

    def release(self, pick: tool.Pick) -> None:
        start, self.start = self.start, None
        if start is not None and abs(pick.raw_pt[0] - start[0]) > 4 * pick.pt_per_pixel:
            self._done((start, pick.raw_pt))

    def preview(self) -> tuple[Shape, ...]:
        if self.start is None or self.at is None:
            return ()
        return (box_shape(self.start, self.at.raw_pt, colour=tool.PREVIEW, width=2),)


class ScaleTool(tool.PointsTool):
    """Pick the ends of a known dimension and type its length."""

    id = "scale"
    wants_marks = True

    def __init__(self, session: Session, region: str | None = None) -> None:
        super().__init__(session)
        self.region = region

    def prompt(self) -> str:
        if not self.points:
            if (held := self._held()) is not None:
                check = "check it by a printed dimension" if len(held.dimensions) < 2 else "give another dimension"
                if held.open_words:
                    return f"The scale is not sure, and why is in the panel: {check}, click its one end."
                return f"The scale is set. Trace rooms (G: by a click, T: by hand), or {check}: click its one end."
            return "Click one end of a known dimension. The longer it is, the better."
        if len(self.points) == 1:
            return "Click its other end (Shift holds it level or upright)."
        example = "24'-6\"" if self.session.display.system == "imperial" else "7468 or 7.468 m"
        return f"Type its true length, such as {example}, and press Enter."

    def _dimensions(self) -> tuple[KnownDimension, ...]:
        return () if (held := self._held()) is None else held.dimensions

    def _held(self) -> Calibration | None:
        return self.session.job.calibrations.get(calibration_key(self.session.sheet_id, self.region))

    def snap_from(self) -> Point | None:
        return self.points[0] if len(self.points) == 1 else None

    def press(self, pick: tool.Pick) -> None:
        """Take an end; a third press starts anew."""
        self.at = pick
        to = self._target(pick)
        if len(self.points) == 2:
            self.points = []
        if self.points and math.dist(to, self.points[0]) < 1e-6:
            return
        self.points.append(to)

    def _target(self, pick: tool.Pick) -> Point:
        if len(self.points) != 1 or (pick.snap and not pick.is_shift):
            return pick.pt
        return tool.locked(self.points[0], pick.pt, math.pi / 2, math.pi if pick.is_shift else tool.LOCK / 3)

    def typed(self, text: str) -> None:
        if len(self.points) < 2:
            raise InputError("two ends are needed first", remedy="Click both ends of a known dimension, then type.")
        length = parse_length(text, system=self.session.display.system)
        known = KnownDimension(start_pt=self.points[0], end_pt=self.points[1], length=length)
        if self.set_dimensions((*self._dimensions(), known)):
            self.points = []

    def set_dimensions(self, dimensions: tuple[KnownDimension, ...]) -> bool:
        """Calibrate with exactly these dimensions."""
        s = self.session
        region = s.job.regions.get(self.region) if self.region else None
        told = f"Scale set from {len(dimensions)} dimension{'s' * (len(dimensions) > 1)}"
        return s.act(told, actions.set_scale_points, s.sheet, dimensions, region=region)

    def readout(self) -> str:
        if self.at is None or not self.points:
            return ""
        start, end, scale = self.points[0], self._end(self.at), self._held()
        if scale is None:
            return f"{math.dist(start, end) / 72:.2f} in on paper"
        return f"{self.session.display.length(tool.in_metres(scale, start, end))} by the scale so far"

    def preview(self) -> tuple[Shape, ...]:
        if not self.points or self.at is None:
            return ()
        return tuple(dimension_shapes(self.points[0], self._end(self.at), "?"))

    def _end(self, at: tool.Pick) -> Point:
        return self.points[1] if len(self.points) == 2 else self._target(at)


class RegionTool(tool.PointsTool):
    """Outline a detail that has a scale of its own."""

    id = "region"

    def prompt(self) -> str:
        if len(self.points) < 3:
            return "Scale region: click points around a detail that has another scale."
        return "Click more points, or type the detail's written scale (1:20, 3/4\" = 1'-0\") + Enter."

    def press(self, pick: tool.Pick) -> None:
        self.at = pick
        self.points.append(pick.pt)

    def typed(self, text: str) -> None:
        """Take the written scale: the outline becomes a region with it."""
        if len(self.points) < 3:
            raise InputError("the outline needs three points or more", remedy="Click points around the detail.")
        s = self.session
        name = free_id(s.job.regions, "detail")
        region = actions.make_region(s.job, s.sheet, tuple(self.points), name)
        if s.act(f"Scale region {name} set to {text.strip()}", actions.set_scale_note, s.sheet, text, region=region):
            self.points = []

    def preview(self) -> tuple[Shape, ...]:
        if not self.points or self.at is None:
            return ()
        return (Shape("polygon", (*self.points, self.at.pt), tool.PREVIEW, 2, (6, 4)),)
