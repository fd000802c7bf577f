"""Tables on a text sheet: cells of text, headings, columns and the rows under them, all as displayed.

Columns are told apart by the ruled lines that cross the row of headings, else by what stands under each heading.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from takeoff.errors import LengthError
from takeoff.model.plan import Sheet
from takeoff.sheet.frame import Box, box_to_displayed
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Linework
from takeoff.units import parse_length

WIDE = 6.0
"""Heights of a text by which a value may stand beside its centred heading in a wide column (judgement)."""
Kinds = Callable[[str], str]
"""Tells what a heading names; empty where it is none of the table's."""


def kinds_by(patterns: Sequence[tuple[str, re.Pattern[str]]]) -> Kinds:
    """Return what tells what a heading names: the first pattern that its whole text fits."""
    return lambda text: next((kind for kind, pattern in patterns if pattern.fullmatch(text)), "")


@dataclass(frozen=True, slots=True)
class Cell:
    """A line of text and its box as displayed."""

    text: str
    box: Box

    @property
    def x(self) -> float:
        """Middle from left to right."""
        return (self.box[0] + self.box[2]) / 2

    @property
    def y(self) -> float:
        """Middle from top to bottom."""
        return (self.box[1] + self.box[3]) / 2

    @property
    def size(self) -> float:
        """Height of the box."""
        return self.box[3] - self.box[1]


@dataclass(frozen=True, slots=True)
class Column:
    """What a column holds by its heading, and where it lies from left to right."""

    kind: str
    low: float
    high: float


def rows_under(column: Column, body: Sequence[Cell], key: re.Pattern[str]) -> list[tuple[Cell, list[Cell]]]:
    """Return each cell of a column that fits the key, top to bottom, with the cells that stand most level with it."""
    anchors = sorted((c for c in body if column.low < c.x < column.high and key.fullmatch(c.text)), key=lambda c: c.y)
    own: list[list[Cell]] = [[] for _ in anchors]
    for cell in body if anchors else ():
        own[min(range(len(anchors)), key=lambda i: abs(anchors[i].y - cell.y))].append(cell)
    return list(zip(anchors, own, strict=True))


def cells_of(lines: Sequence[TextLine], sheet: Sheet) -> list[Cell]:
    """Return a sheet's lines of text as cells, as displayed."""
    return [Cell(line.text.strip(), box_to_displayed(sheet, line.box_pt)) for line in lines if line.text.strip()]


def ways_to_read(lines: Sequence[TextLine], sheet: Sheet) -> list[Sheet]:
    """Return a sheet as displayed, then turned as its other texts are read, the way of most of them first."""
    ways: Counter[int] = Counter()
    for line in lines:
        if len(line.words) > 1:
            first, last = (box_to_displayed(sheet, word.box_pt) for word in (line.words[0], line.words[-1]))
            across, down = last[0] - first[0], last[1] - first[1]
            level = 0 if across >= 0.0 else 180
            ways[level if abs(across) >= abs(down) else 90 if down < 0.0 else 270] += 1
    turns = dict.fromkeys((0, *(turn for turn, _ in ways.most_common())))
    return [replace(sheet, rotation=(sheet.rotation + turn) % 360) for turn in turns]


def heading_row(
    cells: Sequence[Cell], kind_of: Kinds, anchors: Collection[str], is_table: Callable[[list[Cell]], bool]
) -> list[Cell] | None:
    """Find the row of headings, left to right: of those that make a table the one with most of them.

    ``kind_of`` tells what a heading names, and a word that stands close above one joins it; ``anchors`` are kinds of
    which every row has one; ``is_table`` tells of a row whether it is the table's.
    """
    best: list[Cell] | None = None
    most = 0
    for anchor in cells:
        if kind_of(anchor.text) not in anchors:
            continue
        level = [cell for cell in cells if abs(cell.y - anchor.y) < 0.9 * anchor.size]
        row = sorted((_with_upper(cell, cells, kind_of) for cell in level), key=lambda cell: cell.x)
        known = sum(bool(kind_of(cell.text)) for cell in row)
        if known > most and is_table(row):
            best, most = row, known
    return best


def _with_upper(cell: Cell, cells: Sequence[Cell], kind_of: Kinds) -> Cell:
    """Join a heading with the word that stands close above it, if the two together are a heading."""
    for other in cells:
        above = 0.5 * cell.size < cell.y - other.y < 1.5 * cell.size
        if above and abs(other.x - cell.x) < max(other.box[2] - other.box[0], cell.box[2] - cell.box[0]) / 2:
            joined = f"{other.text} {cell.text}"
            if kind_of(joined) and len(other.text.split()) == 1:
                return Cell(joined, cell.box)
    return cell


