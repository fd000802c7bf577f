"""Exporting a job, importing walls, what finish codes stand for, and setting rooms by a finish schedule."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial

from takeoff import actions
from takeoff.errors import InputError, TakeoffError
from takeoff.exchange.file_kinds import FORMS
from takeoff.gui.dialogs.common import AskDialog, Dialog, refusal
from takeoff.gui.entries import LENGTH, TEXT, TICK, cove_text, height_text, maybe, read_number
from takeoff.gui.host import Host, session_of
from takeoff.gui.session import Session
from takeoff.gui.widgets import LABEL_WIDTH, THEME, ChoiceField, Row, TextField, bold, button, clear, ctk, label
from takeoff.job.edits import SetSettings
from takeoff.measure.totals import room_label
from takeoff.model.plan import Sheet
from takeoff.trace.schedules.finish_matching import CodeMeaning, FinishedRoom, ScheduleMatch

HOW = {
    "named": "as you said",
    "id": "its name is that of the system",
    "words": "taken by its words alone; choose it to confirm it",
    "": "nothing says which system it is: choose one",
}
NONE = ("", "not said")


def kept_codes(session: Session) -> tuple[CodeMeaning, ...]:
    """Codes that the job keeps a system for."""
    codes = session.job.settings.finish_codes
    return tuple(CodeMeaning(code=code, words="", system=system, how="named") for code, system in codes)


class CodeFields(ctk.CTkFrame):
    """A field for each code, and how it is known; each change is an edit at once, after which ``changed`` is called.

    It may be as ``wide`` as so many pixels at 100 %. With ``refuse``, which is called with what does not fit, there is
    a field for a code more.
    """

    def __init__(
        self,
        parent: tkinter.Misc,
        session: Session,
        wide: int,
        codes: Iterable[CodeMeaning],
        changed: Callable[[], None],
        refuse: Callable[[str], None] | None = None,
    ) -> None:
        super().__init__(parent, fg_color="transparent")
        self._session, self._changed, self._wide = session, changed, wide
        self.fields: dict[str, ChoiceField] = {}
        self._how: dict[str, ctk.CTkLabel] = {}
        label(self, "Finish codes", font=bold()).pack(fill="x")
        self.more: TextField | None = None
        if refuse is not None:
            hint = "A code of a finish schedule, such as WP-1. Then choose the system that it stands for."
            self.more = TextField(self, "Add a code", self._add, refuse, hint=hint)
        self.show(codes)

    def show(self, codes: Iterable[CodeMeaning]) -> None:
        """Show what codes stand for now."""
        for meaning in sorted(codes, key=lambda meaning: meaning.code):
            if meaning.code not in self.fields:
                self._build(meaning.code)
            self.fields[meaning.code].show(meaning.system or "")
            words = f"“{meaning.words}”, " if meaning.words else ""
            self._how[meaning.code].configure(text=f"{words}{HOW[meaning.how]}")
        if self.more is not None:
            self.more.pack(fill="x", pady=2)

    def _build(self, code: str) -> None:
        choices = [NONE, *self._session.systems()]
        field = ChoiceField(self, code, choices, partial(self._put, code), hint="The system that this code stands for.")
        field.pack(fill="x", pady=(2, 0))
        told = label(self, colour=THEME.quiet, height=18, wrap=self._wide - LABEL_WIDTH)
        told.pack(fill="x", padx=(LABEL_WIDTH, 0))
        self.fields[code], self._how[code] = field, told
        if self.more is not None:
            self.more.pack_forget()

    def _add(self, text: str) -> None:
        code = text.strip().upper()
        if not code or code in self.fields:
            raise InputError(f"{code or 'nothing'} is no new code", remedy="Write a code that is not in the list.")
        assert self.more is not None
        self.show((CodeMeaning(code=code, words="", system=None, how=""),))
        self.more.show("")

    def _put(self, code: str, system: str) -> None:
        settings = self._session.job.settings
        codes = {**dict(settings.finish_codes), code: system}
        kept = tuple(sorted((c, s) for c, s in codes.items() if s))
        means = f"stands for {dict(self._session.systems())[system]}" if system else "is not said"
        told = f"Code {code} {means}."
        self._session.do(SetSettings(settings=replace(settings, finish_codes=kept)), told)
        self._changed()


EXPORTS = [("All files", "*"), *((form.title, f"*{form.ending}") for form in FORMS)]
IMPORTS = [("Marked plans, drawings, edits files", "*.pdf *.dxf *.json"), ("All files", "*")]
SHOWN = 40
"""Rooms of a schedule that are listed; more are counted."""


EXPORT = (
    Row("file", "Write to", "The ending says the kind: " + ", ".join(f"{f.ending} {f.words}" for f in FORMS) + ".",
        finds="save", types=EXPORTS),
    Row("flat", "Draw the marks into the pages of a PDF", is_tick=True, kind=TICK),
)  # fmt: skip
IMPORT = (
    Row("file", "Import from", "A marked PDF, a DXF drawing for the sheet that is shown, or an edits file.",
        finds="file", types=IMPORTS),
    Row("height", "Height", "Height of walls that other programs drew, such as 9'-0\". Empty: as the file says.",
        kind=maybe(LENGTH)),
    Row("layers", "Layers of a DXF", "Which layers to read, such as A-WALL*.", kind=TEXT),
    Row("unit", "Unit of a DXF", "How long one unit is, for a DXF that does not say it, such as 1 mm.",
        kind=maybe(LENGTH)),
    Row("origin", "Origin of a DXF",
        "The point of the DXF that lies in the sheet's lower left corner, in its units, such as 0,0."),
)  # fmt: skip


def export(host: Host) -> Dialog:
    """Ask for a file, whose ending says its kind, and write the job into it."""
    path = session_of(host).path
    at = str(path.with_suffix(".pdf"))
    return AskDialog(host, "Export the job", EXPORT, "Export", _export, width=520, file=at)


def _export(dialog: AskDialog) -> str:
    said: list[str] = []
    path, is_flat = dialog.path, bool(dialog.form.text("flat"))
    store = dialog.session.store
    data = actions.export_file(store, path.name, flattened=is_flat, tell=said.append)
    actions.write_file(path, data, "file")
    return ". ".join((f"Written: {path}", *(f"{text[:1].upper()}{text[1:]}" for text in said)))


def take_in(host: Host) -> Dialog:
    """Ask for marked plans or a drawing, and take its walls in."""
    return AskDialog(host, "Import walls", IMPORT, "Import", _take_in, width=520, layers="A-WALL*", origin="0,0")


def _take_in(dialog: AskDialog) -> str | None:
    session, path = dialog.session, dialog.path
    data = actions.read_file(path, "file")
    given = dialog.form.read(session.display)
    match path.suffix.lower():
        case ".pdf":
            taken = actions.import_annotated_pdf(session.store, data, name=path.name, height=given["height"])
        case ".dxf":
            origin = [read_number(part, "Origin") for part in dialog.form.text("origin").split(",")]
            if len(origin) != 2:
                raise InputError("the origin is no point", remedy="Write it as 0,0.")
            given["origin"] = (origin[0], origin[1])
            taken = actions.import_dxf(session.store, data, session.sheet, **given)
        case ".json":
            change = actions.apply_edits(session.store, data)
            return change.label if session.attempt(lambda: change, change.label) else None
        case ending:
            remedy = "Choose a PDF, a DXF or an edits file."
            raise InputError(f"walls are not imported from a {ending} file", remedy=remedy)
    said = f"{taken.count} wall{'s' * (taken.count != 1)} imported. {' '.join(taken.doubts)}".strip()
    return said if session.attempt(lambda: taken.change, said) else None


class ScheduleDialog(Dialog):
    """What its codes stand for, and what a finish schedule would set; nothing is set before it is asked for."""

    def __init__(self, host: Host, match: ScheduleMatch, sheet: Sheet) -> None:
        super().__init__(host, "Finish schedule of this sheet", 640, scrolls=True)
        self._sheet = sheet
        self.codes = CodeFields(self.body, self.session, self.width - 40, match.codes, self._lay_anew)
        self.codes.pack(fill="x")
        self._list = clear(self.body)
        self._list.pack(fill="x")
        self.set_button = button(self.foot, "", self.set_rooms, is_main=True)
        self.leave_button = button(self.foot, "Close", self.close, side="right")
        self._show(match)

    def _lay_anew(self) -> None:
        """Say what would be set now that a code stands for another system."""
        job = self.session.job
        named = dict(job.settings.finish_codes)
        self._show(actions.lay_schedule(job, self._match.schedule, self._sheet, named=named))
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
        names = (" ".join(t for t in (row.number, row.name) if t) for row in match.rows_left)
        lines += [f"No room of the job for {name}." for name in names]
        lines += [f"{doubt[:1].upper()}{doubt[1:].rstrip('.')}." for doubt in match.doubts]
        self.say("\n".join(dict.fromkeys(lines)), into=self._list)
        self.set_button.pack_forget()
        if changed:
            self.set_button.configure(text=f"Set {len(changed)} room{'s' * (len(changed) != 1)}")
            self.set_button.pack(side="right", padx=(8, 0), before=self.leave_button)

    def _words(self, found: FinishedRoom) -> str:
        room, show = found.room, self.session.display
        said = {
            "system": dict(self.session.systems()).get(room.system or "", "no system"),
            "height": f"height {height_text(room.height, show)}",
            "cove": f"cove {cove_text(room.cove, show) or 'none'}",
            "scope": "perhaps not in the contract",
        }
        return f"{room_label(room)}: {', '.join(said[change] for change in found.changes)}"

    def set_rooms(self) -> None:
        """Set the rooms as the schedule has them, as one edit."""
        session, match = self.session, self._match
        self.destroy()
        session.act("Rooms set by the finish schedule", actions.apply_finish_schedule, match)


def finish_schedule(host: Host) -> Dialog:
    """Read the finish schedule of the sheet that is shown; a sheet without one is refused."""
    session = session_of(host)
    try:
        match = actions.read_finish_schedule(session.store, session.sheet)
    except TakeoffError as error:
        return refusal(host, "No finish schedule was read", error)
    return ScheduleDialog(host, match, session.sheet)
