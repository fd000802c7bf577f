"""Edits: each checks everything first, then returns one ``Change`` that can be applied, stored and undone."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar, Protocol

from takeoff.errors import EditError, TakeoffError
from takeoff.job.changes import SETTINGS, Labelled, PutsOne, current, merged, needed, put, run_with
from takeoff.job.changes import Change as Change
from takeoff.job.changes import ChangeEntry as ChangeEntry
from takeoff.job.changes import apply_change as apply_change
from takeoff.job.job import Job, JobSettings, calibration_key
from takeoff.model.drafting import DraftingStyle
from takeoff.model.plan import Calibration, ScaleRegion, Sheet, Source
from takeoff.model.site import PackUse, Reading
from takeoff.model.systems import Product, System
from takeoff.model.walls import HeightProfile, Opening, Room, Run, check_opening_height


class Edit(Protocol):
    """Anything that can be done to a job."""

    @property
    def label(self) -> str:
        """What it does, for people."""
        ...

    def apply(self, job: Job) -> Change:
        """Check the edit against a job and return its change."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class AddSheets(Labelled):
    """Take plan files into the register; sheets are numbered on from those there are."""

    sources: tuple[Source, ...]
    sheets: tuple[Sheet, ...]

    def _said(self) -> str:
        return f"Add {len(self.sheets)} sheet{'s' * (len(self.sheets) != 1)}"

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        taken = set(job.sheets)
        for sheet in self.sheets:
            if sheet.id in taken:
                raise EditError(
                    f"there is a sheet {sheet.id} already", remedy="Number new sheets on from the last.", where="sheets"
                )
            taken.add(sheet.id)
            if sheet.source not in job.sources and all(s.sha256 != sheet.source for s in self.sources):
                raise EditError(
                    f"sheet {sheet.id} names a plan file that is not in the job",
                    remedy="Add the file too.",
                    where="sources",
                )
        yield from (put(job, "source", s.sha256, s) for s in self.sources)
        yield from (put(job, "sheet", str(s.id), s) for s in self.sheets)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetCalibration(Labelled):
    """Set the scale of a sheet or a scale region."""

    calibration: Calibration

    def _said(self) -> str:
        return f"Set the scale of sheet {calibration_key(self.calibration.sheet, self.calibration.region)}"

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        c = self.calibration
        needed(job, "sheet", str(c.sheet))
        if c.region is not None and needed(job, "region", c.region).sheet != c.sheet:
            raise EditError(
                f'scale region "{c.region}" is on another sheet', remedy="Name the sheet it is on.", where="region"
            )
        yield put(job, "calibration", calibration_key(c.sheet, c.region), c)


@dataclass(frozen=True, slots=True, kw_only=True)
class PutRegion(Labelled):
    """Add or replace a scale region."""

    says: ClassVar[str] = "Mark scale region {e.region.id}"
    region: ScaleRegion

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        needed(job, "sheet", str(self.region.sheet))
        import shapely

        outline = self.region.outline_pt
        is_finite = all(math.isfinite(x) and math.isfinite(y) for x, y in outline)
        if len(outline) < 3 or not is_finite or not (p := shapely.Polygon(outline)).is_valid or p.area == 0:
            raise EditError(
                "the outline of the scale region crosses itself or has no area",
                remedy="Give three or more points X,Y around the detail, in order.",
                where="outline_pt",
            )
        old = job.regions.get(self.region.id)
        if old is not None and old.sheet != self.region.sheet:
            raise EditError(
                f'scale region "{old.id}" is on sheet {old.sheet}', remedy="Choose another name.", where="sheet"
            )
        yield put(job, "region", self.region.id, self.region)


@dataclass(frozen=True, slots=True, kw_only=True)
class PutRoom(PutsOne):
    """Add or replace a room."""

    says: ClassVar[str] = "Set room {e.room.id}"
    room: Room


@dataclass(frozen=True, slots=True, kw_only=True)
class PutRun(Labelled):
    """Add or replace a run."""

    says: ClassVar[str] = "Set wall {e.run.id}"
    run: Run

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        needed(job, "sheet", str(self.run.sheet))
        if self.run.room is not None:
            needed(job, "room", self.run.room)
        for opening in self.run.openings:
            check_opening_height(opening, _top(job, self.run))
        yield put(job, "run", self.run.id, self.run)


