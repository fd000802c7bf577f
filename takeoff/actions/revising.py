"""A new issue of a sheet: registered, compared, and the runs carried across as far as a person accepts."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from takeoff.errors import CalibrationError, EditError, InputError, SheetError
from takeoff.job.changes import put
from takeoff.job.edits import AddSheets, Batch, Change, Edit, PutRegion, PutRun, RemoveRun, SetCalibration
from takeoff.job.job import Job, calibration_key
from takeoff.job.store import JobStore
from takeoff.model.plan import Calibration, ScaleRegion, Sheet, Source
from takeoff.model.walls import Run
from takeoff.revise.carry import CarriedRun, carry_run
from takeoff.revise.changes import SMALLEST, SheetChange
from takeoff.revise.governing import ScheduleChange, governed
from takeoff.revise.issues import IssuePair, Pairs
from takeoff.revise.new_walls import NewWall
from takeoff.revise.registration import Box, Floats, Registration
from takeoff.revise.same_floor import is_beyond, likeness
from takeoff.revise.sides import Scene, make_scene
from takeoff.sheet.files import plan_contents, read_sheets, source_of
from takeoff.sheet.scales import parse_scale_note, ratio_text

Accept = Literal["sure", "all", "none"]
Progress = Callable[[float], None]

TITLE = "Revise"
"""How the journal's line of a revision begins."""
MARGIN = 1.0
"""Metres about the traced runs that are compared."""
ABOUT = 0.5
"""Metres about a run within which the new sheet must draw something to show it."""
LEFT = ("look at it", "not on this sheet")
"""Verdicts that only a person takes, run by run."""
HALF = 0.5
"""Part of the old drawing that is looked for on the new sheet; with less of it the registration is doubted."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Revision:
    """A new issue compared with the old one; nothing of it is in the job yet.

    ``sheet`` is the new sheet with the id it gets, ``scales`` its calibrations and ``regions`` its scale regions,
    carried from the old sheet. ``runs`` are proposals for every run that is still on the old sheet; ``new_walls`` is
    what is drawn like their walls and is new. ``schedule_changes`` are rows of schedules on the sheet that changed.
    ``removed`` and ``added`` are the lines, shape (n, 4) in points of the new sheet, that only one revision has.
    Pictures give neither new walls nor lines.
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

    def chosen(self, accept: Accept | Sequence[str]) -> tuple[CarriedRun, ...]:
        """Proposals that "sure", "all", "none" or a list of run ids stands for.

        "all" leaves those of which something is to be looked at, and those that the new sheet does not show.
        """
        if accept == "none":
            return ()
        if isinstance(accept, str):
            return tuple(r for r in self.runs if r.sure or (accept == "all" and r.verdict not in LEFT))
        known = {r.before.id: r for r in self.runs}
        missing = [id for id in accept if id not in known]
        if missing:
            raise InputError(f'no run "{missing[0]}" is to be carried', remedy=f"Known: {', '.join(known) or 'none'}.")
        return tuple(known[id] for id in dict.fromkeys(accept))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rename:
    """Give a sheet another number in the register."""

    sheet: int
    number: str

    @property
    def label(self) -> str:
        """What it does, for people."""
        return f"Call sheet {self.sheet} {self.number}"

    def apply(self, job: Job) -> Change:
        """Check the edit against a job and return its change."""
        key = str(self.sheet)
        return Change(self.label, (put(job, "sheet", key, replace(job.sheets[self.sheet], number=self.number)),))


