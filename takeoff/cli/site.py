"""Commands for the site: use, site, progress, log, hours."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from takeoff import actions
from takeoff.cli.as_json import dump, picked
from takeoff.cli.figures import priced_job
from takeoff.cli.options import AsJson, JobPath, arg, flag, opt, option, read_date, with_options
from takeoff.cli.rim import opened, say, say_file, told
from takeoff.cli.show import display_of, show_table
from takeoff.estimate.climate import degrees, degrees_apart
from takeoff.estimate.onsite import counted_words
from takeoff.exchange.catalogue_units import read_area, read_degrees, read_moment
from takeoff.signing import now, person
from takeoff.units import parse_length

if TYPE_CHECKING:
    from takeoff.actions import CoatProgress, RoomClock

Room = Annotated[str | None, opt("--room", "ROOM", "The room, by id, number or name.")]
Note = Annotated[str, opt("--note", "TEXT", "A note for the record.")]


USE: dict[str, tuple[Any, Any]] = {
    "packs": option(float, "--packs", "N", "Packs used: those opened, minus what is left in them.", min=0.0),
    "area": option(str, "--area", "AREA", "Area done: 500 sf, 46.5 m2; bare in the job's unit."),
    "length": option(str, "--length", "LENGTH", "Length done, where the step goes by length."),
    "count": option(float, "--count", "N", "Pieces done, where the step goes by pieces.", min=0.0),
    "hours": option(float, "--hours", "H", "Man-hours on it.", min=0.0),
    "by": option(str, "--by", "PERSON", "Whose hours they are."),
    "when": option(str, "--when", "TIME", "When it was finished. Not given: now."),
    "pack": option(str, "--pack", "NAME", "Which pack. Not given: the largest that is bought."),
    "system": option(str, "--system", "SYSTEM", "The system, where two systems have this step."),
}
"""What a record of use may hold."""


@with_options("given", USE, dict)
def use(
    job: JobPath,
    step: Annotated[str, arg("STEP", "Id of the step, such as glaze.")],
    given: dict[str, Any],
    room: Room = None,
    note: Note = "",
) -> None:
    """Record packs used of a step, what was done with them, and the hours it took."""
    with opened(job) as store:
        show = display_of(store.job.settings)
        area, length, count, when = (given[name] for name in ("area", "length", "count", "when"))
        metres = parse_length(length, system=show.system) if length else 0.0
        done = actions.record_use(
            store,
            step=step,
            packs=given["packs"] or 0.0,
            area=read_area(area, show) if area else metres or count or 0.0,
            counted="area" if area else "length" if length else "count" if count else None,
            hours=given["hours"] or 0.0,
            person=given["by"] or "",
            when=read_moment(when).astimezone(UTC).isoformat(timespec="seconds") if when else None,
            system=given["system"],
            pack=given["pack"],
            room=actions.room_named(store, room).id if room is not None else None,
            note=note,
            who=person(),
            at=now(),
        )
        coats = actions.progress(actions.make_estimate(store.job), store.job.uses.values())
        made = [coat for coat in coats if (coat.system, coat.step) == (done.system, done.step)]
    said = [f"{done.packs:g} × {done.pack}"] * bool(done.packs) + [f"{done.hours:g} h"] * bool(done.hours)
    on = f" on {counted_words(done.area, done.counted, show)}" if done.area else ""
    told(f"Recorded {', '.join(said) or done.step}{on}.")
    for coat in made:
        say(coat.state.words)


def site(
    job: JobPath,
    air: Annotated[str, opt("--air", "T", "Air: 20 C, 68 F; bare in °C, or °F where the job is in feet.")],
    surface: Annotated[str, opt("--surface", "T", "Temperature of the wall's surface: 20 C, 68 F.")],
    humidity: Annotated[float, opt("--humidity", "PERCENT", "Relative humidity in per cent.")],
    moisture: Annotated[float | None, opt("--moisture", "PERCENT", "Moisture of the wall by mass.")] = None,
    room: Room = None,
    note: Note = "",
) -> None:
    """Judge what may be laid now, and keep the reading. Exit code 1: something may not be laid."""
    with opened(job) as store:
        units = store.job.settings.units
        verdict = actions.record_reading(
            store,
            air=read_degrees(air, is_metric=units == "metric"),
            surface=read_degrees(surface, is_metric=units == "metric"),
            humidity=humidity / 100.0,
            moisture=None if moisture is None else moisture / 100.0,
            room=actions.room_named(store, room).id if room is not None else None,
            note=note,
            who=person(),
            at=now(),
        )
    dew, above = degrees(verdict.dew_point, units), degrees_apart(verdict.above_dew_point, units)
    say(f"Dew point {dew}, the surface is {above} above it.")
    for line in verdict.lines:
        say(line)
    if not verdict.may_coat:
        raise typer.Exit(1)


def progress(
    job: JobPath,
    at: Annotated[str, opt("--at", "TIME", "Time for which the recoat clocks are read. Not given: now.")] = "",
    as_json: AsJson = False,
) -> None:
    """Show how far each coat is: film laid, percent complete, packs to finish, and the recoat clock of each room."""
    made = priced_job(job, "to follow", as_json=as_json)
    if made is None:
        return
    value, priced = made
    coats = actions.progress(priced, value.uses.values())
    clocks = actions.recoat_clocks(priced, value.uses.values(), now=read_moment(at or now()))
    if as_json:
        say_file(dump(progress_json(coats, clocks)))
        return
    show_table(actions.coats_table(coats, priced.catalogue, display_of(value.settings)))
    if clocks:
        show_table(actions.clocks_table(clocks))


def log(
    job: JobPath,
    day: Annotated[str, opt("--day", "DATE", "One day. Not given: every day.")] = "",
    out: Annotated[Path | None, opt("--out", "FILE.csv", "Write it to a file.")] = None,
) -> None:
    """Print the daily log: readings, steps with packs and what was done, hours by person."""
    with opened(job) as store:
        value = store.job
    priced, on = actions.make_estimate(value), read_date(day) if day else None
    if out is not None:
        told(f"Wrote {actions.write_log(value, priced, out, on)}")
        return
    for table in actions.daily_log(value, priced, on):
        show_table(table)


def hours(
    job: JobPath,
    keep: Annotated[
        bool, flag("--keep", "Put the rates found into the job's own systems; undo takes them out.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Set hours worked beside those estimated, step by step, with the rate that was found on site."""
    with opened(job) as store:
        priced = actions.make_estimate(store.job)
        uses = tuple(store.job.uses.values())
        if keep:
            actions.keep_found_rates(store, priced, who=person(), at=now())
        show = display_of(store.job.settings)
    if as_json:
        say_file(
            dump({"schema": "takeoff.hours/1", "steps": [asdict(row) for row in actions.hours_by_step(priced, uses)]})
        )
        return
    show_table(actions.hours_table(priced, uses, show))
    if keep:
        told("Kept the rates found in the job's own systems. Prices are made with them from now on.")


def progress_json(coats: tuple[CoatProgress, ...], clocks: tuple[RoomClock, ...]) -> dict[str, Any]:
    """Coats and the like, and recoat clocks; areas in m², films in m, volumes in L, what is laid by m², m or piece."""
    return {
        "schema": "takeoff.progress/1",
        "coats": [_coat(coat) for coat in coats],
        "rooms": [picked(c, "room surface step", **picked(c.clock, "state opens closes")) for c in clocks],
    }


def _coat(coat: CoatProgress) -> dict[str, Any]:
    target, state = coat.target, coat.state
    return {
        **picked(coat, "system step name pack"),
        **picked(target, "area counted unit", wet_film=target.wet_film if target.is_film else None),
        **picked(state, "area_done complete verdict used packs_to_finish packs_specified"),
        "film": state.film if target.is_film else None,
        "specified": target.wet_film * 1000.0,
        "laid": None if state.film is None else state.film * 1000.0,
    }
