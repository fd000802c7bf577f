"""Commands that plan a priced job, hand it over and take walls in: report, demo, export, import, days, order, cut."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from takeoff import actions
from takeoff.cli.as_json import dump, picked
from takeoff.cli.figures import priced_job, tell_open, tell_points
from takeoff.cli.options import (
    MOST_CREWS,
    AsJson,
    CatalogueFile,
    JobPath,
    arg,
    catalogue_in,
    flag,
    opt,
    option,
    read_point,
    with_kinds,
    with_options,
)
from takeoff.cli.rim import notes, opened, problems, say, say_file, told
from takeoff.cli.show import display_of, end_with_nothing, progress, show_measured, show_price_total, show_table
from takeoff.cli.site import Given, changed_by, with_terms
from takeoff.errors import InputError, TakeoffError
from takeoff.exchange.file_kinds import FORMS
from takeoff.limits import cores
from takeoff.model.site import day_of, read_day
from takeoff.report.kinds import KINDS, ReportKind, ReportOrder
from takeoff.report.letterhead import PLAIN, Edition, Paper, PriceBy
from takeoff.signing import now, signed
from takeoff.units import parse_height, parse_length

if TYPE_CHECKING:
    from takeoff.estimate.days.works import DayPlan
    from takeoff.job.job import Job
    from takeoff.model.cut_lists import Cut, CutList, Piece
    from takeoff.model.plan import Sheet


Folder = Annotated[Path, opt("--out", "DIR", "Folder to write to; it is made if need be.")]
ASKED: dict[str, tuple[Any, Any]] = {
    "catalogue": (CatalogueFile, None),
    "letterhead": option(Path, "--letterhead", "FILE.toml", "Company lines, logo, who prepared it and own terms."),
    "paper": option(Paper, "--paper", None, "Paper of the PDF. Not given: by the units of the job."),
    "start": option(str, "--start", "YYYY-MM-DD", "First day of work: plans the crew days from it."),
    "crews": option(int, "--crews", "N", "Crews for the plan of days.", 1, min=1, max=MOST_CREWS),
    "edition": option(
        Edition,
        "--edition",
        None,
        "Everything for your own desk, the bid without costs, or the foreman's copy (PDF) without money.",
        "full",
    ),
    "price_by": option(PriceBy, "--price-by", None, "How a bid sets out the price.", "lump-sum"),
    "against": option(list[str], "--against", "SYSTEM", "Price this system on all coated walls too, as an alternate."),
    "allows_open": (
        Annotated[bool, flag("--allow-open", "Write a bid although open points move its price by more than 2 %.")],
        False,
    ),
}
"""What a person asks of reports besides their kinds."""


@with_kinds
@with_options("asked", ASKED, dict)
def report(job: JobPath, out: Folder, kinds: tuple[ReportKind, ...], asked: dict[str, Any]) -> int:
    """Write reports; with --edition the bid to hand over, or the foreman's copy. All kinds where none is named."""
    edition, start, head = (asked.pop(name) for name in ("edition", "start", "letterhead"))
    if asked["price_by"] != "lump-sum" and edition != "bid":
        raise InputError("--price-by sets out the price of a bid", remedy="Add --edition bid, or leave it out.")
    asked |= {"catalogue": catalogue_in(asked["catalogue"]), "against": asked["against"] or ()}
    order = ReportOrder(
        kinds=kinds or KINDS,
        edition=edition,
        letterhead=PLAIN if head is None else actions.read_letterhead(head),
        start=read_day(start) if start else None,
        **asked,
    )
    with opened(job) as store, progress("Writing reports") as step:
        made = actions.make_reports(store, out, order, at=now(), progress=step)
        settings = store.job.settings
    tell_open(made.points, display_of(settings, made.points.currency))
    notes(made.notes)
    if edition == "full" and (order.start or order.against) and not order.needs("planning"):
        notes(
            ["crew days and alternates stand in the PDF, the page and the workbook alone: add --pdf, --html or --xlsx"]
        )
    return say_paths(made.paths, made.failures)


def say_paths(paths: Iterable[Path], failures: Iterable[TakeoffError]) -> int:
    """List what was written on stdout and what could not be on stderr; gives the exit code."""
    for path in paths:
        say(str(path))
    return problems(failures)


def demo(
    out: Annotated[Path, opt("--out", "DIR", "Folder to write to.", show_default=True)] = Path("takeoff-demo"),
) -> int:
    """Do a whole job on the sample plans: measure, price, write reports. An earlier demo there is replaced."""
    from takeoff.actions.draft.sheet_reads import Lanes

    with progress("Measuring the sample plans and writing reports") as step:
        done = actions.run_demo(out, sign=signed, progress=step, readers=Lanes(cores()))
    show = display_of(done.job.settings, done.priced.estimate.currency)
    tell_open(done.points, show)
    notes(done.notes)
    show_measured(done.priced.measured, show)
    show_price_total(done.priced, show)
    verdicts = [room.verdict for room in done.drafted]
    counts = ", ".join(f"{verdicts.count(word)} {word}" for word in ("right", "open", "wrong"))
    say(f"Draft of the sample set, {len(verdicts)} rooms against what is true of them: {counts}.")
    for room in done.drafted:
        if room.verdict != "right":
            say(f"  {room.room}: {room.verdict}" + f", differs in {', '.join(room.differs)}" * bool(room.differs))
    told("Wrote:")
    return say_paths(done.paths, done.failures)


