"""Writing reports on a thread of its own, from the job file as it is on disk. No toolkit in here."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Literal

from takeoff import actions
from takeoff.errors import ReportError, TakeoffError
from takeoff.report.bid import PriceBy
from takeoff.report.printing import Paper

FILES: dict[actions.ReportFormat, str] = {
    "pdf": "report.pdf",
    "html": "report.html",
    "xlsx": "report.xlsx",
    "csv": "price.csv",
    "dxf": "runs.dxf",
}
"""A file of each kind of the full report."""
BID_FILES: dict[actions.ReportFormat, str] = {
    "pdf": "bid.pdf",
    "html": "bid.html",
    "xlsx": "bid.xlsx",
    "csv": "bid-price.csv",
    "dxf": "runs.dxf",
}
"""A file of each kind of a bid."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportOrder:
    """What to write: where, which kinds, with which files, on which paper, days from when and by how many crews.

    ``edition`` is the full report or the bid, which sets out the price as ``price_by`` says.
    """

    folder: Path
    formats: tuple[actions.ReportFormat, ...]
    letterhead: Path | None = None
    catalogue: Path | None = None
    paper: Paper | None = None
    start: date | None = None
    crews: int = 1
    edition: actions.Edition = "full"
    price_by: PriceBy = "lump-sum"


class ReportJob(threading.Thread):
    """One lot of reports being written.

    Parameters
    ----------
    job
        The job file; every edit is in it already.
    order
        What to write.
    at
        The time, ISO 8601.
    """

    def __init__(self, job: Path, order: ReportOrder, at: str) -> None:
        super().__init__(name="reports", daemon=True)
        self._job, self._order, self._at = job, order, at
        self._stopped = threading.Event()
        self.fraction = 0.0
        self.error: TakeoffError | None = None
        self.paths: tuple[Path, ...] = ()
        self.is_done = False

    def run(self) -> None:
        """Write them."""
        order = self._order
        try:
            letterhead = None if order.letterhead is None else actions.read_letterhead(order.letterhead)
            catalogue = None if order.catalogue is None else actions.read_catalogue(order.catalogue)
            with actions.open_job(self._job) as store:
                made = actions.make_reports(
                    store,
                    order.folder,
                    formats=order.formats,
                    at=self._at,
                    letterhead=letterhead,
                    catalogue=catalogue,
                    paper=order.paper,
                    start=order.start,
                    crews=order.crews,
                    progress=self._progress,
                    edition=order.edition,
                    price_by=order.price_by,
                )
            self.paths = made.paths
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


def currency_of(
    folder: Path, kind: actions.ReportFormat, changed: str, edition: actions.Edition
) -> Literal["none", "current", "older"]:
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
        written = (folder / (BID_FILES if edition == "bid" else FILES)[kind]).stat().st_mtime
    except OSError:
        return "none"
    return "current" if int(written) > datetime.fromisoformat(changed).timestamp() else "older"
