"""Further kinds of made-up plan, by what stands on real sheets: a building of `plans` changed, or more drawn beside it.

`make_site(seed, kind)` gives the same plan for the same seed, drawn in one of the ways of `plans.KINDS`. Lengths are
metres in a building frame with y down; truth comes in sheet points.
"""

from __future__ import annotations

import math
import random
from itertools import pairwise

import numpy as np
import pymupdf
import shapely
from shapely import LineString, Polygon
from shapely.affinity import rotate

from tests.trace import fittings, plans
from tests.trace.ink import Ink, Pen, Pens
from tests.trace.plans import NAMES, Building, Hole, Plan, TrueOpening, TrueRoom, Wall

SITES = (
    "closets",
    "bays",
    "corner-doors",
    "wide-openings",
    "written-over",
    "imperial",
    "details",
    "two-plans",
    "shaded",
    "phased",
    "cavity",
    "stairs",
)
"""Closets in the corners of rooms; angled bays with windows; doors hard against corners; wide cased openings and
roll-up doors; words, marks and leaders over walls; sizes under the names and feet; details at another scale, a north
arrow, a legend and a key plan beside; two floors on one sheet; shaded floors and furniture; new walls filled, old ones
outlined in grey, those to go dashed; outer walls in leaves; stairs."""

WAYS = ("poché", "poché-plain", "outline", "outline-open", "hatched", "layered", "mixed", "finish-lines")
_FILLED = ("poché", "poché-plain", "mixed")


def make_any(seed: int, kind: str) -> Plan:
    """Make a plan of any kind, of this module or of `plans`."""
    return make_site(seed, kind) if kind in SITES else plans.make_plan(seed, kind)


def make_site(seed: int, kind: str) -> Plan:
    """Make a plan of a kind; every choice follows from the seed."""
    rng = random.Random(f"{seed} {kind}")
    way = rng.choice(["poché", "poché-plain"]) if kind == "shaded" else rng.choice(WAYS)
    if kind in ("phased", "cavity"):
        way = rng.choice(["poché", "outline"])
    buildings = [_changed(rng, kind) for _ in range(2 if kind == "two-plans" else 1)]
    m_per_pt = rng.choice([48, 50, 64, 75, 96, 100]) * 0.0254 / 72
    angle = rng.choice([0, 0, 0, 90, rng.uniform(-40, 40)])
    margin, left, height = 110.0, 110.0, 0.0
    places = []
    for building in buildings:
        x0, y0, x1, y1 = rotate(building.area, angle, origin=(0, 0)).bounds
        places.append(_place(angle, (x0, y0), m_per_pt, (left, margin)))
        left += (x1 - x0) / m_per_pt + margin
        height = max(height, (y1 - y0) / m_per_pt)
    beside = 260.0 if kind == "details" else 0.0
    ink = Ink((left + beside + 150, height + 2 * margin), places[0], layered=way == "layered")
    pens = Pens.of(rng, way)
    rooms: list[TrueRoom] = []
    for number, (building, ink.place) in enumerate(zip(buildings, places, strict=True), start=1):
        _draw(ink, pens, building, kind, way, rng, m_per_pt)
        if kind == "two-plans":
            x, y = ink.place(building.area.centroid.coords[0])
            ink.text((x, y + height / 2 + 60), f"FLOOR {number}", 12, "A-ANNO-TITL", raw=True)
        rooms.extend(_truth(building, ink))
    if kind == "details":
        _details(ink, pens, buildings[0], way, rng, left)
    fittings.title_block(ink, pens, rng)
    data = ink.data(rotate=rng.choice([0, 0, 0, 90, 270]))
    return Plan(data=data, m_per_pt=m_per_pt, rooms=tuple(rooms), kind=kind, seed=seed)


def _place(angle: float, low: tuple[float, float], m_per_pt: float, at: tuple[float, float]):
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))

    def place(p: tuple[float, float]) -> tuple[float, float]:
        x, y = p[0] * c - p[1] * s, p[0] * s + p[1] * c
        return ((x - low[0]) / m_per_pt + at[0], (y - low[1]) / m_per_pt + at[1])

    return place


