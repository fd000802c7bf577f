"""Results as tables for people, and progress on a terminal."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

import typer

from takeoff.cli.rim import say
from takeoff.cli.table import console, table
from takeoff.report.letterhead import other_currency
from takeoff.sheet.scales import scale_text
from takeoff.units import Display

if TYPE_CHECKING:
    from pathlib import Path

    from rich.padding import Padding

    from takeoff.actions import Measured, Priced
    from takeoff.actions.sheet_places import Place
    from takeoff.job.job import Job, JobSettings
    from takeoff.job.store import JournalLine
    from takeoff.model.figures import MeasuredItem
    from takeoff.model.plan import Sheet
    from takeoff.report.tables import Table


def display_of(settings: JobSettings, currency: str = "") -> Display:
    """How a job's figures are shown."""
    return replace(settings.display, currency=currency or settings.currency)


def end_with_nothing(job: Job, path: Path, what: str, *, to_price: bool = True) -> None:
    """End the command where there is nothing to measure or to price: say what the job lacks and what to do."""
    steps = _next_steps(job, path, to_price=to_price)
    if not steps:
        return
    out = console()
    out.print(f"There is nothing {what} yet.", markup=False, style="bold")
    for step in steps:
        out.print(f"  {step}", markup=False, soft_wrap=True)
    raise typer.Exit


def _next_steps(job: Job, path: Path, *, to_price: bool) -> list[str]:
    """What a job lacks before it can be measured or priced, in order, each with the command that gives it."""
    steps = []
    first = next(iter(job.sheets.values()), None)
    sheet = "SHEET" if first is None else first.number or str(first.id)
    if not job.runs:
        if not job.calibrations:
            steps.append(f"No sheet has a scale. Set it: takeoff scale {path} {sheet} --read, or --ratio 1:50.")
        steps.append(
            f"No wall is traced. Trace rooms: takeoff trace {path} {sheet} --all --height H; or apply an edits file: "
            f"takeoff apply {path} EDITS.json."
        )
    with_system = {room.id for room in job.rooms.values() if room.system}
    has_system = any(run.system or run.room in with_system for run in job.runs.values())
    if to_price and not has_system:
        steps.append(
            f"No wall has a system. Take them from a finish schedule: takeoff finishes {path} SHEET --apply; or give "
            f'each room its "system" in an edits file, such as "mat-hygienic". takeoff catalogue prints all there are.'
        )
    return steps


def show_sheets(job: Job) -> None:
    """Print the sheet register: each sheet's revision and date, its scale, and what stands on it."""
    on = Counter(run.sheet for run in job.runs.values())
    rows = []
    for sheet in job.sheets.values():
        newer, scale = job.sheets.get(sheet.replaced_by or 0), job.calibrations.get(str(sheet.id))
        walls = f"{on[sheet.id]} wall{'s' * (on[sheet.id] != 1)}" if on[sheet.id] else ""
        replaced = f"replaced by {newer.number or f'sheet {newer.id}'}" if newer is not None else ""
        rows.append(
            (
                str(sheet.id),
                sheet.number,
                sheet.title,
                " ".join(t for t in (sheet.revision, sheet.date) if t),
                ", ".join(t for t in (walls, replaced) if t),
                f"{job.sources[sheet.source].name}, page {sheet.page}",
                sheet.kind,
                sheet.scale_note,
                "not set" if scale is None else f"{scale_text(scale.ratio, job.settings.units)} (from {scale.origin})",
            )
        )
    headings = ("", "Number", "Title", "Revision", "Stands on it", "File", "Kind", "Note of the scale", "Scale")
    table("Sheets", headings, rows, text_columns=9)


def show_places(sheet: Sheet, places: Sequence[Place]) -> None:
    """Print the points on a sheet, as other commands take them."""
    rows = [(p.kind, p.words, " ".join(f"{x:.1f},{y:.1f}" for x, y in p.points_pt)) for p in places]
    table(f"Points on {sheet.called}", ("What", "Words", "At"), rows, text_columns=3)


