"""How far a traced room is to be trusted, and why: what speaks against it, each with its weight."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Flags, Ints
from takeoff.trace.drawing.polygons import Lines, lengths_inside, tiles_of
from takeoff.trace.lines.gaps import Gap
from takeoff.trace.lines.opening_forms import FoundOpening
from takeoff.trace.lines.printed_parts import BY_AREA, doorways
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.swings import Swing
from takeoff.trace.lines.traced_rooms import TracedOpening
from takeoff.trace.lines.unread_openings import faint_side, has_necks, untold_length
from takeoff.trace.lines.wall_areas import Walls
from takeoff.trace.lines.wall_groups import Style
from takeoff.trace.lines.wall_openings import loose_swings
from takeoff.trace.texts.printed_sizes import AGREES, PrintedArea, areas_inside
from takeoff.trace.texts.room_names import groups_of_names

SURE = 0.9
"""A room at or above this confidence is called sure."""

_BY_STYLE: dict[Style, float] = {
    "shown": 0.98, "layer": 0.995, "poché": 0.99, "outline": 0.97, "heavy line": 0.93,
    "line": 0.6,
}  # fmt: skip


_PURE, _IMPURE = 0.97, 0.15
"""Share of what is drawn like walls that is walls, below which the second share of confidence is lost."""
DEEP_M, _INNER_M = 0.6, 0.3
"""Metres from an outline within which walls are its own, and length of a line inside them that may be a wall's face
where another line was taken for it (measured: a dimension line beside a wall)."""
_JOINT_M = 0.05
"""Metres that a joint between the walls of two houses is wide at the most (common practice, no source)."""
_SEVERAL, _NAMELESS, _SHUT, _LOOSE = 0.4, 0.06, 0.2, 0.15
"""Shares of confidence that are lost where several names stand in a room, none does, no opening leads into it (or,
without a name, none but bare gaps, as into shafts), or a door swings at its walls that fits no opening."""
_STRAY_M, _STRAY = 0.5, 0.12
"""Metres of lines like walls that may stand in a room, and the share of confidence that more of them cost."""
_UNREAD_M, _UNREAD = 50.0, 0.3
"""Metres of such lines, and their share of the outline, from which it is no room but a court or a floor (judgement)."""
_HALL_M2, _RAGGED = 500.0, 100
"""Square metres and short sides from which an outline is that of a court or a floor, not of a hall (judgement)."""
_JAGGED, _JAGGED_MOST = 0.02, 0.3
"""Shares of confidence that each side shorter than 40 mm costs, and all of them at the most."""
_CURVES = 0.35
"""Radians that the outline turns at both ends of a side together, up to which that is part of a curve: 20°."""
_SMALL_M2, _SMALL = 1.5, 0.08
"""Square metres below which the second share of confidence is lost."""
_CLOSED_M2 = 4.0
"""Square metres up to which a closed shape with a name and no opening may be a bed or a table (judgement)."""
_FRONTED, _PARTED = 0.12, 0.1
"""Shares of confidence that a front of glass costs that closes it, and a partition in another pen than the walls."""
_FAINT_M, _UNTOLD_M, _UNTOLD, _NECK = 0.6, 0.3, 0.2, 0.1
"""Metres of a side in a thinner pen, and of lines on layers for doors or glass in walls, that tell of an opening
(judgement), the share of confidence that either costs, and that of a room which goes on between two ends of walls."""
_REMOVED = 0.05
"""Square metres of walls that are to be pulled down from which they are told of (judgement)."""
_AGREED, _DISAGREES = 0.96, 0.4
_FITTED, _BURIED_M = 0.85, 0.3
"""What an outline is trusted at least whose area is printed in it, and the share that another printed area costs; what
one is trusted at the most that was parted so that its area agrees, or agrees with the floor in its doorways; and how
many metres of an outline run within walls where things along them were filled in.

