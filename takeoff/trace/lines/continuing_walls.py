"""What else on a sheet is walls: ways of drawing that go on where the walls end, from wall to wall.

Furniture only stands against one wall, glass between two ends of one, and the rest of a hatch looks like walls.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.trace.drawing.polygons import as_wide, edges_of, joined, polygons_of
from takeoff.trace.lines.gaps import find_gaps, jambs_of
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.wall_groups import Group, is_pure
from takeoff.trace.lines.wall_material import JOIN, THICK, THIN, TOUCH, wall_like

_GLASS, _BESIDE = 0.7, 0.05
"""Share of what another pen draws that lies between two ends of walls, or so many metres beside, from which it is glass
(measured: the frames of windows stand out up to 50 mm)."""
_DARK = 0.4
_MUCH, _FEW = 3.0, 0.3
"""Area of a group over that of the main walls: up to the first it may go on where they end, floor boards have more
(measured: 4 times; partitions beside filled walls up to 2.4); up to the second it may draw much else."""
PARTITION = 0.25
"""Metres that a partition is thick at the most which is drawn otherwise than the walls (common practice, no source)."""
_HELD = 0.3
"""Share of the length of what ends on walls that does so at both ends, from which a pen draws partitions: their doors
break some (judgement)."""
_LONG = 1.5
"""Metres that a partition is long at the least which ends on one wall, and no shelf or back of a seat (judgement)."""
_ALONG = 0.5
"""Share of the line from place to place that lies along walls where a thing stands against but one (judgement)."""
PURE, _JOINS = 0.6, 0.4
"""Shares of what a group draws that lies on its walls: from the first it is taken before groups that draw more of other
things, and may go on where the main walls end though it covers more beside them than they do; from the second where
it covers less (measured: boards, grids and furniture in one pen 0.3 to 0.5; walls of one pen with furniture and stray
lines 0.5; other walls 0.7 and more)."""


def continuing(groups: Sequence[Group], main: Group, scene: Scene) -> list[tuple[Group, list[Polygon]]]:
    """Return the other groups that go on where the main one ends, with their walls: a good part butts on its faces."""
    near = shapely.buffer(main.material, scene.pt(TOUCH))
    shapely.prepare(near)
    edges, following = edges_of(main.material)
    caps = edges[jambs_of(edges, following, scene.pt(THIN), scene.pt(THICK))]
    ends = shapely.union_all(shapely.linestrings(caps.reshape(-1, 2, 2)))
    joining: list[tuple[Group, list[Polygon]]] = []
    for group, walls in beyond_walls(groups, main, scene):
        lengths = np.array([part.length / 2 for part in walls])
        touches = shapely.intersects(near, np.array(walls, object)).tolist()
        glass = Polygon() if group.style == "poché" and group.darkness > _DARK else ends
        butts = np.array([_butts(part, near, glass, scene) if t else 0 for part, t in zip(walls, touches, strict=True)])
        total = float(lengths.sum())
        goes_on = lengths[butts > 0].sum() > max(0.2 * total, 3.0 * lengths[butts < 0].sum())
        is_thinner = group.style == "outline" and (main.style == "poché" or group.pen < main.pen)
        if (
            total > scene.pt(1.0)
            and goes_on
            and (not is_thinner or are_held(_with_long(runs_of(walls, near, scene), scene)))
        ):
            joining.append((group, walls))
    return joining


def runs_of(parts: Sequence[Polygon], near: Geometry, scene: Scene) -> list[tuple[Polygon, int]]:
    """Return what parts that stand together cover, each with the number of places at which it meets the walls."""
    runs = polygons_of(joined(parts, scene.pt(TOUCH)))
    return [(run, _places(run, near)) for run in runs]


def _with_long(runs: Sequence[tuple[Polygon, int]], scene: Scene) -> list[tuple[Polygon, int]]:
    """Count what is thin and long as held at two places: a partition that ends beside a door; furniture is thicker."""
    is_thin = ~as_wide([run for run, _ in runs], scene.pt(PARTITION))
    return [
        (run, 2 if count and thin and not run.interiors and run.length > 2 * scene.pt(_LONG) else count)
        for (run, count), thin in zip(runs, is_thin.tolist(), strict=True)
    ]


def _places(run: Polygon, near: Geometry) -> int:
    """Count the places at which something meets the walls, those along one wall as one."""
    met = polygons_of(shapely.intersection(run, near))
    hull = shapely.convex_hull(shapely.MultiPoint([place.centroid for place in met]))
    between = hull if hull.geom_type == "LineString" else shapely.boundary(hull)
    is_one = len(met) > 1 and float(between.intersection(near).length) > _ALONG * between.length
    return 1 if is_one else len(met)


def are_held(runs: Sequence[tuple[Polygon, int]]) -> bool:
    """Tell whether enough of what ends on walls does so at two places: furniture only stands against one."""
    held = sum(run.length for run, count in runs if count > 1)
    return bool(held > _HELD * sum(run.length for run, count in runs if count))


def beyond_walls(groups: Sequence[Group], main: Group, scene: Scene) -> Iterator[tuple[Group, list[Polygon]]]:
    """Yield the groups that may go on where the main one ends, each with its walls beside that.

    What stands between two wall ends, narrower than they are, is the glass of a window; what is filled dark is none.
    """
    between = [g.band for g in find_gaps(main.material, scene.m_per_pt, thin=THIN, thick=THICK) if g.is_capped]
    bands = shapely.buffer(shapely.union_all(between), scene.pt(_BESIDE))
    around = shapely.buffer(main.material, scene.pt(JOIN / 3), join_style="mitre")
    hull = shapely.convex_hull(main.material)
    shapely.prepare(hull)
    for group in groups:
        hatch = shapely.linestrings(scene.pieces.segments[group.hatch].reshape(-1, 2, 2))
        if int(shapely.intersects(hull, hatch).sum()) > 5:
            continue  # the rest of a hatch looks like walls
        share = group.material.area / main.material.area
        rest = polygons_of(shapely.difference(group.material, around))
        beyond = sum(part.area for part in rest) / main.material.area
        is_checked = share > _FEW or group.style == "poché"
        if share > _MUCH or (is_checked and not is_pure(group, scene, PURE if beyond > 1.0 else _JOINS)):
            continue
        walls = wall_like(rest, scene)
        if group.style != "poché" or group.darkness <= _DARK:
            walls = [part for part in walls if shapely.intersection(part, bands).area < _GLASS * part.area]
        if walls:
            yield group, walls


def _butts(part: Polygon, near: Geometry, ends: Geometry, scene: Scene) -> int:
    """Tell whether a wall ends on others (1), on ends that glass may stand on (−1) or on nothing (0)."""
    edges, following = edges_of(part)
    caps = edges[jambs_of(edges, following, scene.pt(THIN), scene.pt(THICK))]
    middles = shapely.points((caps[:, :2] + caps[:, 2:]) / 2)
    touches = shapely.intersects(middles, near)
    on_ends = touches & shapely.dwithin(middles, ends, scene.pt(TOUCH))
    return int(np.sign(int(touches.sum()) - 2 * int(on_ends.sum())))
