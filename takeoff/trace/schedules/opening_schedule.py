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
from takeoff.trace.schedules import opening_words
from takeoff.trace.schedules.heading_rows import BARE, SIDES, TITLE, bare_unit, kinds_by, title_over, unit_of
from takeoff.trace.schedules.opening_words import OF
from takeoff.trace.schedules.tables import Form, Schedule, Table, may_show, read_on, read_tables, told_once
from takeoff.trace.schedules.text_tables import GROUPED, Cell, Row, cells_of, length_in, ways_to_read
from takeoff.units import FOOT, INCH, door_size

MARK = re.compile(r"[A-Z]{1,2}|[A-Z]{0,3}[-.]?\d{1,5}(?:[-.]\d{1,3})?[A-Z]?", re.IGNORECASE | re.ASCII)
_kind = kinds_by(opening_words.HEADINGS)
_JAMB, _HIGH = re.compile(r"\bJAMB", re.IGNORECASE), re.compile(r"\bH(?:EIGHT|T|GT)\b|\bLEVEL\b", re.IGNORECASE)
_LEVEL = re.compile(r"\d[.,]\d\d", re.ASCII)
"""A level in metres, as it stands beside sizes in centimetres or millimetres."""
_SIDE = (0.2, 8.0)
"""Metres between which the sides of an opening are believed (judgement)."""
_FEET = re.compile(r"(\d{1,2})/(\d|1[01])", re.ASCII)
"""Feet and inches of a leaf, as in 2/8 (common practice in drawings of houses in the US, no source)."""
MOST_WORDS = 6
"""Words of the title of a table at the most (judgement)."""
FEW_WORDS = 3
"""Words of a note on heights at the least: a heading has fewer (judgement)."""
_OF_HEIGHTS = re.compile(
    rf"(?=.*\b(?:{OF}|ALL)S?\b)(?=.*\d\s*(?:['\"’”]|MM\b|M\b|CM\b)).*\b(?:HIGH|TALL|H(?:EIGH)?TS?|HEADS?)\b",
    re.IGNORECASE,
)
_BY = re.compile(r"\s*[x×*]\s*|\s+/\s+|(?<=\d[\d.,])/(?=\d[\d.,]+$)", re.IGNORECASE)
_PAIR = re.compile(r"^(?:PR\.?|PAIR(?:\s+OF)?|\(2\)|2\s*[@x×])\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningRow:
    """A row of a schedule: mark, and width, height and sill in metres where they can be read.

    ``kind`` is what the row or its table is of, nothing where neither says; ``text`` is the row as it stands,
    ``sheet`` and ``at_pt`` where: the sheet's id, in sheet points; ``unsure`` says what may add to its size.
    """

    mark: str
    width: float | None
    height: float | None
    sill: float | None = None
    kind: OpeningKind | None = None
    text: str = ""
    sheet: int = 0
    at_pt: Point | None = None
    unsure: str = ""


class OpeningSchedule(Schedule[OpeningRow]):
    """The rows of the opening schedules of a sheet."""


def read_opening_table(linework: Linework, lines: Sequence[TextLine], sheet: Sheet) -> OpeningSchedule | None:
    """Read the opening schedules of a sheet together; nothing where it shows none.

    ``linework`` and ``lines`` are what is drawn and written on the sheet, in sheet points.
    """
    found = [_read(linework, cells_of(lines, way, linework), way) for way in ways_to_read(lines, sheet)]
    return next((s for s in found if s.rows), next((s for s in found if s.doubts), None))


def _read(linework: Linework, cells: Sequence[Cell], sheet: Sheet) -> OpeningSchedule:
    tables, doubts, parts = read_tables(cells, linework, sheet, _FORM)
    rows: list[OpeningRow] = []
    for table in tables:
        found, told = _rows(table, table.rows, sheet)
        rows += found
        doubts = [*told, *doubts]
    doubts += _unread([cell for table in tables for cell in table.heading], cells, sheet)
    own = {cell for table in tables for row in table.rows for cell in row.cells} if rows else {*cells}
    doubts += [
        f"a note beside the schedule may change heights of it: “{cell.text}”"
        for cell in cells
        if cell not in own and _OF_HEIGHTS.search(cell.text) and len(cell.text.split()) > FEW_WORDS
    ]
    name = sheet.number or str(sheet.id)
    return OpeningSchedule(sheet=name, rows=tuple(rows), doubts=tuple(doubts), tables=tables, parts=parts)


def joined_openings(found: Sequence[OpeningSchedule]) -> list[OpeningSchedule]:
    """Read rows without headings, of the schedules of a set in order, by the tables of the sheets before them."""
    return read_on(found, _FORM, _rows)


def may_show_openings(lines: Sequence[TextLine], sheet: Sheet) -> bool:
    """Tell from its text alone whether a sheet may show an opening schedule."""
    return may_show(lines, sheet, _FORM) or any(
        _unread((), cells_of(lines, way), way) for way in ways_to_read(lines, sheet)
    )


def _is_side(text: str) -> bool:
    return BARE.fullmatch(text) is not None or _length(text, None) is not None or None not in size_in(text)


def _unread(headings: Sequence[Cell], cells: Sequence[Cell], sheet: Sheet) -> list[str]:
    """Tell of titles of opening schedules over headings of sizes that no table was read of."""
    tops = [(cell.y, cell.x) for cell in headings]
    told = []
    for title in cells:
        if not (TITLE.search(title.text) and re.search(OF, title.text.upper())) or len(title.text.split()) > MOST_WORDS:
            continue
        under = [c for c in cells if 0 < c.y - title.y < 8 * title.size and abs(c.x - title.x) < 30 * title.size]
        is_read = any(0 < y - title.y < 8 * title.size and abs(x - title.x) < 30 * title.size for y, x in tops)
        if not is_read and {"width", "height"} <= {_kind(c.text) for c in under}:
            told.append(f"the table “{title.text}” on {sheet.called} was not read: no column of marks")
    return told


def _is_table(row: Sequence[Cell], cells: Sequence[Cell]) -> bool:
    """Tell whether headings are those of a table of openings."""
    kinds = {_kind(cell.text) for cell in row}
    is_sized = "size" in kinds or {"width", "height"} <= kinds or {"width", "head", "sill"} <= kinds
    return is_sized and bool({"mark", "type"} & kinds) and re.search(OF, _words_of(row, cells)) is not None


def _words_of(row: Sequence[Cell], cells: Sequence[Cell]) -> str:
    """Return the words that say what a table is of: in the heading of its marks, else in the title, else under it."""
    own = [cell.text.upper() for cell in row if _kind(cell.text) == "mark" and re.search(OF, cell.text, re.I)]
    return " ".join(own) or title_over(row, cells) or _words_under(row, cells)


def _words_under(row: Sequence[Cell], cells: Sequence[Cell]) -> str:
    """Return the words for openings that stand by themselves under the heading of types or remarks."""
    heads = [cell for cell in row if _kind(cell.text) in ("type", "remarks")]
    return " ".join(
        cell.text.upper()
        for head in heads
        for cell in cells
        if cell.y > head.y and head.box[0] < cell.x < head.box[2]
        if re.fullmatch(rf"{OF}S?(?:\s*[,:(–-].*)?", cell.text, re.I)
    )


_FORM = Form(_kind, ("size", "height", "head"), ("mark", "type"), MARK, SIDES, _is_side, _is_table, _words_of)


def _table_kind(title: str) -> OpeningKind | None:
    """Return what all rows of a table are, by its title; nothing where it is of openings of several kinds."""
    is_door, is_window = (re.search(words, title) is not None for words in (opening_words.DOORS, opening_words.WINDOWS))
    return None if is_door == is_window else "door" if is_door else "window"


def _rows(table: Table, under: Sequence[Row], sheet: Sheet) -> tuple[list[OpeningRow], list[str]]:
    """Read rows of a table, which all tell its unit; what stands in several rows is taken where they say the same."""
    columns, heading, sort = table.columns, table.heading, _table_kind(table.title)
    has_jambs = any(_JAMB.search(cell.text) for cell in heading)  # then sill and head are numbers of details
    is_structural = any(opening_words.STRUCTURAL.match(cell.text) for cell in heading)

    def counts(kind: str, said: str) -> bool:
        of_detail = has_jambs and kind in ("sill", "head") and not _HIGH.search(said)
        return not of_detail and not (is_structural and kind in SIDES and not opening_words.STRUCTURAL.match(said))

    kinds = [c.kind if counts(c.kind, cell.text) else "" for c, cell in zip(columns, heading, strict=True)]
    units = [unit_of(cell.text) if kind in SIDES else None for kind, cell in zip(kinds, heading, strict=True)]
    every = [
        dict(reversed([*zip(kinds, _with_inches(kinds, units, row.texts), strict=True)]))
        for row in (*under, *table.rows)
    ]
    if any(opening_words.HIGH_FIRST.search(cell.text) for cell in heading):
        every = [{**one, "size": " × ".join(_BY.split(one.get("size", ""))[::-1])} for one in every]
    texts = every[: len(under)]
    is_metric = any(opening_words.METRIC.match(cell.text) for cell in heading)
    sides = [_sides(one) for one in every]
    stated = {one for one in units if one}
    unit = stated.pop() if len(stated) == 1 else bare_unit(sides, sort, is_metric=is_metric)
    read = [(row.key, _row(row, one, unit, sort, sheet)) for row, one in zip(under, texts, strict=True)]
    written = {
        row.key: one.get("size") or " × ".join(one.get(side, "") for side in ("width", "height"))
        for row, one in zip(under, texts, strict=True)
    }
    doubts: list[str] = []
    rows, twice = told_once(sort or "opening", read, lambda row: (row.width, row.height, row.sill, row.kind))
    for made in rows:
        missing = " and ".join(side for side in ("width", "height") if getattr(made, side) is None)
        unread = f"the schedule's {missing} cannot be read from “{written[made.mark]}”" if missing else ""
        if said := unread or made.unsure:
            doubts.append(f"{made.kind or 'opening'} {made.mark}: {said}")
    return rows, doubts + twice


def _with_inches(kinds: Sequence[str], units: Sequence[float | None], texts: Sequence[str]) -> list[str]:
    """Return the texts of a row, inches put to the feet where they stand in the column behind these."""
    made = list(texts)
    for i, ((kind, unit), (after, its_unit)) in enumerate(pairwise(zip(kinds, units, strict=True))):
        if kind == after and (unit, its_unit) == (FOOT, INCH) and BARE.fullmatch(texts[i]):
            made[i] = f"{texts[i]}'-{texts[i + 1] or 0}\""
    return made


def _row(row: Row, texts: dict[str, str], unit: float | None, sort: OpeningKind | None, sheet: Sheet) -> OpeningRow:
    """Read one row from the texts of its columns; ``unit`` is what a bare number counts, in metres."""
    width, height = (_length(texts.get(side, ""), unit) for side in ("width", "height"))
    if width is None and height is None:
        width, height = size_in(texts.get("size", ""), unit)
    width, height = (side if side and _SIDE[0] <= side <= _SIDE[1] else None for side in (width, height))
    sill, head = (
        _length(text, 1.0 if unit in (0.001, 0.01) and _LEVEL.fullmatch(text) else unit)
        for text in (texts.get("sill", ""), texts.get("head", ""))
    )
    if sill is None and head is not None and height is not None and head > height:
        sill = head - height
    if height is None and head is not None and sill is not None and _SIDE[0] <= head - sill <= _SIDE[1]:
        height = head - sill
    words = f"{texts.get('type', '')} {texts.get('remarks', '')}"
    told = ((words.search(text), says) for words, says in opening_words.AGAINST for text in row.texts)
    kind = sort or next((kind for kind, pattern in opening_words.KINDS if pattern.search(words)), None)
    return OpeningRow(
        mark=row.key,
        width=width,
        height=height,
        sill=sill,
        kind=kind,
        text="  ".join(cell.text for cell in sorted(row.cells, key=lambda cell: cell.x)),
        sheet=sheet.id,
        at_pt=displayed_to_sheet(sheet, row.at.x, row.at.y),
        unsure=next((f"“{found[0].strip()}” {says}" for found, says in told if found), ""),
    )


def _sides(texts: dict[str, str]) -> tuple[str, str]:
    """Return the texts of width and height of a row, that of its size parted."""
    whole = [part.strip() for part in _BY.split(texts.get("size", ""))]
    return texts.get("width") or whole[0], texts.get("height") or whole[min(1, len(whole) - 1)]


def _length(text: str, unit: float | None) -> float | None:
    """Read a side in metres, ``unit`` being what a bare number counts; of a pair, both leaves."""
    if (pair := _PAIR.match(text)) is not None:
        leaf = _length(text[pair.end() :], unit)
        return None if leaf is None else 2 * leaf
    if BARE.fullmatch(text) and not GROUPED.fullmatch(text):
        return float(text.replace(",", ".")) * unit if unit else None
    feet = _FEET.fullmatch(text)
    return int(feet[1]) * FOOT + int(feet[2]) * INCH if feet else length_in(text)


def size_in(text: str, unit: float | None = 0.001) -> tuple[float | None, float | None]:
    r"""Read a door size as width and height in metres: two lengths with a times sign, or four figures.

    A pair is as wide as both leaves. That 3070 is 3'-0" by 7'-0" is common practice, no source. A third length is the
    thickness of the leaf. ``unit`` is what a bare number counts, in metres.

    Examples
    --------
    >>> size_in("3'-0\" x 7'-0\" x 1 3/4\""), size_in("2868")
    ((0.9144, 2.1336), (0.8128, 2.032))
    >>> size_in("900 × 2100"), size_in("see plan")
    ((0.9, 2.1), (None, None))
    >>> size_in("900/2100"), size_in("0,90/2,10", 1.0), size_in("2'-8\" / 6'-8\"")
    ((0.9, 2.1), (0.9, 2.1), (0.8128, 2.032))
    """
    if (pair := _PAIR.match(text.strip())) is not None and len(_BY.split(text)) != 2:
        width, height = size_in(text.strip()[pair.end() :], unit)
        return (2 * width if width is not None else None), height
    plain = text.strip()
    if re.fullmatch(r"\d{4,6}", plain):
        try:
            return door_size(plain)
        except LengthError:
            return None, None
    parts = _BY.split(plain)
    return (_length(parts[0], unit), _length(parts[1], unit)) if len(parts) in (2, 3) else (None, None)
