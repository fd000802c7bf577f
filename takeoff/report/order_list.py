"""The order list as a table, and as files that a buyer can send."""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.estimate.orders import OrderLine
from takeoff.model.systems import Keeping
from takeoff.report.book import new_book
from takeoff.report.tables import Cell, Table, numbers, texts
from takeoff.units import Display


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
    """Mark what nobody took from a supplier or a data sheet."""
    return " *" if what in line.assumed else ""
