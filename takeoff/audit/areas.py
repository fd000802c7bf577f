"""The areas of one room on every basis that a schedule may have used, each with its standard uncertainty."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import shapely

from takeoff.errors import TakeoffError
from takeoff.geometry.paths import Path
from takeoff.measure.faces import MeasuredFace, areas_by_rule, measure_faces
from takeoff.measure.rules import MeasureSettings
from takeoff.measure.totals import sum_quantities
from takeoff.measure.uncertainty import combine
from takeoff.model.figures import Elevation, Quantities
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Room, Run

Basis = Literal["net", "gross", "with-returns", "centreline", "floor"]

BASES: Mapping[Basis, str] = {
    "net": "net wall area under the measuring rule",
    "gross": "gross wall area, no opening deducted",
    "with-returns": "wall area under the measuring rule with coated returns added",
    "centreline": "wall area measured to the centrelines of the walls",
    "floor": "floor area of the room",
}
"""What a stated area may be an area of."""
LIMITS = (0.3, 15.0)
"""Metres between which a height is looked for (judgement, no source)."""
NEAR = 1e-4
"""Metres to which a height is solved for: a tenth of what is shown."""
SAME = 1e-6
"""m² that an area solved for may be off by: rounding, on walls of some hundred metres."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomAreas:
    """A room's areas in m² and their standard uncertainties.

    ``areas`` has (area, u) for each basis that the room's runs give. ``per_offset`` is the gain of wall area in m² for
    each metre by which its faces are moved into the walls. ``height`` is the one height of most of its walls in m,
    ``None`` where they slope. ``walls`` is the length in m of the walls that stand as high as that. ``parts`` are its
    straight walls: name, length in m, net area in m².
    """

    room: Room
    runs: tuple[Run, ...]
    calibrations: Mapping[str, Calibration]
    settings: MeasureSettings
    quantities: Quantities
    areas: Mapping[Basis, tuple[float, float]]
    per_offset: float
    height: float | None
    walls: float
    parts: tuple[tuple[str, float, float], ...] = ()

    @property
    def perimeter(self) -> float:
        """Length of all its walls in m."""
        return self.quantities.length

    def at_height(self, height: float) -> float:
        """Measure the walls that have the room's height with another one, under the same rule; m²."""
        room, runs = _with_height(self.room, self.runs, self.height, height)
        faces = measure_faces(runs, {room.id: replace(room, count=1)}, self.calibrations, settings=self.settings)
        return sum_quantities([f.quantities for f in faces]).measured_area

    def by_rule(self) -> Mapping[str, float]:
        """Measure the room under every measuring rule, by its name; m²."""
        return areas_by_rule(self.runs, {self.room.id: self.room}, self.calibrations, settings=self.settings)


def room_areas(
    room: Room, runs: Sequence[Run], calibrations: Mapping[str, Calibration], *, settings: MeasureSettings
) -> RoomAreas:
    """Measure one room on every basis, once however often it is built: a drawing states one."""
    faces = measure_faces(runs, {room.id: replace(room, count=1)}, calibrations, settings=settings)
    q = sum_quantities([f.quantities for f in faces])
    u = combine([f.spread for f in faces])[0]
    areas: dict[Basis, tuple[float, float]] = {
        "net": (q.measured_area, u),
        "gross": (q.gross_area, u),
        "with-returns": (q.measured_area + q.return_area, u),
    }
    own = {run.id: run for run in runs}
    lines = [own[f.elevation.run] for f in faces if _is_room(f.elevation)]
    halves = [run.thickness / 2.0 if run.line == "face" else 0.0 for run in lines]
    gains = [_gain(f) for f in faces if _is_room(f.elevation)]
    if halves and all(halves):
        added = sum(h * g for h, g in zip(halves, gains, strict=True))
        areas["centreline"] = (q.measured_area + added, u)
    floor = _floor(faces, own, calibrations)
    if floor is not None:
        areas["floor"] = floor
    height = _height(faces)
    return RoomAreas(
        room=room,
        runs=tuple(runs),
        calibrations=calibrations,
        settings=settings,
        quantities=q,
        areas=areas,
        per_offset=sum(gains),
        height=height,
        walls=sum(f.elevation.length for f in faces if _tops(f.elevation) == {height}),
        parts=tuple(part for f in faces for part in _straight_walls(f.elevation)),
    )


def _straight_walls(elevation: Elevation) -> list[tuple[str, float, float]]:
    """Name, length and net area of each piece of a face between two corners."""
    stations = sorted({0.0, *(c.station for c in elevation.corners), elevation.length})
    low, _, high, top = elevation.wall.bounds
    out = []
    for i, (a, b) in enumerate(pairwise(stations), start=1):
        if b - a > 1e-6:
            piece = shapely.clip_by_rect(elevation.net, max(a, low), 0.0, min(b, high), top)
            out.append((f"{elevation.run}, wall {i}", b - a, float(piece.area)))
    return out


