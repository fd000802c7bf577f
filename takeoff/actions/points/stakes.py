"""What is at stake in an open point: the price of what it touches at one end of what it could be, less at the other.

Only the rooms that a point touches are measured and priced again, by the same steps as the estimate, with material as
it is used: whole packs would hide small differences and blow up others. Sums that a job has once (set-up, freight, a
minimum charge) do not move with one value and are left out; access is counted by the hour.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace

from takeoff.actions.points.finding import AS_IT_IS, Variant
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


KEPT = 2
"""States of a room whose measures are kept: the first asked for, mostly as it is, and the last."""
_Seen = tuple[list[Run], Room | None, dict[str, Calibration]]
"""What the walls of a room are measured from."""


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
        self._prices = AsUsedPrices()
        self._scales: dict[str, Calibration | None] = {}
        self._faces: dict[str, list[tuple[_Seen, tuple[MeasuredFace, ...]]]] = {}
        self._as_is: dict[tuple[str, ...], _Worth | None] = {}
        self._by_room: dict[str, list[Run]] = {}
        for run in job.runs.values():
            self._by_room.setdefault(_room_of(run), []).append(run)
        self._place = {room: n for n, room in enumerate(self._by_room)}

    def between(self, variants: Iterable[Variant]) -> Stake | None:
        """Return how far price, area and length lie apart over variants; ``None`` where no two can be priced."""
        every = tuple(variants)
        rooms = {room for variant in every for room in self._touched(variant)}
        touched = tuple(sorted(rooms, key=self._place.__getitem__))
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
        """Rooms that a variant touches: packs of one room share a lot."""
        runs = [self._job.runs[id] for id in variant.runs]
        if variant.calibrations:
            runs += [run for run in self._job.runs.values() if self._scale_key(run) in variant.calibrations]
        return {_room_of(run) for run in runs} | (variant.rooms.keys() & self._by_room.keys())

    def _scale_key(self, run: Run) -> str:
        scale = self._scale(run)
        return calibration_key(scale.sheet, scale.region) if scale is not None else ""

    def _scale(self, run: Run) -> Calibration | None:
        """Scale of a wall as it is; it is asked for once."""
        if run.id not in self._scales:
            self._scales[run.id] = self._job.scale_for(run)
        return self._scales[run.id]

    def _worth(self, variant: Variant, touched: tuple[str, ...]) -> _Worth | None:
        if variant != AS_IT_IS:
            return self._worked_out(variant, touched)
        if touched not in self._as_is:
            self._as_is[touched] = self._worked_out(variant, touched)
        return self._as_is[touched]

    def _worked_out(self, variant: Variant, touched: tuple[str, ...]) -> _Worth | None:
        faces = [face for room in touched for face in self._measured(room, variant)]
        rooms = {id: variant.rooms.get(id, self._job.rooms[id]) for id in touched if id in self._job.rooms}
        try:
            lots = lots_of(replace(self._job, rooms=rooms), faces, self._catalogue)
            money = self._prices.price(lots, self._catalogue, self._catalogue.rates) if lots else 0.0
        except TakeoffError:
            return None
        area = math.fsum(face.quantities.net_area for face in faces)
        length = math.fsum(face.quantities.length for face in faces)
        return _Worth(money=money, area=area, length=length)

    def _measured(self, id: str, variant: Variant) -> tuple[MeasuredFace, ...]:
        """Measure the walls of a room in a variant; those that cannot be are worth nothing, as in the figures.

        Of a room height and cove alone are measured by, so where nothing else differs it is measured once.
        """
        room = variant.rooms.get(id, self._job.rooms.get(id))
        runs = [run for own in self._by_room[id] if (run := variant.runs.get(own.id, own)) is not None]
        scales: dict[str, Calibration] = {}
        for run in runs:
            if (scale := self._scale(run)) is not None:
                scales[run.id] = variant.calibrations.get(calibration_key(scale.sheet, scale.region), scale)
        is_high = room is not None and room.height is not None
        ready = [run for run in runs if run.id in scales and (run.height is not None or is_high)]
        bare = Room(id=room.id, height=room.height, cove=room.cove) if room is not None else None
        seen = ready, bare, scales
        kept = self._faces.setdefault(id, [])
        faces = next((faces for other, faces in kept if other == seen), None)
        if faces is None:
            faces = self._developed(*seen)
            kept[KEPT - 1 :] = []
            kept.append((seen, faces))
        if room is None or room.system is None:
            return faces
        return tuple(
            face if face.elevation.system else replace(face, elevation=replace(face.elevation, system=room.system))
            for face in faces
        )

    def _developed(
        self, runs: list[Run], room: Room | None, scales: Mapping[str, Calibration]
    ) -> tuple[MeasuredFace, ...]:
        """Measure walls of one room; each alone where one of them is refused."""
        rooms = {room.id: room} if room is not None else {}
        try:
            return measure_faces(runs, rooms, scales, settings=self._settings)
        except TakeoffError:
            faces: list[MeasuredFace] = []
            for run in runs:
                with suppress(TakeoffError):
                    faces += measure_faces([run], rooms, scales, settings=self._settings)
            return tuple(faces)


def _room_of(run: Run) -> str:
    """What a wall is priced with: its room, or it alone."""
    return run.room or f"wall {run.id}"


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
