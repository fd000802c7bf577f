"""Views on one sheet that are no plan or have a scale of their own, told by what is written nearest to them."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import Polygon

from takeoff.model.plan import Calibration
from takeoff.sheet.frame import Box
from takeoff.sheet.scales import ratio_text
from takeoff.sheet.text import TextLine, scale_notes
from takeoff.sheet.uses import headings_of

_APART = 0.02
"""Part by which two scales differ that are two: more than paper shrinks (judgement, no source)."""
_TOGETHER = 2.0
"""Metres within which rooms belong to one plan (judgement, no source)."""
DOUBTED = 0.3
"""The most that such a room is trusted: the other scale is the likelier one (judgement, no source)."""
_NEARER = 0.7
"""How much nearer the other scale or title must stand than one that agrees (judgement, no source)."""
Written = list[tuple[Box, str]]
"""What is written on a sheet, each with its box in sheet points."""


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
    own: Written = []
    others: Written = []
    for note in scale_notes(list(lines)):
        agrees = abs(note.m_per_pt / calibration.mx - 1.0) <= _APART
        (own if agrees else others).append((note.box_pt, note.text))
    told = f"stands nearest to it, and the sheet is measured at {ratio_text(calibration.mx)}"
    return [words and f"{words} {told}" for words in _nearest(shapes, own, others, calibration)]


def in_other_views(shapes: Sequence[Polygon], lines: Sequence[TextLine], calibration: Calibration) -> list[str]:
    """Say of each room by what title it seems to lie in an elevation or a section beside a plan; empty where none does.

    Parameters as of `at_other_scales`.
    """
    headed = headings_of(lines)
    own = [(line.box_pt, line.text) for line, use in headed if use == "floor plan"]
    others = [(line.box_pt, line.text) for line, use in headed if use in ("elevation", "detail")]
    told = "is the title nearest to it, and no floor plan's"
    return [words and f"{words} {told}" for words in _nearest(shapes, own, others, calibration)]


def _nearest(shapes: Sequence[Polygon], own: Written, others: Written, calibration: Calibration) -> list[str]:
    """Return for each room the one of the ``others`` that stands nearest to its view, quoted; empty where none does."""
    if not (own and others and shapes):
        return [""] * len(shapes)
    reach = _TOGETHER / 2.0 / calibration.mx
    views = shapely.get_parts(shapely.union_all(shapely.buffer(list(shapes), reach, join_style="mitre")))
    boxes = [shapely.box(*box) for box, _ in (*own, *others)]
    said = []
    for view in views.tolist():
        off = shapely.distance(view, boxes)
        near = int(off[len(own) :].argmin())
        is_other = off[len(own) + near] < _NEARER * off[: len(own)].min()
        said.append(f"“{others[near][1]}”" if is_other else "")
    tree = shapely.STRtree(views)
    return [said[int(tree.nearest(shape.representative_point()))] for shape in shapes]
