"""The walls of a vector sheet as areas: filled poché, the space between outlined faces, or heavy single lines.

Words of this module: *material* is the area that walls and columns cover on the sheet; a *group* is what is drawn
alike (one layer, one pen or fill) and so may be the walls; a *strip* is a face between lines that is as narrow as a
wall. Layer names decide where they follow the national CAD standard, else the group whose material encloses most.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from shapely import Geometry, MultiPolygon, Polygon

from takeoff.model.drafting import Look
from takeoff.trace.drawing.layer_names import is_partial_height
from takeoff.trace.drawing.linework import Flags, Floats, Ints
from takeoff.trace.drawing.looks import looks_of
from takeoff.trace.drawing.polygons import (
    Lines,
    as_wide,
    edges_of,
    even_odd,
    joined,
    lengths_inside,
    mean_width,
    polygons_of,
    width_of,
)
from takeoff.trace.lines.gaps import jambs_of
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.strips import capped, drawn_caps, strips_between, without_bits

Style = Literal["shown", "layer", "poché", "outline", "heavy line"]

THIN, THICK = 0.055, 0.65
"""Metres; the walls that are looked for (common practice, no source)."""
_JOIN = 0.012
_WHITE = 0.94
_HEAVY = 0.05
_REACH = 1.6
_CORNER, _CORNER_PT = 0.004, 0.2
"""Metres, and points of paper where that is more, by which corners of outlines may miss (measured: plotted files round
to 0.12 pt)."""
_COUNTER = 0.45
_TOUCH = 0.03
_SHORT = 0.15
_DARK = 0.4
_TITLE_PT = 2.0
"""Points that the frame of a title block is drawn wide at the most (common practice, no source)."""
_RIVAL = 0.7
"""Share of the most that a group encloses from which it may be the walls."""
_OFTEN = 0.4
"""Share of the most names that a group encloses from which it may be the walls (measured on a house whose walls enclose
half of the names that boards, grids and furniture together do)."""
_LITTLE = 0.03
"""Share of the walls' area from which a pen's other lines speak against its building (measured: a pen that drew 0.8 %
of the walls of two storeys drew much else, and all 61 outlines were right)."""
_MUCH, _FEW = 3.0, 0.3
"""Area of a group over that of the main walls: up to the first it may go on where they end, floor boards have more
(measured: 4 times; partitions beside filled walls up to 2.4); up to the second it may draw much else."""
_PURE, _JOINS = 0.6, 0.4
"""Shares of what a group draws that lies on its walls: from the first it is taken before groups that draw more of other
things, from the second it may go on where the main walls end (measured: boards, grids and furniture in one pen 0.3 to
0.5; walls of one pen with furniture and stray lines 0.5; other walls 0.7 and more)."""
_NAMES = 3
"""Names in what a group encloses from which they tell which group is the walls (judgement)."""
_GROUND, _HIDES = 0.5, 0.2
"""Shares of a white shape's edge: where walls' lines of the first go round it later it is their ground; where it hides
less of them than the second it covers no wall (measured on a house whose walls stand on white grounds)."""
_NOTHING = MultiPolygon()


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """The material of a sheet's walls in sheet points, and what it was read from.

    ``low`` is that of walls of partial height, where layers tell; it is not in ``material``. ``rows`` are the rows of
    the linework's pieces that drew it. ``buildings`` are the grounds that walls stand on, apart from one another, each
    with its purity: the share of the length of those rows there that lies on walls, the least where several pens drew a
    good part of the walls; the rest is something else in the same pen.
    """

    material: MultiPolygon
    low: MultiPolygon
    style: Style
    rows: Ints
    buildings: tuple[tuple[Polygon, float], ...] = ()

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
        """Return the purity of the building that a shape lies in; 1 where there is none."""
        return min((purity for ground, purity in self.buildings if ground.intersects(shape)), default=1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Group:
    """A way of drawing that may be the walls.

    ``ground`` is what its material covers once gaps are closed and what it surrounds is filled; ``hatch`` are the rows
    of hatches that are drawn in the same way. ``darkness`` is that of its fill, 1 being black.
    """

    style: Style
    material: Geometry
    rows: Ints
    ground: Geometry
    pen: float
    hatch: Ints
    darkness: float = 0.0

    @property
    def enclosed(self) -> float:
        """The area of the ground, by which groups are weighed."""
        return float(self.ground.area)


def find_walls(scene: Scene) -> Walls:
    """Find the material of the walls."""
    named = _by_role(scene)
    if named is not None or scene.is_shown:
        return named or _no_walls()
    heavy = _heavy_lines(scene, np.ones(len(scene.pieces.segments), bool))
    drawn = [*_filled_groups(scene), *_outlined_groups(scene), *([heavy] if heavy is not None else [])]
    groups = _without_title(_without_frames(drawn, scene), scene)
    heaviest = max((g.enclosed for g in groups if g.style == "heavy line"), default=0.0)
    others = [g for g in groups if g.style != "heavy line"]
    if any(g.enclosed >= 0.5 * heaviest for g in others if g.pen >= scene.pt(_HEAVY)):
        groups = others  # a heavy pen that draws the two faces of its walls is an outline
    every = groups
    groups = _around_names(groups, scene) or groups
    most = max((g.enclosed for g in groups), default=0.0)
    rivals = [g for g in groups if g.enclosed > _RIVAL * most]
    if not rivals:
        return _no_walls()
    best = max(rivals, key=lambda g: (g.style == "poché", g.pen, g.enclosed))
    joining = _continuing([g for g in every if g is not best], best, scene)
    more = [part for _, parts in joining for part in parts]
    material = joined([best.material, *_filled_columns(scene, best), *more], scene.pt(_JOIN))
    chosen = [best, *(group for group, _ in joining)]
    return Walls(
        material=_parts(material),
        low=_NOTHING,
        style=best.style,
        rows=np.unique(np.concatenate([group.rows for group in chosen])),
        buildings=_buildings(chosen, material, scene),
    )


def _around_names(groups: Sequence[_Group], scene: Scene) -> list[_Group]:
    """Return the groups that enclose names of rooms, not many fewer than the best does; of these the pure ones.

    Walls do; a frame, a table or a site does not, and what draws boards, grids and furniture in one pen is not pure.
    None are returned where so few names are enclosed that they tell nothing.
    """
    boxes = [shapely.box(*line.box_pt) for line in scene.names]
    middles = shapely.centroid([box for box in boxes if not shapely.intersects(scene.title, box)])
    if len(middles) < _NAMES or not groups:
        return []
    counts = [int(shapely.contains(g.ground, middles).sum()) for g in groups]
    if max(counts) < _NAMES:
        return []
    often = [g for g, count in zip(groups, counts, strict=True) if count >= _OFTEN * max(counts)]
    return [g for g in often if _is_pure(g, scene, _PURE)] or often


def _without_title(groups: Sequence[_Group], scene: Scene) -> list[_Group]:
    """Leave out what lies in the strip of a title block."""
    if scene.title.is_empty:
        return list(groups)
    strip = shapely.buffer(scene.title, _TITLE_PT, join_style="mitre")
    left: list[_Group] = []
    for group in groups:
        if shapely.intersects(strip, group.material):
            rest = shapely.union_all(polygons_of(shapely.difference(group.material, strip)))
            group = replace(group, material=rest, ground=ground_of(rest, scene))
        left.append(group)
    return [group for group in left if not group.material.is_empty]


def _buildings(groups: Sequence[_Group], material: Geometry, scene: Scene) -> tuple[tuple[Polygon, float], ...]:
    """Return the grounds that the walls found stand on, each with its purity."""
    grounds = polygons_of(ground_of(material, scene))
    purity = np.ones(len(grounds))
    around = shapely.buffer(material, scene.pt(0.02))
    tree = shapely.STRtree(shapely.convex_hull(np.array(grounds, object)))
    for group in groups:
        if group.style != "outline" or group.material.area < _LITTLE * material.area:
            continue
        lines = _lines_of(group, scene)
        line, ground = tree.query(lines, predicate="intersects")
        total = np.bincount(ground, shapely.length(lines)[line], minlength=len(grounds))
        on_walls = np.bincount(ground, lengths_inside(lines, around)[line], minlength=len(grounds))
        purity = np.minimum(purity, np.where(total > 0, on_walls / np.maximum(total, 1e-9), 1.0))
    return tuple(zip(grounds, purity.tolist(), strict=True))


def _lines_of(group: _Group, scene: Scene) -> Lines:
    """Return the lines that a group draws, those of hatches, notes and symbols left out."""
    rows = group.rows[~scene.is_hatch[group.rows] & ~scene.is_note[group.rows] & ~scene.is_symbol[group.rows]]
    lines: Lines = shapely.linestrings(scene.pieces.segments[rows].reshape(-1, 2, 2))
    return lines


def _is_pure(group: _Group, scene: Scene, least: float) -> bool:
    """Tell whether a share of what a group draws is its walls."""
    if group.style != "outline":
        return True
    lines = _lines_of(group, scene)
    on_walls = lengths_inside(lines, shapely.buffer(group.material, scene.pt(0.02))).sum()
    return bool(on_walls >= least * shapely.length(lines).sum())


def _parts(shape: Geometry) -> MultiPolygon:
    return MultiPolygon(polygons_of(shape))


def _no_walls() -> Walls:
    return Walls(material=_NOTHING, low=_NOTHING, style="outline", rows=np.zeros(0, np.int64))


def _by_role(scene: Scene) -> Walls | None:
    """Read the walls from what a drafting style or the names of layers say is one."""
    is_wall = np.isin(scene.roles, ("wall", "column"))
    if not is_wall.any():
        return None
    is_fill = np.isin(scene.roles, ("wall", "column", "pattern"))
    is_low = np.array([is_partial_height(name) for name in scene.linework.layers])[scene.linework.layer]
    low = _layer_material(scene, is_wall & is_low, is_fill & is_low)
    rows = is_wall[scene.pieces.path]
    high = _layer_material(scene, is_wall & ~is_low, is_fill & ~is_low)
    if high.is_empty:
        return None
    style: Style = "shown" if scene.is_shown else "layer"
    return Walls(material=_parts(high), low=_parts(low), style=style, rows=np.flatnonzero(rows))


def _layer_material(scene: Scene, is_wall: Flags, is_fill: Flags) -> Geometry:
    """Unite what the chosen paths draw as walls: fills, strips between lines, and failing both heavy lines."""
    rows = (is_wall & ~scene.linework.dashed)[scene.pieces.path]
    filled = _fill_material(scene, is_fill & _dark(scene))
    parts = [filled] if not filled.is_empty else []
    outlined = _outline_material(scene, rows & ~scene.is_hatch & ~scene.is_symbol, words=())
    if not outlined.is_empty:
        parts.append(outlined)
    if not parts:
        heavy = _heavy_lines(scene, rows)
        parts = [heavy.material] if heavy is not None else []
    return _without_white(scene, joined(parts, scene.pt(_JOIN)), is_wall | is_fill) if parts else Polygon()


def _dark(scene: Scene) -> Flags:
    """Tell the paths that are filled with anything but white."""
    flags: Flags = scene.linework.filled & (scene.linework.fill.min(1) < _WHITE)
    return flags


def _fill_material(scene: Scene, paths: Flags) -> Geometry:
    """Unite the filled shapes of some paths; what is too wide for a wall falls away."""
    work = scene.linework
    rings: dict[int, list[Floats]] = {}
    for index in np.flatnonzero(paths[work.ring_path] if len(work.ring_path) else np.zeros(0, bool)):
        rings.setdefault(int(work.ring_path[index]), []).append(work.ring(int(index)))
    shapes = [even_odd(r) for r in rings.values()]
    if not shapes:
        return Polygon()
    material = joined(shapes, scene.pt(_JOIN))
    return shapely.union_all(wall_like(polygons_of(material), scene))


def wall_like(shapes: Sequence[Polygon], scene: Scene) -> list[Polygon]:
    """Return the polygons that may be walls or columns by their width: thin throughout, or on average and long."""
    thin, thick = 0.9 * scene.pt(THIN), scene.pt(THICK)
    polygons = np.array(shapes, object)
    polygons = polygons[shapely.area(polygons) >= scene.pt(0.05) ** 2]
    polygons = polygons[as_wide(polygons.tolist(), thin)]
    kept = ~as_wide(polygons.tolist(), thick)
    for i in np.flatnonzero(~kept).tolist():
        shape = polygons[i]
        if mean_width(shape) <= 0.75 * thick and shape.length > 10 * thick:
            kept[i] = shape.length > 10 * width_of(shape, 2.5 * thick)
    return list(polygons[kept])


def _without_white(scene: Scene, material: Geometry, paths: Flags) -> Geometry:
    """Cut out what white shapes cover that were painted over the walls, such as the boxes of doors and windows.

    A white shape that hides nothing drawn before it, or beneath lines of walls that go round it, is the ground of a
    wall or of a layer in it, and cuts nothing.

    Parameters
    ----------
    scene
        The sheet's linework.
    material
        The area of the walls.
    paths
        The paths that drew it.
    """
    work = scene.linework
    white = work.filled & (work.fill.min(1) >= _WHITE)
    if not white.any() or material.is_empty:
        return material
    covers: list[tuple[int, Geometry]] = []
    words = shapely.STRtree(scene.words)
    shapely.prepare(material)
    for index in np.flatnonzero(white[work.ring_path]).tolist():
        ring = work.ring(index)
        if not shapely.intersects(material, shapely.box(*ring.min(0), *ring.max(0))):
            continue
        shape = even_odd([ring])
        over = shapely.intersection(shape, material)
        if over.area > 0.5 * shape.area and not len(words.query(shape, predicate="intersects")):
            covers.append((int(work.ring_path[index]), shape))
    if not covers:
        return material
    rows = np.flatnonzero(paths[scene.pieces.path])
    lines = shapely.linestrings(scene.pieces.segments[rows].reshape(-1, 2, 2))
    tree = shapely.STRtree(lines)
    kept: list[Geometry] = []
    for path, shape in covers:
        around = shapely.buffer(shape, scene.pt(_TOUCH), join_style="mitre")
        edge = shapely.difference(around, shapely.buffer(shape, -scene.pt(_TOUCH), join_style="mitre"))
        near = tree.query(around, predicate="intersects")
        is_later = scene.pieces.path[rows[near]] > path
        later = shapely.length(shapely.intersection(lines[near[is_later]], edge)).sum()
        hidden = shapely.length(shapely.intersection(lines[near[~is_later]], around)).sum()
        if later < _GROUND * shape.length and hidden > _HIDES * shape.length:
            kept.append(shape)
    return shapely.difference(material, shapely.union_all(kept)) if kept else material


def _outline_material(scene: Scene, rows: Flags, *, words: Sequence[Polygon]) -> Geometry:
    """Unite the faces between lines that are as narrow as walls and no cells with words."""
    reach = max(scene.pt(_CORNER), _CORNER_PT)
    own, thin, thick = scene.pieces.segments[rows], scene.pt(THIN), scene.pt(THICK)
    apart = ~rows & scene.pieces.is_whole & ~scene.is_note & ~scene.is_hatch & ~scene.is_symbol
    caps = drawn_caps(own, scene.pieces.segments[apart], thin=thin, thick=thick, reach=reach)
    is_chord = np.concatenate([~scene.pieces.is_whole[rows], np.ones(len(caps), bool)])
    lines = without_bits(np.concatenate([own, caps]), is_chord, short=scene.pt(_SHORT), reach=scene.pt(0.01))
    segments = capped(lines, thin=thin, thick=thick, reach=reach)
    strips = strips_between(segments, reach=reach, words=words)
    kept = _without_counters(wall_like(strips, scene), scene)
    return joined(kept, scene.pt(_JOIN)) if kept else Polygon()


def _without_counters(strips: Sequence[Polygon], scene: Scene) -> list[Polygon]:
    """Leave out strips as deep as a counter that stand with their long side against a thinner one: the wall."""
    is_deep = as_wide(strips, scene.pt(_COUNTER))
    thin = [strip for strip, deep in zip(strips, is_deep, strict=True) if not deep]
    if not is_deep.any() or not thin:
        return list(strips)
    tree = shapely.STRtree(thin)
    kept = []
    for strip, deep in zip(strips, is_deep, strict=True):
        beside = [thin[i].boundary for i in tree.query(strip, predicate="intersects")] if deep else []
        shared = shapely.length(shapely.intersection(beside, strip.exterior)).max() if beside else 0.0
        box = shapely.minimum_rotated_rectangle(strip)
        sides = np.hypot(*np.diff(shapely.get_coordinates(box)[:3], axis=0).T)
        is_oblong = strip.area > 0.95 * box.area and sides.max() > 1.6 * sides.min()
        if not is_oblong or shared < 0.8 * sides.max():
            kept.append(strip)
    return kept


def _filled_groups(scene: Scene) -> list[_Group]:
    work = scene.linework
    keys: dict[tuple[float, ...], list[int]] = {}
    for path in np.flatnonzero(_dark(scene)):
        colour = tuple(np.round(work.fill[path], 2).tolist())
        keys.setdefault((float(work.layer[path]), *colour), []).append(int(path))
    groups: list[_Group] = []
    for members in keys.values():
        paths = np.zeros(work.path_count, bool)
        paths[members] = True
        material = _without_white(scene, _fill_material(scene, paths), paths)
        if not material.is_empty:
            group = _group("poché", material, np.flatnonzero(paths[scene.pieces.path]), scene)
            groups.append(replace(group, darkness=1.0 - float(work.fill[members[0]].mean())))
    return groups


def _outlined_groups(scene: Scene) -> list[_Group]:
    work, pieces = scene.linework, scene.pieces
    usable = work.stroked & ~work.dashed
    allowed = usable[pieces.path] & ~scene.is_hatch & ~scene.is_symbol
    style = np.column_stack([work.layer, np.round(work.width, 2), np.round(work.colour, 2)])
    kinds, number = np.unique(style, axis=0, return_inverse=True)
    groups: list[_Group] = []
    for kind in range(len(kinds)):
        rows = allowed & (number.ravel()[pieces.path] == kind)
        d = pieces.segments[rows, 2:] - pieces.segments[rows, :2]
        lengths = np.hypot(d[:, 0], d[:, 1])
        if lengths[lengths > scene.pt(_SHORT)].sum() < scene.pt(8.0):
            continue
        material = _outline_material(scene, rows, words=scene.words)
        if not material.is_empty:
            hatch = np.flatnonzero(scene.is_hatch & (number.ravel()[pieces.path] == kind))
            groups.append(_group("outline", material, np.flatnonzero(rows), scene, hatch=hatch))
    return groups


def _filled_columns(scene: Scene, main: _Group) -> list[Polygon]:
    """Return filled squares and rounds as large as columns, as dark as the walls' own fill where they have one."""
    work = scene.linework
    lightest = 0.75
    if main.style == "poché":
        own = work.fill[np.unique(scene.pieces.path[main.rows])]
        lightest = float(own.mean(1).max()) + 0.05
    found: list[Polygon] = []
    for index in np.flatnonzero((work.filled & (work.fill.mean(1) <= min(lightest, 0.9)))[work.ring_path]):
        shape = Polygon(work.ring(int(index)))
        if not shape.is_valid or not scene.pt(0.15) ** 2 < shape.area < scene.pt(1.3) ** 2:
            continue
        box, circle = shapely.minimum_rotated_rectangle(shape), shapely.minimum_bounding_circle(shape)
        sides = np.hypot(*np.diff(shapely.get_coordinates(box)[:3], axis=0).T)
        if sides.min() > 0.4 * sides.max() and (shape.area > 0.97 * box.area or shape.area > 0.93 * circle.area):
            found.append(shape)
    return found