def _truth(b: Building, ink: Ink) -> list[TrueRoom]:
    def moved(shape: Polygon) -> Polygon:
        return Polygon([ink.place(p) for p in shape.exterior.coords])

    rooms = []
    for room, (name, number) in zip(b.rooms, b.names, strict=True):
        edge = room.exterior.buffer(0.004)
        openings = [
            TrueOpening(side_pt=tuple(ink.place(p) for p in line.coords), kind=h.kind, width=h.width)
            for h in b.holes
            for line in (h.side_line(1), h.side_line(-1))
            if edge.contains(line)
        ]
        inside = tuple(moved(c) for c in b.columns if room.contains(c))
        rooms.append(
            TrueRoom(outline_pt=moved(room), columns_pt=inside, openings=tuple(openings), name=name, number=number)
        )
    return rooms


def _changed(rng: random.Random, kind: str) -> Building:
    """Make a building and change it as its kind asks for, until something of that could be built."""
    while True:
        b = plans._building(rng, single=False)
        change = {"closets": _closets, "bays": _bays, "corner-doors": _to_corners, "wide-openings": _widened}.get(kind)
        if change is None or change(rng, b):
            return b


def _rebuilt(b: Building, solid: Polygon, rng: random.Random) -> bool:
    """Take walls of another shape into a building, unless an opening or column of it is lost by them."""
    if not isinstance(solid, Polygon) or not solid.is_valid:
        return False
    rooms = [Polygon(r) for r in solid.interiors]
    edges = [r.exterior.buffer(0.004) for r in rooms]
    if any(r.area < 0.72 or r.buffer(-0.29).is_empty for r in rooms):
        return False
    outside = solid.exterior.buffer(0.004)
    for hole in b.holes:
        if not all(any(e.contains(hole.side_line(s)) for e in [*edges, outside]) for s in (1, -1)):
            return False
    if not all(any(r.buffer(-0.3).contains(c) for r in rooms) for c in b.columns):
        return False
    numbers = rng.sample(range(101, 199), len(rooms))
    b.area, b.rooms = solid, rooms
    b.names = [
        (rng.choice(NAMES), str(n)) if r.area > 2.5 else ("CLOSET", "") for r, n in zip(rooms, numbers, strict=True)
    ]
    return True


def _closets(rng: random.Random, b: Building) -> bool:
    made = 0
    for room in list(b.rooms):
        ring = list(shapely.orient_polygons(room).exterior.coords)[:-1]
        corners = [i for i in range(len(ring)) if _is_square(ring, i)]
        if room.area < 9 or not corners or rng.random() < 0.3:
            continue
        i = rng.choice(corners)
        p, q, r = (np.array(ring[j % len(ring)]) for j in (i - 1, i, i + 1))
        u, v = (r - q) / np.hypot(*(r - q)), (p - q) / np.hypot(*(p - q))
        long, deep, t = rng.uniform(1.1, 2.2), rng.uniform(0.65, 1.0), rng.choice([0.06, 0.08, 0.1, 0.115])
        inner = Polygon([q, q + u * long, q + u * long + v * deep, q + v * deep])
        outer = Polygon([q, q + u * (long + t), q + u * (long + t) + v * (deep + t), q + v * (deep + t)])
        taken = shapely.union_all([*(h.box(more=1.0) for h in b.holes), *(c.buffer(0.5) for c in b.columns)])
        if not room.buffer(1e-6).contains(outer) or outer.intersects(taken):
            continue
        line = LineString([q + v * (deep + t / 2) - u * 0.05, q + v * (deep + t / 2) + u * (long + t)])
        front = Wall(line=line, thickness=t, is_outer=False)
        form = rng.choice(["double", "sliding", "swing"])
        width = round(rng.uniform(0.6, 0.75) if form == "swing" else long - rng.uniform(0.25, 0.5), 3)
        _, _, n = Hole(wall=front, at=0.5, width=width, kind="", form="").frame()
        hole = Hole(
            wall=front,
            at=0.05 + long / 2,
            width=width,
            kind="door",
            form=form,
            hand=rng.choice([-1, 1]),
            side=1 if float(n @ v) > 0 else -1,
        )
        before = b.holes
        b.holes = [*before, hole]
        if _rebuilt(b, shapely.union_all([b.area, shapely.difference(outer, inner)]), rng):
            b.walls.append(front)
            made += 1
        else:
            b.holes = before
    return made > 0


