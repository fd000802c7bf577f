"""Check openings against the jambs that a new issue draws, and find new ones."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Literal

import numpy as np

from takeoff.geometry.intervals import Interval, overlap, total
from takeoff.model.open_points import basis_of
from takeoff.model.walls import Opening, OpeningKind
from takeoff.revise.fittings import Fitting, fitting_between
from takeoff.revise.linework_along import Drawn, Length, Spans, Stretch, in_metres
from takeoff.revise.sides import Side

OpeningVerdict = Literal["unchanged", "moved", "width changed", "new", "gone", "look at it"]

FRAME = 0.08
"""Metres by which a drawn jamb may differ from the opening as measured: a frame's rebate (judgement, no source)."""
FAR = 3.0
"""Metres within which a moved opening is looked for."""
WIDTHS = (0.4, 6.5)
"""Metres that an opening may be wide: a hatch to a large roll-up door (judgement, no source)."""
BESIDE = 1.0
"""Metres from an opening that changed within which lines may be of that one (judgement, no source)."""
Like = Callable[[OpeningKind, float], Opening]
"""Gives an opening of a kind and a width in metres whose height and sill, which the plan does not show, are taken from
another or are usual; their bases say so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedOpening:
    """An opening on the new issue: as it was, as it is proposed (``None``: gone), and what was found.

    ``by`` is its move along the wall in metres, positive from the run's start to its end. ``jambs`` are the stations of
    its jambs on its side as the old and as the new revision draw them, m.
    """

    before: Opening | None
    after: Opening | None
    verdict: OpeningVerdict
    by: float = 0.0
    note: str = ""
    jambs: tuple[float, float, float, float] | None = None

    def words(self, length: Length = in_metres) -> str:
        """Say what was found in a few words; ``length`` writes a length in metres."""
        opening = self.after or self.before
        name = "opening" if opening is None else f"{opening.kind} {opening.mark}".strip()
        text = {
            "unchanged": f"{name} is unchanged",
            "moved": f"{name} moved by {length(abs(self.by))} along the wall",
            "width changed": f"{name} is now {length(opening.width if opening else 0.0)} wide",
            "new": f"{name} of {length(opening.width if opening else 0.0)} is new",
            "gone": f"{name} is gone",
            "look at it": f"{name} is to be looked at",
        }[self.verdict]
        return f"{text}: {self.note}" if self.note else text


@dataclass(kw_only=True)
class OnSide:
    """One straight side: ``start`` is by how much its start moved along it. Stations from where it began before.

    ``old`` and ``new`` are the jambs that both revisions draw, ``old_ends`` and ``new_ends`` where lines of its face
    begin or end; along ``solid`` the new one draws its face; ``used`` are spans of openings that were found, ``known``
    where openings were before. Stations within ``near`` are one.
    """

    side: Side
    face: Stretch
    start: float
    end: float
    depth: float
    near: float
    old: list[float]
    new: list[float]
    old_ends: list[float]
    new_ends: list[float]
    solid: Spans
    used: list[Interval] = field(default_factory=list)
    known: list[Interval] = field(default_factory=list)

    @property
    def is_moved(self) -> bool:
        """True where the new revision draws its face in another place."""
        return bool(self.side.by) or self.side.shift != (0.0, 0.0)

    def jambs_for(self, opening: Opening, local: float) -> tuple[list[float], list[float]]:
        """Jambs to find an opening by: where none are drawn, the ends of its face."""
        if None not in _nearest_jambs(self.old, opening, local):
            return self.old, self.new
        return sorted((*self.old, *self.old_ends)), sorted((*self.new, *self.new_ends))

    def fittings(self, drawn: tuple[Drawn, Drawn], spans: tuple[float, float, float, float]) -> tuple[Fitting, Fitting]:
        """What the old and the new one of two sets of lines draw between jambs."""
        e0, e1, n0, n1 = spans
        before = fitting_between(drawn[0], self.face, e0, e1, self.depth)
        return before, fitting_between(drawn[1], self.side.placed, n0, n1, self.depth)


def carry_opening(opening: Opening, local: float, here: OnSide, *, is_quiet: bool) -> CarriedOpening:
    """Check one opening on a straight side; where it is found is put among what is used there.

    ``local`` is the station of its centre, from where the side began on the old revision, as is the proposal's
    ``after.at``; it ``is_quiet`` where nothing was drawn or wiped out about it.
    """
    old_jambs, new_jambs = here.jambs_for(opening, local)
    e0, e1 = _nearest_jambs(old_jambs, opening, local)
    after, near = replace(opening, at=max(local, 0.0)), here.near

    def look(span: Interval, note: str) -> CarriedOpening:
        here.used.append(span)
        return CarriedOpening(before=opening, after=after, verdict="look at it", note=note)

    if e0 is None or e1 is None or e1 <= e0 or opening.count > 1:
        low, high = local - opening.width / 2.0, local + opening.width / 2.0
        is_alone = opening.count == 1 and not here.is_moved  # else all of the side's jambs tell
        both = ((old_jambs, new_jambs), (new_jambs, old_jambs))
        if is_quiet and (is_alone or all(_nearest(b, j, near) is not None for a, b in both for j in a)):
            here.used.append((low, high))
            return CarriedOpening(before=opening, after=after, verdict="unchanged")
        several = "one of several, and jambs moved"
        return look((low, high), several if opening.count > 1 else "its jambs are not drawn on the old revision")
    n0, n1 = _nearest(new_jambs, e0, near), _nearest(new_jambs, e1, near)
    if n0 is not None and n1 is not None:
        here.used.append((n0, n1))
        return CarriedOpening(before=opening, after=after, verdict="unchanged", jambs=(e0, e1, n0, n1))
    fresh = [j for j in new_jambs if _nearest(old_jambs, j, near) is None]
    moved = _moved_to((e0, e1), new_jambs, fresh, here.used, near)
    found = moved or _other_width((e0, e1), (n0, n1), fresh)
    if found is not None and moved is None:
        found = _same_lines((e0, e1), found, old_jambs, new_jambs, near)
        if found is None:
            return look((e0, e1), "its width changed, and which lines are its jambs cannot be told")
    if found is not None:
        here.used.append(found)
        return _carried_to(opening, local, (e0, e1), found, is_moved=moved is not None)
    if n0 is None and n1 is None and total(overlap(here.solid, [(e0, e1)])) >= 0.9 * (e1 - e0):
        return CarriedOpening(before=opening, after=None, verdict="gone")
    return look((e0, e1), "one of its jambs is not drawn any more")


def _carried_to(opening: Opening, local: float, old: Interval, new: Interval, *, is_moved: bool) -> CarriedOpening:
    by = (sum(new) - sum(old)) / 2.0
    after = replace(opening, at=max(local + by, 0.0))
    if not is_moved:
        after = replace(after, width=opening.width + (new[1] - new[0]) - (old[1] - old[0]), outline=None)
    verdict: OpeningVerdict = "moved" if is_moved else "width changed"
    return CarriedOpening(before=opening, after=after, verdict=verdict, by=by, jambs=(*old, *new))


def _nearest_jambs(jambs: Sequence[float], opening: Opening, local: float) -> tuple[float | None, float | None]:
    """The drawn jambs of an opening whose centre is at a station, as far as they are among these."""
    low, high = local - opening.width / 2.0, local + opening.width / 2.0
    return _nearest(jambs, low, FRAME), _nearest(jambs, high, FRAME)


def _moved_to(
    old: Interval, new_jambs: Sequence[float], fresh: Sequence[float], used: Sequence[Interval], near: float
) -> Interval | None:
    """The nearest pair of jambs as far apart as the old ones, one of them new and no other opening between them."""
    e0, e1 = old
    pairs = [
        (a, b)
        for a in new_jambs
        for b in new_jambs
        if abs((b - a) - (e1 - e0)) <= max(2.0 * near, 0.02)
        and (a in fresh or b in fresh)
        and abs(a - e0) <= FAR
        and not any(min(b, q) - max(a, p) > near for p, q in used)
    ]
    return min(pairs, key=lambda pair: abs(pair[0] - e0), default=None)


def _other_width(old: Interval, kept: tuple[float | None, float | None], fresh: Sequence[float]) -> Interval | None:
    """Jambs of an opening that became wider or narrower: one kept and one new, or both new about the same middle."""
    (e0, e1), (n0, n1), width = old, kept, old[1] - old[0]
    low, high = 0.3 * width, 3.0 * width
    found: list[Interval] = []
    if n0 is not None:
        found.extend((n0, b) for b in fresh if low <= b - n0 <= high)
    if n1 is not None:
        found.extend((a, n1) for a in fresh if low <= n1 - a <= high)
    if n0 is None and n1 is None:
        found.extend(
            (a, b) for a in fresh for b in fresh
            if low <= b - a <= high and min(b, e1) - max(a, e0) >= 0.5 * min(width, b - a)
        )  # fmt: skip
    return min(found, key=lambda pair: abs(pair[1] - pair[0] - width), default=None)


def _same_lines(
    old: Interval, found: Interval, old_jambs: Sequence[float], new_jambs: Sequence[float], near: float
) -> Interval | None:
    """Of lines that stand close together, as a frame's do, those that the old jambs were; ``None`` where none is."""

    def about(stations: Sequence[float], at: float) -> list[float]:
        return [s - at for s in stations if near < abs(s - at) <= FRAME]

    out = []
    for before, now in zip(old, found, strict=True):
        wanted = about(old_jambs, before)
        likeness = {
            j: -sum(_nearest(b, d, near) is None for a, b in ((wanted, has), (has, wanted)) for d in a)
            for j in (now, *(now + d for d in about(new_jambs, now)))
            for has in [about(new_jambs, j)]
        }
        best = [j for j in likeness if likeness[j] == max(likeness.values())]
        if len(best) > 1:
            return None
        out.append(best[0])
    return out[0], out[1]


