"""The tables of one form on a text sheet, side by side or under one another, and parts that go on without headings."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TypeVar

import numpy as np

from takeoff.model.plan import Sheet
from takeoff.trace.drawing.linework import Floats, Linework
from takeoff.trace.schedules.heading_rows import heading_row
from takeoff.trace.schedules.text_tables import Cell, Column, Kinds, Row, read_rows, read_table, straight

R = TypeVar("R")
MOST_TABLES = 6
"""Tables of one form on a sheet that are read."""
FEWEST, APART = 3, 3.0
"""Rows of a part without any headings on its sheet, at the least, and heights of a text that they stand apart at the
most (judgement)."""


@dataclass(frozen=True, slots=True)
class Form:
    """What a table of one form is told by.

    ``kind_of`` tells what a heading names, ``anchors`` are kinds of which every table has one, ``keys`` those that tell
    rows apart, the first that there is, and ``is_key`` what stands under them; ``values`` are kinds whose texts
    (``is_value``) tell a row of a part without headings; ``is_table`` tells it from a row of headings and all cells.
    """

    kind_of: Kinds
    anchors: Collection[str]
    keys: Sequence[str]
    is_key: re.Pattern[str]
    values: Collection[str]
    is_value: Callable[[str], bool]
    is_table: Callable[[Sequence[Cell], Sequence[Cell]], bool]


@dataclass(frozen=True, slots=True)
class Heading:
    """The headings of a table, left to right, the one over its keys, and how far to the left and right it may reach."""

    cells: tuple[Cell, ...]
    key: Cell
    reach: tuple[float, float] = (float("-inf"), float("inf"))


@dataclass(frozen=True, slots=True)
class Table:
    """A table as read: its headings, its columns, its rows with those that go on beside it, without struck ones."""

    heading: tuple[Cell, ...]
    columns: Sequence[Column]
    rows: Sequence[Row]


def read_tables(cells: Sequence[Cell], linework: Linework, sheet: Sheet, form: Form) -> tuple[list[Table], list[str]]:
    """Read the tables of a sheet, and tell of rows of such tables that stand without headings."""
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
        held |= {cell for row in rows for cell in (row.at, *row.cells)}
        for by, run in _continued(columns, [row.at for row in rows], cells, held, form):
            low, high = run[0].box[1] - run[0].size / 2, run[-1].box[3] + run[0].size / 2
            body = [cell for cell in cells if low < cell.y < high]
            more = read_rows(by, body, run[0].x, form.is_key, linework, sheet)
            held |= {cell for row in more for cell in (row.at, *row.cells)}
            rows += more
        held |= set(heading.cells)
        struck = [row.key for row in rows if row.is_struck]
        tables.append(Table(heading.cells, columns, [row for row in rows if not row.is_struck]))
        doubts += [f"the row of {key} is struck out in the schedule and is left out" for key in struck]
        doubts += _of_several(inside, heading, columns, rows, form)
    return tables, [*doubts, *headless(cells, form, sheet, held)]


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


def _of_several(
    cells: Sequence[Cell], heading: Heading, columns: Sequence[Column], rows: Sequence[Row], form: Form
) -> list[str]:
    """Tell of the rows of a table that are of several keys at once."""
    several = re.compile(rf"{_plain(form)}(?:\s*(?:[-–/,&+]|TO|THRU|AND)\s*{_plain(form)})+", re.IGNORECASE)
    under = next(column for column in columns if column.low < heading.key.x < column.high)
    top, foot = heading.key.box[3], max((row.at.box[3] + 3 * row.at.size for row in rows), default=float("-inf"))
    return [
        f"the row “{cell.text}” of the schedule is of several at once and was not read"
        for cell in cells
        if under.low < cell.x < under.high and top < cell.y < foot and several.fullmatch(cell.text)
        if not form.is_key.fullmatch(cell.text) and any(map(str.isdigit, cell.text))
    ]


def _plain(form: Form) -> str:
    return f"(?:{form.is_key.pattern})"


def find_headings(cells: Sequence[Cell], form: Form) -> list[Heading]:
    """Find the headings of every table of a form."""
    rest = list(cells)
    found: list[Heading] = []
    while len(found) < MOST_TABLES:
        row = heading_row(rest, form.kind_of, form.anchors, lambda level: bool(_parts(level, cells, form)))
        if row is None:
            break
        found += _parts(row, cells, form)
        rest = [cell for cell in rest if not any(cell.y == one.y for one in row)]
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


def _continued(
    columns: Sequence[Column], keys: Sequence[Cell], cells: Sequence[Cell], held: Collection[Cell], form: Form
) -> list[tuple[list[Column], list[Cell]]]:
    """Find the parts of a table that go on beside it without headings: keys over another, with values as far from them.

    Each as its columns and its keys.
    """
    found: list[tuple[list[Column], list[Cell]]] = []
    width = columns[-1].high - columns[0].low
    rest = [cell for cell in cells if cell not in held]
    for run in _runs(rest, form) if keys else ():
        away = run[0].box[0] - keys[0].box[0]
        by = [replace(column, low=column.low + away, high=column.high + away) for column in columns]
        level = [[c for c in rest if abs(c.y - key.y) < 0.5 * key.size] for key in run]
        is_like = all(
            any(side.low < c.x < side.high and form.is_value(c.text) for c in own)
            for own in level
            for side in by
            if side.kind in form.values
        )
        if len(run) > 1 and away > 0.5 * width and is_like:
            found.append((by, run))
    return found


def headless(cells: Sequence[Cell], form: Form, sheet: Sheet, held: Collection[Cell] = ()) -> list[str]:
    """Tell of keys under one another with two values each and nothing above them: a table that goes on from elsewhere.

    ``held`` are the cells of tables that were read.
    """
    told = []
    rest = [cell for cell in cells if cell not in held]
    for run in _runs(rest, form):
        pitch = min((b.y - a.y for a, b in pairwise(run) if b.y > a.y), default=0.0)
        values = [sum(form.is_value(c.text) for c in rest if _is_behind(c, key)) for key in run]
        top, size = run[0].box[1], run[0].size
        is_open = not any(top - 2 * pitch - size < c.y < top and abs(c.x - run[0].x) < 3 * size for c in cells)
        if len(run) >= FEWEST and min(values) > 1 and is_open and any(map(str.isdigit, run[0].text)):
            told.append(
                f"{len(run)} rows from “{run[0].text}” to “{run[-1].text}” on sheet {sheet.number or sheet.id} stand "
                "without headings and were not read"
            )
    return told


def _is_behind(cell: Cell, key: Cell) -> bool:
    return abs(cell.y - key.y) < 0.5 * key.size and key.x < cell.x < key.x + 60 * key.size
