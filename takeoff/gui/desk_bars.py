"""The bar of tools above the plan, the menus, and the plate over the plan that says what was refused."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from functools import partial
from typing import Any, Literal

from takeoff.gui.commands import COMMANDS, command
from takeoff.gui.host import Command, Host
from takeoff.gui.widgets import THEME, Later, bold, button, clear, colour, ctk, fitted, label, light, show_if, text_size

BANNER_MS = 9000
"""How long a refusal stays over the plan."""
BANNER_LINES = 4.8
"""Lines of a refusal over the plan; what is longer ends in an ellipsis."""
TEXT_ALONE = 10
"""Width of a button that is as wide as its text needs."""


FIRST = 6
"""Tools that stand in the second row of a tiny window; the rest stand beside undo and redo."""


def command_button(parent: tkinter.Misc, c: Command, run: Callable[[Command], None], **look: Any) -> ctk.CTkButton:
    """A button that runs a command, with what it is for and its key as a hint."""
    return button(parent, c.label.removesuffix("…"), partial(run, c), hint=f"{c.help} Key: {c.key_text}", **look)


class ToolBar(ctk.CTkFrame):
    """The job's name, a button for each tool, and undo, redo and reports at the right."""

    def __init__(self, parent: tkinter.Misc, host: Host, run: Callable[[Command], None]) -> None:
        super().__init__(parent, fg_color=THEME.card, corner_radius=0)
        self._host = host
        self.grid_columnconfigure(1, weight=1)
        self.job_name = label(self, font=bold(14), width=150)
        self.job_name.grid(row=0, column=0, padx=10, pady=5, sticky="w")
        self._rows = (clear(self), clear(self))
        self._rows[0].grid(row=0, column=1, sticky="w")
        self._rows[1].grid(row=1, column=0, columnspan=5, sticky="w", padx=6, pady=(0, 4))
        self.tools: dict[str, ctk.CTkButton] = {}
        for c in (c for c in COMMANDS if c.id.startswith("tool-")):
            self.tools[c.id.removeprefix("tool-")] = command_button(self, c, run)
        right = clear(self)
        right.grid(row=0, column=2, sticky="e")
        self._buttons: dict[str, ctk.CTkButton] = {}
        for id in ("reports", "redo", "undo"):
            made = command_button(right, command(id), run)
            made.pack(side="right", padx=(2, 8 if id == "reports" else 2))
            self._buttons[id] = made

    def fit(self, *, is_narrow: bool, is_tiny: bool) -> None:
        """Leave out what there is no room for: the job's name and the tools' keys; a tiny window has a second row."""
        show_if(self.job_name, not is_narrow)
        show_if(self._rows[1], is_tiny)
        for i, (id, made) in enumerate(self.tools.items()):
            made.pack(in_=self._rows[is_tiny and i < FIRST], side="left", padx=2)
            c = command(f"tool-{id}")
            text = c.label if is_narrow else f"{c.label}  {c.key_text}"
            width = TEXT_ALONE if is_narrow else 7 * len(text) + 14
            if (made.cget("text"), made.cget("width")) != (text, width):
                made.configure(text=text, width=width)

    def mark_tool(self, id: str) -> None:
        """Mark the tool that is in hand."""
        for name, made in self.tools.items():
            light(made, is_on=name == id)

    def mark_steps(self) -> None:
        """Show whether there is anything to undo or redo."""
        for id in ("undo", "redo"):
            state = _state(command(id), self._host)
            if self._buttons[id].cget("state") != state:
                self._buttons[id].configure(state=state)


def _state(c: Command, host: Host) -> Literal["normal", "disabled"]:
    return "normal" if c.is_enabled(host) else "disabled"


class Banner(ctk.CTkLabel):
    """A plate over the plan with what was refused; a click or a while takes it away."""

    def __init__(self, parent: tkinter.Misc) -> None:
        ground = {"fg_color": THEME.refuse, "corner_radius": 4, "padx": 10, "pady": 6}
        super().__init__(parent, text="", justify="left", text_color=THEME.card, **ground)
        self._later = Later(self, self.hide)
        self.bind("<Button-1>", lambda _e: self.hide())

    def show(self, text: str, *, over: tkinter.Misc) -> None:
        """Say something over the plan."""
        wrap = max(int(0.8 * over.winfo_width() / text_size()), 160)
        self.configure(text=fitted(text, BANNER_LINES * wrap), wraplength=wrap)
        self.place(in_=over, relx=1.0, x=-8, y=6, anchor="ne")
        self.tkraise()
        self._later.begin_anew(BANNER_MS)

    def hide(self) -> None:
        """Take it away."""
        self._later.stop()
        self.place_forget()

    def destroy(self) -> None:
        """Take it away for good; nothing waits any more."""
        self.hide()
        super().destroy()


POPUP = (
    *("delete", "flip", "both", "duplicate", "mirror-x", "mirror-y"),
    *("split", "join", "copy-opening", "fit-selection"),
)
"""Commands of the menu under the right button."""


class MenuBar(tkinter.Menu):
    """The bar of menus; what cannot be done now is grey."""

    def __init__(self, host: Host, run: Callable[[Command], None]) -> None:
        super().__init__(host.root, tearoff=False)
        self._host, self._run = host, run
        self._menus: dict[str, tkinter.Menu] = {}
        self._look: dict[str, Any] = {}
        for c in COMMANDS:
            if c.menu not in self._menus:
                menu = self._menus[c.menu] = tkinter.Menu(
                    self, tearoff=False, postcommand=partial(self._enable, c.menu)
                )
                self.add_cascade(label=c.menu, menu=menu, underline=0)
            self._add(self._menus[c.menu], c)

    def _add(self, menu: tkinter.Menu, c: Command) -> None:
        state = _state(c, self._host)
        menu.add_command(label=c.label, accelerator=c.key_text, command=partial(self._run, c), state=state)

    def _enable(self, menu: str) -> None:
        for index, c in enumerate(c for c in COMMANDS if c.menu == menu):
            self._menus[menu].entryconfigure(index, state=_state(c, self._host))

    def set_look(self) -> None:
        """Take colours and the size of text."""
        text = colour("text")
        active = {"activebackground": colour("chosen"), "activeforeground": text}
        rest = {"background": colour("card"), "foreground": text, "disabledforeground": colour("disabled")}
        self._look = {**rest, **active, "borderwidth": 0, "font": "TkDefaultFont"}
        for menu in (self, *self._menus.values()):
            menu.configure(**self._look)

    def pop_up(self, x: int, y: int) -> None:
        """Show the menu of what is selected at a place of the screen."""
        menu = tkinter.Menu(self, tearoff=False)
        menu.configure(**self._look)
        for id in POPUP:
            self._add(menu, command(id))
        menu.bind("<Escape>", lambda _e: menu.unpost())
        menu.tk_popup(x, y)
