"""What changed between two registered issues of a sheet: linework and text, as items that one steps through."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from takeoff.revise.linework_along import Length, common_shift, groups, in_metres, unmatched
from takeoff.revise.registration import Box, Floats, Registration
from takeoff.sheet.frame import meets
from takeoff.trace.drawing.linework import Linework

ChangeKind = Literal["added", "removed", "moved", "redrawn", "text", "cloud", "tag", "marked"]

SMALLEST = 0.1
"""Metres: what is smaller is noise (the control of the noise filter)."""
LEAST_TOLERANCE_PT = 0.4
"""Points within which drawn lines are one: two thirds of a fine pen (common practice, no source)."""
NEAR = 0.25
"""Metres between lines of one change."""
OTHER_SCALE = 0.1
"""Part by which two scales differ from which symbols and texts, as large on paper as before, lie elsewhere."""
SYMBOL_PT = 60.0
"""Points of a symbol, such as a room's number in its box (judgement, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetChange:
    """One change, with its box on the new sheet (left, top, right, bottom in sheet points).

    "moved" has ``by`` in metres on the building, x right and y down; "redrawn" is removed and added in one place,
    "marked" added in colour by hand where the old sheet has none.
    ``before`` and ``after`` are a changed text, ``after`` a tag's; ``on_plan`` is False for what lies outside the
    traced part, such as a title block. ``size`` is the longer side of the box in metres.
    """

    kind: ChangeKind
    box_pt: Box
    size: float
    added: int = 0
    removed: int = 0
    by: tuple[float, float] | None = None
    before: str = ""
    after: str = ""
    on_plan: bool = True

    def words(self, length: Length = in_metres) -> str:
        """Say what changed in a few words; ``length`` writes a length in metres."""
        if self.kind == "text":
            if self.by is not None:
                return f'text "{self.after}" moved by {length(math.hypot(*self.by))}'
            if self.before and self.after:
                return f'text "{self.before}" is now "{self.after}"'
            return f'text "{self.after}" is new' if self.after else f'text "{self.before}" is gone'
        if self.kind == "moved" and self.by is not None:
            return f"linework moved by {length(math.hypot(*self.by))}"
        return {
            "added": "new linework",
            "removed": "linework gone",
            "redrawn": "linework redrawn",
            "marked": "marks in colour are new",
            "cloud": "a revision cloud",
            "tag": f"a revision tag {self.after}".strip(),
        }.get(self.kind, self.kind)


@dataclass(frozen=True, slots=True, kw_only=True)
class Differences:
    """All differences of two sheets in the new sheet's points: lines that are gone and new, and the changes they make.

    ``tolerance_pt`` is the distance within which lines count as one. ``specks``, shape (n, 2), are pixels of ink that
    one of two pictures alone has in spots too small to count, ``shades`` how dark both are, 0 to 1, the old laid over
    the new, with pixels of ``pixel_pt``.
    """

    removed: Floats
    added: Floats
    changes: tuple[SheetChange, ...]
    tolerance_pt: float
    specks: Floats = field(default_factory=lambda: np.zeros((0, 2)))
    shades: tuple[NDArray[np.float32], NDArray[np.float32]] | None = None
    pixel_pt: float = 0.0


def line_tolerance(registration: Registration, m_per_pt: float, least: float = LEAST_TOLERANCE_PT) -> float:
    """Distance in points of the new sheet within which lines are one: four times what the registration may be off."""
    return max(least, 4.0 * registration.u / m_per_pt)


def find_changes(
    old: Linework,
    new: Linework,
    registration: Registration,
    *,
    m_per_pt: float,
    focus_pt: Box,
    smallest: float = SMALLEST,
) -> Differences:
    """Find what of the linework of two registered vector sheets changed.

    Parameters
    ----------
    old, new
        Linework of both issues, each in its own sheet points, without their revision marks.
    focus_pt
        Box on the new sheet that holds the plan; changes outside are marked as such.
    """
    tolerance = line_tolerance(registration, m_per_pt)
    before = registration.carry_segments(old.pieces.segments)
    after = new.pieces.segments
    removed, added = before[unmatched(before, after, tolerance)], after[unmatched(after, before, tolerance)]
    changes = _line_changes(removed, added, registration.scale, m_per_pt, tolerance, focus_pt, smallest)
    return Differences(removed=removed, added=added, changes=tuple(changes), tolerance_pt=tolerance)


def _line_changes(
    removed: Floats, added: Floats, scale: float, m_per_pt: float, tolerance: float, focus_pt: Box, smallest: float
) -> Iterator[SheetChange]:
    """Changes of lines that lie together, from a size in metres; ``scale`` is that of the registration."""
    lines = np.concatenate([removed, added])
    is_added = np.arange(len(lines)) >= len(removed)
    group = groups(lines, max(NEAR / m_per_pt, 2.0 * tolerance))
    order = np.argsort(group, kind="stable")
    for rows in np.split(order, np.flatnonzero(np.diff(group[order])) + 1):
        if not len(rows):
            continue
        box = _box(lines[rows])
        size = max(box[2] - box[0], box[3] - box[1]) * m_per_pt
        came, gone = lines[rows[is_added[rows]]], lines[rows[~is_added[rows]]]
        if size < smallest or _is_symbol(gone, came, scale):
            continue
        kind, by = _kind(gone, came, m_per_pt, tolerance)
        yield SheetChange(
            kind=kind,
            box_pt=box,
            size=size,
            added=len(came),
            removed=len(gone),
            by=by,
            on_plan=any(meets(_box(lines[row : row + 1]), focus_pt) for row in rows),
        )


def _is_symbol(removed: Floats, added: Floats, scale: float) -> bool:
    """Tell whether lines are a symbol, as of a room's number, that is as large on paper at another scale."""
    if abs(math.log(scale)) < OTHER_SCALE or not len(removed) or not len(added):
        return False
    (a0, b0, a1, b1), (c0, d0, c1, d1) = _box(removed), _box(added)
    before, now = max(a1 - a0, b1 - b0), max(c1 - c0, d1 - d0)
    return now <= SYMBOL_PT and abs(math.log(before / scale / now)) < OTHER_SCALE


def _box(lines: Floats) -> Box:
    x, y = lines[:, [0, 2]], lines[:, [1, 3]]
    return (float(x.min()), float(y.min()), float(x.max()), float(y.max()))


def _kind(
    removed: Floats, added: Floats, m_per_pt: float, tolerance: float
) -> tuple[ChangeKind, tuple[float, float] | None]:
    if not len(added):
        return "removed", None
    if not len(removed):
        return "added", None
    shift = common_shift(removed, added, tolerance) if 0.6 <= len(removed) / len(added) <= 1.7 else None
    return ("redrawn", None) if shift is None else ("moved", (shift[0] * m_per_pt, shift[1] * m_per_pt))
