"""The tool in hand: which can be taken now, made when it is, put down when another is; and what is seen on the plan."""

from __future__ import annotations

from collections.abc import Callable

from takeoff import actions
from takeoff.errors import TakeoffError
from takeoff.gui.canvas.view import box_round
from takeoff.gui.host import Host, session_of
from takeoff.gui.job_shapes import job_shapes
from takeoff.gui.reading_process import TraceReader
from takeoff.gui.session import Selection, Session
from takeoff.gui.tools.opening_tool import OpeningTool
from takeoff.gui.tools.pick_tool import PickTool
from takeoff.gui.tools.points_tools import BoxTool, RegionTool, ScaleTool, ZoomTool
from takeoff.gui.tools.room_tool import RoomTool
from takeoff.gui.tools.style_tool import StyleTool
from takeoff.gui.tools.tool import Tool
from takeoff.gui.tools.trace_tool import MeasureTool, TraceTool
from takeoff.gui.widgets import Later
from takeoff.gui.wording import finding_of
from takeoff.model.open_points import OpenPoint
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.scales import ratio_text
from takeoff.units import in_units

TOOLS: dict[str, type[Tool]] = {
    t.id: t for t in (PickTool, TraceTool, BoxTool, StyleTool, ScaleTool, RegionTool, MeasureTool)
}
NEED_SCALE = ("trace", "room", "box", "opening", "measure")
"""Tools that are of no use on a sheet without a scale."""
LOOK_MS = 80
"""Between two looks whether a drawing has been read."""


class ToolHand:
    """Takes tools for the window, and repaints when what one waits for is there; ``took`` is called with their ids."""

    def __init__(self, host: Host, took: Callable[[str], None]) -> None:
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


SCALING = ("scale", "region")
"""Tools with which the known dimensions of the sheet are seen."""


ROUND_PT, AROUND = 72.0, 0.25
"""What is seen to each side of what is gone to: sheet points at the least, and a share of a wall's or room's size."""


READ_MS = 200
"""Time that a sheet is seen for before its scale is read, so that sheets can be leafed through."""
MOST_PATHS = 20_000
"""Paths of a sheet up to which its scale is read at once, in a second or two (measured on the sample plans)."""


class Viewing:
    """Shows sheets on the plan and what lies over them."""

    def __init__(self, host: Host) -> None:
        self._host = host
        self._shown: tuple[str, int] | None = None
        self._scale = 0.0
        self._reading = Later(host.root, self._read_scale)

    # -- sheets --------------------------------------------------------------------------------------------------

    def choose_sheet(self, id: int) -> None:
        session = session_of(self._host)
        if self._host.tool is not None and id != session.sheet_id:
            self._host.guard(self._host.tool.put_down)  # before the sheet of what is under way is left
        session.show_sheet(id)
        if not has_scale(session):
            self._host.use_tool("scale")
            self._reading.begin_anew(READ_MS)

    def _read_scale(self) -> None:
        """Set the scale of the sheet from what it prints, once; where that is not plain, leave it to a person."""
        session = self._host.session
        if session is None or has_scale(session) or session.sheet_id in session.tried or self._host.review is not None:
            return
        sheet, told = session.sheet, session.message
        session.tried.add(sheet.id)
        if sheet.kind != "vector":
            return
        if (sheet.paths or 0) > MOST_PATHS:
            why = "This sheet has very many lines, so its scale is not looked for by itself: have it read in the panel"
            session.tell(f"{told} {why}, or click both ends of a printed dimension.".strip())
            return
        try:
            made = actions.set_scale_read(session.store, sheet, recognises=False)
        except TakeoffError as error:
            do = "No scale could be read: click both ends of a printed dimension and type its length."
            session.tell(f"{told} {finding_of(error)} {do}".strip())
            return
        words = [in_units(word, session.display) for calibration in made for word in calibration.open_words]
        session.attempt(lambda: None, "")
        ratio = ratio_text((made[0].mx * made[0].my) ** 0.5)
        if words:
            session.tell(f"Scale {ratio} was read, and it is not sure: {'. '.join(words)}", is_refusal=True)
            return
        self._host.use_tool("pick")
        self._host.canvas.refit()  # the panel folds, and nobody has begun to work
        do = "Press G and click inside a room to trace it."
        session.tell(f"{told} Scale {ratio}, as the sheet prints it. {do}".strip())

    def go_to(self, point: OpenPoint) -> None:
        """Show the place of an open point: its sheet, its wall or opening selected, and the tool that settles it."""
        host, where, session = self._host, point.where, session_of(self._host)
        if where.sheet is not None and where.sheet in session.job.sheets:
            session.show_sheet(where.sheet)
        is_room = point.key.startswith("room:")
        host.use_tool("scale" if point.kind == "scale" else "room" if is_room else "pick")
        runs = [run.id for run in session.job.runs.values() if where.room is not None and run.room == where.room]
        if where.run is not None and where.run in session.job.runs:
            runs = [where.run]
        opening = None if where.opening is None or where.run is None else (where.run, where.opening)
        session.select(Selection(runs=tuple(runs), opening=opening))
        session.looked_at = where.at_pt if where.sheet == session.sheet_id else None
        if runs and not opening:
            x0, y0, x1, y1 = box_round([pt for id in runs for pt in session.job.runs[id].points_pt])
        elif where.at_pt is not None:
            x0, y0, x1, y1 = *where.at_pt, *where.at_pt
        else:
            return
        near = max(AROUND * max(x1 - x0, y1 - y0), ROUND_PT)
        host.canvas.fit_points(((x0 - near, y0 - near), (x1 + near, y1 + near)))
        self.repaint()

    def forget_sheet(self) -> None:
        self._shown = None
        self._reading.stop()

    def show_sheet(self, session: Session) -> None:
        """Put the session's sheet on the plan, unless it is there or a new issue is under review."""
        host = self._host
        key = (str(session.path), session.sheet_id)
        if host.review is not None or key == self._shown:
            return
        self._shown = key
        sheet = session.sheet
        host.canvas.show_sheet(session.store.source(sheet.source), sheet, session.looks.get(sheet.id))
        self._prepare_snaps(sheet)
        if host.tool is not None:
            host.guard(host.tool.put_down)

    def _prepare_snaps(self, sheet: Sheet) -> None:
        if self._host.snapper is not None:
            self._host.snapper.prepare(sheet)

    def show_layers(self, sheet: Sheet) -> None:
        session = session_of(self._host)
        if self._host.snapper is not None:
            self._host.snapper.forget(sheet)
        if sheet.id == session.sheet_id:
            self._host.canvas.set_layers(session.looks.get(sheet.id))
            self._prepare_snaps(sheet)
        self.repaint()

    # -- what lies over the sheet --------------------------------------------------------------------------------

    def repaint(self) -> None:
        host = self._host
        if host.review is not None:
            host.canvas.set_shapes(host.review.shapes())
        elif host.session is not None:
            self._scale = host.canvas.pt_per_pixel()
            is_scaling = host.tool is not None and host.tool.id in SCALING
            host.canvas.set_shapes(job_shapes(host.session, self._scale, with_dimensions=is_scaling))

    def view_changed(self, _view: object) -> None:
        """Draw anew what depends on the scale of the view."""
        scale = self._host.canvas.pt_per_pixel()
        if self._host.session is not None and abs(scale / (self._scale or 1.0) - 1.0) > 1e-6:
            self.repaint()
