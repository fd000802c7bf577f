"""Opening jobs, trying the sample, comparing revisions, and who did what."""

from __future__ import annotations

from pathlib import Path
from tkinter import filedialog

from takeoff import actions
from takeoff.errors import StoreError, TakeoffError
from takeoff.gui.dialogs.common import JOB_TYPES, PLAN_TYPES, Dialog, ask_save, refusal
from takeoff.gui.dialogs.starting import free_place, start_job
from takeoff.gui.host import Host, session_of
from takeoff.gui.widgets.parts import ReadText


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


def open_job(host: Host) -> None:
    """Ask for a job file and open it."""
    path = filedialog.askopenfilename(parent=host.root, title="Job to open", filetypes=JOB_TYPES)
    if path:
        host.open_path(Path(path))


def copy(host: Host) -> None:
    """Ask for a name and save a copy of the job under it; work goes on in the job."""
    path = ask_save(host, "Save a copy of the job as", "-copy.takeoff", JOB_TYPES)
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
    ReadText(dialog.body, told, width=dialog.width, height=300, wrap="none").pack(fill="both", expand=True)
    dialog.close_button()
    return dialog


def revise(host: Host) -> None:
    """Ask for the plan file of a new issue and compare it with the sheet that is shown."""
    path = filedialog.askopenfilename(parent=host.root, title="New revision of this sheet", filetypes=PLAN_TYPES)
    if path:
        host.compare_issue(Path(path))
