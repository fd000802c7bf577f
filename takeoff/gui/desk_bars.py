"""The bar of tools above the plan, the menus, and the plate over the plan that says what was refused."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from functools import partial
from typing import Any

from takeoff.gui.commands import COMMANDS, command
from takeoff.gui.host import Command, Host
from takeoff.gui.widgets.parts import bold, button, clear, light
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import ctk

BANNER_MS = 9000
"""How long a refusal stays over the plan."""
TEXT_ALONE = 10
"""Width of a button that is as wide as its text needs."""


FIRST = 6
"""Tools that stand in the second row of a tiny window; the rest stand beside undo and redo."""


class ToolBar(ctk.CTkFrame):
    """The job's name, a button for each tool, and undo, redo and reports at the right."""

    def __init__(self, parent: tkinter.Misc, host: Host, run: Callable[[Command], None]) -> None:
        super().__init__(parent, fg_color=THEME.card, corner_radius=0)
        self._host = host
        self.grid_columnconfigure(1, weight=1)
        self.job_name = ctk.CTkLabel(self, text="", font=bold(14), text_color=THEME.text, anchor="w", width=150)
        self.job_name.grid(row=0, column=0, padx=10, pady=5, sticky="w")
        self._rows = (clear(self), clear(self))
        self._rows[0].grid(row=0, column=1, sticky="w")
        self.tools: dict[str, ctk.CTkButton] = {}
        for c in (c for c in COMMANDS if c.id.startswith("tool-")):
            made = button(self, c.label, partial(run, c), hint=f"{c.help} Key: {c.key_text}")
            self.tools[c.id.removeprefix("tool-")] = made
        right = ctk.CTkFrame(self, fg_color="transparent")
        right.grid(row=0, column=2, sticky="e")
        self._buttons: dict[str, ctk.CTkButton] = {}
        for id in ("reports", "redo", "undo"):
            c = command(id)
            label = c.label.removesuffix("…")
            made = button(right, label, partial(run, c), hint=f"{c.help} Key: {c.key_text}")
            made.pack(side="right", padx=(2, 8 if id == "reports" else 2))
            self._buttons[id] = made

    def fit(self, *, is_narrow: bool, is_tiny: bool) -> None:
        """Leave out what there is no room for: the job's name and the tools' keys; a tiny window has a second row."""
        if is_narrow:
            self.job_name.grid_remove()
        else:
            self.job_name.grid()
        if is_tiny:
            self._rows[1].grid(row=1, column=0, columnspan=5, sticky="w", padx=6, pady=(0, 4))
        else:
            self._rows[1].grid_remove()
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
            state = "normal" if command(id).is_enabled(self._host) else "disabled"
            if self._buttons[id].cget("state") != state:
                self._buttons[id].configure(state=state)


class Banner(ctk.CTkLabel):
    """A plate over the plan with what was refused; a click or a while takes it away."""

    def __init__(self, parent: tkinter.Misc) -> None:
        super().__init__(
            parent,
            text="",
            justify="left",
            text_color=THEME.card,
            fg_color=THEME.refuse,
            corner_radius=4,
            padx=10,
            pady=6,
        )
        self._job = ""
        self.bind("<Button-1>", lambda _e: self.hide())

    def show(self, text: str, *, over: tkinter.Misc, size: float) -> None:
        """Say something over the plan, at a size of text."""
        self.hide()
        self.configure(text=text, wraplength=max(int(0.8 * over.winfo_width() / size), 160))
        self.place(in_=over, relx=1.0, x=-8, y=6, anchor="ne")
        self.tkraise()
        self._job = self.after(BANNER_MS, self.hide)

    def hide(self) -> None:
        """Take it away."""
        if self._job:
            self.after_cancel(self._job)
            self._job = ""
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
