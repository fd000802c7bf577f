"""How the site is worked, as the command line gives it: options that ``days`` and ``terms`` share, and ``terms``."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any

from takeoff import actions
from takeoff.cli.as_json import dump
from takeoff.cli.options import MOST_CREWS, AsJson, JobPath, flag, opt, option, read_date, with_options
from takeoff.cli.rim import say_file, told
from takeoff.errors import InputError
from takeoff.estimate.climate import degrees
from takeoff.exchange.catalogue_units import MILE_KM, read_area, read_degrees, read_figure
from takeoff.model.site_terms import SiteTerms
from takeoff.signing import now, person

if TYPE_CHECKING:
    from takeoff.job.store import JobStore
    from takeoff.model.site_terms import SiteTerms
    from takeoff.units import Display, UnitSystem

COLDEST, HOTTEST = -20.0, 60.0
"""Temperatures in °C that days are planned at."""

Given = dict[str, Any]
"""Options of the site as they were given."""


OPTIONS: dict[str, tuple[Any, Any]] = {
    "start": option(str, "--start", "DATE", "First day, such as 2026-03-02. Not given: the next Monday."),
    "crews": option(int, "--crews", "N", "Crews of the size in the rates.", min=1, max=MOST_CREWS),
    "share": option(str, "--share", "AREA", "Crews share a step where each has at least this much wall: 300 sf."),
    "shift_start": option(str, "--shift-start", "TIME", "When a shift begins, such as 6:30."),
    "hours": option(float, "--hours", "H", "Hours of a shift. Not given: those of the rates.", min=0.5, max=24.0),
    "holidays": option(list[str], "--holiday", "DATE", "A day not worked. Give the option once for each day."),
    "saturdays": option(bool, "--saturdays/--no-saturdays", None, "Work on Saturdays too."),
    "temperature": option(
        str,
        "--temperature",
        "T",
        "On site: 20 C, 68 F; bare as for site. Recoat windows and pot lives are scaled to it, products judged by it.",
    ),
    "humidity": option(float, "--humidity", "PERCENT", "Humidity of the air.", min=1.0, max=100.0),
    "moisture": option(float, "--moisture", "PERCENT", "Moisture of the walls, by mass.", min=0.0, max=100.0),
    "cure": option(
        float, "--cure", "H", "Hours from the last step to service. Not given: those of each system.", min=0, max=8760
    ),
    "ready": option(str, "--ready", "DATE", "Every room in service by this day."),
    "from_day": option(
        list[str], "--from", "ROOM=DATE", "Day from which a room can be worked in. Give the option once for each room."
    ),
    "limit": option(
        float,
        "--limit",
        "EFFORT",
        "How long to look for fewer days: 1 is about a second. Not given: that of the kept terms, else 10.",
        min=0.0,
    ),
}  # fmt: skip


def with_terms(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options of the site in place of its parameter ``given``."""
    return with_options("given", OPTIONS, lambda given: given)(command)


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
    with actions.open_job(job) as store:
        before = store.job.settings.site
        kept = actions.changed_terms(
            changed_by(store, given),
            travel_hours=travel_hours,
            travel_km=read_figure("distance", travel) if travel else None,
            stay=stay,
            is_priced_by=is_priced_by,
        )
        if forget:
            actions.keep_terms(store, None, who=person(), at=now())
        elif kept != (before or SiteTerms()) or (before is None and is_priced_by):
            actions.keep_terms(store, kept, who=person(), at=now())
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
        rooms[actions.room_named(store, room).id] = read_date(day).isoformat() if day else ""
    return actions.changed_terms(
        old,
        start=read_date(given["start"]) if given["start"] else None,
        crews=given["crews"],
        share_area=read_area(given["share"], store.job.settings.display) if given["share"] else None,
        shift_start=_clock_time(given["shift_start"]) if given["shift_start"] else None,
        shift_hours=given["hours"],
        holidays=[read_date(text) for text in given["holidays"]] if given["holidays"] else None,
        has_saturdays=given["saturdays"],
        temperature=_site_temperature(given["temperature"], store.job.settings.units) if given["temperature"] else None,
        humidity=None if given["humidity"] is None else given["humidity"] / 100.0,
        moisture=None if given["moisture"] is None else given["moisture"] / 100.0,
        cure_hours=given["cure"],
        ready_by=read_date(given["ready"]) if given["ready"] else None,
        handed_over=actions.handed_over(old, rooms) if rooms else None,
        effort=given["limit"],
    )


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
