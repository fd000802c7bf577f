"""Handing a job over as a file of another kind, taking walls in from one, and setting rooms by a finish schedule."""

from __future__ import annotations

from pathlib import Path
from tkinter import filedialog

from takeoff import actions
from takeoff.actions.schedules import lay_schedule
from takeoff.errors import InputError, TakeoffError
from takeoff.exchange.forms import FORMS
from takeoff.gui.dialogs.code_fields import CodeFields
from takeoff.gui.dialogs.common import Dialog, ask_save, refusal
from takeoff.gui.host import Host, session_of
from takeoff.gui.widgets.parts import button, clear
from takeoff.job.edits import Change
from takeoff.model.plan import Sheet
from takeoff.signing import now, person
from takeoff.trace.schedules.finish_matching import FinishedRoom, ScheduleMatch

EXPORTS = [(form.title, f"*{form.ending}") for form in FORMS]
IMPORTS = [("Marked plans, drawings, edits files", "*.pdf *.dxf *.json"), ("All files", "*")]
SHOWN = 40
"""Rooms of a schedule that are listed; more are counted."""


def export(host: Host) -> None:
    """Ask for a file, whose ending says its kind, and write the job into it."""
    path = ask_save(host, "Hand the job over as", ".pdf", EXPORTS)
    if path is not None:
        write_export(host, path)


def write_export(host: Host, path: Path) -> bool:
    """Write the job into a file; a refusal is shown."""
    session = session_of(host)
    try:
        said: list[str] = []
        data = actions.export_file(session.store, path.name, who=person(), at=now(), tell=said.append)
        actions.write_file(path, data, "file")
    except TakeoffError as error:
        refusal(host, "The job was not handed over", error)
        return False
    session.tell(". ".join((f"Written: {path}", *(f"{text[:1].upper()}{text[1:]}" for text in said))))
    return True


def take_in(host: Host) -> None:
    """Ask for marked plans or a drawing, and take its walls in."""
    name = filedialog.askopenfilename(parent=host.root, title="Take walls in from", filetypes=IMPORTS)
    if name:
        take_walls_in(host, Path(name))


def take_walls_in(host: Host, path: Path) -> bool:
    """Take the walls of marked plans, or of a drawing for the sheet that is shown, as one edit; a refusal is shown."""
    session = session_of(host)
    store, who, at = session.store, person(), now()
    try:
        data = actions.read_file(path, "file")
        match path.suffix.lower():
            case ".pdf":
                taken = actions.import_annotated_pdf(store, data, who=who, at=at, name=path.name)
            case ".dxf":
                taken = actions.import_dxf(store, data, session.sheet, who=who, at=at)
            case ".json":
                change = actions.apply_edits(store, data, who=who, at=at)
                return session.attempt(lambda: change, change.label)
            case ending:
                remedy = "Choose a PDF, a DXF or an edits file."
                raise InputError(f"walls are not taken in from a {ending} file", remedy=remedy)
    except TakeoffError as error:
        refusal(host, "Nothing was taken in", error)
        return False
    count = taken.count
    said = f"{count} wall{'s' * (count != 1)} taken in. " + " ".join(taken.doubts)
    return session.attempt(lambda: taken.change, said.strip())


class ScheduleDialog(Dialog):
    """What its codes stand for, and what a finish schedule would set; nothing is set before it is asked for."""

    def __init__(self, host: Host, match: ScheduleMatch, sheet: Sheet) -> None:
        super().__init__(host, "Finish schedule of this sheet", 640, scrolls=True)
        self._sheet = sheet
        self.codes = CodeFields(self.body, self.session, match.codes, self._lay_anew)
        self.codes.pack(fill="x")
        self._list = clear(self.body)
        self._list.pack(fill="x")
        self.set_button = button(self.foot, "", self.set_rooms, is_main=True)
        self.leave_button = button(self.foot, "Close", self.close)
        self.leave_button.pack(side="right")
        self._show(match)

    def _lay_anew(self) -> None:
        """Say what would be set now that a code stands for another system."""
        job = self.session.job
        named = dict(job.settings.finish_codes)
        self._show(lay_schedule(job, self._match.schedule, self._sheet, named=named))
        self.codes.show(self._match.codes)

    def _show(self, match: ScheduleMatch) -> None:
        self._match = match
        for child in self._list.winfo_children():
            child.destroy()
        changed = [found for found in match.rooms if found.changes]
        lines = [f"• {self._words(found)}" for found in changed[:SHOWN]]
        if len(changed) > SHOWN:
            lines.append(f"• and {len(changed) - SHOWN} rooms more")
        if not changed:
            lines.append("Every room in the schedule is set as the schedule says already.")
        lines += [
            f"No room of the job for {' '.join(t for t in (row.number, row.name) if t)}." for row in match.rows_left
        ]
        lines += [f"{doubt[:1].upper()}{doubt[1:].rstrip('.')}." for doubt in match.doubts]
        for line in lines:
            self.say(line, into=self._list)
        self.set_button.pack_forget()
        if changed:
            self.set_button.configure(text=f"Set {len(changed)} room{'s' * (len(changed) != 1)}")
            self.set_button.pack(side="right", padx=(8, 0), before=self.leave_button)

    def _words(self, found: FinishedRoom) -> str:
        room = found.room
        name = " ".join(t for t in (room.number, room.name) if t) or room.id
        return f"{name}: {', '.join(found.changes)}"

    def set_rooms(self) -> None:
        """Set the rooms as the schedule has them, as one edit."""
        session = self.session
        done: list[Change | None] = []

        def work() -> object:
            done.append(actions.apply_finish_schedule(session.store, self._match, who=person(), at=now()))
            return done[0]

        self.destroy()
        session.attempt(work, "Rooms set by the finish schedule")


def finish_schedule(host: Host) -> Dialog | None:
    """Read the finish schedule of the sheet that is shown; a sheet without one is refused."""
    session = host.session
    if session is None:
        return None
    try:
        match = actions.read_finish_schedule(session.store, session.sheet)
    except TakeoffError as error:
        return refusal(host, "No finish schedule was read", error)
    return ScheduleDialog(host, match, session.sheet)
