"""The desk: bar, prompt, sheets, plan, side panel, figures and status, and how they share the window's space."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from functools import partial

from takeoff.gui.canvas.plan_canvas import PlanCanvas
from takeoff.gui.commands import COMMANDS, command
from takeoff.gui.host import Command, Host, Part
from takeoff.gui.panels.details_panel import DetailsPanel
from takeoff.gui.panels.figures_panel import FiguresPanel
from takeoff.gui.panels.review_panel import ReviewPanel
from takeoff.gui.panels.scale_panel import ScalePanel
from takeoff.gui.panels.sheets_panel import SheetsPanel
from takeoff.gui.widgets.fields import Tooltip, bold, button
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import ctk

SidePanel = DetailsPanel | ScalePanel | ReviewPanel

SIDE, SIDE_SMALL = 284, 230
"""Widths of the side panel in pixels at 100 %."""
FIGURES, FIGURES_SMALL, FIGURES_HEAD = 230, 130, 36
"""Heights of the figures; the last shows the names of the pages and the totals alone."""
PROMPT_HEIGHT = 36
"""Height of two lines of the prompt, kept for one line too, so that the plan stays where it is while one works."""
ENTRY, ENTRY_SMALL = 190, 130
"""Widths of the entry line."""
TALL = 0.8
"""Part that tall figures take of the height that they and the plan share."""
HANDLE = 12
"""Width of the handles that fold the parts beside the plan."""
PARTS: tuple[Part, ...] = ("sheets", "side", "figures")


class DeskFrame(ctk.CTkFrame):
    """Everything that is seen while a job is open.

    Parameters
    ----------
    host
        Whether commands can be run now.
    run
        Runs a command where it is enabled.
    sheets, details, scale_panel, review_panel
        Makers of the panels; each is given the frame.
    """

    def __init__(
        self,
        parent: tkinter.Misc,
        host: Host,
        run: Callable[[Command], None],
        *,
        sheets: partial[SheetsPanel],
        details: partial[DetailsPanel],
        scale_panel: partial[ScalePanel],
        review_panel: partial[ReviewPanel],
    ) -> None:
        super().__init__(parent, fg_color=THEME.ground, corner_radius=0)
        self._host, self._run = host, run
        self._layout: tuple[bool, bool, bool] | None = None
        self._is_tiny = False
        self._is_tall = False
        self._is_open: dict[Part, bool] = dict.fromkeys(PARTS, True)
        self.text_size = 1.0
        self.grid_columnconfigure(2, weight=1)
        self.grid_rowconfigure(2, weight=3)
        self._build_bar()
        self._build_prompt()
        self.sheets = sheets(self)
        self.canvas = PlanCanvas(self)
        self.canvas.grid(row=2, column=2, sticky="nsew")
        self.details, self.scale_panel, self.review_panel = details(self), scale_panel(self), review_panel(self)
        self._side: SidePanel | None = None
        self.figures = FiguresPanel(
            self,
            read_on_site=partial(run, command("reading")),
            record_use=partial(run, command("use")),
            go=host.go_to,
        )
        self.figures.grid(row=3, column=0, columnspan=5, sticky="nsew")
        self.figures.grid_propagate(False)
        for made in self.figures.pages.values():
            made.bind("<ButtonRelease-1>", lambda _e: self._unfold("figures"), add="+")
            made.bind("<Double-Button-1>", lambda _e: self.toggle_tall(), add="+")
        self._build_handles()
        self._build_status()
        self.bind("<Configure>", self.fit_layout)

    def _build_bar(self) -> None:
        bar = ctk.CTkFrame(self, fg_color=THEME.card, corner_radius=0)
        bar.grid(row=0, column=0, columnspan=5, sticky="ew")
        bar.grid_columnconfigure(1, weight=1)
        self.job_name = ctk.CTkLabel(bar, text="", font=bold(14), text_color=THEME.text, anchor="w", width=150)
        self.job_name.grid(row=0, column=0, padx=10, pady=5, sticky="w")
        self.tool_bar = ctk.CTkFrame(bar, fg_color="transparent")
        self._tools: dict[str, ctk.CTkButton] = {}
        for c in (c for c in COMMANDS if c.menu == "Tools"):
            hint = f"{c.help} Key: {c.key_text}"
            text = f"{c.label}  {c.key_text}"
            made = button(self.tool_bar, text, partial(self._run, c), hint=hint, width=7 * len(text) + 14)
            made.pack(side="left", padx=2)
            self._tools[c.id.removeprefix("tool-")] = made
        right = ctk.CTkFrame(bar, fg_color="transparent")
        right.grid(row=0, column=2, sticky="e")
        self._buttons: dict[str, ctk.CTkButton] = {}
        for id in ("reports", "redo", "undo"):
            c = command(id)
            label = c.label.removesuffix("…")
            made = button(right, label, partial(self._run, c), hint=f"{c.help} Key: {c.key_text}")
            made.pack(side="right", padx=(2, 8 if id == "reports" else 2))
            self._buttons[id] = made

    def _build_prompt(self) -> None:
        strip = ctk.CTkFrame(self, fg_color=THEME.chosen, corner_radius=0)
        strip.grid_columnconfigure(0, weight=1)
        self._strip = strip
        self.prompt = ctk.CTkLabel(
            strip, text="", anchor="w", text_color=THEME.text, justify="left", height=PROMPT_HEIGHT
        )
        self.prompt.grid(row=0, column=0, sticky="ew", padx=10, pady=1)
        self.entry = ctk.CTkEntry(
            strip,
            width=ENTRY,
            height=26,
            placeholder_text="type a length here",
            border_width=1,
            border_color=THEME.line,
        )
        self.entry.grid(row=0, column=1, padx=8, pady=3)
        strip.bind("<Configure>", lambda _e: self._wrap_prompt())
        Tooltip(self.entry, "A length such as 12'-6\", 3.81 m or 3810; begin with a digit anywhere on the plan.")

    def _build_handles(self) -> None:
        self._handles: dict[Part, ctk.CTkButton] = {}
        sides: tuple[tuple[Part, int], ...] = (("sheets", 1), ("side", 3))
        for part, column in sides:
            c = command(part)
            made = button(self, "", partial(self._run, c), hint=f"{c.help} Key: {c.key_text}", width=HANDLE)
            made.configure(corner_radius=0, border_width=0, fg_color=THEME.ground, text_color=THEME.quiet)
            made.grid(row=2, column=column, sticky="ns")
            self._handles[part] = made

    def _build_status(self) -> None:
        bar = ctk.CTkFrame(self, fg_color=THEME.ground, corner_radius=0, height=26)
        bar.grid(row=4, column=0, columnspan=5, sticky="ew")
        bar.pack_propagate(False)
        self.where = ctk.CTkLabel(bar, text="", anchor="e", text_color=THEME.quiet, height=22)
        self.where.pack(side="right", padx=10)
        c = command("points")
        self._checks = button(bar, "", partial(self._run, c), hint=f"{c.help} Key: {c.key_text}")
        self._checks.configure(height=22, text_color=THEME.warn)
        self.status = ctk.CTkLabel(
            self, text="", anchor="w", justify="left", text_color=THEME.text, fg_color=THEME.ground, height=22, padx=10
        )
        self.status.place(x=0, rely=1.0, y=-2, anchor="sw")
        bar.bind("<Configure>", lambda _e: self._wrap_status())

    def _wrap_prompt(self) -> None:
        """Break the lines of the prompt where its room ends, at the present size of the text."""
        wide = self._strip.winfo_width() / self.text_size - self.entry.cget("width") - 40
        self.prompt.configure(wraplength=max(int(wide), 120))

    def _wrap_status(self) -> None:
        """Break the lines of the status where its room ends, at the present size of the text."""
        self.status.configure(wraplength=max(int(0.72 * self.winfo_width() / self.text_size), 120))

    def count_open(self, count: int) -> None:
        """Say how many points are open."""
        if count:
            self._checks.configure(text=f"{count} open point{'s' * (count != 1)}")
            self._checks.pack(side="right", padx=2)
        else:
            self._checks.pack_forget()

    # -- sharing the space ---------------------------------------------------------------------------------------

    def fit_layout(self, _event: object = None) -> None:
        """Give way where the window is small for the size of its text: fewer things side by side, none cut off."""
        size = self.text_size
        wide, high = self.winfo_width() / size, self.winfo_height() / size
        layout = (wide < 1230, wide < 900, high < 600)
        if layout == self._layout or self.winfo_width() < 50:
            if self._is_tall:
                self._fold_parts()
            return
        self._layout = layout
        is_narrow, is_tiny = layout[:2]
        if is_narrow:
            self.tool_bar.grid(row=1, column=0, columnspan=5, sticky="w", padx=6, pady=(0, 4))
        else:
            self.tool_bar.grid(row=0, column=1, columnspan=1, sticky="w", padx=0, pady=0)
        if is_tiny != self._is_tiny:
            self._is_tiny = is_tiny
            self._is_open = dict.fromkeys(PARTS, not is_tiny)
        self._strip.grid(row=1, column=0 if is_tiny else 1, columnspan=5 if is_tiny else 3, sticky="ew")
        self.entry.configure(width=ENTRY_SMALL if is_tiny else ENTRY)
        self.figures.show_working(is_shown=not is_tiny)
        for panel in (self.details, self.scale_panel, self.review_panel):
            panel.configure(width=SIDE_SMALL if is_tiny else SIDE)
        self._fold_parts()

    def toggle(self, part: Part) -> None:
        """Fold a part beside or below the plan, or unfold it."""
        self._is_open[part] = not self._is_open[part]
        self._fold_parts()

    def toggle_tall(self) -> None:
        """Give the figures most of the height that they share with the plan, or give it back."""
        self._is_tall = not (self._is_tall and self._is_open["figures"])
        self._is_open["figures"] = True
        self._fold_parts()

    def show_page(self, page: str) -> None:
        """Turn the figures to a page, and show them where they were folded away."""
        self._unfold("figures")
        self.figures.open_page(page)

    def _unfold(self, part: Part) -> None:
        if not self._is_open[part]:
            self.toggle(part)

    def _fold_parts(self) -> None:
        """Show what is unfolded; of the figures the names of the pages and the totals always stay."""
        if self._is_open["sheets"]:
            self.sheets.grid(row=2 if self._is_tiny else 1, column=0, rowspan=1 if self._is_tiny else 2, sticky="nsew")
        else:
            self.sheets.grid_remove()
        for panel in (self.details, self.scale_panel, self.review_panel):
            if panel is self._side and self._is_open["side"]:
                panel.grid(row=2 if self._is_tiny else 1, column=4, rowspan=1 if self._is_tiny else 2, sticky="nsew")
            else:
                panel.grid_remove()
        self._handles["sheets"].configure(text="‹" if self._is_open["sheets"] else "›")
        self._handles["side"].configure(text="›" if self._is_open["side"] else "‹")
        is_low = self._layout is not None and self._layout[2]
        height = (FIGURES_SMALL if is_low else FIGURES) if self._is_open["figures"] else FIGURES_HEAD
        if self._is_tall and self._is_open["figures"]:
            shared = sum(self.grid_bbox(2, row)[3] for row in (2, 3))
            height = max(round(TALL * shared / self.text_size), height)
        self.figures.configure(height=height)
        self.grid_rowconfigure(3, weight=0, minsize=round(height * self.text_size))

    def set_look(self, *, is_dark: bool, size: float) -> None:
        """Take light or dark and the size of text."""
        self.text_size = size
        for picture in (self.figures.elevation, self.figures.days, self.figures.range):
            picture.set_look(is_dark=is_dark, size=size)
        for table in (self.figures.table, self.figures.site.table):
            table.set_look(THEME.of("warn", is_dark))
        self.canvas.set_dark(is_dark)
        self.canvas.set_text_size(size)
        self.figures.refit()
        self._layout = None
        self.fit_layout()
        self._wrap_prompt()
        self._wrap_status()

    def show_side(self, shown: SidePanel) -> None:
        """Put one of the side panels beside the plan."""
        if shown is self._side:
            return
        self._side = shown
        if shown is self.review_panel:
            self._is_open["side"] = True
        self._fold_parts()

    # -- marking what is on --------------------------------------------------------------------------------------

    def mark_tool(self, id: str) -> None:
        """Mark the tool that is in hand."""
        for name, made in self._tools.items():
            is_chosen = name == id
            made.configure(
                fg_color=THEME.accent if is_chosen else "transparent",
                text_color=THEME.accent_text if is_chosen else THEME.text,
            )

    def mark_steps(self) -> None:
        """Show whether there is anything to undo or redo."""
        for id in ("undo", "redo"):
            state = "normal" if command(id).is_enabled(self._host) else "disabled"
            if self._buttons[id].cget("state") != state:
                self._buttons[id].configure(state=state)
