"""Neutral tables of a planned job: cut lists, days, the range of the price, alternates side by side, what to order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from takeoff.estimate.alternates import Comparison
from takeoff.estimate.days.calendar import moment_words
from takeoff.estimate.days.works import DayPlan
from takeoff.estimate.orders import OrderLine
from takeoff.estimate.simulate import PriceRange
from takeoff.model.cut_lists import CutList, Drop, Piece
from takeoff.model.systems import Keeping
from takeoff.report.book import new_book
from takeoff.report.tables import Cell, Table, amounts, numbers, texts
from takeoff.report.wall_names import WallNames
from takeoff.units import Display
from takeoff.units.money import places_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Planning:
    """What was planned of a job; what is None or empty was not asked for."""

    cuts: tuple[CutList, ...] = ()
    days: DayPlan | None = None
    price_range: PriceRange | None = None
    alternates: Comparison | None = None


UNPLANNED = Planning()
"""Nothing besides the estimate."""


@dataclass(frozen=True, slots=True)
class CutRow:
    """One cut of a cut list: where it comes from, its number, its size in m, what it is for, what lies beside it.

    ``left`` is what is left at the end in m, None where more is cut from the same.
    """

    name: str
    place: str
    number: int | None
    what: Drop | Piece
    length: float
    beside: tuple[Drop, ...] = ()
    left: float | None = None


def cut_rows(cuts: Sequence[CutList], walls: WallNames) -> tuple[CutRow, ...]:
    """List every cut of every roll and every stock length in order."""
    rows: list[CutRow] = []
    for each in cuts:
        for roll in each.rolls.rolls if each.rolls else ():
            for cut in roll.cuts:
                left, place = roll.left if cut is roll.cuts[-1] else None, f"roll {roll.number}"
                rows.append(CutRow(each.name, place, cut.number, cut.drop, cut.length, cut.beside, left))
        drops = {drop.label: drop for row in rows for drop in (row.what, *row.beside) if isinstance(drop, Drop)}
        for reuse in each.rolls.reused if each.rolls else ():
            drops[reuse.drop.label] = reuse.drop
            place = f"opening in {walls.what(drops[reuse.source])}"
            rows.append(CutRow(each.name, place, None, reuse.drop, reuse.drop.length))
        for stock in each.lengths.stock if each.lengths else ():
            for n, piece in enumerate(stock.pieces, start=1):
                left = stock.left if n == len(stock.pieces) else None
                rows.append(CutRow(each.name, f"length {stock.number}", n, piece, piece.length, left=left))
    return tuple(rows)


def cut_table(cuts: Sequence[CutList], display: Display, walls: WallNames) -> Table:
    """Every cut of every roll and every stock length, numbered, with what it is for; lengths as people write them."""
    columns = (
        *texts("Product", "From"),
        *numbers("Cut", decimals=0),
        *texts("Length", "Width", "For", "Laid beside it", "Left at the end"),
    )
    rows: list[tuple[Cell, ...]] = []
    for row in cut_rows(cuts, walls):
        size = (display.length(row.length), display.length(row.what.width) if isinstance(row.what, Drop) else "")
        beside = "; ".join(walls.what(drop) for drop in row.beside)
        left = "" if row.left is None else display.length(row.left)
        rows.append((row.name, row.place, row.number or "", *size, walls.what(row.what), beside, left))
    notes = []
    for cut_list in cuts:
        if (plan := cut_list.rolls) is not None:
            rolls = f"{len(plan.rolls)} roll{'s' * (len(plan.rolls) != 1)}"
            notes.append(
                f"{cut_list.name}: {rolls}, no plan takes fewer than {plan.lower_bound}; waste {plan.waste * 100:.1f}"
                f" %, laps {display.area(plan.lap_area)}."
            )
        if (stock := cut_list.lengths) is not None:
            lengths = f"{len(stock.stock)} length{'s' * (len(stock.stock) != 1)}"
            joints = f"; {stock.joints} joint{'s' * (stock.joints != 1)} in longer pieces" if stock.joints else ""
            notes.append(f"{cut_list.name}: {lengths}, no plan takes fewer than {stock.lower_bound}{joints}.")
    return Table(id="cut-list", title="Cut list", columns=columns, rows=tuple(rows), note=" ".join(notes))


def days_table(plan: DayPlan) -> Table:
    """Every step in its time, who does it, and why it starts no earlier."""
    columns = (*texts("Room", "Step", "Start", "End", "Crew"), *numbers("Batches", decimals=0), *texts("Why then"))
    rows: list[tuple[Cell, ...]] = []
    for work in plan.works:
        when = (moment_words(work.start), moment_words(work.end))
        rows.append((work.room, work.name, *when, ", ".join(work.crews), work.batches or "", work.reason))
    proven = "no plan is shorter" if plan.is_proven else f"at least {round(plan.bound, 2):g} h"
    note = f"{plan.days} working days, {round(plan.hours, 2):g} working hours ({proven})."
    return Table(
        id="days", title="Days", columns=columns, rows=tuple(rows), note=" ".join((note, *plan.notes)) if rows else ""
    )


def ready_table(plan: DayPlan) -> Table:
    """When each room is done, and when it is cured for service."""
    columns = texts("Room", "Done", "In service")
    rows = tuple((room.room, moment_words(room.done), moment_words(room.ready)) for room in plan.rooms)
    return Table(id="rooms-ready", title="Rooms ready", columns=columns, rows=rows)


def range_table(result: PriceRange, currency: str) -> Table:
    """What the price before tax on it does not exceed, in so many of 100 draws."""
    rows: tuple[tuple[Cell, ...], ...] = (
        ("Every rate at its likely value, without contingency", result.likely),
        ("Mean of all draws", result.mean),
        *(
            (f"P{part}: not exceeded in {part} of 100 draws", value)
            for part, value in ((10, result.p10), (50, result.p50), (80, result.p80), (90, result.p90))
        ),
    )
    note = (
        f"Hours and material drawn {result.draws:,} times between low and high values, seed {result.seed}; "
        "contingency is left out, since the range takes its place."
        f"{' ' + result.words if result.words else ''}"
    )
    columns = (*texts("Price before tax"), *amounts("Amount", unit=currency))
    return Table(id="price-range", title="Range", columns=columns, rows=rows, note=note)


def drivers_table(result: PriceRange, currency: str) -> Table:
    """What drives the spread of the price, widest first."""
    columns = (
        *texts("What drives it"),
        *amounts("Price at its low", "Price at its high", unit=currency),
        *numbers("Share of the spread", unit="%", decimals=1),
    )
    rows = tuple((d.label, d.low_price, d.high_price, d.share * 100.0) for d in result.drivers)
    note = "Low and high: what the line governs costs its P10 and its P90, and all else is at its likely value."
    return Table(id="price-drivers", title="Drivers", columns=columns, rows=rows, note=note)


def alternates_table(result: Comparison, display: Display, *, only_differences: bool = False) -> Table:
    """Alternates side by side, each with its difference from the first.

    With ``only_differences`` lines that are the same in every alternate are left out.
    """
    money = result.currency
    titles = (*result.names, *(f"{name}: difference" for name in result.names[1:]))
    columns = (
        *texts("Line", "Unit"),
        *(replace(column, decimals=max(2, places_of(money))) for column in amounts(*titles)),
    )
    rows: list[tuple[Cell, ...]] = []
    for row in result.what_differs if only_differences else result.rows:
        factor, unit = 1.0, row.unit
        if row.id == "net_area":
            factor, unit = display.area_number(1.0), display.area_unit
        elif row.id == "price_per_area":
            factor, unit = 1.0 / display.area_number(1.0), f"{money} per {display.area_unit}"
        label = {"price_per_area": "Price per net area"}.get(row.id, row.label)
        kind = {"material": "Material: ", "labour": "Labour: "}.get(row.kind, "")
        values: list[Cell] = ["" if value is None else value * factor for value in row.values]
        differences = [difference * factor for difference in row.differences[1:]]
        rows.append((f"{kind}{label}", unit, *values, *differences))
    return Table(id="alternates", title="Alternates", columns=columns, rows=tuple(rows), note=" ".join(result.notes))


def planning_tables(planning: Planning, display: Display, currency: str, walls: WallNames) -> tuple[Table, ...]:
    """Return the tables of what was planned."""
    spread = planning.price_range
    return (
        *([cut_table(planning.cuts, display, walls)] if planning.cuts else []),
        *([days_table(planning.days), ready_table(planning.days)] if planning.days is not None else []),
        *([range_table(spread, currency), drivers_table(spread, currency)] if spread is not None else []),
        *([alternates_table(planning.alternates, display)] if planning.alternates is not None else []),
    )


def order_table(lines: Sequence[OrderLine]) -> Table:
    """One row a pack, by delivery."""
    columns = (
        *numbers("Delivery", decimals=0),
        *texts("Needed by", "Order by", "Lead time", "Product", "Colour", "Product code", "Pack"),
        *numbers("Count", decimals=0),
        *texts("Note"),
    )
    rows: list[tuple[Cell, ...]] = []
    for line in lines:
        packs = [(pack.pack, pack.count) for pack in line.packs]
        if line.colour_packs:
            packs.append(("colour pack", line.colour_packs))
        need_by, order_by = ("" if day is None else day.isoformat() for day in (line.need_by, line.order_by))
        said = "; ".join(f"{note}{_star(line, 'shelf_life_days')}" for note in line.notes)
        what = (line.delivery, need_by, order_by, _lead(line), line.name, line.colour, line.code)
        rows += [(*what, pack, count, said) for pack, count in packs]
    told = [] if any(line.need_by for line in lines) else ["No days are planned: nothing is dated."]
    if any(line.assumed for line in lines):
        told.append("Lead times and shelf lives marked * are common practice without a source: ask the supplier.")
    return Table(id="order-list", title="Order list", columns=columns, rows=tuple(rows), note=" ".join(told))


def order_workbook(lines: Sequence[OrderLine], job: str, display: Display) -> bytes:
    """Give the order list of a job as a workbook of one sheet."""
    table = order_table(lines)
    with new_book(job, display, "Order list") as (book, out):
        book.table("Order list", table.columns, table.rows, note=table.note)
    return out.getvalue()


def _lead(line: OrderLine) -> str:
    return "not known" if line.lead_days is None else f"{line.lead_days} days{_star(line, 'lead_days')}"


def _star(line: OrderLine, what: Keeping) -> str:
    return " *" if what in line.assumed else ""
