"""Edits that keep records from site: packs used, and readings."""

from __future__ import annotations

from dataclasses import dataclass

from takeoff.job.changes import Change, needed, put
from takeoff.job.job import Job
from takeoff.model.site import PackUse, Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class PutUse:
    """Add or replace a record of packs used."""

    use: PackUse

    @property
    def label(self) -> str:
        """What it does, for people."""
        if self.use.hours and not self.use.packs:
            return f"Record {self.use.hours:g} h of {self.use.step}"
        return f"Record {self.use.packs:g} packs of {self.use.step}"

    def apply(self, job: Job) -> Change:
        """Check the edit against a job and return its change."""
        if self.use.room is not None:
            needed(job, "room", self.use.room)
        return Change(self.label, (put(job, "use", self.use.id, self.use),))


@dataclass(frozen=True, slots=True, kw_only=True)
class PutReading:
    """Add or replace a reading on site."""

    reading: Reading

    @property
    def label(self) -> str:
        """What it does, for people."""
        return f"Record a reading of {self.reading.air:g} °C"

    def apply(self, job: Job) -> Change:
        """Check the edit against a job and return its change."""
        if self.reading.room is not None:
            needed(job, "room", self.reading.room)
        return Change(self.label, (put(job, "reading", self.reading.id, self.reading),))