def _is_square(ring: list[tuple[float, float]], i: int) -> bool:
    """Tell whether a ring turns in by 90 degrees at a vertex, between sides of 2.6 m and more."""
    p, q, r = (np.array(ring[j % len(ring)]) for j in (i - 1, i, i + 1))
    a, c = q - p, r - q
    return bool(min(np.hypot(*a), np.hypot(*c)) > 2.6 and abs(a @ c) < 1e-6 and a[0] * c[1] - a[1] * c[0] > 0)


def _bays(rng: random.Random, b: Building) -> bool:
    made = 0
    for wall in [w for w in b.walls if w.is_outer and w.line.length > 3.6]:
        wide, deep = rng.uniform(2.0, min(3.2, wall.line.length - 1.2)), rng.uniform(0.5, 0.8)
        at = rng.uniform(wide / 2 + 0.6, wall.line.length - wide / 2 - 0.6)
        frame = Hole(wall=wall, at=at, width=wide, kind="", form="")
        if rng.random() < 0.4 or any(h.wall is wall and abs(h.at - at) < (wide + h.width) / 2 + 0.5 for h in b.holes):
            continue
        m, u, n = frame.frame()
        n = -n if b.area.convex_hull.contains(shapely.Point(m + n)) else n
        t, w = wall.thickness, wide / 2
        axis = [m - u * w, m - u * (w - deep) + n * deep, m + u * (w - deep) + n * deep, m + u * w]
        back = (u + n) * -t, (u - n) * t
        strip = LineString([axis[0] + back[0], *axis, axis[3] + back[1]]).buffer(
            t / 2, cap_style="flat", join_style="mitre"
        )
        rooms = shapely.union_all(b.rooms)
        strip = shapely.difference(strip, rooms)
        room = shapely.union_all([Polygon(axis), frame.box(more=0.0)])
        hollow = max(shapely.get_parts(shapely.difference(room, strip)).tolist(), key=lambda p: p.area)
        solid = shapely.union_all([shapely.difference(b.area, hollow.buffer(1e-7)), strip])
        solid = solid.buffer(1e-5, join_style="mitre").buffer(-1e-5, join_style="mitre")
        bay = Wall(line=LineString(axis[1:3]), thickness=t, is_outer=True)
        window = Hole(
            wall=bay, at=bay.line.length / 2, width=round(bay.line.length * 0.6, 2), kind="window", form="window"
        )
        before = b.holes
        b.holes = [*before, window]
        if _rebuilt(b, solid, rng):
            made += 1
        else:
            b.holes = before
    return made > 0


def _to_corners(rng: random.Random, b: Building) -> bool:
    """Move swing doors to the ends of their walls, their jamb in line with the face of the next wall or close to it."""
    made = 0
    edges = [r.exterior.buffer(1e-4) for r in b.rooms]
    for hole in b.holes:
        if hole.kind != "door" or hole.form not in ("swing", "double") or hole.wall.is_outer:
            continue
        before, was = hole.at, hole.at_corner
        length = hole.wall.line.length
        ends = [max(_clear(b, hole.wall, e), 0.0) for e in (0.0, length)]
        off = rng.choice([0.0, 0.05, 0.1])
        choices = [ends[0] + hole.width / 2 + off, length - ends[1] - hole.width / 2 - off]
        hole.at, hole.at_corner = rng.choice(choices), off == 0.0
        fits = sum(any(e.contains(hole.side_line(s)) for e in edges) for s in (1, -1)) == 2
        near = hole.box(more=0.05).buffer(0.1)
        if not fits or any(h is not hole and near.intersects(h.box()) for h in b.holes):
            hole.at, hole.at_corner = before, was
        else:
            made += 1
    return made > 0


