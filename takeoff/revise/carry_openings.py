"""Check openings against the jambs that a new issue draws, and find new ones."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from takeoff.model.walls import Opening, OpeningKind
from takeoff.revise.linework_along import Length, Spans, clipped, in_metres, total

OpeningVerdict = Literal["unchanged", "moved", "width changed", "new", "gone", "look at it"]

FRAME = 0.08
"""Metres by which a drawn jamb may differ from the opening as measured: a frame's rebate (judgement, no source)."""
FAR = 3.0
"""Metres within which a moved opening is looked for."""
WIDTHS = (0.4, 6.5)
"""Metres that an opening may be wide: a hatch to a large roll-up door (judgement, no source)."""
DOOR, WINDOW = (2.1, 0.0), (1.2, 0.9)
"""Height and sill in metres of a new opening that no known one is like (common practice, no source)."""


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


def carry_opening(
    opening: Opening,
    local: float,
    old_jambs: Sequence[float],
    new_jambs: Sequence[float],
    solid: Spans,
    used: list[tuple[float, float]],
    tolerance: float,
    *,
    is_quiet: bool,
) -> CarriedOpening:
    """Check one opening on a straight side.

    Parameters
    ----------
    opening, local
        The opening as it was, and the station of its centre from the start of the side, m.
    old_jambs, new_jambs, solid
        Stations of the jambs that both issues draw on the side, and along which the new one draws the face, m.
    used
        Spans of openings that were found on the side; the one found is added.
    tolerance
        Distance in metres within which lines are one.
    is_quiet
        True where nothing was drawn or wiped out about the opening.

    The proposal's ``after.at`` is the station from where the side began on the old revision.
    """
    low, high = local - opening.width / 2.0, local + opening.width / 2.0
    e0, e1 = nearest_jambs(old_jambs, opening, local)
    here = replace(opening, at=max(local, 0.0))
    near = 2.0 * tolerance

    def look(span: tuple[float, float], note: str) -> CarriedOpening:
        used.append(span)
        return CarriedOpening(before=opening, after=here, verdict="look at it", note=note)

    if e0 is None or e1 is None or e1 <= e0 or opening.count > 1:
        if is_quiet and is_as_before(old_jambs, new_jambs, near):
            used.append((low, high))
            return CarriedOpening(before=opening, after=here, verdict="unchanged")
        several = "one of several, and jambs moved"
        return look((low, high), several if opening.count > 1 else "its jambs are not drawn on the old revision")
    n0, n1 = _nearest(new_jambs, e0, near), _nearest(new_jambs, e1, near)
    if n0 is not None and n1 is not None:
        used.append((n0, n1))
        return CarriedOpening(before=opening, after=here, verdict="unchanged", jambs=(e0, e1, n0, n1))
    fresh = [j for j in new_jambs if _nearest(old_jambs, j, near) is None]
    moved = _moved_to((e0, e1), new_jambs, fresh, used, near)
    found = moved or _other_width((e0, e1), (n0, n1), fresh)
    if found is not None and moved is None:
        found = _same_lines((e0, e1), found, old_jambs, new_jambs, near)
        if found is None:
            return look((e0, e1), "its width changed, and which lines are its jambs cannot be told")
    if found is not None:
        used.append(found)
        return _carried_to(opening, local, (e0, e1), found, is_moved=moved is not None)
    if n0 is None and n1 is None and total(clipped(solid, e0, e1)) >= 0.9 * (e1 - e0):
        return CarriedOpening(before=opening, after=None, verdict="gone")
    return look((e0, e1), "one of its jambs is not drawn any more")


def _carried_to(
    opening: Opening, local: float, old: tuple[float, float], new: tuple[float, float], *, is_moved: bool
) -> CarriedOpening:
    """Carry an opening, which was between two jambs, to where they are now."""
    by = (sum(new) - sum(old)) / 2.0
    after = replace(opening, at=max(local + by, 0.0))
    if not is_moved:
        after = replace(after, width=opening.width + (new[1] - new[0]) - (old[1] - old[0]), outline=None)
    verdict: OpeningVerdict = "moved" if is_moved else "width changed"
    return CarriedOpening(before=opening, after=after, verdict=verdict, by=by, jambs=(*old, *new))


def nearest_jambs(jambs: Sequence[float], opening: Opening, local: float) -> tuple[float | None, float | None]:
    """The drawn jambs of an opening whose centre is at a station, as far as they are among these."""
    low, high = local - opening.width / 2.0, local + opening.width / 2.0
    return _nearest(jambs, low, FRAME), _nearest(jambs, high, FRAME)


def _moved_to(
    old: tuple[float, float],
    new_jambs: Sequence[float],
    fresh: Sequence[float],
    used: Sequence[tuple[float, float]],
    near: float,
) -> tuple[float, float] | None:
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


