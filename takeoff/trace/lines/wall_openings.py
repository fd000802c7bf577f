"""Openings in walls: which gaps are doors, windows or passages, by what is drawn in them, with a confidence.

A bare gap from a wall's end to a column, a pier or the face of another wall tells nothing by itself: a pilaster looks
at a wall too. It is taken where it parts a room with a name of its own from others, or from the outside. Whether a door
hangs in it stays an open point; the outline does not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.model.plan import Point
from takeoff.model.walls import OpeningKind
from takeoff.trace.drawing.looks import pens_of
from takeoff.trace.drawing.polygons import as_wide, box_sides, joined, polygons_of
from takeoff.trace.lines.gap_contents import FRAME, Drawn, read_drawn
from takeoff.trace.lines.gaps import Gap
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.swings import Swing
from takeoff.trace.texts.room_names import groups_of_names

Form = Literal["swing", "double", "sliding", "pocket", "bi-fold", "roll-up", "cased", "window", "pass-through"]

CASED = 1.35
"""Metres; a bare gap up to this width is taken for a cased opening, a wider one for rooms open to one another."""
SLOT, SLOT_SURE = 0.55, 0.6
"""Metres, and the confidence of a bare gap that is narrower: nobody walks through it (common practice, no source)."""
STUBS = 2.5
"""Metres; between two pilasters a wider gap is taken for the room that they stand in."""
_PILASTER = 0.28
"""Metres; stubs as wide as this are pilasters, between which no bare gap is an opening, and not the nibs of a wall."""
POCKET = 1.7
"""Metres; the widest leaf that runs into a wall (common practice, no source)."""
BARE = 0.93
"""The confidence of a bare gap."""
LEAST_AREA, LEAST_WIDTH = 0.7, 0.55
"""Square metres and metres; what is smaller or narrower is a shaft or a cavity (common practice, no source)."""
_AT_HOME = 0.25
"""Metres from an opening within which a door's hinge is that opening's (judgement)."""
_FRAMES = 0.17
"""Metres by which the two sides of a frame may narrow a gap while the leaf is drawn over them (measured: 0.152)."""
_AT_FACE, _FRAMED = 0.75, 3
"""Offset from which a line runs at a face, and how many there are the frame of a window set into it (judgement)."""
_LEAF_OUT = 0.05
"""Metres before a wall's face at which a leaf may hang (common practice, no source)."""
_PEN, _HUNG = 3, 0.75
"""Door swings up to which a pen tells nothing, and the share of a pen's swings that hang at doors from which it draws
those of this storey: as few as the rest do by chance where another storey's doors show (measured: 2 of 60)."""
_BESIDE_DOOR: frozenset[Form] = frozenset(("window", "cased", "pass-through", "sliding", "roll-up"))
_BARE: frozenset[Form] = frozenset(("cased", "pass-through", "roll-up", "sliding"))
_KIND: dict[Form, OpeningKind] = {"window": "window", "pass-through": "pass-through"}
PARTING = 0.7
"""The confidence of what may be something else, such as a bare gap that parts rooms: never taken without a look."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundOpening:
    """An opening in a wall: its gap, its form, a confidence in 0..1 and the reason for it.

    ``is_told`` says whether its layer, or how a leaf hangs, tells a window from a door that is drawn shut or slides;
    ``has_sill`` whether lines run along a face of the wall too. ``lines_pt`` are how far what runs from jamb to jamb
    between the wall's faces lies from its middle, in sheet points, ``leaves`` the rows of the scene's pieces that are
    leaves without a swing.
    """

    gap: Gap
    form: Form
    confidence: float
    reason: str
    is_told: bool = False
    has_sill: bool = False
    lines_pt: tuple[float, ...] = ()
    leaves: tuple[int, ...] = ()

    @property
    def kind(self) -> OpeningKind:
        """The kind that the model knows it as."""
        return _KIND.get(self.form, "door")


def find_openings(
    gaps: Sequence[Gap], material: Geometry, low: Geometry, scene: Scene, swings: Sequence[Swing]
) -> tuple[FoundOpening, ...]:
    """Decide which gaps are openings; a gap that is none is left to be open between two rooms.

    ``material`` is the area of the walls that the gaps are in. ``low`` is the area of walls of partial height: a gap
    that such a wall fills is a pass-through.
    """
    pieces = scene.pieces
    is_line = scene.linework.stroked[pieces.path] & ~scene.is_note & ~scene.is_symbol
    rows = np.flatnonzero(is_line)
    tree = shapely.STRtree(shapely.linestrings(pieces.segments[rows].reshape(-1, 2, 2)))
    found = []
    words = shapely.STRtree(scene.words)
    hung = [[s for s in swings if _fits(s, gap, scene)] for gap in gaps]
    closed = shapely.union_all([material, *(gap.band for gap in gaps if gap.is_capped)])
    at_home = {s.row for gap, own in zip(gaps, hung, strict=True) if _fill(own, gap, scene) for s in own}
    for gap, hanging in zip(gaps, hung, strict=True):
        drawn = read_drawn(gap, material, closed, scene, rows, tree)
        drawn = replace(drawn, leaves=()) if swings else drawn  # an office draws its leaves in one way
        if not _fill(hanging, gap, scene):
            hanging = [s for s in hanging if s.row not in at_home]
        if not hanging and low.intersection(gap.band).area > 0.7 * gap.band.area:
            opening: FoundOpening | None = FoundOpening(
                gap=gap, form="pass-through", confidence=0.97, reason="a wall of partial height fills the gap"
            )
        else:
            opening = _decide(gap, drawn, hanging, scene)
            if opening is not None and opening.form in _BESIDE_DOOR and any(_stands_in(s, gap, scene) for s in swings):
                reason = f"{opening.reason}, but a door swing stands in a part of it"
                opening = replace(opening, confidence=min(opening.confidence, PARTING), reason=reason)
        if opening is not None and not (opening.form in _BARE and _is_written(gap, words)):
            found.append(opening)
    return _between_walls(_apart(found), material) if found else ()


def closed_by(
    walls: Sequence[Geometry], openings: Sequence[FoundOpening], scene: Scene
) -> tuple[Geometry, list[tuple[Polygon, list[Polygon]]]]:
    """Close walls by their openings: return their area with those, and the rooms in it with what stands in each."""
    closed = joined([*walls, *(o.gap.band for o in openings)], scene.pt(0.01))
    parts = polygons_of(closed)
    standing = shapely.STRtree(parts)
    least, narrow = LEAST_AREA * scene.pt(1.0) ** 2, scene.pt(LEAST_WIDTH)
    holes = [Polygon(ring) for part in parts for ring in part.interiors]
    shapes = [h for h, fits in zip(holes, as_wide(holes, narrow), strict=True) if fits and h.area >= least]
    return closed, [(shape, [parts[i] for i in standing.query(shape, predicate="contains")]) for shape in shapes]


def loose_swings(swings: Sequence[Swing], openings: Sequence[FoundOpening], scene: Scene) -> list[Swing]:
    """Return the door swings that hang at no door."""
    hinges = shapely.points(np.array([s.hinge_pt for s in swings]).reshape(-1, 2))
    doors = shapely.union_all([o.gap.band for o in openings if o.kind == "door"])
    off = shapely.distance(hinges, doors)
    return [s for s, away in zip(swings, off, strict=True) if not away < scene.pt(_AT_HOME)]


def without_foreign(swings: Sequence[Swing], openings: Sequence[FoundOpening], scene: Scene) -> list[Swing]:
    """Leave out door swings of a pen whose swings hang at no doors, where another's do: those of a storey below."""
    _, number = np.unique(pens_of(scene.linework), axis=0, return_inverse=True)
    pen = number.ravel()[scene.linework.arc_path[[s.row for s in swings]]] if swings else np.zeros(0, np.int64)
    loose = {s.row for s in loose_swings(swings, openings, scene)}
    count = np.maximum(np.bincount(pen), _PEN)
    hung = np.bincount(pen[[s.row not in loose for s in swings]], minlength=len(count)) / count
    is_own = (hung > 1 - _HUNG) | (count == _PEN) | ~(hung > _HUNG).any()
    return [s for s, own in zip(swings, is_own[pen].tolist(), strict=True) if own]


