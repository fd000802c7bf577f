"""The page for the site: coats against what is specified, recoat clocks of rooms, and what was recorded."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from datetime import datetime
from typing import Literal

from takeoff import actions
from takeoff.errors import TakeoffError
from takeoff.gui.panels.background_page import Page
from takeoff.gui.panels.site_tables import (
    CoatNames,
    coat_names,
    coat_words,
    coats_table,
    record_words,
    records_table,
    rooms_table,
)
from takeoff.gui.session import Selection, Session
from takeoff.gui.widgets.parts import button, clear, light
from takeoff.gui.widgets.table_view import TableView
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import ctk
from takeoff.job.edits import Remove
from takeoff.measure.totals import natural_key
from takeoff.model.site import PackUse, Reading
from takeoff.signing import now

TICK_MS = 60_000
"""Between two looks at the recoat clocks."""
Part = Literal["Coats", "Rooms", "Records"]
PARTS: tuple[Part, ...] = ("Coats", "Rooms", "Records")
INTRODUCTIONS: dict[Part, str] = {
    "Coats": "Record packs used and the area done after each coat. Click a line to see its arithmetic.",
    "Rooms": "When each surface of a room may take its next coat, counted from the coat last recorded on it.",
    "Records": "Click a record to see it, or to remove it.",
}


class SitePanel(Page):
    """Tables of coats, rooms and records, and buttons to record.

    Parameters
    ----------
    say
        Called with what is to be read beside the tables.
    read_on_site, record_use
        Open the dialogs that record.
    """

    def __init__(
        self,
        parent: tkinter.Misc,
        say: Callable[[str], None],
        *,
        read_on_site: Callable[[], None],
        record_use: Callable[[], None],
    ) -> None:
        super().__init__(parent, say)
        self._priced: actions.Priced | None = None
        self._job: str | None = None
        self._shown: tuple[object, object] = (None, None)
        self.part: Part = "Coats"
        self.coats: tuple[actions.CoatProgress, ...] = ()
        self._names: CoatNames = {}
        self.clocks: tuple[actions.RoomClock, ...] = ()
        self.records: list[PackUse | Reading] = []
        self.parts: dict[str, ctk.CTkButton] = {}
        for part in PARTS:
            made = button(self.buttons, part, lambda part=part: self.open_part(part))  # type: ignore[misc]
            made.pack(side="left", padx=(6 if not self.parts else 1, 1), pady=2)
            self.parts[part] = made
        acts = clear(self.head)
        acts.grid(row=0, column=2, padx=(0, 6))
        for text, act, hint in (
            ("Packs used…", record_use, "Record packs used of a coat and the area done. Key: F2"),
            ("Reading…", read_on_site, "Record air, wall and humidity; may it be coated? Key: F3"),
            ("Remove", self._remove, "Take the chosen record out. Undo brings it back."),
        ):
            made = button(acts, text, act, hint=hint)
            made.pack(side="left", padx=2)
        self.remove = made
        self.table = TableView(self, self._chosen)
        self.table.grid(row=1, column=0, sticky="nsew")

    def show(self, session: Session, priced: actions.Priced | None, fault: str) -> None:
        """Show where a job stands on site; ``fault`` says why nothing was priced."""
        self.session, self._priced = session, priced
        is_same = self._shown[0] is session.job and self._shown[1] is priced
        self._shown = (session.job, priced)
        self._read(fault)
        if is_same:
            self._fill()
        else:
            self.open_part(self.part)
        if self._job is None:
            self._job = self.after(TICK_MS, self._tick)

    def _tick(self) -> None:
        self._job = None
        if self.session is not None and self.winfo_ismapped():
            self.show(self.session, self._priced, "")

    def _read(self, fault: str) -> None:
        session = self.session
        assert session is not None
        before = self.coats
        self.coats = self.clocks = ()
        self.records = [*session.job.uses.values(), *session.job.readings.values()]
        self.records.sort(key=lambda record: record.when, reverse=True)
        self.note("")
        try:
            if self._priced is not None:
                uses = session.job.uses.values()
                self.coats = actions.progress(self._priced, uses)
                self._names = coat_names(self.coats, dict(session.systems()))
                clocks = actions.recoat_clocks(self._priced, now=datetime.fromisoformat(now()), uses=uses)
                self.clocks = tuple(sorted(clocks, key=lambda clock: natural_key(clock.label)))
        except TakeoffError as error:
            self.note(str(error), THEME.refuse)
            return
        if not self.coats:
            self.note(fault or "Trace walls and give their rooms a system first.")
            return
        if self.coats != before:
            self.table.refit()
        off = sum(coat.state.verdict in ("thin", "thick") for coat in self.coats)
        missed = sum(clock.clock.state == "missed" for clock in self.clocks)
        told = [f"{off} coat{'s' * (off > 1)} off the specified film"] * (off > 0)
        told += [f"{missed} room{'s' * (missed > 1)} past recoat"] * (missed > 0)
        self.note(", ".join(told), THEME.warn)

    def open_part(self, part: Part) -> None:
        """Turn to coats, rooms or records."""
        self.part = part
        for name, made in self.parts.items():
            light(made, is_on=name == part)
        if self.session is None:
            return
        self.remove.configure(state="disabled")
        self._fill()
        self.table.mark(None)
        self.say(INTRODUCTIONS[part])

    def _fill(self) -> None:
        assert self.session is not None
        show = self.session.display
        if self.part == "Coats":
            off = [i for i, coat in enumerate(self.coats) if coat.state.verdict in ("thin", "thick")]
            self.table.show(coats_table(self.coats, self._names, show), off)
        elif self.part == "Rooms":
            missed = [i for i, clock in enumerate(self.clocks) if clock.clock.state == "missed"]
            self.table.show(rooms_table(self.clocks), missed)
        else:
            self.table.show(records_table(self.records, self._names, dict(self.session.rooms()), show))

    def _chosen(self, row: int) -> None:
        session = self.session
        if session is None:
            return
        if self.part == "Coats":
            self.say(coat_words(self.coats[row], self._names, session.display))
        elif self.part == "Rooms":
            clock = self.clocks[row]
            runs = tuple(run.id for run in session.job.runs.values() if run.room == clock.room)
            session.select(Selection(runs=runs))
            self.table.mark(row)
        else:
            self.remove.configure(state="normal")
            self.say(self._record_words(self.records[row], session))

    def _record_words(self, record: PackUse | Reading, session: Session) -> str:
        lines = [record_words(record, self._names, session.display)]
        if isinstance(record, Reading):
            lines += actions.judge_reading(session.job, record).lines
        if record.note:
            lines.append(record.note)
        return "\n".join(lines)

    def _remove(self) -> None:
        session, chosen = self.session, self.table.tree.selection()
        if session is None or self.part != "Records" or not chosen:
            return
        record = self.records[int(chosen[0])]
        kind = "use" if isinstance(record, PackUse) else "reading"
        session.do(Remove(kind=kind, id=record.id), f"Removed: {record_words(record, self._names, session.display)}")

    def stop(self) -> None:
        """Forget the job."""
        if self._job is not None:
            self.after_cancel(self._job)
            self._job = None
        self.session = self._priced = None
        self._shown = (None, None)
        self.table.clear()
        self.open_part("Coats")
