"""Made-up floor plans with exact truth, drawn in many ways as PDF pages.

`make_plan(seed, kind)` gives the same plan for the same seed. Lengths are metres in a building frame with y down;
truth comes in sheet points. `DEVELOPMENT` and `HELD_OUT` are the seeds to work with and the seeds to judge by.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.affinity import rotate, translate
from shapely.ops import split

from tests.trace.ink import Ink, Pens

DEVELOPMENT = range(0, 40)
HELD_OUT = range(1000, 1050)

KINDS = (
    "layered",
    "poché",
    "poché-plain",
    "outline",
    "outline-open",
    "outline-through",
    "hatched",
    "finish-lines",
    "mixed",
    "heavy",
    "one-pen",
)
"""How the walls are drawn: on named layers; filled with or without an outline; outlined with and without closed ends,
or with faces that run through the windows; outlined and hatched; with the lines of their finishes inside; filled
outside and outlined inside; as single heavy lines; outlined with everything in one pen."""
SHAPES = ("thick", "curved", "niched", "hatchways")
"""Further kinds, by what is built: walls of 0.4 to 0.95 m in bare outline; bowed walls; niches and half columns; ways
over low walls. The last three are drawn in one of the ways above."""

NAMES = (
    "OFFICE",
    "STORE",
    "WASH",
    "LAB",
    "PACKING",
    "PLANT",
    "LOBBY",
    "COLD ROOM",
    "PANTRY",
    "STAFF",
    "RECORDS",
    "BATTERY",
)
Line2 = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True, kw_only=True)
class TrueOpening:
    """An opening on a room's face: its two ends there in sheet points where known, its kind, its width in metres."""

    side_pt: Line2 | None
    kind: str
    width: float


@dataclass(frozen=True, kw_only=True)
class TrueRoom:
    """A room: its inner face and free columns in sheet points, its openings, name and number."""

    outline_pt: Polygon
    columns_pt: tuple[Polygon, ...]
    openings: tuple[TrueOpening, ...]
    name: str
    number: str


@dataclass(frozen=True, kw_only=True)
class Plan:
    """A drawn plan: the PDF, metres per sheet point, and what is true about it."""

    data: bytes
    m_per_pt: float
    rooms: tuple[TrueRoom, ...]
    kind: str
    seed: int


@dataclass(kw_only=True)
class Wall:
    """A straight piece of wall between two junctions."""

    line: LineString
    thickness: float
    is_outer: bool
    rise: float = 0.0
    """How far the middle of a bowed wall lies aside of the line, to its left in a frame with y down."""


