"""The name that a drawing prints in a room that was traced by hand."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from takeoff.model.plan import Point
from takeoff.sheet.text import TextLine
from takeoff.trace.texts.room_names import room_label


def printed_name(lines: Sequence[TextLine], outline_pt: Sequence[Point]) -> tuple[str, str]:
    """Return the name and the number that stand inside an outline of sheet points; empty where none is read."""
    outline = shapely.Polygon(outline_pt)
    return room_label(outline if outline.is_valid else outline.convex_hull, lines)