def _heavy_lines(scene: Scene, rows: Flags) -> _Group | None:
    """Read the widest pens as walls, each as wide as its pen; nothing where no pen is as wide as a wall."""
    work, pieces = scene.linework, scene.pieces
    width = work.width[pieces.path]
    usable = (work.stroked & ~work.dashed)[pieces.path] & rows & ~scene.is_hatch & ~scene.is_symbol
    usable &= (width >= scene.pt(_HEAVY)) & (width <= scene.pt(THICK))
    strokes: list[Geometry] = []
    for pen in np.unique(np.round(width[usable], 2)):
        chosen = usable & (np.abs(width - pen) < 0.01)
        lines = shapely.union_all(shapely.linestrings(pieces.segments[chosen].reshape(-1, 2, 2)))
        for line in shapely.get_parts(shapely.line_merge(lines)):
            strokes.append(shapely.buffer(line, pen / 2, cap_style="flat", join_style="mitre"))
    return _group("heavy line", joined(strokes, scene.pt(_JOIN)), np.flatnonzero(usable), scene) if strokes else None


def _group(style: Style, material: Geometry, rows: Ints, scene: Scene, *, hatch: Ints | None = None) -> _Group:
    """Make a group of what may be walls; a frame round the whole sheet is none."""
    kept = [p for p in polygons_of(material) if Polygon(p.exterior).area < 0.6 * scene.sheet_area]
    whole = shapely.union_all(kept)
    pen = float(np.round(scene.linework.width[scene.pieces.path[rows[:1]]].max(initial=0.0), 2))
    return _Group(
        style=style,
        material=whole,
        rows=rows,
        ground=ground_of(whole, scene),
        pen=pen,
        hatch=np.zeros(0, np.int64) if hatch is None else hatch,
    )


