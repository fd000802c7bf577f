"""Solids and surfaces of walls and rooms: what a run, its openings and its room are in space, metres, z up."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from takeoff.exchange.plan_lines import PlanRun, to_building
from takeoff.geometry.arcs import Point
from takeoff.measure.faces import MeasuredFace

CHORD = 0.0003
"""Metres by which chords may miss an arc: on a round pillar of 0.2 m that is 0.1 % of its area."""
_SHARPEST = -0.9
"""Cosine of the turn beyond which a corner is too sharp to be mitred."""
_LEAST_AREA = 1e-8
"""m² below which a piece is a crumb of rounding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Prism:
    """An upright profile (along, up) that is pushed out square to the straight line it stands on.

    ``start`` is where the profile's origin stands, ``along`` the direction of its first axis in plan.
    """

    start: tuple[float, float, float]
    along: Point
    profile: Any
    depth: float
    is_to_the_right: bool


Mesh = tuple[list[tuple[float, float, float]], list[tuple[int, int, int]]]
"""Corners of a closed body, and triangles by the numbers of their corners, from 1, seen counterclockwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomShape:
    """The floor of a room in building metres, and how high it is."""

    floor: Any
    height: float


def voids(face: MeasuredFace) -> list[Any]:
    """Return what each opening takes out of its wall (station, height); empty where it takes nothing."""
    import shapely

    taken = face.elevation.wall.difference(face.elevation.net)
    return [shapely.box(o.x0, o.z0, o.x1, o.z1).intersection(taken) for o in face.elevation.openings]


def wall_bodies(run: PlanRun, face: MeasuredFace, shape: Any, depth: float) -> Iterator[Mesh]:
    """Give a shape on an elevation a thickness to the side that is not coated, mitred where its line bends."""
    backs = _mitred(run, face, depth if face.elevation.face == "left" else -depth)
    for number, a, b, s0, s1, part in _strips(face, shape):
        front = [to_building(run.sheet, run.scale, point) for point in (a, b)]
        yield _body(part, s0, s1, front, backs[number], is_turned=face.elevation.face != "left")


def _mitred(run: PlanRun, face: MeasuredFace, right: float) -> list[tuple[Point, Point]]:
    """Return both ends of the back of each straight part of a line, so far to its right; plain where it is short."""
    line = [to_building(run.sheet, run.scale, point) for point in face.path.flattened(CHORD)]
    squares = []
    for (ax, ay), (bx, by) in pairwise(line):
        length = math.hypot(bx - ax, by - ay)
        squares.append(((by - ay) / length, (ax - bx) / length))
    ring = len(squares) if face.path.is_closed else 0
    backs = []
    for i, ((a, b), own) in enumerate(zip(pairwise(line), squares, strict=True)):
        before = squares[i - 1] if i or ring else own
        after = squares[(i + 1) % ring if ring else min(i + 1, len(squares) - 1)]
        ends = (_beside(a, before, own, right), _beside(b, own, after, right))
        ahead = sum((q - p) * (d - c) for p, q, c, d in zip(*ends, a, b, strict=True))
        plain = (_beside(a, own, own, right), _beside(b, own, own, right))
        backs.append(ends if ahead > 0.0 else plain)
    return backs


def _beside(point: Point, before: Point, after: Point, right: float) -> Point:
    """Move a point so far to the right of both lines that meet in it; of the second alone where they turn back."""
    cosine = before[0] * after[0] + before[1] * after[1]
    if cosine < _SHARPEST:
        before, cosine = after, 1.0
    by = right / (1.0 + cosine)
    return (point[0] + (before[0] + after[0]) * by, point[1] + (before[1] + after[1]) * by)


def _body(part: Any, s0: float, s1: float, front: Sequence[Point], back: Sequence[Point], *, is_turned: bool) -> Mesh:
    """Stretch a polygon (station, height) between its face and its back into a closed body."""
    import shapely

    places = list(dict.fromkeys(tuple(map(float, p)) for p in shapely.get_coordinates(part)))
    number = {place: i for i, place in enumerate(places, start=1)}
    corners = [
        (p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t, z)
        for p, q in (front, back)
        for s, z in places
        for t in [(s - s0) / (s1 - s0)]
    ]
    found, count = [], len(places)
    for triangle in shapely.get_parts(shapely.constrained_delaunay_triangles(part)):
        a, b, c = (number[p] for p in list(triangle.exterior.normalize().coords)[:3])
        found += [(a, b, c), (c + count, b + count, a + count)]
    oriented = shapely.geometry.polygon.orient(part, sign=-1.0)
    for ring in (oriented.exterior, *oriented.interiors):
        for p, q in pairwise(ring.coords):
            a, b = number[p], number[q]
            found += [(a, b, b + count), (a, b + count, a + count)]
    return corners, [(c, b, a) for a, b, c in found] if is_turned else found


def wall_prisms(run: PlanRun, face: MeasuredFace, shape: Any, depth: float, *, start: float = 0.0) -> Iterator[Prism]:
    """Push a shape on an elevation out to the side that is not coated, ``start`` metres behind the face.

    An arc is pushed out chord by chord.
    """
    is_to_the_right = face.elevation.face == "left"
    for _, a, b, s0, s1, part in _strips(face, shape):
        (ax, ay), (bx, by) = (to_building(run.sheet, run.scale, point) for point in (a, b))
        length = math.hypot(bx - ax, by - ay)
        along = ((bx - ax) / length, (by - ay) / length)
        behind = start if is_to_the_right else -start
        yield Prism(
            start=(ax + along[1] * behind, ay - along[0] * behind, 0.0),
            along=along,
            profile=_moved(part, s0, length / (s1 - s0)),
            depth=depth,
            is_to_the_right=is_to_the_right,
        )


def room_shape(runs: Sequence[PlanRun]) -> RoomShape | None:
    """Return the floor and height of a room; nothing where its walls do not close or differ in height.

    The largest closed line is the room; closed ones in it are columns.
    """
    import shapely

    heights = {round(h, 6) for run in runs for face in run.faces for _, h in face.elevation.profile}
    lines = [
        shapely.LineString([to_building(run.sheet, run.scale, p) for p in run.faces[0].path.flattened(CHORD)])
        for run in runs
    ]
    floors = sorted(shapely.get_parts(shapely.polygonize(lines)), key=lambda floor: floor.area)
    if not floors or len(heights) != 1:
        return None
    floor = shapely.Polygon(floors[-1].exterior)
    columns = [shapely.Polygon(line.coords) for line in lines if line.is_closed]
    for column in columns:
        if not column.equals(floor) and floor.contains(column):
            floor = floor.difference(column)
    return RoomShape(floor=floor, height=heights.pop()) if floor.geom_type == "Polygon" else None


def _strips(face: MeasuredFace, shape: Any) -> Iterator[tuple[int, Point, Point, float, float, Any]]:
    """Cut a shape on an elevation at the bends of its line: its number, ends, stations, and each polygon."""
    import shapely

    line = face.path.flattened(CHORD)
    at = [0.0]
    for a, b in pairwise(line):
        at.append(at[-1] + math.dist(a, b))
    at = [s * face.elevation.length / at[-1] for s in at]
    top = max(h for _, h in face.elevation.profile) + 1.0
    strips = shapely.intersection(shape, shapely.box(at[:-1], -1.0, at[1:], top))
    for i, ((a, b), (s0, s1), strip) in enumerate(zip(pairwise(line), pairwise(at), strips, strict=True)):
        for part in shapely.get_parts(strip):
            if part.geom_type == "Polygon" and part.area > _LEAST_AREA:
                yield i, a, b, s0, s1, part


def _moved(part: Any, station: float, stretch: float) -> Any:
    """Take the stations of a polygon from the beginning of its line, in the chord's own metres."""
    import shapely

    return shapely.transform(part, lambda points: (points - (station, 0.0)) * (stretch, 1.0))


def triangles(face: MeasuredFace) -> Iterable[list[tuple[Point, float]]]:
    """Cut the net elevation at the bends of its line into triangles of (point in metres of the sheet, height)."""
    import shapely

    for _, a, b, s0, s1, part in _strips(face, face.elevation.net):
        for triangle in shapely.get_parts(shapely.constrained_delaunay_triangles(part)):
            yield [
                ((a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t), z)
                for s, z in triangle.exterior.coords[:3]
                for t in [(s - s0) / (s1 - s0)]
            ]
