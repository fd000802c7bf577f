"""Opening and copying jobs, comparing revisions, settings, repeating an opening, scales of scans; keys and safety."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from tkinter import filedialog

from takeoff import actions
from takeoff.errors import InputError, StoreError, TakeoffError
from takeoff.gui.background import Beside
from takeoff.gui.dialogs.common import JOB_TYPES, PLAN_TYPES, AskDialog, Dialog, FormDialog, ask_files, asking, refusal
from takeoff.gui.dialogs.exchange_dialogs import CodeFields, kept_codes
from takeoff.gui.dialogs.starting import free_place, start_job
from takeoff.gui.entries import COUNT, TEXT, Kind
from takeoff.gui.host import Host, session_of
from takeoff.gui.reading_process import read_scanned_scale, with_store
from takeoff.gui.widgets import THEME, Form, ReadText, Row, TableView, ask_save, label, text_size
from takeoff.job.changes import Change
from takeoff.job.edits import SetSettings
from takeoff.job.wall_edits import RepeatOpening
from takeoff.measure.rules import RULES
from takeoff.report.tables import rows_table
from takeoff.signing import person, set_person, signed
from takeoff.units import parse_count, parse_length


def new_sample(host: Host) -> None:
    """Ask for a folder and start a job on the sample plan in it."""
    folder = filedialog.askdirectory(parent=host.root, title="Folder for the sample job")
    if folder:
        start_sample(host, Path(folder))


def start_sample(host: Host, folder: Path) -> bool:
    """Start a job on the sample plan in a folder."""
    place = free_place(folder, "sample")
    try:
        plan = actions.sample_plans() / "facility-imperial.pdf"
    except TakeoffError as error:
        refusal(host, "There is no sample plan", error)
        return False
    return start_job(host, place, [plan])


open_job = asking("Job to open", JOB_TYPES, lambda host, path: host.open_path(path))
revise = asking("New revision of this sheet", PLAN_TYPES, lambda host, path: host.compare_issue(path))
revise_set = asking("The new set", PLAN_TYPES, lambda host, path: host.compare_set(path))
EXPORTED = (
    Row("file", "Exported job", "The JSON file that it was exported to.", finds="file",
        types=(("Exported jobs", "*.json"), ("All files", "*"))),
    Row("new", "Save as", "The job file to make.", finds="save", types=JOB_TYPES),
)  # fmt: skip
DAMAGED = (
    Row("file", "Damaged job", "It is left as it is.", finds="file", types=JOB_TYPES),
    Row("new", "Save as", "The new job file.", finds="save", types=JOB_TYPES),
)


def open_exported(host: Host) -> Dialog:
    """Ask for an exported job, make a job file of it and open it."""

    def make(new: Path, source: Path) -> None:
        actions.import_json(new, actions.read_file(source, "exported job"), sign=signed).close()

    return AskDialog(host, "Open an exported job", EXPORTED, "Open it", partial(_into_new, make), width=520)


def rescue(host: Host) -> Dialog:
    """Ask for a damaged job, save what can be trusted of it into a new file, open that, and list what was lost."""

    def make(new: Path, source: Path) -> None:
        lost = actions.rescue_job(source, new, sign=signed)
        dialog = Dialog(host, "What was lost or repaired", 560)
        ReadText(dialog.body, "\n".join(lost) or "Nothing.", width=560, height=200).pack(fill="both", expand=True)
        dialog.close_button()

    return AskDialog(host, "Rescue a damaged job", DAMAGED, "Save what can be trusted", partial(_into_new, make),
                     width=520)  # fmt: skip


def _into_new(make: Callable[[Path, Path], None], dialog: AskDialog) -> str | None:
    source, host = dialog.path, dialog.host
    new = Path(dialog.form.text("new") or source.with_suffix(".takeoff")).expanduser()
    make(new, source)
    host.open_path(new)
    return f"Opened {new.name}."


def copy(host: Host) -> None:
    """Ask for a name and save a copy of the job under it; work goes on in the job."""
    at = session_of(host).path
    path = ask_save(host.root, "Save a copy of the job as", at.with_name(f"{at.stem}-copy.takeoff"), JOB_TYPES)
    if path is not None:
        save_copy(host, path)


def save_copy(host: Host, path: Path) -> bool:
    """Save a copy of the job; a file that a person chose to write over is written over."""
    session = session_of(host)
    try:
        if path.exists() and path.resolve() != session.path.resolve():
            path.unlink()
        session.store.copy_to(path)
    except (TakeoffError, OSError) as error:
        told = error if isinstance(error, TakeoffError) else StoreError(str(error), remedy="Choose another place.")
        refusal(host, "No copy was saved", told)
        return False
    session.tell(f"Copy saved: {path}")
    return True


def history(host: Host) -> Dialog:
    """Show who did what when."""
    dialog = Dialog(host, "History", 640)
    words = {"do": "", "undo": "undid: ", "redo": "redid: "}
    lines = actions.history(dialog.session.store)
    told = "\n".join(f"{h.at[:16].replace('T', ' ')}  {h.who}  {words[h.verb]}{h.label}" for h in reversed(lines))
    made = ReadText(dialog.body, dialog.session.named(told), width=dialog.width, height=300, wrap="none")
    made.pack(fill="both", expand=True)
    dialog.close_button()
    return dialog


def add_plans(host: Host) -> None:
    """Ask for further plan files and add the sheets that the job does not have."""
    paths = ask_files(host, "Plans to add", PLAN_TYPES, several=True)
    if paths:
        take_plans(host, paths)


def take_plans(host: Host, paths: Sequence[Path]) -> bool:
    """Add the sheets of plan files that the job does not have, and tell what was left out."""
    session, told = session_of(host), list[str]()

    def add() -> Change:
        files = [(path.name, actions.read_file(path, "plan file")) for path in paths]
        change, doubts = actions.add_plans(session.store, files)
        told.extend(doubts)
        return change

    done = session.attempt(add, "Done: {}")
    if done and told:
        session.tell(". ".join((session.message, *told)))
    return done


REPEAT = (
    Row("count", "How many more", "Number of copies along the wall."),
    Row("spacing", "Every", "From the centre of one to the centre of the next."),
)
# fmt: off
SETTINGS = (
    Row("name", "Job", kind=TEXT),
    Row("units", "Units", "How lengths are read and shown.",
        [("imperial", "feet and inches, square feet"), ("metric", "millimetres, square metres")], TEXT),
    Row("precision", "Fractions", "", [(str(n), f"to 1/{n} in") for n in (2, 4, 8, 16, 32)], COUNT),
    Row("currency", "Currency", "Three letters: USD, EUR …", kind=Kind(read=lambda text, *_: _currency(text))),
    Row("rule", "Pay by", "The measuring rule for payment. Material is always ordered by the exact net area.",
        [(name, name) for name in RULES], TEXT),
    Row("person", "Your name",
        "What you do from now on is recorded under it, in every job. Empty for your login name."),
)
# fmt: on
KEYS_SHOWN = 22
"""Keys that are seen at once at 100 % text."""

CAUTIONS = """Figures are no better than the drawing, the scale and what was traced: check them before you sign.

