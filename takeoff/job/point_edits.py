"""Edits of one wall's line and of its openings: points moved, added and removed, walls bent, openings repeated."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar

from takeoff.errors import EditError
from takeoff.job.changes import ChangeEntry, Labelled, fitting, needed, run_with
from takeoff.job.job import Job
from takeoff.job.reshape import with_bulge, with_vertex_added, with_vertices, without_vertex
from takeoff.job.wall_edits import put_walls
from takeoff.measure.develop import traced_path
from takeoff.model.plan import Point

MOST_COPIES = 500
"""Openings that one edit may add; more is a slip of the hand (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MovePoint(Labelled):
    """Move one point of a wall, counted from 0; its openings stay where they are on the plan."""

    says: ClassVar[str] = "Move point {number} of wall {e.run}"
    run: str
    index: int
    to_pt: Point

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        run = run_with(job, self.run, "point", self.index)
        moved = {self.index: self.to_pt}
        yield from put_walls(job, fitting("to_pt", lambda: [with_vertices(run, moved, job.scale_for(run))]))


@dataclass(frozen=True, slots=True, kw_only=True)
class AddPoint(Labelled):
    """Add a point where a wall's line comes nearest to a sheet point."""

    says: ClassVar[str] = "Add a point to wall {e.run}"
    run: str
    near_pt: Point

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        run = needed(job, "run", self.run)
        yield from put_walls(job, fitting("near_pt", lambda: [with_vertex_added(run, self.near_pt)[0]]))


@dataclass(frozen=True, slots=True, kw_only=True)
class RemovePoint(Labelled):
    """Remove one point of a wall, counted from 0: the two pieces at it become one straight one."""

    says: ClassVar[str] = "Remove point {number} of wall {e.run}"
    run: str
    index: int

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        run = run_with(job, self.run, "point", self.index)
        yield from put_walls(job, fitting("index", lambda: [without_vertex(run, self.index, job.scale_for(run))]))


@dataclass(frozen=True, slots=True, kw_only=True)
class BendWall(Labelled):
    """Bend the piece after a point, counted from 0, into the arc through a sheet point; on its chord: straight."""

    says: ClassVar[str] = "Bend wall {e.run} after point {number}"
    run: str
    index: int
    through_pt: Point

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        run = run_with(job, self.run, "point", self.index)
        if self.index >= run.segment_count:
            raise EditError(
                "nothing follows the last point", remedy="Choose the point before the piece.", where="index"
            )
        scale = job.scale_for(run)
        yield from put_walls(job, fitting("through_pt", lambda: [with_bulge(run, self.index, self.through_pt, scale)]))


@dataclass(frozen=True, slots=True, kw_only=True)
class RepeatOpening(Labelled):
    """Copy an opening, counted from 0, so many times along its wall; ``spacing`` is metres from centre to centre."""

    says: ClassVar[str] = "Repeat an opening of wall {e.run} {e.count} times"
    run: str
    index: int
    count: int
    spacing: float

    def _entries(self, job: Job) -> Iterator[ChangeEntry]:
        run = run_with(job, self.run, "opening", self.index)
        if not 1 <= self.count <= MOST_COPIES:
            raise EditError(
                f"an opening cannot be repeated {self.count} times",
                remedy=f"Give 1 to {MOST_COPIES}.",
                where="count",
            )
        opening = run.openings[self.index]
        scale = job.scale_for(run)
        length = traced_path(run, scale).stations()[-1] if scale is not None else 0.0
        places = [opening.at + i * self.spacing for i in range(1, self.count + 1)]
        at = [place % length if run.closed and length else place for place in places]
        copies = fitting("spacing", lambda: [replace(opening, at=place) for place in at])
        yield from put_walls(job, fitting("spacing", lambda: [replace(run, openings=(*run.openings, *copies))]))
