"""What two issues of one sheet draw and write as lines and text, and the schedules on them."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from takeoff.errors import InputError
from takeoff.model.plan import Sheet
from takeoff.revise.governing import ScheduleChange, finish_rows, opening_rows, schedule_changes
from takeoff.revise.linework_along import Length
from takeoff.revise.revision_marks import RevisionMark, without_marks
from takeoff.sheet.text import TextLine, read_lines
from takeoff.trace.drawing.linework import Linework, read_linework
from takeoff.trace.schedules.finish_schedule import FinishSchedule, read_finish_table
from takeoff.trace.schedules.opening_schedule import OpeningSchedule, read_opening_table

Table = TypeVar("Table")

TITLES = {
    "opening schedule": re.compile(
        r"^(?!SEE|PER\b|REFER).*\b(DOOR|WINDOW|OPENING|FRAME|GLAZING)S?\b.*\bSCHEDULE$", re.I
    ),
    "finish schedule": re.compile(r"^(?!SEE|PER\b|REFER).*\bFINISH(ES)?\b.*\bSCHEDULE$", re.I),
}
"""What stands over a schedule, and not in a note that points to one elsewhere."""


@dataclass(kw_only=True)
class SheetTexts:
    """Both issues of a sheet; linework and texts are read once, when they are first asked for."""

    old_data: bytes
    new_data: bytes
    old: Sheet
    new: Sheet

    @property
    def are_vector(self) -> bool:
        """True where both are vector sheets."""
        return self.old.kind == "vector" and self.new.kind == "vector"

    @cached_property
    def _parted(self) -> tuple[tuple[Linework, list[TextLine], tuple[RevisionMark, ...]], ...]:
        """Of both: linework and texts without their revision marks, and these."""
        sheets = ((self.old_data, self.old), (self.new_data, self.new))
        return tuple(without_marks(read_linework(data, sheet), read_lines(data, sheet)) for data, sheet in sheets)

    @property
    def linework(self) -> tuple[Linework, Linework]:
        """Linework of both, without revision clouds and tags."""
        return self._parted[0][0], self._parted[1][0]

    @property
    def marks(self) -> tuple[tuple[RevisionMark, ...], tuple[RevisionMark, ...]]:
        """Revision clouds and tags of both."""
        return self._parted[0][2], self._parted[1][2]

    @cached_property
    def texts(self) -> tuple[list[TextLine], list[TextLine]]:
        """Lines of text of both, without those of revision tags; a picture has none."""
        if self.are_vector:
            return self._parted[0][1], self._parted[1][1]
        return read_lines(self.old_data, self.old), read_lines(self.new_data, self.new)

    @cached_property
    def opening_tables(self) -> tuple[OpeningSchedule | None, OpeningSchedule | None]:
        """The opening schedules that both sheets show as text."""
        return (
            (self._read(0, read_opening_table), self._read(1, read_opening_table)) if self.are_vector else (None, None)
        )

    def _read(self, which: int, reader: Callable[[Linework, Sequence[TextLine], Sheet], Table]) -> Table:
        return reader(self.linework[which], self.texts[which], (self.old, self.new)[which])

    def schedules(
        self, length: Length
    ) -> tuple[tuple[ScheduleChange, ...], tuple[ScheduleChange, ...], tuple[str, ...]]:
        """Changed rows of the opening and the finish schedule on the sheet itself, and which was not read on both."""
        if not self.are_vector:
            return (), (), ()
        tables = (
            [opening_rows(table, length) for table in self.opening_tables],
            [finish_rows(self._read(which, _finishes)) for which in (0, 1)],
        )
        changes, unread = [], []
        for (name, title), (before, after) in zip(TITLES.items(), tables, strict=True):
            changes.append(schedule_changes(name, before, after) if before and after else ())
            where = "the old revision only" if before else "the new revision only" if after else "neither revision"
            is_shown = before or after or any(title.search(line.text) for lines in self.texts for line in lines)
            if is_shown and not (before and after):
                unread.append(f"the {name} could be read on {where}: look whether a row changed")
        return changes[0], changes[1], tuple(unread)


def shows_schedule(texts: Sequence[TextLine]) -> bool:
    """Tell whether a title of a schedule stands among texts."""
    return any(title.search(line.text) for title in TITLES.values() for line in texts)


def _finishes(linework: Linework, lines: Sequence[TextLine], sheet: Sheet) -> FinishSchedule | None:
    try:
        return read_finish_table(linework, lines, sheet)
    except InputError:
        return None
