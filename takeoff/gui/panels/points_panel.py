"""The open points, most money first: to see their places, to confirm them, to give their values."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from functools import partial
from pathlib import Path
from tkinter import filedialog

from takeoff import actions
from takeoff.errors import TakeoffError
from takeoff.gui.panels.background_page import BackgroundPage
from takeoff.gui.session import Session
from takeoff.gui.widgets import THEME, TableView, ctk
from takeoff.gui.wording import words_of
from takeoff.model.open_points import OpenPoint
from takeoff.model.point_register import PointGroup, Register, grouped
from takeoff.report.tables import rows_table
from takeoff.signing import now
from takeoff.units import Display

VALUE = 130
"""Pixels at 100 % of the field for a value."""


class PointsPanel(BackgroundPage[Register]):
    """A line for each group of open points, or for each point; several lines are settled at once.

    ``go`` is called with a point to see: its place on the plan, with what settles it in hand.
    """

    asking = "Open points are worked out here."
    waiting = "working out what is open …"
    stale = "The job has changed."
    failing = "the open points could not be worked out"
    asks_itself = True

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None], go: Callable[[OpenPoint], None]) -> None:
        super().__init__(parent, say)
        self._go = go
        self.groups: tuple[PointGroup, ...] = ()
        self.is_grouped = True
        hint = "Say that the value taken is right, for every line that is chosen."
        self.confirm = self.button("Confirm", partial(self._settle, actions.confirm_points), hint)
        placed = {"placeholder_text": "or type the value", "border_width": 1}
        self.value = ctk.CTkEntry(self.buttons, width=VALUE, height=26, **placed)
        self.value.pack(side="left", padx=2)
        self.value.bind("<Return>", lambda _e: self._give())
        self.give = self.button("Give", self._give, "Give the typed value to every line that is chosen.")
        self.single = self.button("One by one", self._toggle, "A line for each point, or one line for those of a kind.")
        hint = "Write what the architect has to answer as numbered questions."
        self.questions = self.button("Questions…", self._ask, hint)
        self.table = TableView(self, self._chosen, takes_several=True)
        self.table.grid(row=1, column=0, sticky="nsew")

    def order(self, session: Session) -> partial[Register]:
        return partial(actions.open_points)

    def summary(self, result: Register, show: Display) -> str:
        return result.words()

    def words(self, result: Register, show: Display) -> str:
        if not result.open:
            return "Nothing is open: all that the figures rest on is stated or confirmed."
        return (
            "Click a line to see the place. Choose several with Ctrl or Shift. Confirm says that the value is "
            "right. A value that you type goes to all chosen lines."
        )

    def fill(self) -> None:
        """Show the lines; while they are worked out anew those from before stay."""
        if self.session is None:
            self.groups = ()
            self.table.clear()
        if self.session is None or self.result is None:
            return
        show = self.session.display
        self.groups = grouped(self.result.points, together=self.is_grouped)
        rows = [
            (
                group.label,
                show.money(group.money) if group.is_priced else "",
                group.points[0].taken or "nothing",
                group.place,
                "" if group.points[0].confirmed is None else f"confirmed by {group.points[0].confirmed.by}",
            )
            for group in self.groups
        ]
        self.table.refit()
        self.table.show(rows_table(("Open point", "At stake", "Taken", "Where", ""), rows))

    def _toggle(self) -> None:
        self.is_grouped = not self.is_grouped
        self.single.configure(text="One by one" if self.is_grouped else "In groups")
        self.fill()

    def _ask(self) -> None:
        folder = filedialog.askdirectory(parent=self, title="Folder for the questions")
        if not folder:
            return
        try:
            paths = actions.ask_architect(self._session.store, Path(folder), at=now())
        except TakeoffError as error:
            self.note(words_of(error), THEME.refuse)
            return
        self.note(f"Written: {', '.join(path.name for path in paths)}", THEME.good)

    def _chosen(self, row: int) -> None:
        if row >= len(self.groups):
            return
        group = self.groups[row]
        point = group.points[0]
        parts = (group.label, point.why, point.settle, _stake(self._session, group))
        self.say("\n\n".join(part for part in parts if part))
        self._go(point)

    def _points(self) -> list[OpenPoint]:
        rows = [row for row in self.table.rows() if row < len(self.groups)]
        return [point for row in rows for point in self.groups[row].points if point.is_open]

    def _give(self) -> None:
        text = self.value.get().strip()
        if not text:
            self.note("Type the value first.", THEME.refuse)
            return
        if self._settle(actions.give_value, text):
            self.value.delete(0, "end")
            self.winfo_toplevel().event_generate("<<FieldTaken>>")

    def _settle(self, action: Callable[..., object], *given: str) -> bool:
        session, points = self._session, self._points()
        if not points:
            self.note("Choose one or more lines first.", THEME.refuse)
            return False
        count = len(points)
        is_done = session.act(f"{count} open point{'s' * (count != 1)} settled", action, points, *given)
        if not is_done:
            self.note(session.message, THEME.refuse)
        return is_done


def _stake(session: Session, group: PointGroup) -> str:
    stakes = [point.stake for point in group.points if point.stake is not None]
    if not stakes:
        return ""
    show = session.display
    parts = [show.money(sum(s.money for s in stakes))]
    if (area := sum(s.area for s in stakes)) > 0.0:
        parts.append(f"{show.area(area)} of wall")
    if (length := sum(s.length for s in stakes)) > 0.0:
        parts.append(f"{show.length(length)} of wall line")
    return f"At stake: {', '.join(parts)}."
