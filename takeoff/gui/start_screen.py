"""What is shown while no job is open: how to start, and the recent jobs."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from takeoff.gui.widgets.parts import bold, button
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import ctk

STEPS = (
    "1  Choose the plans: a PDF set, or pictures of the sheets. Your files are never changed.",
    "2  The scale is read off the sheet. Where that is not sure, show one printed dimension.",
    "3  Trace each room by one click, or its walls by hand, with doors, windows, heights and cove.",
    "4  Give each room its system: areas, material, labour and price follow as you work.",
    "5  Settle the open points: what neither the sheets state nor you have confirmed.",
)


class StartScreen(ctk.CTkFrame):
    """The first thing that is seen."""

    def __init__(
        self,
        parent: tkinter.Misc,
        *,
        new: Callable[[], object],
        draft: Callable[[], object],
        open_file: Callable[[], object],
        sample: Callable[[], object],
        open_path: Callable[[Path], object],
        takes_drops: bool,
    ) -> None:
        super().__init__(parent, fg_color=THEME.ground, corner_radius=0)
        self._open_path = open_path
        middle = ctk.CTkFrame(self, fg_color="transparent")
        middle.place(relx=0.5, rely=0.46, anchor="center")
        ctk.CTkLabel(middle, text="takeoff", font=bold(30), text_color=THEME.text).pack(anchor="w")
        ctk.CTkLabel(
            middle,
            text="From a plan to wall areas, material, labour and a price, for resinous wall systems.",
            font=ctk.CTkFont(size=15),
            text_color=THEME.quiet,
        ).pack(anchor="w", pady=(0, 16))
        row = ctk.CTkFrame(middle, fg_color="transparent")
        row.pack(anchor="w", pady=(0, 16))
        self.new = button(row, "Start a job from plans…", new, is_main=True, width=210, hint="Ctrl+N")
        self.new.pack(side="left", padx=(0, 10))
        self.draft = button(
            row, "Draft a whole set…", draft, width=170, hint="Rooms, openings, heights, systems, price"
        )
        self.draft.pack(side="left", padx=(0, 10))
        self.open = button(row, "Open a job…", open_file, width=130, hint="Ctrl+O")
        self.open.pack(side="left", padx=(0, 10))
        self.sample = button(row, "Try it on the sample plan", sample, width=210)
        self.sample.pack(side="left")
        if takes_drops:
            hint = "Plans, or a job file, can be dropped on this window too."
            ctk.CTkLabel(middle, text=hint, text_color=THEME.quiet).pack(anchor="w", pady=(0, 16))
        for step in STEPS:
            ctk.CTkLabel(middle, text=step, anchor="w", justify="left", text_color=THEME.text, wraplength=720).pack(
                anchor="w", pady=1
            )
        self.recent = ctk.CTkFrame(middle, fg_color="transparent", height=0)
        self.recent.pack(anchor="w", fill="x", pady=(18, 0))

    def show_recent(self, paths: Sequence[str]) -> None:
        """Show the recent jobs, those that are still there."""
        for child in self.recent.winfo_children():
            child.destroy()
        found = [Path(p) for p in paths if Path(p).is_file()]
        if not found:
            return
        ctk.CTkLabel(self.recent, text="Recent jobs", font=bold(14), text_color=THEME.text).pack(anchor="w")
        for path in found:
            made = button(self.recent, f"{path.stem}   {path.parent}", partial(self._open_path, path))
            made.configure(border_width=0, text_color=THEME.accent, anchor="w")
            made.pack(anchor="w")
