"""Edits: each checks everything first, then gives one ``Change`` that can be applied, stored and undone.

Those of walls and their points are in `takeoff.job.wall_edits`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

from takeoff.errors import EditError, TakeoffError
from takeoff.job.changes import SETTINGS, current, edit, merged, needed, put, run_with
from takeoff.job.changes import Change as Change
from takeoff.job.changes import ChangeEntry as ChangeEntry
from takeoff.job.changes import Edit as Edit
from takeoff.job.changes import apply_change as apply_change
from takeoff.job.job import Job, JobSettings, calibration_key
from takeoff.job.reshape import at_scale
from takeoff.model.drafting import DraftingStyle
from takeoff.model.open_points import Confirmed, Settled, basis_of, put_basis
from takeoff.model.plan import Calibration, Finding, ScaleRegion, Sheet, Source
from takeoff.model.site import PackUse, Reading
from takeoff.model.systems import Product, System
from takeoff.model.walls import HeightProfile, Opening, Room, Run, check_opening_height


@edit(lambda sources, sheets: f"Add {len(sheets)} sheet{'s' * (len(sheets) != 1)}")
def AddSheets(job: Job, *, sources: tuple[Source, ...], sheets: tuple[Sheet, ...]) -> Iterator[ChangeEntry]:
    """Take plan files into the register; sheets are numbered on from those there are."""
    taken = set(job.sheets)
    for sheet in sheets:
        if sheet.id in taken:
            raise EditError(
                f"there is a sheet {sheet.id} already", remedy="Number new sheets on from the last.", where="sheets"
            )
        taken.add(sheet.id)
        if sheet.source not in job.sources and all(s.sha256 != sheet.source for s in sources):
            raise EditError(
                f"sheet {sheet.id} names a plan file that is not in the job",
                remedy="Add the file too.",
                where="sources",
            )
    yield from (put(job, "source", s.sha256, s) for s in sources)
    yield from (put(job, "sheet", str(s.id), s) for s in sheets)


@edit(lambda calibration: f"Set the scale of sheet {calibration_key(calibration.sheet, calibration.region)}")
def SetCalibration(job: Job, *, calibration: Calibration) -> Change:
    """Set the scale of a sheet or a scale region."""
    sheet, region = calibration.sheet, calibration.region
    label = f"Set the scale of {needed(job, 'sheet', str(sheet)).called}{f', {region}' if region else ''}"
    if region is not None and needed(job, "region", region).sheet != sheet:
        raise EditError(
            f'scale region "{region}" is on another sheet', remedy="Name the sheet it is on.", where="region"
        )
    entries = [put(job, "calibration", calibration_key(sheet, region), calibration)]
    old = job.calibrations.get(calibration_key(sheet, region)) or job.calibrations.get(str(sheet))
    if old is not None and (old.mx, old.my) != (calibration.mx, calibration.my):
        for run in job.runs.values():
            if run.sheet == sheet and (run.openings or run.height) and _in_region(job, run) == region:
                entries.append(put(job, "run", run.id, at_scale(run, old, calibration)))
    return Change(label, tuple(entries))


def _in_region(job: Job, run: Run) -> str | None:
    """Region that a run is in; one that crosses an edge is in none that has an id."""
    try:
        return job.region_for(run)
    except TakeoffError:
        return ""


@edit("Mark scale region {region.id}")
def PutRegion(job: Job, *, region: ScaleRegion) -> Iterator[ChangeEntry]:
    """Add or replace a scale region."""
    needed(job, "sheet", str(region.sheet))
    import shapely

    outline = region.outline_pt
    is_finite = all(math.isfinite(x) and math.isfinite(y) for x, y in outline)
    if len(outline) < 3 or not is_finite or not (p := shapely.Polygon(outline)).is_valid or p.area == 0:
        raise EditError(
            "the outline of the scale region crosses itself or has no area",
            remedy="Give three or more points X,Y around the detail, in order.",
            where="outline_pt",
        )
    old = job.regions.get(region.id)
    if old is not None and old.sheet != region.sheet:
        raise EditError(
            f'scale region "{old.id}" is on {job.sheets[old.sheet].called}',
            remedy="Choose another name.",
            where="sheet",
        )
    yield put(job, "region", region.id, region)


@edit("Set room {room.id}")
def PutRoom(job: Job, *, room: Room) -> Iterator[ChangeEntry]:
    """Add or replace a room."""
    yield put(job, "room", room.id, room)


@edit("Set wall {run.id}")
def PutRun(job: Job, *, run: Run) -> Iterator[ChangeEntry]:
    """Add or replace a run."""
    needed(job, "sheet", str(run.sheet))
    if run.room is not None:
        needed(job, "room", run.room)
    for opening in run.openings:
        check_opening_height(opening, _top(job, run))
    yield put(job, "run", run.id, run)


@edit("Set {opening.kind} on wall {run}")
def PutOpening(job: Job, *, run: str, opening: Opening, index: int | None = None) -> Iterator[ChangeEntry]:
    """Add an opening to a run (``index`` None) or replace the one at ``index``."""
    wall: Run = needed(job, "run", run)
    check_opening_height(opening, _top(job, wall))
    at = len(wall.openings) if index is None else index
    if index is not None:
        run_with(job, run, "opening", index)
    openings = (*wall.openings[:at], opening, *wall.openings[at + 1 :])
    yield put(job, "run", run, replace(wall, openings=openings))


@edit("Remove opening {number} of wall {run}")
def RemoveOpening(job: Job, *, run: str, index: int) -> Iterator[ChangeEntry]:
    """Remove an opening from a run."""
    wall = run_with(job, run, "opening", index)
    openings = (*wall.openings[:index], *wall.openings[index + 1 :])
    yield put(job, "run", run, replace(wall, openings=openings))


def _top(job: Job, run: Run) -> HeightProfile | None:
    """Top of the coating of a run: its own, or its room's."""
    room = job.rooms.get(run.room or "")
    return run.height or (room.height if room else None)


