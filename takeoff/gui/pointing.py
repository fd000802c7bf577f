"""Pointer and keys: to the tool first, with its preview, prompt and figures shown; then to the table of commands."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from functools import partial
from textwrap import wrap
from typing import Any

from takeoff.gui.canvas.small_pictures import Loupe
from takeoff.gui.canvas.view import Shape, plate
from takeoff.gui.commands import COMMANDS
from takeoff.gui.desk_frame import DeskFrame
from takeoff.gui.host import Command, Host
from takeoff.gui.job_shapes import run_under
from takeoff.gui.session import Selection
from takeoff.gui.tools.points_tools import ScaleTool
from takeoff.gui.tools.tool import Pick, Tool, shown_place
from takeoff.gui.widgets import ctk
from takeoff.model.plan import Point

SHIFT, CONTROL, ALT = 0x1, 0x4, 0x8
"""Bits of an event's state."""
ARROWS = ("Left", "Right", "Up", "Down")
"""Keys with names that tools may use; with Shift their name begins with ``shift-``."""


class Keyboard:
    """Takes the window's key presses and what is typed into the entry line; ``run`` runs what is enabled."""

    def __init__(self, host: Host, entry: ctk.CTkEntry, run: Callable[[Command], None]) -> None:
        self._host, self._entry, self._run = host, entry, run
        self._by_key = {key: c for c in COMMANDS for key in c.keys}
        host.root.bind("<KeyPress>", self.take)
        for kind in ("Entry", "TEntry", "Text"):
            host.root.bind_class(kind, "<Control-a>", _select_all)
        host.root.bind("<Button-1>", self._pressed, add="+")
        for key in ("<Return>", "<KP_Enter>"):
            entry.bind(key, self.take_entry)
        entry.bind("<Escape>", lambda _e: self.leave_entry())

    def is_typing(self) -> bool:
        """Whether key presses go into a text that can be changed."""
        focus = self._host.root.focus_get()
        return isinstance(focus, tkinter.Entry | tkinter.Text) and str(focus.cget("state")) == "normal"

    def _pressed(self, event: tkinter.Event[tkinter.Misc]) -> None:
        """Have keys go to the plan when something is pressed that takes no text."""
        if self.is_typing() and not isinstance(event.widget, tkinter.Entry | tkinter.Text):
            self._host.take_keys()

    def take(self, event: tkinter.Event[tkinter.Misc]) -> str | None:
        """Take a key press; "break" where it was used."""
        is_typing = self.is_typing()
        state = int(event.state)
        name = event.keysym
        if state & CONTROL:
            shift = "Shift-" if state & SHIFT and len(name) == 1 and name.isalpha() else ""
            key = f"Control-{shift}{name if shift else name.lower() if len(name) == 1 else name}"
            return None if is_typing and name.lower() in "acxvz" else self._run_found(self._by_key.get(key))
        is_function_key = name[:1] == "F" and name[1:].isdigit()
        if (is_typing and not is_function_key) or state & ALT:
            return None
        return self.take_plain(event, name, is_shift=bool(state & SHIFT))

    def take_plain(self, event: tkinter.Event[tkinter.Misc], name: str, *, is_shift: bool) -> str | None:
        """Take a key without Control or Alt."""
        tool = self._host.tool
        if tool is not None:
            if name == "Escape":
                if self._entry.get():  # of an empty one the toolkit would take away what it asks for
                    self._entry.delete(0, "end")
                if not tool.cancel() and tool.id != "pick":
                    self._host.use_tool("pick")
                self._host.paint()
                return "break"
            if name in ("Return", "KP_Enter"):
                self._host.guard(tool.finish)
                return "break"
            if name == "BackSpace":
                tool.back()
                self._host.paint()
                return "break"
            if event.char and event.char in "0123456789.'\"":
                self._entry.focus_set()
                self._entry.delete(0, "end")
                self._entry.insert(0, event.char)
                return "break"
            plain = f"shift-{name.lower()}" if is_shift and name in ARROWS else name.lower()
            if (len(name) == 1 or name in ARROWS) and tool.key(plain):
                self._host.paint()
                return "break"
        found = self._by_key.get(f"Shift-{name}") if is_shift else None
        return self._run_found(found or self._by_key.get(name if len(name) > 1 else name.lower()))

    def _run_found(self, found: Command | None) -> str | None:
        if found is None:
            return None
        self._run(found)
        return "break"

    def take_entry(self, _event: object) -> str:
        """Take what stands in the entry line; nothing finishes what is under way."""
        text = self._entry.get().strip()
        tool = self._host.tool
        if not text:
            if tool is not None:
                self._host.guard(tool.finish)
            self.leave_entry()
            return "break"
        if tool is not None and self._host.guard(lambda: tool.typed(text)):
            self.leave_entry()
        else:
            self._entry.select_range(0, "end")
        return "break"

    def leave_entry(self) -> str:
        """Empty the entry line and go back to the plan."""
        self._entry.delete(0, "end")
        self._host.canvas.focus_set()
        return "break"


def _select_all(event: tkinter.Event[tkinter.Misc]) -> str:
    if isinstance(event.widget, tkinter.Entry):
        event.widget.select_range(0, "end")
        event.widget.icursor("end")
    elif isinstance(event.widget, tkinter.Text):
        event.widget.tag_add("sel", "1.0", "end-1c")
    return "break"


MENU_REACH = 8.0
"""Pixels from a wall within which the right button is on it."""
LABEL_LETTERS = 56
"""Letters in a line of the figures by the pointer; what is longer goes on below."""
SNAP_COLOUR = "#CC79A7"
BESIDE_PX = 14
"""Pixels that the figures by the pointer keep from it, so that the mark of a snap stays seen."""


class Pointing:
    """Takes what the canvas tells of the pointer; ``pop_up`` shows the menu at a place on the screen."""

    def __init__(self, host: Host, desk: DeskFrame, pop_up: Callable[[int, int], None]) -> None:
        self._host, self._desk, self._canvas = host, desk, desk.canvas
        self._pop_up = pop_up
        self._loupe = Loupe(desk.canvas)
        self._said: tuple[str, str, bool] | None = None
        desk.canvas.on.update(
            {
                "press": partial(self._told, lambda tool, pick: tool.press(pick)),
                "release": partial(self._told, lambda tool, pick: tool.release(pick)),
                "double": partial(self._told, lambda tool, pick: tool.double(pick)),
                "drag": partial(self._moved, lambda tool, pick: tool.drag(pick)),
                "move": partial(self._moved, lambda tool, pick: tool.move(pick)),
                "menu": self._menu_at,
            }
        )

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