These shares were fitted by hand to made plans and are checked by the reliability table (tests/bench/reliability.py).
"""


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """What the rooms of a sheet are weighed by, looked up by place.

    ``inside`` is what lies within the building in sheet points, ``gaps`` are those between two ends of walls that are
    no openings, ``lines`` is the text of the sheet and ``printed`` its areas.
    """

    scene: Scene
    walls: Walls
    swings: Sequence[Swing]
    lines: Sequence[TextLine]
    inside: Geometry
    printed: Sequence[PrintedArea]
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
        cls,
        shape: Polygon,
        about: Surroundings,
        openings: Sequence[FoundOpening],
        fronts: Sequence[FoundOpening] = (),
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
        areas = areas_inside(shape, about.printed)
        within = shapely.buffer(near_walls, -scene.pt(0.03)) if areas else Polygon()
        purity = walls.purity_at(shapely.buffer(shape, scene.pt(0.05)))
        inner = _inner_length(strokes, near_walls, openings, around, scene) if purity < _PURE else 0.0  # else not asked
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """How far a room is to be trusted: its outline, and whether its openings are complete, are two questions.

    ``confidence`` is the chance in 0..1 that both are right, ``outline`` that the outline is. ``reasons`` are sentences
    on both, what the walls were read from first; ``unread`` those of them that speak against the openings, ``taken``
    those that say what was taken where the drawing may mean otherwise.
    """

    confidence: float
    outline: float
    reasons: tuple[str, ...]
    unread: tuple[str, ...]
    taken: tuple[str, ...] = ()

    @property
    def sure(self) -> bool:
        """Whether the room may be taken without a look."""
        return self.confidence >= SURE

    @property
    def outline_sure(self) -> bool:
        """Whether its outline may be, whatever is said of its openings."""
        return self.outline >= SURE


def judge(evidence: Evidence, openings: Sequence[TracedOpening]) -> Verdict:
    """Weigh the evidence."""
    found = [
        (weight, sentence)
        for is_so, weight, sentence in (
            (evidence.purity < _PURE and evidence.inner > 0, _IMPURE, f"{1 - evidence.purity:.0%} of what is drawn in "
             "the pen of the walls is something else."),
            (evidence.names > 1, _SEVERAL, f"{evidence.names} names stand in it: it may be several rooms that are open "
             "to one another."),
            (evidence.names == 0, _NAMELESS, "No name stands in it."),
            (evidence.names == 0 and {one.form for one in openings} <= {"cased"}, _SHUT, "Neither a name nor a door or "
             "window tells that it is a room."),
            (evidence.has_necks, _NECK, "It goes on between two ends of walls: it may be two rooms."),
            (evidence.stray > _STRAY_M, _STRAY, f"{evidence.stray:.1f} m of lines drawn like walls stand in it and are "
             "in no wall."),
            (evidence.short_edges > 0, _jagged(evidence), f"{evidence.short_edges} sides are shorter than 40 mm."),
            (evidence.is_fronted, _FRONTED, "Only two thin lines close it in places: a front of glass, or none."),
            (evidence.is_parted, _PARTED, "A partition closes it that is drawn otherwise than the walls."),
            (evidence.area < _SMALL_M2, _SMALL, f"It is only {evidence.area:.1f} m² large."),
            (evidence.names > 0 and not openings and evidence.area < _CLOSED_M2, _SHUT, "No opening leads into it, and "
             "it is no larger than what stands in a room."),
            (_overlap(openings), _STRAY, "Two of its openings stand in one place."),
        )
        if is_so
    ]  # fmt: skip
    outline = _BY_STYLE[evidence.style] * math.prod(1.0 - weight for weight, _ in found)
    reasons = [sentence for _, sentence in found]
    outline, by_area = _by_area(outline, evidence)
    reasons += by_area
    if any(opening.reason == BY_AREA for opening in openings) or evidence.buried > _BURIED_M:
        outline = min(outline, _FITTED)
    if evidence.buried > _BURIED_M:
        reasons.append("Things along its walls that are drawn as walls were taken for furniture, by the printed area.")
    whole, unread = 1.0, []
    if not openings and evidence.names:
        whole, unread = 1.0 - _SHUT, ["No opening leads into it."]
    if evidence.loose_swings:
        whole *= 1.0 - _LOOSE
        unread.append(f"Door swings at its walls that fit no opening: {evidence.loose_swings}.")
    if evidence.faint > _FAINT_M:
        whole *= 1.0 - _UNTOLD
        unread.append(f"{evidence.faint:.1f} m of a side are drawn in a thinner pen than its walls: a door or a front.")
    if evidence.untold > _UNTOLD_M:
        whole *= 1.0 - _UNTOLD
        unread.append(
            f"{evidence.untold:.1f} m of lines on a layer for doors or windows stand in its walls, in no opening."
        )
    doubtful = [opening for opening in openings if opening.confidence < SURE]
    whole *= math.prod(opening.confidence for opening in doubtful)
    for reason, count in Counter(opening.reason for opening in doubtful).items():
        told = "An opening is doubtful" if count == 1 else f"{count} openings are doubtful"
        unread.append(f"{told}: {reason}.")
    taken = (_PULLED_DOWN,) if evidence.has_removed else ()
    return Verdict(
        confidence=round(outline * whole, 3),
        outline=round(outline, 3),
        reasons=(f"The walls were read from {_WORDS[evidence.style]}.", *reasons, *unread, *taken),
        unread=tuple(unread),
        taken=taken,
    )


def _overlap(openings: Sequence[TracedOpening]) -> bool:
    """Tell whether two openings of a room lie over one another along its outline."""
    along = sorted(openings, key=lambda opening: opening.at)
    return any(b.at - a.at < (a.width + b.width) / 2 - 0.5 * min(a.width, b.width) for a, b in pairwise(along))


def _by_area(outline: float, evidence: Evidence) -> tuple[float, list[str]]:
    """Weigh an outline by the areas that are printed in it; return its trust, and what is told of them."""
    if not evidence.printed:
        return outline, []
    each = [(area,) for area in evidence.printed]  # or all together: those of rooms that are open to one another
    nearest = min([*each, evidence.printed], key=lambda own: abs(sum(own) / evidence.area - 1.0))
    told = " + ".join(f"{area:.1f}" for area in nearest)
    if abs(sum(nearest) / evidence.area - 1.0) <= AGREES:
        if len(nearest) == 1:  # what parts several, such as glass, may be drawn otherwise than the walls
            outline = max(outline, _AGREED * (1.0 - _jagged(evidence)))  # spurs of no area are long all the same
        return outline, [f"The {told} m² printed in it agree with its outline."]
    if abs(sum(nearest) / (evidence.area + evidence.doorways) - 1.0) <= AGREES:
        words = f"The {told} m² printed in it agree with its outline and the floor in its doorways."
        return min(outline, _FITTED), [words]
    words = f"{told} m² are printed in it, its outline holds {evidence.area:.1f} m²."
    return outline * (1.0 - _DISAGREES), [words]


def _jagged(evidence: Evidence) -> float:
    """Return the share of confidence that short sides cost."""
    return min(_JAGGED_MOST, _JAGGED * evidence.short_edges)


_PULLED_DOWN = "Walls in it are to be pulled down, by their yellow fill or their layer: it was taken as one room."


_WORDS: dict[Style, str] = {
    "shown": "what was shown as a wall",
    "layer": "layers named for walls",
    "poché": "filled shapes",
    "outline": "pairs of lines",
    "heavy line": "single heavy lines",
    "line": "single lines, and how thick they are is not drawn",
}
