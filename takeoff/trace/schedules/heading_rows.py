"""The headings of a table on a text sheet, in one row or in two, with units behind them; and the title above."""

from __future__ import annotations

import re
import statistics
from collections.abc import Callable, Collection, Sequence
from functools import lru_cache

import numpy as np

from takeoff.sheet.frame import box_round
from takeoff.trace.schedules.text_tables import GROUPED, Cell, Kinds
from takeoff.units import FOOT, INCH

RISE = 2.8
"""Heights of a heading by which another one of the same table may stand higher, at the most (judgement)."""
TITLE = re.compile(
    r"SCHEDULE|LISTE?\b|TABLEAU|NOMENCLATURE|CUADRO|PLANILLA|TABLA|ABACO|QUADRO|TABELLE|STAAT|ZESTAWIENIE|F[ÖO]RTECKNING|SKJEMA|V[ÝY]PIS|TYPES\b",
    re.IGNORECASE,
)
"""Words that say that a text is the title of a table (common trade words, from memory)."""
UNIT = re.compile(
    r"(?:\s*[(\[,]\s*|\s+IN\s+|\s+(?=[MC]M\b|IN|F))(MM|CM|M|MET(?:ER|RE)S?|IN|INCHES|FT|FEET)\.?\s*[)\]]?$",
    re.IGNORECASE,
)
UNITS = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": INCH, "inches": INCH, "ft": FOOT, "feet": FOOT}
UNITS.update(dict.fromkeys(("meter", "metre", "meters", "metres"), 1.0))
"""A unit behind a heading, as in HEIGHT (MM), and its metres."""
SIDES = ("size", "width", "height")
"""Kinds of headings of sizes."""
_BETWEEN = re.compile(r"\s*[/|]\s*|\s+(?:[-–]\s+)?")
"""What parts the two languages of a heading."""

BARE = re.compile(r"\d+(?:[.,]\d+)?", re.ASCII)
_UNITS = ((0.001, 400.0, 6000.0, False), (0.01, 170.0, 400.0, False), (INCH, 72.0, 130.0, True), (1.0, 1.7, 4.0, True),
          (1.0, 0.3, 1.7, False))  # fmt: skip
"""Metres that a bare number counts, the least and most that the middle height of a table then has, and whether that
tells it of doors alone: windows of 90 may be of inches or centimetres (judgement)."""
_METRIC = ((1.0, 0.3, 4.5), (0.01, 30.0, 450.0), (0.001, 450.0, 6000.0))
"""The same of metric tables: no opening is lower than 0.3 m or as high as 4.5 m at the middle (judgement)."""
WIDEST = 2.5
"""Metres that the middle door of a table is not as wide as: 60 to 240 are of centimetres, not inches (judgement)."""


def kinds_by(patterns: Sequence[tuple[str, re.Pattern[str]]]) -> Kinds:
    """Return what tells what a heading names: the first pattern that its text fits, a unit behind it left out.

    A heading in two languages fits where both halves do: Breite / Width.
    """

    @lru_cache(4096)  # a text is asked about with each of its neighbours
    def kind_of(text: str) -> str:
        bare = UNIT.sub("", text)
        halves = [(bare[: gap.start()], bare[gap.end() :]) for gap in _BETWEEN.finditer(bare)]
        ways = ((bare,), *(half for half in halves if half[0].casefold() != half[1].casefold()))
        fitting = (kind for way in ways for kind, pattern in patterns if all(map(pattern.fullmatch, way)))
        return next(fitting, "")

    return kind_of


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
        named = anchor
        if UNIT.fullmatch(f" {anchor.text}"):  # a unit alone, under what it is of
            named = _under_group(_with_upper(anchor, cells, kind_of), [anchor], cells, kind_of)
        if kind_of(named.text) not in anchors:
            continue
        level = [cell for cell in cells if abs(cell.y - anchor.y) < 0.9 * anchor.size]
        level += _beside_two_rows(level, anchor, cells, kind_of)
        whole = [_with_upper(cell, cells, kind_of) for cell in level if not _is_of_both(cell, level)]
        row = sorted((cell for cell in whole if not any(_is_part(cell, one) for one in whole)), key=lambda cell: cell.x)
        is_whole = is_table(row)
        row = [c if is_whole and kind_of(c.text) not in SIDES else _under_group(c, row, cells, kind_of) for c in row]
        known = sum(bool(kind_of(cell.text)) for cell in row)
        if known > most and is_table(row):
            best, most = row, known
    return best


