"""Figures that follow a job while it is edited: each time only what an edit changed is measured."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import compress
from operator import is_not

from takeoff.actions.editing import Pending, scale_or_pending
from takeoff.actions.quantities import Measured, doubts_of, in_catalogue_order, overlap_doubts, settings_of
from takeoff.job.job import Job
from takeoff.measure.incremental import Figures, Measurer
from takeoff.measure.totals import By
from takeoff.model.plan import Calibration
from takeoff.model.walls import Run

FEW_FACES = 600
"""Faces up to which walls that are measured twice are looked for after every edit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveMeasured:
    """Figures of the runs of a job that can be measured, their calibrations by run id, what each other run lacks."""

    figures: Figures
    calibrations: dict[str, Calibration]
    pending: tuple[Pending, ...]
    job: Job

    def measured(self, by: By = "room") -> Measured:
        """Return the same as a measured job with its items by room, run or system."""
        chosen = {"room": self.figures.by_room, "run": self.figures.by_run, "system": self.figures.by_system}[by]
        chosen = in_catalogue_order(chosen, self.job)
        doubts = doubts_of(self.calibrations, chosen)
        is_searched = len(self.figures.faces) <= FEW_FACES
        if is_searched:
            doubts += overlap_doubts(self.job, self.figures.faces, self.calibrations)
        return Measured(
            faces=self.figures.faces,
            measurement=chosen,
            calibrations=self.calibrations,
            doubts=doubts,
            is_searched=is_searched,
        )


class JobMeasurer:
    """Measures a job after every edit. Keep one as long as the job is open."""

    def __init__(self) -> None:
        """Start without anything measured."""
        self._measurer = Measurer()
        self._job: Job | None = None
        self._scales: dict[str, Calibration] = {}
        self._pending: dict[str, Pending] = {}

    def measure(self, job: Job) -> LiveMeasured:
        """Measure the runs that can be measured; the figures are those of `measure_ready`, to the last bit.

        Parameters
        ----------
        job
            The job as it is now. What it shares with the one before is not measured again.

        Raises
        ------
        InputError
            When there is no such measuring rule.
        """
        scales, pending = dict(self._scales), dict(self._pending)
        if self._job is not None and self._job.runs.keys() != job.runs.keys():
            for id in [i for i in self._job.runs if i not in job.runs]:
                scales.pop(id, None)
                pending.pop(id, None)
        for run in self._to_try(job):
            scales.pop(run.id, None)
            pending.pop(run.id, None)
            found = scale_or_pending(job, run)
            if isinstance(found, Pending):
                pending[run.id] = found
            else:
                scales[run.id] = found
        ready = [run for id, run in job.runs.items() if id not in pending] if pending else list(job.runs.values())
        figures = self._measurer.update(ready, job.rooms, scales, settings=settings_of(job))
        self._job, self._scales, self._pending = job, scales, pending
        return LiveMeasured(
            figures=figures,
            calibrations=scales,
            pending=tuple(pending[i] for i in job.runs if i in pending) if pending else (),
            job=job,
        )

    def _to_try(self, job: Job) -> Iterable[Run]:
        """Runs of which it is not known from before whether they can be measured."""
        before = self._job
        if before is None or (before.regions, before.calibrations, before.settings.corner_threshold) != (
            job.regions,
            job.calibrations,
            job.settings.corner_threshold,
        ):
            return job.runs.values()
        new = list(compress(job.runs.values(), map(is_not, job.runs.values(), map(before.runs.get, job.runs))))
        if before.rooms == job.rooms:
            return new
        other = {k for k in {*before.rooms, *job.rooms} if before.rooms.get(k) != job.rooms.get(k)}
        return [*new, *(run for run in job.runs.values() if (run.room or "") in other)]
