"""The edits files that trace the sample plans, and the true quantities by plain arithmetic.

The tracing needs no eye: every point is the scenario's own, put through the frame of the sheet. The true quantities
are worked out from the room sizes alone, wall by wall, and share no formula with the program that they check.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from sample_plans.scenario import (
    COVE,
    OPENINGS,
    PILLAR_DIAMETER,
    PILLAR_ROUND,
    PILLAR_SIDE,
    PILLAR_SQUARE,
    ROOMS,
    SPLASH,
    SPLASH_HEIGHT,
    SPLASH_THICKNESS,
    Opening,
    Point,
    Room,
)

Place = Callable[[Point], Point]
Write = Callable[[float], Any]
EDGES = ["jamb", "head", "sill"]


def in_metres(length: float) -> float:
    """Give a length as a bare number of metres, to a tenth of a micrometre."""
    return round(length, 7)


def edits(place: Place, write: Write, cove: dict[str, Any] | None = None) -> dict[str, Any]:
    """Trace the plan; ``place`` gives sheet points of building metres and ``write`` the spelling of a length."""
    cove = cove or {name: write(length) for name, length in COVE.items()}
    rooms = []
    for room in ROOMS:
        entry: dict[str, Any] = {"id": room.id, "name": room.name, "number": room.number, "height": write(room.top)}
        entry["system"] = room.system
        if room.has_cove:
            entry["cove"] = dict(cove)
        rooms.append(entry)
    runs = [_room_run(room, place, write) for room in ROOMS]
    runs += _loose_runs(place, write)
    return {"schema": "takeoff.edits/1", "length_unit": "m", "rooms": rooms, "runs": runs}


def _points(points: list[Point], place: Place) -> list[list[float]]:
    return [[round(v, 6) for v in place(p)] for p in points]


def _room_run(room: Room, place: Place, write: Write) -> dict[str, Any]:
    run: dict[str, Any] = {
        "id": f"{room.number}-walls",
        "sheet": 1,
        "room": room.id,
        "points": _points(list(room.points), place),
    }
    if room.bulges:
        run["bulges"] = [round(b, 12) for b in room.bulges]
    run |= {"closed": True, "face": "right", "line": "face"}
    if room.corners:
        stations = vertex_stations(room)
        run["height"] = [
            [in_metres(s), in_metres(h)] for s, h in zip(stations, [*room.corners, room.corners[0]], strict=True)
        ]
    if room.is_exposed:
        run |= {"base": 0.0, "height": write(room.top), "top": "exposed"}
    found = sorted(((station_on(room, o), o) for o in OPENINGS if room.number in o.rooms), key=lambda pair: pair[0])
    run["openings"] = [_opening(o, room, station, write) for station, o in found]
    return run


def _opening(o: Opening, room: Room, station: float, write: Write) -> dict[str, Any]:
    reveal = o.reveals.get(room.number, 0.0)
    entry: dict[str, Any] = {"at": in_metres(station), "width": write(o.width), "height": write(o.height)}
    entry |= {"sill": write(o.sill) if o.sill else 0.0, "kind": o.kind, "mark": o.mark}
    if reveal:
        entry |= {"reveal": write(reveal), "coated": EDGES}
    return entry


def side_lengths(room: Room) -> list[float]:
    """List the lengths of a room's sides in metres, clockwise; a curved side along its arc."""
    n = len(room.points)
    chords = [math.dist(room.points[i], room.points[(i + 1) % n]) for i in range(n)]
    if not room.bulges:
        return chords
    return [
        c if not b else c * (1 + b * b) / (2 * abs(b)) * 2 * math.atan(abs(b))
        for c, b in zip(chords, room.bulges, strict=True)
    ]


def vertex_stations(room: Room) -> list[float]:
    """List the stations of a room's corners in metres from its first, the first again at the end."""
    sides = side_lengths(room)
    return [sum(sides[:k]) for k in range(len(sides) + 1)]


def station_on(room: Room, o: Opening) -> float:
    """Find the station of an opening's centre along a room's face in metres."""
    along, across = (0, 1) if o.axis == "x" else (1, 0)
    stations, n = vertex_stations(room), len(room.points)
    for i in range(n):
        a, b = room.points[i], room.points[(i + 1) % n]
        is_wall = a[across] == b[across] and a[across] in (o.lo, o.hi)
        if is_wall and min(a[along], b[along]) < o.at < max(a[along], b[along]):
            return stations[i] + abs(o.at - a[along])
    raise ValueError(f"opening {o.mark} is on no wall of room {room.number}")


