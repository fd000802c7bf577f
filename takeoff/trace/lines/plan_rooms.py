"""Rooms of a vector sheet: closed runs of inner faces with their openings, names and numbers, each with a confidence.

`read_plan` does the work once for a sheet; `trace_room` answers a click from it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.geometry.arcs import segment_length
from takeoff.model.drafting import DraftingStyle, Look
from takeoff.model.plan import Calibration, Point, Sheet
from takeoff.model.walls import OpeningKind
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.fitted_outline import outline_of
from takeoff.trace.drawing.linework import Floats, Linework
from takeoff.trace.lines.gaps import find_gaps, gap_between
from takeoff.trace.lines.glass_fronts import glass_fronts, reached
from takeoff.trace.lines.lost_rooms import LostRoom, lost_rooms
from takeoff.trace.lines.open_rooms import OpenRoom, leak_words, open_room_at
from takeoff.trace.lines.parting_gaps import parting_gaps
from takeoff.trace.lines.room_evidence import Evidence, judge
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.swings import find_swings
from takeoff.trace.lines.wall_areas import find_walls
from takeoff.trace.lines.wall_groups import ground_of
from takeoff.trace.lines.wall_material import THICK, THIN
from takeoff.trace.lines.wall_openings import Form, FoundOpening, closed_by, find_openings, loose_swings, windows_in
from takeoff.trace.texts.printed_areas import read_printed_areas
from takeoff.trace.texts.room_names import groups_of_names, other_labels, room_label
from takeoff.trace.texts.size_tags import SizeTag

NO_AREA = Polygon()
_OPEN = 0.3
"""The confidence of a room whose walls do not close, and of the openings where they do not (judgement)."""
_ROOM = (1.5, 100.0)
"""Square metres that most rooms have (judgement): those of a key plan are smaller, those of a detail larger."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where on the drawings a value stands: the sheet's id, the place in sheet points, and the words.

    ``how`` says whether a schedule has it or it is stated at its place, ``unsure`` what speaks against it.
    """

    sheet: int
    at_pt: Point | None
    text: str
    unsure: str = ""
    how: Literal["schedule", "stated"] = "schedule"


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedOpening:
    """An opening on a traced run.

    ``at`` is the station of its centre and ``width`` its clear width between jambs, in metres along the run;
    ``form`` is how it is drawn, ``kind`` what the model knows it as; ``confidence`` is in 0..1, for ``reason``.
    ``mark`` is its mark where an opening schedule has it, ``height`` and ``sill`` in metres are what the schedule or a
    size written beside it gives, and ``source`` is where that stands.
    """

    at: float
    width: float
    form: Form
    kind: OpeningKind
    confidence: float
    reason: str
    mark: str = ""
    height: float | None = None
    sill: float | None = None
    source: Source | None = None


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
    sentences. ``outline_sure`` says whether its outline may be taken without a look, whatever ``unread`` says, in
    sentences too, that is not known of its openings. ``leaks_pt`` are lines across which its outline goes on where no
    wall is.
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
    outline_sure: bool = False
    unread: tuple[str, ...] = ()
    leaks_pt: tuple[tuple[Point, Point], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TracedPlan:
    """A sheet read once: its rooms, and their areas in sheet points, columns included.

    ``lost`` are names of rooms that stand in none of them. ``walls`` is the area of the walls with their openings in
    sheet points, for places that no room was read round; ``looks`` are those of the lines and fills that drew them.
    ``sizes`` are those of openings that are written on it.
    """

    rooms: tuple[TracedRoom, ...]
    shapes: tuple[Polygon, ...]
    lost: tuple[LostRoom, ...] = ()
    walls: Geometry = NO_AREA
    looks: tuple[Look, ...] = ()
    sizes: tuple[SizeTag, ...] = ()


def read_plan(
    linework: Linework,
    lines: Sequence[TextLine],
    sheet: Sheet,
    calibration: Calibration,
    style: DraftingStyle | None = None,
) -> TracedPlan:
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
    style
        How walls, doors and windows are drawn, where a person has shown it; nothing else is taken for them then.

    Returns
    -------
    TracedPlan
        Rooms in reading order, top to bottom and left to right on the unrotated page.
    """
    m_per_pt = math.sqrt(calibration.mx * calibration.my)
    swings = find_swings(linework, m_per_pt)
    scene = Scene.of(linework, swings, lines, m_per_pt, (sheet.width_pt, sheet.height_pt), style)
    walls = find_walls(scene)
    cuts = windows_in(walls.material, scene)
    material: Geometry = shapely.difference(walls.material, shapely.union_all(cuts)) if cuts else walls.material
    gaps = find_gaps(material, m_per_pt, thin=0.8 * THIN, thick=THICK)
    openings = find_openings(gaps, material, walls.low, scene, swings)
    closed, shapes = closed_by([material, walls.low], openings, scene)
    if parting := parting_gaps(gaps, openings, [material, walls.low], [shape for shape, _ in shapes], scene):
        openings = (*openings, *parting)
        closed, shapes = closed_by([material, walls.low], openings, scene)
    printed = read_printed_areas(lines)

    def read_rooms(fronts: Sequence[FoundOpening] = ()) -> list[tuple[TracedRoom, Polygon]]:
        evidence = (Evidence.of(s, scene, walls, openings, swings, lines, printed, fronts=fronts) for s, _ in shapes)
        return [
            (_room(shape, inside, openings, lines, told, calibration, scene), shape)
            for (shape, inside), told in zip(shapes, evidence, strict=True)
        ]

    rooms = read_rooms()
    loose = loose_swings(swings, openings, scene)
    fronts = glass_fronts(closed, scene, loose, [s for _, s in rooms], [r.sure for r, _ in rooms])
    if fronts:
        openings = (*openings, *fronts)
        closed, shapes = closed_by([material, walls.low, *reached(material, fronts, scene)], openings, scene)
        rooms = read_rooms(fronts)
    rooms = _without_keys(rooms, [ground for ground, _ in walls.buildings])
    ground = ground_of(shapely.union_all([walls.material, walls.low]), scene)
    others = other_labels(lines, [room.number for room, _ in rooms])
    lost, opened = lost_rooms(scene.names, [shape for _, shape in rooms], ground, closed, m_per_pt, others)
    rooms += [(_open_room(room, lines, calibration, m_per_pt), room.shape) for room in opened]
    rooms.sort(key=lambda r: (round(r[1].centroid.y / scene.pt(2.0)), r[1].centroid.x))
    return TracedPlan(
        rooms=tuple(r for r, _ in rooms),
        shapes=tuple(s for _, s in rooms),
        lost=lost,
        walls=closed,
        looks=walls.looks(scene),
    )


