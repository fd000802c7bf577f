"""Parts of a sheet that have a scale of their own."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import shapely

from takeoff.errors import InputError
from takeoff.job.job import Job
from takeoff.job.reshape import free_id
from takeoff.model.plan import Calibration, Point, ScaleRegion, Sheet
from takeoff.sheet.frame import Box

MadeScale = tuple[ScaleRegion | None, Calibration]
"""A scale that was read, and the part of the sheet that it is of; ``None`` for the sheet as a whole."""


def make_region(job: Job, sheet: Sheet, outline_pt: Sequence[Point], name: str = "") -> ScaleRegion:
    """Make a scale region from its outline in sheet points; without a name it is called after sheet and count.

    Raises `InputError` when the outline is no area, crosses itself, or the name belongs to a region of another sheet.
    """
    remedy = "Give three or more points X,Y around the detail, in order."
    if len(outline_pt) < 3:
        raise InputError(f"a scale region of {len(outline_pt)} points", remedy=remedy)
    outline = shapely.Polygon(outline_pt)
    if not outline.is_valid or outline.area == 0:
        raise InputError("the outline of the scale region crosses itself or has no area", remedy=remedy)
    if name in job.regions and job.regions[name].sheet != sheet.id:
        raise InputError(f'the scale region "{name}" is on sheet {job.regions[name].sheet}', remedy="Choose a name.")
    return ScaleRegion(id=name or free_id(job.regions, str(sheet.id)), sheet=sheet.id, outline_pt=tuple(outline_pt))


def find_region(job: Job, sheet: Sheet, name: str) -> ScaleRegion:
    """Return a scale region of a sheet by its name."""
    found = job.regions.get(name)
    if found is None or found.sheet != sheet.id:
        known = ", ".join(r.id for r in job.regions.values() if r.sheet == sheet.id) or "none"
        raise InputError(
            f'sheet {sheet.id} has no scale region "{name}"',
            remedy=f'Known: {known}. Outline a new one as "X1,Y1 X2,Y2 X3,Y3".',
        )
    return found


def free_region(sheet: Sheet, box: Box, there: Collection[str], made: Sequence[MadeScale]) -> ScaleRegion:
    """Make a region of a box, with an id that no other has."""
    x0, y0, x1, y1 = box
    taken = {*there, *(region.id for region, _ in made if region is not None)}
    return ScaleRegion(
        id=free_id(taken, str(sheet.id)), sheet=sheet.id, outline_pt=((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    )
