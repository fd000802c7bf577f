"""What is shown while no job is open: how to start, and the recent jobs."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from takeoff.gui.widgets import THEME, Pair, bold, button, clear, ctk, label

STEPS = (
    "1  Choose the plans: a PDF set, or pictures of the sheets. Your files are never changed.",
    "2  The scale is read off the sheet. Where that is not sure, show one printed dimension.",
    "3  Trace each room by one click, or its walls by hand, with doors, windows, heights and cove.",
    "4  Give each room its system: areas, material, labour and price follow as you work.",
    "5  Settle the open points: what neither the sheets state nor you have confirmed.",
)


WIDE = 790
"""Width in pixels at 100 % text from which the buttons stand in one row."""
MARGIN = 30


class StartScreen(ctk.CTkScrollableFrame):
    """The first thing that is seen; it scrolls where the window is too small for its text.

    ``ways`` to begin go by what their buttons say, each with its hint; the first is the usual one.
    """

    def __init__(
        self,
        parent: tkinter.Misc,
        ways: Mapping[str, tuple[Callable[[], object], str]],
        *,
        open_path: Callable[[Path], object],
        takes_drops: bool,
    ) -> None:
        super().__init__(parent, fg_color=THEME.ground, corner_radius=0)
        self._open_path = open_path
        self._middle = clear(self)
        self._middle.pack(padx=MARGIN)
        self._texts: list[ctk.CTkLabel] = []
        self._say("takeoff", THEME.text, font=bold(30))
        subject = "From a plan to wall areas, material, labour and a price, for resinous wall systems."
        self._say(subject, THEME.quiet, font=ctk.CTkFont(size=15))
        row = clear(self._middle)
        row.pack(anchor="w", pady=12)
        self.buttons = [
            button(row, text, act, hint=hint, is_main=i == 0) for i, (text, (act, hint)) in enumerate(ways.items())
        ]
        if takes_drops:
            self._say("Plans, or a job file, can be dropped on this window too.", THEME.quiet)
        for step in STEPS:
            self._say(step, THEME.text, height=22)
        self.recent = clear(self._middle, height=0)
        self.recent.pack(anchor="w", fill="x", pady=(10, 0))
        self._parent_canvas.bind("<Configure>", self._fit, add="+")

    def _say(self, text: str, colour: Pair, **more: Any) -> None:
        made = label(self._middle, text, colour=colour, **more)
        made.pack(anchor="w", pady=1)
        self._texts.append(made)

    def _fit(self, _event: object = None) -> None:
        size = self._get_widget_scaling()
        wide, high = self._parent_canvas.winfo_width() / size, self._parent_canvas.winfo_height() / size
        columns = len(self.buttons) if wide >= WIDE else 2
        for i, made in enumerate(self.buttons):
            made.grid(row=i // columns, column=i % columns, padx=(0, 10), pady=4, sticky="ew")
        for text in self._texts:
            text.configure(wraplength=max(int(wide) - 2 * MARGIN, 200))
        self._middle.update_idletasks()
        self._middle.pack(pady=max(0.4 * (high - self._middle.winfo_reqheight() / size), 4))

    def show_recent(self, paths: Sequence[str]) -> None:
        """Show the recent jobs, those that are still there."""
        for child in self.recent.winfo_children():
            child.destroy()
        found = [Path(p) for p in paths if Path(p).is_file()]
        if not found:
            return
        label(self.recent, "Recent jobs", font=bold(14)).pack(anchor="w")
        for path in found:
            made = button(self.recent, f"{path.stem}   {path.parent}", partial(self._open_path, path))
            made.configure(border_width=0, text_color=THEME.accent, anchor="w")
            made.pack(anchor="w")
        self._fit()
