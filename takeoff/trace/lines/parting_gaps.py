"""Bare gaps that part rooms: from a wall's end to a column, a pier or the face of another wall, nothing drawn in them.

Such a gap tells nothing by itself: a pilaster looks at a wall too. It is taken where it parts a room with a name of its
own from others, or from the outside. Whether a door hangs in it stays an open point; the outline does not.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import Geometry, Polygon

from takeoff.trace.lines.gaps import Gap
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.wall_openings import CASED, SLOT, FoundOpening, closed_by
from takeoff.trace.texts.room_names import groups_of_names

CONFIDENCE = 0.7
"""The confidence of such an opening: below what is taken without a look."""


def parting_gaps(
    gaps: Sequence[Gap],
    openings: Sequence[FoundOpening],
    walls: Sequence[Geometry],
    rooms: Sequence[Polygon],
    scene: Scene,
) -> tuple[FoundOpening, ...]:
    """Return the gaps as wide as a door that are no openings by what is drawn in them, and part rooms.

    Parameters
    ----------
    gaps, openings
        All gaps in the walls, and what is known of them.
    walls
        The areas of the walls in sheet points.
    rooms
        The rooms that walls and openings close.
    scene
        The sheet, for the names of rooms.
    """
    taken = shapely.union_all([o.gap.band for o in openings])
    shapely.prepare(taken)
    bare = [
        FoundOpening(
            gap=gap,
            form="cased",
            confidence=CONFIDENCE,
            reason="a bare gap as wide as a door, between a wall's end and a column or the face of a wall",
        )
        for gap in gaps
        if SLOT <= gap.width_pt * scene.m_per_pt <= CASED and taken.intersection(gap.band).area < 0.2 * gap.band.area
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
