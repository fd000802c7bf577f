"""What is at stake in an open point: the price of what it touches at one end of what it could be, less at the other.

Only the rooms that a point touches are measured and priced again, by the same steps as the estimate, with material as
it is used: whole packs would hide small differences and blow up others. Sums that a job has once (set-up, freight, a
minimum charge) do not move with one value and are left out; access is counted by the hour.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from takeoff.actions.points.finding import Variant
from takeoff.actions.quantities import lots_of, settings_of
from takeoff.errors import TakeoffError
from takeoff.estimate.as_used import AsUsedPrices
from takeoff.job.job import Job, calibration_key
from takeoff.measure.faces import MeasuredFace, measure_faces
from takeoff.model.open_points import Stake
from takeoff.model.plan import Calibration
from takeoff.model.systems import Catalogue, Rates
from takeoff.model.walls import Room, Run


@dataclass(frozen=True, slots=True)
class _Worth:
    """What some rooms come to: price, net area in m² and length of wall in m."""

    money: float
    area: float
    length: float


class Stakes:
    """Prices the rooms that variants of a job touch.

    Parameters
    ----------
    job
        The job as it is.
    catalogue
        What it is priced with.
    """

    def __init__(self, job: Job, catalogue: Catalogue) -> None:
        self._job = job
        self._settings = settings_of(job)
        self._catalogue = replace(catalogue, rates=_by_the_hour(catalogue.rates))
        self._as_is: dict[frozenset[str], _Worth | None] = {}
        self._by_room: dict[str, list[str]] = {}
        for run in job.runs.values():
            self._by_room.setdefault(run.room or f"run {run.id}", []).append(run.id)

    def between(self, variants: Iterable[Variant]) -> Stake | None:
        """Return how far price, area and length lie apart over variants; ``None`` where no two can be priced."""
        every = tuple(variants)
        touched = frozenset(id for variant in every for id in self._touched(variant))
        worths = [self._worth(variant, touched) for variant in every]
        known = [worth for worth in worths if worth is not None]
        if len(known) < 2:
            return None
        return Stake(
            money=max(w.money for w in known) - min(w.money for w in known),
            area=max(w.area for w in known) - min(w.area for w in known),
            length=max(w.length for w in known) - min(w.length for w in known),
        )

    def _touched(self, variant: Variant) -> set[str]:
        """Ids of the runs of every room that a variant touches: packs of one room share a lot."""
        runs = set(variant.runs)
        for room in variant.rooms:
            runs.update(self._by_room.get(room, ()))
        if variant.calibrations:
            runs.update(r.id for r in self._job.runs.values() if self._scale_key(r) in variant.calibrations)
        rooms = {self._job.runs[id].room or f"run {id}" for id in runs}
        return {id for room in rooms for id in self._by_room[room]}

    def _scale_key(self, run: Run) -> str:
        try:
            return calibration_key(run.sheet, self._job.region_for(run))
        except TakeoffError:
            return ""

    def _worth(self, variant: Variant, touched: frozenset[str]) -> _Worth | None:
        is_as_it_is = not (variant.runs or variant.rooms or variant.calibrations)
        if is_as_it_is and touched in self._as_is:
            return self._as_is[touched]
        rooms: Mapping[str, Room] = {**self._job.rooms, **variant.rooms} if variant.rooms else self._job.rooms
        faces: list[MeasuredFace] = []
        by_room: dict[str, list[Run]] = {}
        for id in self._job.runs:
            run = variant.runs[id] if id in variant.runs else self._job.runs[id] if id in touched else None
            if run is not None:
                by_room.setdefault(run.room or run.id, []).append(run)
        for runs in by_room.values():
            faces += self._measured(runs, rooms, variant.calibrations)
        try:
            lots = lots_of(replace(self._job, rooms=rooms), faces, self._catalogue)
            money = AsUsedPrices().price(lots, self._catalogue, self._catalogue.rates) if lots else 0.0
        except TakeoffError:
            return None
        area = math.fsum(face.quantities.net_area for face in faces)
        length = math.fsum(face.quantities.length for face in faces)
        made = _Worth(money=money, area=area, length=length)
        if is_as_it_is:
            self._as_is[touched] = made
        return made

    def _measured(
        self, runs: list[Run], rooms: Mapping[str, Room], calibrations: Mapping[str, Calibration]
    ) -> tuple[MeasuredFace, ...]:
        """Measure the walls of one room that can be measured; the others are worth nothing, as in the figures."""
        scales: dict[str, Calibration] = {}
        for run in runs:
            own = self._job.scale_for(run)
            if own is None:
                continue
            scales[run.id] = calibrations.get(calibration_key(own.sheet, own.region), own)
        high = {id for id, room in rooms.items() if room.height is not None}
        ready = [run for run in runs if run.id in scales and (run.height is not None or run.room in high)]
        try:
            return measure_faces(ready, rooms, scales, settings=self._settings)
        except TakeoffError:
            faces: list[MeasuredFace] = []
            for run in ready:
                try:
                    faces += measure_faces([run], rooms, scales, settings=self._settings)
                except TakeoffError:
                    continue
            return tuple(faces)


def _by_the_hour(rates: Rates) -> Rates:
    """Rates without what a job has once, and with access spread over the hours of the crew."""
    hourly = rates.access_per_day / (rates.crew * rates.shift_hours)
    return replace(
        rates,
        wage=rates.wage + hourly / (1.0 + rates.burden),
        access_per_day=0.0,
        setup_hours=0.0,
        freight=0.0,
        minimum_charge=0.0,
    )
