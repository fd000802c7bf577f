"""The command that opens the window."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from takeoff import actions
from takeoff.cli.options import arg
from takeoff.errors import InputError


def open_window(
    job: Annotated[Path | None, arg("JOB", "The job file. Not given: the start screen.")] = None,
) -> None:
    """Open the window, on a job or on its start screen."""
    try:
        import tkinter
    except ImportError as error:
        raise InputError(
            "this Python has no Tk, which the window needs", remedy="Install it: apt install python3-tk libtk8.6."
        ) from error
    from takeoff.gui.app import DeskWindow

    try:
        window = DeskWindow()
    except tkinter.TclError as error:
        raise InputError(f"the window cannot be opened ({error})", remedy="It needs a display.") from error
    if job is not None:
        try:
            window.take(actions.open_job(job))
        except BaseException:
            window.shut()
            raise
    window.mainloop()