def _turning(elevation: Elevation) -> list[float]:
    """Turning angles of the drawn line in radians, positive for inside corners."""
    points = elevation.line[:-1] if elevation.is_closed else elevation.line
    count = len(points) if elevation.is_closed else len(points) - 1
    sign = 1.0 if elevation.face == "left" else -1.0
    return [sign * t for t in Path(tuple(points), (0.0,) * count, elevation.is_closed).turns()]


def _is_room(elevation: Elevation) -> bool:
    """Tell whether a face closes round a room, with its coated side within."""
    return elevation.is_closed and sum(_turning(elevation)) > math.pi


def _gain(face: MeasuredFace) -> float:
    """Wall area gained for each metre by which a closed face moves into its wall; mitred corners, mean height."""
    mean_height = face.quantities.gross_area / face.elevation.length
    return sum(2.0 * math.tan(t / 2.0) for t in _turning(face.elevation)) * mean_height


def _floor(
    faces: Sequence[MeasuredFace], runs: Mapping[str, Run], calibrations: Mapping[str, Calibration]
) -> tuple[float, float] | None:
    """Floor area within the closed face of a room less what stands in it; nothing unless one face closes round it."""
    closed = [f.elevation for f in faces if f.elevation.is_closed]
    if sum(_is_room(e) for e in closed) != 1:
        return None
    area = picks = 0.0
    for e in closed:
        points = e.line[:-1]
        ring = list(zip(points, points[1:] + points[:1], strict=True))
        size = abs(sum(a[0] * b[1] - a[1] * b[0] for a, b in ring)) / 2.0
        area += size if _is_room(e) else -size
        scale = calibrations[e.run]
        corners = [scale.to_metres(p) for p in runs[e.run].points_pt]
        # the area moves by half the chord between a corner's neighbours for each metre across it
        chords = [math.dist(corners[i - 1], corners[(i + 1) % len(corners)]) for i in range(len(corners))]
        picks += (scale.pick * math.sqrt(scale.mx * scale.my)) ** 2 * sum((c / 2.0) ** 2 for c in chords)
    if area <= 0.0:
        return None
    share = 2.0 * max(calibrations[e.run].u_scale for e in closed)
    return area, math.hypot(share * area, math.sqrt(picks))


def _tops(elevation: Elevation) -> set[float]:
    return {h for _, h in elevation.profile}


def _height(faces: Sequence[MeasuredFace]) -> float | None:
    by_top: dict[float | None, float] = {}
    for face in faces:
        tops = _tops(face.elevation)
        top = next(iter(tops)) if len(tops) == 1 else None
        by_top[top] = by_top.get(top, 0.0) + face.quantities.gross_area
    return max(by_top, key=lambda top: by_top[top])


def _with_height(room: Room, runs: Sequence[Run], old: float | None, new: float) -> tuple[Room, tuple[Run, ...]]:
    profile = HeightProfile.constant(new)
    changed = tuple(
        replace(run, height=profile)
        if run.height is not None and run.height.is_constant and run.height.points[0][1] == old
        else run
        for run in runs
    )
    inherits = room.height is not None and room.height.is_constant and room.height.points[0][1] == old
    return replace(room, height=profile) if inherits else room, changed


def height_that_gives(areas: RoomAreas, area: float) -> float | None:
    """Solve for the height at which a room's walls have an area; ``None`` where none within `LIMITS` gives it.

    The measured area never falls as the walls rise, and rises in straight lines between the edges of openings: the line
    through the areas at two heights soon meets the one looked for. An end that stays twice counts half (the Illinois
    method: M. Dowell and P. Jarratt, BIT 11, 1971; from memory).
    """
    if areas.height is None:
        return None
    low, high = max(LIMITS[0], *(run.base + 0.01 for run in areas.runs)), LIMITS[1]
    try:
        under, over = areas.at_height(low) - area, areas.at_height(high) - area
        if not under <= 0.0 <= over:
            return None
        rose = None
        while high - low > NEAR and over > under:
            middle = low - under * (high - low) / (over - under)
            off = areas.at_height(middle) - area
            if abs(off) < SAME:
                return middle
            if off < 0.0:
                low, under, over = middle, off, over / (2.0 if rose is True else 1.0)
            else:
                high, over, under = middle, off, under / (2.0 if rose is False else 1.0)
            rose = off < 0.0
    except TakeoffError:
        return None
    return (low + high) / 2.0
