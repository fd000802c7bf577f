"""A new revision of a sheet taken into the job, with the walls carried across as far as a person accepts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import shapely

from takeoff.actions.points.sheets import is_settled
from takeoff.actions.rooms_anew import RoomsAnew
from takeoff.errors import EditError, InputError
from takeoff.job.changes import ChangeEntry, edit, put
from takeoff.job.edits import (
    AddSheets,
    Batch,
    Change,
    Edit,
    PutFindings,
    PutRegion,
    PutRoom,
    PutRun,
    Remove,
    SetCalibration,
)
from takeoff.job.job import Job
from takeoff.job.newer_sheets import is_newer
from takeoff.job.store import JobStore
from takeoff.measure.totals import room_label
from takeoff.model.plan import Calibration, Finding, ScaleRegion, Sheet, Source
from takeoff.revise.carry import CarriedRun
from takeoff.revise.changes import SheetChange
from takeoff.revise.drawn_walls import NewWall
from takeoff.revise.governing import ScheduleChange
from takeoff.revise.registration import Floats, Registration
from takeoff.sheet.files import read_sheets

Accept = Literal["sure", "all", "none"]

TITLE = "Revise"
"""How the journal's line of a revision begins."""
NOT_SHOWN = "not on this sheet"
"""Verdict on a run that the new sheet does not show."""
NOT_TAKEN = "a newer revision of it was not taken"
"""How it is said of a sheet that a set held a newer one."""
IS_OLDER = "this sheet is "
"""How it begins that a sheet may be older than the one in whose place it comes, or another."""
LEFT = ("look at it", NOT_SHOWN)
"""Verdicts that only a person takes, run by run."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Revision:
    """A new issue compared with the old one; nothing of it is in the job yet.

    ``sheet`` is the new sheet with the id it gets, ``scales`` its calibrations and ``regions`` its scale regions,
    carried from the old sheet. ``runs`` are proposals for every run that is still on the old sheet; ``new_walls`` is
    what is drawn like their walls and is new. ``schedule_changes`` are rows of schedules on the sheet that changed.
    ``rooms_anew`` are rooms that it parts, joins or adds. ``removed`` and ``added`` are the lines, shape (n, 4) in
    points of the new sheet, that only one revision has. Pictures give neither new walls nor lines.
    """

    old: Sheet
    sheet: Sheet
    source: Source
    data: bytes
    registration: Registration
    scales: tuple[Calibration, ...]
    regions: tuple[ScaleRegion, ...]
    changes: tuple[SheetChange, ...]
    removed: Floats
    added: Floats
    runs: tuple[CarriedRun, ...]
    new_walls: tuple[NewWall, ...]
    doubts: tuple[str, ...]
    schedule_changes: tuple[ScheduleChange, ...] = ()
    rooms_anew: tuple[RoomsAnew, ...] = ()

    @property
    def is_only_beside(self) -> bool:
        """True where nothing of the plan changed and every wall is found as it was: a new date, say."""
        is_quiet = not (self.schedule_changes or self.new_walls or self.rooms_anew)
        return (
            is_quiet and all(run.sure and run.verdict == "unchanged" for run in self.runs)
            and not any(change.on_plan for change in self.changes)
        )  # fmt: skip

    def lines_of_building(self, near: shapely.Geometry | None = None) -> tuple[Floats, Floats]:
        """Lines of the old and of the new revision alone within changes of the plan: no title block, no schedule.

        With ``near``, in points of the new sheet, only those of changes that meet it.
        """
        boxes = [c.box_pt for c in self.changes if c.on_plan and c.kind != "text"]
        if near is not None:
            boxes = [box for box in boxes if near.intersects(shapely.box(*box))]
        area = shapely.union_all([shapely.box(*box).buffer(1.0) for box in boxes])
        shapely.prepare(area)
        old, new = (
            lines[shapely.contains_xy(area, lines[:, [0, 2]].mean(1), lines[:, [1, 3]].mean(1))]
            for lines in (self.removed, self.added)
        )
        return old, new

    def chosen(self, accept: Accept | Sequence[str]) -> tuple[CarriedRun, ...]:
        """Proposals that "sure", "all", "none" or a list of run ids stands for.

        "all" leaves those of which something is to be looked at, and those that the new sheet does not show.
        """
        if accept == "none":
            return ()
        if isinstance(accept, str):
            return tuple(r for r in self.runs if r.sure or (accept == "all" and r.verdict not in LEFT))
        known = {r.before.id: r for r in self.runs}
        anew = self.anew(accept)
        keys = {id for place in anew for id in (place.key, *place.runs)}
        missing = [id for id in accept if id not in known and id not in keys]
        if missing:
            raise InputError(f'no wall "{missing[0]}" is to be carried', remedy=f"Known: {', '.join(known) or 'none'}.")
        return tuple(known[id] for id in dict.fromkeys((*accept, *keys)) if id in known)

    def left(self, accept: Accept | Sequence[str]) -> list[str]:
        """Ids of the walls that a person has to look at, and that this does not take: they go in one by one."""
        taken = self.chosen(accept)
        return [r.before.id for r in self.runs if r.verdict == LEFT[0] and r not in taken]

    def is_taken(self, accept: Accept) -> bool:
        """Tell whether a job takes the new sheet in: with walls, or as one that none stands on, for what it says."""
        is_bare = all(run.before.sheet != self.old.id for run in self.runs)
        return accept != "none" and (is_bare or bool(self.chosen(accept)))

    def anew(self, accept: Accept | Sequence[str]) -> tuple[RoomsAnew, ...]:
        """Places with other rooms that a list of ids stands for; only a person takes them, one by one."""
        if isinstance(accept, str):
            return ()
        return tuple(p for p in self.rooms_anew if p.key in accept or any(run in accept for run in p.runs))


@edit("Call sheet {sheet} {number}")
def _Register(job: Job, *, sheet: int, number: str, replaced_by: int | None) -> Iterator[ChangeEntry]:
    """Give a sheet its number and its newer revision in the register."""
    yield put(job, "sheet", str(sheet), replace(job.sheets[sheet], number=number, replaced_by=replaced_by))


def accept_revision(store: JobStore, revision: Revision, accept: Accept | Sequence[str]) -> Change | None:
    """Take a new issue into the job with the runs that are accepted, as one edit that can be undone.

    Runs that are not accepted stay on the old sheet, which stays in the register and can still be measured. With "none"
    nothing is done. Raises `InputError` when a run is named that has no proposal.

    Parameters
    ----------
    accept
        "sure": proposals of which every part was found. "all": those that changed too, with runs whose wall is gone
        removed; what is to be looked at stays on the old sheet. "none". Or the ids of runs: where rooms were parted or
        joined there, the rooms that the new sheet draws are taken.
    """
    if accept == "none":
        return None
    edit, sources = revision_edit(store.job, revision, accept), {revision.source.sha256: revision.data}
    return store.do(edit, sources=sources)


def revision_edit(job: Job, revision: Revision, accept: Accept | Sequence[str]) -> Edit:
    """Return the edit by which a job takes what is accepted of a new issue, as `accept_revision` does it."""
    chosen = revision.chosen(accept)
    new = _with_what_is_open(job, revision, chosen)
    for carried in chosen:
        if job.runs.get(carried.before.id) != carried.before:
            raise EditError(
                f"wall {carried.before.id} has changed since the new revision was compared", remedy="Compare it again."
            )
    edits: list[Edit] = []
    if new.id not in job.sheets:
        sources = () if new.source in job.sources else (revision.source,)
        edits.append(AddSheets(sources=sources, sheets=(new,)))
        edits.extend(PutRegion(region=region) for region in revision.regions)
        edits.extend(SetCalibration(calibration=scale) for scale in revision.scales)
    elif new.findings != job.sheets[new.id].findings:
        written = tuple(found for found in new.findings if found.about == "written")
        edits.append(PutFindings(sheet=new.id, about=("written",), findings=written))
    edits.extend(_handed_on(job, revision.old, new))
    edits.extend(_registered(revision.old, new))
    anew = revision.anew(accept)
    replaced = {run for place in anew for run in place.runs}
    walls = [wall for place in anew for _, own in place.rooms for wall in own]
    edits.extend(Remove(kind="run", id=id) for id in replaced)
    edits.extend(PutRoom(room=room) for place in anew for room, _ in place.rooms)
    edits.extend(PutRun(run=wall) for wall in walls)
    for carried in chosen:
        if carried.before.id in replaced:
            continue
        after = carried.after
        edits.append(Remove(kind="run", id=carried.before.id) if after is None else PutRun(run=after))
    title = f"{TITLE} {revision.old.number or f'sheet {revision.old.id}'} to {_issue(new)}"
    return Batch(title=f"{title}: {len(chosen)} walls" if chosen else title, edits=tuple(edits))


def _with_what_is_open(job: Job, revision: Revision, taken: Sequence[CarriedRun]) -> Sheet:
    """The new sheet with what is written otherwise and taking proposals does not carry out.

    That is what is said of walls that are taken, and what schedules say of walls on other sheets until these are.
    """
    ids = {one.before.id for one in taken}
    replaced = {run for place in revision.anew(tuple(ids)) for run in place.runs}
    left = [r for r in revision.runs if r.before.sheet != revision.old.id and r.before.id not in ids]
    notes = [note for one in left for note in one.notes]
    for one in taken:
        if one.before.id not in replaced:
            room = job.rooms.get(one.before.room or "")
            notes += [f"{room_label(room) if room else one.before.id}: {note}" for note in one.written]
    known = [found.text for found in revision.sheet.findings if found.about == "written"]
    return with_findings(revision.sheet, list(dict.fromkeys((*known, *notes))))


def _handed_on(job: Job, old: Sheet, new: Sheet) -> list[Edit]:
    """Move what is open of what is written on the old sheet to the new one: nobody looked at it yet.

    That a newer revision was not taken is settled by this one.
    """
    written = [found for found in job.sheets[old.id].findings if found.about == "written"]
    if not written:
        return []
    known = {found.text for found in new.findings}
    moved = [
        found for found in written
        if found.text not in known and not found.text.startswith((NOT_TAKEN, IS_OLDER))
        and not is_settled(job, old, found)
    ]  # fmt: skip
    here = tuple(found for found in new.findings if found.about == "written")
    return [
        PutFindings(sheet=old.id, about=("written",), findings=()),
        PutFindings(sheet=new.id, about=("written",), findings=(*here, *moved)),
    ]


def _registered(old: Sheet, new: Sheet) -> list[Edit]:
    """Give the sheet that is taken in the plain number, and the old one its revision behind the number.

    The old sheet is the new one's predecessor from now on, also where it is the later one that somebody goes back from.
    """
    plain_old, plain_new = (s.number.removesuffix(f" ({_mark(s)})") for s in (old, new))
    number = f"{plain_old} ({_mark(old)})" if plain_old else ""
    return [
        _Register(sheet=old.id, number=number, replaced_by=new.id),
        _Register(sheet=new.id, number=plain_new, replaced_by=None),
    ]


def _mark(sheet: Sheet) -> str:
    return sheet.revision or sheet.date or "old"


def _issue(sheet: Sheet) -> str:
    return f"revision {sheet.revision}" if sheet.revision else sheet.date or f"sheet {sheet.id}"


def page_of(data: bytes, name: str, old: Sheet, page: int | None) -> Sheet:
    """Return the page of a new file that is a revision of a sheet: the one named, else that of its number.

    Raises `InputError` when there is no such page, or more than one could be meant.
    """
    sheets, _ = read_sheets(data, name)
    if page is not None:
        found = [s for s in sheets if s.page == page]
        if not found:
            raise InputError(f"{name} has no page {page}", remedy=f"It has pages 1 to {len(sheets)}.")
        return found[0]
    same = [s for s in sheets if s.number and s.number == old.number]
    if len(same) == 1:
        return same[0]
    if len(sheets) == 1:
        return sheets[0]
    raise InputError(
        f"{name} has {len(sheets)} pages and {'none' if not same else 'more than one'} is {old.number or 'named'}",
        remedy="Name the page: --page N.",
    )


def numbered(job: Job, sheet: Sheet, id: int | None = None) -> Sheet:
    """Give the new sheet its id: the one it has where it was taken in before, else the next."""
    for known in job.sheets.values():
        if (known.source, known.page) == (sheet.source, sheet.page):
            return known
    return replace(sheet, id=id or max(job.sheets, default=0) + 1)


def told_of_issue(old: Sheet, new: Sheet) -> tuple[str, ...]:
    """Say that a sheet is by revision or date older than the one in whose place it comes, or has another title."""
    marks = [f"revision {s.revision}" if old.revision and new.revision else f"of {s.date}" for s in (new, old)]
    told = f"{IS_OLDER}{marks[0]} and comes in place of one that is {marks[1]}: look whether it is the newer one"
    titles = [" ".join(s.title.split()) for s in (new, old)]
    called = f"{IS_OLDER}called “{titles[0]}” and was called “{titles[1]}”: look whether it shows the same"
    is_other = all(titles) and titles[0].casefold() != titles[1].casefold()
    return (told,) * (is_newer(old, new) and marks[0] != marks[1]) + (called,) * is_other


def names_of(job: Job) -> frozenset[str]:
    """Numbers of the rooms of a job and its finish codes, in lower case: a text that has one may speak of walls."""
    return frozenset(
        name.casefold() for name in (*(r.number for r in job.rooms.values()), *dict(job.settings.finish_codes)) if name
    )


def with_findings(new: Sheet, unread: Sequence[str]) -> Sheet:
    """The new sheet with what stays an open point of it once it is accepted."""
    others = tuple(found for found in new.findings if found.about != "written")
    return replace(new, findings=(*others, *(Finding(about="written", text=text) for text in unread)))
