"""Rooms whose walls do not close: the outline that they would have, and where it goes on without a wall."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.model.plan import Point
from takeoff.trace.drawing.polygons import polygons_of

WIDTHS = (0.3, 0.6, 0.9, 1.2, 1.6, 2.2, 3.0, 4.0)
"""Metres; gaps up to these widths are closed one after another until a place is enclosed: slits, doors, wide openings
(common practice, no source)."""
REACH = 30.0
"""Metres round a place that are looked at: rooms seldom go on further (judgement)."""
_CORNER = 1.5
"""How far a place in the corner of a room lies from what is left of it when its walls have grown, over what they grew
by: the root of 2 and a little."""
_LEAST_LEAK = 0.1
"""Metres; a shorter piece of an outline without a wall is a fault of drawing."""
_ON_WALL = 0.02
"""Metres by which an outline may lie off a wall and still be on it."""
MOST_PLACES = 3
"""Places that a sentence names, the widest first; a person mends those, and the others close with them or show next."""
_LEAST_AREA = 0.7
"""Square metres; what is smaller is no room."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenRoom:
    """An area that walls all but enclose, and the lines of its outline where no wall stands, in sheet points."""

    shape: Polygon
    leaks_pt: tuple[tuple[Point, Point], ...]


class OpenRooms:
    """Finds the areas that walls all but enclose; what was grown for one place serves the next."""

    def __init__(self, walls: Geometry, m_per_pt: float) -> None:
        """Take the area of the walls, with the openings that were read in them, in sheet points."""
        self._walls = shapely.simplify(walls, 0.005 / m_per_pt)
        self._m_per_pt = m_per_pt
        self._holes: dict[float, list[Polygon]] = {}

    def at(self, at: Point) -> OpenRoom | None:
        """Return the area round a place once the narrowest gaps that leave it open are closed; nothing if none closes.

        A place in a wall is in no room.
        """
        place = shapely.Point(at)
        if shapely.intersects(self._walls, place):
            return None
        for width in WIDTHS:
            grow = width / 2 / self._m_per_pt
            if width not in self._holes:
                grown = shapely.buffer(self._walls, grow, join_style="mitre")
                self._holes[width] = [Polygon(ring) for part in polygons_of(grown) for ring in part.interiors]
            for hole in self._holes[width]:
                if hole.distance(place) < _CORNER * grow:
                    found = _grown_back(hole, self._walls, place, grow, self._m_per_pt)
                    if found is not None:
                        return found
        return None


def open_room_at(walls: Geometry, at: Point, m_per_pt: float) -> OpenRoom | None:
    """Return the area round one place, as `OpenRooms.at` does, looking at what is near it only."""
    reach = REACH / m_per_pt
    near = shapely.intersection(walls, shapely.box(at[0] - reach, at[1] - reach, at[0] + reach, at[1] + reach))
    return None if near.is_empty else OpenRooms(near, m_per_pt).at(at)


def _grown_back(hole: Polygon, walls: Geometry, place: Geometry, grow: float, m_per_pt: float) -> OpenRoom | None:
    """Give a hole in grown walls back what they grew by."""
    whole = shapely.difference(shapely.buffer(hole, grow, join_style="mitre"), walls)
    shape = next((Polygon(p.exterior) for p in polygons_of(whole) if p.contains(place)), None)
    if shape is None or shape.area * m_per_pt**2 < _LEAST_AREA:
        return None
    bare = shapely.difference(shape.exterior, shapely.buffer(walls, _ON_WALL / m_per_pt))
    merged = shapely.get_parts(shapely.line_merge(bare)).tolist()
    lines = [line for line in merged if line.length * m_per_pt > _LEAST_LEAK]
    return OpenRoom(shape=shape, leaks_pt=tuple(_ends(line) for line in lines))


def _ends(line: Geometry) -> tuple[Point, Point]:
    points = shapely.get_coordinates(line)
    return (float(points[0, 0]), float(points[0, 1])), (float(points[-1, 0]), float(points[-1, 1]))


def leak_words(leaks_pt: Sequence[tuple[Point, Point]], m_per_pt: float) -> str:
    """Say where an outline goes on without a wall.

    Examples
    --------
    >>> leak_words([((0.0, 0.0), (100.0, 0.0))], 0.018)
    'no wall closes it at 50,0 for 1.80 m'
    """
    if not leaks_pt:
        return "its walls close, but were not read as a room's"
    places = []
    for a, b in sorted(leaks_pt, key=lambda leak: -float(np.hypot(leak[1][0] - leak[0][0], leak[1][1] - leak[0][1]))):
        length = float(np.hypot(b[0] - a[0], b[1] - a[1])) * m_per_pt
        places.append(f"{(a[0] + b[0]) / 2:.0f},{(a[1] + b[1]) / 2:.0f} for {length:.2f} m")
    left = len(places) - MOST_PLACES
    more = f" and {left} more place{'s' * (left > 1)}" if left > 0 else ""
    return f"no wall closes it at {' and at '.join(places[:MOST_PLACES])}{more}"
