"""The door schedule of a text sheet, read as a table: door marks with their width and height.

A *heading row* names the mark, and either width and height or the size as one. What is no door schedule is told by its
words: "door" stands in the heading of the marks or in the title above.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.model.plan import Sheet
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Linework
from takeoff.trace.schedules.text_tables import (
    Cell,
    Column,
    body_under,
    cells_of,
    columns_of,
    heading_row,
    length_in,
    rows_under,
    text_in,
)

MARK = re.compile(r"[A-Z]{1,2}|[A-Z]{0,3}[-.]?\d{1,4}(?:[-.]\d{1,3})?[A-Z]?", re.IGNORECASE | re.ASCII)
_HEADINGS = (
    (
        "mark",
        re.compile(r"(?:DOOR\.?\s*)?(?:MARK|NO\b\.?|NUMBER|NUM\b\.?|TAG|ID|#)|DOOR", re.I),
    ),
    ("size", re.compile(r"(?:DOOR\s+|OPENING\s+|LEAF\s+|NOM\.?\s+|NOMINAL\s+)?SIZE(?:\s*\(?W\s*[X×]\s*H\)?)?", re.I)),
    ("width", re.compile(r"(?:DOOR\s+|OPENING\s+|CLEAR\s+)?(?:WIDTH|WD\.?|W)", re.I)),
    ("height", re.compile(r"(?:DOOR\s+|OPENING\s+|CLEAR\s+)?(?:HEIGHT|HT\.?|HGT\.?|H)", re.I)),
    ("count", re.compile(r"QTY\.?|QUANTITY|COUNT|LEAVES", re.I)),
    ("type", re.compile(r"(?:DOOR\s+)?TYPE", re.I)),
    ("remarks", re.compile(r"REMARKS?|NOTES?|COMMENTS?", re.I)),
)
_BY = re.compile(r"\s*[x×]\s*", re.IGNORECASE)
_PAIR = re.compile(r"^(?:PR\.?|PAIR(?:\s+OF)?|\(2\)|2\s*[@x×](?=\s*\d+['′]))\s*", re.IGNORECASE)
INCH = 0.0254


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningRow:
    """A row of the schedule: the door's mark, and its width and height in metres where they can be read."""

    mark: str
    width: float | None
    height: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningSchedule:
    """The rows of a door schedule, and the sheet that shows it. ``doubts`` are sentences about what was not read."""

    sheet: str
    rows: tuple[OpeningRow, ...]
    doubts: tuple[str, ...] = ()


def read_opening_table(linework: Linework, lines: Sequence[TextLine], sheet: Sheet) -> OpeningSchedule | None:
    """Read the door schedule of a sheet; nothing where it shows none.

    Parameters
    ----------
    linework, lines
        What is drawn and written on the sheet, in sheet points.
    sheet
        The sheet, for its size and rotation.
    """
    cells = cells_of(lines, sheet)
    heading = _heading_row(cells)
    if heading is None:
        return None
    key = next(cell for cell in heading if _kind(cell.text) == "mark")
    body = body_under(heading, cells, key, MARK)
    columns = columns_of(heading, body, linework, sheet, _kind)
    rows, doubts = _rows(columns, body)
    return (
        OpeningSchedule(sheet=sheet.number or str(sheet.id), rows=tuple(rows), doubts=tuple(doubts)) if rows else None
    )


def may_show_openings(lines: Sequence[TextLine], sheet: Sheet) -> bool:
    """Tell from its text alone whether a sheet may show a door schedule."""
    return _heading_row(cells_of(lines, sheet)) is not None


def _kind(text: str) -> str:
    return next((kind for kind, pattern in _HEADINGS if pattern.fullmatch(text)), "")


def _heading_row(cells: Sequence[Cell]) -> list[Cell] | None:
    """Find the row of headings with most of them, under words that say that it is of doors."""

    def is_schedule(row: Sequence[Cell]) -> bool:
        kinds = {_kind(cell.text) for cell in row}
        has_size = "size" in kinds or {"width", "height"} <= kinds
        return "mark" in kinds and has_size and _is_of_doors(row, cells)

    return heading_row(cells, _kind, ("size", "height"), is_schedule)


def _is_of_doors(row: Sequence[Cell], cells: Sequence[Cell]) -> bool:
    if any("DOOR" in cell.text.upper() and _kind(cell.text) == "mark" for cell in row):
        return True
    top, left, right = min(cell.box[1] for cell in row), row[0].box[0], row[-1].box[2]
    above = [
        cell
        for cell in cells
        if "SCHEDULE" in cell.text.upper()
        and 0 < top - cell.y < 8 * row[0].size
        and cell.box[2] > left
        and cell.box[0] < right
    ]
    nearest = max(above, key=lambda cell: cell.y, default=None)
    return nearest is not None and "DOOR" in nearest.text.upper()


def _rows(columns: Sequence[Column], body: Sequence[Cell]) -> tuple[list[OpeningRow], list[str]]:
    """Read the rows: every cell belongs to the mark that it stands most level with."""
    key = next(column for column in columns if column.kind == "mark")
    rows: list[OpeningRow] = []
    doubts: list[str] = []
    for anchor, own in rows_under(key, body, MARK):
        texts = dict(reversed([(column.kind, text_in(column, own)) for column in columns if column.kind]))
        width, height = length_in(texts.get("width", "")), length_in(texts.get("height", ""))
        if width is None and height is None:
            width, height = size_in(texts.get("size", ""))
        if height is None:
            written = texts.get("height") or texts.get("size") or ""
            doubts.append(f"door {anchor.text}: the schedule's height “{written}” is not one length")
        rows.append(OpeningRow(mark=anchor.text, width=width, height=height))
    twice = {row.mark.upper() for row in rows if sum(r.mark.upper() == row.mark.upper() for r in rows) > 1}
    doubts += [f"door {mark} stands in the schedule more than once and is left out" for mark in sorted(twice)]
    return [row for row in rows if row.mark.upper() not in twice], doubts


def size_in(text: str) -> tuple[float | None, float | None]:
    r"""Read a door size as width and height in metres: two lengths with a times sign, or four figures.

    A pair is as wide as both leaves. That 3070 is 3'-0" by 7'-0" is common practice, no source. A third length is the
    thickness of the leaf.

    Examples
    --------
    >>> size_in("3'-0\" x 7'-0\" x 1 3/4\""), size_in("2868")
    ((0.9144, 2.1336), (0.8128, 2.032))
    >>> size_in("900 × 2100"), size_in("see plan")
    ((0.9, 2.1), (None, None))
    """
    leaves = 2 if _PAIR.match(text) else 1
    plain = _PAIR.sub("", text.strip())
    nominal = re.fullmatch(r"(\d)(\d)(\d)(\d)", plain)
    if nominal:
        wide, inches, high, more = map(int, nominal.groups())
        return leaves * (12 * wide + inches) * INCH, (12 * high + more) * INCH
    parts = _BY.split(plain)
    if len(parts) not in (2, 3):
        return None, None
    width, height = length_in(parts[0]), length_in(parts[1])
    return (leaves * width if width is not None else None), height
