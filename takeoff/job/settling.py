"""Confirming open points, and keeping what readers found on a sheet: as undoable as any other edit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, ClassVar, Literal

from takeoff.errors import EditError
from takeoff.job.changes import Change, ChangeEntry, Labelled, apply_change, needed, put
from takeoff.job.job import Job
from takeoff.model.open_points import Confirmed, Settled, basis_of, put_basis
from takeoff.model.plan import Finding, Sheet
from takeoff.model.walls import Run


@dataclass(frozen=True, slots=True, kw_only=True)
class BasisAt:
    """A basis in a job: that of a field of a room, run or calibration, or of an opening, counted from 0, on a run."""

    kind: Literal["room", "run", "calibration"]
    id: str
    field: str
    opening: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirm(Labelled):
    """Take values as they are: those with a basis in that, the others by the keys of their open points."""

    confirmed: Confirmed
    bases: tuple[BasisAt, ...] = ()
    points: tuple[Settled, ...] = ()

    def _said(self) -> str:
        count = len(self.bases) + len(self.points)
        return f"Confirm {count} open point{'s' * (count != 1)}"

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        if not self.bases and not self.points:
            raise EditError("no open point is named", remedy="Name one or more.", where="points")
        before = job
        for at in self.bases:
            value = self._confirmed(at, needed(job, at.kind, at.id))
            job = apply_change(job, Change("", (put(job, at.kind, at.id, value),)))
        keys = dict.fromkeys((at.kind, at.id) for at in self.bases)
        yield from (put(before, kind, id, needed(job, kind, id)) for kind, id in keys)
        yield from (put(before, "settled", s.key, s) for s in self.points)

    def _confirmed(self, at: BasisAt, value: Any) -> Any:
        if at.opening is not None:
            run: Run = value
            if not 0 <= at.opening < len(run.openings):
                raise EditError(f"wall {run.id} has no opening {at.opening + 1}", where="opening")
            inner = self._confirmed(replace(at, opening=None), run.openings[at.opening])
            openings = tuple(inner if i == at.opening else o for i, o in enumerate(run.openings))
            return replace(run, openings=openings)
        basis = basis_of(value, at.field)
        if basis is None:
            raise EditError(
                f"the {at.field} of {at.kind} {at.id} is given by a person already", remedy="Look at the list again."
            )
        return replace(value, basis=put_basis(value.basis, replace(basis, confirmed=self.confirmed)))


@dataclass(frozen=True, slots=True, kw_only=True)
class PutFindings(Labelled):
    """Keep what was found on a sheet, in place of what was found about the same things before."""

    says: ClassVar[str] = "Keep what was found on sheet {e.sheet}"
    sheet: int
    about: tuple[Literal["room", "mark", "file", "draft", "finish", "written"], ...]
    findings: tuple[Finding, ...]

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        sheet: Sheet = needed(job, "sheet", str(self.sheet))
        kept = tuple(found for found in sheet.findings if found.about not in self.about)
        yield put(job, "sheet", str(sheet.id), replace(sheet, findings=(*kept, *self.findings)))