def _is_written(gap: Gap, words: shapely.STRtree) -> bool:
    """Tell whether words stand in a gap: then it is rather a room, unless glass or a leaf fills it."""
    return len(words.query(gap.band.buffer(-0.1 * gap.thickness_pt), predicate="contains")) > 0


def _fits(swing: Swing, gap: Gap, scene: Scene) -> bool:
    """Tell whether a swing's leaf hangs at one of a gap's jambs and shuts into it."""
    slack = scene.pt(FRAME) + 0.04 * gap.width_pt
    leaves = (swing.radius_pt, 2 * swing.radius_pt)
    widest = _widest(gap, scene)
    if not any(0.8 * gap.width_pt < s < widest for s in leaves) and not 0.3 < swing.radius_pt / gap.width_pt < 0.75:
        return False
    at_jamb = min(_distance(swing.hinge_pt, (gap.left_pt[i], gap.right_pt[i])) for i in (0, 1)) <= slack
    band = gap.band
    return at_jamb and min(band.distance(shapely.Point(end)) for end in swing.shuts_at_pt) <= slack


def _stands_in(swing: Swing, gap: Gap, scene: Scene) -> bool:
    """Tell whether the leaf of a swing shuts within a gap, as one does beside a window without a post between."""
    lines = shapely.linestrings([[swing.hinge_pt, end] for end in swing.shuts_at_pt])
    inside = shapely.length(shapely.intersection(lines, gap.band.buffer(scene.pt(_LEAF_OUT), join_style="mitre")))
    return bool(swing.has_leaf and inside.max() > 0.9 * swing.radius_pt)


