"""Commands for the site: use, site, progress, log, hours, and terms, whose options days shares."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from datetime import UTC
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from takeoff import actions
from takeoff.cli.as_json import dump, picked
from takeoff.cli.figures import priced_job
from takeoff.cli.options import MOST_CREWS, AsJson, JobPath, arg, flag, opt, option, with_options
from takeoff.cli.rim import job_in, opened, say, say_file, told
from takeoff.cli.show import display_of, show_table
from takeoff.errors import InputError
from takeoff.estimate.climate import degrees, degrees_apart
from takeoff.exchange.catalogue_units import MILE_KM, read_area, read_degrees, read_figure
from takeoff.model.site import SiteTerms, read_day, read_moment
from takeoff.signing import now
from takeoff.units import parse_length

if TYPE_CHECKING:
    from takeoff.actions import CoatProgress, RoomClock
    from takeoff.job.store import JobStore
    from takeoff.units import Display, UnitSystem

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


@with_options("given", USE, dict)
def use(
    job: JobPath,
    step: Annotated[str, arg("STEP", "Id of the step, such as glaze.")],
    given: dict[str, Any],
    room: Room = None,
    note: Note = "",
) -> None:
    """Record packs used of a step, what was done with them, and the hours it took."""
    from takeoff.actions.onsite import use_words

    with opened(job) as store:
        show = display_of(store.job.settings)
        area, length, count, when = (given[name] for name in ("area", "length", "count", "when"))
        if sum(map(bool, (area, length, count))) > 1:
            raise InputError("what was done is given twice", remedy="Give one of --area, --length and --count.")
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
        )
        coats = actions.progress(actions.make_estimate(store.job), store.job.uses.values())
        made = [coat for coat in coats if (coat.system, coat.step) == (done.system, done.step)]
    told(f"Recorded {use_words(done, show, nothing=done.step)}.")
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
        in_air, on_wall = (read_degrees(text, is_metric=units == "metric") for text in (air, surface))
        verdict = actions.record_reading(
            store,
            air=in_air,
            surface=on_wall,
            humidity=humidity / 100.0,
            moisture=None if moisture is None else moisture / 100.0,
            room=actions.room_named(store, room).id if room is not None else None,
            note=note,
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
    value, priced = priced_job(job, "to follow", as_json=as_json)
    coats = actions.progress(priced, value.uses.values())
    clocks = actions.recoat_clocks(priced, value, now=read_moment(at or now()))
    if as_json:
        say_file(dump(progress_json(coats, clocks)))
        return
    show_table(actions.coats_table(coats, priced.catalogue, show := display_of(value.settings)))
    if clocks:
        show_table(actions.clocks_table(clocks, show))


def log(
    job: JobPath,
    day: Annotated[str, opt("--day", "DATE", "One day. Not given: every day.")] = "",
    out: Annotated[Path | None, opt("--out", "FILE.csv", "Write it to a file.")] = None,
) -> None:
    """Print the daily log: readings, steps with packs and what was done, hours by person."""
    value = job_in(job)
    priced, on = actions.make_estimate(value), read_day(day) if day else None
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
            actions.keep_found_rates(store, priced)
        show = display_of(store.job.settings)
    if as_json:
        steps = [asdict(row) for row in actions.hours_by_step(priced, uses)]
        say_file(dump({"schema": "takeoff.hours/1", "steps": steps}))
        return
    show_table(actions.hours_table(priced, uses, show))
    if keep:
        told("Kept the rates found in the job's own systems. Prices are made with them from now on.")


def progress_json(coats: tuple[CoatProgress, ...], clocks: tuple[RoomClock, ...]) -> dict[str, Any]:
    """Coats and the like, and recoat clocks; areas in m², films in m, volumes in L, what is laid by m², m or piece."""
    return {
        "schema": "takeoff.progress/1",
        "coats": [_coat(coat) for coat in coats],
        "rooms": [picked(c, "room surface step temperature", **picked(c.clock, "state opens closes")) for c in clocks],
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


COLDEST, HOTTEST = -20.0, 60.0
"""Temperatures in °C that days are planned at."""

Given = dict[str, Any]
"""Options of the site as they were given, by the names of its terms."""
OPTIONS: dict[str, tuple[Any, Any]] = {
    "start": option(str, "--start", "DATE", "First day, such as 2026-03-02. Not given: the next Monday."),
    "crews": option(int, "--crews", "N", "Crews of the size in the rates.", min=1, max=MOST_CREWS),
    "share_area": option(str, "--share", "AREA", "Crews share a step where each has at least this much wall: 300 sf."),
    "shift_start": option(str, "--shift-start", "TIME", "When a shift begins, such as 6:30."),
    "shift_hours": option(float, "--hours", "H", "Hours of a shift. Not given: those of the rates.", min=0.5, max=24.0),
    "holidays": option(list[str], "--holiday", "DATE", "A day not worked. Give the option once for each day."),
    "has_saturdays": option(bool, "--saturdays/--no-saturdays", None, "Work on Saturdays too."),
    "temperature": option(
        str,
        "--temperature",
        "T",
        "On site: 20 C, 68 F; bare as for site. Recoat windows and pot lives are scaled to it, products judged by it.",
    ),
    "humidity": option(float, "--humidity", "PERCENT", "Humidity of the air.", min=1.0, max=100.0),
    "moisture": option(float, "--moisture", "PERCENT", "Moisture of the walls, by mass.", min=0.0, max=100.0),
    "cure_hours": option(
        float, "--cure", "H", "Hours from the last step to service. Not given: those of each system.", min=0, max=8760
    ),
    "ready_by": option(str, "--ready", "DATE", "Every room in service by this day."),
    "from_day": option(
        list[str], "--from", "ROOM=DATE", "Day from which a room can be worked in. Give the option once for each room."
    ),
    "effort": option(
        float,
        "--limit",
        "EFFORT",
        "How long to look for fewer days: 1 is about a second. Not given: that of the kept terms, else 10.",
        min=0.0,
    ),
}  # fmt: skip


with_terms = with_options("given", OPTIONS, dict)
"""Gives a command the options of the site in place of its parameter ``given``."""


@with_terms
def terms(
    job: JobPath,
    given: Given,
    travel_hours: Annotated[float | None, opt("--travel-hours", "H", "One way.", min=0.0)] = None,
    travel: Annotated[str, opt("--travel", "DISTANCE", "One way: 40 mi, 65 km.")] = "",
    stay: Annotated[bool | None, flag("--stay/--no-stay", "Crews stay there overnight.")] = None,
    is_priced_by: Annotated[
        bool | None, flag("--price/--no-price", "Make the price from the plan, or by hours.")
    ] = None,
    forget: Annotated[bool, flag("--forget", "Forget all terms: prices are made by hours again.")] = False,
    as_json: AsJson = False,
) -> None:
    """Keep how the site is worked: days are planned by it, and the price is made from that plan."""
    with opened(job) as store:
        before = store.job.settings.site
        kept = actions.changed_terms(
            changed_by(store, given),
            travel_hours=travel_hours,
            travel_km=read_figure("distance", travel) if travel else None,
            stay=stay,
            is_priced_by=is_priced_by,
        )
        if forget:
            actions.keep_terms(store, None)
        elif kept != (before or SiteTerms()) or (before is None and is_priced_by):
            actions.keep_terms(store, kept)
        found, show = store.job.settings.site, store.job.settings.display
    if as_json:
        say_file(dump({"schema": "takeoff.terms/1", "terms": None if found is None else asdict(found)}))
    elif found is None:
        told("No terms are kept: days are planned from the options, prices are made by hours.")
    else:
        for label, shown in _rows(found, show):
            told(f"{label}: {shown}")


def _rows(terms: SiteTerms, show: Display) -> list[tuple[str, str]]:
    """Return what is kept, label and value, without what nobody gave."""
    far = f"{terms.travel_km:.4g} km" if show.system == "metric" else f"{terms.travel_km / MILE_KM:.4g} mi"
    hours = "the rates'" if terms.shift_hours is None else f"{terms.shift_hours:g}"
    begins = f"{int(terms.shift_start)}:{round(terms.shift_start % 1 * 60):02d}"
    rows = [
        ("price", "made from the plan of days" if terms.is_priced_by else "made by hours"),
        ("first day", terms.start),
        ("crews", str(terms.crews)),
        ("steps are shared", "" if terms.share_area is None else f"from {show.area(terms.share_area)} a crew"),
        ("shift", f"{hours} hours from {begins}"),
        ("Saturdays", "worked" if terms.has_saturdays else ""),
        ("holidays", ", ".join(terms.holidays)),
        ("temperature", "" if terms.temperature is None else degrees(terms.temperature, show.system)),
        ("humidity", "" if terms.humidity is None else f"{terms.humidity * 100:g} %"),
        ("moisture of the walls", "" if terms.moisture is None else f"{terms.moisture * 100:g} %"),
        ("cure", "" if terms.cure_hours is None else f"{terms.cure_hours:g} h"),
        ("in service by", terms.ready_by),
        *((f"room {found.room} from", found.day) for found in terms.handed_over),
        ("travel one way", f"{terms.travel_hours:g} h, {far}"),
        ("overnight", "crews stay" if terms.stay else ""),
    ]
    return [(label, shown) for label, shown in rows if shown]


def changed_by(store: JobStore, given: Given) -> SiteTerms:
    """Return the job's terms with what was given on the command line."""
    old = store.job.settings.site or SiteTerms()
    rooms: dict[str, str] = {}
    for text in given["from_day"] or ():
        room, _, day = text.rpartition("=")
        if not room:
            raise InputError(f'"{text}" is no room and day', remedy="Write it as 104=2026-03-09.")
        rooms[actions.room_named(store, room).id] = read_day(day).isoformat() if day else ""
    readers: dict[str, Callable[[Any], Any]] = {
        **dict.fromkeys(("start", "ready_by"), read_day),
        **dict.fromkeys(("humidity", "moisture"), lambda percent: percent / 100.0),
        "share_area": partial(read_area, show=store.job.settings.display),
        "shift_start": _clock_time,
        "holidays": lambda days: [read_day(day) for day in days],
        "temperature": partial(_site_temperature, units=store.job.settings.units),
    }
    named = {
        term: readers[term](value) if term in readers else value
        for term, value in given.items()
        if term != "from_day" and value not in (None, "", [])
    }
    return actions.changed_terms(old, **named, handed_over=actions.handed_over(old, rooms) if rooms else None)


def _clock_time(text: str) -> float:
    """Read a time of day in hours.

    Examples
    --------
    >>> _clock_time("6:30"), _clock_time("7")
    (6.5, 7.0)
    """
    hours, _, minutes = text.partition(":")
    if not (hours.isdigit() and int(hours) < 24 and (minutes or "0").isdigit() and int(minutes or 0) < 60):
        raise InputError(f'"{text}" is no time of day', remedy="Write it as 6:30.")
    return int(hours) + int(minutes or 0) / 60.0


def _site_temperature(text: str, units: UnitSystem) -> float:
    """Read the temperature that a plan is made for, in °C; one that nothing is coated at is refused."""
    read = read_degrees(text, is_metric=units == "metric")
    if not COLDEST <= read <= HOTTEST:
        raise InputError(
            f"a temperature of {degrees(read, units)} on site",
            remedy=f"Give {degrees(COLDEST, units)} to {degrees(HOTTEST, units)}.",
        )
    return read
