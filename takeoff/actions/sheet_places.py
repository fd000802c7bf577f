"""Parts of a sheet that have a scale of their own, and points that commands take: in rooms, at dimensions and texts."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import shapely

from takeoff.actions.given import SAG_PT
from takeoff.errors import InputError
from takeoff.job.job import Job
from takeoff.job.reshape import free_id
from takeoff.job.store import JobStore
from takeoff.model.plan import Calibration, Point, ScaleRegion, Sheet
from takeoff.sheet.frame import Box, sheet_to_displayed
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.scales.dimensions import find_dimensions

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
        raise InputError(
            f'the scale region "{name}" is on {job.sheets[job.regions[name].sheet].called}', remedy="Choose a name."
        )
    return ScaleRegion(id=name or free_id(job.regions, str(sheet.id)), sheet=sheet.id, outline_pt=tuple(outline_pt))


def find_region(job: Job, sheet: Sheet, name: str) -> ScaleRegion:
    """Return a scale region of a sheet by its name."""
    found = job.regions.get(name)
    if found is None or found.sheet != sheet.id:
        known = ", ".join(r.id for r in job.regions.values() if r.sheet == sheet.id) or "none"
        raise InputError(
            f'{sheet.called} has no scale region "{name}"',
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where something is on a sheet: a point inside a traced room, both ends of a dimension, the middle of a text."""

    kind: Literal["room", "dimension", "text"]
    words: str
    points_pt: tuple[Point, ...]


def places_on(store: JobStore, sheet: Sheet, *, as_shown: bool = False) -> tuple[Place, ...]:
    """List the rooms, dimensions and texts of a sheet with their points: of the page unrotated, or as it is shown."""
    data = store.source(sheet.source)
    lines = read_lines(data, sheet)
    drawn = find_dimensions(read_linework(data, sheet), lines) if sheet.kind == "vector" else ()
    found = (
        *_rooms(store.job, sheet),
        *(Place(kind="dimension", words=d.text.strip(), points_pt=(d.start_pt, d.end_pt)) for d in drawn),
        *(Place(kind="text", words=line.text.strip(), points_pt=(line.middle_pt,)) for line in lines),
    )
    if not as_shown:
        return found
    return tuple(replace(p, points_pt=tuple(sheet_to_displayed(sheet, *at) for at in p.points_pt)) for p in found)


def _rooms(job: Job, sheet: Sheet) -> Iterator[Place]:
    for room in job.rooms.values():
        closed = (r for r in job.runs.values() if r.room == room.id and r.sheet == sheet.id and r.closed)
        shapes = [shapely.Polygon(run.path_pt.flattened(SAG_PT)).buffer(0) for run in closed]
        if shapes:
            inside = max(shapes, key=lambda shape: shape.area).representative_point()
            words = " ".join(t for t in (room.id, room.number, room.name) if t)
            yield Place(kind="room", words=words, points_pt=((inside.x, inside.y),))
