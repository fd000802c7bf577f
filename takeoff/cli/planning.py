"""Commands that plan a priced job: days, cut, and what ``estimate`` shows besides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date, datetime
from typing import TYPE_CHECKING, Annotated, Any

import typer

from takeoff.cli.opening import opened
from takeoff.cli.options import MOST_CREWS, AsJson, CatalogueFile, JobPath
from takeoff.cli.points import tell_open
from takeoff.cli.rim import notes, say, say_file, told
from takeoff.errors import InputError
from takeoff.signing import now, person

if TYPE_CHECKING:
    from takeoff.actions import CutList
    from takeoff.estimate.alternates import Comparison
    from takeoff.estimate.days.works import DayPlan
    from takeoff.estimate.simulate import PriceRange
    from takeoff.job.store import JobStore
    from takeoff.model.site_terms import SiteTerms
    from takeoff.report.tables import Table
    from takeoff.units import Display, UnitSystem

BAR = "█"
CELLS = 12
"""Characters that one working day is wide in the terminal."""

COLDEST, HOTTEST = -20.0, 60.0
"""Temperatures in °C that days are planned at."""

Limit = Annotated[
    float,
    typer.Option(
        "--limit",
        metavar="EFFORT",
        min=0.0,
        help="How long to look for a better answer: 1 is about a second. The answer is the same on every machine.",
    ),
]


DaysLimit = Annotated[
    float | None,
    typer.Option(
        "--limit",
        metavar="EFFORT",
        min=0.0,
        help="How long to look for fewer days: 1 is about a second; 10 without it, or that of the kept terms.",
        show_default=False,
    ),
]
Start = Annotated[
    str,
    typer.Option(
        "--start",
        metavar="DATE",
        help="First day, such as 2026-03-02; the next Monday without it.",
        show_default=False,
    ),
]
Crews = Annotated[
    int | None,
    typer.Option(
        "--crews", metavar="N", min=1, max=MOST_CREWS, help="Crews of the size in the rates.", show_default=False
    ),
]
Hours = Annotated[
    float | None,
    typer.Option(
        "--hours", metavar="H", min=0.5, max=24.0, help="Hours of a shift; the rates' without it.", show_default=False
    ),
]
Holidays = Annotated[
    list[str] | None, typer.Option("--holiday", metavar="DATE", help="A day not worked; may be given again.")
]
Saturdays = Annotated[
    bool | None, typer.Option("--saturdays/--no-saturdays", help="Work on Saturdays too.", show_default=False)
]
Temperature = Annotated[
    str,
    typer.Option(
        "--temperature",
        metavar="T",
        help="On site: 20 C, 68 F; bare as for site. Recoat windows and pot lives are scaled to it.",
        show_default=False,
    ),
]
Cure = Annotated[
    float | None,
    typer.Option(
        "--cure",
        metavar="H",
        min=0.0,
        max=8760.0,
        help="Hours from the last step to service; those of each system without it.",
        show_default=False,
    ),
]
Ready = Annotated[
    str, typer.Option("--ready", metavar="DATE", help="Every room in service by this day.", show_default=False)
]
FromDay = Annotated[
    list[str] | None,
    typer.Option("--from", metavar="ROOM=DATE", help="Day from which a room can be worked in; may be given again."),
]


def days(
    job: JobPath,
    start: Start = "",
    crews: Crews = None,
    hours: Hours = None,
    holidays: Holidays = None,
    has_saturdays: Saturdays = None,
    temperature: Temperature = "",
    cure: Cure = None,
    ready: Ready = "",
    from_day: FromDay = None,
    limit: DaysLimit = None,
    catalogue: CatalogueFile = None,
    as_json: AsJson = False,
) -> None:
    """Plan the work into days: who does what when, and why it starts no earlier."""
    from takeoff import actions
    from takeoff.cli.show import display_of, nothing_yet

    chosen = None if catalogue is None else actions.read_catalogue(catalogue)
    with opened(job) as store:
        value = store.job
        terms = _changed(
            store, start, crews, hours, holidays, has_saturdays, temperature, cure, ready, from_day
        )  # fmt: skip
    priced = actions.make_estimate(value, catalogue=chosen)
    if not as_json and nothing_yet(value, job, "to plan"):
        return
    if not terms.start and not terms.handed_over:
        terms = actions.changed_terms(terms, start=actions.next_monday(date.fromisoformat(now()[:10])))
    effort = limit if limit is not None or value.settings.site is not None else 10.0
    plan = actions.plan_job(priced, terms=terms, effort=effort)
    tell_open(actions.open_points(value, priced=priced), display_of(value.settings, priced.estimate.currency))
    if as_json:
        from takeoff.cli.as_json import dump

        say_file(dump(days_json(plan)))
    else:
        show_days(plan)


def terms(
    job: JobPath,
    start: Start = "",
    crews: Crews = None,
    hours: Hours = None,
    holidays: Holidays = None,
    has_saturdays: Saturdays = None,
    temperature: Temperature = "",
    cure: Cure = None,
    ready: Ready = "",
    from_day: FromDay = None,
    travel_hours: Annotated[
        float | None, typer.Option("--travel-hours", metavar="H", min=0.0, help="One way.", show_default=False)
    ] = None,
    travel: Annotated[
        str, typer.Option("--travel", metavar="DISTANCE", help="One way: 40 mi, 65 km.", show_default=False)
    ] = "",
    stay: Annotated[
        bool | None, typer.Option("--stay/--no-stay", help="Crews stay there overnight.", show_default=False)
    ] = None,
    limit: DaysLimit = None,
    is_priced_by: Annotated[
        bool | None,
        typer.Option("--price/--no-price", help="Make the price from the plan, or by hours.", show_default=False),
    ] = None,
    forget: Annotated[bool, typer.Option("--forget", help="Forget all terms: prices are made by hours again.")] = False,
    as_json: AsJson = False,
) -> None:
    """Keep how the site is worked: days are planned by it, and the price is made from that plan."""
    from takeoff import actions
    from takeoff.cli.as_json import dump
    from takeoff.exchange.catalogue_units import read_distance

    with actions.open_job(job) as store:
        before = store.job.settings.site
        kept = actions.changed_terms(
            _changed(store, start, crews, hours, holidays, has_saturdays, temperature, cure, ready, from_day),
            travel_hours=travel_hours, travel_km=read_distance(travel) if travel else None, stay=stay, effort=limit,
            is_priced_by=is_priced_by,
        )  # fmt: skip
        if forget:
            actions.keep_terms(store, None, who=person(), at=now())
        elif kept != (before or actions.SiteTerms()) or (before is None and is_priced_by):
            actions.keep_terms(store, kept, who=person(), at=now())
        found, units = store.job.settings.site, store.job.settings.units
    if as_json:
        say_file(dump({"schema": "takeoff.terms/1", "terms": None if found is None else asdict(found)}))
    elif found is None:
        told("No terms are kept: days are planned from the options, prices are made by hours.")
    else:
        for label, shown in _terms_rows(found, is_metric=units == "metric"):
            told(f"{label}: {shown}")


def _terms_rows(terms: SiteTerms, *, is_metric: bool) -> list[tuple[str, str]]:
    """Return what is kept, label and value, without what nobody gave."""
    from takeoff.estimate.climate import degrees
    from takeoff.exchange.catalogue_units import MILE_KM

    far = terms.travel_km if is_metric else terms.travel_km / MILE_KM
    rows = [
        ("price", "made from the plan of days" if terms.is_priced_by else "made by hours"),
        ("first day", terms.start),
        ("crews", str(terms.crews)),
        ("shift", "" if terms.shift_hours is None else f"{terms.shift_hours:g} h from {terms.shift_start:g}:00"),
        ("Saturdays", "worked" if terms.has_saturdays else ""),
        ("holidays", ", ".join(terms.holidays)),
        (
            "temperature",
            "" if terms.temperature is None else degrees(terms.temperature, "metric" if is_metric else "imperial"),
        ),
        ("cure", "" if terms.cure_hours is None else f"{terms.cure_hours:g} h"),
        ("in service by", terms.ready_by),
        *((f"room {found.room} from", found.day) for found in terms.handed_over),
        ("travel one way", f"{terms.travel_hours:g} h, {far:.4g} {'km' if is_metric else 'mi'}"),
        ("overnight", "crews stay" if terms.stay else ""),
    ]
    return [(label, shown) for label, shown in rows if shown]


def _changed(
    store: JobStore,
    start: str,
    crews: int | None,
    hours: float | None,
    holidays: list[str] | None,
    has_saturdays: bool | None,
    temperature: str,
    cure: float | None,
    ready: str,
    from_day: list[str] | None,
) -> SiteTerms:
    """Return the job's terms with what was given on the command line."""
    from takeoff import actions

    old = store.job.settings.site or actions.SiteTerms()
    rooms: dict[str, str] = {}
    for text in from_day or ():
        room, _, day = text.rpartition("=")
        if not room:
            raise InputError(f'"{text}" is no room and day', remedy="Write it as 104=2026-03-09.")
        rooms[actions.room_named(store, room).id] = read_date(day).isoformat() if day else ""
    return actions.changed_terms(
        old,
        start=read_date(start) if start else None,
        crews=crews,
        shift_hours=hours,
        holidays=[read_date(text) for text in holidays] if holidays else None,
        has_saturdays=has_saturdays,
        temperature=_site_temperature(temperature, store.job.settings.units) if temperature else None,
        cure_hours=cure,
        ready_by=read_date(ready) if ready else None,
        handed_over=actions.handed_over(old, rooms) if rooms else None,
    )


