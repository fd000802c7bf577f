"""The workbook of a bid: quantities and prices as values, and nothing that they were worked out from."""

from __future__ import annotations

from takeoff.report.bid import Bid
from takeoff.report.book import LOGO_LINES, Book, Formula, column_name, new_book, put_logo
from takeoff.report.tables import Table, texts

LOGO_WIDTH = 40.0
"""Characters that the column of a logo is wide."""


def bid_workbook(bid: Bid) -> bytes:
    """Make the workbook of a bid: its tables, each system's build-up, and the terms.

    Totals add up the rows above them; no other cell is a formula, no sheet, row, column or name is hidden.
    """
    head = bid.letterhead
    with new_book(bid, "Bid for wall coating") as (book, out):
        lines = _first_lines(bid)
        first = book.table("Bid", texts("What", "Bid"), lines)
        if head.logo:
            put_logo(first, 1, 2, head)
            first.set_column(2, 2, LOGO_WIDTH)
            first.print_area(0, 0, max(len(lines), LOGO_LINES), 2)
        for table in bid.tables():
            _add(book, table)
        steps = [(table.title, *row) for table in bid.build_up for row in table.rows]
        if steps:
            book.table("Wall systems", (*texts("System"), *bid.build_up[0].columns), steps)
        kinds = (
            ("Payment", bid.payment),
            ("Not included", bid.exclusions),
            ("Qualification", bid.qualifications),
            ("Safety", bid.cautions),
        )
        book.table("Terms", texts("Kind", "Term"), [(kind, line) for kind, lines in kinds for line in lines])
    return out.getvalue()


def _first_lines(bid: Bid) -> list[tuple[str, str]]:
    head = [(name, line) for name, text in bid.head() for line in text.split("\n")]
    return [*(("Company", line) for line in bid.letterhead.company), ("Job", bid.job), *head, *bid.headline]


def _add(book: Book[Bid], table: Table) -> None:
    """Add a table; a total that is the sum of its column stays so when a row is changed."""
    last = len(table.rows) + 1
    total: list[str | float | Formula] = []
    for c, value in enumerate(table.total or ()):
        column = [row[c] for row in table.rows]
        numbers = [v for v in column if not isinstance(v, str)]
        is_sum = not isinstance(value, str) and bool(numbers) and abs(sum(numbers) - value) < 0.005
        name = column_name(c)
        total.append(Formula(text=f"SUM({name}2:{name}{last})", value=float(value)) if is_sum else value)
    book.table(table.title, table.columns, table.rows, total=total or None, note=table.note)
