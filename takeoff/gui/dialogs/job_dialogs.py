"""Starting jobs, opening them, and who did what in them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tkinter import filedialog
from typing import TYPE_CHECKING

from takeoff import actions
from takeoff.errors import TakeoffError
from takeoff.gui.dialogs.common import PLAN_TYPES, Dialog, refusal
from takeoff.gui.widgets.toolkit import ctk
from takeoff.job.edits import SetSettings
from takeoff.job.job import JobSettings
from takeoff.job.store import JobStore
from takeoff.signing import now, person

if TYPE_CHECKING:
    from takeoff.gui.app import DeskWindow

JOB_TYPES = [("Job files", "*.takeoff"), ("All files", "*")]


def new_job(window: DeskWindow) -> None:
    """Ask for plan files and a place, and start a job."""
    plans = filedialog.askopenfilenames(parent=window, title="Plans to take in", filetypes=PLAN_TYPES)
    if plans:
        place_job(window, [Path(p) for p in plans])


def place_job(window: DeskWindow, plans: list[Path]) -> None:
    """Ask where to keep the job of plan files, and start it."""
    first = plans[0]
    place = filedialog.asksaveasfilename(
        parent=window,
        title="Where to keep the job",
        initialdir=first.parent,
        initialfile=f"{first.stem}.takeoff",
        defaultextension=".takeoff",
        filetypes=JOB_TYPES,
    )
    if place:
        start_job(window, Path(place), plans)


def start_job(window: DeskWindow, place: Path, plans: list[Path]) -> bool:
    """Start a job from plan files; a refusal is shown."""
    try:
        files = [(p.name, actions.read_file(p, "plan file")) for p in plans]
        store, doubts = actions.new_job(place, files, JobSettings(name=place.stem), who=person(), at=now())
    except TakeoffError as error:
        refusal(window, "The job was not started", error)
        return False
    _take_units(store)
    window.take(store)
    assert window.session is not None
    count = len(store.job.sheets)
    told = f"{count} sheet{'s' * (count > 1)} taken in. " + " ".join(doubts)
    window.session.tell(told.strip())
    return True


def _take_units(store: JobStore) -> None:
    """Take metric units where the sheets' notes are ratios and none is in feet and inches."""
    notes = [sheet.scale_note for sheet in store.job.sheets.values() if sheet.scale_note]
    if any(":" in note for note in notes) and not any(mark in note for note in notes for mark in "'\"′″"):
        settings = replace(store.job.settings, units="metric")
        store.do(SetSettings(settings=settings), who=person(), at=now())


def new_sample(window: DeskWindow) -> None:
    """Ask for a folder and start a job on the sample plan in it."""
    folder = filedialog.askdirectory(parent=window, title="Folder for the sample job")
    if folder:
        start_sample(window, Path(folder))


def start_sample(window: DeskWindow, folder: Path) -> bool:
    """Start a job on the sample plan in a folder."""
    place = folder / "sample.takeoff"
    n = 2
    while place.exists():
        place = folder / f"sample-{n}.takeoff"
        n += 1
    try:
        plan = actions.sample_plans() / "facility-imperial.pdf"
    except TakeoffError as error:
        refusal(window, "There is no sample plan", error)
        return False
    return start_job(window, place, [plan])


def open_job(window: DeskWindow) -> None:
    """Ask for a job file and open it."""
    path = filedialog.askopenfilename(parent=window, title="Job to open", filetypes=JOB_TYPES)
    if path:
        window.open_path(Path(path))


def history(window: DeskWindow) -> None:
    """Show who did what when."""
    assert window.session is not None
    dialog = Dialog(window, "History", 640)
    box = ctk.CTkTextbox(dialog.body, width=dialog.width, height=300, wrap="none")
    words = {"do": "", "undo": "took back: ", "redo": "did again: "}
    lines = actions.history(window.session.store)
    box.insert(
        "1.0", "\n".join(f"{h.at[:16].replace('T', ' ')}  {h.who}  {words[h.verb]}{h.label}" for h in reversed(lines))
    )
    box.configure(state="disabled")
    box.pack(fill="both", expand=True)
    dialog.close_button()