def _site_temperature(text: str, units: UnitSystem) -> float:
    """Read the temperature that a plan is made for, in °C; one that nothing is coated at is refused."""
    from takeoff.estimate.climate import degrees
    from takeoff.exchange.typed import read_degrees

    read = read_degrees(text, is_metric=units == "metric")
    if not COLDEST <= read <= HOTTEST:
        raise InputError(
            f"a temperature of {degrees(read, units)} on site",
            remedy=f"Give {degrees(COLDEST, units)} to {degrees(HOTTEST, units)}.",
        )
    return read


def cut(job: JobPath, limit: Limit = 1.0, catalogue: CatalogueFile = None, as_json: AsJson = False) -> None:
    """Print a numbered cut list: what to cut from each roll of mat and each length of trim."""
    from takeoff import actions
    from takeoff.cli.show import display_of, nothing_yet

    chosen = None if catalogue is None else actions.read_catalogue(catalogue)
    with opened(job) as store:
        value = store.job
    priced = actions.make_estimate(value, catalogue=chosen, cut_effort=limit)
    if not as_json and nothing_yet(value, job, "to cut"):
        return
    tell_open(actions.open_points(value, priced=priced), display_of(value.settings, priced.estimate.currency))
    cuts = actions.cut_plans(priced)
    if as_json:
        from takeoff.cli.as_json import dump

        say_file(dump(cuts_json(cuts)))
        return
    if not cuts:
        notes(["nothing is cut from rolls or lengths"])
        return
    from takeoff.report.planning_tables import cut_table

    show_table(cut_table(cuts, display_of(value.settings, priced.estimate.currency)))


