"""An open point as it is found, with the states of the job between which it could lie."""

from __future__ import annotations

import hashlib
import math
from collections import Counter
from collections.abc import Hashable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import cached_property
from statistics import median
from typing import Any

from takeoff.actions.quantities import catalogue_of, lots_of, settings_of
from takeoff.errors import TakeoffError
from takeoff.estimate.alternates import AsUsedPrices
from takeoff.geometry.paths import point_at
from takeoff.job.job import Job, calibration_key
from takeoff.measure.develop import traced_path
from takeoff.measure.faces import MeasuredFace, measure_faces
from takeoff.measure.totals import room_label, wall_labels
from takeoff.model.open_points import Basis, OpenPoint, Place, PointKind, Stake, Where
from takeoff.model.plan import Calibration
from takeoff.model.systems import Catalogue, Rates
from takeoff.model.walls import Room, Run
from takeoff.units import Display


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """What is other in one state of the job: values by id, ``None`` for a run that is not there."""

    runs: Mapping[str, Run | None] = field(default_factory=dict)
    rooms: Mapping[str, Room] = field(default_factory=dict)
    calibrations: Mapping[str, Calibration] = field(default_factory=dict)


AS_IT_IS = Variant()


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """An open point, and the states between which the price moves; ``stake`` where it is known without them.

    ``wall_length`` are metres of wall that are in question as a whole: at stake is what such a length costs on average.
    ``like`` is the same for points that have the same at stake, but for where they lie in their walls; ``None`` for
    those that are like no other.
    """

    point: OpenPoint
    variants: tuple[Variant, ...] = ()
    stake: Stake | None = None
    wall_length: float = 0.0
    like: Hashable | None = None


def point_found(
    *,
    variants: tuple[Variant, ...] = (),
    stake: Stake | None = None,
    wall_length: float = 0.0,
    like: Hashable | None = None,
    **point: Any,
) -> Found:
    """Make an open point as it is found, of its fields; its group is what it is about where none is given."""
    made = OpenPoint(**{"group": point["what"], "where": Where()} | point)
    return Found(point=made, variants=variants, stake=stake, wall_length=wall_length, like=like)


@dataclass(frozen=True)
class Words:
    """Names of things in a job, and figures in its units, for sentences."""

    job: Job

    @property
    def show(self) -> Display:
        """How the job shows figures."""
        return self.job.settings.display

    def sheet(self, id: int | None) -> str:
        """Name of a sheet: its number, else its position; both where another has that number too."""
        sheet = self.job.sheets.get(id or 0)
        if sheet is None:
            return "the drawings"
        is_one = not sheet.number or self._numbers[sheet.number] == 1
        return sheet.called if is_one else f"{sheet.called} (position {sheet.id})"

    @cached_property
    def _numbers(self) -> Counter[str]:
        return Counter(sheet.number for sheet in self.job.sheets.values())

    def room(self, id: str | None) -> str:
        """Number and name of a room."""
        return room_label(self.job.rooms.get(id or ""))

    def system(self, id: str | None) -> str:
        """Name of a system; its id where the catalogue has it no more."""
        return next((s.name for s in catalogue_of(self.job).systems if s.id == id), id or "")

    @cached_property
    def walls(self) -> Mapping[str, str]:
        """Names of walls by their ids: the room that each is in, with a letter where it has several."""
        return wall_labels(self.job.runs.values(), self.job.rooms)

    def wall(self, run: Run) -> str:
        """Name of a wall."""
        return self.walls[run.id]

    def why(self, basis: Basis) -> str:
        """Where a value came from, and why it needs a look: a clause."""
        return "; ".join(part for part in (self.source(basis), basis.unsure) if part)

    def source(self, basis: Basis) -> str:
        """Where a value came from, as a clause."""
        told = f"“{basis.text}”" if basis.how in ("stated", "schedule", "note") and basis.text else basis.text
        place = f" on {self.sheet(basis.sheet)}" if basis.sheet is not None else ""
        return {
            "stated": f"written{place}: {told}" if told else f"written{place}",
            "schedule": f"from the schedule{place}" + (f": {told}" if told else ""),
            "note": f"from a note{place}" + (f": {told}" if told else ""),
            "measured": f"measured{place}" + (f": {told}" if told else ""),
            "assumed": f"assumed: {told}" if told else "assumed",
            "unknown": "kept from an older version, which did not record where it came from",
            "person": told or "given by a person",
        }[basis.how]


