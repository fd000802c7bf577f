"""Taking what the sheets of a set say into the job, in one order whoever read them and in whatever order."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from functools import cached_property
from typing import Literal

from takeoff.actions.draft.elevation_walls import seen_in_views, views_of_rooms, walls_by_side
from takeoff.actions.draft.left_out import left_out
from takeoff.actions.draft.sheet_reads import WITH_WALLS, SheetRead
from takeoff.actions.given import Given
from takeoff.actions.points.finding import Words
from takeoff.actions.scales import put_scales
from takeoff.actions.schedules import lay_schedule
from takeoff.actions.traced_sheets import SheetTrace, with_schedules
from takeoff.actions.tracing import trace_sheet
from takeoff.errors import TakeoffError
from takeoff.job.edits import Batch, PutFindings, PutRoom, PutRun
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.totals import room_label
from takeoff.model.open_points import Basis, basis_of, put_basis
from takeoff.model.plan import Finding
from takeoff.model.walls import Room
from takeoff.sheet.scales import ratio_text
from takeoff.sheet.uses import is_named_floor_plan, is_of_another_trade
from takeoff.trace.schedules.elevation_views import SAME, ElevationView
from takeoff.trace.schedules.finish_matching import CodeMeaning, FinishedRoom, ScheduleMatch, walls_differ
from takeoff.trace.schedules.finish_schedule import joined_finishes
from takeoff.trace.schedules.opening_schedule import joined_openings
from takeoff.trace.schedules.sheet_list import missing_sheets

MOST_LISTED = 6
"""Sheets that are named of those that the set lacks."""
_SCHEDULES = re.compile(
    r"\b(?:DOORS?|WINDOWS?|OPENINGS?|FINISH(?:ES)?|ROOM) .*SCHEDULES?\b|^SCHEDULES?$", re.IGNORECASE
)
"""A title of a sheet that shows schedules of openings or finishes (common trade words, from memory)."""
FIELDS = ("height", "system", "cove")
"""What a draft gives a room."""


class Taking:
    """Takes what was read into a job; ``done`` says of each sheet what was taken, ``codes`` are those of schedules."""

    def __init__(self, store: JobStore, read: Mapping[int, SheetRead]) -> None:
        self._store = store
        self._left = left_out(store.job, read)
        bare = {id: SheetRead(sheet=id, use="other", why=read[id].why, fault=read[id].fault) for id in self._left}
        self._read = {id: bare.get(id, read[id]) for id in sorted(read)}
        self._join_schedules()
        self._by_schedule: dict[tuple[str, str], object] = {}
        self._unclear: dict[str, str] = {}
        self.done: dict[int, str] = {}
        self.codes: tuple[CodeMeaning, ...] = ()

    def _join_schedules(self) -> None:
        """Read the rows of schedules that go on from the sheet before."""
        openings = {id: read.openings for id, read in self._read.items() if read.openings is not None}
        finishes = {id: read.finishes for id, read in self._read.items() if read.finishes is not None}
        for id, rows in zip(openings, joined_openings([*openings.values()]), strict=True):
            self._read[id] = replace(self._read[id], openings=rows)
        for id, table in zip(finishes, joined_finishes([*finishes.values()]), strict=True):
            self._read[id] = replace(self._read[id], finishes=table)

    def take(self) -> None:
        """Take scales, then rooms, heights of ceiling plans, finish schedules, elevations; what refuses is a fault."""
        for id, found in self._read.items():
            for step in (self._scales, self._rooms):
                self._try(id, found, step)
        for step in (self._ceilings, self._finishes, self._against_ceilings, self._elevations, self._faults):
            for id, found in self._read.items():
                self._try(id, found, step)

    def _try(self, id: int, found: SheetRead, step: Callable[[SheetRead], str]) -> None:
        try:
            said = step(found)
        except TakeoffError as error:
            self._read[id] = replace(found, fault=found.fault or error.message)
            return
        self.done[id] = ", ".join(filter(None, (self.done.get(id, ""), said)))

    def _scales(self, found: SheetRead) -> str:
        if not found.scales or any(c.sheet == found.sheet for c in self._store.job.calibrations.values()):
            return ""
        scale = put_scales(self._store, found.scales)[0]
        return f"scale {ratio_text(scale.mx)} from {scale.origin}"

    def _rooms(self, found: SheetRead) -> str:
        if found.trace is None or found.use == "ceiling plan":
            return ""
        is_first = found.sheet == next(id for id, r in self._read.items() if r.trace is not None)
        others = [r.openings for r in self._read.values() if r.openings is not None and r.sheet != found.sheet]
        schedules = [one for one in others if one.rows or is_first]  # what was not read is told once
        own = [found.openings] if found.openings is not None else []
        read = with_schedules(found.trace, [*own, *schedules])
        traced = trace_sheet(self._store, found.sheet, all=True, read=read)
        said = [f"{len(traced.put)} room{'s' * (len(traced.put) != 1)} traced"]
        if traced.known:
            said.append(f"{len(traced.known)} there already")
        if traced.doubtful:
            said.append(f"{len(traced.doubtful)} not taken, to be looked at")
        return ", ".join(said)

    def _ceilings(self, found: SheetRead) -> str:
        if found.trace is None or found.use != "ceiling plan":
            return ""
        numbers = dict.fromkeys(room.number.casefold() for room in found.trace.rooms() if room.number)
        set_ = sum(self._ceiling(found.trace, number) for number in numbers)
        return f"heights of {set_} rooms" if set_ else "no height that a room lacks"

    def _ceiling(self, trace: SheetTrace, number: str) -> bool:
        """Give the one room of a number the height that is printed in it on a ceiling plan, or leave its own open.

        A height that a reader took is open where the plan prints a lower ceiling, or another than was printed before.
        """
        rooms = [r for r in self._store.job.rooms.values() if r.number.casefold() == number]
        shown = [r for r in trace.rooms() if r.number.casefold() == number]
        if len(rooms) != 1 or len(shown) != 1:
            return False
        given = Given(height=None, system=None, cove=None, ceilings=trace.ceilings)
        made = given.with_height(replace(rooms[0], height=None), given.printed_in(shown[0]), trace.sheet.id)
        if rooms[0].height is not None:
            made = _beside_ceiling(rooms[0], basis_of(made, "height"), Words(self._store.job).sheet(trace.sheet.id))
        if made == rooms[0]:
            return False
        self._store.do(PutRoom(room=made))
        return rooms[0].height is None

    def _against_ceilings(self, found: SheetRead) -> str:
        """Hold the heights that schedules gave against a ceiling plan; what it says otherwise is open."""
        self._ceilings(found)
        return ""

    def _finishes(self, found: SheetRead) -> str:
        """Give rooms what a finish schedule says where nobody gave a value; the first schedule of the set counts."""
        if found.finishes is None:
            return ""
        job = self._store.job
        match = lay_schedule(job, found.finishes, job.sheets[found.sheet], named=dict(job.settings.finish_codes))
        known = {code.code for code in self.codes}
        self.codes += tuple(code for code in match.codes if code.code not in known)
        count = 0
        by_side = {f.room.id for f in match.rooms if self._walls(f, match, found.sheet)}
        for finished in match.rooms:
            if re.search(r"\d", unread := finished.row.unread_height):
                self._unclear.setdefault(finished.room.id, unread)
            before = self._store.job.rooms[finished.room.id]
            after = self._scheduled(before, finished.room)
            after = self._seen(after) if after.height is not None else after
            if after != before:
                self._store.do(PutRoom(room=after))
                count += 1
        named = Words(self._store.job).system
        self._keep(found.sheet, "finish", _left_open(match, by_side, named))
        return f"finish schedule, {len(match.rooms)} rooms matched, {count} set"

    def _walls(self, finished: FinishedRoom, match: ScheduleMatch, sheet: int) -> bool:
        """Give the walls of a room that a schedule finishes differently each its own; tell whether they have it."""
        room, row = self._store.job.rooms[finished.room.id], finished.row
        if row.wall or not row.walls or self._by_schedule.setdefault((room.id, "walls"), row) != row:
            return False
        norths = {read.sheet: read.norths for read in self._read.values()}
        runs = walls_by_side(self._store.job, room.id, row, {code.code: code for code in match.codes}, sheet, norths)
        if runs:
            title = f"Finish the walls of {room_label(room)} by their sides"
            edit = Batch(title=title, edits=tuple(PutRun(run=run) for run in runs))
            self._store.do(edit)
        return runs is not None

    def _keep(self, sheet: int, about: Literal["draft", "finish"], wanted: tuple[Finding, ...]) -> None:
        """Keep what was found about a sheet, where it is another than before."""
        if tuple(f for f in self._store.job.sheets[sheet].findings if f.about == about) != wanted:
            self._store.do(PutFindings(sheet=sheet, about=(about,), findings=wanted))

    def _scheduled(self, before: Room, said: Room) -> Room:
        after, doubt = before, basis_of(said, "scope")
        if doubt is not None and basis_of(before, "scope") is None:
            after = replace(before, basis=put_basis(before.basis, doubt))
        for field in FIELDS:
            basis = basis_of(said, field)
            if basis is None:
                continue
            first = self._by_schedule.setdefault((before.id, field), basis.taken)
            if first != basis.taken and (held := basis_of(after, field)) is not None:
                told = replace(held, unsure=f"another schedule says {basis.text}")
                after = replace(after, basis=put_basis(after.basis, told))
            elif first == basis.taken and is_renewed(before, field, basis):
                if field == "height":
                    basis = _under_ceiling(before, basis, self._store.job)
                made = {field: getattr(said, field)}
                after = replace(after, **made, basis=put_basis(after.basis, basis))
        return after

    def _elevations(self, found: SheetRead) -> str:
        """Give rooms without a height the one that their interior elevations show; what they contradict is open."""
        ids = [id for id, views in self._views.items() if any(sheet == found.sheet for sheet, _ in views)]
        count = 0
        for room in [self._store.job.rooms[id] for id in ids]:
            after = self._seen(room)
            if after != room:
                self._store.do(PutRoom(room=after))
                count += after.height != room.height
        return f"elevations of {len(ids)} rooms, {count} heights set" if ids else ""

    @cached_property
    def _views(self) -> dict[str, list[tuple[int, ElevationView]]]:
        """The interior elevations of the set by room; asked for once the rooms are taken."""
        views = [(read.sheet, view) for read in self._read.values() for view in read.views]
        return views_of_rooms(self._store.job.rooms.values(), views)

    def _seen(self, room: Room) -> Room:
        """Return a room with what the elevations of the set say of its ceiling."""
        said = [(sheet, note) for sheet, view in self._views.get(room.id, ()) for note in view.ceilings]
        sheets = {read.sheet for read in self._read.values() if read.views}
        return seen_in_views(room, said, sheets, self._unclear.get(room.id, ""))

    def _faults(self, found: SheetRead) -> str:
        """Keep with a sheet why it could not be read, so that it is an open point until it can be.

        Where no sheet of the set is a floor plan, nothing is measured: each sheet says why it is none. So does one that
        is called a floor plan and has the number of another trade, unless a plan of that title was taken, one that is
        left out for another or by its number alone, one that is called a schedule of openings or finishes and shows
        none as text, and a list of sheets of which the set lacks some.
        """
        job = self._store.job
        sheet, text = job.sheets[found.sheet], self._left.get(found.sheet, "")
        plans = {job.sheets[r.sheet].title.casefold() for r in self._read.values() if r.use in WITH_WALLS}
        if found.fault:
            text = f"it was not read for the draft: {found.fault}"
        elif not text and not plans:
            text = f"no sheet of the set was taken for a floor plan, and this one is left out: {found.why}"
        elif not text and found.use == "other" and is_named_floor_plan(sheet) and sheet.title.casefold() not in plans:
            text = f"its title says {sheet.title}, and it is left out: {found.why}"
        elif not text and found.use == "other" and not sheet.title and is_of_another_trade(sheet.number):
            text = f"it has no title, and it is left out: {found.why}"
        elif not text and _SCHEDULES.search(sheet.title) and found.openings is None and found.finishes is None:
            text = f"its title says {sheet.title}, and no schedule was read on it: it may be a picture"
        missing = missing_sheets(found.listed, (s.number for s in job.sheets.values()))
        if missing:
            more = f" and {len(missing) - MOST_LISTED} more" if len(missing) > MOST_LISTED else ""
            named = f"its list of sheets names what the set lacks: {', '.join(missing[:MOST_LISTED])}{more}"
            text = f"{text}; {named}" if text else named
        self._keep(found.sheet, "draft", (Finding(about="draft", text=text),) if text else ())
        return ""


def _left_open(match: ScheduleMatch, by_side: Collection[str], named: Callable[[str], str]) -> tuple[Finding, ...]:
    """What a finish schedule says that is in no value: rooms to be coated that no plan shows, and what its rows leave.

    What it leaves of rooms in ``by_side``, whose walls have each its own finish, is open of these walls.

    Rooms and codes of no system, such as those that are painted, are left out unless walls were measured for them.
    """
    systems = {code.code: code.system for code in match.codes if code.system is not None}
    found = []
    for row in match.rows_left:
        meant = dict.fromkeys(named(systems[wall.upper()]) for wall in row.walls if wall.upper() in systems)
        if meant:
            label = " ".join(t for t in (row.number, row.name) if t)
            text = f"its finish schedule has {label} with {' and '.join(meant)}, and no one room that was traced is it"
            found.append(Finding(about="finish", text=text, name=row.number))
    used = {wall.upper() for room in match.rooms if room.room.id not in by_side for wall in room.row.walls}
    told = {walls_differ(room.row) for room in match.rooms if room.room.id in by_side}
    for text in match.doubts:
        if text in told:
            continue
        kind, name = text.split()[:2]
        is_height = kind == "room" and text in match.schedule.doubts  # then the room's own height is open
        if not is_height and (kind != "code" or name in used):
            found.append(Finding(about="finish", text=f"its finish schedule: {text}"))
    return tuple(found)


def _beside_ceiling(room: Room, printed: Basis | None, where: str) -> Room:
    """Return a room whose height is open where a ceiling plan prints a lower one, or another than the floor plan."""
    held = basis_of(room, "height")
    if held is None or held.confirmed or printed is None or not isinstance(held.taken, float):
        return room
    heights = [one for one in (printed.low, printed.high) if one is not None]
    if not heights or all(abs(held.taken - one) <= SAME for one in heights):
        return room
    is_doubtful = held.taken > min(heights) + SAME or held.how in ("stated", "note")
    why = f"{where} prints “{printed.text}”"
    if why in held.unsure or not is_doubtful:
        return room
    told = "; ".join(part for part in (held.unsure, why) if part)
    low, high = min(held.low or held.taken, *heights), max(held.high or held.taken, *heights)
    return replace(room, basis=put_basis(room.basis, replace(held, unsure=told, low=low, high=high)))


def _under_ceiling(room: Room, new: Basis, job: Job) -> Basis:
    """Return what a schedule says of a height; it is open where the ceiling was printed lower by more than an inch."""
    held = basis_of(room, "height")
    if held is None or held.text == new.text:
        return new if held is None else replace(new, unsure=new.unsure or held.unsure, low=held.low, high=held.high)
    low, high = held.taken, new.taken
    if held.how not in ("stated", "note") or not isinstance(low, float) or not isinstance(high, float):
        return new
    if high - low <= SAME:
        return new
    sheet = job.sheets.get(held.sheet or 0)
    where = f" on {sheet.called}" if sheet is not None else ""
    return replace(new, unsure=f"the ceiling is lower: “{held.text}”{where}", low=low, high=high)


def is_renewed(room: Room, field: str, new: Basis) -> bool:
    """Tell whether a schedule may set a value of a room: where there is none, or a reader gave it and nobody said yes.

    The height of a ceiling as printed gives way to what a schedule coats. A value that a person gave stays, but for a
    system that came with the code that it was named for.
    """
    held = basis_of(room, field)
    if held == new:
        return False
    if getattr(room, field) is None:
        return True
    if held is None or held.confirmed is not None:
        return False
    if held.how == "person":
        return bool(held.code)
    return held.how in ("schedule", "assumed") or (field == "height" and held.how in ("stated", "note"))
