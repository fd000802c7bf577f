"""Rooms of a vector sheet: closed runs of inner faces with their openings, names and numbers, each with a confidence.

`read_plan` does the work once for a sheet; `trace_room` answers a click from it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.model.drafting import DraftingStyle, Look
from takeoff.model.plan import Calibration, Point, Sheet
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Linework
from takeoff.trace.drawing.polygons import polygons_of
from takeoff.trace.lines.gaps import LEAST, Gap, find_gaps, gap_between
from takeoff.trace.lines.glass_fronts import glass_fronts, reached
from takeoff.trace.lines.lost_rooms import LostRoom, closed_shape, lost_rooms
from takeoff.trace.lines.open_rooms import OpenRoom, leak_words, open_room_at
from takeoff.trace.lines.opening_forms import FoundOpening
from takeoff.trace.lines.printed_parts import filled_out, parted_by_areas
from takeoff.trace.lines.room_evidence import DEEP_M, Evidence, Surroundings
from takeoff.trace.lines.room_verdict import judge, trusted
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.swings import Swing, find_swings
from takeoff.trace.lines.traced_rooms import TracedRoom, run_round
from takeoff.trace.lines.wall_areas import Walls, find_walls
from takeoff.trace.lines.wall_groups import ground_of
from takeoff.trace.lines.wall_material import JOIN, LINE, THICK, THIN
from takeoff.trace.lines.wall_openings import closed_by, find_openings, loose_swings, parting_gaps
from takeoff.trace.lines.windows_in_walls import windows_in, with_shut_doors
from takeoff.trace.texts.printed_sizes import AGREES, PrintedArea, SizeTag, areas_inside, read_printed_areas
from takeoff.trace.texts.room_names import groups_of_names, other_labels, room_label

NO_AREA = Polygon()
_OPEN = 0.3
"""The confidence of a room whose walls do not close, and of the openings where they do not (judgement)."""
_MOST_NAMES = 4
"""Names or printed areas in one room at the most; what holds more is a floor whose walls were not all read, or a court
(judgement)."""
_REACHES_OUT = 1.3
"""Times a printed area from which an outline reaches out of its room (judgement)."""
_EDGE = 0.8
"""Metres at the edge of the ground that may lie outside: the corners that closing its gaps fills."""
_NAMED = 0.5
"""Share of a sheet's rooms that have names from which what has neither a name nor an opening is a shaft, or a thing
that is drawn as walls are (of 4,093 rooms on 357 sheets drawn from building models none was such a shape)."""
_SAME = 0.97
"""Share of two outlines that is common to them from which they are of one room (judgement)."""
_GATE = 6.5
"""Metres between two ends of walls from which nothing closes them: a gate for two cars is 4.9 m, 16 ft, wide (common
practice, no source)."""
_ROOM = (1.5, 100.0)
"""Square metres that most rooms have (judgement): those of a key plan are smaller, those of a detail larger."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TracedPlan:
    """A sheet read once: its rooms, and their areas in sheet points, columns included.

    ``lost`` are names of rooms that stand in none of them. ``walls`` is the area of the walls with their openings in
    sheet points, for places that no room was read round, and ``gates`` that of empty gaps between two ends of them;
    ``looks`` are those of the lines and fills that drew them. ``sizes`` are those of openings that are written on it.
    """

    rooms: tuple[TracedRoom, ...]
    shapes: tuple[Polygon, ...]
    lost: tuple[LostRoom, ...] = ()
    walls: Geometry = NO_AREA
    gates: Geometry = NO_AREA
    looks: tuple[Look, ...] = ()
    sizes: tuple[SizeTag, ...] = ()


