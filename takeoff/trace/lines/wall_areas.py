"""The walls of a vector sheet as areas: filled poché, the space between outlined faces, or heavy single lines.

Words of this module: *material* is the area that walls and columns cover on the sheet; a *group* is what is drawn
alike (one layer, one pen or fill) and so may be the walls; a *strip* is a face between lines that is as narrow as a
wall. Layer names decide where they follow the national CAD standard, else the group whose material encloses most.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from shapely import Geometry, MultiPolygon, Polygon

from takeoff.model.drafting import Look
from takeoff.trace.drawing.layer_names import is_partial_height
from takeoff.trace.drawing.linework import Ints
from takeoff.trace.drawing.looks import looks_of
from takeoff.trace.drawing.polygons import as_wide, joined, lengths_inside, polygons_of
from takeoff.trace.lines.continuing_walls import PARTITION, PURE, are_held, beyond_walls, continuing, runs_of
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.wall_groups import (
    NAMES,
    Group,
    Style,
    filled_groups,
    ground_of,
    heavy_groups,
    is_edged,
    is_pure,
    lines_of,
    outlined_groups,
    without_border,
    without_frames,
    without_removed,
)
from takeoff.trace.lines.wall_material import (
    HEAVY,
    JOIN,
    NOTHING,
    TOUCH,
    filled_columns,
    layer_material,
    line_material,
    removed_layers,
)

_RIVAL, _FILLED = 0.7, 0.5
"""Shares of the most that a group encloses, of area or of names, from which it may be the walls; of area, one of fills
(measured on a conversion whose old walls are filled and enclose 0.55 of what the pen of its new walls does)."""
_HEAVIER = 0.25
"""The same of a heavier pen that draws little but walls, where the first draws much else: what is cut is drawn heaviest
(measured on a flat whose walls enclose 0.4 of what dimensions, furniture and stairs do)."""
_TWICE_SAID = 0.1
"""The same of a fill that a heavier pen goes round, as rooms may be open to one another over most of a floor (measured:
walls of two storeys that enclose 0.245 of what site, furniture and stairs do)."""
_OFTEN = 0.4
"""Share of the most names that a group encloses from which it may be the walls (measured on a house whose walls enclose
half of the names that boards, grids and furniture together do)."""
_LITTLE = 0.03
"""Share of the walls' area from which a pen's other lines speak against its building (measured: a pen that drew 0.8 %
of the walls of two storeys drew much else, and all 61 outlines were right)."""
_FILLS = 0.2
"""Share of a fill that lies in walls that were shown or named, from which it fills walls wherever it is (measured: new
walls of a conversion 0.25 to 0.7, the insulation before walls 0.02)."""
_MOST_DRAWN = 10.0
"""Times the outline of the walls: a pen that draws more draws more than partitions (held on nine real sheets)."""
MOST_SINGLE = 6_000
"""Pieces that pens draw at the most which may be walls of single lines (measured: walls and stairs up to 3,800; with
furniture and plants 13,700, a minute's work for nothing)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """The material of a sheet's walls in sheet points, and what it was read from.

    ``low`` is that of walls of partial height, where layers tell; it is not in ``material``. ``rows`` are the rows of
    the linework's pieces that drew it. ``buildings`` are the grounds that walls stand on, apart from one another;
    ``pens`` the walls of each pen that drew a good part of them, apart for each ground, with their purity: the share of
    the length of that pen there that lies on walls; the rest is something else. ``partitions`` are what other pens draw
    from wall to wall where a person or a layer tells the walls. ``removed`` are walls that are to be pulled down, by
    their yellow fill or their layer; they are not in ``material``. ``painted`` is what is painted over
    filled walls as openings.
    """

    material: MultiPolygon = NOTHING
    low: MultiPolygon = NOTHING
    style: Style = "outline"
    rows: Ints = field(default_factory=lambda: np.zeros(0, np.int64))
    buildings: tuple[Polygon, ...] = ()
    pens: tuple[tuple[Geometry, float], ...] = ()
    partitions: tuple[Polygon, ...] = ()
    removed: tuple[Polygon, ...] = ()
    painted: Geometry = NOTHING

    def looks(self, scene: Scene) -> tuple[Look, ...]:
        """Return how the walls are drawn: the looks of the lines and fills that drew them, the longest drawn first."""
        if not len(self.rows):
            return ()
        looks, number = looks_of(scene.linework)
        own = number[scene.pieces.path[self.rows]]
        lengths = np.hypot(*(scene.pieces.segments[self.rows, 2:] - scene.pieces.segments[self.rows, :2]).T)
        total = np.bincount(own, lengths, minlength=len(looks))
        return tuple(looks[i] for i in np.argsort(-total).tolist() if total[i] > 0)

    def purity_at(self, shape: Polygon) -> float:
        """Return the least purity of the walls that a shape lies within, grown over their faces; 1 where none has."""
        return min((purity for own, purity in self.pens if own.intersects(shape)), default=1.0)


def find_walls(scene: Scene) -> Walls:
    """Find the material of the walls."""
    said = _by_role(scene)
    if said is not None or scene.is_shown:
        return _gone_on(said, scene) if said else Walls()
    fills = filled_groups(scene)
    drawn = [*fills, *outlined_groups(scene, fills=fills), *heavy_groups(scene)]
    groups, removed = without_removed(without_frames(drawn, scene))
    heaviest = max((g.enclosed for g in groups if g.style == "heavy line"), default=0.0)
    others = [g for g in groups if g.style != "heavy line"]
    if any(g.enclosed >= 0.5 * heaviest or is_pure(g, scene, PURE) for g in others if g.pen >= scene.pt(HEAVY)):
        groups = others  # a heavy pen that draws the two faces of its walls is an outline
    every = groups
    groups = _around_names(groups, scene) or groups
    most = max((g.enclosed for g in groups), default=0.0)
    rivals = [g for g in groups if g.enclosed > (_FILLED if g.style == "poché" else _RIVAL) * most]
    if not rivals:
        return Walls()
    best = max(rivals, key=lambda g: (g.style == "poché", g.pen, g.enclosed))
    if best.style == "outline" and not is_pure(best, scene, PURE):
        heavier = [g for g in every if g.style == "outline" and g.pen > best.pen and g.enclosed > _HEAVIER * most]
        best = max((g for g in heavier if is_pure(g, scene, PURE)), key=lambda g: g.enclosed, default=best)
    if best.style == "outline":
        edged = [g for g in every if g.enclosed > _TWICE_SAID * most and is_edged(g, every, best.pen)]
        best = max(edged, key=lambda g: g.enclosed, default=best)
    joining = continuing([g for g in every if g is not best], best, scene)
    more = [part for _, parts in joining for part in parts]
    columns = filled_columns(scene, best.rows[: len(best.rows) if best.style == "poché" else 0])
    material = joined([best.material, *columns, *more], scene.pt(JOIN))
    chosen = [best, *(group for group, _ in joining)]
    buildings = polygons_of(ground_of(material, scene))
    return Walls(
        material=_parts(material),
        style=best.style,
        painted=best.filled.painted,
        rows=np.unique(np.concatenate([group.rows for group in chosen])),
        buildings=tuple(buildings),
        pens=_pens([(best, polygons_of(best.material)), *joining], material, buildings, scene),
        removed=tuple(polygons_of(shapely.difference(shapely.union_all([*removed, removed_layers(scene)]), material))),
    )


def find_lines(scene: Scene) -> Walls:
    """Find walls that are drawn as single lines: what is shown or named as walls, else by names that they part.

    What is cut is drawn heaviest: a pen is taken with all that are heavier.
    """
    width = scene.linework.width[scene.pieces.path]
    is_wall = np.isin(scene.roles, ("wall", "column"))[scene.pieces.path]
    middles = scene.labels
    pens = np.unique(np.round(width[scene.linework.stroked[scene.pieces.path]], 2)).tolist()
    heavier = [width > pen - 0.01 for pen in pens] if len(middles) >= NAMES else []
    heavier = [rows for rows in heavier if rows.sum() <= MOST_SINGLE]
    best, most = Walls(), 1
    for rows in [is_wall] if is_wall.any() else heavier:
        material, drawn = line_material(scene, rows)
        rooms = [Polygon(ring) for part in polygons_of(material) for ring in part.interiors]
        _, room = shapely.STRtree(rooms).query(middles, predicate="within")
        parted = len(np.unique(room)) if len(room) >= NAMES else 0
        if parted > most or is_wall.any():
            best = replace(best, material=_parts(material), style="line", rows=np.flatnonzero(drawn))
            most = parted
    return best


def _around_names(groups: Sequence[Group], scene: Scene) -> list[Group]:
    """Return the groups that enclose labels of rooms, not many fewer than the best does; of these the pure ones.

    Walls do; a frame, a table or a site does not, and what draws boards, grids and furniture in one pen is not pure. Of
    outlines those with most names are walls: trees may cover more ground.
    None are returned where so few names are enclosed that they tell nothing.
    """
    middles = scene.labels
    if len(middles) < NAMES or not groups:
        return []
    counts = [int(shapely.contains(g.ground, middles).sum()) for g in groups]
    if max(counts) < NAMES:
        return []
    often = [(g, count) for g, count in zip(groups, counts, strict=True) if count >= _OFTEN * max(counts)]
    pure = [(g, count) for g, count in often if is_pure(g, scene, PURE)]
    most = max((count for _, count in pure), default=0)
    told = [g for g, count in pure if g.style != "outline" or count > _RIVAL * most]
    return told or [g for g, _ in often]


def _pens(
    groups: Sequence[tuple[Group, list[Polygon]]], material: Geometry, buildings: Sequence[Polygon], scene: Scene
) -> tuple[tuple[Geometry, float], ...]:
    """Return the walls of each pen on each ground that walls stand on, with their purity."""
    around = shapely.buffer(material, scene.pt(0.02))
    grounds = shapely.convex_hull(buildings)
    tree = shapely.STRtree(grounds)
    pens: list[tuple[Geometry, float]] = []
    for group, parts in groups:
        own = shapely.union_all(parts)
        if group.style != "outline" or own.area < _LITTLE * material.area:
            continue
        lines = lines_of(group, scene)
        line, ground = tree.query(lines, predicate="intersects")
        total = np.bincount(ground, shapely.length(lines)[line], minlength=len(grounds))
        on_walls = np.bincount(ground, lengths_inside(lines, around)[line], minlength=len(grounds))
        purity = np.where(total > 0, on_walls / np.maximum(total, 1e-9), 1.0)
        pens += zip(shapely.intersection(own, grounds), purity.tolist(), strict=True)
    return tuple(pens)


def _parts(shape: Geometry) -> MultiPolygon:
    return MultiPolygon(polygons_of(shape))


def _by_role(scene: Scene) -> Walls | None:
    """Read the walls from what a drafting style or the names of layers say is one."""
    is_wall = np.isin(scene.roles, ("wall", "column"))
    if not is_wall.any():
        return None
    is_fill = np.isin(scene.roles, ("wall", "column", "pattern"))
    is_low = np.array([is_partial_height(name) for name in scene.linework.layers])[scene.linework.layer]
    low, _ = layer_material(scene, is_wall & is_low, is_fill & is_low)
    rows = is_wall[scene.pieces.path]
    whole, painted = layer_material(scene, is_wall & ~is_low, is_fill & ~is_low)
    high = without_border(whole, scene)
    if high.is_empty:
        return None
    style: Style = "shown" if scene.is_shown else "layer"
    return Walls(material=_parts(high), low=_parts(low), style=style, rows=np.flatnonzero(rows), painted=painted)


def _gone_on(said: Walls, scene: Scene) -> Walls:
    """Add to walls that are shown or named the partitions that other pens draw: most begin and end at such walls."""
    outlined = outlined_groups(scene, most=_MOST_DRAWN * said.material.length)
    free = [*filled_groups(scene), *outlined]
    removed = [g.material for g in free if g.is_removed]
    free = [g for g in free if not g.is_removed]
    main = Group(
        style=said.style, material=said.material, rows=said.rows, ground=said.material, pen=0.0, hatch=said.rows[:0]
    )
    near = shapely.buffer(said.material, scene.pt(TOUCH))
    shapely.prepare(near)
    partitions: list[Polygon] = []
    rows = [said.rows]
    for group, parts in beyond_walls(free, main, scene):
        runs = [run for run in runs_of(parts, near, scene) if not as_wide([run[0]], scene.pt(PARTITION)).any()]
        fills = group.style == "poché" and group.material.intersection(near).area > _FILLS * group.material.area
        if fills or are_held(runs):
            partitions += [run for run, count in runs if count]
            rows.append(group.rows)
    whole = _parts(joined([said.material, *partitions], scene.pt(JOIN)))
    gone = shapely.difference(shapely.union_all([*removed, removed_layers(scene)]), whole)
    return replace(
        said,
        material=whole,
        partitions=tuple(partitions),
        rows=np.unique(np.concatenate(rows)),
        removed=tuple(polygons_of(gone)),
    )