@edit("Set system {system.id}")
def PutSystem(job: Job, *, system: System) -> Iterator[ChangeEntry]:
    """Add or replace a system of the job's own."""
    yield put(job, "system", system.id, system)


@edit("Set product {product.id}")
def PutProduct(job: Job, *, product: Product) -> Iterator[ChangeEntry]:
    """Add or replace a product of the job's own."""
    yield put(job, "product", product.id, product)


@edit("Change the settings")
def SetSettings(job: Job, *, settings: JobSettings, has_prices: bool = False) -> Iterator[ChangeEntry]:
    """Change the job's settings; ``has_prices`` says that the job's prices come with another currency."""
    before, after = job.settings.currency, settings.currency
    if job.products and before != after and not has_prices:
        raise EditError(
            f"the prices of the job's own catalogue are in {before}, and would stand there as {after}",
            remedy=f"Take in a catalogue in {after}.",
            where="currency",
        )
    yield ChangeEntry(SETTINGS, "", job.settings, settings)


@edit("{title}")
def Batch(job: Job, *, title: str, edits: tuple[Edit, ...]) -> Change:
    """Several edits as one: all of them or none, one step to undo."""
    changes = []
    for one in edits:
        changes.append(one.apply(job))
        job = apply_change(job, changes[-1])
    return merged(title, changes)


@edit(lambda use: f"Record {_amount(use)} of {use.step}")
def PutUse(job: Job, *, use: PackUse) -> Iterator[ChangeEntry]:
    """Add or replace a record of packs used."""
    yield _on_site(job, "use", use)


def _amount(use: PackUse) -> str:
    return f"{use.hours:g} h" if use.hours and not use.packs else f"{use.packs:g} packs"


def _on_site(job: Job, kind: str, record: PackUse | Reading) -> ChangeEntry:
    if record.room is not None:
        needed(job, "room", record.room)
    return put(job, kind, record.id, record)


@edit("Record a reading of {reading.air:g} °C")
def PutReading(job: Job, *, reading: Reading) -> Iterator[ChangeEntry]:
    """Add or replace a reading on site."""
    yield _on_site(job, "reading", reading)


@edit("Keep the drafting style {style.name}")
def PutStyle(job: Job, *, style: DraftingStyle) -> Iterator[ChangeEntry]:
    """Add or replace a drafting style, by its name."""
    if not style.name.strip():
        raise EditError("the drafting style has no name", remedy="Give it one.", where="style")
    if not style.walls:
        raise EditError("no wall was shown", remedy="Show one wall first.", where="style")
    yield put(job, "style", style.name, style)


_WORDS = dict.fromkeys(("room", "system", "product", "region", "calibration", "reading"), "")
_WORDS |= {"run": "wall", "use": "record", "style": "the drafting style"}
"""Kinds of values that can be removed, with what people call them where that is another word."""


