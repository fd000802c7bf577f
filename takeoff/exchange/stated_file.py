"""Read a table of stated areas: tolerant of headings, merged cells and spelling, never of a missing unit."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from takeoff.audit.matching import room_numbers
from takeoff.audit.stated import AreaUnit, StatedArea, read_number, read_unit, split_amount, sum_stated
from takeoff.errors import InputError
from takeoff.exchange.stated_grid import Grid, read_grids
from takeoff.exchange.stated_headings import NO_FIGURE, NOTHING_SAID, Asked, Columns, NoTable, find_columns
from takeoff.units import parse_length

_TOTAL = re.compile(
    r"\b(grand|sub)?[ -]?totals?\b|\bsum(me)?\b|\b(zwischen|gesamt)(summe|fläche)?\b|\btotal(e|es)?\b", re.IGNORECASE
)


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedTable:
    """Stated areas read from a file, the heading of the column they stood in, and what was noticed on the way.

    ``faults`` are things wrong in the table itself, such as a total that its rows do not add up to.
    """

    areas: tuple[StatedArea, ...]
    column: str
    doubts: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    is_by_wall: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """A row of the table: its place among the rows from 0, what it says, its amount still as written.

    ``states`` says that the amount begins as an area does; it is then its number alone. ``goes_on`` tells that the row
    goes on with the room of the row above.
    """

    at: int
    said: StatedArea
    states: bool
    is_total: bool
    goes_on: bool


def read_stated(data: bytes, name: str, asked: Asked = NOTHING_SAID) -> StatedTable:
    r"""Read stated areas from a CSV file or a workbook (XLSX, XLS, ODS).

    Raises `InputError` when it is no table, has no column of rooms or areas, or an area cannot be read; it names the
    row.

    Examples
    --------
    >>> table = read_stated(b"Room no.,Name,Wall area (SF)\n104,Process,1287\n", "areas.csv")
    >>> table.areas[0].label, table.areas[0].text
    ('104 Process', '1,287 sf')
    """
    found: list[tuple[StatedTable, Grid]] = []
    faults = []
    for grid in sorted(read_grids(data, name), key=lambda grid: grid.is_hidden):
        try:
            found.append((stated_in_grid(grid, name, asked), grid))
        except NoTable as fault:
            faults.append(fault)
        except InputError:
            if not found:
                raise
    if not found:
        raise faults[0]
    best, read = next((one for one in found if not one[0].is_by_wall), found[0])
    rest = ", ".join(f'"{grid.called}"' for _, grid in found if grid is not read)
    doubts = [f'only the sheet "{read.called}" of the workbook was read; areas stand on {rest} too'] if rest else []
    if read.is_hidden:
        doubts.append("the sheet with the areas is hidden in the workbook")
    return replace(best, doubts=(*best.doubts, *doubts))


def stated_in_grid(grid: Grid, name: str, asked: Asked, depth: int | None = None) -> StatedTable:
    """Read stated areas from rows of cells, the headings of known depth or among the first; else as `read_stated`."""
    grid, at = find_columns(grid, name, asked, depth)
    heading = at.titles[at.area]
    unit = read_unit(heading) or asked.unit
    doubts: list[str] = []
    rows = _rows(grid, at, name, unit, doubts)
    if not any(not row.is_total and row.states for row in rows):
        raise InputError(f"{name} has headings and no row with an area", remedy="Give a row for each room.")
    cells = [(r, c) for r, c in grid.uncalculated if c == at.area and r >= at.first]
    if cells:
        doubts.append(
            f"{len(cells)} cell{'s' * (len(cells) != 1)} of areas hold a formula that was never calculated: open the "
            "file in a spreadsheet program, save it there, and check again"
        )
    places = [(grid.places[row.at] if grid.places else row.at + 1) for row in rows if not row.is_total]
    for marked, how in ((grid.hidden, "hidden in the file"), (grid.struck, "struck through")):
        if numbers := ", ".join(str(place) for place in places if place in marked):
            doubts.append(f"{how}, and read as the others are: row {numbers}")
    comma = decimal_comma([row.said.written for row in rows if row.states], name)
    areas = [(row, _read(row, comma)) for row in rows]
    unread = [
        f'{area.where}: "{area.written}" is not an area'
        for _, area in areas
        if not area.is_figure and not NO_FIGURE.fullmatch(area.written)
    ]
    if len({a.unit for row, a in areas if a.is_figure and not row.is_total}) > 1:
        doubts.append("some rows are in square feet and others in square metres")
    return StatedTable(
        areas=_by_room(areas, is_by_wall=at.is_by_wall),
        column=heading,
        doubts=tuple(doubts),
        faults=(*unread, *_wrong_totals(areas)),
        is_by_wall=at.is_by_wall,
    )


def _rows(grid: Grid, at: Columns, name: str, unit: AreaUnit | None, doubts: list[str]) -> list[_Row]:
    out: list[_Row] = []
    for i, cells in enumerate(grid.rows[at.first :], start=at.first):
        place = grid.places[i] if grid.places else i + 1

        def text(column: int | None, cells: Sequence[str] = cells) -> str:
            return cells[column].strip() if column is not None and column < len(cells) else ""

        amount = "" if (i, at.area) in grid.copies else text(at.area)
        if not amount or amount in "-–—":
            continue
        number, title, side = text(at.number), text(at.name), text(at.side)
        labels = [cell for c, cell in enumerate(cells) if c != at.area and cell]
        is_total = bool(_TOTAL.search(number)) or (
            any(_TOTAL.search(cell) for cell in labels) and not re.search(r"\d", number)
        )
        is_named = bool(number or title)
        goes_on = not is_named and bool(side) and bool(out) and not out[-1].is_total
        if not (is_named or goes_on or is_total or at.is_by_wall):
            if any(c.isdigit() for c in amount):
                doubts.append(f"row {place} has an area of {amount} and names no room: left out")
            continue
        if goes_on:
            number, title = out[-1].said.number, out[-1].said.name
        number, title, count = _alike(number, title, text(at.count))
        number, title = part_room(number, title)
        plain, own = _amount(amount, text(at.unit))
        if plain and own is None and unit is None:
            heading = at.titles[at.area]
            raise InputError(
                f'"{amount}" has no unit, and neither has the heading "{heading}"',
                remedy=f'Write it in the heading, such as "{heading} (SF)", or give --unit sf or --unit m2.',
                where=f"{name}, row {place}",
            )
        merged = any((i, c) in grid.copies for c in (at.number, at.name) if c is not None)
        said = StatedArea(
            number=number, name=title, value=0.0, unit=own or unit or "m2", written=plain or amount,
            where=f"row {place}", count=count, side=side, box_pt=grid.boxes[i] if grid.boxes else None,
            length=_metres(text(at.length), at.titles, at.length),
            height=_metres(text(at.height), at.titles, at.height),
        )  # fmt: skip
        is_same = merged and bool(out) and (out[-1].said.number, out[-1].said.name) == (number, title)
        out.append(_Row(at=i, said=said, states=bool(plain), is_total=is_total, goes_on=goes_on or is_same))
    return out


_ALIKE = re.compile(r"(?P<label>.*\w.*?)[\s,(–-]*(?<!\w)[x×]\s*(?P<count>[2-9]|[1-9][0-9]{1,2})\)?", re.IGNORECASE)
"""A room with how many there are of it, such as BATH x 4."""


def _alike(number: str, name: str, count: str) -> tuple[str, str, int]:
    """Return number and name of a row's room without how many there are of it, and that; a column says it too."""
    found = _ALIKE.fullmatch(name) or (None if name else _ALIKE.fullmatch(number))
    if found is not None:
        number, name = (number, found["label"]) if name else (found["label"], "")
    said = count.lower().strip("x× ") or (found["count"] if found else "")
    return number, name, int(said) if re.fullmatch(r"[1-9][0-9]{0,3}", said) else 1