Sanding makes dust that can hold crystalline silica; some resins hold isocyanates or skin sensitisers; solvents burn \
and need ventilation; walls are coated from height. The product's safety data sheet, local codes and licensed practice \
come before anything that this program shows.

takeoff is free software under the GNU Affero General Public License, version 3 or later. There is no warranty."""


def _currency(text: str) -> str:
    letters = text.strip()
    if not (len(letters) == 3 and letters.isascii() and letters.isalpha()):
        raise InputError(f'"{letters}" is no currency', remedy="Write its three letters, such as USD.")
    return letters.upper()


def repeat_dialog(host: Host) -> Dialog:
    """Ask how often and how far apart the selected opening repeats."""
    session = session_of(host)
    assert session.selection.opening is not None
    id, number = session.selection.opening
    wide = session.job.runs[id].openings[number].width

    def repeat(dialog: AskDialog) -> str | None:
        times = parse_count(dialog.form.text("count"))
        apart = parse_length(dialog.form.text("spacing"), system=session.display.system)
        return session.message if session.do(RepeatOpening(run=id, index=number, count=times, spacing=apart)) else None

    every = session.display.length(2 * wide)
    return AskDialog(
        host, "Repeat the opening", REPEAT, "Repeat", repeat, width=320, takes_enter=True, count="1", spacing=every
    )


class SettingsDialog(Dialog):
    """Name, units, currency and measuring rule of the job; each change is an edit at once."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "Units and rules", scrolls=True)
        self.form = Form(self.body, SETTINGS, self.refuse, commit=self._put)
        self.source = label(self.body, wrap=440, colour=THEME.quiet)
        self.source.pack(fill="x", pady=4)
        self.codes = CodeFields(
            self.body, self.session, self.width - 40, kept_codes(self.session), self._show_codes, self.refuse
        )
        self.codes.pack(fill="x")
        self._show()
        self.close_button()

    def _show_codes(self) -> None:
        self.codes.show(kept_codes(self.session))

    def _show(self) -> None:
        s = self.session.job.settings
        self.form.show_of(self.session.display, s)
        self.form.show(person=person())
        rule = RULES[s.rule]
        self.source.configure(text=f"{rule.name}: {rule.summary} Source: {rule.source}.")

    def _put(self, key: str, text: str) -> None:
        self.refuse("")
        if key == "person":
            set_person(text)
            self.session.tell(f"What you do from now on is recorded under: {person()}")
        else:
            settings = replace(self.session.job.settings, **self.form.read(self.session.display, key))
            self.session.do(SetSettings(settings=settings), "Settings changed")
        self._show()


