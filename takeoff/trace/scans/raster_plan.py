"""Walls, openings and rooms of a picture: a network tells what is what, and outlines are fitted to that."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from takeoff.geometry.paths import Path
from takeoff.model.plan import Calibration, Sheet
from takeoff.sheet.frame import displayed_size
from takeoff.sheet.render import grey
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Floats
from takeoff.trace.drawing.polygons import as_wide, polygons_of
from takeoff.trace.lines.gaps import gap_between
from takeoff.trace.lines.opening_forms import CASED, Form, FoundOpening
from takeoff.trace.lines.plan_rooms import TracedPlan, read_plan
from takeoff.trace.lines.traced_rooms import TracedRoom, run_round
from takeoff.trace.lines.wall_openings import LEAST_AREA, LEAST_WIDTH
from takeoff.trace.scans.field_evidence import CONVERGES, MISSED, FieldEvidence, judge_field
from takeoff.trace.scans.field_openings import FieldOpening, closed_field, field_openings, leading_somewhere
from takeoff.trace.scans.field_outlines import Ring, outline_rings
from takeoff.trace.scans.field_sides import convergence
from takeoff.trace.scans.ink_lines import linework_of_picture
from takeoff.trace.scans.open_edges import openings_in_gaps, walls_of, with_open_rooms
from takeoff.trace.scans.two_readings import both_readings
from takeoff.trace.scans.wall_network import (
    LOW,
    M_PER_PX,
    PASSAGE,
    SWING,
    WALL,
    WINDOW,
    WallField,
    darkness_of,
    read_walls,
    turning,
    within,
)
from takeoff.trace.texts.printed_sizes import PrintedArea, areas_inside, read_printed_areas
from takeoff.trace.texts.room_names import groups_of_names, room_label

_LEAST_COLUMN = 0.01 / M_PER_PX**2
"""Square pixels; the smallest column."""
_STANDS = 0.8
"""The chance of wall from which a piece that stands free is a column: floor drains and the like come close."""
_COARSE = 0.02
"""Metres to a pixel from which lines are not followed: they gain at 17 mm, and nothing on the real sheet of 34 mm."""
_SPIKES = (0.4, 4.0)
"""Pixels; half of the width of what is a spike of an outline and not a part of a room: more of it where the run would
cross itself, as at a hollow wall that is seen in part."""
_SLACK = 0.04
"""Metres; how far the side of an opening may lie from the run that it is on."""
ON_RUN = 0.5
"""Share of an opening's width that lies on a run at the least: it may have been read beyond its corner."""
_DOUBLE = 1.35
"""Metres; a door with leaves is taken for a double one from this width on (common practice, no source)."""
_FORMS: dict[int, tuple[Form, Form, float, str]] = {
    WINDOW: ("window", "window", math.inf, "glass was seen in the wall"),
    LOW: ("pass-through", "pass-through", math.inf, "a low wall was seen in the gap"),
    SWING: ("swing", "double", _DOUBLE, "a door swing was seen at the wall"),
    PASSAGE: ("cased", "sliding", CASED, "a way through the wall was seen"),
}
"""By what the network calls an opening: its form up to a width in metres, and beyond it; and why."""


def read_raster_plan(
    pixels: NDArray[np.uint8],
    sheet: Sheet,
    calibration: Calibration,
    lines: Sequence[TextLine] = (),
    *,
    follow: bool = True,
) -> TracedPlan:
    """Read the walls, openings and rooms of a picture: by the network, and once more from its lines.

    Parameters
    ----------
    pixels
        The whole sheet as displayed (`takeoff.sheet.render.render_array`): height × width grey, or height × width × 3
        red, green and blue.
    sheet
        The sheet, for its size and rotation.
    calibration
        Its scale: the network sees the building at one size, whatever the paper's scale is.
    lines
        Text read on it, for names.
    follow
        Whether its lines are followed too: not where they were read from a vector sheet already.

    Returns
    -------
    TracedPlan
        As for a vector sheet; how far a room is trusted follows from how sure the network is of what bounds it, and
        from whether the lines say the same.
    """
    pixels = pixels if pixels.ndim == 2 else grey(pixels)
    scale = (calibration.mx, calibration.my) if sheet.rotation % 180 == 0 else (calibration.my, calibration.mx)
    darkness, m_per_px = darkness_of(pixels, displayed_size(sheet), scale)
    drawn = None
    if follow and m_per_px < _COARSE:
        linework = linework_of_picture(pixels, sheet, math.sqrt(calibration.mx * calibration.my))
        drawn = read_plan(linework, lines, sheet, calibration) if linework else None
    del pixels  # large, and not needed while the network works
    field = read_walls(darkness, displayed_size(sheet), m_per_px)
    return rooms_of_field(field, sheet, calibration, lines, drawn)