def ground_of(material: Geometry, scene: Scene) -> Geometry:
    """Return the area that material covers once gaps are closed and what it surrounds is filled."""
    reach = scene.pt(_REACH)
    grown = shapely.buffer(shapely.simplify(material, scene.pt(0.02)), reach, quad_segs=2)
    filled = shapely.union_all([Polygon(p.exterior) for p in polygons_of(grown)])
    return shapely.buffer(filled, -reach, quad_segs=2)


def _without_frames(groups: Sequence[_Group], scene: Scene) -> list[_Group]:
    """Leave out frames: closed boxes in which a good part is the ground of walls that stand clear of them.

    The outer walls of a building are no frame: nothing stands clear in them, or a door or window breaks them.
    """
    left = list(groups)
    boxes = [(i, part) for i, g in enumerate(groups) for part in polygons_of(g.material) if _is_box(part, scene)]
    for i, box in sorted(boxes, key=lambda found: -Polygon(found[1].exterior).area):
        group, area = left[i], Polygon(box.exterior)
        rest = shapely.union_all([part for part in polygons_of(group.material) if not part.equals(box)])
        bare = replace(group, material=rest, ground=ground_of(rest, scene))
        within = [
            ground.area
            for g in (bare, *left[:i], *left[i + 1 :])
            for ground in polygons_of(g.ground)
            if area.covers(ground)
        ]
        if max(within, default=0.0) > 0.1 * area.area:
            left[i] = bare
    return [group for group in left if not group.material.is_empty]


