"""Texts and rows of schedules that say what a wall is like: which walls a change of them may change."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import NamedTuple

import shapely

from takeoff.errors import LengthError
from takeoff.model.open_points import Basis, put_basis
from takeoff.model.plan import Calibration, Point
from takeoff.model.walls import HeightProfile, Room, Run
from takeoff.revise.carry import CarriedRun
from takeoff.revise.carry_openings import FRAME
from takeoff.revise.changes import SheetChange
from takeoff.revise.linework_along import Length
from takeoff.sheet.scope_words import without_note
from takeoff.trace.schedules.opening_schedule import OpeningSchedule
from takeoff.units import parse_length

MARK_REACH = 2.5
"""Metres from a wall within which the mark of its opening stands: beside a wide door's leaf (judgement, no source)."""
SAME_LENGTH = 0.006
"""Metres by which a length may differ in another unit: half of 1/2 in (rounding)."""
LENGTH = re.compile(
    r"[0-9]+'(?:[ -]*[0-9]+(?:[ -]+[0-9]+/[0-9]+)?\"?)?|[0-9]+(?:[ -]+[0-9]+/[0-9]+)?\"|[0-9]{3,5}|[0-9]+\.[0-9]+ ?m\b"
)
LEAST_HEIGHT = 1.2
"""Metres of a height of walls: the number of another sheet, read as millimetres, is less (judgement, no source)."""
_CODE = re.compile(r"(?P<kind>[A-Z]{1,4})[- ]?\d{1,2}[A-Z]?(?: ?[/,] ?[A-Z]{1,4}[- ]?\d{1,2}[A-Z]?)*", re.IGNORECASE)
"""Finish codes: letters and one or two figures; the numbers of sheets that marks of sections name have three."""
OF_OPENING = 1.5
"""Metres from an opening within which a text in the form of its mark is one (judgement, no source)."""
ABOUT = 0.3
"""Metres beyond its walls to which a room's own texts may reach."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScheduleChange:
    """A row of a schedule that two revisions give differently: its key, and what it says before and after."""

    schedule: str
    key: str
    before: str
    after: str

    @property
    def words(self) -> str:
        """What changed, in a few words."""
        if not self.before:
            return f"{self.schedule}: {self.key} is new: {self.after}"
        if not self.after:
            return f"{self.schedule}: {self.key} is gone (was {self.before})"
        return f"{self.schedule}: {self.key} is now {self.after}, was {self.before}"


Tables = tuple[OpeningSchedule | None, OpeningSchedule | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScheduleRows:
    """What changed in the opening and the finish schedule of a sheet; ``tables`` are the opening schedules of both.

    ``unread`` is what stays open: schedules that were not read on both and, of a sheet without walls, whose changed
    texts are ``changes``, those that no row explains.
    """

    tables: Tables = (None, None)
    openings: tuple[ScheduleChange, ...] = ()
    finishes: tuple[ScheduleChange, ...] = ()
    unread: tuple[str, ...] = ()
    changes: tuple[SheetChange, ...] = ()


class Told(NamedTuple):
    """What is written anew of a run, and whether taking its proposal carries that out."""

    text: str
    is_done: bool


def _scheduled(
    one: CarriedRun,
    before: OpeningSchedule | None,
    after: OpeningSchedule | None,
    length: Length,
    renamed: Mapping[str, str],
) -> tuple[CarriedRun, Sequence[str]]:
    """Give a proposal the sizes of schedule rows that changed; also the marks whose rows it then holds.

    A height that was the old row's becomes the new row's. A width must be drawn as the new row says. ``renamed`` gives
    the new mark of openings whose mark was changed, by the old one.
    """
    if before is None or after is None or one.after is None:
        return one, ()
    old, new = ({row.mark.casefold(): (row.width, row.height) for row in table.rows} for table in (before, after))
    openings, done, notes = [], [], []
    for opening in one.after.openings:
        mark, name = opening.mark.casefold(), f"{opening.kind} {opening.mark}"
        called = renamed.get(mark, opening.mark)
        now = called.casefold()
        (width, height), (now_wide, now_high) = old.get(mark, (None, None)), new.get(now, (None, None))
        is_wide = width == now_wide or (now_wide is not None and abs(opening.width - now_wide) <= FRAME)
        is_known = height is not None and now_high is not None and abs(opening.height - height) <= SAME_LENGTH
        is_told = mark in old and now in new and (old[mark] != new[now] or mark != now)
        if is_told and is_wide and (is_known or height == now_high):
            done.append(mark)
            if mark != now:
                notes.append(f"{name} is marked {called} now")
                opening = replace(opening, mark=called)
            if is_known and now_high is not None and abs(now_high - opening.height) > SAME_LENGTH:
                notes.append(f"{name} is {length(now_high)} high by the schedule, before {length(opening.height)}")
                basis = Basis(of="height", taken=now_high, how="schedule", text=f"{called} {length(now_high)}")
                opening = replace(opening, height=now_high, basis=put_basis(opening.basis, basis))
        openings.append(opening)
    if not notes:
        return one, done
    return (
        replace(
            one, after=replace(one.after, openings=tuple(openings)), sure=False, notes=(*one.notes, *notes),
            verdict="openings changed" if one.verdict in ("unchanged", "moved") else one.verdict,
        ),
        done,
    )  # fmt: skip


def with_values(
    one: CarriedRun,
    room: Room | None,
    rows: Sequence[ScheduleRows],
    length: Length,
    changes: Sequence[SheetChange] = (),
    scale: Calibration | None = None,
) -> tuple[CarriedRun, list[str]]:
    """Give a proposal the sizes and heights that are written anew; also the marks whose rows it holds then."""
    near = _near_openings(one, [c for c in changes if _is_text(c) and c.after], scale) if scale else []
    renamed = {c.before.casefold(): c.after for c in near}
    settled: list[str] = []
    for own in rows:
        one, done = _scheduled(one, *own.tables, length, renamed)
        settled += done
    return _with_printed_height(one, room, changes), settled


def rows_about(
    one: CarriedRun, room: Room | None, rows: Sequence[ScheduleRows], done: Collection[str] = ()
) -> Iterator[Told]:
    """Say which changed rows are about a run's openings, by their marks, and about its room, by its number.

    ``done`` are the marks whose rows the proposal holds already.
    """
    marks = {o.mark.casefold() for o in one.before.openings if o.mark} - set(done)
    left = {o.mark.casefold() for o in one.after.openings} if one.after is not None else set()
    number = room.number.casefold() if room is not None else ""
    for change in (change for own in rows for change in own.openings):
        if (key := change.key.casefold()) in marks:
            yield Told(change.words, not change.after and key not in left)
    for change in (change for own in rows for change in own.finishes):
        if number and change.key.casefold() == number:
            yield Told(change.words, is_done=False)


def _with_printed_height(one: CarriedRun, room: Room | None, changes: Sequence[SheetChange]) -> CarriedRun:
    """Offer the height of a changed note, such as a ceiling's, where the walls had that of the note before."""
    profile = one.before.height or (room.height if room is not None else None)
    if one.after is None or profile is None or not profile.is_constant:
        return one
    area = _areas([one], 0.0).get(_key(one.before))
    for change in changes:
        if not (_governs(change) and change.before and change.after and _holds(area, change)):
            continue
        (_, was), (_, now) = _parted(change.before), _parted(change.after)
        if len(was) == len(now) == 1 and abs(was[0] - profile.points[0][1]) <= SAME_LENGTH:
            return replace(one, after=replace(one.after, height=HeightProfile.constant(now[0])))
    return one


