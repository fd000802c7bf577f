"""Commands that plan a priced job: days, order, cut, and what ``estimate`` shows besides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from takeoff import actions
from takeoff.cli.as_json import dump, picked
from takeoff.cli.figures import priced_job, tell_open
from takeoff.cli.options import AsJson, CatalogueFile, JobPath, catalogue_in, opt, read_date
from takeoff.cli.rim import notes, opened, say, say_file, told
from takeoff.cli.show import display_of, nothing_yet, show_table
from takeoff.cli.site import Given, changed_by, with_terms
from takeoff.signing import now

if TYPE_CHECKING:
    from takeoff.estimate.days.works import DayPlan
    from takeoff.model.cut_lists import Cut, CutList, Piece

BAR = "█"
CELLS = 12
"""Characters that one working day is wide in the terminal."""

Limit = Annotated[
    float,
    opt(
        "--limit",
        "EFFORT",
        "How long to look for a better answer: 1 is about a second. The answer is the same on every machine.",
        min=0.0,
        show_default=True,
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
    out: Annotated[Path | None, opt("--out", "FILE", "Write it to order.csv or order.xlsx.")] = None,
    start: Annotated[str, opt("--start", "DATE", "First day. Not given: that of the kept terms.")] = "",
    catalogue: CatalogueFile = None,
    as_json: AsJson = False,
) -> None:
    """Print what to order, delivery by delivery: packs, product codes, when it is needed and when to order it."""
    from takeoff.report.planning_tables import order_table

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


def bar_lines(plan: DayPlan) -> list[str]:
    """Return bars in text: a row a room, `CELLS` characters a working day, abrading as x."""
    bars = [(work, bar) for work in plan.works for bar in work.bars]
    if not bars:
        return []
    dates = sorted({start.date() for _, (start, _) in bars})
    first = min(_hour(start) for _, (start, _) in bars)
    last = max(_hour(end) if end.date() == start.date() else 24.0 for _, (start, end) in bars)
    rooms = list(dict.fromkeys(work.room for work in plan.works))
    side = max(len(room) for room in rooms) + 1
    lines = [" " * side + "".join(f"|{day:%m-%d}".ljust(CELLS) for day in dates) + "|"]
    for room in rooms:
        row = [" "] * (CELLS * len(dates))
        for work, (start, end) in bars:
            if work.room == room:
                until = _hour(end) if end.date() == start.date() else 24.0
                a, b = ((hour - first) / max(1e-9, last - first) * CELLS for hour in (_hour(start), until))
                at = dates.index(start.date()) * CELLS
                for n in range(int(a), max(int(a) + 1, min(CELLS, round(b)))):
                    row[min(at + n, len(row) - 1)] = "x" if work.kind == "abrade" else BAR
        days = "".join("|" + "".join(row[n * CELLS + 1 : (n + 1) * CELLS]) for n in range(len(dates)))
        lines.append(room.ljust(side) + days + "|")
    return lines


def days_json(plan: DayPlan) -> dict[str, Any]:
    """The plan: works with their times and reasons, rooms with the day they are ready."""
    return {
        "schema": "takeoff.days/1",
        **picked(plan, "days hours bound is_proven finish abraded notes"),
        "works": [picked(w, "work room step name kind start end bars crews batches reason") for w in plan.works],
        "rooms": [picked(r, "room done ready") for r in plan.rooms],
    }


def cuts_json(cuts: Sequence[CutList]) -> dict[str, Any]:
    """Cut lists by product; lengths in m, areas in m²."""
    products: list[dict[str, Any]] = []
    for cut_list in cuts:
        entry = picked(cut_list, "product name")
        if (rolls := cut_list.rolls) is not None:
            entry |= picked(
                rolls,
                "roll_length roll_width lower_bound first_fit bought_area waste_area lap_area seam_length",
                rolls=[{"roll": r.number, "left": r.left, "cuts": [_cut(c) for c in r.cuts]} for r in rolls.rolls],
                reused=[{"for": reuse.drop.label, "from": reuse.source} for reuse in rolls.reused],
            )
        if (lengths := cut_list.lengths) is not None:
            stock = [picked(s, "number left", pieces=[_piece(p) for p in s.pieces]) for s in lengths.stock]
            entry |= picked(lengths, "stock_length lower_bound first_fit joints", lengths=stock)
        products.append(entry)
    return {"schema": "takeoff.cuts/1", "units": {"length": "m", "area": "m2"}, "products": products}


def _cut(cut: Cut) -> dict[str, Any]:
    beside = [drop.label for drop in cut.beside]
    return {"cut": cut.number, "length": cut.length, "width": cut.drop.width, "for": cut.drop.label, "beside": beside}


def _piece(piece: Piece) -> dict[str, Any]:
    return picked(piece, "length face at") | {"for": piece.label}


def _hour(moment: datetime) -> float:
    return moment.hour + moment.minute / 60.0