def read_plan(
    linework: Linework,
    lines: Sequence[TextLine],
    sheet: Sheet,
    calibration: Calibration,
    style: DraftingStyle | None = None,
    *,
    walls_by: Callable[[Scene], Walls] = find_walls,
) -> TracedPlan:
    """Read the walls, openings and rooms of a vector sheet, its rooms in reading order.

    ``linework`` is what is drawn on it, ``lines`` its text, for names, and to tell tables from walls; ``sheet`` gives
    its size and ``calibration`` its scale: what a wall may be is a matter of true thickness. ``style`` is how walls,
    doors and windows are drawn, where a person has shown it; ``walls_by`` finds the walls. Rooms go from top to bottom
    and left to right on the unrotated page.
    """
    m_per_pt = math.sqrt(calibration.mx * calibration.my)
    swings = find_swings(linework, m_per_pt)
    scene = Scene.of(linework, swings, lines, m_per_pt, (sheet.width_pt, sheet.height_pt), style)
    walls = walls_by(scene)
    material, openings, closed, shapes, bare_gaps = _closed(walls, scene, swings)
    printed = scene.areas
    shapes, openings = parted_by_areas(filled_out(shapes, printed, scene), openings, printed, scene)
    ground = ground_of(shapely.union_all([walls.material, walls.low]), scene)
    building = _inside(closed, ground, scene)
    openings = with_shut_doors(openings, [shape for shape, _ in shapes], building, scene)
    read: dict[bytes, TracedRoom | None] = {}
    bare: set[bytes] = set()
    about = Surroundings(scene=scene, walls=walls, swings=swings, lines=lines, inside=building, gaps=bare_gaps)

    def read_rooms(
        fronts: Sequence[FoundOpening] = (), before: Sequence[Polygon] = ()
    ) -> list[tuple[TracedRoom, Polygon]]:
        bands = shapely.STRtree([one.gap.band for one in openings])
        for shape, inside in shapes:
            if shape.wkb in read:
                continue
            own = () if any(_is_same(shape, one) for one in before) else fronts  # what closed before needs no glass
            near = [openings[i] for i in np.sort(bands.query(shape, "dwithin", scene.pt(DEEP_M)))]
            told = Evidence.of(shape, about, near, own)
            is_room = told.rooms <= _MOST_NAMES and not told.is_unread
            room = _room(shape, inside, near, lines, told, calibration, scene) if is_room else None
            read[shape.wkb] = room
            if room is not None and not (room.openings or room.name or room.number or told.printed):
                bare.add(shape.wkb)
        return [(room, shape) for shape, _ in shapes if (room := read[shape.wkb]) is not None]

    rooms = read_rooms()
    loose = loose_swings(swings, openings, scene)
    fronts = glass_fronts(closed, scene, loose, [s for _, s in rooms], [r.outline_sure for r, _ in rooms], printed)
    if fronts:
        openings = (*openings, *fronts)
        closed, shapes = closed_by([material, walls.low, *reached(material, fronts, scene)], openings, scene)
        shapes, openings = parted_by_areas(filled_out(shapes, printed, scene), openings, printed, scene)
        rooms = read_rooms(fronts, [shape for _, shape in rooms])
    rooms, lost = _with_lost(_without_keys(rooms, walls.buildings), bare, ground, closed, scene, lines, calibration)
    rooms.sort(key=lambda r: (round(r[1].centroid.y / scene.pt(2.0)), r[1].centroid.x))
    traced, areas = zip(*rooms, strict=True) if rooms else ((), ())
    gates = shapely.union_all([gap.band for gap in bare_gaps if gap.width_pt < scene.pt(_GATE)])
    return TracedPlan(rooms=traced, shapes=areas, lost=lost, walls=closed, gates=gates, looks=walls.looks(scene))


def _with_lost(
    rooms: list[tuple[TracedRoom, Polygon]],
    bare: set[bytes],
    ground: Geometry,
    closed: Geometry,
    scene: Scene,
    lines: Sequence[TextLine],
    calibration: Calibration,
) -> tuple[list[tuple[TracedRoom, Polygon]], tuple[LostRoom, ...]]:
    """Return the rooms with those that do not close, and the names that stand in none.

    Where most rooms have names, ``bare`` shapes, without name or opening, are listed with the lost ones.
    """
    printed = scene.areas
    others = other_labels(lines, [room.number for room, _ in rooms], printed)
    lost, opened = lost_rooms(scene.names, [s for _, s in rooms], ground, closed, scene.m_per_pt, others, lines)
    rooms = trusted(rooms, len(lost), printed)
    if sum(bool(room.name or room.number) for room, _ in rooms) > _NAMED * len(rooms):
        lost += tuple(closed_shape(shape, scene.m_per_pt) for _, shape in rooms if shape.wkb in bare)
        rooms = [(room, shape) for room, shape in rooms if shape.wkb not in bare]
    opened_rooms = [(_open_room(room, lines, printed, calibration), room.shape) for room in opened]
    return [*rooms, *opened_rooms], lost


def _inside(closed: Geometry, ground: Geometry, scene: Scene) -> Geometry:
    """Return what lies in a building: what closed walls go round, rooms that were not read too, and their ground."""
    within = [Polygon(part.exterior) for part in polygons_of(closed)]
    return shapely.union_all([*within, shapely.buffer(ground, -scene.pt(_EDGE))])