@dataclass(kw_only=True)
class Hole:
    """An opening in a wall: where its middle stands along the wall."""

    wall: Wall
    at: float
    width: float
    kind: str
    form: str
    hand: int = 1
    side: int = 1
    at_corner: bool = False

    def frame(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        a, b = (np.array(p) for p in self.wall.line.coords)
        u = (b - a) / np.hypot(*(b - a))
        return a + u * self.at, u, np.array([-u[1], u[0]])

    def box(self, more: float = 0.002) -> Polygon:
        m, u, n = self.frame()
        w, t = self.width / 2, self.wall.thickness / 2 + more
        return Polygon([m - u * w - n * t, m + u * w - n * t, m + u * w + n * t, m - u * w + n * t])

    def side_line(self, sign: int) -> LineString:
        m, u, n = self.frame()
        foot = m + n * sign * self.wall.thickness / 2
        return LineString([foot - u * self.width / 2, foot + u * self.width / 2])


@dataclass(kw_only=True)
class Building:
    """What stands there."""

    walls: list[Wall]
    holes: list[Hole]
    area: Polygon
    rooms: list[Polygon]
    columns: list[Polygon]
    names: list[tuple[str, str]]
    label_at: list[tuple[float, float]] = field(default_factory=list)


def make_plan(seed: int, kind: str) -> Plan:
    """Make a plan of a kind; every choice follows from the seed."""
    rng = random.Random(f"{seed} {kind}")
    building = _building(rng, single=kind == "heavy", shape=kind if kind in SHAPES else "")
    style = kind
    if kind in SHAPES:
        ways = ["outline", "outline-open", "one-pen"] if kind == "thick" else ["outline", "poché", "hatched", "mixed"]
        style = rng.choice(ways)
    ratio = rng.choice([48, 50, 64, 75, 96, 100])
    m_per_pt = ratio * 0.0254 / 72
    angle = rng.choice([0, 0, 0, 90, rng.uniform(-40, 40)])
    shapes = [building.area, *building.rooms]
    turned = rotate(shapely.union_all(shapes), angle, origin=(0, 0))
    x0, y0, x1, y1 = turned.bounds
    margin = 110.0
    size = ((x1 - x0) / m_per_pt + 2 * margin + 150, (y1 - y0) / m_per_pt + 2 * margin)
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))

    def place(p: tuple[float, float]) -> tuple[float, float]:
        x, y = p[0] * c - p[1] * s, p[0] * s + p[1] * c
        return ((x - x0) / m_per_pt + margin, (y - y0) / m_per_pt + margin)

    ink = Ink(size, place, layered=kind == "layered")
    pens = Pens.of(rng, style)
    _draw(ink, pens, building, style, rng, m_per_pt)
    data = ink.data(rotate=rng.choice([0, 0, 0, 90, 270]))

    def moved(shape: Polygon) -> Polygon:
        return Polygon([place(p) for p in shape.exterior.coords])

    rooms = []
    for room, (name, number) in zip(building.rooms, building.names, strict=True):
        edge = room.exterior.buffer(0.004)
        openings = [
            TrueOpening(side_pt=tuple(place(p) for p in line.coords), kind=h.kind, width=h.width)
            for h in building.holes
            for line in (h.side_line(1), h.side_line(-1))
            if edge.contains(line)
        ]
        inside = [col for col in building.columns if room.contains(col)]
        rooms.append(
            TrueRoom(
                outline_pt=moved(room),
                columns_pt=tuple(moved(col) for col in inside),
                openings=tuple(openings),
                name=name,
                number=number,
            )
        )
    return Plan(data=data, m_per_pt=m_per_pt, rooms=tuple(rooms), kind=kind, seed=seed)


def _building(rng: random.Random, *, single: bool, shape: str = "", size: float = 1.0) -> Building:
    while True:
        made = _try_building(rng, single=single, shape=shape, size=size)
        if made is not None:
            return made


