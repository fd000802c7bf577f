"""The daily log of a site, and hours as worked against hours as estimated, by step."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from operator import itemgetter
from pathlib import Path
from typing import TypeVar

from takeoff.actions.onsite import CoatProgress, step_called, step_of, whole_of
from takeoff.actions.quantities import Priced
from takeoff.actions.readings import RoomClock, judge_reading
from takeoff.errors import InputError
from takeoff.estimate.climate import degrees
from takeoff.estimate.onsite import counted_words
from takeoff.job.changes import Change
from takeoff.job.edits import Batch, PutSystem
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.totals import room_label
from takeoff.model.site import PackUse, Reading, read_moment
from takeoff.model.systems import Catalogue, Labour, Step
from takeoff.report.files import table_csv, write_whole
from takeoff.report.tables import Cell, Column, Table, rows_table, texts
from takeoff.system.bases import basis_kind
from takeoff.system.words import BasisKind, Words
from takeoff.units import Display, UnitSystem

Record = TypeVar("Record", PackUse, Reading)


def daily_log(job: Job, priced: Priced, day: date | None = None) -> tuple[Table, ...]:
    """Return what was recorded on site as tables: readings, steps with packs, hours by person.

    ``day``: of the clock on the wall where this runs; all days where ``None``.
    """
    show = job.settings.display

    def of_day(records: Iterable[Record]) -> list[tuple[datetime, Record]]:
        found = [(read_moment(one.when), one) for one in records if one.when]
        return sorted((pair for pair in found if day in (None, pair[0].date())), key=itemgetter(0))

    def room(id: str | None) -> str:
        return room_label(job.rooms[id]) if id is not None and id in job.rooms else ""

    readings: list[tuple[Cell, ...]] = []
    for at, reading in of_day(job.readings.values()):
        air, wall = degrees(reading.air, show.system), degrees(reading.surface, show.system)
        moisture = "" if reading.moisture is None else f"{reading.moisture * 100:g} %"
        said = judge_reading(job, reading).lines[0]
        row = (f"{at:%Y-%m-%d %H:%M}", room(reading.room), air, wall, f"{reading.humidity * 100:g} %", moisture)
        readings.append((*row, said, reading.note))
    steps: list[tuple[Cell, ...]] = []
    people: dict[tuple[str, str], float] = {}
    for at, use in of_day(job.uses.values()):
        packs = f"{use.packs:g} × {use.pack}" if use.packs else ""
        done = counted_words(use.area, use.counted, show) if use.area else ""
        what = (room(use.room), step_called(priced.catalogue, (use.system, use.step)), packs, done)
        steps.append((f"{at:%Y-%m-%d %H:%M}", *what, f"{use.hours:g}" if use.hours else "", use.note))
        if use.hours:
            key = (f"{at:%Y-%m-%d}", use.person or "not named")
            people[key] = people.get(key, 0.0) + use.hours
    hours = tuple((*key, value) for key, value in sorted(people.items()))
    return (
        _table("readings", "Readings", "When, Room, Air, Wall, Humidity, Moisture, Finding, Note", readings),
        _table("steps", "Steps", "When, Room, Step, Packs, Done, Hours, Note", steps),
        _table("hours", "Hours by person", "Day, Person, Man-hours", hours),
    )


def _table(id: str, title: str, columns: str, rows: list[tuple[Cell, ...]] | tuple[tuple[Cell, ...], ...]) -> Table:
    """Make a table of texts; man-hours are a number."""
    made = tuple(
        Column(title=name, unit="h", decimals=2) if name == "Man-hours" else Column(title=name, kind="text")
        for name in columns.split(", ")
    )
    return Table(id=id, title=title, columns=made, rows=tuple(rows), note="" if rows else "Nothing is recorded.")


@dataclass(frozen=True, slots=True, kw_only=True)
class StepHours:
    """Hours of a step as estimated for what is done of it, and as worked.

    ``done`` is the part of the step that is done; ``found`` the labour that would have estimated what was worked, None
    where no hours or nothing done are recorded.
    """

    system: str
    step: str
    name: str
    done: float
    estimated: float
    worked: float
    labour: Labour
    found: Labour | None
    counted: BasisKind

    def rate_words(self, labour: Labour | None, system: UnitSystem) -> str:
        """Write a rate of production in units of this system."""
        if labour is None or labour.rate is None:
            return "" if labour is None or labour.minutes is None else f"{labour.minutes:.3g} min each"
        return Words(first=system).short_amount(labour.rate, self.counted) + "/h"


def hours_by_step(priced: Priced, uses: tuple[PackUse, ...]) -> tuple[StepHours, ...]:
    """Set hours worked beside those estimated for the same part of each step, in the order of the estimate.

    Rate found = rate estimated with × hours estimated for what is done ÷ hours worked, so that height and corners weigh
    in both alike.
    """
    out = []
    for key in dict.fromkeys((use.system, use.step) for use in uses if use.hours):
        step = step_of(priced.catalogue, key)
        mine = [use for use in uses if (use.system, use.step) == key]
        whole = whole_of(priced, key)
        done = min(1.0, math.fsum(use.area for use in mine) / whole) if whole > 0.0 else 0.0
        lines = [line.hours for line in priced.estimate.labour if (line.system, line.step) == key]
        estimated, worked = math.fsum(lines) * done, math.fsum(use.hours for use in mine)
        labour = step.labour or Labour()
        out.append(
            StepHours(
                system=key[0],
                step=key[1],
                name=step.name,
                done=done,
                estimated=estimated,
                worked=worked,
                labour=labour,
                counted=basis_kind(step.basis),
                found=_found(step, estimated / worked) if estimated > 0.0 else None,
            )
        )
    return tuple(out)


def _found(step: Step, faster: float) -> Labour | None:
    """Return a step's labour so many times as fast."""
    labour = step.labour
    if labour is None:
        return None
    rate = None if labour.rate is None else labour.rate * faster
    return replace(labour, rate=rate, minutes=None if labour.minutes is None else labour.minutes / faster)


def keep_found_rates(store: JobStore, priced: Priced) -> Change:
    """Put the rates found on site into the job's own systems; one edit that can be undone.

    Raises `InputError` when no hours are recorded with what was done in them.
    """
    found = {(row.system, row.step): row.found for row in hours_by_step(priced, tuple(store.job.uses.values()))}
    found = {key: labour for key, labour in found.items() if labour is not None}
    if not found:
        raise InputError("no rate can be found", remedy="Record hours of a step with what was done in them.")
    systems = [priced.catalogue.system(id) for id in dict.fromkeys(system for system, _ in found)]
    edits = tuple(
        PutSystem(
            system=replace(
                system, steps=tuple(replace(s, labour=found.get((system.id, s.id)) or s.labour) for s in system.steps)
            )
        )
        for system in systems
    )
    return store.do(Batch(title="Keep the rates found on site", edits=edits))


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


def clocks_table(clocks: Sequence[RoomClock], show: Display) -> Table:
    """Where each surface of each room stands between coats, and the temperature that its times are for."""
    rows = (
        (
            clock.label,
            clock.surface,
            clock.step,
            STATES[clock.clock.state],
            local_time(clock.clock.opens),
            "" if clock.clock.closes is None else local_time(clock.clock.closes),
            "as stated" if clock.temperature is None else degrees(clock.temperature, show.system),
        )
        for clock in clocks
    )
    titles = ("Room", "Surface", "Last coat", "Next coat", "Opens", "Closes", "At")
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
