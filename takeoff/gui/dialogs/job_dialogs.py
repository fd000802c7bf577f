"""Opening jobs, trying the sample, comparing revisions, and who did what."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from tkinter import filedialog

from takeoff import actions
from takeoff.errors import StoreError, TakeoffError
from takeoff.gui.dialogs.common import JOB_TYPES, PLAN_TYPES, AskDialog, Dialog, ask_files, asking, refusal
from takeoff.gui.dialogs.starting import free_place, start_job
from takeoff.gui.host import Host, session_of
from takeoff.gui.widgets import ReadText, Row, ask_save
from takeoff.job.changes import Change
from takeoff.signing import now, person


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
    Row("new", "Keep it as", "The job file to make.", finds="save", types=JOB_TYPES),
)  # fmt: skip
DAMAGED = (
    Row("file", "Damaged job", "It is left as it is.", finds="file", types=JOB_TYPES),
    Row("new", "Save as", "The new job file.", finds="save", types=JOB_TYPES),
)


def open_exported(host: Host) -> Dialog:
    """Ask for an exported job, make a job file of it and open it."""

    def make(new: Path, source: Path) -> None:
        actions.import_json(new, actions.read_file(source, "exported job"), who=person(), at=now()).close()

    return AskDialog(host, "Open an exported job", EXPORTED, "Open it", partial(_into_new, make), width=520)


def rescue(host: Host) -> Dialog:
    """Ask for a damaged job, save what can be trusted of it into a new file, open that, and list what was lost."""

    def make(new: Path, source: Path) -> None:
        lost = actions.rescue_job(source, new, who=person(), at=now())
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
        change, doubts = actions.add_plans(session.store, files, who=person(), at=now())
        told.extend(doubts)
        return change

    done = session.attempt(add, "Done: {}")
    if done and told:
        session.tell(". ".join((session.message, *told)))
    return done
