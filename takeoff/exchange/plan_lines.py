"""What files of drawings carry: runs with their faces as true lines and arcs, in sheet points or building metres.

Building metres as displayed have their origin at the lower left corner of the sheet as displayed, x right and y up.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from takeoff.geometry.arcs import Point
from takeoff.geometry.paths import Path, point_on_segment
from takeoff.job.job import Job
from takeoff.measure.faces import MeasuredFace
from takeoff.measure.totals import wall_labels
from takeoff.model.plan import Calibration, Sheet
from takeoff.model.walls import Room, Run
from takeoff.sheet.frame import turned
from takeoff.units import Display


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRun:
    """A run with its sheet, scale, room, system and measured faces; ``name`` is what people call it."""

    run: Run
    name: str
    sheet: Sheet
    scale: Calibration
    room: Room | None
    room_label: str
    system: str
    system_name: str
    faces: tuple[MeasuredFace, ...]

    def words(self, display: Display) -> str:
        """What a person reads who points at the run."""
        lines = [f"{self.name} ({self.run.id}), {self.system_name}"]
        for face in self.faces:
            q, heights = face.quantities, [h for _, h in face.elevation.profile]
            top = " to ".join(display.length(h) for h in dict.fromkeys((min(heights), max(heights))))
            lines.append(
                f"{face.elevation.face} face: {display.length(q.length)} long, top {top}, "
                f"base {display.length(self.run.base)}; gross {display.area(q.gross_area)}, "
                f"openings {display.area(q.deducted_area)}, net {display.area(q.net_area)}"
            )
        return "\n".join(lines)


def plan_runs(
    job: Job, faces: Sequence[MeasuredFace], labels: Mapping[str, str], systems: Mapping[str, str]
) -> tuple[PlanRun, ...]:
    """Pair every measured run of a job with its faces; a run without faces is left out."""
    names = wall_labels(job.runs.values(), job.rooms)
    measured: dict[str, list[MeasuredFace]] = {}
    for face in faces:
        measured.setdefault(face.elevation.run, []).append(face)
    out = []
    for run in job.runs.values():
        if run.id not in measured:
            continue
        system = measured[run.id][0].elevation.system or ""
        out.append(
            PlanRun(
                run=run,
                name=names[run.id][:1].upper() + names[run.id][1:],
                sheet=job.sheets[run.sheet],
                scale=job.calibration_for(run),
                room=job.rooms.get(run.room or ""),
                room_label=labels.get(run.room or "", "") if run.room else "",
                system=system,
                system_name=systems.get(system, system) or "no system",
                faces=tuple(measured[run.id]),
            )
        )
    return tuple(out)


def by_room(runs: Sequence[PlanRun]) -> dict[str, list[PlanRun]]:
    """Put runs together by the id of their room; those in none are left out."""
    found: dict[str, list[PlanRun]] = {}
    for run in runs:
        if run.room is not None:
            found.setdefault(run.room.id, []).append(run)
    return found


def cut_path(path: Path, low: float, high: float) -> Path:
    """Cut the part between two stations out of a chain; arcs stay arcs.

    Examples
    --------
    >>> half = Path(((0.0, 0.0), (2.0, 0.0)), (1.0,), False)  # a half circle of radius 1
    >>> part = cut_path(half, 0.0, math.pi / 2)
    >>> [round(c, 9) for c in part.points[1]], round(part.bulges[0], 9)
    ([1.0, 1.0], 0.414213562)
    """
    stations = path.stations()
    points: list[Point] = []
    bulges: list[float] = []
    for i, (a, b, bulge) in enumerate(path.segments()):
        length = stations[i + 1] - stations[i]
        t0, t1 = max(low - stations[i], 0.0) / length, min(high - stations[i], length) / length
        if t1 <= t0:
            continue
        if not points:
            points.append(point_on_segment(a, b, bulge, t0))
        points.append(point_on_segment(a, b, bulge, t1))
        bulges.append(math.tan(math.atan(bulge) * (t1 - t0)))
    return Path(tuple(points), tuple(bulges), False)


def to_building(sheet: Sheet, scale: Calibration, point: Point) -> Point:
    """Turn metres of the sheet (unrotated page, y down) into building metres as displayed, y up.

    Examples
    --------
    >>> sheet = Sheet(id=1, source="", page=1, width_pt=600, height_pt=400)
    >>> to_building(sheet, Calibration(sheet=1, mx=0.01, my=0.01), (1.0, 1.0))
    (1.0, 3.0)
    """
    width, height = sheet.width_pt * scale.mx, sheet.height_pt * scale.my
    x, y = turned(*point, width, height, sheet.rotation)
    return (x, (width if sheet.rotation % 180 else height) - y)


def from_building(sheet: Sheet, scale: Calibration, point: Point) -> Point:
    """Turn building metres as displayed, y up, into a sheet point: `to_building` turned back and over the scale.

    Examples
    --------
    >>> sheet = Sheet(id=1, source="", page=1, width_pt=600, height_pt=400, rotation=90)
    >>> scale = Calibration(sheet=1, mx=0.01, my=0.01)
    >>> from_building(sheet, scale, to_building(sheet, scale, (1.0, 2.0)))
    (100.0, 200.0)
    """
    across, down = sheet.width_pt * scale.mx, sheet.height_pt * scale.my
    if sheet.rotation % 180:
        across, down = down, across
    x, y = turned(point[0], down - point[1], across, down, -sheet.rotation)
    return (x / scale.mx, y / scale.my)
