"""A new revision of a sheet of schedules: what its rows say of walls, whatever sheet these are on."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from takeoff.actions.revising import Revision, with_findings
from takeoff.job.job import Job
from takeoff.measure.develop import traced_path
from takeoff.model.plan import Source
from takeoff.model.walls import Run
from takeoff.revise.carry import CarriedRun
from takeoff.revise.changes import SheetChange
from takeoff.revise.governing import ScheduleChange, rows_about, scheduled
from takeoff.revise.linework_along import Length
from takeoff.revise.registration import Registration
from takeoff.revise.sheet_texts import SheetTexts
from takeoff.revise.text_changes import text_changes
from takeoff.sheet.text import TextLine
from takeoff.trace.schedules.opening_schedule import OpeningSchedule

UNMOVED = Registration(
    matrix=(1.0, 0.0, 0.0, 0.0, 1.0, 0.0), kind="similarity", method="points", pairs=0, share=1.0, rms_pt=0.0, u=0.0
)
"""How a sheet without a plan lies on its older revision."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScheduleRows:
    """What changed in the schedules of a sheet without walls, in its texts, and which schedule was not read on both."""

    tables: tuple[OpeningSchedule | None, OpeningSchedule | None]
    openings: tuple[ScheduleChange, ...]
    finishes: tuple[ScheduleChange, ...]
    unread: tuple[str, ...]
    changes: tuple[SheetChange, ...]


def read_rows(texts: SheetTexts, length: Length) -> ScheduleRows:
    """Compare what two revisions of a sheet write; ``length`` writes a length in metres."""
    openings, finishes, unread = texts.schedules(length)
    return ScheduleRows(
        tables=texts.opening_tables, openings=openings, finishes=finishes, unread=unread,
        changes=changes_of_texts(*texts.texts),
    )  # fmt: skip


def changes_of_texts(old: Sequence[TextLine], new: Sequence[TextLine]) -> tuple[SheetChange, ...]:
    """Texts that two revisions of a sheet without a plan write otherwise."""
    return text_changes(old, new, UNMOVED, m_per_pt=1.0, focus_pt=(-1.0, -1.0, -1.0, -1.0))


def schedule_revision(
    job: Job, texts: SheetTexts, source: Source, rows: ScheduleRows, *, without: Collection[int] = ()
) -> Revision:
    """Propose for each wall that changed rows are about what they say of it; parameters as for `proposals_by`."""
    nothing = np.zeros((0, 4))
    return Revision(
        old=texts.old, sheet=with_findings(texts.new, rows.unread), source=source, data=texts.new_data,
        registration=UNMOVED, scales=(), regions=(), changes=rows.changes, removed=nothing, added=nothing,
        runs=proposals_by(job, rows, without=without), new_walls=(), doubts=rows.unread,
        schedule_changes=(*rows.openings, *rows.finishes),
    )  # fmt: skip


def proposals_by(job: Job, rows: ScheduleRows, *, without: Collection[int]) -> tuple[CarriedRun, ...]:
    """Proposals for the walls that changed rows are about; they stay on their sheets.

    Walls on the sheets ``without``, by their ids, are left out: they are compared with revisions of their own.
    """
    found = [
        _proposal(job, run, rows)
        for run in job.runs.values()
        if run.sheet not in without and job.sheets[run.sheet].replaced_by is None
    ]
    return tuple(one for one in found if one.notes)


def _proposal(job: Job, run: Run, rows: ScheduleRows) -> CarriedRun:
    scale = job.scale_for(run)
    long = 0.0 if scale is None else traced_path(run, scale).stations()[-1]
    one = CarriedRun(before=run, after=run, verdict="unchanged", sure=False, lengths=(long, long), moved=0.0)
    one, done = scheduled(one, *rows.tables, job.settings.display.length)
    notes = rows_about(run, job.rooms.get(run.room or ""), rows.openings, rows.finishes, done)
    return replace(one, verdict="look at it", notes=(*one.notes, *notes)) if notes else one