def _clear(b: Building, wall: Wall, at: float) -> float:
    """Return how far the walls that meet a wall at a station reach along it."""
    point = wall.line.interpolate(at)
    return max((w.thickness / 2 for w in b.walls if w is not wall and w.line.distance(point) < 1e-6), default=0.0)


def _widened(rng: random.Random, b: Building) -> bool:
    """Add cased openings of 1.4 to 3 m in inner walls, and roll-up doors in outer ones."""
    made = 0
    edges = [r.exterior.buffer(1e-4) for r in b.rooms]
    for wall in b.walls:
        if wall.line.length < 2.6 or any(h.wall is wall for h in b.holes) or rng.random() < 0.3:
            continue
        width = round(rng.uniform(1.4, min(3.0, wall.line.length - 1.0)), 2)
        form = "roll-up" if wall.is_outer else "cased"
        hole = Hole(wall=wall, at=wall.line.length / 2, width=width, kind="door", form=form)
        sides = sum(any(e.contains(hole.side_line(s)) for e in edges) for s in (1, -1))
        if sides == (1 if wall.is_outer else 2):
            b.holes.append(hole)
            made += 1
    return made > 0


def _draw(ink: Ink, pens: Pens, b: Building, kind: str, way: str, rng: random.Random, m_per_pt: float) -> None:
    if kind == "shaded":
        _shade(ink, b, rng)
    fittings.floors(ink, pens, b, rng)
    fittings.furniture(ink, pens, b, rng)
    if kind == "stairs":
        _stairs(ink, pens, b, rng)
    if kind == "phased":
        _phases(ink, pens, b, rng)
    else:
        plans._walls(ink, pens, b, way, rng)
    if kind == "cavity":
        _leaves(ink, pens, b, way, rng)
    for column in b.columns:
        ink.shape(column, "A-COLS", stroke=pens.wall, fill=pens.fill if way in _FILLED else None)
    for hole in b.holes:
        if kind == "wide-openings" and (hole.form == "roll-up" or (hole.form == "cased" and hole.width > 1.35)):
            _wide_opening(ink, pens, hole, b)
        else:
            fittings.opening(ink, pens, hole, rng, through=False)
    fittings.labels(ink, pens, b, rng, m_per_pt)
    if kind == "written-over":
        _words_over(ink, pens, b, rng, m_per_pt)
    if kind == "imperial":
        _sizes(ink, pens, b, rng, m_per_pt)
    else:
        fittings.dimensions(ink, pens, b, rng, m_per_pt)
    fittings.grid(ink, pens, b, rng)


def _wide_opening(ink: Ink, pens: Pens, hole: Hole, b: Building) -> None:
    m, u, n = hole.frame()
    w, t = hole.width / 2, hole.wall.thickness / 2
    if hole.form == "cased":
        offsets, lines = (-t, t), ()
    else:
        inward = 1 if b.area.convex_hull.contains(shapely.Point(m + n * (t + 0.5))) else -1
        offsets, lines = (inward * (t + 0.3),), (-inward * t,)
    for offset in offsets:
        ink.line(tuple(m - u * w + n * offset), tuple(m + u * w + n * offset), "A-DOOR", pens.dashed)
    for offset in lines:
        ink.line(tuple(m - u * w + n * offset), tuple(m + u * w + n * offset), "A-DOOR", pens.door)


