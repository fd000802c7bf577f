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
from takeoff.gui.tools.tool import in_places
from takeoff.gui.widgets import THEME, TableView, ctk
from takeoff.gui.wording import words_of
from takeoff.model.open_points import OpenPoint
from takeoff.model.point_register import PointGroup, Register, grouped
from takeoff.report.tables import rows_table
from takeoff.signing import now
from takeoff.units import Display

CONFIRM = "Confirm"
VALUE = 130
"""Pixels at 100 % of the field for a value."""


class PointsPanel(BackgroundPage[Register]):
    """A line for each group of open points. They are looked at one after another, or settled by lines, several at once.

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
        self.shown: OpenPoint | None = None
        """The one that is looked at by itself, of those on its line."""
        self._settled: set[str] = set()
        self._is_wanted, self._at = False, 0
        self.button("Before  P", partial(self.step, -1), "Look at the open point before.")
        self.button("Next  N", partial(self.step, 1), "Look at the next open point, at its place on the plan.")
        hint = "The value taken is right: of the point looked at, or of every point on the lines chosen. Key: K"
        self.confirm = self.button(CONFIRM, self.confirm_shown, hint)
        placed = {"placeholder_text": "or type the value", "border_width": 1}
        self.value = ctk.CTkEntry(self.buttons, width=VALUE, height=26, **placed)
        self.value.pack(side="left", padx=2)
        self.value.bind("<Return>", lambda _e: self._give())
        self.give = self.button("Give", self._give, "Give the typed value to the same points.")
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
            "Press N to look at one after another, most money first, and K to confirm the one looked at. Or click a "
            "line: it confirms all its points at once; Ctrl or Shift chooses several lines."
        )

    def fill(self) -> None:
        """Show the lines; while they are worked out anew those from before stay."""
        if self.session is None:
            self.groups, self.shown = (), None
            self.table.clear()
        if self.session is None or self.result is None:
            return
        self._settled.clear()
        chosen = {self.groups[row].key for row in self.table.rows() if row < len(self.groups)}
        show = self.session.display
        self.groups = grouped(self.result.points)
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
        self.table.mark(*(row for row, group in enumerate(self.groups) if group.key in chosen))
        if self._is_wanted:
            self._is_wanted = False
            self.step(1)

    def mark(self) -> None:
        """Keep the point that is looked at in view, whatever was worked out anew."""
        if self.shown is not None:
            self.table.mark(self._row_of(self.shown))
            self.say(self._words_of(self.shown))

    # -- one after another ---------------------------------------------------------------------------------------

    def step(self, by: int) -> None:
        """Look at the next open point, or at the one before; the first is the first of the line that is chosen."""
        waiting = self._waiting()
        if not waiting:
            self._is_wanted = self.result is None
            self.note(self.waiting if self._is_wanted else "Nothing is left open.", THEME.quiet)
            return
        keys = [point.key for point in waiting]
        if self.shown is not None:  # where it is settled by now, another stands in its place
            at = keys.index(self.shown.key) + by if self.shown.key in keys else self._at
        else:
            at = keys.index(next((point.key for point in self._points()), keys[0]))
        self._look(waiting[min(max(at, 0), len(waiting) - 1)])

    def _waiting(self) -> list[OpenPoint]:
        points = {point.key: point for group in self.groups for point in group.points}
        return [point for key, point in points.items() if point.is_open and key not in self._settled]

    def _look(self, point: OpenPoint | None) -> None:
        self.shown = point
        self.confirm.configure(text=CONFIRM if point is None else f"{CONFIRM} this one  K")
        if point is not None:
            self._at = self._waiting().index(point) if point in self._waiting() else 0
            self._go(point)
            self.mark()

    def confirm_shown(self) -> None:
        """Confirm the point that is looked at and go on to the next; without one, all on the lines chosen."""
        self._settle(actions.confirm_points)

    def _row_of(self, point: OpenPoint) -> int | None:
        return next((i for i, g in enumerate(self.groups) if any(p.key == point.key for p in g.points)), None)

    def _words_of(self, point: OpenPoint) -> str:
        row = self._row_of(point)
        group = PointGroup(key=point.key, points=(point,))
        if row is None:
            return ""
        of_line = self.groups[row].points
        place = [p.key for p in of_line].index(point.key) + 1
        count = f"{place} of {len(of_line)} on this line" if len(of_line) > 1 else ""
        return _told(group.label, count, self._why(point), point.settle, _stake(self._session, group))

    def _why(self, point: OpenPoint) -> str:
        sheet = self._session.job.sheets.get(point.where.sheet or 0)
        return in_places(point.why, self._session, sheet) if sheet is not None else point.why

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
        self._look(point if len(group.points) == 1 and len(self.table.rows()) == 1 else None)
        if self.shown is None:
            count = sum(len(self.groups[row].points) for row in self.table.rows())
            self.confirm.configure(text=f"{CONFIRM} all {count}")
            self._go(point)
            self.say(_told(group.label, self._why(point), point.settle, _stake(self._session, group)))

    def _points(self) -> list[OpenPoint]:
        rows = [row for row in self.table.rows() if row < len(self.groups)]
        waiting = self._waiting()
        return [point for row in rows for point in self.groups[row].points if point in waiting]

    def _give(self) -> None:
        text = self.value.get().strip()
        if not text:
            self.note("Type the value first.", THEME.refuse)
            return
        if self._settle(actions.give_value, text):
            self.value.delete(0, "end")
            self.winfo_toplevel().event_generate("<<FieldTaken>>")

    def _settle(self, action: Callable[..., object], *given: str) -> bool:
        session, points, shown = self._session, self._points(), self.shown
        waiting = self._waiting()
        if shown is not None:
            points = [point for point in points if point.key == shown.key]
        if not points:
            self.note("Press N, or choose one or more lines first.", THEME.refuse)
            return False
        count = len(points)
        is_done = session.act(f"{count} open point{'s' * (count != 1)} settled", action, points, *given)
        if not is_done:
            self.note(session.message, THEME.refuse)
        elif shown is not None:
            self._settled.add(shown.key)
            at = waiting.index(points[0])
            self._look((*waiting[at + 1 :], *waiting[:at], None)[0])
        return is_done


def _told(*parts: str) -> str:
    return "\n\n".join(part for part in parts if part)


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
