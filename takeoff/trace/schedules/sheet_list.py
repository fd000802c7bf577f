"""The list of sheets on a cover: the numbers that stand under one another in a column, each with its title."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from takeoff.model.plan import Sheet
from takeoff.sheet.text import TextLine
from takeoff.sheet.uses import is_of_another_trade
from takeoff.trace.schedules.text_tables import Cell, beside, cells_of

LEAST = 3
"""Numbers in a column that are a list, and known ones among them (judgement)."""
LEVEL_PT = 3.0
"""Points by which numbers of one column may begin apart (judgement)."""
_ENTRY = re.compile(r"(?P<number>[A-Z]{1,3}[-. ]?\d{1,4}(?:[.-]\d{1,3})?[A-Z]?)(?:\s+(?P<title>\S.*))?")


def read_sheet_list(lines: Sequence[TextLine], sheet: Sheet) -> tuple[tuple[str, str], ...]:
    """Return number and title of each sheet that a list on this one names; nothing where it shows none."""
    cells = cells_of(lines, sheet)
    columns: list[list[tuple[Cell, re.Match[str]]]] = []
    for cell in sorted(cells, key=lambda cell: cell.box[0]):
        if (entry := _ENTRY.fullmatch(cell.text)) is None:
            continue
        if not columns or cell.box[0] - columns[-1][0][0].box[0] > LEVEL_PT + cell.size:
            columns.append([])
        columns[-1].append((cell, entry))
    found = {entry["number"]: entry["title"] or getattr(beside(cell, cells), "text", "") for own in columns
             if len(own) >= LEAST for cell, entry in sorted(own, key=lambda one: one[0].y)}  # fmt: skip
    return tuple(found.items())


def missing_sheets(listed: Sequence[tuple[str, str]], numbers: Iterable[str]) -> list[str]:
    """Return the sheets of a list that a set with these numbers lacks; those of other trades are left out.

    Examples
    --------
    >>> listed = (("A-101", "PLAN"), ("A-102", "ROOF"), ("A-601", "FINISHES"), ("A-602", "DOORS"), ("E-101", "POWER"))
    >>> missing_sheets(listed, ["A101", "A102", "A601"])
    ['A-602 DOORS']
    """
    known = {_plain(number) for number in numbers}
    if sum(_plain(number) in known for number, _ in listed) < LEAST:
        return []
    left = [(n, title) for n, title in listed if _plain(n) not in known and not is_of_another_trade(n)]
    return [f"{number} {title}".strip() for number, title in left]


def _plain(number: str) -> str:
    return re.sub(r"[-. ]", "", number).casefold()
