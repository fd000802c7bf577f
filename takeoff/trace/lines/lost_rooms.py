"""Names of rooms on a sheet that stand in no room that was read, each with the reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import Geometry, Polygon

from takeoff.model.plan import Point
from takeoff.sheet.text import TextLine
from takeoff.trace.lines.open_rooms import OpenRoom, OpenRooms, leak_words
from takeoff.trace.texts.room_names import groups_of_names

MOST_NAMES = 150
"""Names that are looked into; more than these are no names of rooms (judgement)."""
_LONGEST = 28
"""Letters of a room's name at the most; more are a note (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LostRoom:
    """A name of a room where no room was read: the name, its place in sheet points, and why, as a clause."""

    name: str
    at_pt: Point
    reason: str


def lost_rooms(
    names: Sequence[TextLine], found: Sequence[Polygon], ground: Geometry, walls: Geometry, m_per_pt: float
) -> tuple[tuple[LostRoom, ...], tuple[OpenRoom, ...]]:
    """Find the names that stand in no room, why, and what their rooms would be once the walls' gaps are closed.

    Parameters
    ----------
    names
        Lines of text that read as names of rooms.
    found
        The rooms that were read, in sheet points.
    ground
        The area that buildings stand on: names beside it are titles and notes.
    walls
        The area of the walls with their openings, in sheet points.
    m_per_pt
        Metres per sheet point.
    """
    rooms = shapely.STRtree(found) if len(found) else None
    finder = OpenRooms(walls, m_per_pt)
    lost: list[LostRoom] = []
    opened: list[OpenRoom] = []
    shapely.prepare(ground)
    looked = 0
    for line in names:
        x0, y0, x1, y1 = line.box_pt
        at = ((x0 + x1) / 2, (y0 + y1) / 2)
        place = shapely.Point(at)
        if len(line.text.strip()) > _LONGEST or not ground.contains(place):
            continue
        if rooms is not None and len(rooms.query(place, predicate="within")):
            continue
        looked += 1
        if looked > MOST_NAMES:
            break
        name = line.text.strip()
        known = next((room for room in opened if room.shape.contains(place)), None)
        room = known or finder.at(at)
        if room is None:
            lost.append(LostRoom(name=name, at_pt=at, reason="it is open to the outside, or its walls were not read"))
            continue
        reason = leak_words(room.leaks_pt, m_per_pt)
        if groups_of_names(room.shape, names) > 1:
            reason = f"{reason}, and it is open to other rooms"
        lost.append(LostRoom(name=name, at_pt=at, reason=reason))
        if known is None and not any(room.shape.intersection(f).area > 0.2 * f.area for f in found):
            opened.append(room)
    return tuple(lost), tuple(opened)
