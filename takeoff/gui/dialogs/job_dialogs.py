"""Starting jobs, opening them, and who did what in them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tkinter import filedialog

from takeoff import actions
from takeoff.errors import TakeoffError
from takeoff.gui.dialogs.common import PLAN_TYPES, Dialog, refusal
from takeoff.gui.host import Host
from takeoff.gui.widgets.toolkit import ctk
from takeoff.job.edits import SetSettings
from takeoff.job.job import JobSettings
from takeoff.job.store import JobStore
from takeoff.signing import now, person

JOB_TYPES = [("Job files", "*.takeoff"), ("All files", "*")]


def new_job(host: Host) -> None:
    """Ask for plan files and a place, and start a job."""
    plans = filedialog.askopenfilenames(parent=host.root, title="Plans to take in", filetypes=PLAN_TYPES)
    if plans:
        place_job(host, [Path(p) for p in plans])


def place_job(host: Host, plans: list[Path]) -> None:
    """Ask where to keep the job of plan files, and start it."""
    first = plans[0]
    place = filedialog.asksaveasfilename(
        parent=host.root,
        title="Where to keep the job",
        initialdir=first.parent,
        initialfile=f"{first.stem}.takeoff",
        defaultextension=".takeoff",
        filetypes=JOB_TYPES,
    )
    if place:
        start_job(host, Path(place), plans)


def start_job(host: Host, place: Path, plans: list[Path]) -> bool:
    """Start a job from plan files; a refusal is shown."""
    try:
        files = [(p.name, actions.read_file(p, "plan file")) for p in plans]
        store, doubts = actions.new_job(place, files, JobSettings(name=place.stem), who=person(), at=now())
    except TakeoffError as error:
        refusal(host, "The job was not started", error)
        return False
    _take_units(store)
    host.take(store)
    assert host.session is not None
    count = len(store.job.sheets)
    told = f"{count} sheet{'s' * (count > 1)} taken in. " + " ".join(doubts)
    host.session.tell(told.strip())
    return True


def _take_units(store: JobStore) -> None:
    """Take metric units where the sheets' notes are ratios and none is in feet and inches."""
    notes = [sheet.scale_note for sheet in store.job.sheets.values() if sheet.scale_note]
    if any(":" in note for note in notes) and not any(mark in note for note in notes for mark in "'\"′″"):
        settings = replace(store.job.settings, units="metric")
        store.do(SetSettings(settings=settings), who=person(), at=now())


def new_sample(host: Host) -> None:
    """Ask for a folder and start a job on the sample plan in it."""
    folder = filedialog.askdirectory(parent=host.root, title="Folder for the sample job")
    if folder:
        start_sample(host, Path(folder))


def start_sample(host: Host, folder: Path) -> bool:
    """Start a job on the sample plan in a folder."""
    place = folder / "sample.takeoff"
    n = 2
    while place.exists():
        place = folder / f"sample-{n}.takeoff"
        n += 1
    try:
        plan = actions.sample_plans() / "facility-imperial.pdf"
    except TakeoffError as error:
        refusal(host, "There is no sample plan", error)
        return False
    return start_job(host, place, [plan])


def open_job(host: Host) -> None:
    """Ask for a job file and open it."""
    path = filedialog.askopenfilename(parent=host.root, title="Job to open", filetypes=JOB_TYPES)
    if path:
        host.open_path(Path(path))


def history(host: Host) -> Dialog:
    """Show who did what when."""
    assert host.session is not None
    dialog = Dialog(host, "History", 640)
    box = ctk.CTkTextbox(dialog.body, width=dialog.width, height=300, wrap="none")
    words = {"do": "", "undo": "undid: ", "redo": "redid: "}
    lines = actions.history(host.session.store)
    box.insert(
        "1.0", "\n".join(f"{h.at[:16].replace('T', ' ')}  {h.who}  {words[h.verb]}{h.label}" for h in reversed(lines))
    )
    box.configure(state="disabled")
    box.pack(fill="both", expand=True)
    dialog.close_button()
    return dialog


def revise(host: Host) -> None:
    """Ask for the plan file of a new issue and compare it with the sheet that is shown."""
    path = filedialog.askopenfilename(parent=host.root, title="New revision of this sheet", filetypes=PLAN_TYPES)
    if path:
        host.compare_issue(Path(path))
