"""How the buildings to train on are laid out: outlines with corners left out, rows of small rooms, wide ways.

Each function returns a building with more of one thing, or the same one where there is no place for it. Lengths are
metres in the building frame.
"""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise

import shapely
from shapely import LineString, Polygon

from tests.trace.plans import Building, Hole, Wall
from tests.training.alterations import is_at_hole, rebuilt, side_of, strip_of, with_more


def laid_out(b: Building, rng: random.Random) -> Building:
    """Lay a building out anew in some of these ways."""
    if rng.random() < 0.35:
        b = with_corners_left_out(b, rng)
    for _ in range(rng.choice([0, 1, 2, 3, 5])):
        b = with_small_rooms(b, rng)
    return with_wide_ways(b, rng) if rng.random() < 0.15 else b


def with_corners_left_out(b: Building, rng: random.Random) -> Building:
    """Leave out one to three rooms at the outside: outlines like L, U and T; what becomes outer wall has windows."""
    outside = Polygon(b.area.exterior).exterior
    edge = [r for r in b.rooms if r.distance(outside) < 0.75]
    gone = rng.sample(edge, k=min(len(edge), rng.randint(1, 3)))
    kept = [r for r in b.rooms if not any(r is g for g in gone)]
    if len(kept) < 2:
        return b
    walls: dict[int, Wall] = {}
    turned = []
    for wall in b.walls:
        near = wall.line.buffer(wall.thickness / 2 + 0.05, cap_style="flat")
        beside = sum(near.intersection(r.exterior).length > 0.3 for r in kept)
        if beside:
            walls[id(wall)] = replace(wall, is_outer=wall.is_outer or beside == 1)
            if beside == 1 and not wall.is_outer:
                turned.append(walls[id(wall)])
    strips = [strip_of(w) for w in walls.values()]
    lumps = shapely.get_parts(shapely.difference(b.area, shapely.union_all([strip_of(w) for w in b.walls]))).tolist()
    rooms = shapely.union_all(kept).buffer(0.01)
    area = shapely.union_all([*strips, *(p for p in lumps if p.intersects(rooms))]).buffer(1e-5)
    holes = [replace(h, wall=walls[id(h.wall)]) for h in b.holes if id(h.wall) in walls]
    chosen = [w for w in turned if rng.random() < 0.5]
    return rebuilt(b, area, walls=list(walls.values()), holes=with_more(holes, chosen, "window", rng))


def with_small_rooms(b: Building, rng: random.Random) -> Building:
    """Part a strip off a room and cut it into closets, lavatories and shafts, most of them with a door."""
    for room in rng.sample(b.rooms, k=min(4, len(b.rooms))):
        if room.area < 0.97 * room.minimum_rotated_rectangle.area or room.area < 9:
            continue
        p, u, n, length = side_of(room, rng.randrange(len(room.exterior.coords) - 1))
        t, deep = rng.choice([0.06, 0.08, 0.1, 0.1, 0.12, 0.15]), rng.uniform(0.55, 2.4)
        wide = length if rng.random() < 0.5 else rng.uniform(0.5, 0.9) * length
        if room.area / length < deep + 1.6 or wide < 1.2:
            continue

        def at(along: float, out: float, p=p, u=u, n=n) -> tuple[float, float]:
            return tuple((p + u * along + n * out).tolist())

        cuts = [0.0]
        while cuts[-1] < wide - 1.6:
            cuts.append(cuts[-1] + rng.uniform(0.8, min(2.6, wide - cuts[-1] - 0.7)))
        cuts.append(wide)
        front = Wall(line=LineString([at(-0.03, deep), at(wide + 0.03, deep)]), thickness=t, is_outer=False)
        crossing = cuts[1:-1] if wide == length else cuts[1:]
        lines = [LineString([at(a, -0.03), at(a, deep + (t / 2 if a == wide else 0.0))]) for a in crossing]
        sides = [Wall(line=line, thickness=t, is_outer=False) for line in lines]
        made = [w.line.buffer(t / 2, cap_style="flat") for w in (front, *sides)]
        if any(is_at_hole(s, b, 0.05) for s in made):
            continue
        doors = []
        for a, c in pairwise(cuts):
            most = c - a - t - 0.16
            if most < 0.5 or rng.random() < 0.15:
                continue
            door = min(most, rng.choice([0.6, 0.7, 0.8, 0.9, 1.2]))
            form = rng.choice(["swing", "swing", "swing", "sliding", "cased", "double"])
            middle = rng.uniform(a + t / 2 + 0.07 + door / 2, c - t / 2 - 0.07 - door / 2)
            door_of = Hole(wall=front, at=middle + 0.03, width=door, kind="door", form=form)
            doors.append(replace(door_of, hand=rng.choice([-1, 1]), side=rng.choice([-1, 1])))
        area = shapely.union_all([b.area, *made])
        new = rebuilt(b, area, walls=[*b.walls, front, *sides], holes=[*b.holes, *doors])
        if new is not b:
            return new
    return b


def with_wide_ways(b: Building, rng: random.Random) -> Building:
    """Open inner walls that have no opening almost from end to end, as rooms that run into one another are."""
    holes = list(b.holes)
    for wall in b.walls:
        if wall.is_outer or wall.line.length < 1.6 or any(h.wall is wall for h in holes) or rng.random() < 0.6:
            continue
        low, high = (rng.uniform(0.15, 0.6) for _ in range(2))
        wide = wall.line.length - low - high
        if 0.8 < wide < 5.0:
            side = rng.choice([-1, 1])
            holes.append(Hole(wall=wall, at=low + wide / 2, width=wide, kind="door", form="cased", side=side))
    return rebuilt(b, b.area, holes=holes)
