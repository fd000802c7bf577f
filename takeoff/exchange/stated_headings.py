"""Which columns of a table hold room, area, unit, side and size, from one to three rows of headings."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from takeoff.audit.stated import AreaUnit, split_amount
from takeoff.errors import InputError
from takeoff.exchange.stated_grid import Grid, stacked

HEAD_ROWS = 20
"""Rows among which the headings are looked for."""
DEEPEST = 3
"""Rows that the headings may take."""
TRIED = 12
"""Cells under a heading by which it is told whether they hold areas."""

_NUMBER = re.compile(r"((room|rm|space)?\.? ?(no|nr|number|num|mark|#)\.?|#|room id|raum-?nr\.?)")
_NAME = re.compile(
    r"(room|rm|space) ?(name|title|description|use)|name|description|use|function|space|designation|"
    r"(raum)?(name|bezeichnung)|nom|nombre|nome|naam|navn|namn"
)
_ROOM = re.compile(r"room|rm|rooms|space|location|raum|local|pi[eè]ce|sala|locale|ruimte|rum|rom")
_WALL = re.compile(r"walls?( (no|nr|number|id|mark|name|type|kind)\.?)?|mark|tag|item|kind|type")
_AREA = re.compile(
    r"\b(areas?|sf|sq|square|m2|m²|ft2|ft²|sqft|sqm|surface|coated|fläche|net|gross)\b|[²]|\bs\.? ?f\.|\bs\.? ?m\."
)
_SIDE = re.compile(r"\b(faces?|sides?|elev(ation)?|orientation|walls?|seite|dir(ection)?)\b")
_LENGTH = re.compile(r"\b(length|len|lf|run)\b")
_HEIGHT = re.compile(r"\b(height|ht|hgt)\b")
_COUNT = re.compile(r"qty\.?|quantity|count|pcs|pieces|how many|number off?|times|multiplier|anzahl|stk\.?|x")
_UNIT = re.compile(r"units?|uom|unit of measure")
NO_FIGURE = re.compile(r"[^0-9]*|.*[~*?].*|#.*|0+([.,]0+)?( ?[a-z².]+)?", re.IGNORECASE | re.DOTALL)
"""Cells that state no area: words, marks of doubt, error values, nought."""


_FIGURE = re.compile(r"[0-9.,' ]+\D{0,4}")


class NoTable(InputError):
    """The rows have no headings of rooms and areas; another table of the file may."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """Numbers of the columns from 0, ``None`` where there is none; ``first`` is the first row under the headings.

    ``side`` tells the rows of one room apart (its walls), ``length`` and ``height`` are those of a wall, ``count`` says
    how many there are alike.
    """

    first: int
    titles: tuple[str, ...]
    number: int | None
    name: int | None
    area: int
    unit: int | None
    side: int | None
    length: int | None
    height: int | None
    count: int | None
    is_by_wall: bool = False


@dataclass(frozen=True, slots=True)
class Asked:
    """What is said of a table of areas beside it.

    ``unit`` is that of areas that name none, in heading or cell; without it such a table is refused. ``column`` is the
    heading of the column to read; where none is named and several hold areas, the word ``prefer`` tells it.
    """

    unit: AreaUnit | None = None
    column: str = ""
    prefer: str = "wall"


NOTHING_SAID = Asked()


def find_columns(grid: Grid, name: str, asked: Asked, depth: int | None = None) -> tuple[Grid, Columns]:
    """Find the headings of a table, the first ``depth`` rows where that is known, and what each column holds.

    The table comes with parts that stand side by side put below one another. Raises `NoTable` when no rows near the top
    are headings of rooms or walls and areas, `InputError` when several columns hold areas and none is named, or the
    named one is missing.
    """
    for deep in range(1, DEEPEST + 1) if depth is None else (depth,):
        for first in range(min(HEAD_ROWS, len(grid.rows)) if depth is None else 1):
            whole = stacked(grid, first, deep)
            found = _at(whole, first, deep, name, asked)
            if found is not None:
                return whole, found
    raise NoTable(
        f"{name} has no headings of rooms and areas in its first {HEAD_ROWS} rows with areas as numbers below them",
        remedy='Name the columns such as "Room no.", "Room name" and "Wall area (SF)", and write areas such as 1391.5.',
    )


def _titles(grid: Grid, first: int, deep: int) -> tuple[str, ...]:
    """Headings of the columns, what stands above others written before each of them."""
    rows = [list(row) for row in grid.rows[first : first + deep]]
    for above, below in pairwise(rows):
        for c in range(1, len(above)):
            # in a CSV file a merged heading stands over its first column alone
            if not above[c] and c < len(below) and below[c] and _AREA.search(above[c - 1].lower()):
                above[c] = above[c - 1]
    width = max((len(row) for row in rows), default=0)
    return tuple(" ".join(dict.fromkeys(row[c] for row in rows if c < len(row) and row[c])) for c in range(width))


def _at(grid: Grid, first: int, deep: int, name: str, asked: Asked) -> Columns | None:
    titles = _titles(grid, first, deep)
    plain = [" ".join(title.lower().replace("_", " ").split()) for title in titles]
    block = grid.rows[first : first + deep]
    if not any(block[-1]) or any(len(set(filter(None, row))) < 2 for row in block[:-1]):
        return None  # a title stands alone in its row
    if any(_FIGURE.fullmatch(cell) for cell in block[-1]):
        return None
    below = grid.rows[first + deep :]
    if len(below) > 1 and any(below[0]) and not any(c.isdigit() for cell in below[0] for c in cell):
        return None  # the headings go on below

    def only(pattern: re.Pattern[str], *taken: int | None, anywhere: bool = False) -> int | None:
        match: Callable[[str], object] = pattern.search if anywhere else pattern.fullmatch
        return next((c for c, title in enumerate(plain) if c not in taken and title and match(title)), None)

    number = only(_NUMBER)
    named = only(_NAME, number)
    room = only(_ROOM, number, named)
    if number is None and room is not None and named is not None:
        number = room
    elif named is None and room is not None:
        named = room
    unit = only(_UNIT, number, named)
    length = only(_LENGTH, number, named, anywhere=True)
    height = only(_HEIGHT, number, named, length, anywhere=True)
    count = only(_COUNT, number, named, unit)
    taken = {number, named, unit, length, height, count}
    wanted = asked.column.strip().casefold()
    areas = [
        c
        for c, title in enumerate(plain)
        if c not in taken and (_AREA.search(title) or titles[c].casefold() == wanted != "") and _holds_areas(below, c)
    ]
    if not areas:
        return None
    is_by_wall = False
    if number is None and named is None:
        named = next((c for c, t in enumerate(plain) if c not in (*taken, *areas) and _WALL.fullmatch(t)), None)
        is_by_wall = True
        if named is None and length is None:
            return None
    area = _area_column(titles, areas, name, asked)
    used = {*taken, number, named, *areas}
    side = next((c for c, title in enumerate(plain) if c not in used and _SIDE.search(title)), None)
    above = grid.rows[first - 1] if first and deep < DEEPEST else ()
    if len(set(filter(None, above))) > 1:
        titles = _titles(grid, first - 1, deep + 1)  # a unit may stand over several columns
    return Columns(
        first=first + deep, titles=titles, number=number, name=named, area=area, unit=unit, side=side,
        length=length, height=height, count=count, is_by_wall=is_by_wall,
    )  # fmt: skip


def _holds_areas(rows: Sequence[Sequence[str]], column: int) -> bool:
    """Tell whether what stands under a heading are areas; an empty column may be one."""
    cells = [row[column] for row in rows if column < len(row) and row[column]][:TRIED]
    if not cells:
        return True
    good = 0
    for cell in cells:
        try:
            split_amount(cell)
            good += 1
        except InputError:
            good += bool(NO_FIGURE.fullmatch(cell)) and good > 0
    return good > 0


def _area_column(titles: Sequence[str], areas: Sequence[int], name: str, asked: Asked) -> int:
    known = ", ".join(f'"{titles[c]}"' for c in areas)
    if asked.column:
        wanted = asked.column.strip().casefold()
        found = [c for c in areas if titles[c].casefold() == wanted] or [
            c for c in areas if wanted in titles[c].casefold()
        ]
        if len(found) != 1:
            raise InputError(f'{name} has no column of areas "{asked.column}"', remedy=f"It has {known}.")
        return found[0]
    if len(areas) == 1:
        return areas[0]
    liked = [c for c in areas if asked.prefer in titles[c].lower()] or [
        c for c in areas if not re.search("floor|ceiling|roof", titles[c].lower())
    ]
    if len(liked) > 1:
        liked = [c for c in liked if "net" in titles[c].lower()] or liked
    if len(liked) != 1:
        raise InputError(f"{name} has several columns of areas: {known}", remedy="Name one: --column HEADING.")
    return liked[0]
