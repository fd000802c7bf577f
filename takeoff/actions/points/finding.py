"""An open point as it is found, with the states of the job between which it could lie."""

from __future__ import annotations

import hashlib
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from typing import Any

from takeoff.actions.quantities import catalogue_of
from takeoff.geometry.nearest import point_at
from takeoff.job.job import Job, calibration_key
from takeoff.measure.develop import traced_path
from takeoff.measure.totals import room_label
from takeoff.model.open_points import Basis, OpenPoint, Place, PointKind, Stake, Where
from takeoff.model.plan import Calibration
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


@dataclass(frozen=True, slots=True)
class Words:
    """Names of things in a job, and figures in its units, for sentences."""

    job: Job

    @property
    def show(self) -> Display:
        """How the job shows figures."""
        return self.job.settings.display

    def sheet(self, id: int | None) -> str:
        """Name of a sheet: its number, else its position."""
        sheet = self.job.sheets.get(id or 0)
        return f"sheet {sheet.number or sheet.id}" if sheet is not None else "the drawings"

    def room(self, id: str | None) -> str:
        """Number and name of a room."""
        return room_label(self.job.rooms.get(id or ""))

    def system(self, id: str | None) -> str:
        """Name of a system; its id where the catalogue has it no more."""
        return next((s.name for s in catalogue_of(self.job).systems if s.id == id), id or "")

    def wall(self, run: Run) -> str:
        """A wall and the room that it is in."""
        return f"wall {run.id}" + (f" of {self.room(run.room)}" if run.room in self.job.rooms else "")

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
    scale = job.calibrations.get(calibration_key(run.sheet))
    if station is not None and scale is not None:
        try:
            scale = job.calibration_for(run)
            x, y = point_at(traced_path(run, scale), station)
            return x / scale.mx, y / scale.my
        except Exception:
            return run.points_pt[0]
    middle = (run.segment_count - 1) // 2
    a, b = run.points_pt[middle], run.points_pt[(middle + 1) % len(run.points_pt)]
    return (a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0


def sentence(text: str) -> str:
    """Make a clause a sentence."""
    plain = text.strip().rstrip(".")
    return f"{plain[:1].upper()}{plain[1:]}." if plain else ""


def told_point(kind: PointKind, about: str, text: str, where: Where, **more: Any) -> OpenPoint:
    """Make an open point of a sentence that some part of the program says: it stays settled while that is the same."""
    said = sentence(text)
    return OpenPoint(
        key=f"{about}:{hashlib.sha256(said.encode()).hexdigest()[:10]}",
        kind=kind,
        where=where,
        state=said,
        **{
            "group": said,
            "what": "",
            "taken": "",
            "why": said,
            "settle": "Look at it; confirm it if it is right.",
            "assumes": said,
        }
        | more,
    )