def governed(
    carried: Sequence[CarriedRun],
    rooms: Mapping[str, Room],
    *,
    changes: Sequence[SheetChange],
    rows: Sequence[ScheduleRows],
    scale: Calibration,
    settled: Mapping[str, Collection[str]] = MappingProxyType({}),
) -> dict[str, tuple[Told, ...]]:
    """Find what was changed in texts and schedules that may change a carried run, by the run's id.

    Parameters
    ----------
    carried
        Proposals, whose runs tell rooms and openings, with the values that are written anew.
    changes
        Changes on the new sheet, of which texts on the plan count.
    rows
        Changed rows of schedules.
    settled
        Marks by run whose changed rows the proposal holds already, as `with_values` gives them.
    """
    size = math.sqrt(scale.mx * scale.my)
    numbers = {room.number.casefold() for room in rooms.values() if room.number}
    marks = {o.mark.casefold() for one in carried for o in one.before.openings if o.mark}
    kinds = {found["kind"] for found in map(_CODE.fullmatch, marks) if found}
    holes = shapely.MultiPoint([at for one in carried for at in _middles(one.after or one.before, size)])

    def is_code(change: SheetChange) -> bool:
        """Tell whether a text that came or went may be a finish code of a room, and is no mark of an opening."""
        found = _CODE.fullmatch((change.before or change.after).strip())
        if not _is_text(change) or found is None or (change.before and change.after):
            return False
        apart = holes.distance(shapely.Point(_middle(change))) * size
        return found["kind"].casefold() not in kinds or apart > OF_OPENING

    texts = [c for c in changes if _governs(c) or is_code(c) or (_is_text(c) and c.before.casefold() in numbers)]
    areas = _areas(carried, ABOUT / size)
    out: dict[str, tuple[Told, ...]] = {}
    for one in carried:
        run = one.before
        done = settled.get(run.id, ())
        told = [
            Told(f"{c.words()} in this room", _is_its_height(c, one))
            for c in texts
            if c.before.casefold() not in marks
            and _holds(areas.get(_key(run)), c)
            and ((c.before and c.after) or run.id == _nearest(c, carried, _key(run)))
        ]
        near = [c for c in _near_openings(one, texts, scale) if c.before.casefold() not in done]
        # the opening itself is found by its lines
        told += [Told(f"{c.words()}: look at the opening that it marks", is_done=True) for c in near]
        told += rows_about(one, rooms.get(run.room or ""), rows, done)
        if told:
            out[run.id] = tuple(dict.fromkeys(told))
    return out


