"""Groups: what is drawn alike on a sheet, by one layer, pen or fill, and so may be the walls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.trace.drawing.linework import Floats, Ints
from takeoff.trace.drawing.polygons import Lines, lengths_inside, polygons_of, spans
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.wall_material import Filled, dark, fill_material, heavy_material, outline_material

Style = Literal["shown", "layer", "poché", "outline", "heavy line", "line"]

EMPTY = Filled()
NAMES = 3
"""Names in what a group encloses from which they tell which group is the walls (judgement)."""
_EDGED, _FAR_MORE = 0.8, 4.0
"""Share that a fill and what a pen draws round it have in common at the least (measured on three plans: 0.92 to 0.97,
cabinets and cars none); times its outline from which a thinner pen draws furniture and floors (measured: 5.5)."""
_REACH = 1.6
_FRAME = 0.6
"""Share of the sheet that what a frame surrounds covers at the least (judgement)."""
_FRAME_LINE = 0.5
"""Share of the sheet's side from which a line beside the walls is that of a frame (judgement)."""
_BUT_FRAME = 0.8
"""Share of what a pen draws besides a frame that lies on its walls, from which the frame is left out (measured: 0.97
where a pen draws walls and a frame; where it draws much else too 0.61)."""
_SHORT = 0.15
_PALE, _HUE = 0.7, 0.12
"""Of 0 to 1: how much red and green a pale yellow has at the least, and by how much its parts differ (judgement)."""
_STAYS = 0.5
"""Share of what walls that seem to be pulled down enclose with all others that the others do by themselves (judgement):
where they do not, it is how walls are drawn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """A way of drawing that may be the walls.

    ``ground`` is what its material covers once gaps are closed and what it surrounds is filled; ``hatch`` are the rows
    of hatches that are drawn in the same way. ``darkness`` is that of its fill, 1 being black; ``is_removed`` says that
    the fill is the colour of what is to be pulled down. ``filled`` is what its fill covers.
    """

    style: Style
    material: Geometry
    rows: Ints
    ground: Geometry
    pen: float
    hatch: Ints
    darkness: float = 0.0
    is_removed: bool = False
    filled: Filled = EMPTY

    @property
    def enclosed(self) -> float:
        """The area of the ground, by which groups are weighed."""
        return float(self.ground.area)


def filled_groups(scene: Scene) -> list[Group]:
    """Return a group for each colour of fill on each layer; white is the paper."""
    work = scene.linework
    chosen = np.flatnonzero(dark(scene) & scene.is_open)
    style = np.column_stack([work.layer[chosen], np.round(work.fill[chosen], 2)])
    _, first, number = np.unique(style, axis=0, return_index=True, return_inverse=True)
    groups: list[Group] = []
    for kind in np.argsort(first).tolist():
        members = chosen[number.ravel() == kind]
        paths = np.isin(np.arange(work.path_count), members)
        filled = fill_material(scene, paths)
        if not filled.walls.is_empty:
            group = _group("poché", filled.walls, np.flatnonzero(paths[scene.pieces.path]), scene)
            colour = work.fill[members[0]]
            darkness, is_removed = 1.0 - float(colour.mean()), is_pale_yellow(colour)
            groups.append(replace(group, darkness=darkness, is_removed=is_removed, filled=filled))
    return groups


def is_pale_yellow(colour: Floats) -> bool:
    """Tell whether a fill is what building law has walls filled with that are to be pulled down.

    Yellow goes, red is new, grey or hatched stays (Germany, Austria and Switzerland; common knowledge, no source).
    """
    red, green, blue = colour.tolist()
    return bool(min(red, green) > _PALE and abs(red - green) < _HUE and min(red, green) - blue > _HUE)


def outlined_groups(scene: Scene, most: float = math.inf, fills: Sequence[Group] = ()) -> list[Group]:
    """Return a group for each pen whose lines stand as close together in places as the faces of walls, heaviest first.

    A pen that draws more than ``most`` sheet points of lines is passed over; so is one that draws far more than the
    outline of one of the ``fills`` round which a heavier pen goes, where names stand in what that encloses.
    """
    work, pieces = scene.linework, scene.pieces
    usable = (work.stroked & ~work.dashed & scene.is_open)[pieces.path]
    allowed = usable & ~scene.is_hatch & ~scene.is_symbol & ~scene.is_leaf
    kinds, number = work.pens
    groups: list[Group] = []
    for kind in np.argsort(-kinds[:, 1], kind="stable").tolist():
        rows = allowed & (number[pieces.path] == kind)
        _, lengths = spans(pieces.segments[rows])
        if not scene.pt(8.0) <= lengths[lengths > scene.pt(_SHORT)].sum() <= most:
            continue
        material = outline_material(scene, rows & ~scene.is_dashed, words=scene.words)
        if not material.is_empty:
            hatch = np.flatnonzero(scene.is_hatch & (number[pieces.path] == kind))
            groups.append(_group("outline", material, np.flatnonzero(rows), scene, hatch=hatch))
            edged = [f for f in fills if is_edged(f, groups[-1:]) and is_told(f, scene)]
            most = min([most, *(_FAR_MORE * f.material.length for f in edged)])
    return groups


def is_told(group: Group, scene: Scene) -> bool:
    """Tell whether names or areas of rooms stand in what a group encloses."""
    return int(shapely.contains(group.ground, scene.labels).sum()) >= NAMES


def is_edged(group: Group, groups: Sequence[Group], pen: float = 0.0) -> bool:
    """Tell whether a fill covers what a pen heavier than another draws as walls: two ways of drawing say the same."""
    heavier = [g.material for g in groups if g.style == "outline" and g.pen > pen]
    both = [(group.material.intersection(one).area, max(group.material.area, one.area)) for one in heavier]
    return group.style == "poché" and any(shared > _EDGED * whole for shared, whole in both)


def heavy_groups(scene: Scene) -> list[Group]:
    """Return the group of the widest pens, each line a wall as wide as its pen; none where no pen is as wide."""
    material, usable = heavy_material(scene, np.ones(len(scene.pieces.segments), bool))
    return [] if material.is_empty else [_group("heavy line", material, np.flatnonzero(usable), scene)]


def _group(style: Style, material: Geometry, rows: Ints, scene: Scene, *, hatch: Ints | None = None) -> Group:
    """Make a group of what may be walls; a frame round the whole sheet is none, a plan that fills its page is one."""
    whole = without_border(material, scene)
    pen = float(np.round(scene.linework.width[scene.pieces.path[rows[:1]]].max(initial=0.0), 2))
    return Group(
        style=style,
        material=whole,
        rows=rows,
        ground=ground_of(whole, scene),
        pen=pen,
        hatch=np.zeros(0, np.int64) if hatch is None else hatch,
    )


def without_border(material: Geometry, scene: Scene) -> Geometry:
    """Leave out what runs round most of the sheet: its frame, on whatever layer it is drawn."""
    most = _FRAME * scene.sheet_area
    kept = [p for p in polygons_of(material) if all(Polygon(ring).area < most for ring in p.interiors)]
    return shapely.union_all(kept)


def ground_of(material: Geometry, scene: Scene) -> Geometry:
    """Return the area that material covers once gaps are closed and what it surrounds is filled."""
    reach = scene.pt(_REACH)
    grown = shapely.buffer(shapely.simplify(material, scene.pt(0.02)), reach, quad_segs=2)
    filled = shapely.union_all([Polygon(p.exterior) for p in polygons_of(grown)])
    return shapely.buffer(filled, -reach, quad_segs=2)


def lines_of(group: Group, scene: Scene, *, has_dashes: bool = False) -> Lines:
    """Return the lines that a group draws, those of hatches, notes, symbols and door leaves left out.

    Dashes that are plotted stroke by stroke are left out too, but where they are wanted.
    """
    is_left_out = scene.is_hatch | scene.is_note | scene.is_symbol | scene.is_leaf
    if not has_dashes:
        is_left_out |= scene.is_dashed
    rows = group.rows[~is_left_out[group.rows]]
    lines: Lines = shapely.linestrings(scene.pieces.segments[rows].reshape(-1, 2, 2))
    return lines


def is_pure(group: Group, scene: Scene, least: float) -> bool:
    """Tell whether a share of what a group draws among its walls is these; one that fills rooms too is not pure.

    Long lines beside its walls, frames and their title blocks, are not asked where it draws little else.
    """
    if group.style != "outline":
        return group.filled.share >= least
    lines = lines_of(group, scene, has_dashes=True)
    is_frame = shapely.length(lines) > _FRAME_LINE * scene.sheet_area**0.5
    is_frame &= ~shapely.intersects(shapely.convex_hull(group.material), lines)
    on_walls = lengths_inside(lines, shapely.buffer(group.material, scene.pt(0.02))).sum()
    drawn, frame = (shapely.length(some).sum() for some in (lines, lines[is_frame]))
    return bool(on_walls >= least * drawn or on_walls >= max(least, _BUT_FRAME) * (drawn - frame) > 0.0)


def without_frames(groups: Sequence[Group], scene: Scene) -> list[Group]:
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


def without_removed(groups: Sequence[Group]) -> tuple[list[Group], list[Geometry]]:
    """Part the groups from what is filled as walls are that are to be pulled down.

    Where nothing else encloses half as much, walls are yellow on this sheet.
    """
    left = [group for group in groups if not group.is_removed]
    most = max((group.enclosed for group in groups), default=0.0)
    if max((group.enclosed for group in left), default=0.0) < _STAYS * most:
        return list(groups), []
    return left, [group.material for group in groups if group.is_removed]
