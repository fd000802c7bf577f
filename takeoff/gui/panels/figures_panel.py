"""Quantities, materials, labour and price below the plan; each line opens to its arithmetic and to its place."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from takeoff import actions
from takeoff.actions.onsite import step_called
from takeoff.apart import Apart
from takeoff.errors import TakeoffError
from takeoff.gui.background import PATIENCE
from takeoff.gui.panels.background_page import BackgroundPage, TotalsLabel
from takeoff.gui.panels.elevation_panel import ElevationPanel
from takeoff.gui.panels.planned_bars import DaysPanel, RangePanel
from takeoff.gui.panels.planned_tables import AlternatesPanel, CuttingPanel, OrderPanel
from takeoff.gui.panels.points_panel import PointsPanel
from takeoff.gui.panels.site_panel import SitePanel
from takeoff.gui.session import Selection, Session
from takeoff.gui.widgets import THEME, ChoiceField, Later, ReadText, TableView, button, ctk, light, show_if
from takeoff.gui.wording import words_of
from takeoff.measure.totals import By
from takeoff.model.figures import Measurement
from takeoff.model.open_points import OpenPoint
from takeoff.report.arithmetic import face_arithmetic
from takeoff.report.tables import labour_table, material_table, price_table, quantity_table, rows_table

FIRST = ("Rooms", "Walls", "Elevation", "Material", "Labour", "Price", "Open points")
MORE = ("Systems", "Alternates", "Range", "Days", "Cutting", "Order", "Site")
PAGES = (*FIRST, *MORE)
"""Pages whose names stand in a row, and those that are chosen from a list behind it."""
CHOOSER = 110
"""Pixels at 100 % of the list of pages."""
PRICED = {"Material": material_table, "Labour": labour_table, "Price": price_table}
BY_PAGE: Mapping[str, By] = {"Rooms": "room", "Walls": "run", "Systems": "system"}
PRICE_DELAY = 60
"""Milliseconds after the last edit before the price is made anew; quantities never wait."""
FEW_RUNS = 400
"""Runs up to which the price follows at once."""


class FiguresPanel(ctk.CTkFrame):
    """Pages of tables with the arithmetic of the chosen line beside them.

    ``do`` runs a command by its id, ``show`` turns to a page by its name and shows the pages where they are folded,
    ``go`` shows the place of an open point.
    """

    def __init__(
        self,
        parent: tkinter.Misc,
        do: Callable[[str], None],
        show: Callable[[str], None],
        go: Callable[[OpenPoint], None],
    ) -> None:
        super().__init__(parent, fg_color=THEME.card, corner_radius=0)
        self.session: Session | None = None
        self.priced: actions.Priced | None = None
        self._fault = ""
        self._pricing = Later(self, self._price_later)
        self._priced_for: object = None
        self._open_row: tuple[int, tuple[str, ...]] | None = None
        self.grid_columnconfigure(0, weight=1)
        self.grid_rowconfigure(2, weight=1)
        head = ctk.CTkFrame(self, fg_color=THEME.ground, corner_radius=0)
        head.grid(row=0, column=0, columnspan=2, sticky="ew")
        self.page = ""
        self.pages: dict[str, ctk.CTkButton] = {}
        for page in FIRST:
            self.pages[page] = made = button(head, page, partial(show, page), width=6 * len(page))
            made.configure(corner_radius=2, font=ctk.CTkFont(size=12))
        self.chooser = ChoiceField(
            head,
            "",
            (),
            lambda page: show(page or self.page),
            hint="Cost alternates, price range, days, cuts, orders, site.",
        )
        self.chooser.label.configure(width=0)
        self.chooser.menu.configure(width=CHOOSER, fg_color=THEME.card)
        self.totals = TotalsLabel(head, self.pages[FIRST[-1]], self.chooser)
        self.totals.pack(side="right", padx=(2, 8))
        self.set_tiny(is_tiny=False)
        self.table = TableView(self, self._row_chosen)
        self._build_pages(do, go)
        self._words: dict[str, str] = {}
        self.process = Apart(PATIENCE)
        look = {"fg_color": THEME.ground, "text_color": THEME.text, "font": ctk.CTkFont(size=12)}
        self.working = ReadText(self, width=330, corner_radius=0, wrap="word", **look)
        self.working.grid(row=2, column=1, sticky="nsew")
        self.row_runs: Callable[[int], tuple[str, ...]] = _no_runs
        self.open_page("Rooms")

    def _build_pages(self, do: Callable[[str], None], go: Callable[[OpenPoint], None]) -> None:
        made: dict[str, type[BackgroundPage[Any]]] = {"Alternates": AlternatesPanel, "Range": RangePanel}
        made |= {"Days": DaysPanel, "Cutting": CuttingPanel, "Order": OrderPanel}
        self._asked = {page: kind(self, partial(self._say_of, page)) for page, kind in made.items()}
        self._asked["Open points"] = self.points = PointsPanel(self, partial(self._say_of, "Open points"), go)
        site = SitePanel(self, partial(self._say_of, "Site"), do)
        self.panels: dict[str, Any] = {**self._asked, "Site": site, "Elevation": ElevationPanel(self)}

    # -- showing -------------------------------------------------------------------------------------------------

    def show(self, session: Session | None, *, is_edit: bool = True) -> None:
        """Show the figures of a session."""
        is_new = session is not self.session
        self.session = session
        if session is None:
            self._stop()
            self.totals.clear()
            self.priced = None
            self._priced_for = None
            return
        if is_edit or is_new:
            if len(session.job.runs) <= FEW_RUNS:
                self._pricing.stop()
                self._price()
            else:
                self._pricing.begin_anew(PRICE_DELAY)
        self._fill()

    def _stop(self) -> None:
        self._pricing.stop()
        for page in self._asked.values():
            page.stop()
        self.panels["Site"].stop()
        self.process.rest()
        self._words.clear()

    def _price_later(self) -> None:
        self._price()
        self._fill()

    def _price(self) -> None:
        session = self.session
        if session is None or self._priced_for is session.job:
            return
        self._fault, self.priced, self._open_row = "", None, None
        self._priced_for = session.job
        try:
            self.priced = actions.price_measured(session.job, session.measured()[0])
        except TakeoffError as error:
            self._fault = words_of(error)

    def open_page(self, page: str) -> None:
        """Turn to a page."""
        for name, made in self.pages.items():
            if name in (page, self.page) or not self.page:
                light(made, is_on=name == page)
        self.page, self._open_row = page, None
        self._name_page()
        self._fill()

    def count_open(self, session: Session) -> int:
        """Count what is open, of a job that is small enough to do so after every edit."""
        if not 0 < len(session.job.runs) <= FEW_RUNS:
            return 0
        ready = session.measured()
        return len(actions.open_points(session.job, priced=self.priced, ready=ready, has_stakes=False).open)

    def _measurement(self, by: By) -> Measurement:
        assert self.session is not None
        return self.session.measured(by)[0].measurement

    def _fill(self) -> None:
        session = self.session
        if session is None:
            return
        measured, pending = session.measured()
        self.totals.show(measured.measurement.total, self.priced, len(pending), session.display)
        panel = self.panels.get(self.page, self.table)
        for widget in (self.table, *self.panels.values()):
            if widget is not panel and widget.winfo_manager():
                widget.grid_remove()
        panel.grid(row=2, column=0, sticky="nsew")
        if panel is self.table:
            self._fill_table(session)
        elif self.page == "Elevation":
            panel.show(session)
        elif self.page == "Site":
            panel.show(session, self.priced, self._fault)
        else:
            panel.show(session, self.process)
        if self.page == "Elevation" or panel is self.table:
            self._explain_selection(session)
        else:
            self.working.say(self._words.get(self.page, ""))

    def _fill_table(self, session: Session) -> None:
        show = session.display
        self.row_runs = _no_runs
        if self.page in BY_PAGE:
            measurement = self._measurement(BY_PAGE[self.page])
            table = quantity_table(measurement, show)
            if self.page == "Walls":
                table = replace(table, rows=tuple((session.wall(str(row[0])), *row[1:]) for row in table.rows))
            self.table.show(table)
            sources = [*(item.sources for item in measurement.items), *(() for _ in measurement.left_out)]
            self.row_runs = sources.__getitem__
            chosen = set(session.selection.runs)
            self.table.mark(*(i for i, runs in enumerate(sources) if chosen & set(runs)))
            return
        if self.priced is None:
            self.table.show(rows_table((self.page,), ()))
            return
        estimate = self.priced.estimate
        self.table.show(PRICED[self.page](estimate, show))
        if self.page == "Material":
            self.row_runs = lambda row: tuple(dict.fromkeys(r for n in estimate.materials[row].needs for r in n.runs))
        elif self.page == "Labour":
            rooms = self._measurement("room").items
            of_room = {name: item.sources for item in rooms for name in (item.id, item.label)}
            self.row_runs = lambda row: of_room.get(estimate.labour[row].room, ())
        if self._open_row is not None and self._open_row[1] != session.selection.runs:
            self._open_row = None
        self.table.mark(self._open_row[0] if self._open_row is not None else None)

    # -- arithmetic ----------------------------------------------------------------------------------------------

    def _row_chosen(self, row: int) -> None:
        session = self.session
        if session is None:
            return
        runs = self.row_runs(row)
        self._open_row = (row, runs or session.selection.runs)
        if runs:
            session.select(Selection(runs=runs))
        else:
            self._fill()

    def _explain_selection(self, session: Session) -> None:
        """Say how the line that is open, or what is selected, came about."""
        if self.priced is not None and self._open_row is not None and self.page in PRICED:
            self.working.say(line_words(session, self.priced, self.page, self._open_row[0]))
        elif session.selection.runs:
            self.working.say(wall_words(session))
        else:
            missing = self._fault or "Trace walls and give their rooms a system to see material, labour and price."
            self.working.say(waiting_words(session, missing if self.priced is None and self.page in PRICED else ""))

    def _say_of(self, page: str, text: str) -> None:
        """Keep what a page has to say; it is read while that page is open, and no other."""
        self._words[page] = text
        if page == self.page:
            self.working.say(text)

    def refit(self) -> None:
        """Fit the tables and draw the pages anew, in the look that the window has now."""
        self.table.refit()
        self.panels["Site"].table.refit()
        self.panels["Elevation"].renew()
        for page in self._asked.values():
            page.fill()
        self._fill()

    def set_tiny(self, *, is_tiny: bool) -> None:
        """Have all pages chosen from the list where there is no room for names in a row."""
        self.chooser.set_choices(
            [(page, page) for page in PAGES] if is_tiny else [("", "More"), *((p, p) for p in MORE)]
        )
        self._name_page()
        for widget in (self.chooser, *self.pages.values()):
            widget.pack_forget()
        for i, widget in enumerate((self.chooser,) if is_tiny else (*self.pages.values(), self.chooser)):
            widget.pack(side="left", padx=(1 if i else 4, 0), pady=3)

    def _name_page(self) -> None:
        """Show in the list which of its pages is open."""
        self.chooser.show(self.page if self.page in self.chooser.ids else "")

    def show_working(self, *, is_shown: bool) -> None:
        """Show the arithmetic beside the tables, or leave its place to them."""
        for page in self._asked.values():
            page.is_read_beside = is_shown
        show_if(self.working, is_shown)

    def destroy(self) -> None:
        """Stop what is waiting."""
        self._stop()
        super().destroy()


def _no_runs(row: int) -> tuple[str, ...]:
    return ()


MOST_WAITING, MOST_FACES = 12, 30
"""Walls that wait and faces that are told of at once; more would not be read."""
NOTHING_CHOSEN = "Click a line, or a wall on the plan, to see how its figures came about."


def line_words(session: Session, priced: actions.Priced, page: str, row: int) -> str:
    """Return the arithmetic of a line of material, labour or price."""
    e = priced.estimate
    if page == "Material":
        line = e.materials[row]
        said = list(line.arithmetic)
        rooms = dict(session.rooms())
        for need in line.needs:
            called = step_called(priced.catalogue, (need.system, need.step))
            place = rooms.get(need.room, need.room)
            said += ["", " · ".join(t for t in (place, called) if t), *(f"  {t}" for t in need.arithmetic)]
        return "\n".join(said)
    lines = e.labour if page == "Labour" else e.price
    return "\n".join(lines[row].arithmetic)


def wall_words(session: Session) -> str:
    """Return the arithmetic of the walls that are selected, and why one cannot be measured yet."""
    measured, pending = session.measured()
    chosen = set(session.selection.runs)
    faces = [f for f in measured.faces if f.elevation.run in chosen][:MOST_FACES]
    blocks = [
        f"{session.wall(f.elevation.run)}, {f.elevation.face} face\n"
        + "\n".join(f"  {t}" for t in face_arithmetic(f, session.display))
        for f in faces
    ]
    blocks += [_waiting(session, p) for p in pending if p.run in chosen]
    return "\n\n".join(blocks)


def waiting_words(session: Session, missing: str) -> str:
    """Say what there is no price for, and which walls are not measured yet."""
    waiting = "\n".join(f"• {_waiting(session, p)}" for p in session.measured()[1][:MOST_WAITING])
    parts = (missing, f"Not measured yet:\n{waiting}" if waiting else "")
    return "\n\n".join(part for part in parts if part) or NOTHING_CHOSEN


def _waiting(session: Session, pending: actions.Pending) -> str:
    return f"{session.wall(pending.run)}: {pending.message}. {pending.remedy}"
