"""A sheet's scale against the floor areas that are printed in rooms whose outlines are drawn.

Areas are rounded and measured to other faces, so they never make a scale sure: they bear out one that nothing else
does, speak against one, or propose one where the sheet has nothing better.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import replace

import shapely

from takeoff.actions.scale_basis import NOTHING, based, words_of
from takeoff.actions.traced_sheets import SheetTrace, read_drawn_sheet
from takeoff.errors import CalibrationError, TakeoffError
from takeoff.model.plan import Calibration, Sheet
from takeoff.sheet.calibrate import calibration_from_ratio
from takeoff.sheet.scales import ratio_of, ratio_text
from takeoff.trace.drawing.crowded import count_drawn
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.lines.plan_rooms import TracedPlan
from takeoff.trace.scales.signs import find_doors
from takeoff.trace.texts.printed_areas import AGREES, PrintedArea, read_printed_areas, scale_told

OTHER = 2 * AGREES
"""Share by which lengths are off from which areas speak against a scale: twice what rounding explains (judgement)."""
DOOR = 0.85
"""Metres that most doors are wide, to begin from (common practice, no source)."""
MOST_LINES = 25_000
"""Lines of a sheet that is traced to find its scale, at the most: some seconds (judgement)."""
TIMES, NEAR = 3, 0.12
"""How often a sheet is traced for that at the most, and the natural logarithm by which the scale may be off at which
walls were looked for: rooms keep their outlines (judgement)."""
UNIT_UNKNOWN = "the drawing says that its unit is"


def weighed_by_areas(trace: SheetTrace) -> Calibration | None:
    """Return the scale of a traced sheet as the areas printed in its rooms leave it; nothing where they say nothing."""
    plan, scale = next(((plan, scale) for region, scale, plan in trace.parts if region is None), (None, None))
    told = scale_told(_pairs(plan, read_printed_areas(trace.lines))) if plan is not None else None
    if scale is None or told is None:
        return None
    factor, count = told
    said, how, text = words_of(scale)
    if abs(math.log(factor)) <= AGREES / 2:
        if not said or not said.startswith((NOTHING, UNIT_UNKNOWN)):
            return None
        return based(scale, "measured", f"{scale.stated or text}; the areas printed in {count} rooms agree", (), ())
    against = f"the areas printed in {count} rooms give {ratio_text(factor * scale.mx)}"
    if abs(math.log(factor)) < OTHER or against in said:
        return None
    return based(scale, how, text, tuple(filter(None, (said, against))), (factor * scale.mx,))


def scale_from_areas(data: bytes, sheet: Sheet, areas: Sequence[PrintedArea], said: str = "") -> Calibration:
    """Propose the scale at which the rooms of a vector sheet have the areas that are printed in them.

    ``said`` is what was said where no scale was taken from what else the sheet shows. Raises `CalibrationError` when no
    three rooms agree on one.
    """
    nothing = CalibrationError("no three printed areas tell one scale", where=f"sheet {sheet.id}")
    if len(areas) < 3 or count_drawn(data, sheet) > MOST_LINES:
        raise nothing
    leaves = [width for *_, width in find_doors(read_linework(data, sheet))]
    around = shapely.MultiPoint([area.at_pt for area in areas]).convex_hull.area
    if not leaves and around <= 0.0:
        raise nothing
    scale = DOOR / statistics.median(leaves) if leaves else math.sqrt(sum(a.area for a in areas) / 2.0 / around)
    for _ in range(TIMES):
        tried = Calibration(sheet=sheet.id, mx=scale, my=scale)
        try:
            told = scale_told(_pairs(read_drawn_sheet(data, sheet, [tried], {}).parts[0][2], areas))
        except TakeoffError:
            raise nothing from None
        if told is None:
            raise nothing
        scale *= told[0]
        if abs(math.log(told[0])) < NEAR:
            made = calibration_from_ratio(sheet.id, ratio_of(scale))
            u = AGREES / 2 / math.sqrt(told[1])
            unsure = f"the areas printed in {told[1]} rooms alone tell the scale: check it with a dimension"
            stated = f"the areas printed in {told[1]} rooms"
            doubts = (unsure, said) if said.startswith("the note") else (unsure,)
            return based(replace(made, u_scale=u, stated=stated), "measured", stated, doubts, ())
    raise nothing


def _pairs(plan: TracedPlan, printed: Sequence[PrintedArea]) -> list[tuple[float, float]]:
    """Return the printed area and that of the outline, in m², of each closed room in which one area is printed."""
    pairs = []
    for room, shape in zip(plan.rooms, plan.shapes, strict=True):
        own = [area.area for area in printed if shape.contains(shapely.Point(area.at_pt))]
        if len(own) == 1 and not room.leaks_pt and room.area > 0.0:
            pairs.append((own[0], room.area))
    return pairs
