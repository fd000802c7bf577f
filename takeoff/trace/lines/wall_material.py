"""What walls cover on a sheet, by how they are drawn: filled, as the strips between two lines, or as heavy lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Geometry, MultiPolygon, Polygon

from takeoff.geometry.intervals import total, united
from takeoff.trace.drawing.layer_names import is_removed
from takeoff.trace.drawing.linework import Flags, Ints
from takeoff.trace.drawing.polygons import (
    as_wide,
    box_sides,
    even_odd,
    filled_rings,
    joined,
    lengths_inside,
    mean_width,
    polygons_of,
)
from takeoff.trace.lines.gaps import LEAST, find_gaps
from takeoff.trace.lines.open_faces import lines_across
from takeoff.trace.lines.opening_forms import CASED
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.strips import noded, strips_between, with_more, without_bits
from takeoff.trace.lines.wall_ends import capped, drawn_caps, drawn_posts

NOTHING = MultiPolygon()
THIN, THICK = 0.055, 0.65
"""Metres; the walls that are looked for (common practice, no source)."""
JOIN = 0.012
_WHITE = 0.94
HEAVY = 0.05
LINE = 0.01
"""Metres that a wall takes of which nothing but a line is drawn: its faces are where the line is (our choice)."""
_CORNER, _CORNER_PT = 0.004, 0.2
"""Metres, and points of paper where that is more, by which corners of outlines may miss (measured: plotted files round
to 0.12 pt)."""
_COUNTER = 0.45
_COLUMN = 0.15
"""Metres; the least side of a column that is drawn as a box (judgement)."""
_CAVITY, _ALONG = 0.16, 0.4
"""Metres that the cavity of a wall in two leaves is wide at the most (common practice, no source) and long at the
least (judgement)."""
_BOARD, _LINED = 0.004, 0.4
"""Metres that a finish is thick at the least, and the share of its outline that lies on its wall: one long side
(judgement)."""
TOUCH = 0.03
_SHORT = 0.15
_RAGGED, _FILLED = 12, 0.88
"""Corners from which a filled shape may be a box with a ragged edge, and the share of that box that it fills then
(measured on columns that a pen fills: 0.92 to 0.96; an eight-sided one fills 0.83)."""
_LIGHTER, _FACES = 0.1, 0.55
"""Of 0 to 1: how much lighter what is painted over a wall is, and how much of its edge lies on the wall's faces where
it is a door or a window and no layer within the wall, which shares one face at the most (judgement)."""
_REBATE = 0.08
"""Metres that the faces of a wall stand out beside the ends between which its windows are (judgement)."""
_FILLED_UP = 0.7
"""Share of named walls that a fill on another layer covers from which it tells where they end (judgement)."""
_GLASS = 0.7
"""Share of a gap that lines in it run along at the least where they are glass (judgement)."""


def layer_material(scene: Scene, is_wall: Flags, is_fill: Flags) -> tuple[Geometry, Geometry]:
    """Unite what the chosen paths draw as walls: fills, strips between lines, and failing both heavy lines.

    The second is what is painted over the fills.
    """
    is_dark = dark(scene)
    rows = (is_wall & ~(is_dark & ~scene.linework.stroked))[scene.pieces.path] & ~scene.is_dashed
    fills = fill_material(scene, is_fill & is_dark)
    filled = fills.walls
    parts = [filled] if not filled.is_empty else []
    outlined = outline_material(scene, rows & ~scene.is_hatch & ~scene.is_symbol, words=(), is_told=True)
    if not outlined.is_empty:
        opened = _unfilled(scene, outlined) if filled.is_empty else _glazed(scene, filled, rows)
        parts.append(shapely.difference(outlined, opened))
    if not parts:
        heavy, _ = heavy_material(scene, rows)
        parts = [] if heavy.is_empty else [heavy]
    return joined(parts, scene.pt(JOIN)) if parts else Polygon(), fills.painted


def _glazed(scene: Scene, filled: Geometry, rows: Flags) -> Geometry:
    """Return the gaps between ends of filled walls that lines of their own layers run through, as glass does."""
    gaps = [g for g in find_gaps(filled, scene.m_per_pt, thin=THIN, thick=THICK) if g.is_capped and not g.loose]
    if not gaps:
        return Polygon()
    segments = scene.pieces.segments[rows]
    tree = shapely.STRtree(shapely.linestrings(segments.reshape(-1, 2, 2)))
    bands: list[Polygon] = []
    for gap in gaps:
        ends = gap.placed(segments[tree.query(gap.band, predicate="intersects")])
        is_inside = np.abs(ends[:, :, 1]).max(1) < gap.thickness_pt / 2 - scene.pt(_CORNER)
        if total(united(np.sort(ends[is_inside, :, 0], axis=1).tolist())) > _GLASS * gap.width_pt:
            bands.append(shapely.buffer(gap.band, scene.pt(_REBATE), join_style="mitre"))
    return shapely.difference(shapely.union_all(bands), filled)


def _unfilled(scene: Scene, walls: Geometry) -> Geometry:
    """Return the gaps as wide as a door that a fill on no layer for walls leaves in them: thresholds on their layer."""
    filled = fill_material(scene, dark(scene) & (scene.roles == "")).walls
    within = shapely.intersection(filled, walls)
    if within.area < _FILLED_UP * walls.area:
        return Polygon()
    gaps = find_gaps(within, scene.m_per_pt, thin=THIN, thick=THICK)
    bands = [gap.band for gap in gaps if not gap.loose and gap.width_pt < scene.pt(CASED)]
    return shapely.difference(shapely.buffer(shapely.union_all(bands), scene.pt(JOIN), join_style="mitre"), filled)


def removed_layers(scene: Scene) -> Geometry:
    """Return what the layers for it draw as walls that are to be pulled down."""
    paths = np.array([is_removed(name) for name in scene.linework.layers])[scene.linework.layer]
    if not paths.any():
        return Polygon()
    lines = outline_material(scene, paths[scene.pieces.path] & scene.pieces.is_whole, words=())
    return shapely.union(fill_material(scene, paths & dark(scene)).walls, lines)


def dark(scene: Scene) -> Flags:
    """Tell the paths that are filled with anything but white and are no mark of a section."""
    flags: Flags = scene.linework.filled & (scene.linework.fill.min(1) < _WHITE)
    flags[scene.pieces.path[scene.is_symbol]] = False
    return flags


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """What fills cover as walls do, and what is ``painted`` over that from face to face, lighter: doors and windows.

    ``share`` is that of ``walls`` in all that the fills cover.
    """

    walls: Geometry = NOTHING
    painted: Geometry = NOTHING
    share: float = 1.0


def fill_material(scene: Scene, paths: Flags) -> Filled:
    """Unite the filled shapes of some paths; what is too wide for a wall falls away."""
    work = scene.linework
    chosen = np.flatnonzero(paths[work.ring_path]) if len(work.ring_path) else np.zeros(0, np.int64)
    if not len(chosen):
        return Filled()
    rings = filled_rings(work, chosen)
    paths_of, first, count = np.unique(work.ring_path[chosen], return_index=True, return_counts=True)
    single = count == 1
    several = [even_odd(rings[work.ring_path[chosen] == path].tolist()) for path in paths_of[~single]]
    material = joined(np.concatenate([rings[first[single]], several]), scene.pt(JOIN))
    painted = _painted_over(material, scene, paths)
    if not painted.is_empty:  # slivers beside what is painted a little short of a face are no walls
        left = shapely.buffer(shapely.difference(material, painted), -scene.pt(JOIN), join_style="mitre")
        material = shapely.buffer(left, scene.pt(JOIN), join_style="mitre")
    walls = shapely.union_all([_boxed(part) for part in wall_like(polygons_of(material), scene)])
    return Filled(walls=walls, painted=painted, share=walls.area / max(material.area, 1e-9))


def _painted_over(walls: Geometry, scene: Scene, paths: Flags) -> Geometry:
    """Return what is painted over filled walls, lighter than they are and from face to face."""
    work = scene.linework
    own = np.flatnonzero(paths)
    light = work.filled & (work.fill.mean(1) > work.fill[own].mean(1).max() + _LIGHTER)
    rows = np.flatnonzero(light[work.ring_path] & (work.ring_path > own[0]))
    if not len(rows):
        return Polygon()
    low, high = (np.array([f(work.ring(row), axis=0) for row in rows.tolist()]) for f in (np.min, np.max))
    sides = np.sort(high - low, axis=1)
    rows = rows[(sides[:, 1] > scene.pt(LEAST)) & (sides[:, 0] > 0.9 * scene.pt(THIN))]
    covers = filled_rings(work, rows) if len(rows) else np.zeros(0, object)
    covers = covers[shapely.intersects(covers, walls)]
    covers = covers[~as_wide(covers.tolist(), scene.pt(THICK))]
    parts = np.array(polygons_of(shapely.union_all(shapely.intersection(covers, walls))), object)
    on_faces = shapely.length(
        shapely.intersection(shapely.boundary(parts), shapely.boundary(walls).buffer(scene.pt(JOIN)))
    )
    is_whole = (on_faces > _FACES * shapely.length(parts)) & as_wide(parts.tolist(), 0.9 * scene.pt(THIN))
    is_whole &= ~shapely.intersects(parts, shapely.union_all(scene.words))
    return shapely.union_all(parts[is_whole])


def _boxed(part: Polygon) -> Polygon:
    """Return a box for a part that all but fills one: a column that was filled line by line has a ragged edge."""
    if len(part.exterior.coords) <= _RAGGED:
        return part
    box = shapely.minimum_rotated_rectangle(part)
    return box if Polygon(part.exterior).area > _FILLED * box.area and not part.interiors else part


def filled_columns(scene: Scene, own: Ints) -> list[Polygon]:
    """Return filled squares and rounds as large as columns, as dark as the walls' ``own`` fill where rows have it."""
    work = scene.linework
    lightest = 0.75
    if len(own):
        lightest = float(work.fill[np.unique(scene.pieces.path[own])].mean(1).max()) + 0.05
    found: list[Polygon] = []
    for index in np.flatnonzero((dark(scene) & (work.fill.mean(1) <= min(lightest, 0.9)))[work.ring_path]):
        shape = Polygon(work.ring(int(index)))
        if not shape.is_valid or not scene.pt(0.15) ** 2 < shape.area < scene.pt(1.3) ** 2:
            continue
        box, circle = shapely.minimum_rotated_rectangle(shape), shapely.minimum_bounding_circle(shape)
        sides = box_sides(box)
        if sides.min() > 0.4 * sides.max() and (shape.area > 0.97 * box.area or shape.area > 0.93 * circle.area):
            found.append(shape)
    return found


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
            kept[i] = shape.length > 25 * thick or not as_wide([shape], shape.length / 10).any()
    return list(polygons[kept])


