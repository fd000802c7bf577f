"""The tool in hand: which one can be taken now, made when it is."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from takeoff.gui.reading_process import TraceReader
from takeoff.gui.session import Session
from takeoff.gui.tools.opening_tool import OpeningTool
from takeoff.gui.tools.pick_tool import PickTool
from takeoff.gui.tools.review_tool import ReviewTool
from takeoff.gui.tools.room_tool import RoomTool
from takeoff.gui.tools.scale_tool import RegionTool, ScaleTool
from takeoff.gui.tools.tool import Tool
from takeoff.gui.tools.trace_tool import BoxTool, TraceTool
from takeoff.gui.tools.zoom_tool import ZoomTool
from takeoff.model.plan import Point

if TYPE_CHECKING:
    from takeoff.gui.app import DeskWindow

TOOLS: dict[str, type[Tool]] = {t.id: t for t in (PickTool, TraceTool, BoxTool, OpeningTool, ScaleTool, RegionTool)}
NEED_SCALE = ("trace", "room", "box", "opening")
"""Tools that are of no use on a sheet without a scale."""
LOOK_MS = 80
"""Between two looks whether a drawing has been read."""


class ToolHand:
    """Takes tools for the window, and repaints when what one waits for is there."""

    def __init__(self, window: DeskWindow) -> None:
        self._window = window
        self._reader: TraceReader | None = None
        self._job: str | None = None
        self._is_reading = False
        self.tool: Tool | None = None

    def open(self, reader: TraceReader) -> None:
        """Begin with a job, whose drawings this reads for tracing."""
        self._reader = reader

    def drop(self) -> None:
        """Put the tool down and forget the job."""
        if self._job is not None:
            self._window.after_cancel(self._job)
        self.tool = self._reader = self._job = None

    def use(self, id: str) -> None:
        """Take a tool; where it can be of no use yet, the one that comes first."""
        window, session = self._window, self._window.session
        if session is None:
            return
        if window.review is not None and id not in ("review", "zoom-box"):
            session.tell("Take the new issue in, or put it aside first.", is_refusal=True)
            return
        if id in NEED_SCALE and not has_scale(session):
            session.tell("This sheet has no scale yet: set it first.", is_refusal=True)
            id = "scale"
        if isinstance(self.tool, RoomTool):
            self.tool.cancel()
        if id not in ("pair", "zoom-box"):
            window.issue.end_pairing()
        self.tool = self._make(id, session)
        window.desk.mark_tool(id)
        window.show_side()
        window.viewing.repaint()
        window.pointing.paint()

    def _make(self, id: str, session: Session) -> Tool:
        issue = self._window.issue
        if id == "review":
            assert issue.review is not None
            return ReviewTool(session, issue.review, changed=issue.changed, blink=issue.blink, done=issue.take_in)
        if id == "pair":
            assert issue.pairing is not None
            return issue.pairing
        if id == "zoom-box":
            before = self.tool.id if self.tool is not None and self.tool.id != "zoom-box" else "pick"
            return ZoomTool(session, partial(self._see_box, before))
        if id != "room":
            return TOOLS[id](session)
        assert self._reader is not None
        self._reader.forget_faults()
        tool = RoomTool(session, self._reader, self._window.canvas.fit_points)
        self._is_reading = True
        if self._job is None:
            self._job = self._window.after(10, self._await_reading)
        return tool

    def _see_box(self, before: str, points: tuple[Point, ...]) -> None:
        self._window.canvas.fit_points(points)
        self.use(before)

    def _await_reading(self) -> None:
        """When the drawing has been read, have done what was pressed meanwhile, and repaint; goes on with the tool."""
        self._job = None
        tool = self.tool
        if not isinstance(tool, RoomTool):
            return
        was_reading, self._is_reading = self._is_reading, tool.is_waiting
        if not self._is_reading and (was_reading or tool.is_holding):
            self._window.guard(tool.catch_up)
        elif self._is_reading and not was_reading:
            self._window.pointing.paint()
        self._job = self._window.after(LOOK_MS, self._await_reading)


def has_scale(session: Session) -> bool:
    """Tell whether anything on the sheet that is shown can be measured."""
    return session.scale is not None or any(r.sheet == session.sheet_id for r in session.job.regions.values())