class ScanScaleDialog(FormDialog):
    """Say what it takes, and read; the button that closes it stops it meanwhile."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "Scale of a scan", (), "Read it")
        self.say("Reads dimensions, scale bar and note off the picture. It takes a minute or more; you can work on.")
        self._sheet = self.session.sheet
        self._reading: Beside[list[str]] = Beside(self, self.refuse, self._taken, "The scale was not read", self._ended)

    def act(self) -> None:
        if not self._reading.is_waiting:
            self.good(f"Reading {self._sheet.number or 'the sheet'} …")
            self.leave_button.configure(text="Stop")
            self._reading.begin(with_store, self.session.path, read_scanned_scale, self._sheet.id)

    def _ended(self) -> None:
        self.leave_button.configure(text="Close")

    def _taken(self, doubts: list[str]) -> None:
        self.session.take_up()
        self.good("\n".join(("The scale is set from the scan.", *doubts)), is_well=not doubts)


OTHER_KEYS: tuple[tuple[str, str], ...] = (
    ("Wheel", "Zoom about the pointer"),
    ("Middle or right drag, Space + drag", "Move the sheet"),
    ("Digits", "Begin a length in the entry line; Enter takes it"),
    ("Enter", "Finish what is under way"),
    ("Backspace", "Take the last point back"),
    ("Escape", "Drop what is under way, asking first; then go back to Select"),
    ("Shift", "Hold a right angle while tracing, at snaps too; move level or upright"),
    ("Arrow keys", "Move the selected point, opening or wall by 1 in or 1 cm; with Shift ten times as far"),
    (
        "A place: 12', 8'6\"",
        "While tracing: put a point this far right of the sheet's top left corner and this far below it",
    ),
    ("C", "Close the line while tracing"),
    ("A", "Arc while tracing: its end, then a point on it"),
    ("A on a point", "Bend the wall after the selected point into an arc"),
    ("N, P, K, B", "New revision: next, previous, take or leave, whose lines are shown"),
    ("Left, Right, L", "New revision: fade to the old one, to the new one, blink between them"),
    ("Y, E, C, N", "A room that is to be looked at: take it, edit it, not coated, leave it open"),
    ("W", "Door or window, while placing openings"),
    ("Control + click", "Add a wall to what is selected, or take it out"),
)
"""Keys that are no commands."""


def keys(host: Host, rows: Sequence[tuple[str, str]]) -> Dialog:
    """Show every key, those of commands first."""
    dialog = Dialog(host, "Keys", 700)
    table = TableView(dialog.body, rows=round(KEYS_SHOWN / text_size()))
    table.pack(fill="both", expand=True)
    table.show(rows_table(("Key", "What it does"), (*rows, *OTHER_KEYS)))
    dialog.close_button()
    return dialog


def about(host: Host) -> Dialog:
    """Show the cautions and the licence."""
    dialog = Dialog(host, "Safety and licence")
    dialog.say(CAUTIONS)
    dialog.close_button()
    return dialog
