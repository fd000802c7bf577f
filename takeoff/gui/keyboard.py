"""Keys: to the tool first, then to the table of commands; digits begin a length in the entry line."""

from __future__ import annotations

import tkinter
from collections.abc import Callable

from takeoff.gui.commands import COMMANDS
from takeoff.gui.host import Command, Host
from takeoff.gui.widgets import ctk

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