def _loose_runs(place: Place, write: Write) -> list[dict[str, Any]]:
    (x, y), half, radius = PILLAR_SQUARE, PILLAR_SIDE / 2, PILLAR_DIAMETER / 2
    square = [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
    (u, v) = PILLAR_ROUND
    pillar: dict[str, Any] = {"closed": True, "face": "left", "line": "face"}
    return [
        {"id": "104-square-pillar", "sheet": 1, "room": "R104", "points": _points(square, place), **pillar},
        {
            "id": "104-round-pillar",
            "sheet": 1,
            "room": "R104",
            "points": _points([(u - radius, v), (u + radius, v)], place),
            "bulges": [-1.0, -1.0],
            **pillar,
        },
        {
            "id": "103-splash-wall",
            "sheet": 1,
            "room": "R103",
            "points": _points(list(SPLASH), place),
            "closed": False,
            "face": "both",
            "line": "centre",
            "thickness": write(SPLASH_THICKNESS),
            "height": write(SPLASH_HEIGHT),
            "top": "exposed",
            "ends": ["return", "return"],
        },
    ]


def _face(
    length: float, gross: float, inside: int, outside: int, inside_m: float, outside_m: float
) -> dict[str, float]:
    return {
        "gross_area": gross,
        "deducted_area": 0.0,
        "return_area": 0.0,
        "base_length": length,
        "inside_corners": inside,
        "outside_corners": outside,
        "inside_corner_length": inside_m,
        "outside_corner_length": outside_m,
    }


def _bare_walls() -> dict[str, dict[str, float]]:
    """Give every run without its openings, from sizes in metres written out once more."""
    foot = 0.3048
    sizes = {
        "101": (78 + 8 / 12, 8, 4),
        "102": (14, 19 + 8 / 12, 9),
        "103": (16, 19 + 8 / 12, 10),
        "104": (36, 22, 12),
        "106": (20, 19 + 8 / 12, 9),
        "108": (27 + 2 / 12, 19 + 8 / 12, 4 / 12),
    }
    walls = {}
    for number, (w, d, h) in sizes.items():
        w, d, h = w * foot, d * foot, h * foot
        inner, outer = (5, 1) if number == "102" else (4, 0)
        walls[f"{number}-walls"] = _face(2 * (w + d), 2 * (w + d) * h, inner, outer, inner * h, outer * h)
    w, d, h = 26 * foot, 22 * foot, 10 * foot
    radius = (29 + 8 / 12) * foot
    arc = 2 * radius * math.asin(w / 2 / radius)
    walls["105-walls"] = _face(arc + w + 2 * d, (arc + w + 2 * d) * h, 4, 0, 4 * h, 0.0)
    w, high, low = (15 + 8 / 12) * foot, 12 * foot, 9 * foot
    walls["107-walls"] = _face(2 * (w + d), w * (high + low) + d * (high + low), 4, 0, 2 * (high + low), 0.0)
    side, h = 4 * 1.5 * foot, 12 * foot
    walls["104-square-pillar"] = _face(side, side * h, 0, 4, 0.0, 4 * h)
    walls["104-round-pillar"] = _face(math.pi * 2 * foot, math.pi * 2 * foot * h, 0, 0, 0.0, 0.0)
    length, h = 8 * foot, 6 * foot
    splash = _face(2 * length, 2 * length * h, 0, 0, 0.0, 0.0)
    splash["return_area"] = 2 * 1 * foot * h
    walls["103-splash-wall"] = splash
    return walls


def truth() -> dict[str, Any]:
    """Work out the true quantities by run, by room and in all: m² and m, corners as counts and m."""
    runs = _bare_walls()
    for room in ROOMS:
        figures = runs[f"{room.number}-walls"]
        for o in (o for o in OPENINGS if room.number in o.rooms):
            visible = max(0.0, min(o.sill + o.height, room.top) - o.sill)
            figures["deducted_area"] += o.width * visible
            figures["base_length"] -= o.width if o.sill == 0 else 0.0
            figures["return_area"] += o.reveals.get(room.number, 0.0) * 2 * (o.width + o.height)
    for figures in runs.values():
        figures["net_area"] = figures["gross_area"] - figures["deducted_area"]
    rooms = {room.id: _sum([f for name, f in runs.items() if name.startswith(room.number)]) for room in ROOMS}
    return {
        "about": "Areas in m2, lengths in m. Exact net, no measuring rule. The ends of the splash wall are in "
        "return_area; their corners and their base are not counted.",
        "runs": {name: _rounded(figures) for name, figures in sorted(runs.items())},
        "rooms": {name: _rounded(figures) for name, figures in rooms.items()},
        "total": _rounded(_sum(list(rooms.values()))),
    }


def _sum(parts: list[dict[str, float]]) -> dict[str, float]:
    return {key: sum(part[key] for part in parts) for key in parts[0]}


def _rounded(figures: dict[str, float]) -> dict[str, float]:
    return {key: value if isinstance(value, int) else round(value, 6) for key, value in figures.items()}