def place_of(job: Job, run: Run, station: float | None = None) -> Place:
    """Return a sheet point on a run: at a station in metres, or in its middle."""
    if station is not None and (scale := job.scale_for(run)) is not None:
        x, y = point_at(traced_path(run, scale), station)
        return x / scale.mx, y / scale.my
    middle = (run.segment_count - 1) // 2
    a, b = run.points_pt[middle], run.points_pt[(middle + 1) % len(run.points_pt)]
    return (a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0


def usual_length(job: Job) -> float:
    """Metres of wall that a room of the job has, as half of them have less and half more; 0 where none has a scale."""
    lengths: dict[str, float] = {}
    for run in job.runs.values():
        if run.room is not None and (scale := job.scale_for(run)) is not None:
            lengths[run.room] = lengths.get(run.room, 0.0) + traced_path(run, scale).stations()[-1]
    return median(lengths.values()) if lengths else 0.0


def sentence(text: str) -> str:
    """Make a clause a sentence."""
    plain = text.strip().rstrip(".")
    return f"{plain[:1].upper()}{plain[1:]}." if plain else ""


def told_found(kind: PointKind, about: str, text: str, where: Where | None = None, **more: Any) -> Found:
    """Find a point of a sentence that some part of the program says: it stays settled while that is the same."""
    said = sentence(text)
    fields: dict[str, Any] = {
        "key": f"{about}:{hashlib.sha256(said.encode()).hexdigest()[:10]}", "kind": kind, "where": where or Where(),
        "settle": "Look at it; confirm it if it is right.", "what": "", "taken": "",
        **dict.fromkeys(("state", "group", "why", "assumes"), said),
    }  # fmt: skip
    return point_found(**fields | more)


KEPT = 2
"""States of a room whose measures are kept: the first asked for, mostly as it is, and the last."""
_Seen = tuple[list[Run], Room | None, dict[str, Calibration]]
"""What the walls of a room are measured from."""


class Stakes:
    """Prices the rooms that variants of a job touch."""

    def __init__(self, job: Job, catalogue: Catalogue) -> None:
        self._job = job
        self._settings = settings_of(job)
        self._catalogue = replace(catalogue, rates=_by_the_hour(catalogue.rates))
        self._prices = AsUsedPrices()
        self._scales: dict[str, Calibration | None] = {}
        self._faces: dict[str, list[tuple[_Seen, tuple[MeasuredFace, ...]]]] = {}
        self._as_is: dict[tuple[str, ...], Stake | None] = {}
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
        if len(known) < 2 or not any(worth.length for worth in known):
            return None  # nothing of it is measured, so nobody knows
        figures = {of: [getattr(worth, of) for worth in known] for of in ("money", "area", "length")}
        return Stake(**{of: max(values) - min(values) for of, values in figures.items()})

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

    def _worth(self, variant: Variant, touched: tuple[str, ...]) -> Stake | None:
        if variant != AS_IT_IS:
            return self._worked_out(variant, touched)
        if touched not in self._as_is:
            self._as_is[touched] = self._worked_out(variant, touched)
        return self._as_is[touched]

    def _worked_out(self, variant: Variant, touched: tuple[str, ...]) -> Stake | None:
        faces = [face for room in touched for face in self._measured(room, variant)]
        rooms = {id: variant.rooms.get(id, self._job.rooms[id]) for id in touched if id in self._job.rooms}
        try:
            lots = lots_of(replace(self._job, rooms=rooms), faces, self._catalogue)
            money = self._prices.price(lots, self._catalogue, self._catalogue.rates) if lots else 0.0
        except TakeoffError:
            return None
        area = math.fsum(face.quantities.net_area for face in faces)
        length = math.fsum(face.quantities.length for face in faces)
        return Stake(money=money, area=area, length=length)

    def _measured(self, id: str, variant: Variant) -> tuple[MeasuredFace, ...]:
        """Measure the walls of a room in a variant; those that cannot be are worth nothing, as in the figures.

        Of a room height, cove and count alone are measured by, so where nothing else differs it is measured once.
        """
        room = variant.rooms.get(id, self._job.rooms.get(id))
        runs = [run for own in self._by_room[id] if (run := variant.runs.get(own.id, own)) is not None]
        scales: dict[str, Calibration] = {}
        for run in runs:
            if (scale := self._scale(run)) is not None:
                scales[run.id] = variant.calibrations.get(calibration_key(scale.sheet, scale.region), scale)
        is_high = room is not None and room.height is not None
        ready = [run for run in runs if run.id in scales and (run.height is not None or is_high)]
        bare = Room(id=room.id, height=room.height, cove=room.cove, count=room.count) if room is not None else None
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
