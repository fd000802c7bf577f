"""Tables as CSV: UTF-8 with units in the headers; a text that a spreadsheet would run is quoted."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from takeoff.report.tables import Cell, Column, Table

_RISKY = ("=", "+", "-", "@", "|", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""Starts of what a spreadsheet takes for a formula or a link to a program, the full-width signs among them (OWASP, "CSV
Injection", from memory)."""


def safe_text(value: Cell) -> Cell:
    """Keep a text from being taken for a formula by putting an apostrophe before it.

    Examples
    --------
    >>> safe_text("=1+1"), safe_text("Wash"), safe_text(-2.5)
    ("'=1+1", 'Wash', -2.5)
    """
    return f"'{value}" if isinstance(value, str) and value.lstrip(" ").startswith(_RISKY) else value


def _cell(column: Column, value: Cell) -> Cell:
    """Write a number as it is printed, without signs between thousands."""
    return safe_text(value) if isinstance(value, str) else f"{value:.{column.places}f}"


def table_csv(table: Table) -> bytes:
    """One table as CSV; numbers are rounded as they are printed."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([safe_text(c.heading) for c in table.columns])
    every = (*table.rows, *((table.total,) if table.total else ()))
    writer.writerows([_cell(column, v) for column, v in zip(table.columns, row, strict=True)] for row in every)
    return out.getvalue().encode("utf-8-sig")


def csv_files(tables: Sequence[Table], *, before: str = "") -> dict[str, bytes]:
    """Give tables as files, one each, by name; ``before`` stands before every name."""
    return {f"{before}{t.id}.csv": table_csv(t) for t in tables}
