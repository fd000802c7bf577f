"""The tables of one form on a text sheet, side by side or under one another, and parts that go on without headings."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Generic, TypeVar

import numpy as np

from takeoff.model.plan import Sheet
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Floats, Linework, empty_linework
from takeoff.trace.schedules.heading_rows import heading_row
from takeoff.trace.schedules.text_tables import (
    Cell,
    Column,
    Kinds,
    Row,
    cells_of,
    in_columns,
    read_table,
    rows_at,
    straight,
    ways_to_read,
)

R = TypeVar("R")
Read = tuple[list[R], list[str]]
"""Rows as they are read, and what is told of them."""
MOST_TABLES = 6
"""Tables of one form on a sheet that are read."""
FEWEST, APART = 3, 3.0
"""Rows of a part without any headings on its sheet, at the least, and heights of a text that they stand apart at the
most (judgement)."""
UP_BY = 100
"""By how much the number of a row is more than that of the row above at the most: storeys number on by a hundred
(common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Form:
    """What a table of one form is told by.

    ``kind_of`` tells what a heading names, ``anchors`` are kinds of which every table has one, ``keys`` those that tell
    rows apart, the first that there is, and ``is_key`` what stands under them; ``values`` are kinds whose texts
    (``is_value``) tell a row of a part without headings; ``is_table`` tells it from a row of headings and all cells,
    and ``words_of`` what it is of.
    """

    kind_of: Kinds
    anchors: Collection[str]
    keys: Sequence[str]
    is_key: re.Pattern[str]
    values: Collection[str]
    is_value: Callable[[str], bool]
    is_table: Callable[[Sequence[Cell], Sequence[Cell]], bool]
    words_of: Callable[[Sequence[Cell], Sequence[Cell]], str]


@dataclass(frozen=True, slots=True)
class Heading:
    """The headings of a table, left to right, the one over its keys, and how far to the left and right it may reach."""

    cells: tuple[Cell, ...]
    key: Cell
    reach: tuple[float, float] = (float("-inf"), float("inf"))


@dataclass(frozen=True, slots=True)
class Table:
    """A table as read: its headings, what it is of, its columns, its rows with those that go on without headings."""

    heading: tuple[Cell, ...]
    title: str
    columns: Sequence[Column]
    rows: Sequence[Row]


@dataclass(frozen=True, slots=True)
class Part:
    """Rows of a sheet, as displayed, that stand without headings."""

    sheet: Sheet
    rows: Sequence[Row]

    @property
    def name(self) -> str:
        """Which rows they are."""
        keys = f"from “{self.rows[0].key}” to “{self.rows[-1].key}”"
        return f"{len(self.rows)} rows {keys} on {self.sheet.called} stand without headings"

    @property
    def unread(self) -> str:
        """Says that they were not read."""
        return f"{self.name} and were not read"


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule(Generic[R]):
    """The tables of one form on a sheet as rows, by its number or id; ``doubts`` say what was not read.

    ``parts`` are rows that stand without headings, as they may go on from one of the ``tables`` of the sheet before.
    """

    sheet: str = ""
    rows: tuple[R, ...] = ()
    doubts: tuple[str, ...] = ()
    tables: Sequence[Table] = ()
    parts: Sequence[Part] = ()


def read_tables(
    cells: Sequence[Cell], linework: Linework, sheet: Sheet, form: Form
) -> tuple[list[Table], list[str], list[Part]]:
    """Read the tables of a sheet, and find rows of such tables without headings; struck ones are left out."""
    tables: list[Table] = []
    doubts: list[str] = []
    held: set[Cell] = set()
    level = straight(linework, sheet)[0]
    for heading in find_headings(cells, form):
        inside = [cell for cell in cells if heading.reach[0] < cell.x < heading.reach[1] and cell not in held]
        columns, rows = read_table(heading.cells, inside, heading.key, form.is_key, linework, sheet, form.kind_of)
        own = _connected(columns, heading, level)
        if len(heading.cells[own]) < len(columns):
            heading = replace(heading, cells=heading.cells[own])
            columns, rows = read_table(heading.cells, inside, heading.key, form.is_key, linework, sheet, form.kind_of)
        held |= {cell for row in rows for cell in (row.at, *row.cells)} | set(heading.cells)
        tables.append(Table(heading.cells, form.words_of(heading.cells, cells), columns, rows))
        doubts += _left_out(inside, heading, columns, rows, form)
    if tables and sheet.kind == "scan":
        doubts.append("the sheet is a scan, whose text was recognised: compare the schedule with the picture")
    parts: list[Part] = []
    for part, is_told in _parts_without(cells, form, linework, sheet, held):
        number, more = gone_on(tables, part, form, is_beside=True)
        if more:
            tables[number] = replace(tables[number], rows=[*tables[number].rows, *more])
        elif is_told:
            parts.append(part)
    struck = [row.key for table in tables for row in table.rows if row.is_struck]
    doubts += [f"the row of {key} is struck out in the schedule and is left out" for key in struck]
    kept = [replace(table, rows=[row for row in table.rows if not row.is_struck]) for table in tables]
    return kept, doubts + [part.unread for part in parts], parts


def may_show(lines: Sequence[TextLine], sheet: Sheet, form: Form) -> bool:
    """Tell from its text alone whether a sheet may show a table of a form, or rows of one."""
    ways = [(cells_of(lines, way), way) for way in ways_to_read(lines, sheet)]
    return any(
        find_headings(cells, form) or any(told for _, told in _parts_without(cells, form, empty_linework(), way))
        for cells, way in ways
    )


def told_once(what: str, rows: Sequence[tuple[str, R]], says: Callable[[R], object]) -> tuple[list[R], list[str]]:
    """Leave out the keys of which several rows say different things, and tell of them; ``what`` has the keys."""
    own: dict[str, list[R]] = {}
    for key, row in rows:
        own.setdefault(key.upper(), []).append(row)
    twice = sorted(key for key, alike in own.items() if any(says(row) != says(alike[0]) for row in alike))
    kept = [alike[0] for key, alike in own.items() if key not in twice]
    return kept, [f"{what} {key} stands in the schedule more than once and is left out" for key in twice]


def _connected(columns: Sequence[Column], heading: Heading, level: Floats) -> slice:
    """Return which columns are of one table with that of the keys: not those with bare paper between."""
    first = last = next(i for i, column in enumerate(columns) if column.low < heading.key.x < column.high)
    ruled = level[np.abs(level[:, 0] - heading.key.y) < 4 * heading.key.size]

    def are_one(left: Column, right: Column) -> bool:
        middle = (left.high + right.low) / 2
        is_bridged = ((ruled[:, 1] < middle) & (middle < ruled[:, 2])).any()
        return right.low - left.high < heading.key.size / 2 or bool(is_bridged)

    while first and are_one(columns[first - 1], columns[first]):
        first -= 1
    while last + 1 < len(columns) and are_one(columns[last], columns[last + 1]):
        last += 1
    return slice(first, last + 1)


def _left_out(
    cells: Sequence[Cell], heading: Heading, columns: Sequence[Column], rows: Sequence[Row], form: Form
) -> list[str]:
    """Tell of the rows of a table that are of several keys at once, and of those with values and without a key."""
    one = f"(?:{form.is_key.pattern})"
    several = re.compile(rf"{one}(?:\s*(?:[-–/,&+]|TO|THRU|AND)\s*{one})+", re.IGNORECASE)
    under = next(column for column in columns if column.low < heading.key.x < column.high)
    top, foot = heading.key.box[3], max((row.at.box[3] + 3 * row.at.size for row in rows), default=float("-inf"))
    own = {cell for row in rows for cell in row.cells}
    rest = [c for c in cells if c not in own and top < c.y < foot and columns[0].low < c.x < columns[-1].high]
    told: dict[str, None] = {}
    for cell in sorted(rest, key=lambda cell: cell.x):
        level = [other for other in rest if abs(other.y - cell.y) < 0.5 * cell.size]
        is_of_several = [
            other.text
            for other in level
            if under.low < other.x < under.high and several.fullmatch(other.text)
            if not form.is_key.fullmatch(other.text) and any(map(str.isdigit, other.text))
        ]
        over = max((row for row in rows if row.at.y < cell.y), key=lambda row: row.at.y, default=None)
        is_value = any(c.kind in form.values and c.low < cell.x < c.high for c in columns) and form.is_value(cell.text)
        if is_of_several:
            told[f"the row “{is_of_several[0]}” of the schedule is of several at once and was not read"] = None
        elif is_value and over is not None:
            texts = "  ".join(other.text for other in sorted(level, key=lambda other: other.x))
            told[f"“{texts}” under {over.key} is a row without a mark and was not read: it may be a part of it"] = None
    return list(told)


def find_headings(cells: Sequence[Cell], form: Form) -> list[Heading]:
    """Find the headings of every table of a form."""
    rest = list(cells)
    found: list[Heading] = []
    while len(found) < MOST_TABLES:
        row = heading_row(rest, form.kind_of, form.anchors, lambda level: bool(_parts(level, cells, form)))
        if row is None:
            break
        found += _parts(row, cells, form)
        rest = [cell for cell in rest if not any(one.box[1] <= cell.y <= one.box[3] for one in row)]
    return found


def _parts(row: Sequence[Cell], cells: Sequence[Cell], form: Form) -> list[Heading]:
    """Part a row of headings where tables stand side by side; those of the form are returned."""
    kinds = [form.kind_of(cell.text) for cell in row]
    first_key = next((key for key in form.keys if key in kinds), "")
    starts = [
        i for i, kind in enumerate(kinds) if kind and (kind == first_key or (kind in form.keys and kind in kinds[:i]))
    ]
    starts = [i for i in starts if i - 1 not in starts]
    found: list[Heading] = []
    first = starts[0] if starts else 0
    while first and kinds[first - 1]:
        first -= 1
    for a, b in pairwise([first, *starts[1:], len(row)]) if starts else ():
        part = row[a:b]
        last = max((i for i, cell in enumerate(part) if form.kind_of(cell.text)), default=0)
        figures = (i for i, cell in enumerate(part) if i > last and any(sign.isdigit() for sign in cell.text))
        part = part[: next(figures, len(part))]  # a row of the next part of the table may stand level with them
        if form.is_table(part, cells):
            key = next(cell for cell in part if form.kind_of(cell.text) in form.keys)
            low, high = (row[i].box[0] - row[i].size if 0 < i < len(row) else float("inf") for i in (a, b))
            found.append(Heading(tuple(part), key, (low if a > first else float("-inf"), high)))
    return found


def _runs(cells: Sequence[Cell], form: Form) -> list[list[Cell]]:
    """Return the keys that stand under one another, close enough to be those of one table."""
    runs: list[list[Cell]] = []
    for cell in sorted((c for c in cells if form.is_key.fullmatch(c.text)), key=lambda c: (round(c.box[0]), c.y)):
        last = runs[-1] if runs else [cell]
        near = abs(cell.box[0] - last[0].box[0]) < cell.size and cell.y - last[-1].y < APART * cell.size
        runs.append([*runs.pop(), cell] if runs and near else [cell])
    return runs


def _parts_without(
    cells: Sequence[Cell], form: Form, linework: Linework, sheet: Sheet, held: Collection[Cell] = ()
) -> Iterator[tuple[Part, bool]]:
    """Yield rows whose keys stand under one another, but for the cells ``held``; and are they by themselves of a table.

    Those are that have nothing above them and two values behind each key.
    """
    rest = [cell for cell in cells if cell not in held]
    taken: set[Cell] = set()
    for run in _runs(rest, form):
        low, high = run[0].box[1] - run[0].size / 2, run[-1].box[3] + run[0].size
        if len(run) < 2 or taken & {*run}:
            continue
        part = Part(sheet, rows_at(run, [cell for cell in rest if low < cell.y < high], form.is_key, linework, sheet))
        pitch = min((b.y - a.y for a, b in pairwise(run) if b.y > a.y), default=0.0)
        values = [sum(form.is_value(c.text) for c in rest if _is_behind(c, key)) for key in run]
        top, size = run[0].box[1], run[0].size
        is_open = not any(top - 2 * pitch - size < c.y < top and abs(c.x - run[0].x) < 3 * size for c in cells)
        is_told = len(run) >= FEWEST and min(values) > 1 and is_open and _are_marks([key.text for key in run])
        taken |= {cell for row in part.rows for cell in row.cells} if is_told else set()
        yield part, is_told


def _are_marks(keys: Sequence[str]) -> bool:
    """Tell whether keys under one another are marks, and no lengths: bare numbers of marks go up by little.

    Examples
    --------
    >>> _are_marks(["D1", "D2", "W1"]), _are_marks(["101", "102", "104"]), _are_marks(["2890", "740", "255"])
    (True, True, False)
    """
    if not any(map(str.isdigit, keys[0])) or any(re.search(r"\d[.,]\d", key) for key in keys):
        return False
    numbers = [int(key) for key in keys if key.isascii() and key.isdigit()]
    return len(numbers) < len(keys) or all(0 < b - a <= UP_BY for a, b in pairwise(numbers))


def gone_on(before: Sequence[Table], part: Part, form: Form, *, is_beside: bool = False) -> tuple[int, list[Row]]:
    """Return the rows of a part by the columns of a table that they go on from, and which one; none where none fits.

    In each row something stands in each column of values, as far from its key as in the table. ``is_beside``: the
    tables are of the same sheet, and it stands to the right of one.
    """
    for number, table in enumerate(before):
        if not table.rows or not part.rows:
            continue
        width = table.columns[-1].high - table.columns[0].low
        away = part.rows[0].at.box[0] - table.rows[0].at.box[0]
        by = [replace(column, low=column.low + away, high=column.high + away) for column in table.columns]
        rows = in_columns(by, part.rows)
        is_like = all(
            any(side.low < cell.x < side.high and form.is_value(cell.text) for cell in row.cells)
            for row in rows
            for side in by
            if side.kind in form.values
        )
        if is_like and (away > 0.5 * width or not is_beside):
            return number, rows
    return 0, []


S = TypeVar("S", bound=Schedule)  # type: ignore[type-arg]


def read_on(found: Sequence[S], form: Form, read: Callable[[Table, Sequence[Row], Sheet], Read[R]]) -> list[S]:
    """Read rows without headings by the tables of the nearest sheet before that has any; told, whether or not.

    ``found`` are the schedules of one form of a set in the order of its sheets; ``read`` reads rows of a table.
    """
    known: Sequence[Table] = ()
    made: list[S] = []
    for one in found:
        for part in one.parts:
            number, rows = gone_on(known, part, form)
            if rows:
                more, told = read(known[number], [row for row in rows if not row.is_struck], part.sheet)
                left = [said for said in one.doubts if said != part.unread]
                said = f"{part.name} and were read by those of the sheet before"
                one = replace(one, rows=(*one.rows, *more), doubts=(*left, said, *told))
        known = one.tables or known
        made.append(one)
    return made


def _is_behind(cell: Cell, key: Cell) -> bool:
    return abs(cell.y - key.y) < 0.5 * key.size and key.x < cell.x < key.x + 60 * key.size