def compare_revision(
    store: JobStore,
    sheet: Sheet,
    name: str,
    data: bytes,
    *,
    page: int | None = None,
    points: Pairs = (),
    smallest: float = SMALLEST,
    progress: Progress | None = None,
    new_id: int | None = None,
) -> Revision:
    """Compare a new revision of a sheet with the one in the job; the job is not changed.

    Parameters
    ----------
    store
        The open job.
    sheet
        The sheet as it is in the job, with its scale and its runs.
    name, data
        The new plan file: its name and its bytes.
    page
        Page of the new file; without it the one with the same sheet number, or the only one.
    points
        Pairs of points of the old and the new sheet that are the same, picked by hand, in sheet points; with two or
        more of them nothing else is used to register.
    smallest
        Size in metres below which a change of linework is left out.
    progress
        Is told the fraction done, 0 to 1.
    new_id
        Id that the new sheet gets where it is not in the job yet; the next one without it.

    Returns
    -------
    Revision
        Registration, changes, and a proposal for each run on the old sheet.

    Raises
    ------
    InputError
        When the new file is the one in the job, or has no such page.
    SheetError
        When it cannot be read, or the sheets cannot be registered well enough.
    CalibrationError
        When the old sheet has no scale.
    """
    tell = progress or (lambda fraction: None)
    job = store.job
    scale = job.calibration_of(sheet.id)
    data, _ = plan_contents(data, name)
    source = source_of(data, name)
    if source.sha256 == sheet.source:
        raise InputError(f"{name} is the file that the sheet is from", remedy="Name the file of the new revision.")
    new = _numbered(job, _page_of(data, name, sheet, page), new_id)
    runs = [run for run in job.runs.values() if run.sheet == sheet.id]
    limit = 2.0 * scale.pick * math.sqrt(scale.mx * scale.my)
    tell(0.05)
    pair = IssuePair(
        old_data=store.source(sheet.source), new_data=data, old=sheet, new=new, scale=scale,
        focus=_focus(sheet, runs, scale), points=points, limit=limit, smallest=smallest, hint=_hint(new, scale),
    )  # fmt: skip
    registration = pair.register()
    tell(0.5)
    doubts = list(_doubts(job, sheet, new, registration, scale))
    is_certain = _is_same_floor(job, pair, runs, registration, doubts)
    scales, regions = _carried_scales(job, sheet, new, registration)
    differences = pair.differences(registration)
    tell(0.7)
    carried = _carried(job, pair, runs, registration, scales, is_certain, lambda part: tell(0.7 + 0.25 * part))
    show = job.settings.display
    openings, finishes, unread = pair.schedules(show.length)
    doubts.extend(unread)
    changed = governed(
        carried, job.rooms, changes=differences.changes, openings=openings, finishes=finishes, scale=scales[0]
    )
    tell(1.0)
    return Revision(
        old=sheet,
        sheet=new,
        source=source,
        data=data,
        registration=registration,
        scales=scales,
        regions=regions,
        changes=differences.changes,
        removed=differences.removed,
        added=differences.added,
        runs=tuple(_with_notes(one, changed.get(one.before.id, ())) for one in carried),
        new_walls=pair.new_walls(registration, carried, scales[0]),
        doubts=tuple(doubts),
        schedule_changes=(*openings, *finishes),
    )


def _is_same_floor(
    job: Job, pair: IssuePair, runs: Sequence[Run], registration: Registration, doubts: list[str]
) -> bool:
    """Tell whether proposals may be sure at all; a sheet that shows other rooms is refused.

    Raises
    ------
    SheetError
        When the printed rooms say that the new sheet shows another floor, and no points were picked by hand.
    """
    found = likeness(runs, job.rooms, registration, *pair.texts())
    kept, of = found.numbers if found.numbers[1] else found.names
    said = f"{kept} of {of} room numbers or names of the old sheet stand in their rooms on the new one"
    by_hand = registration.method == "points"
    if found.is_other_floor and not by_hand:
        raise SheetError(
            f"the new sheet seems to show another floor: only {said}, and {found.lines:.0%} of its lines agree",
            remedy="Choose the sheet of the same floor. If it is, pick two points that both sheets show.",
        )
    if found.is_uncertain:
        doubts.append(
            f"it is not certain that the new sheet shows the same floor: {said}; "
            f"{found.lines:.0%} of the lines agree, so nothing is taken for sure"
        )
    # points picked by hand may be the wrong ones, and then all walls seem to have moved alike
    return not found.is_uncertain and not (by_hand and registration.share < HALF)


