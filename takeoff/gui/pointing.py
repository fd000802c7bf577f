"""The pointer on the plan: snapped, handed to the tool, with the tool's preview, prompt and figures shown."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from textwrap import wrap
from typing import Any

from takeoff.gui.canvas.shape import Shape, plate
from takeoff.gui.canvas.small_pictures import Loupe
from takeoff.gui.desk_frame import DeskFrame
from takeoff.gui.host import PlanHost
from takeoff.gui.job_shapes import run_under
from takeoff.gui.keyboard import CONTROL, SHIFT
from takeoff.gui.session import Selection
from takeoff.gui.tools.scale_tool import ScaleTool
from takeoff.gui.tools.tool import Pick, Tool, shown_place
from takeoff.model.plan import Point

MENU_REACH = 8.0
"""Pixels from a wall within which the right button is on it."""
LABEL_LETTERS = 56
"""Letters in a line of the figures by the pointer; what is longer goes on below."""
SNAP_COLOUR = "#CC79A7"
BESIDE_PX = 14
"""Pixels that the figures by the pointer keep from it, so that the mark of a snap stays seen."""


class Pointing:
    """Takes what the canvas tells of the pointer; ``pop_up`` shows the menu at a place on the screen."""

    def __init__(self, host: PlanHost, desk: DeskFrame, pop_up: Callable[[int, int], None]) -> None:
        self._host, self._desk, self._canvas = host, desk, desk.canvas
        self._pop_up = pop_up
        self._loupe = Loupe(desk.canvas)
        self._said: tuple[str, str, bool] | None = None
        c = desk.canvas
        c.on_press = partial(self._told, lambda tool, pick: tool.press(pick))
        c.on_release = partial(self._told, lambda tool, pick: tool.release(pick))
        c.on_double = partial(self._told, lambda tool, pick: tool.double(pick))
        c.on_drag = partial(self._moved, lambda tool, pick: tool.drag(pick))
        c.on_move = partial(self._moved, lambda tool, pick: tool.move(pick))
        c.on_menu = self._menu_at

    def _pick(self, pt: Point, event: Any) -> Pick:
        tool, snapper = self._host.tool, self._host.snapper
        scale = self._canvas.pt_per_pixel()
        snapped, kind = pt, ""
        if snapper is not None and tool is not None and tool.snaps:
            wanted: dict[str, Any] = {"from_point": tool.snap_from(), "at_marks": tool.wants_marks}
            snapped, kind = snapper.snap(pt, scale, own=tool.own_points(), **wanted)
        held = {"is_shift": bool(int(event.state) & SHIFT), "is_control": bool(int(event.state) & CONTROL)}
        return Pick(pt=snapped, raw_pt=pt, snap=kind, pt_per_pixel=scale, **held)

    def _told(self, what: Callable[[Tool, Pick], None], pt: Point, event: Any) -> None:
        """Tell the tool that the button was pressed, let go of or pressed twice; a refusal is told."""
        tool = self._host.tool
        if tool is not None:
            self._host.guard(lambda: what(tool, self._pick(pt, event)))
            if isinstance(tool, ScaleTool) and len(tool.points) == 2:
                self._desk.entry.focus_set()

    def _moved(self, what: Callable[[Tool, Pick], None], pt: Point, event: Any) -> None:
        """Tell the tool where the pointer goes, and show it."""
        if self._host.tool is not None:
            what(self._host.tool, self._pick(pt, event))
            self._show_pointer(pt)

    def _show_pointer(self, pt: Point) -> None:
        session = self._host.session
        if session is None:
            return
        scale = session.scale
        text = f"{pt[0]:.1f}, {pt[1]:.1f} pt"
        if scale is not None:
            x, y = shown_place(session.sheet, scale, pt)
            text = f"{session.display.length(x)}, {session.display.length(y)}   ({text})"
        if self._host.snapper is not None and not self._host.snapper.is_ready(session.sheet):
            text = f"reading the drawing's lines for snapping …   {text}"
        self._desk.where.configure(text=text)
        self.paint()

    def paint(self) -> None:
        """Show the tool's prompt and preview, and what was last said."""
        tool, session = self._host.tool, self._host.session
        if tool is None or session is None:
            self._loupe.follow(None)
            return
        self._loupe.follow(tool.at.pt if tool.wants_marks and tool.at is not None else None)
        self._canvas.show_cursor(tool.cursor)
        said = (tool.prompt(), session.message, session.is_refusal)
        if said != self._said:
            self._said = said
            self._desk.prompt.configure(text=said[0].replace(": ", ":\N{NO-BREAK SPACE}"))  # a key with what it does
            self._desk.show_message(said[1], is_refusal=said[2])
        shapes: list[Shape] = list(tool.preview())
        at = tool.at
        if at is not None:
            if at.snap:
                shapes.append(Shape("dot", (at.pt,), SNAP_COLOUR, 3, size=14))
            if label := "   ".join(t for t in (tool.readout(), at.snap) if t):
                shapes.append(self._label(at.raw_pt, label))
        self._canvas.set_preview(shapes)

    def _label(self, pt: Point, text: str) -> Shape:
        """Put figures beside the pointer: clear of its mark, on the side where they have room."""
        x, y = self._canvas.to_pixel(pt)
        across, e_w = (-BESIDE_PX, "e") if x > 0.6 * self._canvas.winfo_width() else (BESIDE_PX, "w")
        down, n_s = (BESIDE_PX, "n") if y < 2 * BESIDE_PX else (-BESIDE_PX, "s")
        place, anchor = self._canvas.to_sheet(x + across, y + down), n_s + e_w
        lines = "\n".join(f" {line} " for line in wrap(text, LABEL_LETTERS))
        return plate(place, lines, back="#FFF4C2", size=12, anchor=anchor)

    def _menu_at(self, pt: Point, event: Any) -> None:
        """Show the menu of what is selected; a wall that is pressed and not selected is selected first."""
        session = self._host.session
        if session is None:
            return
        under = run_under(session, pt, MENU_REACH * self._canvas.pt_per_pixel())
        if under is not None and under[0].id not in session.selection.runs:
            session.select(Selection(runs=(under[0].id,)))
        self._pop_up(event.x_root, event.y_root)
