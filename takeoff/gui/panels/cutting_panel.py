"""The cut list: what is cut from each roll and each length, cut by cut; pressing a line shows its walls."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial

from takeoff import actions
from takeoff.gui.panels.background_page import BackgroundPage
from takeoff.gui.reading_process import cut_plans
from takeoff.gui.session import Selection, Session
from takeoff.gui.widgets import TableView
from takeoff.model.cutting import CutList
from takeoff.report.planning_tables import CutRow, cut_rows, cut_table
from takeoff.report.wall_names import WallNames
from takeoff.system.packs import cut_words, stock_words
from takeoff.system.words import Words
from takeoff.units import Display

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
        if self.session is None:
            return
        chosen = set(self.session.selection.runs)
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
