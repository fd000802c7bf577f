"""Checking what a drawing states of its areas against what was measured."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from takeoff.audit.areas import Basis, RoomAreas, room_areas
from takeoff.audit.matching import match_rooms
from takeoff.audit.stated import AreaUnit, StatedArea
from takeoff.audit.verdict import AreaCheck, check_rooms
from takeoff.errors import InputError
from takeoff.exchange.stated_file import StatedTable, read_stated
from takeoff.exchange.stated_sheet import read_stated_sheet
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.rules import rule_named
from takeoff.measure.settings import MeasureSettings
from takeoff.measure.totals import room_label
from takeoff.model.plan import Sheet
from takeoff.report.check_report import CheckReport, write_check_pdf
from takeoff.sheet.text import read_lines
from takeoff.units import Display


def read_stated_areas(
    data: bytes, name: str, *, basis: Basis = "net", unit: AreaUnit | None = None, column: str = ""
) -> StatedTable:
    """Read stated areas from a CSV file or a workbook; where several columns hold areas the basis tells which.

    Raises
    ------
    InputError
        When it is no table of areas, or their unit is missing; it names the row.
    """
    return read_stated(data, name, unit=unit, column=column, prefer="floor" if basis == "floor" else "wall")


def read_sheet_areas(
    store: JobStore, sheet: Sheet, *, basis: Basis = "net", unit: AreaUnit | None = None, column: str = ""
) -> StatedTable:
    """Read stated areas from a table that a sheet of the job shows as text.

    Raises
    ------
    InputError
        When the sheet shows no such table, or the unit is missing.
    """
    name = sheet.number or f"sheet {sheet.id}"
    if sheet.kind == "image":
        raise InputError(f"{name} is a picture and shows no text", remedy="Give the areas as CSV or XLSX instead.")
    lines = read_lines(store.source(sheet.source), sheet)
    prefer = "floor" if basis == "floor" else "wall"
    return read_stated_sheet(lines, name, unit=unit, column=column, prefer=prefer)


def check_areas(
    store: JobStore | Job, stated: Sequence[StatedArea], *, rule: str | None = None, basis: Basis = "net"
) -> AreaCheck:
    """Check stated areas against the measured rooms of a job.

    Parameters
    ----------
    store
        The open job, or its value.
    stated
        What the schedule says.
    rule
        Name of the measuring rule; the job's own where ``None``.
    basis
        What the stated areas are taken to be areas of.

    Returns
    -------
    AreaCheck
        A line for each stated area: the room, both areas, the expanded uncertainty (k = 2) of their difference, the
        verdict, and for a difference its likely causes.

    Raises
    ------
    InputError
        When nothing is stated, or there is no such rule or basis.
    CalibrationError, GeometryError
        As `measure`.
    """
    job = store.job if isinstance(store, JobStore) else store
    if not job.rooms:
        raise InputError("the job has no rooms", remedy="Apply an edits file with rooms and runs first.")
    settings = MeasureSettings(
        corner_threshold=job.settings.corner_threshold,
        height_u=job.settings.height_u,
        rule=rule_named(rule or job.settings.rule).name,
    )
    rooms: dict[str, RoomAreas] = {}
    doubts: list[str] = []
    for room in job.rooms.values():
        runs = [run for run in job.runs.values() if run.room == room.id]
        if runs:
            calibrations = {run.id: job.calibration_for(run) for run in runs}
            rooms[room.id] = room_areas(room, runs, calibrations, settings=settings)
            doubts.extend(d for c in calibrations.values() for d in c.doubts)
    check = check_rooms(
        match_rooms(stated, tuple(job.rooms.values())),
        rooms,
        rule=settings.rule,
        basis=basis,
        labels={room.id: room_label(room) for room in job.rooms.values()},
        display=_display(job),
        doubts=tuple(dict.fromkeys(doubts)),
    )
    return check


def write_check_report(store: JobStore | Job, check: AreaCheck, path: Path, *, source: str, at: str) -> Path:
    """Write a check as a page that can be sent to the author of the drawing.

    Parameters
    ----------
    store
        The open job, or its value.
    check
        What `check_areas` found.
    path
        The PDF to write.
    source
        Name of the table that the areas were stated in.
    at
        The time, ISO 8601; its date goes on the page.

    Raises
    ------
    ReportError
        When it cannot be written.
    """
    job = store.job if isinstance(store, JobStore) else store
    rule = rule_named(check.rule)
    scales = []
    for scale in dict.fromkeys(job.calibration_for(run) for run in job.runs.values() if run.room):
        sheet = job.sheets[scale.sheet]
        name = " ".join(t for t in (sheet.number, sheet.title) if t) or f"Sheet {sheet.id}"
        issue = " ".join(t for t in (sheet.revision and f"revision {sheet.revision}", sheet.date) if t)
        part = f", {scale.region}" if scale.region else ""
        scales.append(
            f"{name}{part}{f' ({issue})' if issue else ''}, 1:{scale.ratio:.4g} ± {2 * scale.u_scale:.1%} (k = 2)"
        )
    report = CheckReport(
        job=job.settings.name,
        date=at[:10],
        source=source,
        check=check,
        rule=f"{rule.name}: {rule.summary}",
        sheets=tuple(scales),
        display=_display(job),
    )
    return write_check_pdf(report, path)


def _display(job: Job) -> Display:
    return Display(system=job.settings.units, precision=job.settings.precision, currency=job.settings.currency)
