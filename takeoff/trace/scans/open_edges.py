"""Walls of a picture that the network left open: gaps that hold openings or breaks, and rooms that do not close.

Coordinates are pixels of the field, pixel edges counted from 0. Rooms that a name stands in, or that lie between rooms,
are proposed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.model.plan import Calibration, Point
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Floats
from takeoff.trace.drawing.polygons import polygons_of
from takeoff.trace.lines.gaps import find_gaps
from takeoff.trace.lines.lost_rooms import lost_fields, lost_rooms
from takeoff.trace.lines.opening_forms import CASED
from takeoff.trace.lines.plan_rooms import TracedPlan, trace_open_room
from takeoff.trace.lines.wall_material import THICK, THIN
from takeoff.trace.scans.field_openings import FieldOpening
from takeoff.trace.scans.field_outlines import Ring
from takeoff.trace.scans.wall_network import M_PER_PX, OPEN, PASSAGE, WallField, within
from takeoff.trace.texts.printed_sizes import read_printed_areas
from takeoff.trace.texts.room_names import names_of, other_labels

_REACH = 1.0
"""Metres by which walls grow to make the ground of a building one: no gap between its walls is wider than twice that,
but for its widest openings (judgement)."""
_BARE, _INSIDE = 0.25, 0.2
"""Share of an outline without a wall from which a field is none of a room: a garage's door and one more are less; share
of another room in it from which it holds that room (judgement)."""


def walls_of(rings: Sequence[Ring], turn: Callable[[Floats], Floats]) -> Geometry:
    """Return the area of the walls, with the openings that were read in them, in sheet points.

    Parameters
    ----------
    rings
        Outlines of what is solid, and of the holes in it, in pixels.
    turn
        Turns pixels into sheet points.
    """
    shapes = [(Polygon(turn(r.points)).buffer(0), r.is_hole) for r in rings]
    walls: Geometry = Polygon()
    # what stands free in a hole is smaller than the hole: so from the large to the small, each on what was before
    for shape, is_hole in sorted(shapes, key=lambda layer: -layer[0].area):
        walls = shapely.difference(walls, shape) if is_hole else shapely.union(walls, shape)
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
    others = other_labels(lines, [room.number for room in plan.rooms], read_printed_areas(lines))
    lost, opened = lost_rooms(names_of(lines), list(plan.shapes), ground, plan.walls, m_per_pt, others, lines)
    rooms, shapes = list(plan.rooms), list(plan.shapes)

    def taken(at: Point, *, is_field: bool) -> bool:
        room = trace_open_room(plan, at, lines, calibration)
        shape = None if room is None else Polygon(room.points_pt).buffer(0)
        if room is None or not isinstance(shape, Polygon):
            return False
        bare = sum(math.dist(*leak) for leak in room.leaks_pt)
        holds_another = any(shape.intersection(other).area >= _INSIDE * other.area for other in shapes)
        if is_field and (holds_another or bare >= _BARE * shape.length):
            return False
        rooms.append(replace(room, reasons=("It was read from a picture.", *room.reasons)))
        shapes.append(shape)
        return True

    for place in (found.shape.representative_point() for found in opened):
        taken((place.x, place.y), is_field=False)
    fields = lost_fields(shapes, plan.walls, lost, m_per_pt)
    lost = (*lost, *(field for field in fields if not taken(field.at_pt, is_field=True)))
    return replace(plan, rooms=tuple(rooms), shapes=tuple(shapes), lost=lost)


_FREE = 3.0 / M_PER_PX
"""Pixels; what is less long round is a column, not a wall with ends."""


def openings_in_gaps(field: WallField, rings: Sequence[Ring], openings: Sequence[FieldOpening]) -> list[FieldOpening]:
    """Find what the network missed in gaps between walls as wide as a door, each with the chance that it leaves it."""
    solid = [Polygon(r.points).buffer(0) for r in rings if not r.is_hole]
    rooms = [Polygon(r.points).buffer(0) for r in rings if r.is_hole]
    walls = [s for s in solid if s.length > _FREE]
    material = shapely.difference(shapely.union_all(walls), shapely.union_all(rooms))
    known = shapely.union_all([o.band for o in openings])
    found: list[FieldOpening] = []
    for gap in find_gaps(material, M_PER_PX, thin=0.6 * THIN, thick=THICK):
        is_known = known.covers(shapely.Point(gap.middle_pt))
        if gap.loose > 2 or gap.between_stubs or is_known:
            continue
        middle = shapely.affinity.scale(gap.band, 0.7, 0.7)
        seen = np.array([within(row, middle).mean(dtype=float) for row in field.chances])
        chance = float(seen[list(OPEN)].sum())
        row = OPEN[int(np.argmax(seen[list(OPEN)]))] if chance > 0.15 else PASSAGE
        if gap.width_pt * M_PER_PX < CASED or chance > 0.15:
            left, right = np.array(gap.left_pt), np.array(gap.right_pt)
            found.append(FieldOpening(left=left, right=right, row=row, chance=0.5 * chance))
    return found
