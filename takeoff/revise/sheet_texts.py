"""What two issues of one sheet draw and write as lines, text and revision marks, and the schedules on them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, TypeVar

import numpy as np
import shapely

from takeoff.errors import InputError
from takeoff.model.plan import Sheet
from takeoff.revise.governing import ScheduleChange, ScheduleRows, Tables
from takeoff.revise.linework_along import Length
from takeoff.revise.registration import Box, Floats
from takeoff.sheet.text import TextLine, read_lines
from takeoff.trace.drawing.linework import Linework, read_linework
from takeoff.trace.schedules.finish_schedule import FinishSchedule, read_finish_table
from takeoff.trace.schedules.opening_schedule import OpeningSchedule, read_opening_table

LONGEST_PT = 60.0
"""Points of a tag's side, or of a chord of a cloud's bow."""
LEAST_TAG_PT = 8.0
"""Points of a tag's side at the least."""
GRAIN_PT = 0.05
"""Points within which ends of lines meet."""
BOWS = 6
"""Bows that a cloud has at the least (judgement, no source)."""
CUSP = np.radians(50.0)
"""Turn between two bows; chords of one bow turn less (judgement, no source)."""
ONE_HAND = 0.9
"""Part of a cloud's chords that turn to one hand, and of its cusps to the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionMark:
    """A revision cloud, or a tag with its number, and its box in sheet points."""

    kind: Literal["cloud", "tag"]
    box_pt: Box
    text: str = ""


def without_marks(
    linework: Linework, texts: Sequence[TextLine]
) -> tuple[Linework, list[TextLine], tuple[RevisionMark, ...]]:
    """Part a sheet's revision marks from what else is drawn and written on it.

    A cloud is a ring of bows, all of one hand; a tag is a triangle of equal sides about a number or letter.
    """
    pieces = linework.pieces
    ends = np.round(pieces.segments / GRAIN_PT) * GRAIN_PT
    long = np.hypot(ends[:, 2] - ends[:, 0], ends[:, 3] - ends[:, 1])
    is_short = (long > 0.0) & (long <= LONGEST_PT)
    merged = shapely.line_merge(shapely.multilinestrings(shapely.linestrings(ends[is_short].reshape(-1, 2, 2))))
    marks, corners, within = [], [], set()
    for ring in shapely.get_parts(merged):
        points = shapely.get_coordinates(ring)
        left, top, right, bottom = (float(v) for v in ring.bounds)
        if not ring.is_ring:
            continue
        if _is_cloud(points):
            marks.append(RevisionMark(kind="cloud", box_pt=(left, top, right, bottom)))
        elif (text := _number_in(points, texts)) is not None:
            marks.append(RevisionMark(kind="tag", box_pt=(left, top, right, bottom), text=text.text.strip()))
            within.add(id(text))
        else:
            continue
        corners.append(points)
    if not marks:
        return linework, list(texts), ()
    known = {tuple(key) for key in np.rint(np.concatenate(corners) / GRAIN_PT).astype(int).tolist()}
    keys = np.rint(ends / GRAIN_PT).astype(int).tolist()
    own = is_short & np.array([(a, b) in known and (c, d) in known for a, b, c, d in keys], bool)
    straight = ~own[: len(linework.lines)]
    bent = np.ones(len(linework.arcs), bool)
    bent[pieces.arc[own & (pieces.arc >= 0)]] = False
    rest = replace(
        linework, lines=linework.lines[straight], line_path=linework.line_path[straight],
        arcs=linework.arcs[bent], arc_path=linework.arc_path[bent],
    )  # fmt: skip
    return rest, [line for line in texts if id(line) not in within], tuple(marks)


def _is_cloud(ring: Floats) -> bool:
    steps = np.diff(ring, axis=0)
    after = np.roll(steps, -1, axis=0)
    turns = np.arctan2(steps[:, 0] * after[:, 1] - steps[:, 1] * after[:, 0], (steps * after).sum(1))
    cusps = turns[np.abs(turns) >= CUSP]
    bent = turns[(np.abs(turns) < CUSP) & (np.abs(turns) > 1e-3)]
    if len(cusps) < BOWS or len(bent) < len(cusps):
        return False
    hand = np.sign(np.median(cusps))
    return bool((cusps * hand > 0).mean() >= ONE_HAND and (bent * hand < 0).mean() >= ONE_HAND)


def _number_in(ring: Floats, texts: Sequence[TextLine]) -> TextLine | None:
    sides = np.hypot(*np.diff(ring, axis=0).T)
    if len(sides) != 3 or sides.max() > 1.3 * sides.min() or sides.min() < LEAST_TAG_PT:
        return None
    triangle = shapely.Polygon(ring)
    return next(
        (t for t in texts if len(t.text.strip()) <= 3 and triangle.contains(shapely.Point(t.middle_pt))), None
    )  # fmt: skip


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
    def opening_tables(self) -> Tables:
        """The opening schedules that both sheets show as text."""
        return (
            (self._read(0, read_opening_table), self._read(1, read_opening_table)) if self.are_vector else (None, None)
        )

    def _read(self, which: int, reader: Callable[[Linework, Sequence[TextLine], Sheet], Table]) -> Table:
        return reader(self.linework[which], self.texts[which], (self.old, self.new)[which])

    def schedules(self, length: Length) -> ScheduleRows:
        """Changed rows of the schedules on the sheet itself, and which of these was not read on both."""
        if not self.are_vector:
            return ScheduleRows()
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
        return ScheduleRows(
            tables=self.opening_tables, openings=changes[0], finishes=changes[1], unread=tuple(unread)
        )  # fmt: skip


def shows_schedule(texts: Sequence[TextLine]) -> bool:
    """Tell whether a title of a schedule stands among texts."""
    return any(title.search(line.text) for title in TITLES.values() for line in texts)


def _finishes(linework: Linework, lines: Sequence[TextLine], sheet: Sheet) -> FinishSchedule | None:
    try:
        return read_finish_table(linework, lines, sheet)
    except InputError:
        return None


def schedule_changes(schedule: str, before: Mapping[str, str], after: Mapping[str, str]) -> tuple[ScheduleChange, ...]:
    """Compare the rows of a schedule by their keys.

    Examples
    --------
    >>> [c.words for c in schedule_changes("doors", {"A": "0.9 m"}, {"A": "1 m", "B": "0.9 m"})]
    ['doors: A is now 1 m, was 0.9 m', 'doors: B is new: 0.9 m']
    """
    keys = dict.fromkeys((*before, *after))
    return tuple(
        ScheduleChange(schedule=schedule, key=k, before=before.get(k, ""), after=after.get(k, ""))
        for k in keys
        if before.get(k, "") != after.get(k, "")
    )


def opening_rows(schedule: OpeningSchedule | None, length: Length) -> dict[str, str]:
    """Rows of an opening schedule as text by mark."""
    rows = schedule.rows if schedule is not None else ()
    return {
        row.mark: " × ".join("?" if size is None else length(size) for size in (row.width, row.height)) for row in rows
    }


def finish_rows(schedule: FinishSchedule | None) -> dict[str, str]:
    """Rows of a finish schedule as text by room number."""
    rows = schedule.rows if schedule is not None else ()
    return {
        row.number: ", ".join(t for t in (row.name, *row.walls, row.base, row.height_text, row.remarks) if t)
        for row in rows
    }
