"""Tables on a text sheet: cells of text, headings, columns and the rows under them, all as displayed.

Columns are told apart by the ruled lines that cross the row of headings, else by what stands under each heading; rows
by the ruled lines above and below their keys, else by what stands level with these. What stands in a field that is
ruled round several rows belongs to each of them.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from takeoff.errors import LengthError
from takeoff.model.plan import Sheet
from takeoff.sheet.frame import Box, box_round, box_to_displayed, sheet_to_displayed
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Linework
from takeoff.units import parse_length

WIDE = 6.0
"""Heights of a text by which a value may stand beside its centred heading in a wide column (judgement)."""
Floats = npt.NDArray[np.float64]
STRAIGHT_PT, RULE_PT = 0.3, 4.0
"""Points that a ruled line may be off its direction, and the least that it is long."""
LEVEL = 0.75
"""Distance to a row's key, over the least distance of two rows, within which a text is of that row where no lines part
the rows: a row without a key between two is of neither (judgement)."""
THROUGH = 0.22
"""Part of the height of a text by which a line that strikes it out is off its middle at the most (judgement)."""
FLAT = 0.25
"""Rise of a line that strikes out a row, over its length, at the most: those of a cross are not level (judgement)."""
LINE = 1.3
"""Distance of two lines of one text at the most, over their height (judgement)."""
_DITTO = re.compile(r"[\"”″〃]|''|,,|-?\s*DO\.?\s*-?|DITTO|IDEM|(?:SAME\s+)?AS\s+ABOVE", re.IGNORECASE)
"""What stands for the text above it (ordinary signs and words, no source)."""
GROUPED = re.compile(r"(\d{1,2})[.,](\d{3})", re.ASCII)
"""A number with three figures behind its sign: thousands of millimetres, or metres with three decimals."""
Kinds = Callable[[str], str]
"""Tells what a heading names; empty where it is none of the table's."""


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


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table: its key as written, the cell of that, the text in each column, its cells; was it struck out."""

    key: str
    at: Cell
    texts: tuple[str, ...]
    cells: tuple[Cell, ...]
    is_struck: bool = False


def read_table(
    heading: Sequence[Cell],
    cells: Sequence[Cell],
    key: Cell,
    is_key: re.Pattern[str],
    linework: Linework,
    sheet: Sheet,
    kind_of: Kinds,
) -> tuple[Sequence[Column], list[Row]]:
    """Read the table under a row of headings; ``key`` is that of what tells rows apart, which is like ``is_key``."""
    body = body_under(heading, cells, key, is_key)
    columns = _columns(heading, body, straight(linework, sheet)[1], kind_of)
    under = next(column for column in columns if column.low < key.x < column.high)
    keys = sorted((cell for cell in body if under.low < cell.x < under.high), key=lambda cell: cell.y)
    return columns, in_columns(columns, rows_at(keys, body, is_key, linework, sheet))


def rows_at(
    keys: Sequence[Cell], body: Sequence[Cell], is_key: re.Pattern[str], linework: Linework, sheet: Sheet
) -> list[Row]:
    """Return the rows of keys that stand under one another, from the top, each with all that is level with it."""
    level, strokes = straight(linework, sheet)[0], _strokes(linework, sheet)
    bands = [_band(cell, level) for cell in keys]
    held = _parted(keys, bands, is_key, body, level) if _is_parted(keys, bands, is_key) else _level(keys, is_key, body)
    return [Row(text, at, (), tuple(own), _is_struck(at, strokes)) for text, at, own in held]


def in_columns(columns: Sequence[Column], rows: Sequence[Row]) -> list[Row]:
    """Return rows with what stands in each column; a sign for the text above is read as that text."""
    found: list[Row] = []
    for row in rows:
        texts = [_text_in(column, row.cells) for column in columns]
        above = found[-1].texts if found else texts
        said = tuple(up if _DITTO.fullmatch(text) else text for up, text in zip(above, texts, strict=True))
        inside = tuple(cell for cell in row.cells if columns[0].low < cell.x < columns[-1].high)
        found.append(replace(row, texts=said, cells=inside))
    return found


Band = tuple[float, float]
Held = list[tuple[str, Cell, list[Cell]]]


def _is_parted(keys: Sequence[Cell], bands: Sequence[Band], is_key: re.Pattern[str]) -> bool:
    """Tell whether ruled lines part the rows: no two keys stand between the same two, but for lines of one."""
    own = [(cell, band) for cell, band in zip(keys, bands, strict=True) if is_key.fullmatch(cell.text)]
    return bool(own) and all(
        np.isfinite(one[1]).all() and (one[1] != other[1] or other[0].y - one[0].y < LINE * one[0].size)
        for one, other in pairwise([*own, (own[-1][0], (np.nan, np.nan))])
    )


def _parted(
    keys: Sequence[Cell], bands: Sequence[Band], is_key: re.Pattern[str], body: Sequence[Cell], level: Floats
) -> Held:
    """Return key and cells of each row that stands between two ruled lines."""
    around = [(cell, *_band(cell, level)) for cell in body]
    found: Held = []
    for band in dict.fromkeys(bands):
        own = [cell for cell, of in zip(keys, bands, strict=True) if of == band]
        written = ("".join(cell.text for cell in own), *(cell.text for cell in own[:1]))
        text = next((text for text in written if is_key.fullmatch(text)), "")
        at = own[0].y
        if text:
            inside = [
                c for c, low, high in around if band[0] < c.y < band[1] or (low < at < high and _alone(c, around))
            ]
            found.append((text, own[0], inside))
    return found


def _alone(cell: Cell, around: Sequence[tuple[Cell, float, float]]) -> bool:
    """Tell whether nothing but lines of one text stands in the field of a cell, which is ruled round several rows."""
    low, high = next((low, high) for one, low, high in around if one is cell)
    inside = sorted(c.y for c, _, _ in around if low < c.y < high and c.box[0] < cell.box[2] and c.box[2] > cell.box[0])
    return all(b - a < LINE * cell.size for a, b in pairwise(inside))


def _level(keys: Sequence[Cell], is_key: re.Pattern[str], body: Sequence[Cell]) -> Held:
    """Return each key with the cells that stand most level with it."""
    anchors = [cell for cell in keys if is_key.fullmatch(cell.text)]
    own: list[list[Cell]] = [[] for _ in anchors]
    near = LEVEL * min((b.y - a.y for a, b in pairwise(anchors) if b.y > a.y), default=np.inf)
    for cell in body if anchors else ():
        nearest = min(range(len(anchors)), key=lambda i: abs(anchors[i].y - cell.y))
        if abs(anchors[nearest].y - cell.y) < near:
            own[nearest].append(cell)
    return [(anchor.text, anchor, held) for anchor, held in zip(anchors, own, strict=True)]


def _is_struck(cell: Cell, strokes: Floats) -> bool:
    """Tell whether a line runs through the middle of a row: rules and underlines run between the rows."""
    is_through = np.abs(strokes[:, 0] - cell.y) < THROUGH * cell.size
    return bool((is_through & (strokes[:, 1] < cell.box[0] + cell.size / 2) & (strokes[:, 2] > cell.box[2])).any())


def _strokes(linework: Linework, sheet: Sheet) -> Floats:
    """Return the middle y and both x, as displayed, of lines that strike out: level ones, and those across a row."""
    ends = _displayed(linework.lines, sheet)
    low, high = ends.min(axis=1), ends.max(axis=1)
    flat = high[:, 1] - low[:, 1] < FLAT * (high[:, 0] - low[:, 0])
    found: Floats = np.column_stack([(low[:, 1] + high[:, 1]) / 2, low[:, 0], high[:, 0]])[flat]
    return found


def _band(cell: Cell, level: Floats) -> Band:
    """Return the heights of the ruled lines next above and below a cell; infinite where there are none."""
    over = level[(level[:, 1] <= cell.x) & (cell.x <= level[:, 2]), 0]
    return float(over[over < cell.y].max(initial=-np.inf)), float(over[over > cell.y].min(initial=np.inf))


def cells_of(lines: Sequence[TextLine], sheet: Sheet, linework: Linework | None = None) -> list[Cell]:
    """Return a sheet's lines of text as cells, as displayed, parted where an upright line of ``linework`` crosses."""
    if linework is None:
        return [
            _upright(line.text.strip(), box_to_displayed(sheet, line.box_pt)) for line in lines if line.text.strip()
        ]
    upright = straight(linework, sheet)[1]
    cells: list[Cell] = []
    for line in lines:
        boxes = [(word.text, box_to_displayed(sheet, word.box_pt)) for word in line.words if word.text.strip()]
        level = sum(box[1] + box[3] for _, box in boxes) / 2 / max(len(boxes), 1)
        places = upright[(upright[:, 1] < level) & (level < upright[:, 2]), 0]
        parts: dict[int, list[tuple[str, Box]]] = {}
        for text, box in boxes:
            parts.setdefault(int((places < (box[0] + box[2]) / 2).sum()), []).append((text, box))
        cells += [
            _upright(" ".join(text for text, _ in p).strip(), box_round(box for _, box in p)) for p in parts.values()
        ]
    return cells