def _closed(
    walls: Walls, scene: Scene, swings: Sequence[Swing]
) -> tuple[Geometry, tuple[FoundOpening, ...], Geometry, list[tuple[Polygon, list[Polygon]]], list[Gap]]:
    """Find the openings in walls, by what is drawn in gaps and by rooms that bare gaps part, and close the walls.

    What walls cover between their openings comes first: a wall that is drawn short of another goes on to it. Gaps
    between two ends of walls that are no openings come last.
    """
    low, thin = walls.low, LINE if walls.style == "line" else THIN
    cuts = windows_in(walls.material, scene)
    material: Geometry = shapely.difference(walls.material, shapely.union_all(cuts)) if cuts else walls.material
    every = find_gaps(material, scene.m_per_pt, thin=0.8 * thin, thick=THICK, least=JOIN)  # nearer ones are joined
    gaps = [gap for gap in every if gap.width_pt >= scene.pt(LEAST)]
    slits = [gap.band for gap in every if gap.width_pt < scene.pt(LEAST) and not gap.loose]
    material = shapely.union_all([material, *slits]) if slits else material
    openings = find_openings(gaps, material, walls, scene, swings)
    closed, shapes = closed_by([material, low], openings, scene)
    parting = parting_gaps(gaps, openings, [material, low], [shape for shape, _ in shapes], scene)
    if parting:
        openings = (*openings, *parting)
        closed, shapes = closed_by([material, low], openings, scene)
    taken = {o.gap for o in openings}
    ends = [gap for gap in gaps if gap.is_capped and not gap.loose and not gap.between_stubs and gap not in taken]
    return material, openings, closed, shapes, ends


def _is_same(one: Polygon, other: Polygon) -> bool:
    """Tell whether two outlines are of one room, but for corners."""
    return bool(one.intersection(other).area > _SAME * max(one.area, other.area))


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
    plan: TracedPlan,
    at: Point,
    lines: Sequence[TextLine],
    calibration: Calibration,
    is_one: Callable[[Geometry], bool] | None = None,
) -> TracedRoom | None:
    """Return what walls all but enclose round a sheet point, never sure; nothing where they do not.

    ``at`` is in sheet points, ``lines`` are the sheet's text; ``is_one`` as of `open_room_at`.
    """
    m_per_pt = math.sqrt(calibration.mx * calibration.my)
    found = open_room_at(plan.walls, at, m_per_pt, is_one)
    return None if found is None else _open_room(found, lines, read_printed_areas(lines), calibration)


def room_round(plan: TracedPlan, at: Point, lines: Sequence[TextLine], calibration: Calibration) -> TracedRoom | None:
    """Return the room that was read round a sheet point, else what walls all but enclose, with its open sides closed.

    An outline that reaches out over several rooms gives way to one that closes gaps up to a single room, if there is
    one. Parameters as of `trace_open_room`.
    """
    printed = read_printed_areas(lines)

    def is_one(shape: Geometry) -> bool:
        told = areas_inside(shape, printed)
        fits = len(told) < 2 and shape.area * calibration.mx * calibration.my <= _REACHES_OUT * sum(told, start=0.0)
        return (fits or not told) and groups_of_names(shape, lines) <= 1

    read = trace_room(plan, at)
    if read is not None and is_one(Polygon(read.points_pt)):
        return read
    found = trace_open_room(plan, at, lines, calibration, is_one)
    return found if read is None or (found is not None and is_one(Polygon(found.points_pt))) else read


def _open_room(
    room: OpenRoom, lines: Sequence[TextLine], printed: Sequence[PrintedArea], calibration: Calibration
) -> TracedRoom:
    """Make a room of what walls all but enclose, with a bare opening where none stands."""
    m_per_pt = math.sqrt(calibration.mx * calibration.my)
    bare = [_bare_opening(leak) for leak in room.leaks_pt]
    run = run_round(room.shape, bare, calibration, m_per_pt, is_column=False)
    name, number = room_label(room.shape, lines)
    told = leak_words(room.leaks_pt, m_per_pt)
    several, area = groups_of_names(room.shape, lines), float(room.shape.area) * calibration.mx * calibration.my
    reasons = [*(("The walls round it do not close.",) if room.leaks_pt else ()), f"{told[0].upper()}{told[1:]}."]
    if several > 1:
        reasons.append(f"{several} names stand in it: it may be several rooms that are open to one another.")
    areas = areas_inside(room.shape, printed)
    if areas and abs(sum(areas) / area - 1.0) > AGREES:
        words = " + ".join(f"{one:.1f}" for one in areas)
        reasons.append(f"{words} m² are printed in it, this outline holds {area:.1f} m².")
    return TracedRoom(
        points_pt=run.points_pt,
        bulges=run.bulges,
        openings=run.openings,
        columns=(),
        name=name,
        number=number,
        area=area,
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
        taken=verdict.taken,
    )
