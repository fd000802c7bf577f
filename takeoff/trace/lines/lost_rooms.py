"""What names, numbers or measures a room on a sheet and stands in no room that was read, each with the reason."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import Geometry, Polygon

from takeoff.model.plan import Point
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.polygons import polygons_of
from takeoff.trace.lines.open_rooms import OpenRoom, OpenRooms, leak_words, moved_words
from takeoff.trace.texts.room_names import groups_of_names, is_outside, stacked

MOST_NAMES = 150
"""Names that are looked into; more than these are no names of rooms (judgement)."""
_LONGEST = 28
"""Letters of a room's name at the most; more are a note (judgement)."""


_NEAR = 4.0
"""Distance from a name, over the height of its letters, up to which a number or an area is of the same room."""
_ROOMS = 3
"""Rooms that are read from which it is asked what lies between them (judgement)."""
_LINES = 3
"""Lines that a name has at the most; more are a note (judgement)."""
_LARGEST = 500.0
"""Square metres of a room that does not close, at the most; more is a court, or a floor (judgement)."""
_TITLE = re.compile(r"\b(?:PLAN|ELEVATION|SECTION|DETAIL|SCALE|NOTES?|SCHEDULE|LEGEND)\b", re.IGNORECASE)
BY_CLICK = "A click in it takes it, with an opening at each of these places"
BY_WALL = "Show one of its walls, or trace it by hand"
BY_PARTING = "Draw what parts them, or take them as one by a click in it"


