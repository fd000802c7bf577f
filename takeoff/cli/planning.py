"""Commands that plan a priced job: days, order, cut, and what ``estimate`` shows besides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from takeoff import actions
from takeoff.cli.as_json import dump
from takeoff.cli.figures import priced_job
from takeoff.cli.options import AsJson, CatalogueFile, JobPath, catalogue_in, read_date
from takeoff.cli.points import tell_open
from takeoff.cli.rim import notes, opened, say, say_file, told
from takeoff.cli.show import display_of, nothing_yet, show_table
from takeoff.cli.site_terms import Given, changed_by, with_terms
from takeoff.signing import now

if TYPE_CHECKING:
    from takeoff.estimate.days.works import DayPlan
    from takeoff.model.cutting import CutList

BAR = "█"
CELLS = 12
"""Characters that one working day is wide in the terminal."""

Limit = Annotated[
    float,
    typer.Option(
        "--limit",
        metavar="EFFORT",
        min=0.0,
        help="How long to look for a better answer: 1 is about a second. The answer is the same on every machine.",
    ),
]


@with_terms
def days(
    job: JobPath,
    given: Given,
    catalogue: CatalogueFile = None,
    as_json: AsJson = False,
) -> None:
    """Plan the work into days: who does what when, and why it starts no earlier."""
    chosen = catalogue_in(catalogue)
    with opened(job) as store:
        value = store.job
        terms = changed_by(store, given)
    priced = actions.make_estimate(value, catalogue=chosen)
    if not as_json and nothing_yet(value, job, "to plan"):
        return
    if not terms.start and not terms.handed_over:
        terms = actions.changed_terms(terms, start=actions.next_monday(date.fromisoformat(now()[:10])))
    is_quick = given["limit"] is None and value.settings.site is None
    plan = actions.plan_job(priced, terms=terms, effort=10.0 if is_quick else None)
    tell_open(actions.open_points(value, priced=priced), display_of(value.settings, priced.estimate.currency))
    if as_json:
        say_file(dump(days_json(plan)))
    else:
        show_days(plan)


def order(
    job: JobPath,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FILE", help="Write it to order.csv or order.xlsx.", show_default=False),
    ] = None,
    start: Annotated[
        str,
        typer.Option(
            "--start", metavar="DATE", help="First day. Not given: that of the kept terms.", show_default=False
        ),
    ] = "",
    catalogue: CatalogueFile = None,
    as_json: AsJson = False,
) -> None:
    """Print what to order, delivery by delivery: packs, product codes, when it is needed and when to order it."""
    from takeoff.report.order_list import order_table

    made = priced_job(job, "to order", as_json=as_json, catalogue=catalogue)
    if made is None:
        return
    value, priced = made
    first: date | None = read_date(start) if start else None
    lines = actions.order_lines(value, priced, start=first)
    if out is not None:
        told(f"Wrote {actions.write_order(value, lines, out)}")
    if as_json:
        say_file(dump({"schema": "takeoff.order/1", "lines": [asdict(line) for line in lines]}))
    elif out is None:
        show_table(order_table(lines))


def cut(job: JobPath, limit: Limit = 1.0, catalogue: CatalogueFile = None, as_json: AsJson = False) -> None:
    """Print a numbered cut list: what to cut from each roll of mat and each length of trim."""
    made = priced_job(job, "to cut", as_json=as_json, catalogue=catalogue, cut_effort=limit)
    if made is None:
        return
    value, priced = made
    tell_open(actions.open_points(value, priced=priced), display_of(value.settings, priced.estimate.currency))
    cuts = actions.cut_plans(priced)
    if as_json:
        say_file(dump(cuts_json(cuts)))
        return
    if not cuts:
        notes(["nothing is cut from rolls or lengths"])
        return
    from takeoff.report.planning_tables import cut_table

    walls = actions.wall_names(value, priced.measured)
    show_table(cut_table(cuts, display_of(value.settings, priced.estimate.currency), walls))


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
                     "pieces": [{"for": p.label, "length": p.length, "face": p.face, "at": p.at} for p in s.pieces]}
                    for s in lengths.stock
                ],
            }  # fmt: skip
        products.append(entry)
    return {"schema": "takeoff.cuts/1", "units": {"length": "m", "area": "m2"}, "products": products}


def _hour(moment: datetime) -> float:
    return moment.hour + moment.minute / 60.0
