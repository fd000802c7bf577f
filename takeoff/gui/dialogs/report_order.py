"""Writing reports on a thread of its own, from the job file as it is on disk. No toolkit in here."""

from __future__ import annotations

import threading
from datetime import datetime
from pathlib import Path
from typing import Literal

from takeoff import actions
from takeoff.errors import ReportError, TakeoffError
from takeoff.report.kinds import ReportKind, ReportOrder
from takeoff.report.letterhead import Edition


class ReportJob(threading.Thread):
    """One lot of reports being written.

    Parameters
    ----------
    job
        The job file; every edit is in it already.
    folder
        Where to write.
    order
        What to write.
    at
        The time, ISO 8601.
    """

    def __init__(self, job: Path, folder: Path, order: ReportOrder, at: str) -> None:
        super().__init__(name="reports", daemon=True)
        self._job, self._folder, self._order, self._at = job, folder, order, at
        self._stopped = threading.Event()
        self.fraction = 0.0
        self.error: TakeoffError | None = None
        self.paths: tuple[Path, ...] = ()
        self.is_done = False

    def run(self) -> None:
        """Write them."""
        try:
            with actions.open_job(self._job) as store:
                made = actions.make_reports(store, self._folder, self._order, at=self._at, progress=self._progress)
            self.paths = made.paths
            self.error = made.failures[0] if made.failures else None
        except TakeoffError as error:
            self.error = error
        except OSError as error:
            self.error = ReportError(f"{error.filename}: {error.strerror}", remedy="Choose another folder.")
        finally:
            self.is_done = True

    def _progress(self, fraction: float) -> None:
        self.fraction = fraction
        if self._stopped.is_set():
            raise ReportError("stopped", remedy="What was written before is kept.")

    def stop(self) -> None:
        """Stop at the next step."""
        self._stopped.set()


def currency_of(folder: Path, kind: ReportKind, changed: str, edition: Edition) -> Literal["none", "current", "older"]:
    """Tell whether there is a report of a kind in a folder, and whether it is newer than the job's last change.

    Parameters
    ----------
    folder
        Where reports are written.
    kind, edition
        Which.
    changed
        When the job was changed last, ISO 8601 to the second. A report of the same second counts as older.
    """
    try:
        written = (folder / kind.files[edition]).stat().st_mtime
    except (KeyError, OSError):
        return "none"
    return "current" if int(written) > datetime.fromisoformat(changed).timestamp() else "older"