@edit(lambda kind, id: f"Remove {_WORDS.get(kind) or kind} {id}")
def Remove(job: Job, *, kind: str, id: str) -> Iterator[ChangeEntry]:
    """Remove a room, run, system, product, region, calibration, style or record from site that nothing else needs.

    Rooms that were traced by a style stay.
    """
    if kind not in _WORDS:
        raise EditError(f"a {kind} cannot be removed", remedy="Undo what added it instead.", where="kind")
    before = needed(job, kind, id)
    if users := users_of(job, kind, id):
        raise EditError(
            f'{kind} "{id}" is used by {", ".join(users)}', remedy="Change or remove them first.", where="id"
        )
    yield ChangeEntry(kind, id, before, None)
    if kind == "region" and (key := calibration_key(before.sheet, before.id)) in job.calibrations:
        yield ChangeEntry("calibration", key, job.calibrations[key], None)


@dataclass(frozen=True, slots=True, kw_only=True)
class BasisAt:
    """A basis in a job: that of a field of a room, run or calibration, or of an opening, counted from 0, on a run."""

    kind: Literal["room", "run", "calibration"]
    id: str
    field: str
    opening: int | None = None


def _confirming(confirmed: Confirmed, bases: tuple[BasisAt, ...], points: tuple[Settled, ...]) -> str:
    count = len(bases) + len(points)
    return f"Confirm {count} open point{'s' * (count != 1)}"


@edit(_confirming)
def Confirm(
    job: Job, *, confirmed: Confirmed, bases: tuple[BasisAt, ...] = (), points: tuple[Settled, ...] = ()
) -> Iterator[ChangeEntry]:
    """Take values as they are: those with a basis in that, the others by the keys of their open points."""
    if not bases and not points:
        raise EditError("no open point is named", remedy="Name one or more.", where="points")
    before = job
    for at in bases:
        value = _confirmed(at, needed(job, at.kind, at.id), confirmed)
        job = apply_change(job, Change("", (put(job, at.kind, at.id, value),)))
    keys = dict.fromkeys((at.kind, at.id) for at in bases)
    yield from (put(before, kind, id, needed(job, kind, id)) for kind, id in keys)
    yield from (put(before, "settled", s.key, s) for s in points)


def _confirmed(at: BasisAt, value: Any, confirmed: Confirmed) -> Any:
    if at.opening is not None:
        if not 0 <= at.opening < len(value.openings):
            raise EditError(f"wall {value.id} has no opening {at.opening + 1}", where="opening")
        inner = _confirmed(replace(at, opening=None), value.openings[at.opening], confirmed)
        openings = tuple(inner if i == at.opening else o for i, o in enumerate(value.openings))
        return replace(value, openings=openings)
    basis = basis_of(value, at.field)
    if basis is None:
        raise EditError(
            f"the {at.field} of {at.kind} {at.id} is given by a person already", remedy="Look at the list again."
        )
    return replace(value, basis=put_basis(value.basis, replace(basis, confirmed=confirmed)))


About = Literal["room", "mark", "file", "draft", "finish", "written"]
"""What findings of a sheet are about that are kept anew."""


@edit("Keep what was found on sheet {sheet}")
def PutFindings(job: Job, *, sheet: int, about: tuple[About, ...], findings: tuple[Finding, ...]) -> Change:
    """Keep what was found on a sheet, in place of what was found about the same things before."""
    found: Sheet = needed(job, "sheet", str(sheet))
    kept = tuple(one for one in found.findings if one.about not in about)
    entry = put(job, "sheet", str(sheet), replace(found, findings=(*kept, *findings)))
    return Change(f"Keep what was found on {found.called}", (entry,))


def users_of(job: Job, kind: str, id: str) -> list[str]:
    """Name what uses a room, a system or a product, such as ``wall a``."""
    if kind == "room":
        records = [f"record {use.id}" for use in job.uses.values() if use.room == id]
        records += [f"reading {reading.id}" for reading in job.readings.values() if reading.room == id]
        return [f"wall {r.id}" for r in job.runs.values() if r.room == id] + records
    if kind == "system":
        rooms = [f"room {r.id}" for r in job.rooms.values() if r.system == id]
        return rooms + [f"wall {r.id}" for r in job.runs.values() if r.system == id]
    if kind == "product":
        return [f"system {s.id}" for s in job.systems.values() if any(step.product == id for step in s.steps)]
    return []


def has_changed_since(edit: Edit, before: Job, now: Job) -> bool:
    """Tell whether an edit that was made for a job touches what has become another since."""
    try:
        entries = edit.apply(now).entries
    except TakeoffError:  # one that does not fit any more is refused when it is done
        return False
    return any(e.before != (before.settings if e.kind == SETTINGS else current(before, e.kind, e.id)) for e in entries)