def show_table(table: Table) -> None:
    """Print a report's table and its note."""
    from takeoff.cli.show import table as print_table

    texts = [n for n, column in enumerate(table.columns) if not column.is_number]
    rows = [[column.text(value) for column, value in zip(table.columns, row, strict=True)] for row in table.rows]
    print_table(table.title, [column.heading for column in table.columns], rows, more_text=texts)
    if table.note:
        say(table.note)


def show_range(result: PriceRange, currency: str) -> None:
    """Print the range of a price and what drives it."""
    from takeoff.report.planning_tables import drivers_table, range_table

    show_table(range_table(result, currency))
    show_table(drivers_table(result, currency))


def show_alternates(result: Comparison, display: Display) -> None:
    """Print alternates side by side."""
    from takeoff.report.planning_tables import alternates_table

    show_table(alternates_table(result, display))


def show_days(plan: DayPlan) -> None:
    """Print a plan of days as bars, one row a room, and as a table with the reasons."""
    from takeoff.report.planning_tables import days_table, ready_table

    for line in bar_lines(plan):
        say(line)
    show_table(days_table(plan))
    show_table(ready_table(plan))


def bar_lines(plan: DayPlan, *, cells: int = CELLS) -> list[str]:
    """Return bars in text: a row a room, ``cells`` characters a working day, abrading as x."""
    bars = [(work, bar) for work in plan.works for bar in work.bars]
    if not bars:
        return []
    dates = sorted({start.date() for _, (start, _) in bars})
    first = min(_hour(start) for _, (start, _) in bars)
    last = max(_hour(end) if end.date() == start.date() else 24.0 for _, (start, end) in bars)
    rooms = list(dict.fromkeys(work.room for work in plan.works))
    side = max(len(room) for room in rooms) + 1
    lines = [" " * side + "".join(f"|{day:%m-%d}".ljust(cells) for day in dates) + "|"]
    for room in rooms:
        row = [" "] * (cells * len(dates))
        for work, (start, end) in bars:
            if work.room == room:
                until = _hour(end) if end.date() == start.date() else 24.0
                a, b = ((hour - first) / max(1e-9, last - first) * cells for hour in (_hour(start), until))
                at = dates.index(start.date()) * cells
                for n in range(int(a), max(int(a) + 1, min(cells, round(b)))):
                    row[min(at + n, len(row) - 1)] = "x" if work.kind == "abrade" else BAR
        days = "".join("|" + "".join(row[n * cells + 1 : (n + 1) * cells]) for n in range(len(dates)))
        lines.append(room.ljust(side) + days + "|")
    return lines


