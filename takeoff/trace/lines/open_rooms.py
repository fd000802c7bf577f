"""Rooms whose walls do not close: the outline that they would have, and where it goes on without a wall."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.model.plan import Point
from takeoff.trace.drawing.linework import Floats
from takeoff.trace.drawing.polygons import Lines, polygons_of

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
PLACE = re.compile(r"\bat (-?\d+),(-?\d+)(?=,? (?:for|is|and)\b)")
"""A place in sheet points that a sentence of tracing names."""
MOST_PLACES = 3
"""Places that a sentence names, the widest first; a person mends those, and the others close with them or show next."""
_LEAST_AREA = 0.7
"""Square metres; what is smaller is no room."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenRoom:
    """An area that walls all but enclose, and the lines of its outline where no wall stands, in sheet points."""

    shape: Polygon
    leaks_pt: tuple[tuple[Point, Point], ...]


_RAYS, _SEEN, _SEALS = 90, 0.5, 3
"""Directions that are looked in from a place, the share of them that walls stand in at the least where it is a room,
and the sides that may be open where no gap ends (judgement)."""


class OpenRooms:
    """Finds the areas that walls all but enclose; what was grown for one place serves the next."""

    def __init__(self, walls: Geometry, m_per_pt: float) -> None:
        """Take the area of the walls, with the openings that were read in them, in sheet points."""
        self._walls = shapely.simplify(walls, 0.005 / m_per_pt)
        self._m_per_pt = m_per_pt
        self._holes: dict[float, list[Polygon]] = {}

    def at(self, at: Point, is_one: Callable[[Geometry], bool] | None = None) -> OpenRoom | None:
        """Return the area round a place once the narrowest gaps that leave it open are closed; nothing if none closes.

        ``is_one`` tells whether an area is one room: wider gaps are closed until it is, else the first area is taken.
        A place in a wall is in no room.
        """
        place = shapely.Point(at)
        if shapely.intersects(self._walls, place):
            return None
        first: OpenRoom | None = None
        for width in WIDTHS:
            grow = width / 2 / self._m_per_pt
            if width not in self._holes:
                grown = shapely.buffer(self._walls, grow, join_style="mitre")
                self._holes[width] = [Polygon(ring) for part in polygons_of(grown) for ring in part.interiors]
            for hole in self._holes[width]:
                if hole.distance(place) < _CORNER * grow:
                    found = _grown_back(hole, self._walls, place, grow, self._m_per_pt)
                    if found is not None and (is_one is None or is_one(found.shape)):
                        return found
                    first = first or found
        return first


def open_room_at(
    walls: Geometry, at: Point, m_per_pt: float, is_one: Callable[[Geometry], bool] | None = None
) -> OpenRoom | None:
    """Return the area round one place, as `OpenRooms.at` does, looking at what is near it only.

    With ``is_one``, sides that are open as a whole are closed from the end of one wall to that of the next.
    """
    reach = REACH / m_per_pt
    near = shapely.intersection(walls, shapely.box(at[0] - reach, at[1] - reach, at[0] + reach, at[1] + reach))
    closed = near
    for _ in range(_SEALS + 1 if is_one is not None else 1):
        found = None if closed.is_empty else OpenRooms(closed, m_per_pt).at(at, is_one)
        if found is not None:
            return OpenRoom(shape=found.shape, leaks_pt=_leaks(found.shape, near, m_per_pt))
        side = _open_side(closed, at, reach)
        if side is None:
            return None
        closed = shapely.union(closed, shapely.buffer(side, _ON_WALL / m_per_pt, cap_style="square"))
    return None


def rays_from(at: Point, count: int, reach: float) -> tuple[Floats, Lines]:
    """Return the unit vectors of as many directions all round a place, and the lines of sight that go ``reach`` far."""
    angles = (np.arange(count) + 0.5) * 2 * np.pi / count
    u = np.column_stack([np.cos(angles), np.sin(angles)])
    return u, shapely.linestrings(np.stack([np.broadcast_to(at, u.shape), at + reach * u], axis=1))


def _open_side(walls: Geometry, at: Point, reach: float) -> Geometry | None:
    """Return the line across the widest side on which no wall is seen from a place; nothing where most are open."""
    u, rays = rays_from(at, _RAYS, reach)
    off = shapely.distance(shapely.Point(at), shapely.intersection(rays, walls))
    seen = np.flatnonzero(~np.isnan(off))
    if len(seen) < _SEEN * _RAYS or len(seen) == _RAYS:
        return None
    steps = np.diff(seen, append=seen[0] + _RAYS)
    last = int(np.argmax(steps))
    ends = [seen[last], seen[(last + 1) % len(seen)]]
    return shapely.LineString(np.add(at, u[ends] * off[ends, None]))


def _grown_back(hole: Polygon, walls: Geometry, place: Geometry, grow: float, m_per_pt: float) -> OpenRoom | None:
    """Give a hole in grown walls back what they grew by."""
    whole = shapely.difference(shapely.buffer(hole, grow, join_style="mitre"), walls)
    shape = next((Polygon(p.exterior) for p in polygons_of(whole) if p.contains(place)), None)
    if shape is None or shape.area * m_per_pt**2 < _LEAST_AREA:
        return None
    return OpenRoom(shape=shape, leaks_pt=_leaks(shape, walls, m_per_pt))


def _leaks(shape: Polygon, walls: Geometry, m_per_pt: float) -> tuple[tuple[Point, Point], ...]:
    """Return the ends of the lines of an outline where no wall stands."""
    bare = shapely.difference(shape.exterior, shapely.buffer(walls, _ON_WALL / m_per_pt))
    merged = shapely.get_parts(shapely.line_merge(bare)).tolist()
    return tuple(_ends(line) for line in merged if line.length * m_per_pt > _LEAST_LEAK)


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


def moved_words(text: str, x: float, y: float) -> str:
    """Move the places that a sentence names by so many sheet points.

    Examples
    --------
    >>> moved_words("no wall closes it at 50,0 for 1.80 m", 100.0, 20.0)
    'no wall closes it at 150,20 for 1.80 m'
    """
    return PLACE.sub(lambda at: f"at {float(at[1]) + x:.0f},{float(at[2]) + y:.0f}", text)