def _other_width(
    old: tuple[float, float], kept: tuple[float | None, float | None], fresh: Sequence[float]
) -> tuple[float, float] | None:
    """Jambs of an opening that became wider or narrower: one kept and one new, or both new about the same middle."""
    (e0, e1), (n0, n1), width = old, kept, old[1] - old[0]
    low, high = 0.3 * width, 3.0 * width
    found: list[tuple[float, float]] = []
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
    old: tuple[float, float],
    found: tuple[float, float],
    old_jambs: Sequence[float],
    new_jambs: Sequence[float],
    near: float,
) -> tuple[float, float] | None:
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
    old_jambs: Sequence[float],
    new_jambs: Sequence[float],
    before: Spans,
    now: Spans,
    used: list[tuple[float, float]],
    known: Sequence[Opening],
    tolerance: float,
    *,
    limits: tuple[float, float],
    kind_of: Callable[[float, float], OpeningKind | None],
    more: Sequence[tuple[float, float]] = (),
    is_picture: bool = False,
    length: Length = in_metres,
) -> list[CarriedOpening]:
    """Find openings that only the new issue has: two new jambs, in a face that was whole.

    Parameters
    ----------
    old_jambs, new_jambs
        Stations of the jambs that both issues draw on the side, m.
    before, now
        Stations along which the old and the new issue draw the face.
    used
        Spans of openings that were found on the side; those found are added.
    known
        Openings whose height and sill a new one may take over, the likeliest first.
    tolerance
        Distance in metres within which lines are one.
    limits
        Stations between which the side runs on the new issue.
    kind_of
        Tells the kind of what is drawn between two stations, where it shows one.
    more
        Spans in which something else shows a new opening.
    is_picture
        True where one of the sheets is a picture: what shows no kind is then to be looked at.
    length
        Writes a length in metres.
    """
    near = 2.0 * tolerance

    def is_used(span: tuple[float, float]) -> bool:
        return any(p - near <= span[1] and span[0] <= q + near for p, q in used)

    inside = [j for j in new_jambs if limits[0] + near < j < limits[1] - near]
    fresh = sorted(j for j in inside if _nearest(old_jambs, j, near) is None and not is_used((j, j)))
    out = []
    for inner in (*pairwise(fresh), *more):
        a, b = _with_frame(inner, fresh)
        if is_used((a, b)) or not WIDTHS[0] <= b - a <= WIDTHS[1] or total(clipped(before, a, b)) < 0.9 * (b - a):
            continue
        shown, is_open = kind_of(*inner), total(clipped(now, a, b)) < 0.5 * (b - a)
        one = _new_opening(a, b, shown, is_open, known, is_picture=is_picture, length=length)
        if (a, b) != inner and total(clipped(now, a, inner[0])) + total(clipped(now, inner[1], b)) > near:
            note = f"it is new, and which lines are its jambs cannot be told; {one.note}"
            one = replace(one, verdict="look at it", note=note)
        out.append(one)
        used.append((a, b))
    return out


def _with_frame(inner: tuple[float, float], jambs: Sequence[float]) -> tuple[float, float]:
    """Widen an opening by the lines of its frame, as far as the wall that it stands in."""
    a, b = inner
    return min((j for j in jambs if a - FRAME <= j <= a), default=a), max(
        (j for j in jambs if b <= j <= b + FRAME), default=b
    )


def _new_opening(
    a: float,
    b: float,
    shown: OpeningKind | None,
    is_open: bool,
    known: Sequence[Opening],
    *,
    is_picture: bool,
    length: Length,
) -> CarriedOpening:
    """Say what a new opening between two stations is: of the kind that is shown, else by whether its face is open."""
    kind: OpeningKind = shown or ("door" if is_open else "window")
    height, sill = usual_size(kind, b - a, known)
    is_like = any(o.kind == kind and abs(o.width - (b - a)) <= FRAME for o in known)
    note = f"height {length(height)} {'taken from one as wide' if is_like else 'assumed, to be checked'}"
    opening = Opening(at=(a + b) / 2.0, width=b - a, height=height, sill=sill, kind=kind)
    verdict: OpeningVerdict = "new"
    if is_picture and shown is None:
        verdict, note = "look at it", f"it is new, {length(b - a)} wide, and its kind cannot be seen; {note}"
    return CarriedOpening(before=None, after=opening, verdict=verdict, note=note)


def usual_size(kind: OpeningKind, width: float, known: Sequence[Opening]) -> tuple[float, float]:
    """Height and sill in metres of an opening that the plan shows without them: those of a known one as wide."""
    like = next((o for o in known if o.kind == kind and abs(o.width - width) <= FRAME), None)
    return (like.height, like.sill) if like else (WINDOW if kind == "window" else DOOR)


def is_as_before(old_jambs: Sequence[float], new_jambs: Sequence[float], near: float) -> bool:
    """Tell whether both issues draw the same jambs, each within ``near`` metres of its like.

    Examples
    --------
    >>> is_as_before([1.0, 2.0], [1.001, 2.0], 0.01), is_as_before([1.0], [1.0, 3.0], 0.01)
    (True, False)
    """
    there = all(_nearest(new_jambs, j, near) is not None for j in old_jambs)
    return there and all(_nearest(old_jambs, j, near) is not None for j in new_jambs)


def _nearest(stations: Sequence[float], at: float, reach: float) -> float | None:
    best = min(stations, key=lambda s: abs(s - at), default=None)
    return None if best is None or abs(best - at) > reach else best