BY_LOOK = "Look at it: a click in it takes what walls all but enclose"
_AS_LARGE, _NARROW_M, _CLOSES_M = 0.5, 0.8, 1.6
"""Share of the middle one of the rooms' areas from which a field is as large as rooms are; metres that a narrower field
is no room; metres round walls and rooms that are the building still (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LostRoom:
    """A name, number or floor area of a room where no room was read: the words, and their place in sheet points.

    The words are empty where nothing but a field between rooms, or a shape that walls close, tells of it.
    ``reason`` is why, as a clause, ``mend`` what helps, as a sentence without its full stop.
    """

    name: str
    at_pt: Point
    reason: str
    mend: str = BY_WALL

    def moved(self, x: float, y: float) -> LostRoom:
        """Move it by so many sheet points, and the places that it names."""
        told = {of: moved_words(getattr(self, of), x, y) for of in ("reason", "mend")}
        return replace(self, at_pt=(self.at_pt[0] + x, self.at_pt[1] + y), **told)


def lost_rooms(
    names: Sequence[TextLine],
    found: Sequence[Polygon],
    ground: Geometry,
    walls: Geometry,
    m_per_pt: float,
    others: Sequence[TextLine] = (),
    lines: Sequence[TextLine] = (),
) -> tuple[tuple[LostRoom, ...], tuple[OpenRoom, ...]]:
    """Find the names that stand in no room, why, and what their rooms would be once the walls' gaps are closed.

    What would hold several names is no room: a click takes it, or what parts them is drawn first.

    ``names`` read as names of rooms; ``found`` are the rooms that were read, ``ground`` is the area that buildings
    stand on, ``walls`` that of the walls with their openings, in sheet points. Names beside the ground's hull are
    titles and notes. ``others`` give numbers and floor areas of rooms: those near a name are of its room, and a name
    beside the ground is one all the same that has some. ``lines`` are all of the text, for what stands within a name.
    """
    rooms = shapely.STRtree(found) if len(found) else None
    finder = OpenRooms(walls, m_per_pt)
    lost: list[LostRoom] = []
    opened: list[OpenRoom] = []
    seen: list[OpenRoom] = []
    near = shapely.union_all([shapely.convex_hull(part) for part in polygons_of(ground)])
    shapely.prepare(near)
    looked = 0
    for name, at, is_told in _labels(names, others, lines):
        place = shapely.Point(at)
        if not (is_told or near.contains(place)) or (rooms is not None and len(rooms.query(place, predicate="within"))):
            continue
        looked += 1
        if looked > MOST_NAMES:
            break
        known = next((room for room in seen if room.shape.contains(place)), None)
        room = known or finder.at(at)
        if room is None:
            lost.append(LostRoom(name=name, at_pt=at, reason="it is open to the outside, or its walls were not read"))
            continue
        reason, mend = leak_words(room.leaks_pt, m_per_pt), BY_CLICK
        if groups_of_names(room.shape, names) > 1:
            reason, mend = f"{reason}, and it is open to other rooms", BY_PARTING
        elif (
            known is None
            and not is_outside(name)
            and room.shape.area * m_per_pt**2 < _LARGEST
            and not any(room.shape.intersection(f).area > 0.2 * f.area for f in found)
        ):
            opened.append(room)
        lost.append(LostRoom(name=name, at_pt=at, reason=reason, mend=mend))
        seen += [room] if known is None else []
    return tuple(lost), tuple(opened)


def closed_shape(shape: Polygon, m_per_pt: float) -> LostRoom:
    """Tell of a shape in sheet points that walls close and that was taken for no room."""
    at = shape.representative_point()
    reason = f"walls close {shape.area * m_per_pt**2:.1f} m² there without a name or an opening, unlike other rooms"
    return LostRoom(name="", at_pt=(at.x, at.y), reason=reason, mend=BY_LOOK)


def lost_fields(
    found: Sequence[Polygon], walls: Geometry, lost: Sequence[LostRoom], m_per_pt: float
) -> tuple[LostRoom, ...]:
    """Find the fields between the rooms that were read which are as large as these and became none, the largest first.

    ``found`` are the rooms and ``walls`` is the area of the walls with their openings, in sheet points; a field that
    a name of ``lost`` stands in is told of by that. A field in the open is none: walls and rooms are on all its sides.
    """
    if len(found) < _ROOMS:
        return ()
    reach, least = _CLOSES_M / m_per_pt, _AS_LARGE * sorted(room.area for room in found)[len(found) // 2]
    read = shapely.union_all([walls, *found])
    closed = shapely.buffer(shapely.simplify(read, 0.02 / m_per_pt), reach, quad_segs=2)
    whole = shapely.union_all([Polygon(part.exterior) for part in polygons_of(closed)])
    rest = shapely.difference(shapely.buffer(whole, -reach, quad_segs=2), read)
    core = polygons_of(shapely.buffer(rest, -_NARROW_M / 2 / m_per_pt, quad_segs=2))
    fields = [part for part in core if part.area >= least]
    named = shapely.points([one.at_pt for one in lost] or [(-1e9, -1e9)])
    told = []
    for field in sorted(fields, key=lambda part: -part.area):
        at = field.representative_point()
        if not shapely.contains(field, named).any():
            area = shapely.buffer(field, _NARROW_M / 2 / m_per_pt, join_style="mitre").area * m_per_pt**2
            reason = f"a field of about {area:.0f} m² between the rooms that were read became none"
            told.append(LostRoom(name="", at_pt=(at.x, at.y), reason=reason, mend=BY_LOOK))
    return tuple(told)


def _labels(
    names: Sequence[TextLine], others: Sequence[TextLine], lines: Sequence[TextLine]
) -> list[tuple[str, Point, bool]]:
    """Return what tells of rooms, each with its place and whether a number or area stands beside a name."""
    short = [line for line in names if len(line.text.strip()) <= _LONGEST and not _TITLE.search(line.text)]
    stacks = stacked(short, lines)
    told = shapely.union_all([shapely.box(*one.box_pt) for one in others])
    reach = [shapely.union_all([shapely.box(*n.box_pt).buffer(_NEAR * n.size) for n in stack]) for stack in stacks]
    named = shapely.union_all(reach)
    labels = [(stack, bool(near.intersects(told))) for stack, near in zip(stacks, reach, strict=True)]
    labels += [([line], False) for line in others if not named.intersects(shapely.box(*line.box_pt))]
    return [(" ".join(one.text.strip() for one in s), s[0].middle_pt, has) for s, has in labels if len(s) <= _LINES]
