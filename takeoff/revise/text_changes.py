"""What two registered sheets write otherwise, the revision marks that are new, and dimensions that fit no more."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from takeoff.errors import LengthError
from takeoff.model.plan import Calibration, Point
from takeoff.revise.carry import CarriedRun
from takeoff.revise.changes import OTHER_SCALE, SheetChange
from takeoff.revise.governing import LEAST_HEIGHT, LENGTH
from takeoff.revise.linework_along import PARALLEL, Length, Stretch
from takeoff.revise.registration import Box, Registration
from takeoff.revise.sheet_texts import RevisionMark
from takeoff.sheet.frame import box_round, meets
from takeoff.sheet.scope_words import without_note
from takeoff.sheet.text import TextLine
from takeoff.trace.scales.lengths import PLACE_PT, DrawnLength
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
    old: Sequence[TextLine], new: Sequence[TextLine], registration: Registration, *, m_per_pt: float, focus_pt: Box
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


MISSED = 0.02
"""Metres by which a dimension is off at the least that is told (judgement, no source)."""
SAME_LINE = 0.15
"""Metres within which a dimension of both revisions lies on one line."""
WALL = 0.3
"""Metres between an end of a dimension and the face that it stands for: a wall's thickness (judgement, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """A dimension as written, as it is drawn in metres, and the ends in metres that may be wrong.

    ``span`` is from where to where it runs, in metres of the new sheet.
    """

    text: str
    drawn: float
    ends: tuple[Point, ...]
    span: tuple[Point, Point]

    def words(self, length: Length) -> str:
        """Say what does not fit; ``length`` writes a length in metres."""
        return f'the dimension "{self.text}" is drawn {length(self.drawn)} long: find out which of them is right'

    def stands_at(self, one: CarriedRun, scale: Calibration) -> bool:
        """Tell whether a wall ends the dimension: a side square to it at one of its ends, the whole of it within."""
        run = one.after or one.before
        (x0, y0), (x1, y1) = self.span
        along = ((x1 - x0) / self.drawn, (y1 - y0) / self.drawn)
        points = np.array([scale.to_metres(p) for p in run.path_pt.flattened(1.0)])
        at = (points - self.span[0]) @ along
        if at.min() < -WALL or at.max() > self.drawn + WALL:
            return False
        stations = [float(np.dot(np.subtract(end, self.span[0]), along)) for end in self.ends]
        return any(
            abs(b - a) <= PARALLEL * math.dist(p, q) and any(abs(a - end) <= WALL for end in stations)
            for (a, b), (p, q) in zip(pairwise(at), pairwise(points), strict=True)
        )


def contradictions(
    old: Sequence[DrawnLength],
    new: Sequence[DrawnLength],
    registration: Registration,
    old_scale: Calibration,
    new_scale: Calibration,
) -> Iterator[Contradiction]:
    """Find the dimensions that fitted what the old revision draws and do not fit what the new one draws.

    ``old`` and ``new``: the dimensions that each revision shows, in its own sheet points.
    """
    known = [
        (new_scale.to_metres(registration.carry(d.start_pt)), new_scale.to_metres(registration.carry(d.end_pt)))
        for d in old
        if not _is_off(d, old_scale)
    ]
    for one in new:
        if not _is_off(one, new_scale):
            continue
        span = (new_scale.to_metres(one.start_pt), new_scale.to_metres(one.end_pt))
        was = next((ends for ends in known if _is_on(ends, span)), None)
        if was is None:
            continue
        moved = tuple(p for p in span if min(math.dist(p, q) for q in was) > MISSED)
        yield Contradiction(text=one.text.strip(), drawn=math.dist(*span), ends=moved or span, span=span)


def _is_off(one: DrawnLength, scale: Calibration) -> bool:
    drawn = math.dist(scale.to_metres(one.start_pt), scale.to_metres(one.end_pt))
    size = math.sqrt(scale.mx * scale.my)
    slack = max(MISSED, one.step, 3.0 * math.sqrt(2.0) * PLACE_PT * size, 3.0 * scale.u_scale * drawn)
    return abs(drawn - one.length) > slack


def _is_on(was: tuple[Point, Point], now: tuple[Point, Point]) -> bool:
    """Tell whether two dimensions lie on one line and share half of it."""
    long = math.dist(*now)
    low, off, high, other_off = Stretch(a=now[0], b=now[1], hand=1).local(np.array([(*was[0], *was[1])]))[0].tolist()
    low, high = sorted((low, high))
    is_level = max(abs(off), abs(other_off)) <= SAME_LINE
    return bool(is_level and min(high, long) - max(low, 0.0) >= 0.5 * max(long, high - low))