def outline_material(scene: Scene, rows: Flags, *, words: Sequence[Polygon], is_told: bool = False) -> Geometry:
    """Unite the faces between lines that are as narrow as walls and no cells with words.

    Where something tells that the lines are walls' (``is_told``), so are their finishes: narrower strips along them.
    """
    if not rows.any():
        return Polygon()
    reach = max(scene.pt(_CORNER), _CORNER_PT)
    own, thin, thick = scene.pieces.segments[rows], scene.pt(THIN), scene.pt(THICK)
    apart = ~rows & scene.pieces.is_whole & ~scene.is_note & ~scene.is_hatch & ~scene.is_symbol
    others = scene.pieces.segments[apart]
    caps = np.concatenate(
        [
            drawn_caps(own, others, thin=thin, thick=thick, reach=reach),
            drawn_posts(own, others, small=scene.pt(_COLUMN), large=thick, reach=reach),
        ]
    )
    is_chord = np.concatenate([~scene.pieces.is_whole[rows], np.ones(len(caps), bool)])
    lines = without_bits(np.concatenate([own, caps]), is_chord, short=scene.pt(_SHORT), reach=scene.pt(0.01))
    drawn = noded(capped(lines, thin=thin, thick=thick, reach=reach), reach=reach)
    strips = strips_between(drawn, words)
    kept = _without_counters(wall_like(strips, scene), scene)
    across = lines_across(own, kept, thin=thin, thick=thick, metre=scene.pt(1.0))
    if len(across):
        strips = strips_between(with_more(drawn, across, reach=reach), words)
        kept = _without_counters(wall_like(strips, scene), scene)
    if not kept:
        return Polygon()
    walls = joined([*kept, *(_finishes(strips, kept, scene) if is_told else ())], scene.pt(JOIN))
    return shapely.union_all([walls, *_cavities(walls, scene)])


