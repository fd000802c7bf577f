"""The order list of a job: by delivery, from the plan of days."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from takeoff.actions.planning import plan_job
from takeoff.actions.points.site import KEEPING, assumed_times
from takeoff.actions.quantities import Priced
from takeoff.errors import InputError
from takeoff.estimate.orders import OrderLine, order_list
from takeoff.job.job import Job
from takeoff.report.files import table_csv, write_whole
from takeoff.report.planning_tables import order_table, order_workbook


def order_lines(job: Job, priced: Priced, *, start: date | None = None) -> tuple[OrderLine, ...]:
    """Return the order list of a priced job.

    Parameters
    ----------
    job, priced
        A job and its price. Lead times and shelf lives that a person confirmed are no longer marked as assumed.
    start
        First day; that of the job's terms where ``None``. Where those have none either, nothing is dated.
    """
    is_dated = start is not None or (priced.terms is not None and priced.terms.is_dated)
    lines = order_list(priced.estimate, priced.catalogue, plan_job(priced, start=start) if is_dated else None)
    known = job.settled.get(KEEPING)
    if known is None or known.state != assumed_times(priced):
        return lines
    return tuple(replace(line, assumed=()) for line in lines)


def write_order(job: Job, lines: tuple[OrderLine, ...], path: Path) -> Path:
    """Write an order list as CSV or as a workbook, by the name of the file.

    Raises
    ------
    InputError
        When the name ends in neither .csv nor .xlsx.
    """
    kind = path.suffix.lower()
    if kind == ".csv":
        return write_whole(path, table_csv(order_table(lines)))
    if kind != ".xlsx":
        raise InputError(
            f'"{path.name}" is neither CSV nor a workbook', remedy="Name it such as order.csv or order.xlsx."
        )
    return write_whole(path, order_workbook(lines, job.settings.name, job.settings.display))