def body_under(heading: Sequence[Cell], cells: Sequence[Cell], key: Cell, is_key: re.Pattern[str]) -> list[Cell]:
    """Return the cells under the headings, down to where what identifies its rows ends, under the heading ``key``."""
    bottom = max(cell.box[3] for cell in heading)
    in_column = sorted(
        (c for c in cells if c.y > bottom and is_key.fullmatch(c.text) and _under(c, key, heading)), key=lambda c: c.y
    )
    kept: list[Cell] = []
    for cell in in_column:
        if kept and cell.y - kept[-1].y < 0.5 * cell.size:
            continue  # of the next column
        pitch = min((b.y - a.y for a, b in pairwise(kept)), default=6 * cell.size)
        if cell.y - (kept[-1].y if kept else bottom) > max(2.6 * pitch, 3 * cell.size):
            break
        kept.append(cell)
    if not kept:
        return []
    pitch = min((b.y - a.y for a, b in pairwise(kept)), default=2 * kept[0].size)
    return [cell for cell in cells if bottom < cell.y < kept[-1].y + 0.6 * pitch]


def _under(cell: Cell, key: Cell, heading: Sequence[Cell]) -> bool:
    """Tell whether a cell stands under a heading, or in a wide column at one side of it, nearer than to any other."""
    half, away = (key.box[2] - key.box[0]) / 2, abs(cell.x - key.x)
    is_nearest = all(away < abs(cell.x - other.x) for other in heading if other.box != key.box)
    return away < half + 2 * cell.size or (is_nearest and away < half + WIDE * cell.size)


def columns_of(
    heading: Sequence[Cell], body: Sequence[Cell], linework: Linework, sheet: Sheet, kind_of: Kinds
) -> list[Column]:
    """Part the table into columns: at ruled lines through the heading row, else between what stands in them."""
    top, bottom = min(cell.box[1] for cell in heading), max(cell.box[3] for cell in heading)
    rules = _upright_rules(linework, sheet, (top + bottom) / 2)
    columns: list[Column] = []
    for index, cell in enumerate(heading):
        left = rules[rules < cell.x].max(initial=-np.inf)
        right = rules[rules > cell.x].min(initial=np.inf)
        previous = heading[index - 1] if index else None
        following = heading[index + 1] if index + 1 < len(heading) else None
        if previous is not None and left < previous.x:
            left = _between(previous, cell, body)
        if following is not None and right > following.x:
            right = _between(cell, following, body)
        width = cell.box[2] - cell.box[0]
        low = float(left) if np.isfinite(left) else cell.box[0] - width
        high = float(right) if np.isfinite(right) else max(cell.box[2] + width, cell.box[0] + 40 * cell.size)
        columns.append(Column(kind_of(cell.text), low, high))
    return columns


def _between(left: Cell, right: Cell, body: Sequence[Cell]) -> float:
    """Return the middle of the widest gap between two headings that no cell of the table reaches into."""
    low, high = left.x, right.x
    spans = sorted((max(c.box[0], low), min(c.box[2], high)) for c in (*body, left, right) if c.box[2] > low)
    at, best = low, (0.0, (low + high) / 2)
    for a, b in spans:
        if a >= high:
            break
        best = max(best, (a - at, (a + at) / 2))
        at = max(at, b)
    return max(best, (high - at, (high + at) / 2))[1]


def _upright_rules(linework: Linework, sheet: Sheet, y: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return where upright lines cross a level, as displayed."""
    lines = linework.lines
    if sheet.rotation % 180 == 0:
        upright, level = np.abs(lines[:, 0] - lines[:, 2]) < 0.3, lines[:, [1, 3]]
    else:
        upright, level = np.abs(lines[:, 1] - lines[:, 3]) < 0.3, lines[:, [0, 2]]
    places: list[float] = []
    for row in np.flatnonzero(upright & (np.ptp(level, axis=1) > 5)).tolist():
        x0, y0, x1, y1 = box_to_displayed(sheet, tuple(lines[row].tolist()))
        if y0 <= y <= y1:
            places.append((x0 + x1) / 2)
    return np.unique(np.array(places, np.float64))


def text_in(column: Column, cells: Sequence[Cell]) -> str:
    """Return what stands in a column, of the cells of one row."""
    held = [cell for cell in cells if column.low < cell.x < column.high]
    return " ".join(cell.text for cell in sorted(held, key=lambda c: (round(c.y), c.x)))


def length_in(text: str) -> float | None:
    """Read a cell as a length in metres; nothing where it is not one, or zero."""
    try:
        length = parse_length(text) if text else None
    except LengthError:
        return None
    return length or None