def _finishes(strips: Sequence[Polygon], walls: Sequence[Polygon], scene: Scene) -> list[Polygon]:
    """Return the strips too narrow for a wall that go along one with a long side: boards and plaster on its faces."""
    narrow = [s for s in strips if scene.pt(_BOARD) < mean_width(s) < scene.pt(THIN)]
    edges = np.array([strip.boundary for strip in narrow], object)
    shared = lengths_inside(edges, shapely.buffer(shapely.union_all(walls), scene.pt(0.001)))
    return [strip for strip, is_one in zip(narrow, shared > _LINED * shapely.length(edges), strict=True) if is_one]


def _cavities(walls: Geometry, scene: Scene) -> list[Polygon]:
    """Return the cavities of walls in two leaves: long slots of even width that walls stand along on both sides."""
    reach = scene.pt(_CAVITY) / 2
    with np.errstate(divide="ignore", invalid="ignore"):  # raised by sides of no length
        grown = shapely.buffer(walls, reach, join_style="mitre")
    closed = shapely.make_valid(shapely.buffer(grown, -reach, join_style="mitre"))
    slots = polygons_of(shapely.difference(closed, shapely.make_valid(walls)))
    slots = [slot for slot in slots if slot.length > 2 * scene.pt(_ALONG)]
    rings = np.array([slot.exterior for slot in slots], object)
    shared = lengths_inside(rings, shapely.buffer(walls, scene.pt(0.001)))
    return [slot for slot, is_one in zip(slots, shared > 0.8 * shapely.length(rings), strict=True) if is_one]


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
        sides = box_sides(box)
        is_oblong = strip.area > 0.95 * box.area and sides.max() > 1.6 * sides.min()
        if not is_oblong or shared < 0.8 * sides.max():
            kept.append(strip)
    return kept