def show_measured(measured: Measured, show: Display) -> None:
    """Print a measurement: areas, then lengths and corners, each with its total."""
    m = measured.measurement
    by_rule = m.rule != "exact-net"

    def areas(item: MeasuredItem) -> tuple[str, ...]:
        q = item.quantities
        return (
            item.label,
            show.area(q.gross_area),
            show.area(q.deducted_area),
            f"{show.area(q.net_area)} ± {show.area(item.u.net_area)}",
            show.area(q.return_area),
            *((show.area(q.measured_area),) if by_rule else ()),
        )

    def lengths(item: MeasuredItem) -> tuple[str, ...]:
        q = item.quantities
        return (
            item.label,
            f"{show.length(q.base_length)} ± {show.length(item.u.base_length)}",
            f"{q.inside_corners:.0f}: {show.length(q.inside_corner_length)}",
            f"{q.outside_corners:.0f}: {show.length(q.outside_corner_length)}",
            show.length(q.termination_length),
            show.length(q.cove_length),
        )

    area_columns = ("", "Gross", "Deducted", "Net (k = 2)", "Returns", *((f"By rule {m.rule}",) if by_rule else ()))
    length_columns = ("", "Base (k = 2)", "Inside corners", "Outside corners", "Terminations", "Cove")
    for title, columns, row in (
        (f"Quantities by {m.by}", area_columns, areas),
        (f"Lengths and corners by {m.by}", length_columns, lengths),
    ):
        left_out = [(words, *[""] * (len(columns) - 1)) for words in m.left_out]
        table(title, columns, [*map(row, m.items), *left_out, row(m.total)])


def show_measured_arithmetic(measured: Measured, show: Display) -> None:
    """Print how each face's net area came about."""
    from takeoff.report.arithmetic import face_arithmetic

    out = console()
    for face in measured.faces:
        out.print(f"{face.elevation.run}, {face.elevation.face} face", markup=False, style="bold")
        for line in face_arithmetic(face, show):
            out.print(f"  {line}", markup=False)


def show_priced(priced: Priced, show: Display, *, explain: bool) -> None:
    """Print an estimate, and how each figure came about where asked."""
    from takeoff.report.tables import labour_table, material_table, price_table, share_table

    e = priced.estimate
    for made in (material_table(e, show), labour_table(e, show), share_table(e, show), price_table(e, show)):
        show_table(made)
    if explain:
        show_estimate_arithmetic(priced)
    _show_sentences("Notes", e.notes)
    _show_sentences("Cautions", e.cautions)
    show_price_total(priced, show)


def _show_sentences(heading: str, sentences: Sequence[str]) -> None:
    if not sentences:
        return
    out = console()
    out.print(heading, markup=False, style="bold")
    for sentence in sentences:
        out.print(_indented(sentence, 2))
    out.print()


def _indented(text: str, by: int) -> Padding:
    """A text whose every line is set in by so many characters."""
    from rich.padding import Padding
    from rich.text import Text

    return Padding(Text(text), (0, 0, 0, by), expand=False)


def show_estimate_arithmetic(priced: Priced) -> None:
    """Print how areas, material, labour and price came about."""
    from takeoff.report.arithmetic import group_arithmetic

    out = console()
    groups = group_arithmetic(priced.estimate, priced.catalogue)
    parts = (
        ("Coated area by room: what coats are ordered for and labour is counted by", groups["areas"]),
        ("Material by product", groups["material"]),
        ("Labour by room", groups["labour"]),
        ("From cost to price", groups["price"]),
    )
    for heading, members in parts:
        out.print(heading, markup=False, style="bold underline")
        for group in members:
            if group.title:
                out.print(f"  {group.title}", markup=False, style="bold")
            for lead, rest in group.lines:
                out.print(_indented(f"{lead}: {rest}" if rest else lead, 4))
        out.print()


def show_price_total(priced: Priced, show: Display) -> None:
    """Print the price, the price per area, and the time."""
    e = priced.estimate
    console().print(
        f"Price {show.money(e.line('price').amount)}, {show.money_per_area(e.price_per_area)} on "
        f"{show.area(e.net_area)}; {e.hours:,.1f} man-hours, {e.crew_days:,.1f} crew days",
        markup=False,
        style="bold",
    )
    if words := other_currency(priced.job_currency, e.currency):
        console().print(f"Check the currency: {words}.", markup=False)


def show_history(lines: Iterable[JournalLine]) -> None:
    """Print the journal; what was undone or redone says so."""
    before = {"undo": "Undone: ", "redo": "Redone: "}
    table(
        "History",
        ("", "When", "Who", "What"),
        [(str(h.seq), h.at, h.who, f"{before.get(h.verb, '')}{h.label}") for h in lines],
        text_columns=4,
    )


@contextmanager
def progress(title: str) -> Iterator[Callable[[float], None] | None]:
    """Show a bar on stderr where it is a terminal; gives what is to be told the fraction done, or nothing."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(title, total=1.0)
        yield lambda fraction: bar.update(task, completed=fraction)


def show_table(found: Table) -> None:
    """Print a report's table and its note."""
    texts = [n for n, column in enumerate(found.columns) if not column.is_number]
    cells = [*found.rows, *([found.total] if found.total else ())]
    rows = [[column.text(value) for column, value in zip(found.columns, row, strict=True)] for row in cells]
    table(found.title, [column.heading for column in found.columns], rows, more_text=texts)
    if found.note:
        say(found.note)
