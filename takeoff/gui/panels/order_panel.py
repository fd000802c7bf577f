"""What to order and when: packs of each delivery, the day they are needed, and that day less the lead time."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import partial

from takeoff import actions
from takeoff.estimate.orders import OrderLine
from takeoff.gui.entries import read_day
from takeoff.gui.panels.background_page import BackgroundPage
from takeoff.gui.reading_process import order_list
from takeoff.gui.session import Session
from takeoff.gui.widgets import TableView, ask_save
from takeoff.report.planning_tables import order_table
from takeoff.units import Display

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
        session, lines = self.session, self.result
        if session is None or lines is None:
            return
        at = session.path.with_name(f"{session.path.stem} order.xlsx")
        path = ask_save(self, "Write the order list", at, TYPES)
        if path is not None:
            session.attempt(lambda: actions.write_order(session.job, lines, path), f"Written: {path}")


def _day(text: str) -> date | None:
    return read_day(text) if text.strip() else None
