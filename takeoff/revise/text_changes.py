"""What two registered sheets write otherwise, and the revision marks that are new, as items that one steps through."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from takeoff.errors import LengthError
from takeoff.revise.changes import OTHER_SCALE, SheetChange, meets
from takeoff.revise.governing import LEAST_HEIGHT, LENGTH
from takeoff.revise.registration import Box, Registration
from takeoff.revise.sheet_texts import RevisionMark
from takeoff.sheet.frame import box_round
from takeoff.sheet.scope_words import without_note
from takeoff.sheet.text import TextLine
from takeoff.units import parse_length

SENTENCE = 5
"""Words of a note beside the plan at the least (judgement, no source)."""
FAR_TEXT = 3.0
"""Metres by which a text on the plan may have moved with what it names."""
SAME_PLACE = 0.3
"""Metres by which a text may be moved and still be the same one."""


def mark_changes(
    old: Sequence[RevisionMark],
    new: Sequence[RevisionMark],
    registration: Registration,
    *,
    m_per_pt: float,
    focus_pt: Box,
) -> Iterator[SheetChange]:
    """Find revision marks that did not stand on the old sheet; parameters as for `text_changes`."""
    stood = [(mark.kind, mark.text, registration.carry_box(mark.box_pt)) for mark in old]
    for mark in new:
        box = mark.box_pt
        if not any((mark.kind, mark.text) == was[:2] and _apart(was[2], box) <= SAME_PLACE / m_per_pt for was in stood):
            yield replace(_text("", mark.text, box, m_per_pt, focus_pt), kind=mark.kind)


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
            both = box_round((box, place)) if meets(box, focus_pt) else place
            out.append(_text(text, now, both, m_per_pt, focus_pt))
    stayed = [row for row in left_before if row not in paired]
    for i in stayed:
        text, box = before[i]
        is_beside = not meets(box, focus_pt)
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
        if meets(box, focus_pt) or meets(to, focus_pt):
            moved = _text(text, text, box_round((box, to)), m_per_pt, focus_pt)
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
    beside = [j for j in left_after if not meets(after[j][1], focus_pt)]
    is_other_scale = abs(math.log(scale)) >= OTHER_SCALE
    for i in left_before:
        text, box = before[i]
        on_plan, height = meets(box, focus_pt), max(box[3] - box[1], 4.0)
        for j in left_after if on_plan else beside:
            now, place = after[j]
            unlike = 0 if text == now else 1 if words[0][i] == words[1][j] else 2
            by = 2.0 if is_other_scale and unlike < 2 else 0.6
            if meets(_grown(place, by * height), box) if on_plan else unlike == 1 and len(words[0][i].strip()) > 2:
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
    return SheetChange(kind="text", box_pt=box, size=size, before=before, after=after, on_plan=meets(box, focus_pt))


def _grown(box: Box, by: float) -> Box:
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def _apart(a: Box, b: Box) -> float:
    return math.hypot((a[0] + a[2] - b[0] - b[2]) / 2.0, (a[1] + a[3] - b[1] - b[3]) / 2.0)


def is_note(change: SheetChange, names: Collection[str] = ()) -> bool:
    """Tell whether a changed text beside the plan is a sentence, or `speaks` of walls, and no line of a title."""
    texts = [text for text in (change.before, change.after) if text]
    is_long = len(re.findall(r"[^\W\d]{2,}", texts[-1] if texts else "")) >= SENTENCE
    is_beside = change.kind == "text" and not change.on_plan and change.by is None
    return is_beside and (is_long or any(speaks(text, names) for text in texts))


def speaks(text: str, names: Collection[str]) -> bool:
    r"""Tell whether a text says what walls are like: how high, not in the contract, or of a room or a finish code.

    ``names`` are numbers of rooms and finish codes, in lower case.

    Examples
    --------
    >>> speaks("ALL CLG HTS 10'-0\"", ()), speaks("DELETE ROOM 104.", ("104",)), speaks("1/4\" = 1'-0\"", ())
    (True, True, False)
    """
    if not re.search(r"[^\W\d]{2,}", text) or "=" in text:
        return False
    heights = (found[0] for found in LENGTH.finditer(text) if not found[0].isdigit())
    parts = {part.strip(".,;:()“”\"'").casefold() for part in text.split()}
    is_named = bool(parts & set(names)) and re.search(r"[^\W\d]{3,}", text) is not None
    return is_named or without_note(text) != text or any(_metres(found) >= LEAST_HEIGHT for found in heights)


def _metres(text: str) -> float:
    try:
        return parse_length(text)
    except LengthError:
        return 0.0
