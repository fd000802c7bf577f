"""Openings in walls: which gaps are doors, windows or passages, by what is drawn in them, with a confidence.

A bare gap from a wall's end to a column, a pier or the face of another wall tells nothing by itself: a pilaster looks
at a wall too. It is taken where it parts a room with a name of its own from others, or from the outside. Whether a door
hangs in it stays an open point; the outline does not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.trace.drawing.polygons import as_wide, joined, polygons_of
from takeoff.trace.lines.gap_contents import FRAME, read_drawn
from takeoff.trace.lines.gaps import MOST, Gap, gap_between
from takeoff.trace.lines.opening_forms import BARE, CASED, SLOT, Form, FoundOpening, decide, fills, fits, stands_in
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.swings import Swing
from takeoff.trace.lines.wall_areas import Walls
from takeoff.trace.lines.wall_material import JOIN
from takeoff.trace.texts.room_names import groups_of_names

LEAST_AREA, LEAST_WIDTH = 0.7, 0.55
"""Square metres and metres; what is smaller or narrower is a shaft or a cavity (common practice, no source)."""
_IN = 0.7
"""Share of a gap that is filled from which it is (judgement)."""
_AT_HOME = 0.25
"""Metres from an opening within which a door's hinge is that opening's (judgement)."""
_BESIDE_DOOR: frozenset[Form] = frozenset(("window", "cased", "pass-through", "sliding", "roll-up"))
PARTING = 0.7
"""The confidence of what may be something else, such as a bare gap that parts rooms: never taken without a look."""


def find_openings(
    gaps: Sequence[Gap], material: Geometry, walls: Walls, scene: Scene, swings: Sequence[Swing]
) -> tuple[FoundOpening, ...]:
    """Decide which gaps are openings; a gap that is none is left to be open between two rooms.

    ``material`` is the area of the walls that the gaps are in, ``walls`` what was read of them. A gap that a wall of
    partial height fills is a pass-through, one that is painted over a wall an opening of whatever width.
    """
    gaps = [*gaps, *_painted_gaps(walls, gaps, material, scene)]
    pieces = scene.pieces
    is_line = scene.linework.stroked[pieces.path] & ~scene.is_note & ~scene.is_symbol
    rows = np.flatnonzero(is_line)
    tree = shapely.STRtree(shapely.linestrings(pieces.segments[rows].reshape(-1, 2, 2)))
    found = []
    near: list[list[Swing]] = [[] for _ in gaps]
    hinges = shapely.points(np.array([s.hinge_pt for s in swings]).reshape(-1, 2))
    reach = scene.pt(FRAME + 0.04 * MOST)
    for i, k in shapely.STRtree([gap.band for gap in gaps]).query(hinges, "dwithin", reach).T.tolist():
        near[k].append(swings[i])
    hung = [[s for s in own if fits(s, gap, scene)] for own, gap in zip(near, gaps, strict=True)]
    closed = shapely.union_all([material, *(gap.band for gap in gaps if gap.is_capped)])
    shapely.prepare(closed)
    at_home = {s.row for gap, own in zip(gaps, hung, strict=True) if fills(own, gap, scene) for s in own}
    for gap, hanging, beside in zip(gaps, hung, near, strict=True):
        drawn = read_drawn(gap, material, closed, scene, rows, tree)
        drawn = replace(drawn, leaves=()) if swings else drawn  # an office draws its leaves in one way
        if not fills(hanging, gap, scene):
            hanging = [s for s in hanging if s.row not in at_home]
        if not hanging and _is_in(gap, walls.low):
            opening: FoundOpening | None = FoundOpening(
                gap=gap, form="pass-through", confidence=0.97, reason="a wall of partial height fills the gap"
            )
        else:
            opening = decide(gap, drawn, hanging, scene)
            if opening is None and _is_in(gap, walls.painted):
                opening = FoundOpening(gap=gap, form="cased", confidence=BARE, reason="it is painted over the wall")
            if opening is not None and opening.form in _BESIDE_DOOR and any(stands_in(s, gap, scene) for s in beside):
                reason = f"{opening.reason}, but a door swing stands in a part of it"
                opening = replace(opening, confidence=min(opening.confidence, PARTING), reason=reason)
        if opening is not None:
            found.append(opening)
    return _apart(found)


def _painted_gaps(walls: Walls, gaps: Sequence[Gap], material: Geometry, scene: Scene) -> list[Gap]:
    """Return the gaps of openings that are painted over a wall up to a corner, where no end of it is left."""
    known = shapely.union_all([gap.band for gap in gaps])
    near = shapely.buffer(material, 2 * scene.pt(JOIN))
    found: list[Gap] = []
    for part in polygons_of(walls.painted):
        if known.intersection(part).area < _IN * part.area:
            a, b, c, d = shapely.get_coordinates(shapely.minimum_rotated_rectangle(part))[:4]
            pairs = [((a, b), (d, c)), ((b, c), (a, d))]
            free = [shapely.length(shapely.difference(shapely.linestrings(pair), near)).sum() for pair in pairs]
            found.append(gap_between(*pairs[int(np.argmax(free))], is_capped=True))
    return found


def _is_in(gap: Gap, area: Geometry) -> bool:
    return bool(area.intersection(gap.band).area > _IN * gap.band.area)


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
    """Return the door swings that hang at no door: none is near, or others fit what is."""
    doors = [o.gap for o in openings if o.kind == "door"]
    hinges = shapely.points(np.array([s.hinge_pt for s in swings]).reshape(-1, 2))
    pairs = shapely.STRtree([gap.band for gap in doors]).query(hinges, "dwithin", scene.pt(_AT_HOME)).T.tolist()
    fitting = {(s, k) for s, k in pairs if fits(swings[s], doors[k], scene)}
    shut = {k for _, k in fitting}
    at_home = {s for s, k in pairs if (s, k) in fitting or k not in shut}
    return [swing for i, swing in enumerate(swings) if i not in at_home]


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