def rooms_of_field(
    field: WallField,
    sheet: Sheet,
    calibration: Calibration,
    lines: Sequence[TextLine] = (),
    drawn: TracedPlan | None = None,
) -> TracedPlan:
    """Read the rooms of a sheet from what the network says of it; arguments as for `read_raster_plan`.

    ``drawn`` is what was read from its lines: it counts unless the picture was taken at an angle.
    """
    turn = turning(sheet, field.px_per_pt)
    inner = field_openings(field)
    rings = outline_rings(closed_field(field.chances, inner), _LEAST_COLUMN)
    kept = leading_somewhere(inner, rings)
    more = openings_in_gaps(field, rings, kept)
    if more or len(kept) < len(inner):
        inner = [*kept, *more]
        rings = outline_rings(closed_field(field.chances, inner), _LEAST_COLUMN)
    openings = [_found(o, turn) for o in inner]
    converges = convergence([side for ring in rings for side in ring.sides])
    columns = [r for r in rings if not r.is_hole and _is_column(r, field)]
    pieces = shapely.STRtree([Polygon(turn(r.points)) for r in columns])
    printed = read_printed_areas(lines)
    rooms: list[tuple[TracedRoom, Polygon]] = []
    for ring in (r for r in rings if r.is_hole):
        for spike in _SPIKES:
            outline = _simple(ring.points, spike)
            if outline is None or outline.area * M_PER_PX**2 < LEAST_AREA:
                break
            if not as_wide([outline], LEAST_WIDTH / M_PER_PX).any():
                break
            shape = Polygon(turn(shapely.get_coordinates(outline.exterior)))
            inside = pieces.query(shape, predicate="contains").tolist()
            evidence = FieldEvidence.of(ring, field, inner, [columns[i] for i in inside])
            evidence = replace(evidence, is_smoothed=spike != _SPIKES[0], converges=converges)
            own = [pieces.geometries[i] for i in inside]
            room = _room(shape, own, openings, lines, printed, calibration, evidence)
            if _is_simple(room):
                rooms.append((room, shape))
                break
    found = TracedPlan(rooms=tuple(r for r, _ in rooms), shapes=tuple(s for _, s in rooms), walls=walls_of(rings, turn))
    found = with_open_rooms(found, lines, calibration)
    if drawn is not None and converges <= CONVERGES:
        found = both_readings(found, drawn, calibration, field.m_per_px)
    rooms = sorted(
        zip(found.rooms, found.shapes, strict=True),  # from top to bottom and left to right
        key=lambda room: (round(room[1].centroid.y * calibration.my / 2.0), room[1].centroid.x),
    )
    return replace(found, rooms=tuple(r for r, _ in rooms), shapes=tuple(s for _, s in rooms))


def _simple(points: Floats, spike: float) -> Polygon | None:
    """Return the polygon of an outline in pixels, without spikes; the largest part where it crosses itself."""
    shape = shapely.make_valid(Polygon(points))
    thinned = shapely.buffer(shape, -spike, join_style="mitre")
    parts = polygons_of(shapely.buffer(thinned, spike, join_style="mitre"))
    return Polygon(max(parts, key=lambda p: p.area).exterior) if parts else None


def _is_simple(room: TracedRoom) -> bool:
    """Tell whether a run crosses itself nowhere: one that does was read from what cannot be read."""
    return bool(Polygon(Path(points=room.points_pt, bulges=room.bulges, is_closed=True).flattened(0.1)).is_valid)


def _is_column(ring: Ring, field: WallField) -> bool:
    """Tell whether a piece that stands free is a wall or a column in the network's eyes."""
    wall = within(field.chances[WALL], Polygon(ring.points))
    return bool(wall.size) and float(wall.mean(dtype=float)) > _STANDS


def _found(opening: FieldOpening, turn: Callable[[Floats], Floats]) -> FoundOpening:
    left, right = turn(opening.left), turn(opening.right)
    narrow, wide, most, reason = _FORMS[opening.row]
    form = narrow if opening.width * M_PER_PX <= most else wide
    gap = gap_between((left[0], left[1]), (right[0], right[1]), is_capped=True)
    return FoundOpening(gap=gap, form=form, confidence=round(opening.chance, 3), reason=reason)


def _room(
    shape: Polygon,
    columns: Sequence[Polygon],
    openings: Sequence[FoundOpening],
    lines: Sequence[TextLine],
    printed: Sequence[PrintedArea],
    calibration: Calibration,
    evidence: FieldEvidence,
) -> TracedRoom:
    m_per_pt = (calibration.mx * calibration.my) ** 0.5
    run = run_round(shape, openings, calibration, m_per_pt, is_column=False, slack=_SLACK, share=ON_RUN)
    names = groups_of_names(shape, lines) if lines else None
    confidence, reasons, sure = judge_field(evidence, run.openings, names, areas_inside(shape, printed))
    name, number = room_label(shape, lines)
    area = (shape.area - sum(c.area for c in columns)) * calibration.mx * calibration.my
    return TracedRoom(
        points_pt=run.points_pt,
        bulges=run.bulges,
        openings=run.openings,
        columns=tuple(run_round(c, (), calibration, m_per_pt, is_column=True) for c in columns),
        name=name,
        number=number,
        area=float(area),
        confidence=confidence,
        reasons=reasons,
        sure=sure,
        unread=(MISSED,) if MISSED in reasons else (),
    )