def _under_group(cell: Cell, row: Sequence[Cell], cells: Sequence[Cell], kind_of: Kinds) -> Cell:
    """Name a heading with the one over it and its neighbours, where it says nothing by itself: CODE under WALLS.

    So are those of sizes of which there are several: WIDTH under LEAF and under ROUGH OPENING.
    """
    kind = kind_of(cell.text)
    if kind and (kind not in SIDES or [kind_of(other.text) for other in row].count(kind) == 1):
        return cell
    over = [c for c in cells if 0.9 <= (cell.y - c.y) / cell.size < RISE and not TITLE.search(c.text)]
    group = min(over, key=lambda c: abs(c.x - cell.x), default=cell)
    is_nearest = bool(kind or UNIT.fullmatch(f" {cell.text}")) or all(
        abs(group.x - cell.x) <= 2 * abs(group.x - other.x) + cell.size for other in row
    )
    joined = Cell(f"{group.text} {cell.text}", cell.box)
    told = kind_of(joined.text)
    return joined if is_nearest and told and kind in ("", told) else cell


def _is_of_both(cell: Cell, level: Sequence[Cell]) -> bool:
    """Tell whether a heading stands over two others, a row above the nearest one on either side of it."""
    left = max((c for c in level if c.x < cell.x), key=lambda c: c.x, default=cell)
    right = min((c for c in level if c.x > cell.x), key=lambda c: c.x, default=cell)
    return min(left.y, right.y) - cell.y > cell.size


def _beside_two_rows(level: Sequence[Cell], anchor: Cell, cells: Sequence[Cell], kind_of: Kinds) -> list[Cell]:
    """Return the headings beside a lower row of headings that stand higher, as over both rows or in the upper one.

    What stands between two of the lower row is a heading of both, unless it is half a row up and there is much room.
    """
    found: list[Cell] = []
    for cell in cells:
        rise = (anchor.y - cell.y) / anchor.size
        if not 0.9 <= rise < RISE or TITLE.search(cell.text):
            continue
        left = max((c.box[2] for c in level if c.x < cell.x), default=-np.inf)
        right = min((c.box[0] for c in level if c.x > cell.x), default=np.inf)
        is_clear = left < cell.box[0] and cell.box[2] < right
        is_wide = rise < RISE / 2 and right - left > 3 * (cell.box[2] - cell.box[0])
        if is_clear and (is_wide or not np.isfinite(right - left)):
            found.append(cell)
    known = [cell.y for cell in found if kind_of(cell.text)]
    return [cell for cell in found if any(abs(cell.y - y) < 0.5 * cell.size for y in known)]


def title_over(row: Sequence[Cell], cells: Sequence[Cell]) -> str:
    """Return the title of a table, which stands above its headings and says that it is one; empty without one."""
    top, left, right = min(cell.box[1] for cell in row), row[0].box[0], row[-1].box[2]
    above = [
        cell
        for cell in cells
        if TITLE.search(cell.text) and 0 < top - cell.y < 8 * row[0].size and cell.box[2] > left and cell.box[0] < right
    ]
    return max(above, key=lambda cell: cell.y).text.upper() if above else ""


def unit_of(heading: str) -> float | None:
    """Return the unit that stands behind a heading, in metres; nothing where none does."""
    found = UNIT.search(heading)
    return UNITS[found[1].lower()] if found else None


def bare_unit(sides: Sequence[tuple[str, str]], kind: str | None, *, is_metric: bool = False) -> float | None:
    """Return what the bare numbers of a table count, in metres; nothing where width and height do not tell it.

    ``is_metric``: the language of its headings says so.
    """
    if any(GROUPED.fullmatch(text) for pair in sides for text in pair):
        return 0.001
    bare = [
        [float(text.replace(",", ".")) for text in texts if BARE.fullmatch(text)] for texts in zip(*sides, strict=True)
    ]
    wide, high = (statistics.median(numbers) if numbers else 0.0 for numbers in bare or ((), ()))
    if is_metric:
        return next((unit for unit, low, most in _METRIC if low <= high < most), None)
    told = (
        unit
        for unit, low, most, of_doors in _UNITS
        if low <= high < most and (not of_doors or (kind == "door" and wide * unit < WIDEST))
    )
    return next(told, None)


def _is_part(cell: Cell, whole: Cell) -> bool:
    """Tell whether a text is an upper line of another one."""
    is_level = cell.box[3] < whole.box[3] and cell.box[1] >= whole.box[1]
    return is_level and cell.box[0] < whole.box[2] and whole.box[0] < cell.box[2]


def _with_upper(cell: Cell, cells: Sequence[Cell], kind_of: Kinds) -> Cell:
    """Join a heading with the lines close above it: those of one text with it, or a word that makes it a heading."""
    for other in cells:
        rise = (cell.box[1] - other.box[1]) / other.size
        if not 0.5 < rise < 1.5:
            continue
        width = max(other.box[2] - other.box[0], cell.box[2] - cell.box[0])
        if abs(other.x - cell.x) >= width / 2:
            continue
        joined, words = f"{other.text} {cell.text}", len(other.text.split())
        if (rise < 1.25 and words < 3) or (words == 1 and kind_of(joined)):
            is_group = other.box[2] - other.box[0] > 2 * (cell.box[2] - cell.box[0])  # of the next columns too
            box = (cell.box[0], other.box[1], cell.box[2], cell.box[3])
            return _with_upper(Cell(joined, box if is_group else box_round((cell.box, other.box))), cells, kind_of)
    return cell