def _upright(text: str, box: Box) -> Cell:
    """Return a cell; that of a word written upwards is its foot: headings of narrow columns stand so."""
    x0, y0, x1, y1 = box
    return Cell(text, (x0, y1 - (x1 - x0), x1, y1) if len(text) > 2 and y1 - y0 > 1.8 * (x1 - x0) else box)


def beside(cell: Cell, cells: Sequence[Cell]) -> Cell | None:
    """Return the next cell to the right of one on its level."""
    level = (other for other in cells if abs(other.y - cell.y) < 0.45 * cell.size and other.x > cell.x)
    return min(level, key=lambda other: other.box[0], default=None)


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


def _columns(heading: Sequence[Cell], body: Sequence[Cell], upright: Floats, kind_of: Kinds) -> list[Column]:
    """Part the table into columns: at ruled lines through the heading row, else between what stands in them."""
    y = (min(cell.box[1] for cell in heading) + max(cell.box[3] for cell in heading)) / 2
    rules = np.unique(upright[(upright[:, 1] <= y) & (y <= upright[:, 2]), 0])
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


def straight(linework: Linework, sheet: Sheet) -> tuple[Floats, Floats]:
    """Return the lines along a sheet's edges as displayed: y and both x of level ones, x and both y of upright ones."""
    lines = linework.lines
    spans = np.abs(lines[:, 2:] - lines[:, :2])
    lines = lines[(spans.min(axis=1) < STRAIGHT_PT) & (spans.max(axis=1) > RULE_PT)]
    ends = _displayed(lines, sheet)
    low, high = ends.min(axis=1), ends.max(axis=1)
    is_level = high[:, 0] - low[:, 0] >= high[:, 1] - low[:, 1]
    rows = np.concatenate([low, high], axis=1)
    return rows[is_level][:, [1, 0, 2]], rows[~is_level][:, [0, 1, 3]]


def _displayed(lines: Floats, sheet: Sheet) -> Floats:
    zero, along, down = (np.array(sheet_to_displayed(sheet, *at)) for at in ((0, 0), (1, 0), (0, 1)))
    ends: Floats = (zero + lines.reshape(-1, 2) @ np.array([along - zero, down - zero])).reshape(-1, 2, 2)
    return ends


def _text_in(column: Column, cells: Sequence[Cell]) -> str:
    """Return what stands in a column, of the cells of one row; what stands side by side there is no one value."""
    held = sorted((c for c in cells if column.low < c.x < column.high), key=lambda c: (round(c.y), c.x))
    text = "".join(
        f"{'; ' if abs(b.y - a.y) < 0.5 * b.size and b.box[0] - a.box[2] > b.size else ' '}{b.text}"
        for a, b in pairwise(held)
    )
    return f"{held[0].text}{text}" if held else ""


def length_in(text: str) -> float | None:
    """Read a cell as a length in metres; nothing where it is not one, or zero; 2,100 is one in millimetres."""
    if grouped := GROUPED.fullmatch(text):
        return float(f"{grouped[1]}.{grouped[2]}") or None
    try:
        length = parse_length(text) if text else None
    except LengthError:
        return None
    return length or None