def new_openings(
    here: OnSide,
    like: Like,
    *,
    kind_of: Callable[[float, float], OpeningKind | None],
    more: Sequence[Interval],
    is_picture: bool,
    length: Length,
) -> list[CarriedOpening]:
    """Find openings that only the new issue has: two new jambs, in a face that was whole.

    Parameters
    ----------
    kind_of
        Tells the kind of what is drawn between two stations, where it shows one.
    more
        Spans in which something else shows a new opening.
    is_picture
        True where one of the sheets is a picture: what shows no kind is then to be looked at.
    """
    near, before, now = here.near, here.side.before or [], here.solid
    known = [np.array(span) for span in here.known]
    changed = [(p, q) for p, q in here.used if not any(np.abs(span - (p, q)).max() <= FRAME for span in known)]

    def is_used(span: Interval) -> bool:
        return any(p - near <= span[1] and span[0] <= q + near for p, q in here.used)

    inside = [j for j in here.new if here.start + near < j < here.end - near]
    fresh = sorted(j for j in inside if _nearest(here.old, j, near) is None and not is_used((j, j)))
    out = []
    for inner in (*pairwise(fresh), *more):
        a, b = _with_frame(inner, fresh)
        if is_used((a, b)) or not WIDTHS[0] <= b - a <= WIDTHS[1] or total(overlap(before, [(a, b)])) < 0.9 * (b - a):
            continue
        shown, is_open = kind_of(*inner), total(overlap(now, [(a, b)])) < 0.5 * (b - a)
        kind: OpeningKind = shown or ("door" if is_open else "window")
        opening = replace(like(kind, b - a), at=(a + b) / 2.0)
        height = basis_of(opening, "height")
        note = f"height {length(opening.height)}: {height.text}" if height else ""
        one = CarriedOpening(before=None, after=opening, verdict="new", note=note)
        if any(p - BESIDE <= b and a <= q + BESIDE for p, q in changed):
            one = replace(one, verdict="look at it", note=f"it is new, beside one that changed; {note}")
        if shown is None and (is_picture or not is_open):  # lines across a wall may be of what stands at it
            note = f"it is new, {length(b - a)} wide, and its kind cannot be seen; {note}"
            one = replace(one, verdict="look at it", note=note)
        if (a, b) != inner and total(overlap(now, [(a, inner[0])])) + total(overlap(now, [(inner[1], b)])) > near:
            note = f"it is new, and which lines are its jambs cannot be told; {one.note}"
            one = replace(one, verdict="look at it", note=note)
        out.append(one)
        here.used.append((a, b))
    return out


def _with_frame(inner: Interval, jambs: Sequence[float]) -> Interval:
    a, b = inner
    return min((j for j in jambs if a - FRAME <= j <= a), default=a), max(
        (j for j in jambs if b <= j <= b + FRAME), default=b
    )


def _nearest(stations: Sequence[float], at: float, reach: float) -> float | None:
    best = min(stations, key=lambda s: abs(s - at), default=None)
    return None if best is None or abs(best - at) > reach else best
