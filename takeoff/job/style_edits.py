"""Edits that keep drafting styles: how an office draws walls, doors and windows."""

from __future__ import annotations

from dataclasses import dataclass

from takeoff.errors import EditError
from takeoff.job.changes import Change, ChangeEntry, needed, put
from takeoff.job.job import Job
from takeoff.model.drafting import DraftingStyle


@dataclass(frozen=True, slots=True, kw_only=True)
class PutStyle:
    """Add or replace a drafting style, by its name."""

    style: DraftingStyle

    @property
    def label(self) -> str:
        """What it does, for people."""
        return f"Keep the drafting style {self.style.name}"

    def apply(self, job: Job) -> Change:
        """Check the edit against a job and return its change."""
        if not self.style.name.strip():
            raise EditError("the drafting style has no name", remedy="Give it one.", where="style")
        if not self.style.walls:
            raise EditError("no wall was shown", remedy="Show one wall first.", where="style")
        return Change(self.label, (put(job, "style", self.style.name, self.style),))


@dataclass(frozen=True, slots=True, kw_only=True)
class RemoveStyle:
    """Remove a drafting style; rooms that were traced by it stay."""

    name: str

    @property
    def label(self) -> str:
        """What it does, for people."""
        return f"Remove the drafting style {self.name}"

    def apply(self, job: Job) -> Change:
        """Check the edit against a job and return its change."""
        before = needed(job, "style", self.name)
        return Change(self.label, (ChangeEntry("style", self.name, before, None),))
