"""Traced rooms against true ones: what was found, how much of the walls, how far off, which openings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import shapely
from shapely import Polygon

from takeoff.geometry.arcs import flatten_segment
from takeoff.model.plan import Calibration
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.lines.plan_rooms import TracedPlan
from takeoff.trace.lines.traced_rooms import TracedRoom, TracedRun
from takeoff.trace.sheet_reading import read_vector_plan
from tests.trace.plans import Plan, TrueRoom

HEIGHT = {"wall": 2.7, "door": 2.1, "window": 1.2, "pass-through": 1.0}
"""Metres; heights that areas are compared with, the same for truth and trace."""
NEAR = 0.010
"""Metres; a wall counts as traced where the trace is no further from it."""


@dataclass(kw_only=True)
class Score:
    """Sums over plans. ``worst`` holds the errors of net wall area, as shares, of rooms called sure."""

    rooms: int = 0
    found: int = 0
    false_rooms: int = 0
    sure: int = 0
    sure_wrong: int = 0
    length: float = 0.0
    traced: float = 0.0
    openings: int = 0
    proposed: int = 0
    right: int = 0
    columns: int = 0
    columns_found: int = 0
    named: int = 0
    errors: list[float] = field(default_factory=list)
    sure_errors: list[float] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def add(self, other: Score) -> None:
        for name in self.__dataclass_fields__:
            setattr(self, name, getattr(self, name) + getattr(other, name))


def read(plan: Plan) -> TracedPlan:
    """Trace a made-up plan; one that several tests look at is traced once."""
    return _read(plan.data, plan.m_per_pt)


@lru_cache(maxsize=24)
def _read(data: bytes, m_per_pt: float) -> TracedPlan:
    sheet = read_sheets(data, "plan.pdf")[0][0]
    calibration = Calibration(sheet=sheet.id, mx=m_per_pt, my=m_per_pt)
    return read_vector_plan(data, read_linework(data, sheet), read_lines(data, sheet), sheet, calibration)


def polygon_of(room: TracedRoom | TracedRun) -> Polygon:
    """Return the area inside a traced face in sheet points."""
    points: list[tuple[float, float]] = []
    count = len(room.points_pt)
    for i in range(count):
        a, b = room.points_pt[i], room.points_pt[(i + 1) % count]
        points.extend(flatten_segment(a, b, room.bulges[i], 0.02)[:-1])
    return Polygon(points)


def score(
    traced: Sequence[TracedRoom],
    truth: Sequence[TrueRoom],
    m_per_pt: float,
    label: str = "",
    *,
    near: float = NEAR,
    stretch: float = 1.0,
) -> Score:
    """Compare the rooms of one sheet; a wall counts as traced where the trace is within ``near`` metres of it.

    ``stretch`` is metres per point across the sheet over those down it.
    """
    result = Score(rooms=len(truth))
    shapes = [polygon_of(r) for r in traced]
    taken: set[int] = set()
    for true in truth:
        result.length += true.outline_pt.length * m_per_pt
        result.openings += len(true.openings)
        result.columns += len(true.columns_pt)
        overlaps = [_share(s, true.outline_pt) for s in shapes]
        best = max(range(len(shapes)), key=lambda i: overlaps[i], default=None)
        if best is None or overlaps[best] < 0.5 or best in taken:
            result.faults.append(f"{label} {true.number}: not found")
            continue
        taken.add(best)
        _compare(result, traced[best], shapes[best], true, m_per_pt, label, near, stretch)
    for i, room in enumerate(traced):
        if i not in taken:
            result.false_rooms += 1
            result.sure += int(room.sure)
            result.sure_wrong += int(room.sure)
            result.proposed += len(room.openings)
            result.faults.append(f"{label} {room.name} {room.number}: there is no such room, sure {room.sure}")
    return result


def _compare(
    result: Score,
    room: TracedRoom,
    shape: Polygon,
    true: TrueRoom,
    m_per_pt: float,
    label: str,
    reach: float,
    stretch: float,
) -> None:
    area_error = abs(shape.area / true.outline_pt.area - 1)
    is_found = area_error < 0.02 and _share(shape, true.outline_pt) > 0.97
    result.found += int(is_found)
    near = shape.exterior.buffer(reach / m_per_pt)
    result.traced += true.outline_pt.exterior.intersection(near).length * m_per_pt
    right, wrong = _match_openings(room, true, m_per_pt, stretch)
    result.right += right
    result.proposed += len(room.openings)
    columns = sum(any(_share(polygon_of(c), t) > 0.9 for c in room.columns) for t in true.columns_pt)
    result.columns_found += columns
    result.named += int((room.name, room.number) == (true.name, true.number))
    error = abs(_net(shape.length * m_per_pt, room) / _true_net(true, m_per_pt) - 1)
    result.errors.append(error)
    is_wrong = error > 0.02 or not is_found
    if room.sure:
        result.sure += 1
        result.sure_errors.append(error)
        result.sure_wrong += int(is_wrong)
    if is_wrong or wrong or right < len(true.openings) or columns < len(true.columns_pt):
        result.faults.append(
            f"{label} {true.number}: sure {room.sure}, area off {area_error:.2%}, net wall off {error:.2%}, "
            f"openings {right} of {len(true.openings)}, {wrong} false, columns {columns} of {len(true.columns_pt)}"
        )


def _share(one: Polygon, other: Polygon) -> float:
    if not one.intersects(other):
        return 0.0
    both = one.intersection(other).area
    return float(both / (one.area + other.area - both))


def _net(length: float, room: TracedRoom) -> float:
    return length * HEIGHT["wall"] - sum(o.width * HEIGHT[o.kind] for o in room.openings)


def _true_net(true: TrueRoom, m_per_pt: float) -> float:
    length = true.outline_pt.length * m_per_pt
    return length * HEIGHT["wall"] - sum(o.width * HEIGHT[o.kind] for o in true.openings)


def _match_openings(room: TracedRoom, true: TrueRoom, m_per_pt: float, stretch: float) -> tuple[int, int]:
    """Count the openings that are right (kind, width within 50 mm, middle within 100 mm) and those that are not."""
    left = list(true.openings)
    right = 0
    for opening in room.openings:
        at = _point_at(room, opening.at / m_per_pt, stretch)
        for candidate in left:
            off = 0.0
            if candidate.side_pt is not None:
                (x0, y0), (x1, y1) = candidate.side_pt
                off = math.dist(at, ((x0 + x1) / 2, (y0 + y1) / 2)) * m_per_pt
            is_kind = candidate.kind == opening.kind
            if off < 0.1 and is_kind and abs(candidate.width - opening.width) <= 0.05:
                left.remove(candidate)
                right += 1
                break
    return right, len(room.openings) - right


def _point_at(room: TracedRoom, station_pt: float, stretch: float) -> tuple[float, float]:
    """Return the place on a traced face at a station, both in sheet points; stations follow the true lengths."""
    k = math.sqrt(stretch)
    line: list[tuple[float, float]] = []
    count = len(room.points_pt)
    for i in range(count):
        a, b = room.points_pt[i], room.points_pt[(i + 1) % count]
        line.extend(flatten_segment(a, b, room.bulges[i], 0.005)[:-1])
    true = [(x * k, y / k) for x, y in line]
    at = shapely.LineString([*true, true[0]]).interpolate(station_pt)
    return (at.x / k, at.y * k)
