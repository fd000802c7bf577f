"""What the buildings to train on have that the others have not: thick, curved and slanting walls, niches, stubs, posts.

Each function returns a building with more of one thing, or the same one where there is no place for it. Lengths are
metres in the building frame.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.ops import substring

from tests.trace.plans import NAMES, Building, Hole, Wall

_LEAST_ROOM = 1.2
"""Square metres of the smallest room that is kept."""


def altered(b: Building, rng: random.Random) -> Building:
    """Change a building in some ways; one in five stays as it is."""
    if rng.random() < 0.2:
        return b
    ways: list[tuple[Callable[[Building, random.Random], Building], float]] = [
        (with_thick_walls, 0.4),
        (with_curved_wall, 0.3),
        (with_curved_wall, 0.15),
        (with_round_corner, 0.2),
        (with_niches, 0.4),
        (with_blocks, 0.4),
        (with_stubs, 0.3),
        (with_wide_windows, 0.4),
        (with_open_fronts, 0.15),
        (with_pass_throughs, 0.4),
        (with_inner_windows, 0.4),
        (with_columns, 0.5),
        (with_posts, 0.3),
        (with_cut_corner, 0.2),
        (with_cut_corner, 0.1),
        (with_corner_closet, 0.25),
    ]
    for way, share in ways:
        if rng.random() < share:
            b = way(b, rng)
    return b


def with_thick_walls(b: Building, rng: random.Random) -> Building:
    """Make some walls 0.4 to 1.0 m thick: the outer ones, those in one line, or a few."""
    thickness = rng.uniform(0.4, 1.0)
    which = rng.random()
    if which < 0.35:
        chosen = [w for w in b.walls if w.is_outer]
        thickness = rng.uniform(0.4, 0.7)
    elif which < 0.8:
        seed = rng.choice(b.walls)
        (ax, ay), (cx, cy) = seed.line.coords
        u = np.array([cx - ax, cy - ay]) / seed.line.length
        far = [np.abs((np.array(w.line.coords) - (ax, ay)) @ (-u[1], u[0])).max() for w in b.walls]
        chosen = [w for w, d in zip(b.walls, far, strict=True) if d < 0.02]
    else:
        chosen = rng.sample(b.walls, k=min(len(b.walls), rng.randint(1, 4)))
    return _thickened(b, chosen, thickness)


def _thickened(b: Building, chosen: list[Wall], thickness: float) -> Building:
    thick = {id(w): replace(w, thickness=max(w.thickness, thickness)) for w in chosen}
    strips = [
        w.line.buffer(w.thickness / 2, cap_style="square" if w.is_outer else "flat", join_style="mitre")
        for w in thick.values()
    ]
    holes = [replace(h, wall=thick.get(id(h.wall), h.wall)) for h in b.holes]
    walls = [thick.get(id(w), w) for w in b.walls]
    return rebuilt(b, shapely.union_all([b.area, *strips]), walls=walls, holes=holes)


def with_curved_wall(b: Building, rng: random.Random) -> Building:
    """Bend a wall between two junctions into an arc; what was open in it is closed."""
    for wall in rng.sample(b.walls, k=min(4, len(b.walls))):
        length = wall.line.length
        if not 1.8 < length < 9:
            continue
        rise = length * (rng.uniform(0.08, 0.5) if wall.is_outer else rng.uniform(0.06, 0.22)) * rng.choice([-1, 1])
        arc = _arc(wall.line, rise)
        strip = wall.line.buffer(wall.thickness / 2 + 1e-4, cap_style="flat")
        others = shapely.union_all([strip_of(w) for w in b.walls if w is not wall])
        new = arc.buffer(wall.thickness / 2, cap_style="flat", join_style="mitre")
        free = substring(arc, 0.2, 0.8, normalized=True).buffer(wall.thickness / 2 + 0.4)
        if free.intersects(others):
            continue
        area = shapely.union_all([shapely.difference(b.area, shapely.difference(strip, others)), new]).buffer(0)
        # the hollow between a flat end and its neighbour is filled
        ends = [Point(p).buffer(wall.thickness / 2) for p in wall.line.coords]
        made = rebuilt(
            b,
            shapely.union_all([area, *ends]),
            walls=[w for w in b.walls if w is not wall],
            holes=[h for h in b.holes if h.wall is not wall],
        )
        if made is not b:
            return made
    return b


def _arc(line: LineString, rise: float) -> LineString:
    a, c = (np.array(p) for p in line.coords)
    half = line.length / 2
    u = (c - a) / (2 * half)
    n = np.array([-u[1], u[0]])
    radius = (half**2 + rise**2) / (2 * abs(rise))
    centre = (a + c) / 2 + n * (rise - math.copysign(radius, rise))
    reach = math.atan2(half, radius - abs(rise))
    turns = np.linspace(-reach, reach, 49)
    side = math.copysign(1.0, rise)
    return LineString(
        [a, *(centre + radius * (math.sin(t) * u + side * math.cos(t) * n) for t in turns[1:-1].tolist()), c]
    )


def _corners(b: Building, rng: random.Random) -> Iterator[tuple[list[Wall], np.ndarray, list[np.ndarray]]]:
    """Yield the square outer corners between two walls that meet there alone: the walls, the place, both directions."""
    outer = [w for w in b.walls if w.is_outer]
    for wall in rng.sample(outer, k=len(outer)):
        p = wall.line.coords[rng.choice([0, 1])]
        own = [w for w in b.walls if w.line.distance(Point(p)) < 1e-6]
        if len(own) != 2 or not all(w.is_outer for w in own):
            continue
        rays = []
        for w in own:
            far = max(w.line.coords, key=lambda q: math.dist(p, q))
            rays.append((np.array(far) - p) / math.dist(p, far))
        if abs(float(rays[0] @ rays[1])) > 0.05:
            continue
        yield own, np.array(p), rays


def with_round_corner(b: Building, rng: random.Random) -> Building:
    """Round an outer corner between two walls that meet there alone."""
    for own, q, (u, v) in _corners(b, rng):
        thickness = own[0].thickness
        radius = min(rng.uniform(0.6, 3.0), min(w.line.length for w in own) - 0.4)
        if radius < 0.5:
            continue
        centre = q + radius * (u + v)
        arc = [centre - radius * (math.cos(t) * u + math.sin(t) * v) for t in np.linspace(0, math.pi / 2, 33)]
        far, near = radius, -thickness
        square = Polygon([q + near * (u + v), q + far * u + near * v, q + far * (u + v), q + near * u + far * v])
        ring = LineString(arc).buffer(thickness / 2, cap_style="flat", join_style="mitre")
        kept = [h for h in b.holes if not h.box(more=0.05).intersects(square)]
        made = rebuilt(b, shapely.union_all([shapely.difference(b.area, square), ring]).buffer(1e-5), holes=kept)
        if made is not b:
            return made
    return b


def with_niches(b: Building, rng: random.Random) -> Building:
    """Cut niches into walls that are deep enough."""
    area = b.area
    for p, u, n, length in _edges(b, rng, [1, 2, 4]):
        wide = rng.uniform(0.25, min(1.8, 0.8 * length))
        deep, at = rng.uniform(0.06, 0.4), rng.uniform(0.1, length - wide - 0.05)
        behind = _box(p, u, n, at - 0.06, at + wide + 0.06, -deep - 0.07, -0.005)
        if not area.buffer(1e-4).contains(behind) or is_at_hole(behind, b, 0.12):
            continue
        niche = _box(p, u, n, at, at + wide, -deep, 0.02)
        if rng.random() < 0.3 and wide < 2.4 * deep:
            niche = Point(p + u * (at + wide / 2)).buffer(min(wide / 2, deep), quad_segs=16)
        area = shapely.difference(area, niche)
    return rebuilt(b, area)


def with_blocks(b: Building, rng: random.Random) -> Building:
    """Put blocks to walls: pilasters, half columns, chimneys, boxed-in pipes in corners."""
    area = b.area
    for p, u, n, length in _edges(b, rng, [1, 2, 4, 7]):
        wide, out = rng.choice([(0.3, 0.15), (0.4, 0.4), (0.6, 0.25), (1.0, 0.6), (0.9, 0.9)])
        wide, out = wide * rng.uniform(0.6, 1.4), out * rng.uniform(0.6, 1.4)
        at = rng.choice([0.0, rng.uniform(0.0, max(0.0, length - wide))])
        block = _box(p, u, n, at, at + wide, -0.03, out)
        if rng.random() < 0.2:
            block = Point(p + u * (at + wide / 2)).buffer(wide / 2, quad_segs=16)
        if length < wide or is_at_hole(block, b, 0.2):
            continue
        area = shapely.union_all([area, block])
    return rebuilt(b, area)


def with_stubs(b: Building, rng: random.Random) -> Building:
    """Let short walls stand out into rooms, with a free end."""
    area = b.area
    for p, u, n, length in _edges(b, rng, [1, 1, 2, 3]):
        thick, out = rng.choice([0.08, 0.1, 0.15, 0.2, 0.3]), rng.uniform(0.4, 2.6)
        at = rng.uniform(0.0, max(0.0, length - thick))
        stub = _box(p, u, n, at, at + thick, -0.03, out)
        if rng.random() < 0.25:  # the wall turns at its end
            stub = shapely.union_all([stub, _box(p, u, n, at, at + rng.uniform(0.3, 1.0), out - thick, out)])
        tip = _box(p, u, n, at, at + thick, out - 0.1, out + 0.6)
        if tip.intersects(area) or is_at_hole(stub, b, 0.5):
            continue
        area = shapely.union_all([area, stub])
    return rebuilt(b, area)


def with_wide_windows(b: Building, rng: random.Random) -> Building:
    """Widen windows to bands of glass; widths of narrow ones are drawn anew too."""
    for hole in [h for h in b.holes if h.kind == "window" and rng.random() < 0.5]:
        length = hole.wall.line.length
        reach = min(hole.at, length - hole.at) - 0.5
        wide = 2 * reach if rng.random() < 0.25 else min(rng.uniform(0.4, 6.0), 2 * reach)
        others = [h for h in b.holes if h is not hole and h.wall is hole.wall]
        new = replace(hole, width=wide)
        if wide > 0.35 and not any(new.box(more=0.1).buffer(0.2).intersects(h.box()) for h in others):
            b = rebuilt(b, b.area, holes=[new if h is hole else h for h in b.holes])
    return b


def with_open_fronts(b: Building, rng: random.Random) -> Building:
    """Open outer walls by wide gaps in which nothing, a line or a gate is drawn: porches, docks, garages, balconies."""
    walls = [w for w in b.walls if w.is_outer and w.line.length > 2.2 and rng.random() < 0.2]
    holes = list(b.holes)
    for wall in walls:
        wide = rng.uniform(1.2, min(5.0, wall.line.length - 0.8))
        at = rng.uniform(wide / 2 + 0.35, wall.line.length - wide / 2 - 0.35)
        new = Hole(wall=wall, at=at, width=wide, kind="door", form=rng.choice(["cased", "cased", "sliding"]),
                   side=rng.choice([-1, 1]))  # fmt: skip
        near = new.box(more=0.1).buffer(0.2)
        holes = [h for h in holes if h.wall is not wall or not near.intersects(h.box())]
        if not any(near.intersects(h.box()) for h in holes):
            holes.append(new)
    return rebuilt(b, b.area, holes=holes)


def with_posts(b: Building, rng: random.Random) -> Building:
    """Part wide windows, and some doors from a window beside them, by posts of 50 to 120 mm."""
    holes = list(b.holes)
    for hole in b.holes:
        if hole.kind != "window" or hole.width < 1.1 or rng.random() < 0.4:
            continue
        post, count = rng.uniform(0.05, 0.12), rng.randint(2, max(2, int(hole.width / 0.6)))
        wide = (hole.width - (count - 1) * post) / count
        if wide < 0.4:
            continue
        parts = [
            replace(hole, at=hole.at - hole.width / 2 + wide / 2 + i * (wide + post), width=wide) for i in range(count)
        ]
        if 0.7 < wide < 1.1 and rng.random() < 0.3:
            i = rng.randrange(count)
            parts[i] = replace(parts[i], kind="door", form="swing", hand=rng.choice([-1, 1]))
        holes[holes.index(hole) : holes.index(hole) + 1] = parts
    return rebuilt(b, b.area, holes=holes)


def with_cut_corner(b: Building, rng: random.Random) -> Building:
    """Cut an outer corner between two walls that meet there alone, at 45° or near it: so octagons are made."""
    for own, q, (u, v) in _corners(b, rng):
        t = own[0].thickness
        room = min(w.line.length for w in own) - 0.8
        if room < 0.8:
            continue
        long = rng.uniform(0.7, min(3.0, room))
        other = long if rng.random() < 0.7 else rng.uniform(0.7, min(3.0, room))
        strip = LineString([q + (long + 0.3) * u, q + long * u, q + other * v, q + (other + 0.3) * v])
        near = -t
        square = Polygon(
            [q + near * (u + v), q + long * u + near * v, q + long * u + other * v, q + near * u + other * v]
        )
        kept = [h for h in b.holes if not h.box(more=0.05).intersects(square.buffer(0.3))]
        line = LineString([q + long * u, q + other * v])
        new = Wall(line=line, thickness=t, is_outer=True)
        if line.length > 1.4 and rng.random() < 0.6:
            wide = rng.uniform(0.5, line.length - 0.7)
            kept.append(Hole(wall=new, at=line.length / 2, width=wide, kind="window", form="window"))
        area = shapely.union_all(
            [shapely.difference(b.area, square), strip.buffer(t / 2, cap_style="flat", join_style="mitre")]
        )
        made = rebuilt(b, area.buffer(1e-5), walls=[*b.walls, new], holes=kept)
        if made is not b:
            return made
    return b


def with_corner_closet(b: Building, rng: random.Random) -> Building:
    """Part a corner of a room off by a wall that runs aslant, with a door in it."""
    for room in rng.sample(b.rooms, k=min(4, len(b.rooms))):
        points = np.array(room.exterior.coords)[:-1]
        for i in rng.sample(range(len(points)), k=len(points)):
            p, a, c = points[i], points[i - 1], points[(i + 1) % len(points)]
            la, lc = math.dist(p, a), math.dist(p, c)
            u, v = (a - p) / max(la, 1e-9), (c - p) / max(lc, 1e-9)
            most = min(la, lc) - 0.5
            if abs(float(u @ v)) > 0.03 or most < 1.5 or not room.contains(Point(p + 0.1 * (u + v))):
                continue
            long = rng.uniform(1.5, min(2.8, most))
            short = rng.uniform(0.0, long - 0.85)
            t = rng.choice([0.08, 0.1, 0.12, 0.15])
            path = [
                p - 0.05 * v + long * u,
                p + long * u + short * v,
                p + short * u + long * v,
                p - 0.05 * u + long * v,
            ]
            strip = LineString(path).buffer(t / 2, cap_style="flat", join_style="mitre")
            if is_at_hole(strip, b, 0.1) or any(h.box(more=0.9).intersects(strip) for h in b.holes if h.kind == "door"):
                continue
            slant = Wall(line=LineString(path[1:3]), thickness=t, is_outer=False)
            wide = min(rng.uniform(0.6, 0.9), slant.line.length - 0.3)
            form = rng.choice(["swing", "swing", "swing", "cased"])
            door = Hole(wall=slant, at=slant.line.length / 2, width=wide, kind="door", form=form,
                        hand=rng.choice([-1, 1]), side=rng.choice([-1, 1]))  # fmt: skip
            area = shapely.union_all([b.area, strip])
            made = rebuilt(b, area, walls=[*b.walls, slant], holes=[*b.holes, door])
            if made is not b:
                return made
    return b


def with_pass_throughs(b: Building, rng: random.Random) -> Building:
    """Make ways through walls over a low wall, out of some doors and in free places; few of them in outer walls."""
    parted = [h for h in b.holes if not h.wall.is_outer and h.form in ("cased", "sliding") and rng.random() < 0.3]
    holes = [replace(h, kind="pass-through", form="pass-through") if h in parted else h for h in b.holes]
    walls = [w for w in b.walls if rng.random() < (0.06 if w.is_outer else 0.3)]
    return rebuilt(b, b.area, holes=with_more(holes, walls, "pass-through", rng))


def with_inner_windows(b: Building, rng: random.Random) -> Building:
    """Put windows into inner walls."""
    walls = [w for w in b.walls if not w.is_outer and rng.random() < 0.3]
    return rebuilt(b, b.area, holes=with_more(list(b.holes), walls, "window", rng))


def with_more(holes: list[Hole], walls: list[Wall], kind: str, rng: random.Random) -> list[Hole]:
    """Return the openings, and one more of a kind in each of the walls that has a place for it."""
    for wall in walls:
        if wall.line.length < 2:
            continue
        wide = rng.uniform(0.5, min(3.0, wall.line.length - 1.2))
        at = rng.uniform(wide / 2 + 0.4, wall.line.length - wide / 2 - 0.4)
        new = Hole(wall=wall, at=at, width=wide, kind=kind, form=kind, side=rng.choice([-1, 1]))
        if not any(new.box(more=0.1).buffer(0.2).intersects(h.box()) for h in holes):
            holes.append(new)
    return holes


def with_columns(b: Building, rng: random.Random) -> Building:
    """Stand columns and short free walls in rooms, some on a grid, some against walls."""
    columns = list(b.columns)
    x0, y0, x1, y1 = b.area.bounds
    if rng.random() < 0.5:
        step, half = rng.uniform(2.5, 6.0), rng.uniform(0.08, 0.35)
        places = [(x, y) for x in np.arange(x0 + 1, x1, step) for y in np.arange(y0 + 1, y1, step)]
    else:
        half = 0.0
        places = [(rng.uniform(x0, x1), rng.uniform(y0, y1)) for _ in range(rng.choice([3, 6, 12]))]
    is_round = rng.random() < 0.4
    rooms = shapely.union_all(b.rooms)
    for x, y in places:
        r = half or rng.uniform(0.08, 0.4)
        if half == 0.0:
            is_round = rng.random() < 0.4
        long = r if half or rng.random() < 0.6 else r * rng.uniform(1.5, 5.0)
        column = Point(x, y).buffer(r, quad_segs=24) if is_round else shapely.box(x - long, y - r, x + long, y + r)
        stands_free = rooms.buffer(-0.45).contains(column)
        stands_in_wall = bool(half) and b.area.intersects(column) and not b.area.contains(column)
        if (not stands_free and not stands_in_wall) or is_at_hole(column, b, 0.25):
            continue
        if not any(column.buffer(0.4).intersects(c) for c in columns):
            columns.append(column)
    return replace(b, columns=columns)


def strip_of(wall: Wall) -> Polygon:
    return wall.line.buffer(wall.thickness / 2, cap_style="square" if wall.is_outer else "flat", join_style="mitre")


def _box(p: np.ndarray, u: np.ndarray, n: np.ndarray, a0: float, a1: float, s0: float, s1: float) -> Polygon:
    return Polygon([p + u * a0 + n * s0, p + u * a1 + n * s0, p + u * a1 + n * s1, p + u * a0 + n * s1])


def _edges(
    b: Building, rng: random.Random, counts: list[int]
) -> Iterator[tuple[np.ndarray, np.ndarray, np.ndarray, float]]:
    """Yield straight sides of rooms, one of so many counts of them, each as by `side_of`."""
    for _ in range(rng.choice(counts)):
        room = rng.choice(b.rooms)
        steps = np.diff(np.array(room.exterior.coords), axis=0)
        long = np.flatnonzero(np.hypot(steps[:, 0], steps[:, 1]) > 0.8)
        if len(long):
            yield side_of(room, rng.choice(long.tolist()))


def side_of(room: Polygon, i: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, float]:
    """Return a side of a room: its start, its direction, the direction into the room, its length."""
    p, q = np.array(room.exterior.coords)[i : i + 2]
    length = float(np.hypot(*(q - p)))
    u = (q - p) / length
    n = np.array([-u[1], u[0]])
    return p, u, n if room.contains(Point(p + u * length / 2 + n * 0.02)) else -n, length


def is_at_hole(shape: Polygon, b: Building, more: float) -> bool:
    return any(h.box(more=0.6 if h.kind == "door" else 0.1).buffer(more, join_style="mitre").intersects(shape)
               for h in b.holes)  # fmt: skip


def rebuilt(b: Building, area: object, *, walls: list[Wall] | None = None, holes: list[Hole] | None = None) -> Building:
    """Return the building with other walls: without the openings that they close; as it was where it falls apart."""
    if not isinstance(area, Polygon) or not area.is_valid:
        return b
    area = area.simplify(1e-4)
    rooms = [Polygon(r) for r in area.interiors]
    rooms = [r for r in rooms if r.area > _LEAST_ROOM and not r.buffer(-0.35).is_empty]
    if len(rooms) < 2:
        return b
    kept = [h for h in (b.holes if holes is None else holes) if _leads(h, area)]
    standing = shapely.union_all(rooms)
    names = [b.names[i] if i < len(b.names) else (NAMES[i % len(NAMES)], str(300 + i)) for i in range(len(rooms))]
    columns = [c for c in b.columns if standing.contains(c)]
    return replace(
        b, walls=b.walls if walls is None else walls, holes=kept, area=area, rooms=rooms, columns=columns, names=names
    )


def _leads(hole: Hole, area: Polygon) -> bool:
    """Tell whether an opening still goes through a wall from one free side to the other, between two jambs."""
    inside = hole.box(more=-0.004)
    if inside.difference(area).area > 1e-3 * inside.area:
        return False
    m, u, n = hole.frame()
    w, t = hole.width / 2, hole.wall.thickness / 2
    for side in (1, -1):
        beyond = _box(m, u, n * side, -w + 0.02, w - 0.02, t + 0.01, t + 0.06)
        if beyond.intersection(area).area > 0.02 * beyond.area:
            return False
    jambs = [_box(m, u * k, n, w + 0.01, w + 0.05, -0.8 * t, 0.8 * t) for k in (1, -1)]
    return all(j.intersection(area).area > 0.8 * j.area for j in jambs)
