"""Pages of tables of what is planned: the job with other systems, what is cut from what, and what to order and when."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from functools import partial
from tkinter import ttk

from takeoff import actions
from takeoff.errors import InputError
from takeoff.estimate.alternates import Comparison, RowKind
from takeoff.estimate.orders import OrderLine
from takeoff.gui.panels.background_page import BackgroundPage
from takeoff.gui.reading_process import cut_plans, order_list
from takeoff.gui.session import Selection, Session
from takeoff.gui.widgets import TableView, ask_save, button, clear, with_bars
from takeoff.model.cut_lists import CutList
from takeoff.model.site import read_day
from takeoff.report.planning_tables import CutRow, alternates_table, cut_rows, cut_table, order_table
from takeoff.report.tables import Cell, Column, Table
from takeoff.report.wall_names import WallNames
from takeoff.system.bases import coats_walls
from takeoff.system.packs import cut_words, stock_words
from takeoff.system.words import Words
from takeoff.units import Display

PRICE: tuple[RowKind, str] = ("price", "price")
"""Kind and id of the line that is shown first."""


class AlternatesPanel(BackgroundPage[Comparison]):
    """A list of systems to choose from; once they are priced, in its place a line for each figure that differs."""

    asking = "Click systems in the list, then Compare."
    waiting = "pricing …"
    failing = "it could not be compared"

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None]) -> None:
        super().__init__(parent, say)
        self.compare = self.button("Compare", self.ask, "Price each chosen system on all coated walls, beside the job.")
        self.list = button(self.buttons, "Systems", self._open_list, hint="Go back to the list and choose others.")
        self._listed = clear(self)
        self._listed.grid(row=1, column=0, sticky="nsew")
        self.systems = ttk.Treeview(self._listed, show="tree", selectmode="none", style="Figures.Treeview")
        with_bars(self.systems, "y")
        self.systems.bind("<Button-1>", self._pressed)
        self.systems.bind("<space>", lambda _e: self._toggle(self.systems.focus()))
        self.systems.bind("<Return>", self._entered)
        self.systems.bind("<<TreeviewSelect>>", lambda _e: self._number())
        self.table = TableView(self, self._chosen)
        self._names: dict[str, str] = {}
        self._table: Table | None = None

    # -- choosing ------------------------------------------------------------------------------------------------

    def renew(self, session: Session) -> None:
        chosen = set(self.systems.selection())
        self.systems.delete(*self.systems.get_children())
        self._names = {s.id: s.name for s in actions.catalogue_of(session.job).systems if coats_walls(s)}
        for id in self._names:
            self.systems.insert("", "end", iid=id)
        self.systems.selection_set([id for id in self._names if id in chosen])
        self._number()

    def _number(self) -> None:
        chosen = list(self.systems.selection())
        for id, name in self._names.items():
            self.systems.item(id, text=f"{chosen.index(id) + 1}   {name}" if id in chosen else f"–   {name}")

    def _pressed(self, event: tkinter.Event[ttk.Treeview]) -> None:
        self.systems.focus_set()
        self._toggle(self.systems.identify_row(event.y))

    def _toggle(self, id: str) -> None:
        if id:
            self.systems.selection_toggle(id)
            self.systems.focus(id)

    def _entered(self, _event: object) -> str:
        self.ask()
        return "break"

    def _open_list(self) -> None:
        self.table.grid_remove()
        self.list.pack_forget()
        self._listed.grid()
        self.note(self.asking)

    # -- comparing -----------------------------------------------------------------------------------------------

    def order(self, session: Session) -> partial[Comparison]:
        chosen = self.systems.selection()
        if not chosen:
            raise InputError("no system is chosen", remedy=self.asking)
        return partial(actions.compare_alternates, systems=tuple(chosen))

    def summary(self, result: Comparison, show: Display) -> str:
        return " · ".join(f"{number}: {name}" for number, name in enumerate(result.names[1:], start=1))

    def words(self, result: Comparison, show: Display) -> str:
        """Say what each comes to, and what makes them unlike in scope."""
        prices = [value or 0.0 for value in result.row(*PRICE).values]
        lines = [f"{result.names[0]}: {show.money(prices[0])}"]
        for number, (name, price) in enumerate(zip(result.names[1:], prices[1:], strict=True), start=1):
            way = "more" if price > prices[0] else "less"
            lines.append(f"{number}: {name}: {show.money(price)}, {show.money(abs(price - prices[0]))} {way}")
        return "\n\n".join(("\n".join(lines), *result.notes))

    def fill(self) -> None:
        if self.session is None:
            self.systems.selection_set(())
        if self.result is None or self.session is None:
            self._open_list()
            return
        self._table = compared_table(self.result, self.session.display)
        self.table.refit()
        self.table.show(self._table)
        self._listed.grid_remove()
        self.list.pack(side="left", padx=2)
        self.table.grid(row=1, column=0, sticky="nsew")

    def _chosen(self, row: int) -> None:
        """Say a line in full, for its name may be longer than its column."""
        if self.result is None or self._table is None:
            return
        columns, cells = self._table.columns[1:], self._table.rows[row]
        texts = [column.text(value) for column, value in zip(columns, cells[1:], strict=True)]
        own, rest = texts[0], list(zip(self.result.names[1:], texts[1::2], texts[2::2], strict=True))
        said = [f"{self.result.names[0]} {own or 'nothing'}"]
        said += [f"{name} {value or 'nothing'} ({difference})" for name, value, difference in rest]
        self.tell("\n".join((f"{cells[0]}:", *said)))


def compared_table(result: Comparison, show: Display) -> Table:
    """Return the lines that differ, the price first, in columns narrow enough to stand beside one another.

    Behind the job as it is stands each alternate by its number, with its difference. Lines in the job's currency are
    without a unit, for the head of the first column names it.
    """
    full = alternates_table(result, show, only_differences=True)
    count = len(result.names)
    lines = [(line.kind, line.id) for line in result.what_differs]
    order = sorted(range(len(full.rows)), key=lambda i: lines[i] != PRICE)
    money = full.columns[2]
    columns = [Column(title="Line", unit=result.currency, kind="text"), replace(money, title="Job")]
    for number in range(1, count):
        columns += [replace(money, title=f"{number}"), replace(money, title=f"{number} − job")]
    rows = []
    for i in order:
        label, unit, *figures = full.rows[i]
        is_plain = unit == result.currency or str(unit) in str(label).split()
        row: list[Cell] = [label if is_plain else f"{label} ({unit})", figures[0]]
        for number in range(1, count):
            row += [figures[number], figures[count - 1 + number]]
        rows.append(tuple(row))
    return Table(id=full.id, title=full.title, columns=tuple(columns), rows=tuple(rows))


Cuts = tuple[CutList, ...]
SHORT = {"Laid beside it": "Beside it", "Left at the end": "Left"}
"""Titles of columns in the window, where those of the report are longer."""
QUICK, THOROUGH = 1.0, 10.0
"""Effort to look for fewer rolls: 1 is about a second."""


class CuttingPanel(BackgroundPage[Cuts]):
    """A line for each cut, and above them what the rolls come to."""

    asking = "Click Cut to see what to cut from each roll."
    waiting = "cutting …"
    stale = "The job has changed since it was cut."
    failing = "it could not be cut"

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None]) -> None:
        super().__init__(parent, say)
        self._runs: list[tuple[str, ...]] = []
        self._row: int | None = None
        self._effort, self._note = QUICK, ""
        hint = "Search for the fewest rolls and lengths, for about a second each."
        self.cut = self.button("Cut", partial(self.cut_with, QUICK), hint)
        self.button("Thoroughly", partial(self.cut_with, THOROUGH), "Search longer for fewer rolls and lengths.")
        self.table = TableView(self, self._chosen)
        self.table.grid(row=1, column=0, sticky="nsew")

    def cut_with(self, effort: float) -> None:
        """Have the cuts planned, with so much effort to look for fewer rolls."""
        self._effort = effort
        self.ask()

    def order(self, session: Session) -> partial[Cuts]:
        return partial(cut_plans, effort=self._effort)

    def summary(self, result: Cuts, show: Display) -> str:
        """Say what the rolls and lengths come to, as below the table of a report."""
        return self._note or "Nothing is cut."

    def words(self, result: Cuts, show: Display) -> str:
        words, parts = Words(first=show.system), ["Click a line to see its walls."]
        for cut in result:
            rolls = [] if cut.rolls is None else cut_words(cut.rolls, words)
            lengths = [] if cut.lengths is None else stock_words(cut.lengths, words)
            parts.append("\n".join((cut.name, *rolls, *lengths)))
        return "\n\n".join(parts)

    def fill(self) -> None:
        self.table.refit()
        self._row = None
        table, self._runs = cut_table((), Display(), WallNames()), []
        if self.result is not None and self.session is not None:
            measured = self.session.measured("room")[0]
            walls = actions.wall_names(self.session.job, measured)
            table = cut_table(self.result, self.session.display, walls)
            of_room = {item.label: item.sources for item in measured.measurement.items}
            self._runs = [_runs_of(row, of_room) for row in cut_rows(self.result, walls)]
        self._note = table.note
        columns = tuple(replace(column, title=SHORT.get(column.title, column.title)) for column in table.columns)
        self.table.show(replace(table, columns=columns))

    def mark(self) -> None:
        chosen = set(self._session.selection.runs)
        if self._row is None or not chosen & set(self._runs[self._row]):
            self._row = next((i for i, runs in enumerate(self._runs) if chosen & set(runs)), None)
        self.table.mark(self._row)

    def _chosen(self, row: int) -> None:
        self._row = row
        if self.session is not None and self._runs[row]:
            self.session.select(Selection(runs=self._runs[row]))


def _runs_of(row: CutRow, of_room: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """Return the runs that a cut is for: those of its faces, or of its room where it names no face."""
    faces = [cut.face for cut in (row.what, *row.beside) if cut.face]
    return tuple(dict.fromkeys(face.rpartition(":")[0] for face in faces)) or of_room.get(row.what.label, ())


Order = tuple[OrderLine, ...]
TYPES = [("Workbooks and CSV files", "*.xlsx *.csv"), ("All files", "*")]


class OrderPanel(BackgroundPage[Order]):
    """A line for each pack of each delivery."""

    asking = "Click List to see what to order."
    waiting = "planning the days of use …"
    failing = "it could not be listed"
    asks_itself = True

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None]) -> None:
        super().__init__(parent, say)
        hint = "First day of work, such as 2026-03-02. Empty: that of how the site is worked; without one, no dates."
        self.start = self.field("First day", 94, self._dated, hint)
        self.button("List", self.ask, "List it for this first day.")
        self.write = self.button("Write…", self._write, "Write it as a workbook or a CSV file.")
        self.table = TableView(self, self._chosen)
        self.table.grid(row=1, column=0, sticky="nsew")
        self._table = order_table(())

    def order(self, session: Session) -> partial[Order]:
        return partial(order_list, start=_day(self.start.value))

    def _dated(self, text: str) -> None:
        _day(text)
        self.ask()

    def summary(self, result: Order, show: Display) -> str:
        count = len({line.delivery for line in result if line.delivery})
        first = min((line.order_by for line in result if line.order_by), default=None)
        if not result:
            return "Nothing is to be ordered: trace walls and give their rooms a system first."
        if not count:
            return "No dates: type the first day, or give it in How the site is worked, in the menu Site."
        late = ", which has passed" if first is not None and first < date.today() else ""
        by = "" if first is None else f"; order the first by {first.isoformat()}{late}"
        return f"{count} deliver{'y' if count == 1 else 'ies'}{by}"

    def words(self, result: Order, show: Display) -> str:
        return "\n\n".join(t for t in ("Click a line to read all of it.", order_table(result).note) if t)

    def fill(self) -> None:
        if self.session is None:
            self.start.show("")
        self.table.refit()
        self._table = order_table(self.result or ())
        filled = [i for i, c in enumerate(self._table.columns) if c.is_number or any(r[i] for r in self._table.rows)]
        columns = tuple(self._table.columns[i] for i in filled)
        rows = tuple(tuple(row[i] for i in filled) for row in self._table.rows)
        self.table.show(replace(self._table, columns=columns, rows=rows))

    def _chosen(self, row: int) -> None:
        cells = zip(self._table.columns, self._table.rows[row], strict=True)
        self.tell("\n".join(f"{c.title}: {c.text(value)}" for c, value in cells if c.text(value)))

    def _write(self) -> None:
        session, lines = self._session, self.result
        if lines is None:
            return
        at = session.path.with_name(f"{session.path.stem} order.xlsx")
        path = ask_save(self, "Write the order list", at, TYPES)
        if path is not None:
            session.attempt(lambda: actions.write_order(session.job, lines, path), f"Written: {path}")


def _day(text: str) -> date | None:
    return read_day(text) if text.strip() else None
