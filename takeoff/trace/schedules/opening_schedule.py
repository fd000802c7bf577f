"""The opening schedules of a text sheet, read as tables: marks of doors and windows with width, height and sill.

A *heading row* names the mark, and either width and height or the size as one. What is no such schedule is told by its
words: door, window or opening stands in the heading of the marks or in the title above. A sheet may show several.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from takeoff.errors import LengthError
from takeoff.model.plan import Point, Sheet
from takeoff.model.walls import OpeningKind
from takeoff.sheet.frame import displayed_to_sheet
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Linework
from takeoff.trace.schedules.text_tables import (
    Cell,
    Column,
    body_under,
    cells_of,
    columns_of,
    heading_row,
    kinds_by,
    length_in,
    rows_under,
    text_in,
    ways_to_read,
)
from takeoff.units import door_size

MARK = re.compile(r"[A-Z]{1,2}|[A-Z]{0,3}[-.]?\d{1,4}(?:[-.]\d{1,3})?[A-Z]?", re.IGNORECASE | re.ASCII)
_OF = r"(?:DOOR|WINDOW|OPENING)"
_HEADINGS = (
    ("mark", re.compile(rf"(?:{_OF}\.?\s*)?(?:MARK|NO\b\.?|NUMBER|NUM\b\.?|TAG|ID|#)|DOOR|WINDOW|OPENING", re.I)),
    (
        "size",
        re.compile(
            rf"(?:{_OF}\s+|LEAF\s+|UNIT\s+|FRAME\s+|NOM\.?\s+|NOMINAL\s+)?SIZE(?:\s*\(?W\s*[X×]\s*H\)?)?"
            r"|W(?:IDTH)?\.?\s*[X×]\s*H(?:EIGHT)?\.?",
            re.I,
        ),
    ),
    ("width", re.compile(rf"(?:{_OF}\s+|CLEAR\s+|UNIT\s+|FRAME\s+)?(?:WIDTH|WD\.?|W)", re.I)),
    ("height", re.compile(rf"(?:{_OF}\s+|CLEAR\s+|UNIT\s+|FRAME\s+)?(?:HEIGHT|HT\.?|HGT\.?|H)", re.I)),
    ("sill", re.compile(r"(?:WINDOW\s+)?SILL(?:\s+(?:HEIGHT|HT\.?|HGT\.?|LEVEL))?(?:\s+A\.?F\.?F\.?)?", re.I)),
    ("head", re.compile(r"(?:WINDOW\s+)?HEAD\s+(?:HEIGHT|HT\.?|HGT\.?|LEVEL)(?:\s+A\.?F\.?F\.?)?", re.I)),
    ("count", re.compile(r"QTY\.?|QUANTITY|COUNT|LEAVES", re.I)),
    ("type", re.compile(rf"(?:{_OF}\s+)?TYPE", re.I)),
    ("remarks", re.compile(r"REMARKS?|NOTES?|COMMENTS?|DESCRIPTION", re.I)),
)
_KINDS: tuple[tuple[OpeningKind, re.Pattern[str]], ...] = (
    ("pass-through", re.compile(r"\bPASS[- ]?THROUGH|\bSERVING\b", re.I)),
    ("window", re.compile(r"\bWINDOW|\bCASEMENT|\bSASH|\bHUNG\b|\bAWNING|\bGLAZ|\bLOUV|\bLITE\b|\bSTOREFRONT", re.I)),
    ("door", re.compile(r"\bDOOR|\bLEAF|\bLEAVES|\bROLL|\bOVERHEAD|\bSWING|\bFLUSH", re.I)),
)
"""Words of a row's type that tell what it is; the first that fits."""
_kind = kinds_by(_HEADINGS)
MOST_TABLES = 6
"""Opening schedules of one sheet that are read."""
_BY = re.compile(r"\s*[x×]\s*", re.IGNORECASE)
_PAIR = re.compile(r"^(?:PR\.?|PAIR(?:\s+OF)?|\(2\)|2\s*[@x×](?=\s*\d+['′]))\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningRow:
    """A row of a schedule: mark, and width, height and sill in metres where they can be read.

    ``kind`` is what the row or its table is of, nothing where neither says; ``text`` is the row as it stands, and
    ``sheet`` and ``at_pt`` where: the sheet's id, in sheet points.
    """

    mark: str
    width: float | None
    height: float | None
    sill: float | None = None
    kind: OpeningKind | None = None
    text: str = ""
    sheet: int = 0
    at_pt: Point | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningSchedule:
    """The rows of the opening schedules of a sheet, by the sheet's number or id; ``doubts`` say what was not read."""

    sheet: str
    rows: tuple[OpeningRow, ...]
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Heading:
    """The headings of one table, left to right, the one that its rows are told apart by, and what the table is of."""

    cells: tuple[Cell, ...]
    key: Cell
    kind: OpeningKind | None


def read_opening_table(linework: Linework, lines: Sequence[TextLine], sheet: Sheet) -> OpeningSchedule | None:
    """Read the opening schedules of a sheet together; nothing where it shows none.

    ``linework`` and ``lines`` are what is drawn and written on the sheet, in sheet points.
    """
    read = (_read(linework, cells_of(lines, way), way) for way in ways_to_read(lines, sheet))
    return next((schedule for schedule in read if schedule.rows), None)


def _read(linework: Linework, cells: Sequence[Cell], sheet: Sheet) -> OpeningSchedule:
    rows: list[OpeningRow] = []
    doubts: list[str] = []
    for heading, beside in _tables(cells):
        inside = [cell for cell in cells if beside[0] < cell.x < beside[1]]
        body = body_under(heading.cells, inside, heading.key, MARK)
        columns = columns_of(heading.cells, body, linework, sheet, _kind)
        found, told = _rows(columns, body, heading, sheet)
        rows += found
        doubts += told
    return OpeningSchedule(sheet=sheet.number or str(sheet.id), rows=tuple(rows), doubts=tuple(doubts))


def may_show_openings(lines: Sequence[TextLine], sheet: Sheet) -> bool:
    """Tell from its text alone whether a sheet may show an opening schedule."""
    return any(_tables(cells_of(lines, way)) for way in ways_to_read(lines, sheet))


def _tables(cells: Sequence[Cell]) -> list[tuple[_Heading, tuple[float, float]]]:
    """Find the headings of every table of openings, each with how far to the left and right its table may reach."""
    rest = list(cells)
    found: list[tuple[_Heading, tuple[float, float]]] = []
    while len(found) < MOST_TABLES:
        row = heading_row(rest, _kind, ("size", "height"), lambda level: bool(_parts(level, cells)))
        if row is None:
            break
        parts = _parts(row, cells)
        ends = [part.cells[0].box[0] - part.cells[0].size for part in parts[1:]]
        found += zip(parts, pairwise([float("-inf"), *ends, float("inf")]), strict=True)
        rest = [cell for cell in rest if not any(cell.y == one.y for one in row)]
    return found


def _parts(row: Sequence[Cell], cells: Sequence[Cell]) -> list[_Heading]:
    """Part a row of headings where tables stand side by side; those that are of openings are returned."""
    sort = "mark" if any(_kind(cell.text) == "mark" for cell in row) else "type"
    starts = [i for i, cell in enumerate(row) if _kind(cell.text) == sort]
    found: list[_Heading] = []
    first = starts[0] if starts else 0
    while first and _kind(row[first - 1].text):
        first -= 1
    for a, b in pairwise([first, *starts[1:], len(row)]) if starts else ():
        part = row[a:b]
        kinds = {_kind(cell.text) for cell in part}
        title = _title_words(part, cells)
        if re.search(_OF, title) and ("size" in kinds or {"width", "height"} <= kinds):
            key = next(cell for cell in part if _kind(cell.text) == sort)
            found.append(_Heading(tuple(part), key, _table_kind(title)))
    return found


def _title_words(row: Sequence[Cell], cells: Sequence[Cell]) -> str:
    """Return the words that say what a table is of: in the heading of its marks, else in the title above."""
    own = [cell.text.upper() for cell in row if _kind(cell.text) == "mark" and re.search(_OF, cell.text, re.I)]
    if own:
        return " ".join(own)
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
    return nearest.text.upper() if nearest is not None else ""


def _table_kind(title: str) -> OpeningKind | None:
    """Return what all rows of a table are, by its title; nothing where it is of openings of several kinds."""
    if "OPENING" in title or ("DOOR" in title and "WINDOW" in title):
        return None
    return "door" if "DOOR" in title else "window"


def _rows(
    columns: Sequence[Column], body: Sequence[Cell], heading: _Heading, sheet: Sheet
) -> tuple[list[OpeningRow], list[str]]:
    """Read the rows: every cell belongs to the mark that it stands most level with."""
    key = next(column for column in columns if column.low < heading.key.x < column.high)
    rows: list[OpeningRow] = []
    doubts: list[str] = []
    for anchor, own in rows_under(key, body, MARK):
        texts = dict(reversed([(column.kind, text_in(column, own)) for column in columns if column.kind]))
        inside = [cell for cell in own if any(column.low < cell.x < column.high for column in columns)]
        row = _row(anchor, texts, inside, heading, sheet)
        rows.append(row)
        if row.height is None:
            written = texts.get("height") or texts.get("size") or ""
            doubts.append(f"{row.kind or 'opening'} {row.mark}: the schedule's height “{written}” is not one length")
    twice = {row.mark.upper() for row in rows if sum(r.mark.upper() == row.mark.upper() for r in rows) > 1}
    what = heading.kind or "opening"
    doubts += [f"{what} {mark} stands in the schedule more than once and is left out" for mark in sorted(twice)]
    return [row for row in rows if row.mark.upper() not in twice], doubts


def _row(anchor: Cell, texts: dict[str, str], own: Sequence[Cell], heading: _Heading, sheet: Sheet) -> OpeningRow:
    """Read one row from the texts of its columns."""
    width, height = length_in(texts.get("width", "")), length_in(texts.get("height", ""))
    if width is None and height is None:
        width, height = size_in(texts.get("size", ""))
    sill, head = length_in(texts.get("sill", "")), length_in(texts.get("head", ""))
    if sill is None and head is not None and height is not None and head > height:
        sill = head - height
    words = f"{texts.get('type', '')} {texts.get('remarks', '')}"
    kind = heading.kind or next((kind for kind, pattern in _KINDS if pattern.search(words)), None)
    return OpeningRow(
        mark=anchor.text,
        width=width,
        height=height,
        sill=sill,
        kind=kind,
        text="  ".join(cell.text for cell in sorted(own, key=lambda cell: cell.x)),
        sheet=sheet.id,
        at_pt=displayed_to_sheet(sheet, anchor.x, anchor.y),
    )


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
    if re.fullmatch(r"\d{4,6}", plain):
        try:
            wide, high = door_size(plain)
        except LengthError:
            return None, None
        return leaves * wide, high
    parts = _BY.split(plain)
    if len(parts) not in (2, 3):
        return None, None
    width, height = length_in(parts[0]), length_in(parts[1])
    return (leaves * width if width is not None else None), height
