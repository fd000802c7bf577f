"""Read a table of stated areas off a drawing, from the texts on the sheet and where they stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from takeoff.errors import InputError
from takeoff.exchange.stated_file import StatedTable, merge_tables, stated_in_grid
from takeoff.exchange.stated_grid import Grid
from takeoff.exchange.stated_headings import NOTHING_SAID, Asked, NoTable
from takeoff.sheet.frame import Box
from takeoff.sheet.text import TextLine

ROW = 0.6
"""Part of a text's height within which texts stand on one line."""
LONGEST_GAP = 3.5
"""Rows' pitch beyond which a table has ended."""
GOES_ON = 2
"""Rows with areas from which a page without headings goes on with the table before (judgement, no source)."""


def read_stated_pages(pages: Sequence[Sequence[TextLine]], name: str, asked: Asked = NOTHING_SAID) -> StatedTable:
    """Read stated areas from a table that goes on from page to page, with its headings again or without them.

    Tables with other headings are put behind it. Raises `InputError` when no page shows a table of rooms and areas, or
    an area cannot be read.
    """
    found: list[_Found] = []
    for lines in pages:
        rows = _rows(lines)
        table = _found(rows, name, asked) or (_continued(rows, found[-1], name, asked) if found else None)
        if table is None:
            continue
        head, depth = table.grid.rows[: table.depth], table.depth
        if found and found[-1].grid.rows[: found[-1].depth] == head:
            found[-1] = replace(found[-1], grid=_joined(found[-1].grid, table.grid, depth))
        else:
            found.append(table)
    if not found:
        raise NoTable(
            f"{name} shows no table of rooms and areas as text", remedy="Give the areas as CSV or XLSX instead."
        )
    return merge_tables([stated_in_grid(table.grid, name, asked, table.depth) for table in found])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A table on a page: its cells, how many rows are headings, and the row of texts that shows the columns."""

    grid: Grid
    depth: int
    head: Sequence[TextLine]


def _found(rows: Sequence[Sequence[TextLine]], name: str, asked: Asked) -> _Found | None:
    for depth in (1, 2):
        for i, columns in enumerate(rows[depth - 1 :]):
            if len(columns) < 2:
                continue
            try:
                found = _Found(grid=_grid(_table(rows[i:], columns)), depth=depth, head=columns)
                stated_in_grid(found.grid, name, asked, depth)
                return found
            except NoTable:
                continue
    return None


def _continued(rows: Sequence[Sequence[TextLine]], before: _Found, name: str, asked: Asked) -> _Found | None:
    """A table that goes on from the page before without headings: what stands in the columns of that one."""
    for i, row in enumerate(rows):
        up = row[0].box_pt[1] - before.head[0].box_pt[3]
        head = [
            replace(t, box_pt=(t.box_pt[0], t.box_pt[1] + up, t.box_pt[2], t.box_pt[3] + up)) for t in before.head
        ]  # fmt: skip
        below = _grid(_table(rows[i:], head))
        above = Grid(rows=before.grid.rows[: before.depth], boxes=before.grid.boxes[: before.depth])
        grid = _joined(above, below, 0)
        try:
            if sum(area.is_figure for area in stated_in_grid(grid, name, asked, before.depth).areas) >= GOES_ON:
                return replace(before, grid=grid)
        except InputError:
            continue
    return None


def _grid(table: Sequence[tuple[tuple[str, ...], Box]]) -> Grid:
    return Grid(rows=tuple(cells for cells, _ in table), boxes=tuple(box for _, box in table))


def _joined(first: Grid, more: Grid, depth: int) -> Grid:
    return Grid(rows=(*first.rows, *more.rows[depth:]), boxes=(*first.boxes, *more.boxes[depth:]))


def _rows(lines: Sequence[TextLine]) -> list[list[TextLine]]:
    """Texts that stand on one line, from the top of the sheet down, each row from left to right."""
    out: list[list[TextLine]] = []
    for line in sorted(lines, key=lambda t: (t.box_pt[1] + t.box_pt[3]) / 2.0):
        middle, height = (line.box_pt[1] + line.box_pt[3]) / 2.0, line.box_pt[3] - line.box_pt[1]
        last = out[-1][0] if out else None
        if last is not None and abs(middle - (last.box_pt[1] + last.box_pt[3]) / 2.0) <= ROW * height / 2.0:
            out[-1].append(line)
        else:
            out.append([line])
    return [sorted(row, key=lambda t: t.box_pt[0]) for row in out]


def _table(rows: Sequence[Sequence[TextLine]], head: Sequence[TextLine]) -> list[tuple[tuple[str, ...], Box]]:
    """Rows from a heading row on, each text in the column under which it stands in the row that shows the columns.

    Beside the cells of a row is the box in which it stands.
    """
    left, right = head[0].box_pt[0], head[-1].box_pt[2]
    edges = [(a.box_pt[2] + b.box_pt[0]) / 2.0 for a, b in pairwise(head)]
    width = (right - left) / max(len(head) - 1, 1)
    out: list[tuple[tuple[str, ...], Box]] = []
    bottom, pitch = head[0].box_pt[3], 2.5 * (head[0].box_pt[3] - head[0].box_pt[1])
    for row in rows:
        inside = [t for t in row if t.box_pt[2] > left - width and t.box_pt[0] < right + width]
        if not inside:
            continue
        if inside[0].box_pt[1] - bottom > LONGEST_GAP * pitch:
            break
        cells = [""] * len(head)
        for text in inside:
            at = (text.box_pt[0] + text.box_pt[2]) / 2.0
            place = sum(at > edge for edge in edges)
            cells[place] = f"{cells[place]} {text.text}".strip()
        if inside[0].box_pt[1] >= head[0].box_pt[3]:
            pitch = max(inside[0].box_pt[3] - bottom, 1.0)
            bottom = inside[0].box_pt[3]
        tops, bottoms = [t.box_pt[1] for t in inside], [t.box_pt[3] for t in inside]
        out.append((tuple(cells), (inside[0].box_pt[0], min(tops), inside[-1].box_pt[2], max(bottoms))))
    return out
