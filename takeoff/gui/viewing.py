"""What is seen: which sheet, how large, in what colours and size of text, and what is folded away."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from takeoff.gui.job_shapes import job_shapes, polyline
from takeoff.gui.session import Session
from takeoff.gui.tool_hand import has_scale

if TYPE_CHECKING:
    from takeoff.gui.app import DeskWindow

LOOKS = {"dark": 0.0, "larger": 0.25, "smaller": -0.25}
"""Commands that change the look, with what each adds to the size of text."""


SCALING = ("scale", "region")
"""Tools with which the known dimensions of the sheet are seen."""


class Viewing:
    """Shows sheets on the window's plan and what lies over them, and does the commands of the menu View."""

    def __init__(self, window: DeskWindow) -> None:
        self._window = window
        self._shown: tuple[str, int] | None = None
        self._scale = 0.0

    def do(self, what: str) -> None:
        """Do a command."""
        window = self._window
        if what in LOOKS:
            p = window.preferences
            size = min(max(p.text_size + LOOKS[what], 1.0), 2.0)
            window.remember(replace(p, is_dark=p.is_dark != (what == "dark"), text_size=size))
            window.take_look()
        elif window.session is not None:
            self._do_with_job(window.session, what)

    def _do_with_job(self, session: Session, what: str) -> None:
        window, canvas = self._window, self._window.canvas
        if what == "fit-sheet":
            canvas.fit_sheet()
        elif what == "fit-selection":
            points = [p for run in session.selected_runs() if run.sheet == session.sheet_id for p in polyline(run)]
            if points:
                canvas.fit_points(tuple(points))
        elif what == "zoom-box":
            window.use_tool("zoom-box")
        elif what in ("zoom-in", "zoom-out"):
            canvas.zoom_by(1.25 if what == "zoom-in" else 0.8)
        elif what in ("next-sheet", "previous-sheet"):
            ids = sorted(session.job.sheets)
            at = ids.index(session.sheet_id) + (1 if what == "next-sheet" else -1)
            if 0 <= at < len(ids):
                self.choose_sheet(ids[at])
        elif what in ("sheets", "side", "figures"):
            window.desk.toggle(what)  # type: ignore[arg-type]
        elif what == "tall":
            window.desk.toggle_tall()

    # -- sheets --------------------------------------------------------------------------------------------------

    def choose_sheet(self, id: int) -> None:
        """Show a sheet; one without a scale is shown with the tool to set it."""
        session = self._window.session
        if session is not None:
            session.show_sheet(id)
            if not has_scale(session):
                self._window.use_tool("scale")

    def forget_sheet(self) -> None:
        """Have the sheet shown anew at the next change."""
        self._shown = None

    def show_sheet(self, session: Session) -> None:
        """Put the session's sheet on the plan, unless it is there or a new issue is under review."""
        window = self._window
        key = (str(session.path), session.sheet_id)
        if window.review is not None or key == self._shown:
            return
        self._shown = key
        sheet = session.sheet
        window.canvas.show_sheet(session.store.source(sheet.source), sheet)
        if window.snapper is not None:
            window.guard(partial(window.snapper.prepare, sheet))
        if window.tool is not None:
            window.tool.cancel()

    # -- what lies over the sheet --------------------------------------------------------------------------------

    def repaint(self) -> None:
        """Draw what lies over the sheet anew."""
        window = self._window
        if window.review is not None:
            window.canvas.set_shapes(window.review.shapes())
        elif window.session is not None:
            self._scale = window.canvas.pt_per_pixel()
            is_scaling = window.tool is not None and window.tool.id in SCALING
            window.canvas.set_shapes(job_shapes(window.session, self._scale, with_dimensions=is_scaling))

    def view_changed(self, _view: object) -> None:
        """Draw anew what depends on the scale of the view."""
        scale = self._window.canvas.pt_per_pixel()
        if self._window.session is not None and abs(scale / (self._scale or 1.0) - 1.0) > 1e-6:
            self.repaint()
