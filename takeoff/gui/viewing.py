"""What is seen on the plan: which sheet, and what lies over it."""

from __future__ import annotations

from takeoff.gui.host import PlanHost, session_of
from takeoff.gui.job_shapes import job_shapes
from takeoff.gui.session import Selection, Session
from takeoff.gui.tool_hand import has_scale
from takeoff.model.open_points import OpenPoint
from takeoff.model.plan import Sheet

SCALING = ("scale", "region")
"""Tools with which the known dimensions of the sheet are seen."""


ROUND_PT, WALL_PT = 72.0, 220.0
"""Sheet points that are seen to each side of an opening, and of a wall or room, that is gone to."""


class Viewing:
    """Shows sheets on the plan and what lies over them."""

    def __init__(self, host: PlanHost) -> None:
        self._host = host
        self._shown: tuple[str, int] | None = None
        self._scale = 0.0

    # -- sheets --------------------------------------------------------------------------------------------------

    def choose_sheet(self, id: int) -> None:
        session = session_of(self._host)
        if self._host.tool is not None and id != session.sheet_id:
            self._host.guard(self._host.tool.put_down)  # before the sheet of what is under way is left
        session.show_sheet(id)
        if not has_scale(session):
            self._host.use_tool("scale")

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
        if where.at_pt is not None:
            x, y = where.at_pt
            near = ROUND_PT if opening or not runs else WALL_PT
            host.canvas.fit_points(((x - near, y - near), (x + near, y + near)))

    def forget_sheet(self) -> None:
        self._shown = None

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
