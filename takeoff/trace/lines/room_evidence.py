"""What a sheet tells of a room's outline and its openings, for and against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Flags, Ints
from takeoff.trace.drawing.polygons import Lines, lengths_inside, tiles_of
from takeoff.trace.lines.gaps import Gap
from takeoff.trace.lines.opening_forms import FoundOpening
from takeoff.trace.lines.printed_parts import doorways
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.swings import Swing
from takeoff.trace.lines.unread_openings import faint_side, has_necks, untold_length
from takeoff.trace.lines.wall_areas import Walls
from takeoff.trace.lines.wall_groups import Style
from takeoff.trace.lines.wall_openings import loose_swings
from takeoff.trace.texts.printed_sizes import AGREES, areas_inside
from takeoff.trace.texts.room_names import groups_of_names

PURE = 0.97
"""Share of what is drawn like walls that is walls, below which it tells against a room."""
DEEP_M, _INNER_M = 0.6, 0.3
"""Metres from an outline within which walls are its own, and length of a line inside them that may be a wall's face
where another line was taken for it (measured: a dimension line beside a wall)."""
_JOINT_M = 0.05
"""Metres that a joint between the walls of two houses is wide at the most (common practice, no source)."""
_UNREAD_M, _UNREAD = 50.0, 0.3
"""Metres of such lines, and their share of the outline, from which it is no room but a court or a floor (judgement)."""
_HALL_M2, _RAGGED = 500.0, 100
"""Square metres and short sides from which an outline is that of a court or a floor, not of a hall (judgement)."""
_CURVES = 0.35
"""Radians that the outline turns at both ends of a side together, up to which that is part of a curve: 20°."""
_REMOVED = 0.05
"""Square metres of walls that are to be pulled down from which they are told of (judgement)."""


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """What the rooms of a sheet are weighed by, looked up by place.

    ``inside`` is what lies within the building in sheet points, ``gaps`` are those between two ends of walls that are
    no openings, ``lines`` is the text of the sheet.
    """

    scene: Scene
    walls: Walls
    swings: Sequence[Swing]
    lines: Sequence[TextLine]
    inside: Geometry
    gaps: Sequence[Gap]

    @cached_property
    def solid(self) -> shapely.STRtree:
        """The area of the walls, low ones too, in tiles."""
        return shapely.STRtree([*tiles_of(self.walls.material), *tiles_of(self.walls.low)])

    @cached_property
    def rows(self) -> Ints:
        """The pieces that drew the walls and may be their faces."""
        own, scene = self.walls.rows, self.scene
        return own[~(scene.is_hatch | scene.is_symbol | scene.is_leaf | scene.is_dashed)[own]]

    @cached_property
    def strokes(self) -> shapely.STRtree:
        """The lines of ``rows``."""
        return shapely.STRtree(shapely.linestrings(self.scene.pieces.segments[self.rows].reshape(-1, 2, 2)))

    @cached_property
    def told(self) -> shapely.STRtree:
        """The lines on layers for doors or glass."""
        scene = self.scene
        is_told = np.isin(scene.roles, ("door", "glazing"))[scene.pieces.path] & ~(scene.is_leaf | scene.is_symbol)
        return shapely.STRtree(shapely.linestrings(scene.pieces.segments[is_told].reshape(-1, 2, 2)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What speaks for and against a room, as numbers; lengths and areas in metres.

    ``names`` is how many names stand in it; ``stray`` the length of wall-like lines inside it that are in no wall;
    ``short_edges`` how many sides under 40 mm its outline has that are no part of a curve; ``loose_swings`` the door
    swings at its outline that fit no opening; ``area`` its floor; ``purity`` the least of the pens of its walls, and
    where that is not pure, ``inner`` how long lines drawn like walls run inside these;
    ``printed`` the floor areas that are printed in it, ``doorways`` that of its doorways, which some offices count;
    ``is_fronted`` says whether lines of glass alone close it, ``is_parted`` whether partitions do that are drawn
    otherwise than the walls, ``has_necks`` whether it goes on between two ends of walls, ``has_removed`` whether walls
    stand in it that are to be pulled down; ``faint`` is the longest part of a side that is drawn in a thinner pen than
    what goes on at both its ends, ``untold`` the length of lines on layers for doors or glass that run in its walls and
    in no opening, ``edge`` that of its outline, ``buried`` what of it runs within walls, where things
    along them were filled in.
    """

    style: Style
    names: int
    stray: float
    short_edges: int
    loose_swings: int
    area: float
    purity: float
    inner: float = 0.0
    printed: tuple[float, ...] = ()
    doorways: float = 0.0
    is_fronted: bool = False
    is_parted: bool = False
    faint: float = 0.0
    untold: float = 0.0
    has_necks: bool = False
    has_removed: bool = False
    edge: float = 0.0
    buried: float = 0.0

    @property
    def rooms(self) -> int:
        """How many rooms stand in it, by their names, or by printed areas that are not all of it together."""
        is_all = abs(sum(self.printed) / self.area - 1.0) <= AGREES
        return max(self.names, 0 if is_all else len(self.printed))

    @property
    def is_unread(self) -> bool:
        """Whether it is a part of the sheet whose walls were not read: by lines of walls in it, or a ragged outline."""
        is_ragged = self.area > _HALL_M2 and self.short_edges > _RAGGED
        return self.stray > max(_UNREAD_M, _UNREAD * self.edge) or is_ragged

    @classmethod
    def of(
        cls, shape: Polygon, about: Surroundings, openings: Sequence[FoundOpening], fronts: Sequence[FoundOpening] = ()
    ) -> Evidence:
        """Gather it for a room's area in sheet points; ``openings`` are those within `DEEP_M` of the room."""
        scene, walls = about.scene, about.walls
        core = shapely.buffer(shape, -scene.pt(0.05))
        around = shapely.buffer(shape, scene.pt(DEEP_M))
        leaves = [row for opening in openings for row in opening.leaves]
        here = np.sort(about.strokes.query(around))
        here = here[~np.isin(about.rows[here], leaves)]
        rows, strokes = about.rows[here], about.strokes.geometries[here]
        near_walls = shapely.union_all(about.solid.geometries[about.solid.query(around)])
        stray = lengths_inside(strokes, shapely.difference(core, shapely.buffer(near_walls, scene.pt(0.03)))).sum()
        areas = areas_inside(shape, about.scene.areas)
        within = shapely.buffer(near_walls, -scene.pt(0.03)) if areas else Polygon()
        purity = walls.purity_at(shapely.buffer(shape, scene.pt(0.05)))
        inner = _inner_length(strokes, near_walls, openings, around, scene) if purity < PURE else 0.0  # else not asked
        near = shapely.buffer(shape.exterior, scene.pt(0.3))
        hung = [s for s in about.swings if s.has_leaf and near.contains(shapely.Point(s.hinge_pt))]
        faint = 0.0 if walls.style == "poché" else faint_side(shape, rows, openings, about.inside, scene)
        told = about.told.geometries[about.told.query(around)]
        untold = untold_length(told, shapely.intersection(near_walls, near), openings, scene) if len(told) else 0.0
        return cls(
            style=walls.style,
            names=groups_of_names(shape, about.lines),
            stray=float(stray) * scene.m_per_pt,
            short_edges=_short_edges(shape, scene),
            loose_swings=len(loose_swings(hung, openings, scene)),
            purity=purity,
            inner=inner * scene.m_per_pt,
            area=float(shape.area) * scene.m_per_pt**2,
            edge=float(shape.exterior.length) * scene.m_per_pt,
            buried=float(shape.exterior.intersection(within).length) * scene.m_per_pt,
            printed=areas,
            doorways=float(doorways(shape, openings, scene).area) * scene.m_per_pt**2 if areas else 0.0,
            is_fronted=any(near.intersects(front.gap.band) for front in fronts),
            is_parted=bool(shapely.dwithin(shape.exterior, walls.partitions, scene.pt(0.05)).any()),
            faint=faint * scene.m_per_pt,
            untold=untold * scene.m_per_pt,
            has_necks=has_necks(shape, about.gaps, scene),
            has_removed=bool(
                shapely.area(shapely.intersection(shape, walls.removed)).sum() > _REMOVED * scene.pt(1) ** 2
            ),
        )


