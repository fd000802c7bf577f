"""Compare a new revision of a sheet with the one in a job: how it lies, what changed, a proposal for each wall."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace

import shapely

from takeoff.actions.given import openings_like
from takeoff.actions.revising import Revision, names_of, numbered, page_of, told_of_issue, with_findings
from takeoff.actions.rooms_anew import RoomsAnew, rooms_anew
from takeoff.actions.scale_basis import note_scale
from takeoff.actions.schedule_revisions import (
    UNREAD,
    doubts_of,
    has_its_openings,
    has_its_words,
    is_same_floor,
    proposals_by,
    read_rows,
    scale_doubts,
    schedule_revision,
)
from takeoff.errors import InputError
from takeoff.job.job import Job, calibration_key
from takeoff.job.store import JobStore
from takeoff.model.plan import Calibration, ScaleRegion, Sheet, Source
from takeoff.model.walls import Run
from takeoff.revise.carry import CarriedRun, carry_run
from takeoff.revise.changes import SMALLEST
from takeoff.revise.drawn_walls import NewWall
from takeoff.revise.governing import ScheduleRows, governed, with_values
from takeoff.revise.registration import Box
from takeoff.revise.same_floor import is_beyond, is_cut
from takeoff.revise.sheet_pair import Pairs, SheetPair
from takeoff.revise.sheet_texts import SheetTexts, shows_schedule
from takeoff.revise.sides import Scene, make_scene
from takeoff.revise.text_changes import is_note
from takeoff.sheet.files import plan_contents, source_of

Progress = Callable[[float], None]

MARGIN = 1.0
"""Metres about the traced runs that are compared."""
ABOUT = 0.5
"""Metres about a run within which the new sheet must draw something to show it."""
CLOUDED = 0.2
"""Part of a revision cloud within a room from which it may be about it (judgement, no source)."""
AT_FACE, RECOLOURED = 0.05, 0.5
"""Metres from a wall's face within which lines are its own, and of them that are told where they changed colour
(judgement, no source)."""
ROUND = 6.0
"""Metres round a room at the least; what is shorter and gone is a pillar (judgement, no source)."""


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
    beside: Sequence[ScheduleRows] = (),
    compared: Collection[int] = (),
) -> Revision:
    """Compare a new revision of a sheet with the one in the job; the job is not changed.

    Of a sheet of schedules, without walls and scale, these are compared, for the walls of all sheets. Raises
    `InputError` when the new file is the one in the job, or has no such page, `SheetError` when it cannot be read, or
    the sheets cannot be registered well enough, `CalibrationError` when the old sheet has no scale and shows no
    schedule.

    Parameters
    ----------
    sheet
        The sheet as it is in the job, with its scale and its runs.
    page
        Page of the new file; without it the one with the same sheet number, or the only one.
    points
        Pairs of points of the old and the new sheet that are the same, picked by hand, in sheet points; with two or
        more of them nothing else is used to register.
    smallest
        Size in metres below which a change of linework is left out.
    new_id
        Id that the new sheet gets where it is not in the job yet; the next one without it.
    beside, compared
        Changed rows of schedules on other sheets of the same set; ids of all of the job's sheets compared with it.
    """
    job, data = store.job, plan_contents(data, name)[0]
    source = source_of(data, name)
    if source.sha256 == sheet.source:
        raise InputError(f"{name} is the file that the sheet is from", remedy="Name the file of the new revision.")
    new = numbered(job, page_of(data, name, sheet, page), new_id)
    runs = [run for run in job.runs.values() if run.sheet == sheet.id]
    both = SheetTexts(old_data=store.source(sheet.source), new_data=data, old=sheet, new=new)
    if not runs and calibration_key(sheet.id) not in job.calibrations and shows_schedule(both.texts[0]):
        return schedule_revision(job, both, source, read_rows(both, both.texts, job.settings.display.length))
    scale, note = job.calibration_of(sheet.id), note_scale(new)
    m_per_pt = math.sqrt(scale.mx * scale.my)
    pair = SheetPair(
        old_data=both.old_data, new_data=data, old=sheet, new=new, scale=scale, focus=_focus(sheet, runs, scale),
        points=points, limit=2.0 * scale.pick * m_per_pt, smallest=smallest,
        hint=None if note is None else m_per_pt / note,
    )  # fmt: skip
    return _compared(job, pair, runs, source, beside, {sheet.id, *compared}, progress or (lambda fraction: None))


def _compared(
    job: Job,
    pair: SheetPair,
    runs: Sequence[Run],
    source: Source,
    beside: Sequence[ScheduleRows],
    compared: Collection[int],
    tell: Progress,
) -> Revision:
    tell(0.05)
    if pair.is_vector and not pair.draws(runs):
        pair = pair.in_pictures()
    tell(0.5)
    old, new = pair.old, pair.new
    scales, regions = _carried_scales(job, pair)
    shown = _shown(pair, runs, scales[0])
    differences = pair.differences
    tell(0.7)
    carried = _carried(job, pair, shown, scales, lambda part: tell(0.7 + 0.25 * part))
    share = _share(pair, runs, shown, carried)
    doubts = list(doubts_of(job, pair, share))
    is_certain = is_same_floor(job, pair, shown, share, doubts)
    is_certain &= has_its_words(pair, shown, scales[0], doubts) & has_its_openings(carried, doubts)
    carried += [_not_shown(run) for run in runs if run not in shown]
    new_walls = pair.new_walls(carried, scales[0])
    anew = rooms_anew(job, pair, carried, scales=scales, regions=regions, new_walls=new_walls)
    length = job.settings.display.length
    own = pair.schedules(length)
    wrong = {one: one.words(length) for one in pair.contradictions(scales[0])}
    names = names_of(job)
    notes_beside = (f"beside the plan, {c.words()}" for c in differences.changes if is_note(c, names))
    unread = (*told_of_issue(old, new), *own.unread, *wrong.values(), *notes_beside)
    doubts.extend(unread)
    rows, settled = [own, *beside], {}
    for k, one in enumerate(carried):
        room = job.rooms.get(one.before.room or "")
        carried[k], settled[one.before.id] = with_values(one, room, rows, length, differences.changes, scales[0])
    notes = governed(carried, job.rooms, changes=differences.changes, rows=rows, scale=scales[0], settled=settled)
    said = {
        one.before.id: (
            *_told(job, pair, one, new_walls, anew),
            *(note.text for note in notes.get(one.before.id, ())),
            *(words for dimension, words in wrong.items() if dimension.stands_at(one, scales[0])),
        )
        for one in carried
    }
    looked_at = []
    for one in carried:
        written = [note.text for note in notes.get(one.before.id, ()) if one.after is not None and not note.is_done]
        one = replace(one, written=tuple(written))
        looked_at.append(_looked_at(one, said[one.before.id], is_certain=is_certain))
    return Revision(
        old=old, sheet=with_findings(new, [doubt for doubt in doubts if doubt in (UNREAD, *unread)]), source=source,
        data=pair.new_data, registration=pair.registration, scales=scales, regions=regions, changes=differences.changes,
        removed=differences.removed, added=differences.added, new_walls=new_walls, doubts=tuple(doubts),
        runs=(*looked_at, *proposals_by(job, own, without=compared)), schedule_changes=(*own.openings, *own.finishes),
        rooms_anew=anew,
    )  # fmt: skip


def _share(pair: SheetPair, runs: Sequence[Run], shown: Sequence[Run], carried: Sequence[CarriedRun]) -> float:
    """Part of the old drawing that the new sheet shows, of the part of the building that it shows."""
    if not pair.is_vector and carried:
        return sum(one.still for one in carried) / sum(one.lengths[0] for one in carried)
    if not shown:
        return pair.registration.share
    found, is_part = pair.share(_focus(pair.old, shown, pair.scale))
    return found if is_part or len(shown) < len(runs) else pair.registration.share


def _shown(pair: SheetPair, runs: Sequence[Run], scale: Calibration) -> list[Run]:
    """The runs in the part of the building that the new sheet shows."""
    margin = ABOUT / math.sqrt(scale.mx * scale.my)
    lines = {run.id: [pair.registration.carry(p) for p in run.path_pt.flattened(1.0)] for run in runs}
    return [run for run in runs if not is_beyond(lines[run.id], pair.new, *pair.lines, margin)]


def _carried(
    job: Job, pair: SheetPair, runs: Sequence[Run], scales: Sequence[Calibration], tell: Progress
) -> list[CarriedRun]:
    """A proposal for each run that the new sheet shows."""
    known = [o for run in job.runs.values() for o in run.openings]
    system = job.settings.units
    scenes: dict[str, Scene] = {}
    by_key = {calibration_key(c.sheet, c.region): c for c in scales}
    carried = []
    for i, run in enumerate(runs):
        region = job.region_for(run)
        key = calibration_key(pair.new.id, None if region is None else f"{region}@{pair.new.id}")
        if key not in scenes:
            scenes[key] = make_scene(
                *pair.lines, by_key[key], pair.tolerance_pt, reach_pt=pair.reach_pt,
                pictures=None if pair.is_vector else pair.differences,
            )  # fmt: skip
        carried.append(
            carry_run(
                run, pair.registration, scenes[key], scale=by_key[key], sheet=pair.new.id,
                like=openings_like([*run.openings, *known], system), length=job.settings.display.length,
            )
        )  # fmt: skip
        tell((i + 1) / len(runs))
    return carried


def _not_shown(run: Run) -> CarriedRun:
    """The proposal for a run beyond the part of the building that the new sheet shows: it stays where it is."""
    return CarriedRun(
        before=run, after=run, verdict="not on this sheet", sure=False, lengths=(0.0, 0.0), moved=0.0,
        notes=("the new sheet does not show this part; it stays on the old sheet",),
    )  # fmt: skip


def _told(
    job: Job, pair: SheetPair, one: CarriedRun, new_walls: Sequence[NewWall], anew: Sequence[RoomsAnew]
) -> Iterator[str]:
    """What a person has to look at although the wall itself was found."""
    for wall in new_walls:
        if one.before.id in wall.runs and not wall.stands_free:
            yield f"a new wall of {job.settings.display.length(wall.length)} stands in it"
    yield from (place.words for place in anew if one.before.id in place.runs)
    by_pt = pair.registration.scale / pair.m_per_pt
    margin = ABOUT * by_pt
    points = [pair.registration.carry(p) for p in one.before.path_pt.flattened(1.0)]
    place = shapely.Polygon(points) if one.before.closed else shapely.LineString(points)
    changes = [(c, shapely.box(*c.box_pt)) for c in pair.differences.changes if c.on_plan]
    if any(c.kind == "marked" and place.intersects(box) for c, box in changes):
        yield "marks in colour are new in it or at it: read what they say"
    seen = shapely.union_all([box for c, box in changes if c.kind not in ("cloud", "tag")])
    share = CLOUDED if one.before.closed else 0.0
    clouds = [box for c, box in changes if c.kind == "cloud" and place.intersects(box)]
    if any(place.intersection(box).area >= share * box.area and not box.intersects(seen) for box in clouds):
        yield "a revision cloud stands in it, and nothing in the cloud is seen to have changed: read what it is for"
    way = shapely.LineString([*points, *points[: one.before.closed]])
    along = pair.recoloured.about(way, pair.tolerance_pt + AT_FACE * by_pt)
    own = shapely.intersection(shapely.linestrings(along.reshape(-1, 2, 2)), way.buffer(2 * AT_FACE * by_pt))
    if shapely.length(own).sum() >= RECOLOURED * by_pt:
        yield "walls of it are drawn in another pen or colour: they may be new, stay as they are, or be pulled down"
    if is_cut(points, pair.new, pair.lines[0], margin):
        yield "the new sheet ends within this wall"


def _looked_at(one: CarriedRun, notes: Sequence[str], *, is_certain: bool) -> CarriedRun:
    """Have a person look at a run of which something new is told, such as by its room, its marks or a new wall."""
    if one.verdict == "not on this sheet":
        return one
    is_room = one.verdict == "wall gone" and one.before.closed and one.lengths[0] > ROUND
    if is_room:
        notes = ("a whole room is gone: it may lie beyond what the new sheet shows", *notes)
    if not notes and is_certain:
        return one
    if not notes:
        notes = ("it is not certain that both sheets show the same floor",)
    # a wall that is gone took its label with it
    verdict = one.verdict if is_certain and one.verdict == "wall gone" and not is_room else "look at it"
    return replace(one, sure=False, verdict=verdict, notes=(*one.notes, *notes))


def _focus(sheet: Sheet, runs: Sequence[Run], scale: Calibration) -> Box:
    """Box about all that was traced on a sheet; the whole sheet where nothing was."""
    if not runs:
        return (0.0, 0.0, sheet.width_pt, sheet.height_pt)
    by = MARGIN / math.sqrt(scale.mx * scale.my)
    points = [p for run in runs for p in run.path_pt.flattened(1.0)]
    left, top, right, bottom = shapely.MultiPoint(points).bounds
    return (max(left - by, 0.0), max(top - by, 0.0), min(right + by, sheet.width_pt), min(bottom + by, sheet.height_pt))


def _carried_scales(job: Job, pair: SheetPair) -> tuple[tuple[Calibration, ...], tuple[ScaleRegion, ...]]:
    """Scales and scale regions of the old sheet on the new one; those that the new sheet has already stay.

    Where the new sheet's note says otherwise that stays a doubt of the scale.
    """
    old, new, registration = pair.old, pair.new, pair.registration
    whole = registration.scale_of(job.calibration_of(old.id), new.id)
    whole = replace(whole, doubts=(*whole.doubts, *scale_doubts(pair)))
    scales = [job.calibrations.get(calibration_key(new.id), whole)]
    regions = []
    for region in job.regions.values():
        if region.sheet != old.id or calibration_key(old.id, region.id) not in job.calibrations:
            continue
        id = f"{region.id}@{new.id}"
        outline = tuple(registration.carry(p) for p in region.outline_pt)
        regions.append(job.regions.get(id) or ScaleRegion(id=id, sheet=new.id, outline_pt=outline))
        known = job.calibrations.get(calibration_key(new.id, id))
        scales.append(known or replace(registration.scale_of(job.calibration_of(old.id, region.id), new.id), region=id))
    return tuple(scales), tuple(regions)
