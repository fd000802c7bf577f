"""What changed between two registered issues of a sheet: linework and text, as items that one steps through."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from takeoff.geometry.pairs import nearest_within, pairs_within
from takeoff.model.plan import Point
from takeoff.revise.linediff import groups, unmatched
from takeoff.revise.linework_along import Length, in_metres
from takeoff.revise.registration import Box, Floats, Registration
from takeoff.revise.revision_marks import RevisionMark
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Linework

ChangeKind = Literal["added", "removed", "moved", "redrawn", "text", "cloud", "tag", "marked"]

SMALLEST = 0.1
"""Metres: what is smaller is noise (the control of the noise filter)."""
LEAST_TOLERANCE_PT = 0.4
"""Points within which drawn lines are one: two thirds of a fine pen (common practice, no source)."""
NEAR = 0.25
"""Metres between lines of one change."""
FAR_TEXT = 3.0
"""Metres by which a text on the plan may have moved with what it names."""
SAME_PLACE = 0.3
"""Metres by which a text may be moved and still be the same one."""
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


def line_tolerance(registration: Registration, m_per_pt: float) -> float:
    """Distance in points of the new sheet within which lines are one: four times what the registration may be off."""
    return max(LEAST_TOLERANCE_PT, 4.0 * registration.u / m_per_pt)


def find_changes(
    old: Linework,
    new: Linework,
    registration: Registration,
    *,
    m_per_pt: float,
    focus_pt: Box,
    old_text: Sequence[TextLine] = (),
    new_text: Sequence[TextLine] = (),
    old_marks: Sequence[RevisionMark] = (),
    new_marks: Sequence[RevisionMark] = (),
    smallest: float = SMALLEST,
) -> Differences:
    """Find what changed between two registered vector sheets.

    Parameters
    ----------
    old, new
        Linework of both issues, each in its own sheet points, without their revision marks.
    registration
        How the old lies on the new.
    m_per_pt
        Metres on the building for each point of the new sheet.
    focus_pt
        Box on the new sheet that holds the plan; changes outside are marked as such.
    old_text, new_text
        Lines of text of both issues.
    old_marks, new_marks
        Clouds and tags of both; one that stood there before is no change.
    smallest
        Size in metres below which a change of linework is left out.
    """
    tolerance = line_tolerance(registration, m_per_pt)
    before = registration.carry_segments(old.pieces().segments)
    after = new.pieces().segments
    removed, added = before[unmatched(before, after, tolerance)], after[unmatched(after, before, tolerance)]
    changes = [
        *_line_changes(removed, added, registration.scale, m_per_pt, tolerance, focus_pt, smallest),
        *_new_marks(old_marks, new_marks, registration, m_per_pt, focus_pt),
        *text_changes(old_text, new_text, registration, m_per_pt=m_per_pt, focus_pt=focus_pt),
    ]
    changes.sort(key=lambda c: (not c.on_plan, round(c.box_pt[1] / 20), c.box_pt[0]))
    return Differences(removed=removed, added=added, changes=tuple(changes), tolerance_pt=tolerance)


def _new_marks(
    old: Sequence[RevisionMark], new: Sequence[RevisionMark], registration: Registration, m_per_pt: float, focus_pt: Box
) -> Iterator[SheetChange]:
    stood = [(mark.kind, mark.text, registration.carry_box(mark.box_pt)) for mark in old]
    for mark in new:
        box = mark.box_pt
        if not any((mark.kind, mark.text) == was[:2] and _apart(was[2], box) <= SAME_PLACE / m_per_pt for was in stood):
            size = max(box[2] - box[0], box[3] - box[1]) * m_per_pt
            yield SheetChange(
                kind=mark.kind, box_pt=box, size=size, after=mark.text, on_plan=_meets(box, focus_pt)
            )  # fmt: skip


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
            on_plan=any(_meets(_box(lines[row : row + 1]), focus_pt) for row in rows),
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


def _meets(a: Box, b: Box) -> bool:
    return a[0] <= b[2] and a[2] >= b[0] and a[1] <= b[3] and a[3] >= b[1]


def _kind(
    removed: Floats, added: Floats, m_per_pt: float, tolerance: float
) -> tuple[ChangeKind, tuple[float, float] | None]:
    if not len(added):
        return "removed", None
    if not len(removed):
        return "added", None
    shift = _shift(removed, added, tolerance)
    if shift is not None:
        return "moved", (shift[0] * m_per_pt, shift[1] * m_per_pt)
    return "redrawn", None


def _shift(removed: Floats, added: Floats, tolerance: float) -> Point | None:
    """The shift that lays the removed lines on the added ones, where there is one for nearly all of them."""

    def described(lines: Floats) -> Floats:
        ordered = np.where(
            (lines[:, 0] + 1e-6 * lines[:, 1] > lines[:, 2] + 1e-6 * lines[:, 3])[:, None],
            lines[:, [2, 3, 0, 1]],
            lines,
        )
        return np.column_stack([ordered[:, :2], ordered[:, 2:] - ordered[:, :2]])

    a, b = described(removed), described(added)
    if not 0.6 <= len(a) / len(b) <= 1.7:
        return None
    rows, others, _ = pairs_within(a[:200, 2:], b[:, 2:], 2 * tolerance)
    nth = np.arange(len(rows)) - np.searchsorted(rows, rows)
    rows, others = rows[nth < 50], others[nth < 50]
    if not len(rows):
        return None
    spots = b[others, :2] - a[rows, :2]
    best = spots[int(np.argmax(np.bincount(pairs_within(spots, spots, 2 * tolerance)[0])))]
    shift = spots[np.hypot(*(spots - best).T) <= 2 * tolerance].mean(0)
    moved = removed + np.tile(shift, 2)
    found = nearest_within(described(moved), b, 3 * tolerance)[1] >= 0
    if found.mean() < 0.8 or math.hypot(*shift) <= tolerance:
        return None
    return (float(shift[0]), float(shift[1]))


def text_changes(
    old: Sequence[TextLine],
    new: Sequence[TextLine],
    registration: Registration,
    *,
    m_per_pt: float,
    focus_pt: Box,
) -> tuple[SheetChange, ...]:
    """Find texts that were changed, moved, added or taken away.

    A text that only moved a little is the same, and one beside the plan that moved with its title block is left out.
    """
    # at another scale of the plan texts stand as far on paper from what they name
    reach = SAME_PLACE / m_per_pt * max(registration.scale, 1.0 / registration.scale)
    before = [(line.text, registration.carry_box(line.box_pt)) for line in old]
    after = [(line.text, line.box_pt) for line in new]
    left_before, left_after = _unpaired(before, after, reach)
    out = []
    free = set(left_after)
    paired, used = set(), set()
    for unlike, _, i, j in sorted(_candidates(before, after, left_before, left_after, registration.scale, focus_pt)):
        if i in paired or j in used:
            continue
        used.add(j)
        if unlike:
            paired.add(i)
            free.discard(j)
            (text, box), (now, place) = before[i], after[j]
            both = _both(box, place) if _meets(box, focus_pt) else place
            out.append(_text(text, now, both, m_per_pt, focus_pt))
    stayed = [row for row in left_before if row not in paired]
    for i in stayed:
        text, box = before[i]
        is_beside = not _meets(box, focus_pt)
        same = [
            j for j in free
            if after[j][0] == text and (is_beside or _apart(after[j][1], box) <= FAR_TEXT / m_per_pt)
        ]  # fmt: skip
        nearest = min(same, key=lambda k: _apart(after[k][1], box), default=None)
        if nearest is None:
            out.append(_text(text, "", box, m_per_pt, focus_pt))
            continue
        free.discard(nearest)
        to = after[nearest][1]
        if _meets(box, focus_pt) or _meets(to, focus_pt):
            moved = _text(text, text, _both(box, to), m_per_pt, focus_pt)
            out.append(replace(moved, by=((to[0] - box[0]) * m_per_pt, (to[1] - box[1]) * m_per_pt)))
    out.extend(_text("", after[j][0], after[j][1], m_per_pt, focus_pt) for j in sorted(free))
    return tuple(out)


def _candidates(
    before: Sequence[tuple[str, Box]],
    after: Sequence[tuple[str, Box]],
    left_before: Sequence[int],
    left_after: Sequence[int],
    scale: float,
    focus_pt: Box,
) -> Iterator[tuple[int, float, int, int]]:
    """Texts that may have been changed to others: how unlike and how far apart they are, and their rows.

    On the plan these are near by, beside it of the same words. Unlike is 0 for the same text, 1 for one of the same
    words with other figures, which is the one that was changed, 2 for another.
    """
    words = [[re.sub(r"[\W\d]+", " ", text.casefold()) for text, _ in texts] for texts in (before, after)]
    beside = [j for j in left_after if not _meets(after[j][1], focus_pt)]
    is_other_scale = abs(math.log(scale)) >= OTHER_SCALE
    for i in left_before:
        text, box = before[i]
        on_plan, height = _meets(box, focus_pt), max(box[3] - box[1], 4.0)
        for j in left_after if on_plan else beside:
            now, place = after[j]
            unlike = 0 if text == now else 1 if words[0][i] == words[1][j] else 2
            by = 2.0 if is_other_scale and unlike < 2 else 0.6
            if _meets(_grown(place, by * height), box) if on_plan else unlike == 1 and len(words[0][i].strip()) > 2:
                yield unlike, _apart(box, place), i, j


def _unpaired(
    before: Sequence[tuple[str, Box]], after: Sequence[tuple[str, Box]], reach: float
) -> tuple[list[int], list[int]]:
    """Rows of texts that have no like on the other sheet near by, the nearest taken first."""
    places: dict[str, list[int]] = {}
    for j, (text, _) in enumerate(after):
        places.setdefault(text, []).append(j)
    pairs = sorted(
        (_apart(box, after[j][1]), i, j) for i, (text, box) in enumerate(before) for j in places.get(text, ())
    )
    done_before, done_after = set(), set()
    for apart, i, j in pairs:
        if apart > reach or i in done_before or j in done_after:
            continue
        done_before.add(i)
        done_after.add(j)
    return (
        [i for i in range(len(before)) if i not in done_before],
        [j for j in range(len(after)) if j not in done_after],
    )


def _text(before: str, after: str, box: Box, m_per_pt: float, focus_pt: Box) -> SheetChange:
    size = max(box[2] - box[0], box[3] - box[1]) * m_per_pt
    return SheetChange(kind="text", box_pt=box, size=size, before=before, after=after, on_plan=_meets(box, focus_pt))


def _grown(box: Box, by: float) -> Box:
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def _both(a: Box, b: Box) -> Box:
    return (min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3]))


def _apart(a: Box, b: Box) -> float:
    return math.hypot((a[0] + a[2] - b[0] - b[2]) / 2.0, (a[1] + a[3] - b[1] - b[3]) / 2.0)
