"""Edits that remove something nothing else needs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from takeoff.errors import EditError
from takeoff.job.changes import Change, ChangeEntry, Labelled, needed
from takeoff.job.job import Job, calibration_key


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

    def apply(self, job: Job) -> Change:
        """Check the edit against a job and return its change."""
        if self.kind not in ("room", "run", "system", "product", "region", "calibration", "use", "reading", "style"):
            raise EditError(f"a {self.kind} cannot be removed", remedy="Undo what added it instead.", where="kind")
        before = needed(job, self.kind, self.id)
        if users := users_of(job, self.kind, self.id):
            raise EditError(
                f'{self.kind} "{self.id}" is used by {", ".join(users)}',
                remedy="Change or remove them first.",
                where="id",
            )
        entries = [ChangeEntry(self.kind, self.id, before, None)]
        if self.kind == "region":
            key = calibration_key(before.sheet, before.id)
            if key in job.calibrations:
                entries.append(ChangeEntry("calibration", key, job.calibrations[key], None))
        return Change(self.label, tuple(entries))


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
