"""Files dropped on the window: plans and job files do what choosing them does, wherever the toolkit takes drops."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from takeoff.errors import InputError
from takeoff.gui.dialogs.common import PLAN_TYPES, Dialog, refusal
from takeoff.gui.dialogs.starting import NewJobDialog
from takeoff.gui.host import Host
from takeoff.gui.widgets.parts import button

JOB_ENDING = ".takeoff"
PLAN_ENDINGS = tuple(PLAN_TYPES[0][1].replace("*", "").split())


def accept_files(root: Any, take: Callable[[list[Path]], object]) -> bool:
    """Have files that are dropped anywhere on a root window handed over.

    They are handed over once the program that they come from has been told that they were taken.

    Returns
    -------
    bool
        Whether files can be dropped here: the library for it loads on this system.
    """
    try:
        from tkinterdnd2 import DND_FILES, TkinterDnD

        TkinterDnD.require(root)
    except (ImportError, RuntimeError):
        return False

    def dropped(names: str) -> str:
        root.after_idle(partial(take, [Path(name) for name in root.tk.splitlist(names)]))
        return "copy"

    root.tk.call("tkdnd::drop_target", "register", root, (DND_FILES,))
    root.tk.call("bind", root, "<<Drop>>", f"{root.register(dropped)} %D")
    return True


def take_dropped(host: Host, paths: Sequence[Path]) -> None:
    """Open a job file, start a job from plans, or ask what a plan is while a job is open; refuse anything else."""
    endings = {path.suffix.lower() for path in paths}
    if len(paths) == 1 and endings == {JOB_ENDING}:
        host.open_path(paths[0])
    elif not paths or not endings <= set(PLAN_ENDINGS):
        what = ", ".join(path.name for path in paths) or "nothing"
        error = InputError(
            f"dropped: {what}", remedy=f"Drop one job file ({JOB_ENDING}), or plans ({', '.join(PLAN_ENDINGS)})."
        )
        refusal(host, "This cannot be taken in", error)
    elif host.session is None:
        NewJobDialog(host, list(paths))
    else:
        DroppedPlans(host, list(paths))


class DroppedPlans(Dialog):
    """Asks what plans are that were dropped while a job is open."""

    def __init__(self, host: Host, paths: list[Path]) -> None:
        super().__init__(host, "Plans were dropped" if len(paths) > 1 else "A plan was dropped")
        sheet = self.session.sheet
        name = " ".join(t for t in (sheet.number, sheet.title) if t) or f"sheet {sheet.id}"
        self.say("\n".join(path.name for path in paths))
        self.new = button(self.foot, "Plans of a new job…", partial(self._do, partial(NewJobDialog, host, paths)))
        self.new.pack(side="left")
        button(self.foot, "Cancel", self.close).pack(side="right")
        if len(paths) == 1:
            self.say(f"Is it a new revision of {name}, the sheet that is shown, or the plan of another job?")
            compare = partial(self._do, partial(host.compare_issue, paths[0]))
            self.issue = button(self.foot, "A new revision of this sheet", compare, is_main=True)
            self.issue.pack(side="left", padx=8)
        else:
            self.say("A new revision is taken in sheet by sheet: drop one file for that.")

    def _do(self, work: Callable[[], object]) -> None:
        self.close()
        work()
