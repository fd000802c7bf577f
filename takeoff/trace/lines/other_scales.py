"""Plans on one sheet that are drawn at a scale of their own, told by the written scale that stands nearest to them."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import Polygon

from takeoff.model.plan import Calibration
from takeoff.sheet.scales import ratio_text
from takeoff.sheet.text import ScaleNote, TextLine, scale_notes

_APART = 0.02
"""Part by which two scales differ that are two: more than paper shrinks (judgement, no source)."""
_TOGETHER = 2.0
"""Metres within which rooms belong to one plan (judgement, no source)."""
DOUBTED = 0.3
"""The most that such a room is trusted: the other scale is the likelier one (judgement, no source)."""
_NEARER = 0.7
"""How much nearer the other scale must stand than one that agrees (judgement, no source)."""


def at_other_scales(shapes: Sequence[Polygon], lines: Sequence[TextLine], calibration: Calibration) -> list[str]:
    """Say of each room by what it seems to be drawn at another scale than the sheet's; empty where nothing says so.

    Parameters
    ----------
    shapes
        The rooms in sheet points.
    lines, calibration
        The sheet's text, and the scale that its rooms were read at. Where no written scale agrees with that, the sheet
        is one plan printed at another size, and it says nothing of single rooms.
    """
    said = [""] * len(shapes)
    notes = scale_notes(list(lines))
    own = [note for note in notes if abs(note.m_per_pt / calibration.mx - 1.0) <= _APART]
    others = [note for note in notes if note not in own]
    if not (own and others and shapes):
        return said
    reach = _TOGETHER / 2.0 / calibration.mx
    plans = shapely.get_parts(shapely.union_all(shapely.buffer(list(shapes), reach, join_style="mitre")))
    tree = shapely.STRtree(plans)
    words = [_words(plan, own, others, calibration) for plan in plans.tolist()]
    for n, shape in enumerate(shapes):
        said[n] = words[int(tree.nearest(shape.representative_point()))]
    return said


def _words(plan: Polygon, own: Sequence[ScaleNote], others: Sequence[ScaleNote], calibration: Calibration) -> str:
    def off(note: ScaleNote) -> float:
        return float(plan.distance(shapely.box(*note.box_pt)))

    nearest = min(others, key=off)
    if off(nearest) >= _NEARER * min(map(off, own)):
        return ""
    return f"“{nearest.text}” stands nearest to it, and the sheet is measured at {ratio_text(calibration.mx)}"