def _closes_both_faces(drawn: Drawn) -> bool:
    """Tell whether lines from jamb to jamb go on along both faces of the wall, which lines of tiles seldom do."""
    return all((np.abs(drawn.spanning - face) < 0.06).any() for face in (-1.0, 1.0))


def _widest(gap: Gap, scene: Scene) -> float:
    """Return the widest leaf that shuts a gap, in sheet points: drawn over both sides of a frame that narrows it."""
    return max(1.15 * gap.width_pt, gap.width_pt + scene.pt(_FRAMES))


def _fill(swings: Sequence[Swing], gap: Gap, scene: Scene) -> bool:
    """Tell whether one leaf or two close a gap."""
    leaves = sum(s.radius_pt for s in swings)
    return len(swings) in (1, 2) and 0.8 * gap.width_pt < leaves < _widest(gap, scene)


def _distance(point: Point, line: tuple[Point, Point]) -> float:
    return float(shapely.LineString(line).distance(shapely.Point(point)))


def _decide(gap: Gap, drawn: Drawn, swings: Sequence[Swing], scene: Scene) -> FoundOpening | None:
    width = gap.width_pt * scene.m_per_pt
    is_named = bool(drawn.roles & {"glazing", "door"})
    inner = drawn.spanning[np.abs(drawn.spanning) < 0.8]

    def found(form: Form, confidence: float, reason: str, *, is_told: bool = is_named) -> FoundOpening:
        if gap.between_stubs and not swings:
            confidence, reason = min(confidence, 0.75), f"{reason}, but it lies between what may be pilasters"
        return FoundOpening(
            gap=gap,
            form=form,
            confidence=confidence,
            reason=reason,
            is_told=is_told,
            has_sill=drawn.sill,
            lines_pt=tuple((inner * gap.thickness_pt / 2).tolist()),
        )

    if len(swings) == 1 and _fill(swings, gap, scene):
        return found("swing", 0.99 if swings[0].has_leaf else 0.95, "a door swing fits the gap")
    if len(swings) == 2 and _fill(swings, gap, scene):
        return found("double", 0.99, "two door swings fit the gap")
    if swings and gap.loose < 2:
        return found("swing" if len(swings) == 1 else "double", 0.8, "a door swing stands in a gap of another width")
    if drawn.leaves and gap.loose < 3 and not len(inner):
        form: Form = "swing" if len(drawn.leaves) == 1 else "double"
        rows = tuple(np.concatenate(drawn.leaves).tolist())
        return replace(found(form, 0.95, "a leaf as wide as the gap stands open in it"), leaves=rows)
    if gap.loose > 2 and not drawn.roles & {"door", "glazing"}:
        return None
    is_pilaster = gap.between_stubs and gap.thickness_pt > scene.pt(_PILASTER)
    if gap.between_stubs and (width > STUBS or (is_pilaster and not gap.is_capped)):
        return None
    if drawn.folds:
        return found("bi-fold", 0.95, "pairs of leaves that fold stand at its jambs")
    if drawn.pockets and width < POCKET:
        return found("pocket", 0.93, "a leaf as wide as the gap runs into the wall")
    if drawn.hangs and not len(inner):
        return found("sliding", 0.9, "a leaf hangs beside the wall in front of it", is_told=True)
    if gap.loose >= 2 and not gap.is_capped and not _closes_both_faces(drawn):
        return None
    if sorted(drawn.hoods) in ([0, 1], [0, 2]) and len(drawn.spanning) <= 1 and width > 1.5:
        return found("roll-up", 0.92, "dashed lines of a hood stand on one side of the gap")
    is_door = "door" in drawn.roles
    is_framed = gap.is_capped or width < 3.0 or _closes_both_faces(drawn)
    if len(inner) and not is_door and is_framed:
        return found("window", 0.98 if len(drawn.spanning) > 1 else 0.93, "lines of glass run from jamb to jamb")
    if "glazing" in drawn.roles and (len(drawn.spanning) or len(drawn.partial)):
        return found("window", 0.95, "its lines are on a layer for glazing")
    at_face = max((drawn.spanning > _AT_FACE).sum(), (drawn.spanning < -_AT_FACE).sum())
    if at_face >= _FRAMED and not is_door:
        return found("window", 0.93, "the lines of a frame run from jamb to jamb at one face")
    if len(drawn.partial) >= 2 and drawn.reaches and width < 6.0 and gap.is_capped:
        return found("sliding", 0.9, "leaves lie side by side in the gap")
    if len(inner) and is_door:
        return found("sliding", 0.9, "its lines are on a layer for doors")
    if len(drawn.dashed):
        return found("roll-up" if width > 1.8 else "cased", 0.92, "dashed lines run from jamb to jamb")
    if all(drawn.hoods) and len(drawn.spanning):
        return found("pass-through", 0.95, "lines run along the faces, dashed ones beside them")
    if len(drawn.spanning):
        return found("pass-through", 0.85, "lines run along the faces from jamb to jamb")
    if gap.loose >= 2 or is_pilaster or not gap.is_capped or width > CASED:
        return None
    if width < SLOT:
        return found("cased", SLOT_SURE, "a bare gap narrower than a door")
    if gap.loose:
        return found("cased", 0.75, "a bare gap as wide as a door, but it lies beside what may be a column")
    return found("cased", BARE, "a bare gap as wide as a door")


