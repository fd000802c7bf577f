"""Tables of what was recorded on site, for the command line and the window alike: steps, recoat clocks, hours."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path

from takeoff.actions.onsite import CoatProgress, step_called
from takeoff.actions.quantities import Priced
from takeoff.actions.site_clocks import RoomClock
from takeoff.actions.site_log import daily_log, hours_by_step
from takeoff.job.job import Job
from takeoff.model.site import PackUse
from takeoff.model.systems import Catalogue
from takeoff.report.csv import table_csv
from takeoff.report.files import write_whole
from takeoff.report.tables import Column, Table, rows_table, texts
from takeoff.units import Display

FINDINGS = {"thin": "too thin", "thick": "too thick", "within": "within tolerance", "not started": "not started"}
STATES = {
    "wait": "wait",
    "open": "open for the next coat",
    "missed": "missed: abrade first",
    "wet": "now, wet into wet",
}


def coats_table(coats: Sequence[CoatProgress], catalogue: Catalogue, show: Display) -> Table:
    """How far each coat is, the film laid against the film specified, and packs to finish."""
    rows = tuple(
        (
            step_called(catalogue, (coat.system, coat.step)),
            100.0 * coat.state.complete,
            f"{coat.target.amount(coat.state.area_done, show)} of {coat.target.amount(coat.target.area, show)}",
            coat.target.laid(coat.state.film, show),
            coat.target.laid(coat.target.wet_film, show),
            FINDINGS[coat.state.verdict],
            f"{coat.state.packs_to_finish} × {coat.pack}",
        )
        for coat in coats
    )
    done = Column(title="Done", unit="%", decimals=0)
    columns = (*texts("Step"), done, *texts("Amount", "Laid", "Specified", "Finding", "To finish"))
    return Table(id="coats", title="Progress", columns=columns, rows=rows)


def clocks_table(clocks: Sequence[RoomClock]) -> Table:
    """Where each surface of each room stands between coats."""
    rows = (
        (
            clock.label,
            clock.surface,
            clock.step,
            STATES[clock.clock.state],
            local_time(clock.clock.opens),
            "" if clock.clock.closes is None else local_time(clock.clock.closes),
        )
        for clock in clocks
    )
    titles = ("Room", "Surface", "Last coat", "Next coat", "Opens", "Closes")
    return rows_table(titles, rows, title="Recoat clocks")


def hours_table(priced: Priced, uses: Sequence[PackUse], show: Display) -> Table:
    """Hours worked beside those estimated, step by step, with the rate that was found on site."""
    rows = [
        (
            step_called(priced.catalogue, (row.system, row.step)),
            f"{row.done * 100:.0f} %",
            f"{row.estimated:.2f} h",
            f"{row.worked:.2f} h",
            row.rate_words(row.labour, show.system),
            row.rate_words(row.found, show.system),
        )
        for row in hours_by_step(priced, tuple(uses))
    ]
    titles = ("Step", "Done", "Estimated", "Worked", "Rate in the catalogue", "Rate found")
    return rows_table(titles, rows, title="Hours by step")


def write_log(job: Job, priced: Priced, path: Path, day: date | None = None) -> Path:
    """Write the log of a day, or of all days, as CSV: readings, steps, hours by person."""
    return write_whole(path, b"".join(table_csv(table) for table in daily_log(job, priced, day)))


def local_time(moment: datetime) -> str:
    """Show a time as the clock on the wall has it; one without a zone as it is.

    Examples
    --------
    >>> local_time(datetime(2026, 3, 4, 15, 0))
    '2026-03-04 15:00'
    """
    return f"{moment.astimezone() if moment.tzinfo else moment:%Y-%m-%d %H:%M}"