def days_json(plan: DayPlan) -> dict[str, Any]:
    """The plan: works with their times and reasons, rooms with the day they are ready."""

    def when(moment: datetime) -> str:
        return moment.isoformat(timespec="minutes")

    return {
        "schema": "takeoff.days/1",
        "days": plan.days,
        "hours": plan.hours,
        "bound": plan.bound,
        "is_proven": plan.is_proven,
        "finish": None if plan.finish is None else when(plan.finish),
        "abraded": plan.abraded,
        "works": [
            {
                "work": work.work,
                "room": work.room,
                "step": work.step,
                "name": work.name,
                "kind": work.kind,
                "start": when(work.start),
                "end": when(work.end),
                "bars": [[when(a), when(b)] for a, b in work.bars],
                "crews": list(work.crews),
                "batches": work.batches,
                "reason": work.reason,
            }
            for work in plan.works
        ],
        "rooms": [{"room": r.room, "done": when(r.done), "ready": when(r.ready)} for r in plan.rooms],
        "notes": list(plan.notes),
    }


def cuts_json(cuts: Sequence[CutList]) -> dict[str, Any]:
    """Cut lists by product; lengths in m, areas in m²."""
    products: list[dict[str, Any]] = []
    for cut_list in cuts:
        entry: dict[str, Any] = {"product": cut_list.product, "name": cut_list.name}
        if (rolls := cut_list.rolls) is not None:
            entry |= {
                "roll_length": rolls.roll_length,
                "roll_width": rolls.roll_width,
                "lower_bound": rolls.lower_bound,
                "first_fit": rolls.first_fit,
                "bought_area": rolls.bought_area,
                "waste_area": rolls.waste_area,
                "lap_area": rolls.lap_area,
                "seam_length": rolls.seam_length,
                "rolls": [
                    {
                        "roll": roll.number,
                        "left": roll.left,
                        "cuts": [
                            {"cut": c.number, "length": c.length, "width": c.drop.width, "for": c.drop.label,
                             "beside": [drop.label for drop in c.beside]}
                            for c in roll.cuts
                        ],
                    }
                    for roll in rolls.rolls
                ],
                "reused": [{"for": reuse.drop.label, "from": reuse.source} for reuse in rolls.reused],
            }  # fmt: skip
        if (lengths := cut_list.lengths) is not None:
            entry |= {
                "stock_length": lengths.stock_length,
                "lower_bound": lengths.lower_bound,
                "first_fit": lengths.first_fit,
                "joints": lengths.joints,
                "lengths": [
                    {"number": s.number, "left": s.left,
                     "pieces": [{"for": p.label, "length": p.length} for p in s.pieces]}
                    for s in lengths.stock
                ],
            }  # fmt: skip
        products.append(entry)
    return {"schema": "takeoff.cuts/1", "units": {"length": "m", "area": "m2"}, "products": products}


def range_json(result: PriceRange, currency: str) -> dict[str, Any]:
    """The range of a price before tax on it, and its drivers."""
    return {
        "currency": currency,
        "draws": result.draws,
        "seed": result.seed,
        "likely": result.likely,
        "mean": result.mean,
        "deviation": result.deviation,
        **{name: getattr(result, name) for name in ("p10", "p50", "p80", "p90", "asked", "holds")},
        "drivers": [
            {"id": d.id, "label": d.label, "low": d.low_price, "high": d.high_price, "share": d.share}
            for d in result.drivers
        ],
    }


def alternates_json(result: Comparison) -> dict[str, Any]:
    """Alternates side by side, areas in m²."""
    return {
        "currency": result.currency,
        "names": list(result.names),
        "rows": [
            {"kind": row.kind, "id": row.id, "label": row.label, "unit": row.unit, "values": list(row.values)}
            for row in result.rows
        ],
        "notes": list(result.notes),
    }


def read_date(text: str) -> date:
    """Read a date such as 2026-03-02.

    Examples
    --------
    >>> read_date("2026-03-02")
    datetime.date(2026, 3, 2)
    """
    try:
        day = date.fromisoformat(text)
    except ValueError as error:
        raise InputError(f'"{text}" is not a date', remedy="Write year, month and day: 2026-03-02.") from error
    if not 2000 <= day.year <= 2200:
        raise InputError(f"no work is planned in the year {day.year}", remedy="Write a year from 2000 to 2200.")
    return day


def _hour(moment: datetime) -> float:
    return moment.hour + moment.minute / 60.0