def _metres(text: str, titles: Sequence[str], column: int | None) -> float | None:
    """Read a length, in the unit that its heading names where the cell names none; nothing where that is no length."""
    if column is not None and re.fullmatch(r"[0-9.,]+", text):
        heading = titles[column].lower().replace("_", " ")
        units = ((r"\b(ft|feet|foot|lf)\b|'", "'"), (r"\bmm\b", " mm"), (r"\b(m|metres?|meters?)\b", " m"))
        sign = next((sign for pattern, sign in units if re.search(pattern, heading)), None)
        is_decimal = re.fullmatch(r"[0-9]+,[0-9]{1,2}", text)
        text = "" if sign is None else text.replace(",", "." if is_decimal else "") + sign
    try:
        return parse_length(text) if text else None
    except InputError:
        return None


def _amount(amount: str, unit: str) -> tuple[str, AreaUnit | None]:
    """Number and unit of a cell; no number where it states no area as it stands."""
    if NO_FIGURE.fullmatch(amount):
        return "", None
    try:
        plain, own = split_amount(amount)
        return plain, own or (read_unit(unit) if unit else None)
    except InputError:
        return "", None


def _read(row: _Row, comma: bool) -> StatedArea:
    """Read the amount of a row; where it is no number it stays as written."""
    try:
        value, decimals = read_number(row.said.written if row.states else "", decimal_comma=comma)
    except InputError:
        return row.said
    return replace(row.said, value=value, decimals=decimals, written="")


