"""Files written whole or not at all, and tables as CSV in UTF-8, in which nothing is a formula for a spreadsheet."""

from __future__ import annotations

import csv
import errno
import io
import os
import tempfile
from collections.abc import Sequence
from pathlib import Path

from takeoff.errors import ReportError
from takeoff.report.tables import Cell, Column, Table


def write_whole(path: Path, content: bytes) -> Path:
    """Write a file by way of a temporary one beside it, so that a reader never sees half of it.

    A `ReportError` is raised where the folder cannot be made or written to, or the disk is full.
    """
    temporary = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(temporary).chmod(0o644)
        Path(temporary).replace(path)
    except FileExistsError as error:
        raise ReportError(f"{path.parent} is a file, not a folder", remedy="Name a folder to write to.") from error
    except OSError as error:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        is_full = error.errno == errno.ENOSPC
        remedy = "Make room on the disk and try again." if is_full else "Name a folder that can be written to."
        raise ReportError(f"{path}: {error.strerror or error}", remedy=remedy) from error
    return path


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
    return safe_text(value) if isinstance(value, str) else f"{value:.{column.decimals}f}"


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
