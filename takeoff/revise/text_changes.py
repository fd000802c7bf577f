"""What two registered sheets write otherwise, and the revision marks that are new, as items that one steps through."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
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
THERE, NEAR, FIGURES, OTHER, FAR = range(5)
"""How two texts are paired, the likeliest first: the same where it was, the same moved a little, one of the same words
with other figures, another one in its place, the same somewhere else."""


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
    out = []
    left, free = dict(enumerate(before)), dict(enumerate(after))
    same = sorted(_same(before, after, reach, FAR_TEXT / m_per_pt, focus_pt))
    for how, _, i, j in same:
        if how == THERE and i in left and j in free:
            del left[i], free[j]
    for how, _, i, j in sorted([*same, *_others(left, free, registration.scale, focus_pt)]):
        if i not in left or j not in free:
            continue
        (text, box), (now, place) = left.pop(i), free.pop(j)
        if how in (FIGURES, OTHER):
            both = box_round((box, place)) if meets(box, focus_pt) else place
            out.append(_text(text, now, both, m_per_pt, focus_pt))
        elif meets(box, focus_pt) or meets(place, focus_pt):
            moved = _text(text, text, box_round((box, place)), m_per_pt, focus_pt)
            out.append(replace(moved, by=((place[0] - box[0]) * m_per_pt, (place[1] - box[1]) * m_per_pt)))
    out.extend(_text(text, "", box, m_per_pt, focus_pt) for text, box in left.values())
    out.extend(_text("", text, box, m_per_pt, focus_pt) for text, box in free.values())
    return tuple(out)


def _same(
    before: Sequence[tuple[str, Box]], after: Sequence[tuple[str, Box]], reach: float, far: float, focus_pt: Box
) -> Iterator[tuple[int, float, int, int]]:
    """Texts that read the same: how they are paired, how far apart they are, and their rows."""
    places: dict[str, list[int]] = {}
    for j, (text, _) in enumerate(after):
        places.setdefault(text, []).append(j)
    for i, (text, box) in enumerate(before):
        for j in places.get(text, ()):
            apart, is_near = _apart(box, after[j][1]), meets(_grown(after[j][1], 0.6 * _height(box)), box)
            if apart <= far or not meets(box, focus_pt):
                yield THERE if apart <= reach else NEAR if is_near else FAR, apart, i, j


def _others(
    before: Mapping[int, tuple[str, Box]], after: Mapping[int, tuple[str, Box]], scale: float, focus_pt: Box
) -> Iterator[tuple[int, float, int, int]]:
    """Texts that may have been changed to others, likewise: on the plan those near by, beside it of the same words."""
    words, now_words = ({i: _words(text) for i, (text, _) in texts.items()} for texts in (before, after))
    is_other_scale = abs(math.log(scale)) >= OTHER_SCALE
    for i, (text, box) in before.items():
        on_plan = meets(box, focus_pt)
        for j, (now, place) in after.items():
            is_alike = words[i] == now_words[j]
            by = 2.0 if is_other_scale and is_alike else 0.6
            if on_plan:
                is_it = meets(_grown(place, by * _height(box)), box)
            else:
                is_it = is_alike and len(words[i].strip()) > 2 and not meets(place, focus_pt)
            if is_it and now != text:
                yield FIGURES if is_alike else OTHER, _apart(box, place), i, j


def _words(text: str) -> str:
    return re.sub(r"[\W\d]+", " ", text.casefold())


def _text(before: str, after: str, box: Box, m_per_pt: float, focus_pt: Box) -> SheetChange:
    size = max(box[2] - box[0], box[3] - box[1]) * m_per_pt
    return SheetChange(kind="text", box_pt=box, size=size, before=before, after=after, on_plan=meets(box, focus_pt))


def _height(box: Box) -> float:
    return max(box[3] - box[1], 4.0)


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