def _by_room(rows: Sequence[tuple[_Row, StatedArea]], *, is_by_wall: bool) -> tuple[StatedArea, ...]:
    """One stated area for each room: its rows by wall added up, rows that say the same room twice kept together."""
    groups: dict[tuple[object, ...], list[tuple[_Row, StatedArea]]] = {}
    for row, area in rows:
        if not row.is_total:
            key = (row.at,) if is_by_wall else (area.number.casefold(), area.name.casefold())
            groups.setdefault(key, []).append((row, area))
    out = []
    for group in groups.values():
        sides = [area.side.casefold() for _, area in group]
        is_parted = all(row.goes_on for row, _ in group[1:]) or (all(sides) and len(set(sides)) == len(sides))
        out.append(sum_stated([area for _, area in group], is_repeated=not is_parted))
    return tuple(out)


def _wrong_totals(rows: Sequence[tuple[_Row, StatedArea]]) -> list[str]:
    """Totals that neither the rows since the last total, nor all rows above, nor the totals above add up to."""
    faults = []
    since: list[StatedArea] = []
    before: list[StatedArea] = []
    totals: list[StatedArea] = []
    for row, area in rows:
        if not row.is_total:
            since.append(area)
            before.append(area)
            continue
        sums = [part for part in (since, before, totals) if part]
        is_read = area.is_figure and all(a.is_figure for part in sums for a in part)
        if sums and is_read and not any(_adds_up(part, area) for part in sums):
            found = sum_stated([replace(a, parts=()) for a in (since or before)])
            said = replace(found, parts=()).text
            faults.append(f"{area.where} says {area.text} in total; the rows above add up to {said}")
        totals.append(area)
        since = []
    return faults


def _adds_up(part: Sequence[StatedArea], total: StatedArea) -> bool:
    """Tell whether rows make a total as far as they are rounded, each once or as often as it says it is alike."""
    rounding = [10.0**-a.decimals * a.area / a.value for a in (*part, total)]
    for counts in ([1] * len(part), [a.count for a in part]):
        off = sum(n * a.area for n, a in zip(counts, part, strict=True)) - total.area
        if abs(off) <= 0.5 * sum(n * r for n, r in zip((*counts, 1), rounding, strict=True)) + 1e-9:
            return True
    return False


def part_room(number: str, name: str) -> tuple[str, str]:
    """Part number and name of a room that stand in one text, such as ``104 Process`` or ``PROCESS 104``.

    Examples
    --------
    >>> part_room("", "PROCESS 104"), part_room("1/104", "")
    (('104', 'PROCESS'), ('1/104', ''))
    >>> part_room("", "104 & 105")
    ('104 & 105', '')
    """
    both = name if not number else number if not name else ""
    if len(room_numbers(both)) > 1:
        return both, ""
    if re.fullmatch(r"[^\W\d]{0,2}[-. ]?[0-9][\w./-]*", both):
        return both, ""
    for pattern in (r"(?P<number>\S*[0-9]\S*)[ ,:–-]+(?P<name>\D.*)", r"(?P<name>\D+?)[ ,:–-]+(?P<number>\S*[0-9]\S*)"):
        found = re.fullmatch(pattern, both)
        if found is not None:
            return found["number"], found["name"].strip(" ,:–-")
    return number, name


def decimal_comma(amounts: Sequence[str], name: str) -> bool:
    """Tell whether commas part decimals, from all numbers of the column together.

    A number such as 1.434 is a thousand or more where others of the column have no decimals or fewer than three. Raises
    `InputError` when some have a decimal comma and others a decimal point.

    Examples
    --------
    >>> decimal_comma(["1.434", "557"], "a table"), decimal_comma(["1.434", "0.557"], "a table")
    (True, False)
    """
    plain = [re.sub(r"[ '\u00a0\u2009\u202f]", "", a) for a in amounts]

    def decimals(point: str, thousands: str) -> list[str]:
        sure = (
            rf"[0-9]+\{point}([0-9]{{1,2}}|[0-9]{{4,}})",
            rf"[0-9]{{1,3}}(\{thousands}[0-9]{{3}})+\{point}[0-9]+",
            rf"0\{point}[0-9]+",
        )
        return [a for a in plain if any(re.fullmatch(way, a) for way in sure)]

    with_comma, with_point = decimals(",", "."), decimals(".", ",")
    if with_comma and with_point:
        raise InputError(
            f"{name} has both {with_comma[0]} and {with_point[0]}", remedy="Write all decimals with a point."
        )
    if with_comma or with_point:
        return bool(with_comma)
    grouped = [a for a in plain if re.fullmatch(r"[1-9][0-9]{0,2}(\.[0-9]{3})+", a)]
    # all with three decimals: decimals; beside whole numbers: a dot for the thousands
    return bool(grouped) and any(a.isdigit() for a in plain)


def merge_tables(tables: Sequence[StatedTable]) -> StatedTable:
    """Put the tables of a file together, the headings of which differ."""
    first = tables[0]
    return replace(
        first,
        areas=tuple(a for t in tables for a in t.areas),
        doubts=tuple(dict.fromkeys(d for t in tables for d in t.doubts)),
        faults=tuple(f for t in tables for f in t.faults),
    )