def _inner_length(
    strokes: Lines, walls: Geometry, openings: Sequence[FoundOpening], around: Geometry, scene: Scene
) -> float:
    """Length in points of the lines that run within walls about a room; pairs that are joints count as none."""
    filled = shapely.union_all([o.gap.band for o in openings if o.gap.band.intersects(around)])  # glass, leaves
    core = shapely.buffer(shapely.difference(walls, filled), -scene.pt(0.03))
    inner = lengths_inside(strokes, shapely.intersection(core, around))
    is_long = inner > scene.pt(_INNER_M)
    return float(inner[is_long][~_in_pairs(strokes[is_long], scene.pt(_JOINT_M))].sum())


def _short_edges(shape: Polygon, scene: Scene) -> int:
    """Count the sides of an outline that are shorter than 40 mm; a chord of a curve is none."""
    steps = np.diff(shapely.get_coordinates(shape.exterior), axis=0)
    angles = np.angle(steps @ np.array([1, 1j]))
    turns = np.abs(np.angle(np.exp(1j * (np.roll(angles, -1) - angles))))
    return int(((np.hypot(*steps.T) < scene.pt(0.04)) & (turns + np.roll(turns, 1) > _CURVES)).sum())


def _in_pairs(lines: Lines, apart: float) -> Flags:
    """Tell which lines run side by side with another one, as both faces of a joint between two walls do."""
    middles = shapely.line_interpolate_point(lines, 0.5, normalized=True)
    near = shapely.dwithin(middles[:, None], lines[None, :], apart)
    flags: Flags = (near & near.T & ~np.eye(len(lines), dtype=bool)).any(1)
    return flags