def _is_box(part: Polygon, scene: Scene) -> bool:
    """Tell whether a part is a thin closed band with a rectangle in it that is larger than a shaft, and nothing more.

    Walls that stand on the band's inner side make it that of a building.
    """
    area = Polygon(part.exterior)
    if not part.interiors or area.area < scene.pt(3.0) ** 2:
        return False
    hollow = max((Polygon(ring) for ring in part.interiors), key=lambda hole: hole.area)
    shapes = ((area, 0.99), (hollow, 0.995))
    is_box = all(shape.area > share * shapely.minimum_rotated_rectangle(shape).area for shape, share in shapes)
    return bool(is_box and hollow.area > 0.5 * area.area)


def _continuing(groups: Sequence[_Group], main: _Group, scene: Scene) -> list[tuple[_Group, list[Polygon]]]:
    """Return the other groups that go on where the main one ends, with their walls: a good part butts on its faces.

    What stands between two wall ends, narrower than they are, is the glass of a window; what is filled dark is none.
    """
    near = shapely.buffer(main.material, scene.pt(_TOUCH))
    shapely.prepare(near)
    edges, following = edges_of(main.material)
    caps = edges[jambs_of(edges, following, scene.pt(THIN), scene.pt(THICK))]
    ends = shapely.union_all(shapely.linestrings(caps.reshape(-1, 2, 2)))
    around = shapely.buffer(main.material, scene.pt(_JOIN / 3), join_style="mitre")
    hull = shapely.convex_hull(main.material)
    shapely.prepare(hull)
    joining: list[tuple[_Group, list[Polygon]]] = []
    for group in groups:
        hatch = shapely.linestrings(scene.pieces.segments[group.hatch].reshape(-1, 2, 2))
        if int(shapely.intersects(hull, hatch).sum()) > 5:
            continue  # the rest of a hatch looks like walls
        share = group.material.area / main.material.area
        if share > _MUCH or (share > _FEW and not _is_pure(group, scene, _JOINS)):
            continue
        rest = polygons_of(shapely.difference(group.material, around))
        walls = wall_like(rest, scene)
        lengths = np.array([part.length / 2 for part in walls])
        touches = shapely.intersects(near, np.array(walls, object)).tolist()
        glass = Polygon() if group.style == "poché" and group.darkness > _DARK else ends
        butts = np.array([_butts(part, near, glass, scene) if t else 0 for part, t in zip(walls, touches, strict=True)])
        total = float(lengths.sum())
        if total > scene.pt(1.0) and lengths[butts > 0].sum() > max(0.2 * total, 3.0 * lengths[butts < 0].sum()):
            joining.append((group, walls))
    return joining


def _butts(part: Polygon, near: Geometry, ends: Geometry, scene: Scene) -> int:
    """Tell whether a wall ends on others (1), on ends that glass may stand on (−1) or on nothing (0)."""
    edges, following = edges_of(part)
    caps = edges[jambs_of(edges, following, scene.pt(THIN), scene.pt(THICK))]
    middles = shapely.points((caps[:, :2] + caps[:, 2:]) / 2)
    touches = shapely.intersects(middles, near)
    on_ends = touches & shapely.dwithin(middles, ends, scene.pt(_TOUCH))
    return int(np.sign(int(touches.sum()) - 2 * int(on_ends.sum())))