@dataclass(frozen=True, slots=True, kw_only=True)
class PutOpening(Labelled):
    """Add an opening to a run (``index`` None) or replace the one at ``index``."""

    says: ClassVar[str] = "Set {e.opening.kind} on wall {e.run}"
    run: str
    opening: Opening
    index: int | None = None

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        run: Run = needed(job, "run", self.run)
        check_opening_height(self.opening, _top(job, run))
        at = len(run.openings) if self.index is None else self.index
        if self.index is not None:
            run_with(job, self.run, "opening", self.index)
        openings = (*run.openings[:at], self.opening, *run.openings[at + 1 :])
        yield put(job, "run", self.run, replace(run, openings=openings))


@dataclass(frozen=True, slots=True, kw_only=True)
class RemoveOpening(Labelled):
    """Remove an opening from a run."""

    says: ClassVar[str] = "Remove opening {number} of wall {e.run}"
    run: str
    index: int

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        run = run_with(job, self.run, "opening", self.index)
        openings = (*run.openings[: self.index], *run.openings[self.index + 1 :])
        yield put(job, "run", self.run, replace(run, openings=openings))


def _top(job: Job, run: Run) -> HeightProfile | None:
    """Top of the coating of a run: its own, or its room's."""
    room = job.rooms.get(run.room or "")
    return run.height or (room.height if room else None)


@dataclass(frozen=True, slots=True, kw_only=True)
class PutSystem(PutsOne):
    """Add or replace a system of the job's own."""

    says: ClassVar[str] = "Set system {e.system.id}"
    system: System


@dataclass(frozen=True, slots=True, kw_only=True)
class PutProduct(PutsOne):
    """Add or replace a product of the job's own."""

    says: ClassVar[str] = "Set product {e.product.id}"
    product: Product


@dataclass(frozen=True, slots=True, kw_only=True)
class SetSettings(Labelled):
    """Change the job's settings."""

    says: ClassVar[str] = "Change the settings"
    settings: JobSettings

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        yield ChangeEntry(SETTINGS, "", job.settings, self.settings)


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch(Labelled):
    """Several edits as one: all of them or none, one step to undo."""

    says: ClassVar[str] = "{e.title}"
    title: str
    edits: tuple[Edit, ...]

    def apply(self, job: Job) -> Change:
        """Check the edit against a job and return its change."""
        changes = []
        for edit in self.edits:
            changes.append(edit.apply(job))
            job = apply_change(job, changes[-1])
        return merged(self.title, changes)


@dataclass(frozen=True, slots=True, kw_only=True)
class PutUse(PutsOne):
    """Add or replace a record of packs used."""

    use: PackUse

    def _said(self) -> str:
        if self.use.hours and not self.use.packs:
            return f"Record {self.use.hours:g} h of {self.use.step}"
        return f"Record {self.use.packs:g} packs of {self.use.step}"


@dataclass(frozen=True, slots=True, kw_only=True)
class PutReading(PutsOne):
    """Add or replace a reading on site."""

    says: ClassVar[str] = "Record a reading of {e.reading.air:g} °C"
    reading: Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class PutStyle(Labelled):
    """Add or replace a drafting style, by its name."""

    says: ClassVar[str] = "Keep the drafting style {e.style.name}"
    style: DraftingStyle

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        if not self.style.name.strip():
            raise EditError("the drafting style has no name", remedy="Give it one.", where="style")
        if not self.style.walls:
            raise EditError("no wall was shown", remedy="Show one wall first.", where="style")
        yield put(job, "style", self.style.name, self.style)


@dataclass(frozen=True, slots=True, kw_only=True)
class Remove(Labelled):
    """Remove a room, run, system, product, region, calibration or record from site that nothing else needs."""

    says: ClassVar[str] = "Remove {e.word} {e.id}"
    kind: str
    id: str

    @property
    def word(self) -> str:
        """What people call what is removed."""
        return {"run": "wall", "use": "record"}.get(self.kind, self.kind)

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        if self.kind not in ("room", "run", "system", "product", "region", "calibration", "use", "reading", "style"):
            raise EditError(f"a {self.kind} cannot be removed", remedy="Undo what added it instead.", where="kind")
        before = needed(job, self.kind, self.id)
        if users := users_of(job, self.kind, self.id):
            raise EditError(
                f'{self.kind} "{self.id}" is used by {", ".join(users)}',
                remedy="Change or remove them first.",
                where="id",
            )
        yield ChangeEntry(self.kind, self.id, before, None)
        if self.kind == "region":
            key = calibration_key(before.sheet, before.id)
            if key in job.calibrations:
                yield ChangeEntry("calibration", key, job.calibrations[key], None)


@dataclass(frozen=True, slots=True, kw_only=True)
class RemoveStyle(Remove):
    """Remove a drafting style, by its name; rooms that were traced by it stay."""

    says: ClassVar[str] = "Remove the drafting style {e.id}"
    kind: str = "style"


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