def export_job(
    job: JobPath,
    out: Annotated[
        Path, arg("OUT", f"Where to write; its ending says what: {', '.join(f'{f.ending} {f.words}' for f in FORMS)}.")
    ],
    flat: Annotated[bool, flag("--flat", "Draw the marks of a PDF into its pages.")] = False,
) -> None:
    """Write the job in a form that other programs read."""
    with opened(job) as store:
        taken_out: list[str] = []
        data = actions.export_file(store, out.name, flattened=flat, tell=taken_out.append)
    notes(taken_out)
    actions.write_file(out, data, "export")
    told(f"Wrote {out}")


def import_job(
    source: Annotated[Path, arg("IN", "An exported job (.json), or walls as marked PDF or DXF drawing.")],
    job: Annotated[Path, arg("JOB", "The job file: one to make from .json, else the one to add walls to.")],
    sheet: Annotated[str, opt("--sheet", "SHEET", "Sheet that the lines of a DXF go on.")] = "",
    height: Annotated[str, opt("--height", "LENGTH", "Height of lines that other programs drew.")] = "",
    layers: Annotated[str, opt("--layers", "NAME*", "Layers of a DXF to read.", show_default=True)] = "A-WALL*",
    unit: Annotated[str, opt("--unit", "LENGTH", "One unit of a DXF that does not say it, such as 1mm.")] = "",
    origin: Annotated[
        str, opt("--origin", "X,Y", "Point of a DXF on the sheet's lower left corner, in its units.", show_default=True)
    ] = "0,0",
) -> None:
    """Make a job file from an exported job, or take walls into a job from a marked PDF or a DXF drawing."""
    ending = source.suffix.lower()
    if ending not in (".pdf", ".dxf"):
        data = actions.read_file(source, "exported job")
        with actions.import_json(job, data, sign=signed):
            pass
        told(f"Made {job}")
        return
    data = actions.read_file(source, "PDF" if ending == ".pdf" else "drawing")
    with opened(job) as store:
        system = store.job.settings.units
        top = parse_height(height, system=system) if height else None
        if ending == ".pdf":
            taken = actions.import_annotated_pdf(store, data, height=top, name=source.name)
        else:
            taken = actions.import_dxf(
                store,
                data,
                _sheet(store.job, sheet),
                layers=layers,
                unit=parse_length(unit, system=system) if unit else None,
                height=top,
                origin=read_point(origin),
            )
    notes(taken.doubts)
    told(f"Done: took in {taken.count} wall{'s' * (taken.count != 1)}")


def _sheet(job: Job, text: str) -> Sheet:
    if text:
        return actions.find_sheet(job, text)
    if len(job.sheets) != 1:
        raise InputError("it is not said which sheet the lines go on", remedy="Name it: --sheet A-101.")
    return next(iter(job.sheets.values()))


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
def days(job: JobPath, given: Given, catalogue: CatalogueFile = None, as_json: AsJson = False) -> None:
    """Plan the work into days: who does what when, and why it starts no earlier."""
    chosen = catalogue_in(catalogue)
    with opened(job) as store:
        value = store.job
        terms = changed_by(store, given)
    priced = actions.make_estimate(value, catalogue=chosen)
    if not as_json:
        end_with_nothing(value, job, "to plan")
    if not terms.start and not terms.handed_over:
        terms = actions.changed_terms(terms, start=actions.next_monday(day_of(now())))
    is_quick = given["effort"] is None and value.settings.site is None
    plan = actions.plan_job(priced, terms=terms, effort=10.0 if is_quick else None)
    tell_points(value, priced)
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

    value, priced = priced_job(job, "to order", as_json=as_json, catalogue=catalogue)
    first: date | None = read_day(start) if start else None
    lines = actions.order_lines(value, priced, start=first)
    if out is not None:
        told(f"Wrote {actions.write_order(value, lines, out)}")
    if as_json:
        say_file(dump({"schema": "takeoff.order/1", "lines": [asdict(line) for line in lines]}))
    elif out is None:
        show_table(order_table(lines))


def cut(job: JobPath, limit: Limit = 1.0, catalogue: CatalogueFile = None, as_json: AsJson = False) -> None:
    """Print a numbered cut list: what to cut from each roll of mat and each length of trim."""
    value, priced = priced_job(job, "to cut", as_json=as_json, catalogue=catalogue, cut_effort=limit)
    tell_points(value, priced)
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