def heavy_material(scene: Scene, rows: Flags) -> tuple[Geometry, Flags]:
    """Read the widest pens as walls, each as wide as its pen: return their area and the rows that drew it."""
    width = scene.linework.width[scene.pieces.path]
    usable = _single(scene, rows) & (width >= scene.pt(HEAVY)) & (width <= scene.pt(THICK))
    strokes: list[Geometry] = []
    for pen in np.unique(np.round(width[usable], 2)):
        strokes += _strokes(scene, usable & (np.abs(width - pen) < 0.01), pen)
    return joined(strokes, scene.pt(JOIN)) if strokes else Polygon(), usable


def line_material(scene: Scene, rows: Flags) -> tuple[Geometry, Flags]:
    """Read lines as walls by themselves, as thin as `LINE`: return their area and the rows that drew it."""
    usable = _single(scene, rows) & ~scene.is_leaf
    strokes = _strokes(scene, usable, scene.pt(LINE))
    return joined(strokes, scene.pt(JOIN)) if strokes else Polygon(), usable


def _single(scene: Scene, rows: Flags) -> Flags:
    """Tell which of some rows may be walls by themselves: strokes that are part of nothing else."""
    flags: Flags = scene.linework.stroked[scene.pieces.path] & rows
    return flags & ~scene.is_dashed & ~scene.is_hatch & ~scene.is_symbol


def _strokes(scene: Scene, rows: Flags, width: float) -> list[Geometry]:
    """Return what some rows cover as lines so many sheet points wide."""
    lines = shapely.union_all(shapely.linestrings(scene.pieces.segments[rows].reshape(-1, 2, 2)))
    merged = shapely.get_parts(shapely.line_merge(lines))
    return list(shapely.buffer(merged, width / 2, cap_style="flat", join_style="mitre"))
