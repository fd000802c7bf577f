"""Rooms of a picture whose walls do not close: those that a name stands in are proposed with their gap, others told."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import shapely
from shapely import Geometry, Polygon

from takeoff.model.plan import Calibration
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Floats
from takeoff.trace.drawing.polygons import polygons_of
from takeoff.trace.lines.lost_rooms import lost_fields, lost_rooms
from takeoff.trace.lines.plan_rooms import TracedPlan, trace_open_room
from takeoff.trace.scans.field_outlines import Ring
from takeoff.trace.texts.room_names import names_of

_REACH = 1.0
"""Metres by which walls grow to make the ground of a building one: no gap between its walls is wider than twice that,
but for its widest openings (judgement)."""


def walls_of(rings: Sequence[Ring], turn: Callable[[Floats], Floats]) -> Geometry:
    """Return the area of the walls, with the openings that were read in them, in sheet points.

    Parameters
    ----------
    rings
        Outlines of what is solid, and of the holes in it, in pixels.
    turn
        Turns pixels into sheet points.
    """
    outer = [Polygon(turn(r.points)).buffer(0) for r in rings if not r.is_hole]
    holes = [Polygon(turn(r.points)).buffer(0) for r in rings if r.is_hole]
    # what stands free in a hole is smaller than the hole: so from the large to the small, each on what was before
    layers = sorted([(p, True) for p in outer] + [(p, False) for p in holes], key=lambda layer: -layer[0].area)
    walls: Geometry = Polygon()
    for shape, is_solid in layers:
        walls = shapely.union(walls, shape) if is_solid else shapely.difference(walls, shape)
    return walls


def with_open_rooms(plan: TracedPlan, lines: Sequence[TextLine], calibration: Calibration) -> TracedPlan:
    """Return a plan with the names that stand in none of its rooms, what walls all but enclose round them, and fields.

    Parameters
    ----------
    plan
        The rooms that close, and the walls.
    lines
        The text of the sheet.
    calibration
        Its scale.
    """
    if plan.walls.is_empty:
        return plan
    m_per_pt = math.sqrt(calibration.mx * calibration.my)
    reach = _REACH / m_per_pt
    grown = shapely.buffer(plan.walls, reach, quad_segs=2)
    ground = shapely.union_all([Polygon(p.exterior) for p in polygons_of(grown)])
    lost, opened = lost_rooms(names_of(lines), list(plan.shapes), ground, plan.walls, m_per_pt)
    rooms, shapes = list(plan.rooms), list(plan.shapes)
    for found in opened:
        place = found.shape.representative_point()
        room = trace_open_room(plan, (place.x, place.y), lines, calibration)
        if room is not None:
            rooms.append(replace(room, reasons=("It was read from a picture.", *room.reasons)))
            shapes.append(found.shape)
    lost = (*lost, *lost_fields(shapes, plan.walls, lost, m_per_pt))
    return replace(plan, rooms=tuple(rooms), shapes=tuple(shapes), lost=lost)
