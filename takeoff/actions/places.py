"""Sheet points that commands take: in rooms, at the ends of dimensions, and in the middle of texts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

import shapely

from takeoff.actions.given import SAG_PT
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.frame import sheet_to_displayed
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.scales.dimensions import find_dimensions


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