def _is_its_height(change: SheetChange, one: CarriedRun) -> bool:
    """Tell whether a changed text gives a height that the proposal took."""
    heights = [h for text in (change.before, change.after) for h in _parted(text)[1] if h >= LEAST_HEIGHT]
    is_higher = one.after is not None and one.after.height != one.before.height
    return bool(change.before and change.after) and is_higher and len(heights) > 1


def _key(run: Run) -> str:
    return run.room or f"wall {run.id}"


def _areas(carried: Iterable[CarriedRun], by_pt: float) -> dict[str, shapely.Geometry]:
    """Area of each room on the new sheet: within its closed runs, else about all of its open ones."""
    lines: dict[str, list[shapely.Geometry]] = {}
    for one in carried:
        run = one.after or one.before
        points = run.path_pt.flattened(1.0)
        shape = shapely.Polygon(points) if run.closed and len(points) > 2 else shapely.LineString(points)
        lines.setdefault(_key(one.before), []).append(shape)
    out = {}
    for key, shapes in lines.items():
        closed = [s for s in shapes if s.geom_type == "Polygon"]
        whole = shapely.union_all(closed) if closed else shapely.convex_hull(shapely.union_all(shapes))
        out[key] = whole.buffer(by_pt)
    return out


def _middle(change: SheetChange) -> Point:
    left, top, right, bottom = change.box_pt
    return ((left + right) / 2.0, (top + bottom) / 2.0)


def _holds(area: shapely.Geometry | None, change: SheetChange) -> bool:
    return area is not None and bool(area.contains(shapely.Point(_middle(change))))


def _nearest(change: SheetChange, carried: Iterable[CarriedRun], key: str) -> str:
    """The run of a room that a text stands nearest to: what is only added or taken away speaks of that one."""
    at = shapely.Point(_middle(change))
    own = [one.after or one.before for one in carried if _key(one.before) == key]
    gone = [one.before for one in carried if _key(one.before) == key and one.verdict == "wall gone"]
    if gone and not change.after:
        own = gone  # its label went with it
    return min(own, key=lambda run: shapely.LineString(run.path_pt.flattened(1.0)).distance(at)).id


def _middles(run: Run, size: float) -> list[shapely.Point]:
    """Where the openings of a run are on its sheet; ``size`` is metres in a point."""
    line = shapely.LineString(run.path_pt.flattened(1.0))
    return [line.interpolate(opening.at / size) for opening in run.openings]


def _near_openings(one: CarriedRun, texts: Sequence[SheetChange], scale: Calibration) -> list[SheetChange]:
    run, reach_pt = one.after or one.before, MARK_REACH / math.sqrt(scale.mx * scale.my)
    marks = {o.mark.casefold() for o in one.before.openings if o.mark}
    line = shapely.LineString(run.path_pt.flattened(1.0))
    return [
        c for c in texts if c.before.casefold() in marks and line.distance(shapely.Point(_middle(c))) <= reach_pt
    ]  # fmt: skip


def _is_text(change: SheetChange) -> bool:
    return change.kind == "text" and change.on_plan and change.by is None


def _governs(change: SheetChange) -> bool:
    """Tell whether a changed text may say what walls are like: not a bare length, nor the same in another unit."""
    if not _is_text(change):
        return False
    if not (change.before and change.after):
        # what only comes or goes without a word is a mark of a section or of an opening, but for N.I.C. and CH 2400
        text = change.before + change.after
        words, lengths = _parted(text)
        is_height = max(lengths, default=0.0) >= LEAST_HEIGHT and re.search(r"[^\W\d]{2,}", words)
        return bool(is_height) or re.search(r"[^\W\d]{3,}", text) is not None or without_note(text) != text
    (words, lengths), (other_words, other_lengths) = _parted(change.before), _parted(change.after)
    if words != other_words or len(lengths) != len(other_lengths):
        return True
    is_bare = not re.search(r"[^\W\d]{2,}", words)
    return not is_bare and any(abs(a - b) > SAME_LENGTH for a, b in zip(lengths, other_lengths, strict=True))


def _parted(text: str) -> tuple[str, list[float]]:
    """The words of a text, and the lengths in it in metres; a bare number of three digits or more is millimetres."""
    lengths = []

    def taken(found: re.Match[str]) -> str:
        try:
            lengths.append(parse_length(found[0], system="metric" if found[0].isdigit() else None))
        except LengthError:
            return found[0]
        return " "

    words = LENGTH.sub(taken, text)
    return " ".join(words.casefold().split()), lengths
