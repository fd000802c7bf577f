"""Parts of the plan before and after a revision, for the change order: one for each room of which walls were taken."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import shapely

from takeoff.actions.revising import Revision
from takeoff.model.plan import Point, Sheet
from takeoff.model.walls import Run
from takeoff.report.change_order import Box, ChangeClip, ClipSide
from takeoff.revise.carry import CarriedRun
from takeoff.revise.registration import Floats
from takeoff.sheet.frame import displayed_size, displayed_to_sheet, sheet_to_displayed
from takeoff.sheet.render import single_page_pdf

SAME = 1e-3
"""Metres within which a length counts as the same."""
ABOUT = 1.5
"""Metres of plan that are shown about the places of a change (judgement, no source)."""
LEAST = 6.0
"""Metres that a clip shows at least, so that one sees where it is (judgement, no source)."""
BESIDE = 0.3
"""Metres from a traced wall within which a change is one of the building, not of dimensions (judgement, no source)."""
SAG_PT = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """One thing that changed on a wall, in words, and its place on the old and the new sheet in their sheet points."""

    words: str
    before: Point | None = None
    after: Point | None = None


def changed_things(carried: CarriedRun, say: Callable[[float], str]) -> Iterable[Changed]:
    """What changed on a wall that was taken, in plain words."""
    old, new = carried.before, carried.after
    if new is None:
        yield Changed(words="wall taken out", before=_along(old, 0.5))
        return
    was, now = carried.lengths
    if abs(now - was) > SAME:
        words = f"walls {say(abs(now - was))} {'longer' if now > was else 'shorter'}"
        side = _longest_moved(carried)
        yield Changed(words=words, before=_middle(old, side), after=_middle(new, side))
    for found in carried.openings:
        opening = found.after or found.before
        if opening is None:
            continue
        name, words = f"{opening.kind} {opening.mark}".strip(), ""
        if found.verdict == "moved":
            words = f"{name} moved"
        elif found.verdict == "width changed" and found.before is not None:
            words = f"{name} {say(opening.width)} wide, before {say(found.before.width)}"
        elif found.verdict in ("new", "gone"):
            words = f"{name} {say(opening.width)} wide is {'new' if found.verdict == 'new' else 'taken out'}"
        elif found.before and found.after and found.before.kind != found.after.kind:
            words = f"{found.before.kind} {found.before.mark}".strip() + f" is a {found.after.kind} now"
        if words:
            yield Changed(
                words=words,
                before=None if found.before is None else _along(old, found.before.at / was),
                after=None if found.after is None else _along(new, found.after.at / now),
            )
    heights = {o.mark: o.height for o in old.openings if o.mark}
    for o in new.openings:
        if abs(o.height - heights.get(o.mark, o.height)) > SAME:
            words = f"{o.kind} {o.mark} {say(o.height)} high, before {say(heights[o.mark])}"
            yield Changed(words=words, after=_along(new, o.at / now))


def _line(run: Run) -> list[Point]:
    return run.path_pt.flattened(SAG_PT)


def _along(run: Run, part: float) -> Point:
    """The point of a wall at a part of its length."""
    part = part % 1.0 if run.closed and part != 1.0 else part
    at = shapely.LineString(_line(run)).interpolate(part, normalized=True)
    return (at.x, at.y)


def _longest_moved(carried: CarriedRun) -> int:
    """The side whose neighbours changed their length most: the one that moved; the first where points were added."""
    old, new = carried.before.path_pt.segments(), carried.after.path_pt.segments() if carried.after else []
    if len(old) != len(new):
        return 0
    scale = carried.lengths[1] / max(sum(math.dist(a, b) for a, b, _ in new), 1e-9)
    scale_old = carried.lengths[0] / max(sum(math.dist(a, b) for a, b, _ in old), 1e-9)
    other = [abs(math.dist(*n[:2]) * scale - math.dist(*o[:2]) * scale_old) for o, n in zip(old, new, strict=True)]
    return max(range(len(old)), key=lambda i: other[i - 1] + other[(i + 1) % len(other)] - other[i])


def _middle(run: Run, side: int) -> Point:
    a, b, _ = run.path_pt.segments()[side]
    return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)


def change_clips(
    revision: Revision, old_data: bytes, rooms: Mapping[str, Sequence[CarriedRun]], say: Callable[[float], str]
) -> tuple[ChangeClip, ...]:
    """Cut the plan of each room before and after.

    Parameters
    ----------
    old_data
        The plan file of the old sheet.
    rooms
        The walls that were taken, by the label of their room.
    say
        Writes a length in metres.
    """
    changed = [
        (label, list({t.words: t for one in carried for t in changed_things(one, say)}.values()))
        for label, carried in rooms.items()
    ]
    changed = [(label, things) for label, things in changed if things]
    if not changed:
        return ()
    pages = single_page_pdf(old_data, revision.old), single_page_pdf(revision.data, revision.sheet)
    own = _own_lines(revision)
    made = []
    for label, things in changed:
        new_box = _box(revision, things)
        corners = [displayed_to_sheet(revision.sheet, x, y) for x in new_box[::2] for y in new_box[1::2]]
        back = [sheet_to_displayed(revision.old, *revision.registration.inverse(p)) for p in corners]
        old_box = _within(shapely.MultiPoint(back).bounds, revision.old)
        made.append(
            ChangeClip(
                room=label,
                words=tuple(t.words for t in things),
                before=_side(revision, pages[0], own[0], old_box, [t.before for t in things], is_new=False),
                after=_side(revision, pages[1], own[1], new_box, [t.after for t in things], is_new=True),
            )
        )
    return tuple(made)


def _box(revision: Revision, things: Sequence[Changed]) -> Box:
    """The part of the new sheet, as displayed, that shows the places of a change with something about them."""
    carry = revision.registration.carry
    places = [p for t in things for p in (t.after, None if t.before is None else carry(t.before)) if p is not None]
    m = math.sqrt(revision.scales[0].mx * revision.scales[0].my)
    x0, y0, x1, y1 = shapely.MultiPoint([sheet_to_displayed(revision.sheet, *p) for p in places]).bounds
    half = max(max(x1 - x0, y1 - y0) / 2.0 + ABOUT / m, LEAST / m / 2.0)
    x, y = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    return _within((x - half, y - 0.75 * half, x + half, y + 0.75 * half) if x1 - x0 >= y1 - y0 else
                   (x - half, y - half, x + half, y + half), revision.sheet)  # fmt: skip


def _within(box: Box, sheet: Sheet) -> Box:
    width, height = displayed_size(sheet)
    return (max(box[0], 0.0), max(box[1], 0.0), min(box[2], width), min(box[3], height))


def _own_lines(revision: Revision) -> tuple[Floats, Floats]:
    """Lines that the old and the new revision alone draw of the building: no text, no title block."""
    near = BESIDE / math.sqrt(revision.scales[0].mx * revision.scales[0].my)
    walls = [shapely.LineString([revision.registration.carry(p) for p in _line(r.before)]) for r in revision.runs]
    walls += [shapely.LineString(_line(r.after)) for r in revision.runs if r.after is not None]
    return revision.lines_of_building(shapely.union_all(walls).buffer(near))


def _side(
    revision: Revision, page: bytes, own: Floats, box: Box, places: Sequence[Point | None], *, is_new: bool
) -> ClipSide:
    """One side, with its lines within the box."""
    sheet = revision.sheet if is_new else revision.old
    window = shapely.box(*box)

    def shown(x: float, y: float) -> Point:
        return sheet_to_displayed(sheet, *((x, y) if is_new else revision.registration.inverse((x, y))))

    lines = []
    for x0, y0, x1, y1 in own.tolist():
        a, b = shown(x0, y0), shown(x1, y1)
        if window.intersects(shapely.LineString([a, b])):
            lines.append((a, b))
    numbered = [(i, sheet_to_displayed(sheet, *p)) for i, p in enumerate(places, start=1) if p is not None]
    return ClipSide(page_pdf=page, box=box, lines=tuple(lines), places=tuple(numbered), is_new=is_new)