def _shade(ink: Ink, b: Building, rng: random.Random) -> None:
    """Fill the floors with light greys, and some boxes on them with darker ones."""
    for room in b.rooms:
        ink.shape(room, "A-FLOR", fill=rng.choice([0.78, 0.85, 0.9, 1.0]))
        x0, y0, x1, y1 = room.bounds
        for _ in range(rng.choice([0, 1, 2])):
            x, y = rng.uniform(x0, x1), rng.uniform(y0, y1)
            box = shapely.box(x, y, x + rng.uniform(0.4, 2.0), y + rng.uniform(0.3, 0.9))
            doors = shapely.union_all([h.box(more=1.0) for h in b.holes])
            if room.buffer(-0.05).contains(box) and not box.intersects(doors):
                ink.shape(box, "A-FURN", stroke=Pen(0.18, 0.3), fill=rng.choice([0.45, 0.6, 0.7]))


def _stairs(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Draw a flight with an arrow and a break line along a side of one or two rooms."""
    rooms = sorted(b.rooms, key=lambda r: -r.area)[: rng.choice([1, 2])]
    doors = shapely.union_all([h.box(more=1.0) for h in b.holes])
    for room in rooms:
        spot = shapely.maximum_inscribed_circle(room).coords[0]
        wide, going, count = rng.uniform(0.9, 1.3), rng.uniform(0.25, 0.3), rng.randint(7, 12)
        box = shapely.box(spot[0] - 0.5, spot[1] - 0.5, spot[0] - 0.5 + going * count, spot[1] - 0.5 + wide)
        if not room.buffer(-0.1).contains(box) or box.intersects(doors):
            continue
        x0, y0, x1, y1 = box.bounds
        for i in range(count + 1):
            ink.line((x0 + going * i, y0), (x0 + going * i, y1), "A-FLOR-STRS", pens.thin)
        for y in (y0, y1):
            ink.line((x0, y), (x1, y), "A-FLOR-STRS", rng.choice([pens.thin, pens.wall]))
        y = (y0 + y1) / 2
        ink.polyline([(x0, y), (x1 - 0.2, y), (x1 - 0.35, y - 0.07)], "A-FLOR-STRS", pens.thin)
        x = x0 + 0.6 * (x1 - x0)
        ink.polyline([(x - 0.2, y0 - 0.1), (x, y - 0.1), (x - 0.1, y + 0.1), (x + 0.1, y1 + 0.1)], "A-FLOR-STRS",
                     pens.thin)  # fmt: skip


def _phases(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Draw new walls filled and old ones outlined in a grey pen; walls to go as pairs of dashed lines in rooms."""
    cut = [h.box() for h in b.holes]
    solid = shapely.difference(b.area, shapely.union_all(cut)) if cut else b.area
    strips = [plans._strip(w, False) for w in b.walls if not w.is_outer and rng.random() < 0.5]
    new = shapely.union_all(strips) if strips else Polygon()
    for piece in shapely.get_parts(shapely.intersection(solid, new)).tolist():
        if piece.area > 1e-6:
            ink.shape(piece, "A-WALL", stroke=pens.wall, fill=pens.fill)
    for piece in shapely.get_parts(shapely.difference(solid, new)).tolist():
        if piece.area > 1e-6:
            ink.shape(piece, "A-WALL", stroke=Pen(pens.wall.width, 0.5))
    for room in b.rooms:
        x0, y0, x1, y1 = room.bounds
        if rng.random() < 0.4:
            x = x0 + rng.uniform(0.2, 0.4) * (x1 - x0)
            for side in (x, x + 0.12):
                cuts = shapely.get_parts(shapely.intersection(LineString([(side, y0), (side, y1)]), room)).tolist()
                for piece in cuts:
                    ink.line(piece.coords[0], piece.coords[-1], "A-WALL-DEMO", Pen(pens.wall.width, 0.4, "[4 3] 0"))


def _leaves(ink: Ink, pens: Pens, b: Building, way: str, rng: random.Random) -> None:
    """Draw the lines between the leaves of the outer walls and hatch the inner leaf of some."""
    wall = next(w for w in b.walls if w.is_outer)
    cut = shapely.union_all([h.box() for h in b.holes])
    pen = rng.choice([pens.thin, pens.wall])
    if way == "poché":
        pen = Pen(pens.thin.width, 1.0 if pens.fill < 0.5 else 0.0)
    hull = Polygon(b.area.exterior)
    depths = [0.35 * wall.thickness, 0.55 * wall.thickness] if rng.random() < 0.6 else [0.4 * wall.thickness]
    for depth in depths:
        for part in shapely.get_parts(hull.buffer(-depth, join_style="mitre")).tolist():
            line = shapely.difference(part.exterior, cut)
            for piece in shapely.get_parts(shapely.line_merge(line)).tolist():
                ink.polyline(list(piece.coords), "A-WALL", pen)


def _words_over(ink: Ink, pens: Pens, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Write notes over walls and marks beside them, with leaders that cross walls."""
    for wall in b.walls:
        m = np.array(wall.line.interpolate(rng.uniform(0.3, 0.7), normalized=True).coords[0])
        at = (float(m[0]), float(m[1]))
        chance = rng.random()
        if chance < 0.3:
            ink.text(at, rng.choice(["EXISTING", "1 HR", "FIRE WALL", "SEE NOTE 4", "4.20"]), rng.choice([5, 7, 9]),
                     "A-ANNO-NOTE", mask=rng.random() < 0.2)  # fmt: skip
        elif chance < 0.5:
            x, y = ink.place(at)
            ink.text((x + 12, y - 12), rng.choice("ABCD"), 5, "A-WALL-IDEN", raw=True)
            spot = m + np.array([12, -12]) * m_per_pt
            ink.arc(spot, 5 * m_per_pt, 0, 2 * math.pi, "A-WALL-IDEN", pens.thin)
            ink.line(tuple(spot), at, "A-WALL-IDEN", pens.thin)
        elif chance < 0.65:
            far = m + np.array([rng.uniform(-2, 2), rng.uniform(-2, 2)])
            ink.polyline([(float(far[0]) + 0.6, float(far[1])), tuple(far), at], "A-ANNO-NOTE", pens.thin)


def _sizes(ink: Ink, pens: Pens, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Write sizes and ceiling heights under the names, and dimensions in feet and inches along two sides."""
    for room in b.rooms:
        free = shapely.difference(room, shapely.union_all([c.buffer(0.3) for c in b.columns]))
        spot = shapely.maximum_inscribed_circle(max(shapely.get_parts(free), key=lambda p: p.area)).coords[0]
        x, y = ink.place(spot)
        x0, y0, x1, y1 = room.bounds
        ink.text((x, y + 16), f"{_feet(x1 - x0)} x {_feet(y1 - y0)}", 5, "A-AREA-IDEN", raw=True)
        if rng.random() < 0.5:
            ink.text((x, y + 23), f"CLG {_feet(rng.uniform(2.4, 3.2))}", 5, "A-AREA-IDEN", raw=True)
    x0, y0, x1, y1 = b.area.bounds
    stops = sorted({x0, x1, *(w.line.coords[0][0] for w in b.walls)})
    y = y0 - 26 * m_per_pt
    for a, c in pairwise(stops):
        if c - a > 0.5:
            ink.line((a, y), (c, y), "A-ANNO-DIMS", pens.thin)
            ink.text(((a + c) / 2, y - 4 * m_per_pt), _feet(c - a), 5, "A-ANNO-DIMS")
        for end in (a, c):
            ink.line((end, y0 - 6 * m_per_pt), (end, y - 3 * m_per_pt), "A-ANNO-DIMS", pens.thin)


def _feet(metres: float) -> str:
    inches = round(metres / 0.0254)
    return f"{inches // 12}'-{inches % 12}\""


def _details(ink: Ink, pens: Pens, b: Building, way: str, rng: random.Random, left: float) -> None:
    """Draw, in sheet points, a section of a wall's foot, a jamb, a north arrow, a legend of walls and a key plan."""
    real, ink.place = ink.place, lambda p: p
    top = 60.0
    wall, thick = pens.wall, rng.uniform(18, 40)
    slab = Polygon([(left, top + 130), (left + 150, top + 130), (left + 150, top + 150), (left, top + 150)])
    foot = Polygon([(left + 60, top), (left + 60 + thick, top), (left + 60 + thick, top + 130), (left + 60, top + 130)])
    for shape in (slab, foot):
        ink.shape(shape, "A-DETL", stroke=wall, fill=pens.fill if rng.random() < 0.3 else None)
        x0, y0, _, y1 = shape.bounds
        for i in range(1, 60):
            line = LineString([(x0 + 5 * i, y0), (x0 + 5 * i - (y1 - y0), y1)])
            cut = shapely.intersection(line, shape)
            if isinstance(cut, LineString) and cut.length > 1:
                ink.line(cut.coords[0], cut.coords[-1], "A-DETL", pens.thin)
    ink.line((left + 60 + thick + 4, top), (left + 60 + thick + 4, top + 126), "A-DETL", pens.thin)
    ink.line((left + 60 + thick, top + 20), (left + 130, top + 20), "A-DETL", pens.thin)
    ink.text((left + 165, top + 20), "COVE R 25", 5, "A-DETL", raw=True)
    _title(ink, pens, (left + 20, top + 175), "WALL FOOT", "1:20")
    jamb = top + 220
    for x in (left, left + 110):
        ink.shape(shapely.box(x, jamb, x + 60, jamb + thick), "A-DETL", stroke=wall)
        ink.shape(shapely.box(x + 20, jamb + 4, x + 50, jamb + thick - 4), "A-DETL", stroke=pens.thin)
    _title(ink, pens, (left + 20, jamb + 70), "JAMB", "1:5")
    north = (left + 210, top + 60)
    ink.arc(north, 22, 0, 2 * math.pi, "A-ANNO-SYMB", pens.thin)
    ink.shape(Polygon([(north[0], north[1] - 22), (north[0] + 9, north[1] + 15), (north[0] - 9, north[1] + 15)]),
              "A-ANNO-SYMB", fill=0.0)  # fmt: skip
    ink.text((north[0], north[1] - 30), "N", 9, "A-ANNO-SYMB", raw=True)
    for i, words in enumerate(("NEW WALL", "EXISTING WALL", "1 HR RATED")):
        y = jamb + 110 + 16 * i
        fill = pens.fill if i == 0 and way in _FILLED else None
        ink.shape(shapely.box(left, y, left + 46, y + 7), "A-ANNO-LEGN", stroke=wall, fill=fill)
        ink.text((left + 90, y + 4), words, 6, "A-ANNO-LEGN", raw=True)
    k = 90 / max(b.area.bounds[2] - b.area.bounds[0], b.area.bounds[3] - b.area.bounds[1])
    key = Polygon(
        [(left + 150 + k * x, jamb + 110 + k * y) for x, y in b.area.exterior.coords],
        [[(left + 150 + k * x, jamb + 110 + k * y) for x, y in ring.coords] for ring in b.area.interiors],
    )
    ink.shape(key, "A-ANNO-KEYN", stroke=wall, fill=pens.fill if way in _FILLED else None)
    ink.text((left + 190, jamb + 104), "KEY PLAN", 6, "A-ANNO-KEYN", raw=True)
    ink.place = real


def _title(ink: Ink, pens: Pens, at: tuple[float, float], words: str, scale: str) -> None:
    x, y = at
    ink.arc((x, y), 9, 0, 2 * math.pi, "A-ANNO-TITL", pens.thin)
    ink.text((x, y), "1", 7, "A-ANNO-TITL", raw=True)
    ink.line((x + 9, y), (x + 100, y), "A-ANNO-TITL", pens.wall)
    ink.text((x + 12 + pymupdf.get_text_length(words, "helv", 7) / 2, y - 5), words, 7, "A-ANNO-TITL", raw=True)
    ink.text((x + 22, y + 7), scale, 5, "A-ANNO-TITL", raw=True)