def _between_walls(found: Sequence[FoundOpening], material: Geometry) -> tuple[FoundOpening, ...]:
    """Drop openings without a leaf of which one side is small and stands free otherwise, such as a column.

    Where it is a piece of wall the opening stays, in doubt: glass may go on behind it that was not read.
    """
    parts = polygons_of(material)
    largest = max((part.length for part in parts), default=0.0)
    bands = [o.gap.band.buffer(0.05 * o.gap.thickness_pt) for o in found]
    which, sides = shapely.STRtree(parts).query(bands, predicate="intersects")
    uses = np.bincount(sides, minlength=len(parts))
    kept: list[FoundOpening] = []
    for i, opening in enumerate(found):
        small = min(16 * opening.gap.thickness_pt, 0.1 * largest)
        free = [parts[j] for j in sides[which == i] if uses[j] == 1 and parts[j].length < small]
        if opening.form in ("swing", "double", "pocket", "bi-fold") or not free:
            kept.append(opening)
        elif opening.form == "window" and all(map(_is_pier, free)):
            reason = f"{opening.reason}, but the wall on one side stands free"
            kept.append(replace(opening, confidence=min(opening.confidence, PARTING), reason=reason))
    return tuple(kept)


def _is_pier(part: Polygon) -> bool:
    """Tell whether a part is a piece of wall, three times as long as thick and more, and no column."""
    sides = box_sides(shapely.minimum_rotated_rectangle(part))
    return bool(sides.max() > 3 * sides.min())


def _apart(found: Sequence[FoundOpening]) -> tuple[FoundOpening, ...]:
    """Of openings that cover one another keep the surest."""
    kept: list[tuple[FoundOpening, Polygon]] = []
    for opening in sorted(found, key=lambda o: (-o.confidence, o.gap.width_pt)):
        band = opening.gap.band
        if all(band.intersection(other).area < 0.2 * min(band.area, other.area) for _, other in kept):
            kept.append((opening, band))
    return tuple(opening for opening, _ in kept)


def parting_gaps(
    gaps: Sequence[Gap],
    openings: Sequence[FoundOpening],
    walls: Sequence[Geometry],
    rooms: Sequence[Polygon],
    scene: Scene,
) -> tuple[FoundOpening, ...]:
    """Return the gaps as wide as a door that are no openings by what is drawn in them, and part rooms.

    ``gaps`` are all gaps in the walls, ``openings`` what is known of them, ``walls`` the areas of the walls in sheet
    points, ``rooms`` those that walls and openings close.
    """
    taken = shapely.union_all([o.gap.band for o in openings])
    shapely.prepare(taken)
    bare = [
        FoundOpening(
            gap=gap,
            form="cased",
            confidence=PARTING,
            reason="a bare gap as wide as a door, between a wall's end and a column or the face of a wall",
        )
        for gap in gaps
        if gap.loose < 3
        and SLOT <= gap.width_pt * scene.m_per_pt <= CASED
        and taken.intersection(gap.band).area < 0.2 * gap.band.area
    ]
    if not bare or not scene.names:
        return ()
    _, parted = closed_by(walls, [*openings, *bare], scene)
    known = shapely.STRtree(rooms)
    fresh = [
        shape
        for shape, _ in parted
        if groups_of_names(shape, scene.names) == 1
        and all(
            groups_of_names(rooms[i], scene.names) != 1
            for i in known.query(shape.representative_point(), predicate="within")
        )
    ]
    bands = shapely.STRtree([o.gap.band for o in bare])
    touching = bands.query(fresh, predicate="dwithin", distance=scene.pt(0.02))[1] if fresh else ()
    return tuple(bare[i] for i in sorted(set(touching)))
