"""The page for the site: coats as specified, recoat clocks of rooms, the log of what was recorded, hours as worked."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from datetime import date, datetime
from functools import partial
from typing import Any

from takeoff import actions
from takeoff.actions.onsite import step_called, use_words
from takeoff.actions.site_log import FINDINGS, local_time
from takeoff.errors import TakeoffError
from takeoff.estimate.climate import degrees
from takeoff.gui.panels.background_page import Page
from takeoff.gui.session import Selection, Session
from takeoff.gui.widgets import THEME, Later, TableView, ask_save, button, clear, ctk, light
from takeoff.gui.wording import words_of
from takeoff.job.edits import Remove
from takeoff.measure.totals import natural_key
from takeoff.model.site import PackUse, Reading, read_day, read_moment
from takeoff.model.systems import Catalogue
from takeoff.report.tables import Table, rows_table
from takeoff.signing import now
from takeoff.system.words import Words
from takeoff.units import Display

TICK_MS = 60_000
"""Between two looks at the recoat clocks."""
PARTS = {
    "Coats": "Record packs used and the area done after each coat. Click a line to see its arithmetic.",
    "Rooms": "When each surface of a room may take its next coat, counted from the coat last recorded on it.",
    "Log": "Click a record to see it, or to remove it. Write makes a CSV file of what is listed.",
    "Hours": "Hours worked beside those estimated for the same part of each step. Keep rates puts the rates found into "
    "the job's own systems: prices follow them from then on.",
}
"""Each part with what to do there."""
CSV = [("CSV files", "*.csv"), ("All files", "*")]


class SitePanel(Page):
    """Tables of coats, rooms, records and hours, and buttons to record; ``do`` runs a command by its id."""

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None], do: Callable[[str], None]) -> None:
        super().__init__(parent, say)
        self._priced: actions.Priced | None = None
        self._looking = Later(self, self._look)
        self._shown: tuple[object, object] = (None, None)
        self.part = "Coats"
        self.coats: tuple[actions.CoatProgress, ...] = ()
        self.clocks: tuple[actions.RoomClock, ...] = ()
        self.records: list[PackUse | Reading] = []
        self.parts: dict[str, ctk.CTkButton] = {}
        for part in PARTS:
            self.parts[part] = self.button(part, partial(self.open_part, part), "")
        hint = "Time for which the clocks are read, such as 2026-03-04 07:00. Empty: now."
        self.at = self.field("At", 120, partial(self._renew, read_moment), hint)
        hint = "Show what was recorded on this day, such as 2026-03-04. Empty: on all days."
        self.on = self.field("Day", 78, partial(self._renew, read_day), hint)
        self.acts: list[tuple[str, ctk.CTkBaseClass]] = [("Rooms", self.at), ("Log", self.on)]
        self._build_acts(do)
        self.table = TableView(self, self._chosen)
        self.table.grid(row=1, column=0, sticky="nsew")

    def _build_acts(self, do: Callable[[str], None]) -> None:
        acts = clear(self.head)
        acts.grid(row=0, column=2, padx=(0, 6))
        used = "Record packs used of a step, what was done, hours. Key: F2"
        for part, text, act, hint in (
            ("", "Work done…", partial(do, "use"), used),
            ("", "Reading…", partial(do, "reading"), "Record air, wall and humidity; may it be coated? Key: F3"),
            ("Log", "Write…", self._write, "Write the log as a CSV file: readings, steps, hours by person."),
            ("Log", "Remove", self._remove, "Take the chosen record out. Undo brings it back."),
            ("Hours", "Keep rates", self._keep, "Price with the rates found on site. Undo takes them out."),
        ):
            self.acts.append((part, button(acts, text, act, hint=hint)))
        self.remove = self.acts[5][1]

    # -- showing -------------------------------------------------------------------------------------------------

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
        self._looking.begin(TICK_MS)

    def _look(self) -> None:
        if self.session is not None and self.winfo_ismapped():
            self.show(self.session, self._priced, "")

    @property
    def day(self) -> date | None:
        """The day whose log is shown; all days where it is nothing."""
        return read_day(self.on.taken) if self.on.taken else None

    def _read(self, fault: str = "") -> None:
        session, before = self._session, self.coats
        self.coats = self.clocks = ()
        uses = session.job.uses.values()
        every: tuple[PackUse | Reading, ...] = (*uses, *session.job.readings.values())
        self.records = sorted((r for r in every if self.day in (None, _day_of(r))), key=lambda r: r.when, reverse=True)
        self.note("")
        try:
            if self._priced is not None:
                self.coats = actions.progress(self._priced, uses)
                at = read_moment(self.at.taken or now())
                clocks = actions.recoat_clocks(self._priced, session.job, now=at)
                self.clocks = tuple(sorted(clocks, key=lambda clock: natural_key(clock.label)))
        except TakeoffError as error:
            self.note(words_of(error), THEME.refuse)
            return
        if not self.coats:
            self.note(fault or "Trace walls and give their rooms a system first.")
            return
        if self.coats != before:
            self.table.refit()
        off, missed = len(self._coats_off()), len(self._clocks_missed())
        told = [f"{off} coat{'s' * (off > 1)} off the specified film"] * (off > 0)
        told += [f"{missed} room{'s' * (missed > 1)} past recoat"] * (missed > 0)
        self.note(", ".join(told), THEME.warn)

    def open_part(self, part: str) -> None:
        """Turn to coats, rooms, log or hours."""
        self.part = part
        for name, made in self.parts.items():
            light(made, is_on=name == part)
        said = PARTS[part]
        for of, act in self.acts:
            act.pack_forget()
            if of in ("", part):
                act.pack(side="left", padx=2)
        if self.session is None:
            return
        self.remove.configure(state="disabled")
        self._fill()
        self.table.mark(None)
        self.say("\n".join((said, *self._hours_by_person())) if part == "Log" else said)

    def _renew(self, read: Callable[[str], object], text: str) -> None:
        """Show the clocks at the time, or the log of the day, that was typed; what is none is refused."""
        if text.strip():
            read(text.strip())
        if self.session is not None:
            self._read()
            self.open_part(self.part)

    def _fill(self) -> None:
        show, warned = self._session.display, list[int]()
        if self.part == "Coats":
            table, warned = actions.coats_table(self.coats, self._catalogue, show), self._coats_off()
        elif self.part == "Rooms":
            table, warned = actions.clocks_table(self.clocks, show), self._clocks_missed()
        elif self.part == "Log":
            table = self._log()
        elif self._priced is None:
            table = rows_table(("Hours",), ())
        else:
            table = actions.hours_table(self._priced, tuple(self._session.job.uses.values()), show)
        self.table.show(table, warned)

    def _coats_off(self) -> list[int]:
        return [i for i, coat in enumerate(self.coats) if coat.state.verdict in ("thin", "thick")]

    def _clocks_missed(self) -> list[int]:
        return [i for i, clock in enumerate(self.clocks) if clock.clock.state == "missed"]

    def _log(self) -> Table:
        rooms, rows = dict(self._session.rooms()), []
        for record in self.records:
            when = local_time(datetime.fromisoformat(record.when)) if record.when else ""
            room = rooms.get(record.room or "", record.room or "")
            rows.append((when, room, *self._words(record), record.note))
        return rows_table(("When", "Room", "Record", "What was done", "Note"), rows)

    @property
    def _catalogue(self) -> Catalogue:
        return actions.catalogue_of(self._session.job) if self._priced is None else self._priced.catalogue

    def _words(self, record: PackUse | Reading) -> tuple[str, str]:
        show = self._session.display
        if isinstance(record, Reading):
            air, surface = degrees(record.air, show.system), degrees(record.surface, show.system)
            found = actions.judge_reading(self._session.job, record).lines[0]
            moisture = "" if record.moisture is None else f", moisture {100 * record.moisture:g} %"
            return "Reading", f"air {air}, wall {surface}, humidity {100 * record.humidity:g} %{moisture}. {found}"
        return step_called(self._catalogue, (record.system, record.step)), use_words(record, show, by=record.person)

    def _hours_by_person(self) -> list[str]:
        if self._priced is None:
            return []
        table = actions.daily_log(self._session.job, self._priced, self.day)[-1]
        return ["", "Hours by person:", *(f"{day}  {name}  {hours:g} h" for day, name, hours in table.rows)]

    # -- doing ---------------------------------------------------------------------------------------------------

    def _chosen(self, row: int) -> None:
        session = self._session
        if self.part == "Coats":
            self.say(coat_words(self.coats[row], self._catalogue, session.display))
        elif self.part == "Rooms":
            clock = self.clocks[row]
            runs = tuple(run.id for run in session.job.runs.values() if run.room == clock.room)
            session.select(Selection(runs=runs))
            self.table.mark(row)
        elif self.part == "Log":
            self.remove.configure(state="normal")
            record = self.records[row]
            judged = actions.judge_reading(session.job, record).lines[1:] if isinstance(record, Reading) else ()
            self.say("\n".join((*self._words(record), *judged, *([record.note] if record.note else ()))))

    def _remove(self) -> None:
        chosen = self.table.tree.selection()
        if chosen:
            record = self.records[int(chosen[0])]
            kind: Any = "use" if isinstance(record, PackUse) else "reading"
            self._session.do(Remove(kind=kind, id=record.id), f"Removed: {', '.join(self._words(record))}")

    def _write(self) -> None:
        session, name = self._session, f"log {self.on.taken}".rstrip()
        path = ask_save(self, "Write the log", session.path.with_name(f"{name}.csv"), CSV)
        if path is not None:
            priced = self._priced or actions.make_estimate(session.job)
            session.attempt(lambda: actions.write_log(session.job, priced, path, self.day), f"Written: {path}")

    def _keep(self) -> None:
        session, priced = self._session, self._priced
        if priced is not None:
            kept = "The rates found on site are in the job's own systems: prices follow them."
            session.act(kept, actions.keep_found_rates, priced)

    def stop(self) -> None:
        """Forget the job."""
        self._looking.stop()
        self.session = self._priced = None
        self._shown = (None, None)
        self.at.show("")
        self.on.show("")
        self.table.clear()
        self.open_part("Coats")


def _day_of(record: PackUse | Reading) -> date | None:
    return datetime.fromisoformat(record.when).astimezone().date() if record.when else None


def coat_words(coat: actions.CoatProgress, catalogue: Catalogue, show: Display) -> str:
    """Say where a coat stands: film, what is left, and packs for it at the film laid and as specified."""
    state, target = coat.state, coat.target
    left = target.amount(max(0.0, target.area - state.area_done), show)
    called = step_called(catalogue, (coat.system, coat.step))
    lines = [called, f"{100 * state.complete:.0f} % complete, {left} left to do"]
    if state.film is not None and state.ratio is not None:
        laid, specified = target.laid(state.film, show), target.laid(target.wet_film, show)
        off = f"{100 * (state.ratio - 1.0):+.0f} %, {FINDINGS[state.verdict]}"
        tolerance, used = f"tolerance ± {100 * target.tolerance:g} %", show.volume(state.used)
        if target.unit != "L":
            used = Words(first=show.system).amount(state.used, target.unit)
        kept = f"{used} used × (1 − {100 * target.loss:.3g} % loss)"
        lines += [
            f"{'wet film ' * target.is_film}laid: {laid}, specified: {specified} ({off}; {tolerance})",
            f"  = {kept} ÷ {target.amount(state.area_done, show)}",
            f"to finish at the film laid: {state.packs_to_finish} × {coat.pack}",
        ]
    lines.append(f"to finish at the film specified: {state.packs_specified} × {coat.pack}")
    return "\n".join(lines)
