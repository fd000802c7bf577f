"""The menus, made from the table of commands."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from functools import partial
from typing import Any

from takeoff.gui.commands import COMMANDS, command
from takeoff.gui.host import Command, Host
from takeoff.gui.widgets.theme import THEME

POPUP = (
    "delete",
    "flip",
    "both",
    "duplicate",
    "mirror-x",
    "mirror-y",
    "split",
    "join",
    "copy-opening",
    "fit-selection",
)
"""Commands of the menu under the right button."""


class MenuBar(tkinter.Menu):
    """The bar of menus; what cannot be done now is grey."""

    def __init__(self, host: Host, run: Callable[[Command], None]) -> None:
        super().__init__(host.root, tearoff=False)
        self._host, self._run = host, run
        self._entries: list[tuple[tkinter.Menu, int, Command]] = []
        self._menus: dict[str, tkinter.Menu] = {}
        self._look: dict[str, Any] = {}
        for c in COMMANDS:
            if c.menu not in self._menus:
                made = tkinter.Menu(self, tearoff=False, postcommand=self._enable)
                self._menus[c.menu] = made
                self.add_cascade(label=c.menu, menu=made, underline=0)
            menu = self._menus[c.menu]
            menu.add_command(label=c.label, accelerator=c.key_text, command=partial(run, c))
            index = menu.index("end")
            assert index is not None
            self._entries.append((menu, index, c))

    def _enable(self) -> None:
        for menu, index, c in self._entries:
            menu.entryconfigure(index, state="normal" if c.is_enabled(self._host) else "disabled")

    def set_look(self, *, is_dark: bool, size: float) -> None:
        """Take colours and the size of text."""
        self._look = {
            "background": THEME.of("card", is_dark),
            "foreground": THEME.of("text", is_dark),
            "activebackground": THEME.of("chosen", is_dark),
            "activeforeground": THEME.of("text", is_dark),
            "disabledforeground": THEME.of("disabled", is_dark),
            "borderwidth": 0,
            "font": ("TkDefaultFont", -round(13 * size)),
        }
        for menu in (self, *self._menus.values()):
            menu.configure(**self._look)

    def pop_up(self, x: int, y: int) -> None:
        """Show the menu of what is selected at a place of the screen."""
        menu = tkinter.Menu(self, tearoff=False)
        menu.configure(**self._look)
        for id in POPUP:
            c = command(id)
            menu.add_command(
                label=c.label,
                accelerator=c.key_text,
                command=partial(self._run, c),
                state="normal" if c.is_enabled(self._host) else "disabled",
            )
        menu.bind("<Escape>", lambda _e: menu.unpost())
        menu.tk_popup(x, y)