def _carried(
    job: Job,
    pair: IssuePair,
    runs: Sequence[Run],
    registration: Registration,
    scales: Sequence[Calibration],
    is_certain: bool,
    tell: Progress,
) -> list[CarriedRun]:
    """A proposal for each run that is on the old sheet."""
    known = [o for run in job.runs.values() for o in run.openings]
    show = job.settings.display
    old_lines, new_lines = pair.lines(registration)
    scenes: dict[str, Scene] = {}
    by_key = {calibration_key(c.sheet, c.region): c for c in scales}
    carried = []
    for i, run in enumerate(runs):
        region = job.region_for(run)
        key = calibration_key(pair.new.id, None if region is None else _region_id(region, pair.new))
        own = by_key[key]
        if key not in scenes:
            scenes[key] = make_scene(
                old_lines,
                new_lines,
                own,
                pair.tolerance_pt(registration),
                reach_pt=pair.reach_pt(registration),
                is_directed=not pair.is_vector,
            )
        points = [registration.carry(p) for p in run.path_pt.flattened(1.0)]
        margin = ABOUT / math.sqrt(own.mx * own.my)
        if pair.is_vector and is_beyond(points, pair.new, old_lines, new_lines, margin):
            carried.append(_not_shown(run))
        else:
            one = carry_run(
                run, registration, scenes[key], scale=own, sheet=pair.new.id,
                known=[*run.openings, *known], length=show.length,
            )  # fmt: skip
            carried.append(replace(one, sure=one.sure and is_certain))
        tell((i + 1) / len(runs))
    return carried


def _not_shown(run: Run) -> CarriedRun:
    """The proposal for a run beyond the part of the building that the new sheet shows: it stays where it is."""
    return CarriedRun(
        before=run, after=run, verdict="not on this sheet", sure=False, lengths=(0.0, 0.0), moved=0.0,
        notes=("the new sheet does not show this part; it stays on the old sheet",),
    )  # fmt: skip


def _with_notes(one: CarriedRun, notes: Sequence[str]) -> CarriedRun:
    """Have a person look at a run whose room, marks or schedule rows say something new."""
    if not notes:
        return one
    verdict = "look at it" if one.verdict == "unchanged" else one.verdict
    return replace(one, sure=False, verdict=verdict, notes=(*one.notes, *notes))


def accept_revision(
    store: JobStore, revision: Revision, accept: Accept | Sequence[str], *, who: str, at: str
) -> Change | None:
    """Take a new issue into the job with the runs that are accepted, as one edit that can be undone.

    Runs that are not accepted stay on the old sheet, which stays in the register and can still be measured. With
    "none" nothing is done.

    Parameters
    ----------
    store
        The open job.
    revision
        What `compare_revision` found in it.
    accept
        "sure": proposals of which every part was found. "all": those that changed too, with runs whose wall is gone
        removed; what is to be looked at stays on the old sheet. "none". Or the ids of runs.

    Raises
    ------
    InputError
        When a run is named that has no proposal.
    EditError
        When the job has changed since it was compared.
    """
    if accept == "none":
        return None
    chosen = revision.chosen(accept)
    job, new = store.job, revision.sheet
    for carried in chosen:
        if job.runs.get(carried.before.id) != carried.before:
            raise EditError(
                f"run {carried.before.id} has changed since the new revision was compared", remedy="Compare it again."
            )
    edits: list[Edit] = []
    if new.id not in job.sheets:
        sources = () if new.source in job.sources else (revision.source,)
        edits.append(AddSheets(sources=sources, sheets=(new,)))
        edits.extend(PutRegion(region=region) for region in revision.regions)
        edits.extend(SetCalibration(calibration=scale) for scale in revision.scales)
    edits.extend(_numbers_moved(job, revision.old, new))
    for carried in chosen:
        after = carried.after
        edits.append(RemoveRun(id=carried.before.id) if after is None else PutRun(run=after))
    title = f"{TITLE} {revision.old.number or f'sheet {revision.old.id}'} to {_issue(new)}: {len(chosen)} runs"
    return store.do(
        Batch(title=title, edits=tuple(edits)), who=who, at=at, sources={revision.source.sha256: revision.data}
    )


def _numbers_moved(job: Job, old: Sheet, new: Sheet) -> list[Edit]:
    """Give the plain sheet number to the sheet that is taken in, and the old one its revision behind the number."""
    plain = old.number.removesuffix(f" ({_mark(old)})")
    if not plain or plain != new.number.removesuffix(f" ({_mark(new)})"):
        return []
    edits: list[Edit] = []
    if old.number == plain:
        edits.append(_Rename(sheet=old.id, number=f"{plain} ({_mark(old)})"))
    if new.id in job.sheets and new.number != plain:
        edits.append(_Rename(sheet=new.id, number=plain))
    return edits