def _try_building(rng: random.Random, *, single: bool, shape: str, size: float) -> Building | None:
    wide, deep = rng.uniform(9, 26) * size, rng.uniform(8, 17) * size
    outer_t = rng.choice([0.2, 0.25, 0.3, 0.365, 0.42])
    inner_t = rng.choice([0.08, 0.1, 0.115, 0.15, 0.2])
    if single:
        outer_t = inner_t = rng.choice([0.12, 0.15, 0.2])
    if shape == "thick":
        outer_t = rng.uniform(0.4, 0.7)
    elif shape == "niched":
        outer_t = rng.choice([0.3, 0.365, 0.42, 0.5])
    cells = [Polygon([(0, 0), (wide, 0), (wide, deep), (0, deep)])]
    cuts: list[tuple[LineString, float]] = []
    largest = rng.choice([18, 30, 45]) * size**2
    skew = rng.random() < 0.35 and not shape
    while True:
        big = [c for c in cells if c.area > largest]
        if not big or len(cells) > 16:
            break
        cell = max(big, key=lambda c: c.area)
        cut = _cut(rng, cell, skew)
        parts = [p for p in split(cell, cut).geoms if isinstance(p, Polygon)]
        if len(parts) != 2 or min(p.area for p in parts) < 4 or min(_slim(p) for p in parts) < 1.5:
            largest += 3
            continue
        cells.remove(cell)
        cells.extend(parts)
        thickness = inner_t if rng.random() < 0.8 else max(inner_t, 0.2)
        if shape == "thick" and rng.random() < 0.4:
            thickness = rng.uniform(0.4, 0.95)
        cuts.append((cut.intersection(cell), thickness))
    if len(cells) < 3:
        return None
    ring = LineString([*Polygon([(0, 0), (wide, 0), (wide, deep), (0, deep)]).exterior.coords])
    noded = shapely.node(shapely.union_all([ring, *(line for line, _ in cuts)], grid_size=1e-9))
    walls: list[Wall] = []
    for piece in shapely.get_parts(noded).tolist():
        for a, b in zip(piece.coords, piece.coords[1:], strict=False):
            line = LineString([a, b])
            middle = line.interpolate(0.5, normalized=True)
            is_outer = ring.distance(middle) < 1e-6
            thickness = outer_t if is_outer else next(t for cut, t in cuts if cut.distance(middle) < 1e-6)
            walls.append(Wall(line=line, thickness=thickness, is_outer=is_outer))
    inner = [w for w in walls if not w.is_outer and w.line.length > 1.5]
    for wall in rng.sample(inner, k=min(len(inner), rng.choice([0, 0, 1]))):
        if len(walls) > 12:
            walls.remove(wall)
    ends = [p for w in walls for p in w.line.coords]
    if any(sum(math.dist(p, q) < 1e-6 for q in ends) == 1 for p in ends):
        return None
    if any(w.line.length < 0.7 for w in walls):
        return None
    if shape == "curved":
        for wall in rng.sample(walls, k=len(walls))[: max(2, len(walls) // 3)]:
            if 2.0 < wall.line.length < 8.0:
                most = 0.3 if wall.is_outer else 0.12
                wall.rise = rng.choice([-1, 1]) * wall.line.length * rng.uniform(0.06, most)
    solid = shapely.union_all([_strip(w, single) for w in walls])
    if single:
        solid = shapely.buffer(solid, 1e-6, join_style="mitre")
    pads = _pads(rng, solid, [] if single else walls)
    solid = shapely.union_all([solid, *pads])
    if shape == "niched":
        niches, lumps = _niches(rng, walls)
        solid = shapely.union_all([shapely.difference(solid, shapely.union_all(niches)), *lumps])
        pads = [*pads, *niches, *lumps]
    if not isinstance(solid, Polygon):
        return None
    rooms = [Polygon(r) for r in solid.interiors]
    if any(r.area < 2.5 or r.buffer(-0.5).is_empty for r in rooms):
        return None
    columns = [] if single else _columns(rng, rooms)
    holes = _holes(rng, walls, rooms, pads, single=single, hatchways=shape == "hatchways")
    if holes is None:
        return None
    numbers = rng.sample(range(101, 199), len(rooms))
    names = [(rng.choice(NAMES), str(n)) for n in numbers]
    return Building(walls=walls, holes=holes, area=solid, rooms=rooms, columns=columns, names=names)


def _cut(rng: random.Random, cell: Polygon, skew: bool) -> LineString:
    x0, y0, x1, y1 = cell.bounds
    share = rng.uniform(0.3, 0.7)
    lean = rng.uniform(-0.35, 0.35) if skew and rng.random() < 0.4 else 0.0
    if x1 - x0 > y1 - y0:
        x = round(x0 + share * (x1 - x0), 2)
        return LineString([(x - lean * 50, y0 - 50), (x + lean * (y1 - y0 + 50), y1 + 50)])
    y = round(y0 + share * (y1 - y0), 2)
    return LineString([(x0 - 50, y - lean * 50), (x1 + 50, y + lean * (x1 - x0 + 50))])


def _slim(shape: Polygon) -> float:
    return 2 * shape.area / shape.length * 2


def _strip(wall: Wall, single: bool) -> Polygon:
    if wall.rise:
        return _bow(wall).buffer(wall.thickness / 2, cap_style="square", join_style="mitre")
    if wall.is_outer or single:
        return wall.line.buffer(wall.thickness / 2, cap_style="square", join_style="mitre")
    # a slanting wall runs on into the one that it ends on, or its end would leave a slit
    a, b = (np.array(p) for p in wall.line.coords)
    more = 0.035 * (b - a) / np.hypot(*(b - a))
    return LineString([a - more, b + more]).buffer(wall.thickness / 2, cap_style="flat")


def _pads(rng: random.Random, solid: Polygon, walls: list[Wall]) -> list[Polygon]:
    """Make pilasters: boxes on the inner faces of outer walls."""
    pads = []
    for wall in walls:
        if wall.line.length > 4 and rng.random() < 0.12:
            hole = Hole(wall=wall, at=wall.line.length / 2, width=rng.uniform(0.3, 0.6), kind="", form="")
            pads.append(hole.box(more=rng.uniform(0.12, 0.3)))
    return pads


def _bow(wall: Wall) -> LineString:
    """Return a bowed wall's axis: the arc of a circle, in chords of 2 degrees or less."""
    a, b = (np.array(p) for p in wall.line.coords)
    half, rise = wall.line.length / 2, abs(wall.rise)
    radius = (half * half + rise * rise) / (2 * rise)
    u = (b - a) / (2 * half)
    n = np.array([u[1], -u[0]]) * math.copysign(1.0, wall.rise)
    reach = math.asin(half / radius)
    turns = np.linspace(-reach, reach, max(8, math.ceil(reach / math.radians(1))))
    middle = (a + b) / 2 - n * (radius - rise)
    return LineString([a, *(middle + radius * (math.sin(t) * u + math.cos(t) * n) for t in turns[1:-1].tolist()), b])


def _niches(rng: random.Random, walls: list[Wall]) -> tuple[list[Polygon], list[Polygon]]:
    """Make niches in the inner faces of outer walls, and half columns on them."""
    niches, lumps = [], []
    inside = shapely.union_all([w.line for w in walls if w.is_outer]).convex_hull
    for wall in walls:
        if not wall.is_outer or wall.line.length < 2.5 or rng.random() < 0.35:
            continue
        width = rng.uniform(0.4, 1.2)
        hole = Hole(wall=wall, at=rng.uniform(1.0, wall.line.length - 1.0), width=width, kind="", form="")
        m, u, n = hole.frame()
        n = n if inside.contains(shapely.Point(m + n)) else -n
        t = wall.thickness / 2
        if rng.random() < 0.65:
            foot, w = t - rng.uniform(0.1, wall.thickness - 0.15), width / 2
            niches.append(Polygon([m - u * w + n * foot, m + u * w + n * foot, m + u * w + n * (t + 0.01),
                                   m - u * w + n * (t + 0.01)]))  # fmt: skip
        else:
            lumps.append(shapely.Point(m + n * t).buffer(min(width, 0.7) / 2, quad_segs=24))
    return niches, lumps


def _columns(rng: random.Random, rooms: list[Polygon]) -> list[Polygon]:
    columns = []
    for room in rooms:
        if room.area > 16 and rng.random() < 0.35:
            at = room.representative_point()
            half = rng.uniform(0.12, 0.3)
            box = shapely.box(at.x - half, at.y - half, at.x + half, at.y + half)
            column = at.buffer(half, quad_segs=24) if rng.random() < 0.4 else box
            if room.buffer(-0.7).contains(column):
                columns.append(column)
    return columns


def _holes(
    rng: random.Random, walls: list[Wall], rooms: list[Polygon], pads: list[Polygon], *, single: bool, hatchways: bool
) -> list[Hole] | None:
    holes: list[Hole] = []
    kept = shapely.union_all([p.buffer(0.1) for p in pads])

    def put(wall: Wall, kind: str, form: str, width: float, *, at_corner: bool = False) -> bool:
        if wall.rise:
            return False
        own = [w for w in walls if w is not wall]
        clear = []
        for end in (0.0, wall.line.length):
            point = wall.line.interpolate(end)
            clear.append(max((w.thickness / 2 for w in own if w.line.distance(point) < 1e-6), default=0.0))
        low, high = clear[0] + width / 2 + 0.12, wall.line.length - clear[1] - width / 2 - 0.12
        if high <= low:
            return False
        at = low - 0.12 if at_corner else rng.uniform(low, high)
        hole = Hole(
            wall=wall,
            at=at,
            width=width,
            kind=kind,
            form=form,
            hand=rng.choice([-1, 1]),
            side=rng.choice([-1, 1]),
            at_corner=at_corner,
        )
        wide = hole.box(more=0.05).buffer(0.0 if at_corner else 0.08)
        if wide.intersects(kept) or any(wide.buffer(0.15).intersects(h.box()) for h in holes):
            return False
        # no other wall may stand in or end on the opening
        others = [w for w in own if w.line.buffer(w.thickness / 2, cap_style="flat").intersects(hole.box(more=-0.01))]
        if others and not at_corner:
            return False
        if (
            at_corner
            and sum(any(r.exterior.buffer(1e-4).contains(hole.side_line(s)) for r in rooms) for s in (1, -1)) < 2
        ):
            return False
        holes.append(hole)
        return True

    for wall in sorted(walls, key=lambda w: w.line.length):
        if wall.is_outer:
            for _ in range(rng.choice([0, 1, 1, 2])):
                put(wall, "window", "window", round(rng.uniform(0.6, 2.6), 2))
            if rng.random() < 0.15:
                put(wall, "door", *rng.choice([("swing", 0.9), ("swing", 1.0), ("double", 1.8)]))
        elif rng.random() < 0.6:
            form = rng.choice(["swing"] * 6 + ["double", "cased", "sliding"])
            width = {
                "swing": rng.uniform(0.7, 1.1),
                "double": rng.uniform(1.4, 1.9),
                "sliding": rng.uniform(1.2, 2.2),
            }.get(form, rng.uniform(0.8, 1.2))
            put(wall, "door", form, round(width, 3), at_corner=form == "swing" and rng.random() < 0.1 and not single)
        if hatchways and not wall.is_outer and rng.random() < 0.6:
            put(wall, "pass-through", "pass-through", round(rng.uniform(0.6, 2.4), 2))
    for room in rooms:
        edge = room.exterior.buffer(0.004)
        if not any(h.kind == "door" and edge.contains(h.side_line(s)) for h in holes for s in (1, -1)):
            near = [
                w
                for w in walls
                if edge.intersection(w.line.buffer(w.thickness / 2 + 0.01, cap_style="flat")).area > 0.004
            ]
            near.sort(key=lambda w: (w.is_outer, -w.line.length))
            if not any(put(w, "door", "swing", 0.9) for w in near):
                return None
    return holes


def _draw(ink: Ink, pens: Pens, b: Building, kind: str, rng: random.Random, m_per_pt: float) -> None:
    from tests.trace import fittings

    fittings.floors(ink, pens, b, rng)
    fittings.furniture(ink, pens, b, rng)
    _walls(ink, pens, b, kind, rng)
    for column in b.columns:
        ink.shape(column, "A-COLS", stroke=pens.wall, fill=pens.fill if kind.startswith(("poché", "mixed")) else None)
    for hole in b.holes:
        fittings.opening(ink, pens, hole, rng, through=kind == "outline-through")
    fittings.labels(ink, pens, b, rng, m_per_pt)
    fittings.dimensions(ink, pens, b, rng, m_per_pt)
    fittings.grid(ink, pens, b, rng)
    fittings.title_block(ink, pens, rng)


def _walls(ink: Ink, pens: Pens, b: Building, kind: str, rng: random.Random) -> None:
    if kind == "heavy":
        for wall in b.walls:
            line = shapely.difference(wall.line, shapely.union_all([h.box() for h in b.holes]))
            for part in shapely.get_parts(line).tolist():
                ends = list(part.coords)
                ink.thick_line(ends, wall.thickness, wall.line, b.walls)
        return
    cut = [h.box() for h in b.holes if not (kind == "outline-through" and h.kind == "window")]
    solid = shapely.difference(b.area, shapely.union_all(cut)) if cut else b.area
    parts = [p for p in shapely.get_parts(solid).tolist() if p.area > 1e-6]
    if kind in ("poché", "poché-plain"):
        if kind == "poché-plain" and rng.random() < 0.5:
            for part in parts:
                for triangle in shapely.get_parts(shapely.constrained_delaunay_triangles(part)).tolist():
                    ink.shape(triangle, "A-WALL", fill=pens.fill)
        else:
            for part in parts:
                ink.shape(part, "A-WALL", stroke=pens.wall if kind == "poché" else None, fill=pens.fill)
        return
    if kind == "mixed":
        outer = shapely.union_all([_strip(w, False) for w in b.walls if w.is_outer])
        for part in parts:
            for piece in shapely.get_parts(shapely.intersection(part, outer)).tolist():
                if piece.area > 1e-6:
                    ink.shape(piece, "A-WALL", stroke=pens.wall, fill=pens.fill)
            for piece in shapely.get_parts(shapely.difference(part, outer)).tolist():
                if piece.area > 1e-6:
                    ink.shape(piece, "A-WALL", stroke=pens.wall)
        return
    style = rng.choice(["fill", "outline", "hatch"]) if kind == "layered" else kind
    for part in parts:
        if style == "fill":
            ink.shape(part, "A-WALL", stroke=pens.wall, fill=pens.fill)
        elif style == "outline-open":
            # at a corner the far end of the gap is another wall's face, which is drawn
            cut = [h for h in b.holes if not h.at_corner]
            ends = shapely.union_all([h.box(more=0.01).boundary.buffer(0.004) for h in cut])
            for ring in [part.exterior, *part.interiors]:
                for a, c in zip(ring.coords, ring.coords[1:], strict=False):
                    edge = LineString([a, c])
                    is_cap = ends.contains(edge) and any(abs(edge.length - h.wall.thickness) < 0.02 for h in cut)
                    if not is_cap:
                        ink.line(a, c, "A-WALL", pens.wall)
        else:
            ink.shape(part, "A-WALL", stroke=pens.wall, apart=rng.random() < 0.5)
        if style in ("hatched", "hatch"):
            _hatch(ink, part, pens, rng)
        if style == "finish-lines":
            for inner in shapely.get_parts(part.buffer(-0.02, join_style="mitre")).tolist():
                if inner.area > 1e-6:
                    ink.shape(inner, "A-WALL", stroke=pens.thin)


def _hatch(ink: Ink, part: Polygon, pens: Pens, rng: random.Random) -> None:
    step = rng.uniform(0.05, 0.12)
    x0, y0, x1, y1 = part.bounds
    tilt = rng.choice([45, 135])
    size = math.hypot(x1 - x0, y1 - y0)
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    lines = []
    for i in range(int(size / step)):
        line = LineString([(-size, 0), (size, 0)])
        lines.append(translate(rotate(translate(line, 0, i * step - size / 2), tilt, origin=(0, 0)), *middle))
    for piece in shapely.get_parts(shapely.intersection(shapely.MultiLineString(lines), part)).tolist():
        if isinstance(piece, LineString) and piece.length > 0.01:
            ink.line(piece.coords[0], piece.coords[-1], "A-WALL-PATT", pens.thin)
