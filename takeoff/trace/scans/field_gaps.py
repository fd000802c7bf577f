"""What the network missed in the gaps between walls: openings that show little, and breaks in what was drawn.

Coordinates are pixels of the field, pixel edges counted from 0.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Polygon

from takeoff.trace.drawing.linework import Floats
from takeoff.trace.lines.gaps import find_gaps
from takeoff.trace.lines.wall_material import THICK, THIN
from takeoff.trace.lines.wall_openings import CASED
from takeoff.trace.scans.field_bands import within
from takeoff.trace.scans.field_openings import FieldOpening, outside_by
from takeoff.trace.scans.field_outlines import Ring
from takeoff.trace.scans.wall_network import M_PER_PX, OPEN, PASSAGE, WallField

_BREAK = 0.4
"""Metres; a shorter gap in a wall is no opening."""
_FREE = 3.0 / M_PER_PX
"""Pixels; what is less long round is a column, not a wall with ends."""


def openings_in_gaps(
    field: WallField, rings: Sequence[Ring], openings: Sequence[FieldOpening]
) -> tuple[list[FieldOpening], list[Floats]]:
    """Find what the network missed in gaps between walls.

    Returns
    -------
    openings
        In gaps as wide as a door that show little or nothing: each with the chance that the network leaves it.
    breaks
        Strips of wall, as rings of corners, that are too short for an opening: there the network lost the wall.
    """
    solid = [Polygon(r.points).buffer(0) for r in rings if not r.is_hole]
    rooms = [Polygon(r.points).buffer(0) for r in rings if r.is_hole]
    walls = [s for s in solid if s.length > _FREE]
    material = shapely.difference(shapely.union_all(walls), shapely.union_all(rooms))
    found: list[FieldOpening] = []
    breaks: list[Floats] = []
    for gap in find_gaps(material, M_PER_PX, thin=0.6 * THIN, thick=THICK, least=0.02):
        is_known = any(outside_by(np.array(gap.middle_pt), o) == 0.0 for o in openings)
        if gap.loose > 2 or gap.between_stubs or is_known:
            continue
        width = gap.width_pt * M_PER_PX
        left, right = np.array(gap.left_pt), np.array(gap.right_pt)
        strip = np.concatenate([left, right[::-1]])
        if width < _BREAK:
            breaks.append(strip)
            continue
        middle = shapely.affinity.scale(Polygon(strip), 0.7, 0.7)
        seen = np.array([within(row, middle).mean(dtype=float) for row in field.chances])
        chance = float(seen[list(OPEN)].sum())
        row = OPEN[int(np.argmax(seen[list(OPEN)]))] if chance > 0.15 else PASSAGE
        if width < CASED or chance > 0.15:
            found.append(FieldOpening(left=left, right=right, row=row, chance=0.5 * chance))
    return found, breaks