def _mark(sheet: Sheet) -> str:
    return sheet.revision or sheet.date or "old"


def _page_of(data: bytes, name: str, old: Sheet, page: int | None) -> Sheet:
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


def _numbered(job: Job, sheet: Sheet, id: int | None = None) -> Sheet:
    """Give the new sheet its id: the one it has where it was taken in before, else the next."""
    for known in job.sheets.values():
        if (known.source, known.page) == (sheet.source, sheet.page):
            return known
    return replace(sheet, id=id or max(job.sheets, default=0) + 1)


def _focus(sheet: Sheet, runs: Sequence[Run], scale: Calibration) -> Box:
    """Box about all that was traced on a sheet; the whole sheet where nothing was."""
    if not runs:
        return (0.0, 0.0, sheet.width_pt, sheet.height_pt)
    points = [p for run in runs for p in run.path_pt.flattened(1.0)]
    by = MARGIN / math.sqrt(scale.mx * scale.my)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    left, top = max(min(xs) - by, 0.0), max(min(ys) - by, 0.0)
    return (left, top, min(max(xs) + by, sheet.width_pt), min(max(ys) + by, sheet.height_pt))


def _note(sheet: Sheet) -> float | None:
    try:
        return parse_scale_note(sheet.scale_note) if sheet.scale_note else None
    except CalibrationError:
        return None


def _hint(new: Sheet, scale: Calibration) -> float | None:
    """Points of the new sheet for each point of the old one, from the new sheet's note."""
    note = _note(new)
    return None if note is None else math.sqrt(scale.mx * scale.my) / note


def _doubts(job: Job, old: Sheet, new: Sheet, registration: Registration, scale: Calibration) -> tuple[str, ...]:
    doubts = []
    note, own = _note(new), math.sqrt(scale.mx * scale.my) / registration.scale
    if note is not None and abs(own / note - 1.0) > max(0.005, 3.0 * scale.u_scale):
        doubts.append(
            f"the new sheet's note says {ratio_text(note)}, "
            f"the old sheet's scale carried over gives 1:{own * 72 / 0.0254:.4g}"
        )
    if old.number and new.number and old.number != new.number:
        doubts.append(f"the new sheet is numbered {new.number}, the old one {old.number}")
    if registration.share < HALF:
        said = f"only {registration.share:.0%} of the old drawing was found on the new sheet"
        by_hand = registration.method == "points"
        doubts.append(f"{said}: check the points, nothing is taken for sure" if by_hand else said)
    if any(r.sheet == old.id for r in job.regions.values()):
        doubts.append("scale regions were carried as they lie on the sheet; look whether their details moved")
    return tuple(doubts)


def _region_id(region: str, new: Sheet) -> str:
    return f"{region}@{new.id}"


def _carried_scales(
    job: Job, old: Sheet, new: Sheet, registration: Registration
) -> tuple[tuple[Calibration, ...], tuple[ScaleRegion, ...]]:
    """Scales and scale regions of the old sheet on the new one; those that the new sheet has already stay."""
    whole = registration.scale_of(job.calibration_of(old.id), new.id)
    scales = [job.calibrations.get(calibration_key(new.id), whole)]
    regions = []
    for region in job.regions.values():
        if region.sheet != old.id or calibration_key(old.id, region.id) not in job.calibrations:
            continue
        id = _region_id(region.id, new)
        outline = tuple(registration.carry(p) for p in region.outline_pt)
        regions.append(job.regions.get(id) or ScaleRegion(id=id, sheet=new.id, outline_pt=outline))
        known = job.calibrations.get(calibration_key(new.id, id))
        scales.append(known or replace(registration.scale_of(job.calibration_of(old.id, region.id), new.id), region=id))
    return tuple(scales), tuple(regions)


def _issue(sheet: Sheet) -> str:
    return f"revision {sheet.revision}" if sheet.revision else sheet.date or f"sheet {sheet.id}"
