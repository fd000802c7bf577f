"""Read a table of stated areas from CSV or a workbook: tolerant of headings and spelling, never of a missing unit."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.audit.stated import AreaUnit, StatedArea, read_number, read_unit, split_amount
from takeoff.errors import InputError

MAX_BYTES = 10_000_000
MAX_ROWS = 10_000
MAX_UNPACKED = 200_000_000
"""Bytes that a workbook may unpack to."""
HEAD_ROWS = 20
"""Rows among which the headings are looked for."""

_NUMBER = re.compile(r"(room|rm|space)?\.? ?(no|nr|number|num|mark|#)\.?|#|room id|raum-?nr\.?")
_NAME = re.compile(r"(room|rm|space) ?(name|title|description|use)|name|description|use|function|space|designation")
_ROOM = re.compile(r"room|rm|rooms|space|location|raum")
_AREA = re.compile(r"\b(areas?|sf|sq|square|m2|m²|ft2|ft²|sqft|sqm|surface|coated|fläche)\b|[²]")
_TOTAL = re.compile(r"(grand |sub ?)?totals?:?|sum:?|summe:?", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedTable:
    """Stated areas read from a file, the heading of the column they stood in, and what was noticed on the way."""

    areas: tuple[StatedArea, ...]
    column: str
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Columns:
    row: int
    number: int | None
    name: int | None
    area: int
    unit: int | None


def read_stated(
    data: bytes, name: str, *, unit: AreaUnit | None = None, column: str = "", prefer: str = "wall"
) -> StatedTable:
    r"""Read stated areas from a CSV file or an XLSX workbook.

    Parameters
    ----------
    data, name
        The file's bytes, and its name for messages.
    unit
        Unit of areas that name none, in heading or cell; without it such a table is refused.
    column
        Heading of the column to read, where several hold areas.
    prefer
        Word that tells the column to read where several hold areas and none is named.

    Raises
    ------
    InputError
        When it is no table, has no column of rooms or areas, or an area cannot be read; it names the row.

    Examples
    --------
    >>> table = read_stated(b"Room no.,Name,Wall area (SF)\n104,Process,1287\n", "areas.csv")
    >>> table.areas[0].label, table.areas[0].text
    ('104 Process', '1,287 sf')
    """
    if len(data) > MAX_BYTES:
        raise InputError(f"{name} has {len(data):,} bytes", remedy=f"Give a table of {MAX_BYTES:,} bytes at most.")
    sheets = _workbook(data, name) if data[:4] == b"PK\x03\x04" else [_csv(data, name)]
    faults = []
    for rows in sheets:
        try:
            return stated_in_rows(rows, name, unit=unit, column=column, prefer=prefer)
        except _NoTable as fault:
            faults.append(fault)
    raise faults[0]


class _NoTable(InputError):
    """The rows have no headings of rooms and areas; another sheet of the workbook may."""


def _csv(data: bytes, name: str) -> list[list[str]]:
    if b"\x00" in data and data[:2] not in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(f"{name} is not a table", remedy="Give a CSV file or an XLSX workbook.")
    for encoding in ("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig", "cp1252", "latin-1"):
        try:
            text = data.decode(encoding)
            break
        except UnicodeDecodeError:
            continue
    lines = [line for line in text.splitlines() if line.strip()][:HEAD_ROWS]
    if not lines:
        raise InputError(f"{name} is empty", remedy="Give a table with a row for each room.")
    delimiter = max(",;\t|", key=lambda sign: sum(min(line.count(sign), 8) for line in lines))
    try:
        rows = [[cell.strip() for cell in row] for row in csv.reader(io.StringIO(text), delimiter=delimiter)]
    except csv.Error as error:
        raise InputError(f"{name} is not a table ({error})", remedy="Save it as CSV anew.") from error
    return _few(rows, name)


def _few(rows: list[list[str]], name: str) -> list[list[str]]:
    if len(rows) > MAX_ROWS:
        raise InputError(f"{name} has {len(rows):,} rows", remedy=f"Give a table of {MAX_ROWS:,} rows at most.")
    return rows


def _workbook(data: bytes, name: str) -> list[list[list[str]]]:
    import openpyxl

    broken = InputError(f"{name} is not a workbook that can be read", remedy="Save it as XLSX or CSV anew.")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(part.file_size for part in packed.infolist()) > MAX_UNPACKED:
                raise InputError(f"{name} unpacks to more than {MAX_UNPACKED:,} bytes", remedy="Give the table alone.")
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
    except (zipfile.BadZipFile, KeyError, ValueError, OSError, SyntaxError) as error:
        if isinstance(error, InputError):
            raise
        raise broken from error
    sheets = []
    for sheet in book.worksheets:
        rows = sheet.iter_rows(max_row=MAX_ROWS + 1, max_col=100, values_only=True)
        sheets.append(_few([[_cell(value) for value in row] for row in rows], name))
    if not any(sheets):
        raise InputError(f"{name} is empty", remedy="Give a table with a row for each room.")
    return sheets


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.4f}".rstrip("0").rstrip(".")
    return " ".join(str(value).split())


def stated_in_rows(
    rows: Sequence[Sequence[str]], name: str, *, unit: AreaUnit | None = None, column: str = "", prefer: str = "wall"
) -> StatedTable:
    """Read stated areas from rows of cells, with headings among the first; otherwise as `read_stated`."""
    at = _columns(rows, name, column, prefer)
    heading = rows[at.row][at.area]
    unit = read_unit(heading) or unit
    doubts = []
    cells = []
    for i, row in enumerate(rows[at.row + 1 :], start=at.row + 2):
        texts = {
            key: (row[c].strip() if c is not None and c < len(row) else "")
            for key, c in (("number", at.number), ("name", at.name), ("area", at.area), ("unit", at.unit))
        }
        is_total = any(_TOTAL.fullmatch(cell.strip()) for cell in row)
        if not texts["area"] or texts["area"] in "-–—" or is_total or not (texts["number"] or texts["name"]):
            if texts["area"] and not is_total and any(c.isdigit() for c in texts["area"]):
                doubts.append(f"row {i} has an area of {texts['area']} and names no room: left out")
            continue
        where = f"row {i}"
        try:
            amount, own = split_amount(texts["area"])
            own = own or (read_unit(texts["unit"]) if texts["unit"] else None) or unit
        except InputError as error:
            raise InputError(error.message, remedy=error.remedy, where=f"{name}, {where}") from error
        if own is None:
            raise InputError(
                f'"{texts["area"]}" has no unit, and neither has the heading "{heading}"',
                remedy=f'Write it in the heading, such as "{heading} (SF)", or give --unit sf or --unit m2.',
                where=f"{name}, {where}",
            )
        cells.append((where, texts, amount, own))
    if not cells:
        raise InputError(f"{name} has headings and no row with an area", remedy="Give a row for each room.")
    comma = _decimal_comma([amount for _, _, amount, _ in cells], name)
    areas = []
    for where, texts, amount, own in cells:
        try:
            value, decimals = read_number(amount, decimal_comma=comma)
            number, title = _room(texts["number"], texts["name"])
            areas.append(
                StatedArea(number=number, name=title, value=value, unit=own, decimals=decimals, where=where)
            )  # fmt: skip
        except InputError as error:
            raise InputError(error.message, remedy=error.remedy, where=f"{name}, {where}") from error
    if len({a.unit for a in areas}) > 1:
        doubts.append("some rows are in square feet and others in square metres")
    return StatedTable(areas=tuple(areas), column=heading, doubts=tuple(doubts))


def _room(number: str, name: str) -> tuple[str, str]:
    """Number and name; one text such as ``104 Process`` or ``PROCESS 104`` is parted."""
    both = name if not number else number if not name else ""
    if re.fullmatch(r"[^\W\d]{0,2}[-. ]?[0-9][\w.-]*", both):
        return both, ""
    for pattern in (r"(?P<number>\S*[0-9]\S*)[ ,:–-]+(?P<name>\D.*)", r"(?P<name>\D+?)[ ,:–-]+(?P<number>\S*[0-9]\S*)"):
        found = re.fullmatch(pattern, both)
        if found is not None:
            return found["number"], found["name"].strip(" ,:–-")
    return number, name


def _decimal_comma(amounts: Sequence[str], name: str) -> bool:
    """Tell whether commas part decimals, from all numbers of the table together."""
    plain = [re.sub(r"[ '\u00a0\u2009\u202f]", "", a) for a in amounts]
    with_comma = [
        a for a in plain if re.fullmatch(r"[0-9]+,([0-9]{1,2}|[0-9]{4,})|[0-9]{1,3}(\.[0-9]{3})+,[0-9]+|0,[0-9]+", a)
    ]
    with_point = [
        a for a in plain if re.fullmatch(r"[0-9]+\.([0-9]{1,2}|[0-9]{4,})|[0-9]{1,3}(,[0-9]{3})+\.[0-9]+|0\.[0-9]+", a)
    ]
    if with_comma and with_point:
        raise InputError(
            f"{name} has both {with_comma[0]} and {with_point[0]}", remedy="Write all decimals with a point."
        )
    return bool(with_comma)


def _columns(rows: Sequence[Sequence[str]], name: str, column: str, prefer: str) -> _Columns:
    for i, row in enumerate(rows[:HEAD_ROWS]):
        plain = [" ".join(cell.lower().replace("_", " ").split()) for cell in row]
        areas = [c for c, cell in enumerate(plain) if _AREA.search(cell) and not re.fullmatch(r"[0-9.,' ]+.*", cell)]
        if not areas:
            continue
        number = next((c for c, cell in enumerate(plain) if _NUMBER.fullmatch(cell)), None)
        named = next((c for c, cell in enumerate(plain) if _NAME.fullmatch(cell) and c != number), None)
        room = next((c for c, cell in enumerate(plain) if _ROOM.fullmatch(cell) and c not in (number, named)), None)
        if number is None and room is not None and named is not None:
            number = room
        elif named is None and room is not None:
            named = room
        if number is None and named is None:
            continue
        taken = {number, named}
        unit = next((c for c, cell in enumerate(plain) if re.fullmatch("units?|uom|unit of measure", cell)), None)
        areas = [c for c in areas if c not in taken and c != unit]
        if areas:
            return _Columns(i, number, named, _area_column(row, areas, name, column, prefer), unit)
    raise _NoTable(
        f"{name} has no headings of rooms and areas in its first {HEAD_ROWS} rows",
        remedy='Name the columns such as "Room no.", "Room name" and "Wall area (SF)".',
    )


def _area_column(row: Sequence[str], areas: Sequence[int], name: str, column: str, prefer: str) -> int:
    known = ", ".join(f'"{row[c]}"' for c in areas)
    if column:
        found = [c for c in areas if row[c].strip().casefold() == column.strip().casefold()]
        if not found:
            raise InputError(f'{name} has no column of areas "{column}"', remedy=f"It has {known}.")
        return found[0]
    if len(areas) == 1:
        return areas[0]
    liked = [c for c in areas if prefer in row[c].lower()] or [
        c for c in areas if not re.search("floor|ceiling|roof", row[c].lower())
    ]
    if len(liked) != 1:
        raise InputError(f"{name} has several columns of areas: {known}", remedy="Name one: --column HEADING.")
    return liked[0]
