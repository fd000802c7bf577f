"""The desk: bar, prompt, sheets, plan, side panel, figures and status, and how they share the window's space."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from takeoff.gui.canvas.plan_canvas import PlanCanvas
from takeoff.gui.commands import command
from takeoff.gui.desk_bars import Banner, ToolBar, command_button
from takeoff.gui.dialogs.common import open_once
from takeoff.gui.dialogs.job_dialogs import ScanScaleDialog
from takeoff.gui.host import Command, Host, Part
from takeoff.gui.layout import SIZES, USUAL, Layout, layout_of, sizes_within
from takeoff.gui.panels.details_panel import DetailsPanel
from takeoff.gui.panels.figures_panel import FiguresPanel
from takeoff.gui.panels.review_panel import LookPanel, ReviewPanel
from takeoff.gui.panels.sheet_panels import ScalePanel, SheetsPanel
from takeoff.gui.preferences import Sizes
from takeoff.gui.review import Reviewing
from takeoff.gui.tool_hand import SCALING
from takeoff.gui.widgets import THEME, Later, Tooltip, colour, ctk, fitted, label, show_if, text_size

SidePanel = DetailsPanel | LookPanel | ScalePanel | ReviewPanel

FIGURES_HEAD = 34
"""Height of the strip with the names of the pages and the totals."""
PROMPT_HEIGHT = 36
"""Height of two lines of the prompt, kept for one line too, so that the plan stays where it is while one works."""
ENTRY, ENTRY_SMALL = 190, 130
"""Widths of the entry line."""
BAR = 38
"""Height of two lines at the bottom, kept for one line too: nothing moves, and no line lies over what is above."""
STATUS_LINES = 1.9
"""Lines of what is said at the bottom; what is longer ends in an ellipsis."""
REVEAL_MS, BESIDE_PX = 60, 60
"""After how long what the panel hides is brought back, and pixels that are kept free beside it."""
HANDLE = 10
"""Width of the handles that fold the parts beside the plan."""
EDGE = 5
"""Width of the edges by which what stands round the plan is dragged wider."""


class DeskFrame(ctk.CTkFrame):
    """Everything that is seen while a job is open; ``run`` runs a command where it is enabled."""

    def __init__(self, host: Host, issue: Reviewing, run: Callable[[Command], None]) -> None:
        super().__init__(host.root, fg_color=THEME.ground, corner_radius=0)
        self._host, self._run = host, run
        self._layout: Layout | None = None
        self._revealing = Later(self, self._reveal)
        self._is_tall = False
        self._is_wanted = False
        self._wishes: dict[Part, bool] = {}
        self.sizes = USUAL
        self.grid_columnconfigure(2, weight=1)
        self.grid_rowconfigure(2, weight=3)
        self.bar = ToolBar(self, host, run)
        self.bar.grid(row=0, column=0, columnspan=5, sticky="ew")
        self._build_prompt()
        self.canvas = PlanCanvas(self)
        self.canvas.grid(row=2, column=2, sticky="nsew")
        self.sheets = SheetsPanel(self, host.choose_sheet, self.canvas)
        self.details = DetailsPanel(self, host.refuse)
        self.scale_panel = ScalePanel(self, host.refuse, partial(open_once, host, ScanScaleDialog), host.hold)
        self.review_panel = ReviewPanel(self, issue, host.refuse)
        self.look_panel = LookPanel(self, self._answer)
        self._side: SidePanel | None = None
        self.figures = FiguresPanel(self, lambda id: run(command(id)), self.show_page, host.go_to)
        self.figures.grid(row=3, column=0, columnspan=5, sticky="nsew")
        self.figures.grid_propagate(False)
        for made in self.figures.pages.values():
            made.bind("<Double-Button-1>", lambda _e: self.toggle_tall(), add="+")
        self._build_handles()
        self._build_edges()
        self._build_status()
        self.bind("<Configure>", self._resized)
        self.canvas.bind("<ButtonRelease-1>", lambda _e: self.after_idle(self.fit_layout), add="+")

    def _build_prompt(self) -> None:
        self._strip = strip = ctk.CTkFrame(self, fg_color=THEME.chosen, corner_radius=0)
        strip.grid_columnconfigure(0, weight=1)
        self.prompt = label(strip, height=PROMPT_HEIGHT)
        self.prompt.grid(row=0, column=0, sticky="ew", padx=10, pady=1)
        edge = {"border_width": 1, "border_color": THEME.line}
        self.entry = ctk.CTkEntry(strip, width=ENTRY, height=26, placeholder_text="type a length here", **edge)
        self.entry.grid(row=0, column=1, padx=8, pady=3)
        strip.bind("<Configure>", lambda _e: self._wrap_prompt())
        Tooltip(self.entry, "A length such as 12'-6\", 3.81 m or 3810; begin with a digit anywhere on the plan.")

    def _build_handles(self) -> None:
        self._handles: dict[str, ctk.CTkButton] = {}
        for part, column in (("sheets", 1), ("side", 3)):
            made = command_button(self, command(part), self._run, width=HANDLE)
            made.configure(text="", corner_radius=0, border_width=0, fg_color=THEME.ground, text_color=THEME.quiet)
            made.grid(row=2, column=column, sticky="ns")
            self._handles[part] = made

    def _build_edges(self) -> None:
        self._edges: dict[Part, tkinter.Frame] = {}
        beside = ("sb_h_double_arrow", "Drag to make it wider or narrower.")
        below = ("sb_v_double_arrow", "Drag: higher or lower.")
        ways: tuple[tuple[Part, tuple[str, str]], ...] = (("sheets", beside), ("side", beside), ("figures", below))
        for part, (cursor, hint) in ways:
            edge = self._edges[part] = tkinter.Frame(self, cursor=cursor, background=THEME.line[0])
            edge.bind("<B1-Motion>", partial(self._drag_edge, part))
            Tooltip(edge, hint)

    def _build_status(self) -> None:
        bar = ctk.CTkFrame(self, fg_color=THEME.ground, corner_radius=0, height=BAR)
        bar.grid(row=4, column=0, columnspan=5, sticky="ew")
        bar.pack_propagate(False)
        self.where = label(bar, anchor="e", colour=THEME.quiet, height=22)
        self.where.pack(side="right", padx=10)
        self._checks = command_button(bar, command("points"), self._run)
        self._checks.configure(height=20, text_color=THEME.warn)
        self.status = label(self, fg_color=THEME.ground, height=BAR - 4, padx=10)
        self.status.place(x=0, rely=1.0, y=-2, anchor="sw")
        self.banner = Banner(self)
        bar.bind("<Configure>", lambda _e: self._wrap_status())

    def _wrap_prompt(self) -> None:
        """Break the lines of the prompt where its room ends, at the present size of the text."""
        wide = self._strip.winfo_width() / text_size() - self.entry.cget("width") - 40
        self.prompt.configure(wraplength=max(int(wide), 120))

    def _wrap_status(self) -> None:
        """Break the lines of the status where its room ends, at the present size of the text."""
        self.status.configure(wraplength=max(int(0.72 * self.winfo_width() / text_size()), 120))

    def count_open(self, count: int) -> None:
        """Say how many points are open."""
        if count:
            self._checks.configure(text=f"{count} open point{'s' * (count != 1)}")
            self._checks.pack(side="right", padx=2)
        else:
            self._checks.pack_forget()

    # -- sharing the space ---------------------------------------------------------------------------------------

    def _resized(self, _event: object) -> None:
        self.canvas.refit()
        self.fit_layout()

    def fit_layout(self) -> None:
        """Share the window anew: fewer things side by side where it is small for its text, none cut off."""
        if self.winfo_width() < 50 or self.canvas.is_pressed:
            return
        layout = layout_of(
            self.winfo_width() / text_size(),
            self.winfo_height() / text_size(),
            wishes=self._wishes,
            is_wanted=self._is_wanted,
            is_tall=self._is_tall,
            sizes=self.sizes,
        )
        before = self._layout
        if layout != before:
            self._layout = layout
            self._share(layout)
            if layout.shows_side and before is not None and not before.shows_side:
                self._revealing.begin(REVEAL_MS)

    def _reveal(self) -> None:
        """Move the plan where all that is selected lies under the panel that has just come."""
        self.update_idletasks()  # on a busy machine the panel is not laid out yet
        session, wide = self._host.session, self.canvas.winfo_width()
        across = (
            [self.canvas.to_pixel(pt)[0] for run in session.selected_runs() for pt in run.points_pt] if session else []
        )
        if across and min(across) > wide - BESIDE_PX:
            self.canvas.pan_by(wide - BESIDE_PX - max(across), 0.0)

    def _share(self, layout: Layout) -> None:
        row, rows = (2, 1) if layout.is_tiny else (1, 2)
        self.bar.fit(is_narrow=layout.is_narrow, is_tiny=layout.is_tiny)
        self._strip.grid(row=1, column=0 if layout.is_tiny else 1, columnspan=5 if layout.is_tiny else 3, sticky="ew")
        self.entry.configure(width=ENTRY_SMALL if layout.is_tiny else ENTRY)
        self.figures.show_working(is_shown=not layout.is_tiny)
        self.figures.set_tiny(is_tiny=layout.is_tiny)
        for panel in (self.details, self.scale_panel, self.review_panel, self.look_panel):
            panel.configure(width=self.sizes.side)
            panel.grid(row=row, column=4, rowspan=rows, sticky="nsew")
            show_if(panel, panel is self._side and layout.shows_side)
        self.sheets.configure(width=self.sizes.sheets)
        self.sheets.grid(row=row, column=0, rowspan=rows, sticky="nsew")
        show_if(self.sheets, layout.shows_sheets)
        self._handles["sheets"].configure(text="‹" if layout.shows_sheets else "›")
        self._handles["side"].configure(text="›" if layout.shows_side else "‹")
        height = FIGURES_HEAD + layout.table
        self.figures.configure(height=height)
        self.grid_rowconfigure(3, weight=0, minsize=round(height * text_size()))
        self._place_edges(layout)

    def _place_edges(self, layout: Layout) -> None:
        wide = round(EDGE * text_size())
        sheets, side = _outer(self.sheets), _outer(self._side or self.details)
        places: dict[Part, dict[str, Any]] = {
            "sheets": {"in_": sheets, "relx": 1.0, "anchor": "ne", "relheight": 1.0, "width": wide},
            "side": {"in_": side, "x": 0, "relheight": 1.0, "width": wide},
            "figures": {"in_": self.figures, "y": 0, "relwidth": 1.0, "height": wide},
        }
        for part, edge in self._edges.items():
            edge.place_forget()
            if layout.shows(part):
                edge.place(**places[part])
                edge.tkraise()

    def _drag_edge(self, part: Part, event: tkinter.Event[tkinter.Misc]) -> None:
        size = text_size()
        x, y = (event.x_root - self.winfo_rootx()) / size, (event.y_root - self.winfo_rooty()) / size
        wide, high = self.winfo_width() / size, self.winfo_height() / size
        dragged = {"sheets": x, "side": wide - x, "figures": high - y - FIGURES_HEAD - BAR}[part]
        self._is_tall &= part != "figures"
        self.take_sizes(replace(self.sizes, **{SIZES[part]: max(round(dragged), 1)}))

    def take_sizes(self, sizes: Sizes) -> None:
        """Take sizes that were dragged."""
        self.sizes = sizes_within(sizes)
        self._layout = None
        self.fit_layout()

    def toggle(self, part: Part) -> None:
        """Fold a part beside or below the plan, or unfold it."""
        self._wishes[part] = not self._shows(part)
        self.fit_layout()

    def _shows(self, part: Part) -> bool:
        return self._layout is not None and self._layout.shows(part)

    def toggle_tall(self) -> None:
        """Give the figures most of the height that they share with the plan, or give it back."""
        self._is_tall = not (self._is_tall and self._shows("figures"))
        self._wishes["figures"] = True
        self.fit_layout()

    def show_page(self, page: str) -> None:
        """Turn the figures to a page, and show them where they were folded away."""
        if not self._shows("figures"):
            self.toggle("figures")
        self.figures.open_page(page)

    def step_points(self, by: int) -> None:
        """Look at the next open point, or at the one before."""
        self.show_page("Open points")
        self.figures.points.step(by)

    def confirm_point(self) -> None:
        """Confirm the open point that is looked at."""
        if self.figures.page == "Open points" and self.figures.points.shown is not None:
            self.figures.points.confirm_shown()
        else:
            self._host.refuse("No open point is looked at: press N first.")

    def set_look(self, *, is_dark: bool) -> None:
        """Take light or dark and the size of text."""
        self.canvas.refit()
        for edge in self._edges.values():
            edge.configure(background=colour("line"))
        self.canvas.set_dark(is_dark)
        self.figures.refit()
        self._layout = None
        self.fit_layout()
        self._wrap_prompt()
        self._wrap_status()

    def show_side(self, *, is_blinking: bool) -> None:
        """Put beside the plan what belongs to the tool and the selection, where that has something to show."""
        host = self._host
        if host.review is not None and host.session is not None:
            self._put_side(self.review_panel, is_wanted=True)
            self.review_panel.show(host.review, so_far=host.review.so_far(host.session.job), is_blinking=is_blinking)
            return
        if host.tool is not None and (asked := host.tool.asked()) is not None:
            self._put_side(self.look_panel, is_wanted=True)
            self.look_panel.show(asked)
            return
        is_scale = host.tool is not None and host.tool.id in SCALING
        shown = self.scale_panel if is_scale else self.details
        has_chosen = host.session is not None and bool(host.session.selection.runs)
        self._put_side(shown, is_wanted=is_scale or has_chosen)
        shown.show(host.session)

    def _put_side(self, shown: SidePanel, *, is_wanted: bool) -> None:
        """Put one of the side panels beside the plan.

        While the pointer is pressed on the plan nothing moves under it; what is to be shown is shown afterwards.
        """
        if shown is not self._side:
            self._side, self._layout = shown, None
            if shown is self.review_panel:
                self._wishes.pop("side", None)
        if is_wanted != self._is_wanted:
            self.canvas.keep_view()
            self._is_wanted = is_wanted
        self.fit_layout()

    def _answer(self, key: str) -> None:
        if self._host.tool is not None and self._host.tool.key(key):
            self._host.show_side()
            self._host.paint()

    def show_message(self, text: str, *, is_refusal: bool) -> None:
        """Say something below the plan; what was refused over it too, for a while."""
        shown = fitted(text, STATUS_LINES * self.status.cget("wraplength"))
        self.status.configure(text=shown, text_color=THEME.refuse if is_refusal else THEME.text)
        if is_refusal and text:
            self.banner.show(text, over=self.canvas)
        else:
            self.banner.hide()


def _outer(panel: tkinter.Misc) -> tkinter.Misc:
    outer: tkinter.Misc = getattr(panel, "_parent_frame", panel)
    return outer
