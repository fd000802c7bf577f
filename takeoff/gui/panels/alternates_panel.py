"""Alternates: the job priced with other systems on its coated walls, beside the job as it is."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from functools import partial
from tkinter import ttk

from takeoff import actions
from takeoff.errors import InputError
from takeoff.estimate.alternates import Comparison, RowKind
from takeoff.gui.panels.background_page import BackgroundPage
from takeoff.gui.session import Session
from takeoff.gui.widgets import TableView, button, clear, with_bars
from takeoff.report.planning_tables import alternates_table
from takeoff.report.tables import Cell, Column, Table
from takeoff.system.bases import coats_walls
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
        """Write before each chosen system the number that it has in the table."""
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
    columns = [Column(title="Line", unit=result.currency, kind="text"), Column(title="Job", kind="money")]
    for number in range(1, count):
        columns += [Column(title=f"{number}", kind="money"), Column(title=f"{number} − job", kind="money")]
    rows = []
    for i in order:
        label, unit, *figures = full.rows[i]
        is_plain = unit == result.currency or str(unit) in str(label).split()
        row: list[Cell] = [label if is_plain else f"{label} ({unit})", figures[0]]
        for number in range(1, count):
            row += [figures[number], figures[count - 1 + number]]
        rows.append(tuple(row))
    return Table(id=full.id, title=full.title, columns=tuple(columns), rows=tuple(rows))
