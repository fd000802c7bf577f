"""A second look at vector sheets whose lines are not clear: their picture is read as a scan's would be."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from shapely import Polygon

from takeoff.model.plan import Calibration, Sheet
from takeoff.sheet.frame import displayed_size
from takeoff.sheet.render import render_array
from takeoff.sheet.text import TextLine
from takeoff.trace.linework import Linework
from takeoff.trace.raster_plan import read_raster_plan
from takeoff.trace.rooms import TracedPlan, TracedRoom, read_plan
from takeoff.trace.wall_network import M_PER_PX

_CLEAR = 0.7
"""The share of sure rooms from which the lines of a sheet are clear."""
_LARGEST = 30e6
"""Pixels of the network's picture; larger sheets get no second look, which would take minutes."""
_SAME, _INSIDE, _BESIDE = 0.9, 0.5, 0.2
"""Shares of areas: two readings of one room; a room that lies in another; a room that lies beside all others."""


def read_vector_plan(
    data: bytes, linework: Linework, lines: Sequence[TextLine], sheet: Sheet, calibration: Calibration
) -> TracedPlan:
    """Read the rooms of a vector sheet from its lines, and from its picture too where the lines leave most in doubt.

    Parameters
    ----------
    data
        The file's bytes.
    linework, lines
        What is drawn and written on the sheet.
    sheet, calibration
        The sheet and its scale.

    Returns
    -------
    TracedPlan
        As by `takeoff.trace.rooms.read_plan`; rooms that were read from the picture are never sure.

    Raises
    ------
    SheetError
        When the picture cannot be drawn.
    """
    plan = read_plan(linework, lines, sheet, calibration)
    across, down = displayed_size(sheet)
    m_per_pt = math.sqrt(calibration.mx * calibration.my)
    if across * down * (m_per_pt / M_PER_PX) ** 2 > _LARGEST:
        return plan

    def look() -> TracedPlan:
        dpi = min(300.0, max(72.0, 72.0 * 2.0 * m_per_pt / M_PER_PX))
        return read_raster_plan(render_array(data, sheet, dpi=dpi), sheet, calibration, lines)

    return with_second_look(plan, look)


def with_second_look(plan: TracedPlan, look: Callable[[], TracedPlan]) -> TracedPlan:
    """Return a plan with what a second reading found where the first was in doubt.

    A sure room stays as it is. A doubtful one gives way to those that the second reading has in its place, unless both
    have it alike. Rooms that only the second reading has are added.
    """
    if plan.rooms and sum(r.sure for r in plan.rooms) >= _CLEAR * len(plan.rooms):
        return plan
    seen = look()
    kept: list[tuple[TracedRoom, Polygon]] = []
    for room, shape in zip(plan.rooms, plan.shapes, strict=True):
        inside = [s for s in seen.shapes if s.intersection(shape).area > _INSIDE * s.area]
        if room.sure or not inside or any(_alike(s, shape) for s in inside):
            kept.append((room, shape))
    first = [shape for _, shape in kept]
    for room, shape in zip(seen.rooms, seen.shapes, strict=True):
        if all(shape.intersection(f).area < _BESIDE * min(shape.area, f.area) for f in first):
            reasons = ("The lines of the sheet were not clear.", *room.reasons)
            kept.append((replace(room, sure=False, reasons=reasons), shape))
    return TracedPlan(rooms=tuple(r for r, _ in kept), shapes=tuple(s for _, s in kept))


def _alike(one: Polygon, other: Polygon) -> bool:
    both = one.intersection(other).area
    return bool(both > _SAME * (one.area + other.area - both))
