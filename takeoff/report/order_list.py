"""The order list as a table, and as files that a buyer can send."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.estimate.orders import OrderLine
from takeoff.report.book import new_book
from takeoff.report.letterhead import Letterhead
from takeoff.report.tables import Column, Table
from takeoff.units import Display


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderList:
    """A job's order list with what its files show beside it."""

    job: str
    display: Display
    letterhead: Letterhead
    lines: Sequence[OrderLine]


def order_table(lines: Sequence[OrderLine]) -> Table:
    """One row a pack, by delivery."""
    columns = (
        Column(title="Delivery", decimals=0),
        Column(title="Needed by", kind="text"),
        Column(title="Order by", kind="text"),
        Column(title="Product", kind="text"),
        Column(title="Product code", kind="text"),
        Column(title="Pack", kind="text"),
        Column(title="Count", decimals=0),
        Column(title="Note", kind="text"),
    )
    rows = []
    for line in lines:
        packs = [(pack.pack, pack.count) for pack in line.packs]
        if line.colour_packs:
            packs.append(("colour pack", line.colour_packs))
        when = ("" if line.need_by is None else line.need_by.isoformat(), _order_by(line))
        rows += [
            (line.delivery, *when, line.name, line.code, pack, count, "; ".join(line.notes)) for pack, count in packs
        ]
    note = "" if any(line.need_by for line in lines) else "No days are planned: nothing is dated."
    return Table(id="order-list", title="Order list", columns=columns, rows=tuple(rows), note=note)


def order_workbook(found: OrderList) -> bytes:
    """Give the order list as a workbook of one sheet."""
    table = order_table(found.lines)
    with new_book(found, "Order list") as (book, out):
        book.table("Order list", table.columns, table.rows, note=table.note)
    return out.getvalue()


def _order_by(line: OrderLine) -> str:
    if line.order_by is not None:
        return line.order_by.isoformat()
    return "" if line.need_by is None else "lead time not known"