def _without_keys(
    rooms: list[tuple[TracedRoom, Polygon]], grounds: Sequence[Polygon]
) -> list[tuple[TracedRoom, Polygon]]:
    """Leave out the rooms on grounds where none has a name or an opening, if some has elsewhere: key plans, details.

    Where no room of the sheet has a name, several rooms as large as rooms are make a building all the same.
    """
    owner = [next((i for i, ground in enumerate(grounds) if ground.intersects(shape)), -1) for _, shape in rooms]
    lived_in = {i for i, (room, _) in zip(owner, rooms, strict=True) if room.name or room.number or room.openings}
    if lived_in and not any(room.name or room.number for room, _ in rooms):
        large = Counter(i for i, (room, _) in zip(owner, rooms, strict=True) if _ROOM[0] <= room.area <= _ROOM[1])
        lived_in |= {i for i, count in large.items() if count > 1}
    return [room for i, room in zip(owner, rooms, strict=True) if i in lived_in] if lived_in else rooms


def trace_room(plan: TracedPlan, at: Point) -> TracedRoom | None:
    """Return the room round a sheet point that was read, or none."""
    hits = [i for i, s in enumerate(plan.shapes) if s.contains(shapely.Point(at))]
    return plan.rooms[min(hits, key=lambda i: plan.shapes[i].area)] if hits else None


def trace_open_room(
    plan: TracedPlan, at: Point, lines: Sequence[TextLine], calibration: Calibration
) -> TracedRoom | None:
    """Return what walls all but enclose round a sheet point, never sure; nothing where they do not.

    Parameters
    ----------
    plan
        The sheet as it was read.
    at
        The sheet point.
    lines
        The sheet's text.
    calibration
        The sheet's scale.
    """
    m_per_pt = math.sqrt(calibration.mx * calibration.my)
    found = open_room_at(plan.walls, at, m_per_pt)
    return None if found is None else _open_room(found, lines, calibration, m_per_pt)


def _open_room(room: OpenRoom, lines: Sequence[TextLine], calibration: Calibration, m_per_pt: float) -> TracedRoom:
    """Make a room of what walls all but enclose, with a bare opening where none stands."""
    bare = [_bare_opening(leak) for leak in room.leaks_pt]
    run = run_round(room.shape, bare, calibration, m_per_pt, is_column=False)
    name, number = room_label(room.shape, lines)
    told = leak_words(room.leaks_pt, m_per_pt)
    several = groups_of_names(room.shape, lines)
    reasons = ["The walls round it do not close.", f"{told[0].upper()}{told[1:]}."]
    if several > 1:
        reasons.append(f"{several} names stand in it: it may be several rooms that are open to one another.")
    return TracedRoom(
        points_pt=run.points_pt,
        bulges=run.bulges,
        openings=run.openings,
        columns=(),
        name=name,
        number=number,
        area=float(room.shape.area) * calibration.mx * calibration.my,
        confidence=_OPEN if several <= 1 else _OPEN / 2,
        reasons=tuple(reasons),
        sure=False,
        leaks_pt=room.leaks_pt,
    )


def _bare_opening(leak: tuple[Point, Point]) -> FoundOpening:
    """Make an opening of a place where an outline goes on without a wall."""
    side = (np.array(leak[0]), np.array(leak[1]))
    return FoundOpening(
        gap=gap_between(side, side, is_capped=False),
        form="cased",
        confidence=_OPEN,
        reason="no wall stands there and nothing is drawn that closes it",
    )


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
    verdict = judge(evidence, run.openings)
    name, number = room_label(shape, lines)
    area = (shape.area - sum(c.area for c in columns)) * calibration.mx * calibration.my
    return TracedRoom(
        points_pt=run.points_pt,
        bulges=run.bulges,
        openings=run.openings,
        columns=tuple(run_round(c, openings, calibration, scene.m_per_pt, is_column=True) for c in columns),
        name=name,
        number=number,
        area=float(area),
        confidence=verdict.confidence,
        reasons=verdict.reasons,
        sure=verdict.sure,
        outline_sure=verdict.outline_sure,
        unread=verdict.unread,
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
