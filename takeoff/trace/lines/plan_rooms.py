"""Rooms of a vector sheet: closed runs of inner faces with their openings, names and numbers, each with a confidence.

`read_plan` does the work once for a sheet; `trace_room` answers a click from it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.geometry.arcs import segment_length
from takeoff.model.plan import Calibration, Point, Sheet
from takeoff.model.walls import OpeningKind
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.fitted_outline import outline_of
from takeoff.trace.drawing.linework import Floats, Linework
from takeoff.trace.drawing.polygons import joined, polygons_of, width_of
from takeoff.trace.lines.gaps import find_gaps
from takeoff.trace.lines.room_evidence import Evidence, judge
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.swings import find_swings
from takeoff.trace.lines.wall_areas import THICK, THIN, find_walls
from takeoff.trace.lines.wall_openings import Form, FoundOpening, find_openings, windows_in
from takeoff.trace.texts.room_names import room_label

LEAST_AREA, LEAST_WIDTH = 0.7, 0.55
"""Square metres and metres; what is smaller or narrower is a shaft or a cavity (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedOpening:
    """An opening on a traced run.

    ``at`` is the station of its centre and ``width`` its clear width between jambs, in metres along the run;
    ``form`` is how it is drawn, ``kind`` what the model knows it as; ``confidence`` is in 0..1, for ``reason``.
    ``mark`` is the door's mark where a door schedule has it, and ``height`` in metres what the schedule gives it.
    """

    at: float
    width: float
    form: Form
    kind: OpeningKind
    confidence: float
    reason: str
    mark: str = ""
    height: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedRun:
    """A closed run of wall faces in sheet points, the face on its left hand as displayed (the model's convention)."""

    points_pt: tuple[Point, ...]
    bulges: tuple[float, ...]
    openings: tuple[TracedOpening, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedRoom:
    """A room as it was traced: its inner face, the columns inside it, and how far to trust it.

    ``points_pt``, ``bulges`` and ``openings`` are those of the inner face. ``columns`` are what stands free in the
    room, each a run of its own. ``area`` is the floor between faces in m², columns left out. ``confidence`` is the
    chance in 0..1 that the room is right; ``sure`` says whether it may be taken without a look; ``reasons`` are
    sentences.
    """

    points_pt: tuple[Point, ...]
    bulges: tuple[float, ...]
    openings: tuple[TracedOpening, ...]
    columns: tuple[TracedRun, ...]
    name: str
    number: str
    area: float
    confidence: float
    reasons: tuple[str, ...]
    sure: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TracedPlan:
    """A sheet read once: its rooms, and their areas in sheet points, columns included."""

    rooms: tuple[TracedRoom, ...]
    shapes: tuple[Polygon, ...]


def read_plan(linework: Linework, lines: Sequence[TextLine], sheet: Sheet, calibration: Calibration) -> TracedPlan:
    """Read the walls, openings and rooms of a vector sheet.

    Parameters
    ----------
    linework
        What is drawn on the sheet (`read_linework`).
    lines
        Its text (`takeoff.sheet.text.read_lines`), for names, and to tell tables from walls.
    sheet
        The sheet, for its size.
    calibration
        Its scale: what a wall may be is a matter of true thickness.

    Returns
    -------
    TracedPlan
        Rooms in reading order, top to bottom and left to right on the unrotated page.
    """
    m_per_pt = math.sqrt(calibration.mx * calibration.my)
    swings = find_swings(linework, m_per_pt)
    scene = Scene.of(linework, swings, lines, m_per_pt, (sheet.width_pt, sheet.height_pt))
    walls = find_walls(scene)
    cuts = windows_in(walls.material, scene)
    material: Geometry = shapely.difference(walls.material, shapely.union_all(cuts)) if cuts else walls.material
    gaps = find_gaps(material, m_per_pt, thin=0.8 * THIN, thick=THICK)
    openings = find_openings(gaps, material, walls.low, scene, swings)
    closed = joined([material, walls.low, *(o.gap.band for o in openings)], scene.pt(0.01))
    rooms: list[tuple[TracedRoom, Polygon]] = []
    parts = polygons_of(closed)
    standing = shapely.STRtree(parts)
    for part in parts:
        for ring in part.interiors:
            shape = Polygon(ring)
            if shape.area < scene.pt(1.0) ** 2 * LEAST_AREA:
                continue
            if width_of(shape, scene.pt(LEAST_WIDTH)) < scene.pt(LEAST_WIDTH):
                continue
            inside = [parts[i] for i in standing.query(shape, predicate="contains")]
            evidence = Evidence.of(shape, scene, walls, openings, swings, lines)
            rooms.append((_room(shape, inside, openings, lines, evidence, calibration, scene), shape))
    rooms = _without_keys(rooms, [ground for ground, _ in walls.buildings])
    rooms.sort(key=lambda r: (round(r[1].centroid.y / scene.pt(2.0)), r[1].centroid.x))
    return TracedPlan(rooms=tuple(r for r, _ in rooms), shapes=tuple(s for _, s in rooms))


def _without_keys(
    rooms: list[tuple[TracedRoom, Polygon]], grounds: Sequence[Polygon]
) -> list[tuple[TracedRoom, Polygon]]:
    """Leave out the rooms on grounds where none has a name or an opening, if some has elsewhere: key plans, details."""
    owner = [next((i for i, ground in enumerate(grounds) if ground.intersects(shape)), -1) for _, shape in rooms]
    lived_in = {i for i, (room, _) in zip(owner, rooms, strict=True) if room.name or room.number or room.openings}
    return [room for i, room in zip(owner, rooms, strict=True) if i in lived_in] if lived_in else rooms


def trace_room(plan: TracedPlan, at: Point) -> TracedRoom | None:
    """Return the room round a sheet point; nothing where no closed room is."""
    hits = [i for i, s in enumerate(plan.shapes) if s.contains(shapely.Point(at))]
    return plan.rooms[min(hits, key=lambda i: plan.shapes[i].area)] if hits else None


def _room(
    shape: Polygon,
    inside: Sequence[Polygon],
    openings: Sequence[FoundOpening],
    lines: Sequence[TextLine],
    evidence: Evidence,
    calibration: Calibration,
    scene: Scene,
) -> TracedRoom:
    columns = [Polygon(p.exterior) for p in inside if not any(p is not q and q.contains(p) for q in inside)]
    run = run_round(shape, openings, calibration, scene.m_per_pt, is_column=False)
    confidence, reasons, sure = judge(evidence, run.openings)
    name, number = room_label(shape, lines)
    area = (shape.area - sum(c.area for c in columns)) * calibration.mx * calibration.my
    return TracedRoom(
        points_pt=run.points_pt,
        bulges=run.bulges,
        openings=run.openings,
        columns=tuple(run_round(c, (), calibration, scene.m_per_pt, is_column=True) for c in columns),
        name=name,
        number=number,
        area=float(area),
        confidence=confidence,
        reasons=reasons,
        sure=sure,
    )


def run_round(
    shape: Polygon,
    openings: Sequence[FoundOpening],
    calibration: Calibration,
    m_per_pt: float,
    *,
    is_column: bool,
    slack: float = 0.01,
) -> TracedRun:
    """Make the run round a shape, its face to the left as walked, with the openings within ``slack`` metres of it."""
    ring = shapely.get_coordinates(shape.exterior)[:-1]
    # y is down: what goes anticlockwise as computed goes clockwise as displayed
    if shape.exterior.is_ccw != is_column:
        ring = ring[::-1]
    points, bulges = outline_of(np.round(ring, 6), max(0.02, 0.0005 / m_per_pt), max(0.07, 0.002 / m_per_pt))
    near = shapely.buffer(shape.exterior, slack / m_per_pt)
    traced: list[TracedOpening] = []
    for opening in openings:
        for side in (opening.gap.left_pt, opening.gap.right_pt):
            line = shapely.LineString(side)
            if shapely.intersection(line, near).length > 0.9 * line.length:
                at = _station(points, bulges, side, calibration)
                traced.append(
                    TracedOpening(
                        at=at,
                        width=math.dist(calibration.to_metres(side[0]), calibration.to_metres(side[1])),
                        form=opening.form,
                        kind=opening.kind,
                        confidence=opening.confidence,
                        reason=opening.reason,
                    )
                )
                break
    traced.sort(key=lambda o: o.at)
    return TracedRun(points_pt=points, bulges=bulges, openings=tuple(traced))


def _station(
    points: Sequence[Point], bulges: Sequence[float], side: tuple[Point, Point], calibration: Calibration
) -> float:
    """Return the station in metres of the middle of an opening's side on a run."""
    middle = ((side[0][0] + side[1][0]) / 2, (side[0][1] + side[1][1]) / 2)
    best, station, at = math.inf, 0.0, 0.0
    for i, bulge in enumerate(bulges):
        a, b = points[i], points[(i + 1) % len(points)]
        length = segment_length(calibration.to_metres(a), calibration.to_metres(b), bulge)
        line: Floats = np.array([a, b])
        d = line[1] - line[0]
        share = float(np.clip(((np.array(middle) - line[0]) @ d) / (d @ d), 0.0, 1.0))
        # an arc is met by its chord: near enough to tell which segment, and exact in its middle
        off = math.dist(middle, (float(a[0] + share * d[0]), float(a[1] + share * d[1])))
        off = max(0.0, off - abs(bulge) * math.dist(a, b) / 2)
        if off < best - 1e-9:
            best, at = off, station + share * length
        station += length
    return at
