"""The tool in hand: which one can be taken now, made when it is, and put down when another is taken."""

from __future__ import annotations

from collections.abc import Callable

from takeoff.gui.host import PlanHost
from takeoff.gui.reading_process import TraceReader
from takeoff.gui.session import Session
from takeoff.gui.tools.box_tool import BoxTool, ZoomTool
from takeoff.gui.tools.opening_tool import OpeningTool
from takeoff.gui.tools.pick_tool import PickTool
from takeoff.gui.tools.room_tool import RoomTool
from takeoff.gui.tools.scale_tool import RegionTool, ScaleTool
from takeoff.gui.tools.style_tool import StyleTool
from takeoff.gui.tools.tool import Tool
from takeoff.gui.tools.trace_tool import MeasureTool, TraceTool
from takeoff.gui.widgets import Later
from takeoff.model.plan import Point

TOOLS: dict[str, type[Tool]] = {
    t.id: t for t in (PickTool, TraceTool, BoxTool, StyleTool, ScaleTool, RegionTool, MeasureTool)
}
NEED_SCALE = ("trace", "room", "box", "opening", "measure")
"""Tools that are of no use on a sheet without a scale."""
LOOK_MS = 80
"""Between two looks whether a drawing has been read."""


class ToolHand:
    """Takes tools for the window, and repaints when what one waits for is there; ``took`` is called with their ids."""

    def __init__(self, host: PlanHost, took: Callable[[str], None]) -> None:
        self._host, self._took = host, took
        self._reader: TraceReader | None = None
        self._looking: Later | None = None
        self._is_reading = False
        self.tool: Tool | None = None

    def open(self, reader: TraceReader) -> None:
        """Begin with a job, whose drawings this reads for tracing."""
        self._reader = reader
        self._looking = Later(self._host.canvas, self._await_reading)

    def drop(self) -> None:
        """Put the tool down and forget the job."""
        if self._looking is not None:
            self._looking.stop()
        if self.tool is not None:
            self._host.guard(self.tool.put_down)
        self.tool = self._reader = None

    def use(self, id: str) -> None:
        """Take a tool; where it can be of no use yet, the one that comes first."""
        session, before = self._host.session, self.tool
        if session is None:
            return
        if id == "zoom-box":
            if before is None or before.id != id:
                self.tool = ZoomTool(session, lambda points: self._see_box(before, points))
                self._show(self.tool)
            return
        if self._host.review is not None:
            session.tell("Take the new revision in, or put it aside first.", is_refusal=True)
            return
        if id in NEED_SCALE and not has_scale(session):
            session.tell("This sheet has no scale yet: set it first.", is_refusal=True)
            id = "scale"
        assert self._reader is not None
        if id == "room":
            self.hold(self._room_tool(session, self._reader))
        elif id == "opening":
            self.hold(OpeningTool(session, self._reader))
        else:
            self.hold(TOOLS[id](session))

    def hold(self, tool: Tool) -> None:
        before = self.tool
        if before is not None and before is not tool:
            self._host.guard(before.put_down)
        self.tool = tool
        self._show(tool)

    def _show(self, tool: Tool) -> None:
        self._took(tool.id)
        self._host.show_side()
        self._host.repaint()
        self._host.paint()

    def _room_tool(self, session: Session, reader: TraceReader) -> RoomTool:
        assert self._looking is not None
        reader.forget_faults()
        self._is_reading = True
        self._looking.begin(10)
        return RoomTool(session, reader, self._host.canvas.fit_points)

    def _see_box(self, before: Tool | None, points: tuple[Point, ...]) -> None:
        self._host.canvas.fit_points(points)
        if before is not None:
            self.hold(before)

    def _await_reading(self) -> None:
        """When the drawing has been read, have done what was pressed meanwhile, and repaint; goes on with the tool."""
        tool = self.tool
        if not isinstance(tool, RoomTool) or self._looking is None:
            return
        was_reading, self._is_reading = self._is_reading, tool.is_waiting
        if not self._is_reading and (was_reading or tool.is_holding):
            self._host.guard(tool.catch_up)
        elif self._is_reading and not was_reading:
            self._host.paint()
        self._looking.begin(LOOK_MS)


def has_scale(session: Session) -> bool:
    """Tell whether anything on the sheet that is shown can be measured."""
    return session.scale is not None or any(r.sheet == session.sheet_id for r in session.job.regions.values())
