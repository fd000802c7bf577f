"""Runs as shapes on the plan: line, coated side, openings, corners, marks of what is selected. No toolkit in here."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from takeoff.geometry.paths import nearest_station, point_at
from takeoff.gui.canvas.view import Shape, plate
from takeoff.gui.session import Session
from takeoff.measure.develop import traced_path
from takeoff.measure.totals import room_label
from takeoff.model.plan import Calibration, Point, Sheet
from takeoff.model.walls import Face, Opening, Run
from takeoff.report.drawing import style_of
from takeoff.sheet.frame import displayed_to_sheet, sheet_to_displayed
from takeoff.sheet.opened import DIMMED_SHARE

SAG_PT = 0.3
TICK = 9.0
"""Length in pixels of the ticks on the coated side."""
LOOKED_AT = 34
"""Pixels across the ring round an open point that is looked at."""
TICK_EVERY = 46.0
SELECTED, SCALES = "#D55E00", "#009E73"
"""Colours of what is selected, and of scale regions and dimensions."""
BELOW, UPPER = 2.0, 0.3
"""Heights of a letter from a room's upper wall to the middle of its name, and the part of the room for it."""
MARK_SCALE = 1.2
"""Points per pixel above which marks of openings are left out: they would cover one another."""


def polyline(run: Run) -> list[Point]:
    """Points of a run's traced line with arcs broken into chords; a closed one ends at its start."""
    return run.path_pt.flattened(SAG_PT)


def coated_ticks(line: Sequence[Point], hand: Face, pt_per_pixel: float, colour: str) -> list[Shape]:
    """Short ticks along a line on its coated side, or on both."""
    shapes = []
    signs = {"left": (1.0,), "right": (-1.0,), "both": (1.0, -1.0)}[hand]
    for a, b in pairwise(line):
        length = math.dist(a, b)
        if length < 4 * pt_per_pixel:
            continue
        ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
        count = max(1, int(length / (TICK_EVERY * pt_per_pixel)))
        for i in range(min(count, 60)):
            along = length * (i + 0.5) / min(count, 60)
            x, y = a[0] + ux * along, a[1] + uy * along
            for sign in signs:
                reach = sign * TICK * pt_per_pixel
                shapes.append(Shape("line", ((x, y), (x + uy * reach, y - ux * reach)), colour, 1))
    return shapes


def as_seen(session: Session, kind: str, shapes: Sequence[Shape]) -> list[Shape]:
    """Shapes of a kind of mark as they are seen: as they are, dimmed, or none of them."""
    seen = session.marks.get(kind, "shown")
    if seen == "hidden":
        return []
    if seen == "shown":
        return list(shapes)
    return [replace(shape, colour=_pale(shape.colour), fill=shape.fill and _pale(shape.fill)) for shape in shapes]


def _pale(colour: str) -> str:
    return "#" + "".join(f"{round(255 - (255 - part) * DIMMED_SHARE):02X}" for part in bytes.fromhex(colour[1:]))


def job_shapes(session: Session, pt_per_pixel: float, *, with_dimensions: bool = True) -> list[Shape]:
    """Everything of the job on the sheet that is shown."""
    used = {_system(session, run) for run in session.job.runs.values()}
    systems = sorted({system.id for system in session.job.systems.values()} | used)
    shapes = as_seen(session, "scales", _scale_shapes(session, with_dimensions=with_dimensions))
    labelled: set[str] = set()
    names: list[Shape] = []
    for run in session.runs_here():
        shapes.extend(run_shapes(run, session, systems, pt_per_pixel))
        room = session.job.rooms.get(run.room or "")
        if run.closed and room is not None and room.id not in labelled:
            labelled.add(room.id)
            size = 11 if pt_per_pixel < MARK_SCALE else 9
            place = _name_place(run, session.sheet, size * pt_per_pixel)
            names.append(plate(place, room_label(room), size=size, tag=run.id))
    shapes.extend(as_seen(session, "names", names))
    shapes.extend(_handles(session))
    if session.looked_at is not None:
        shapes.append(Shape("dot", (session.looked_at,), SELECTED, 4, size=LOOKED_AT))
    return shapes


def _scale_shapes(session: Session, *, with_dimensions: bool) -> list[Shape]:
    shapes: list[Shape] = []
    for region in session.job.regions.values():
        if region.sheet == session.sheet_id:
            shapes.append(Shape("polygon", region.outline_pt, SCALES, 1.5, (10, 4, 2, 4)))
            shapes.append(plate(region.outline_pt[0], f"Scale region {region.id}", size=11, anchor="sw"))
    for calibration in session.job.calibrations.values() if with_dimensions else ():
        if calibration.sheet == session.sheet_id:
            for d in calibration.dimensions:
                shapes.extend(dimension_shapes(d.start_pt, d.end_pt, session.display.length(d.length)))
    return shapes


def run_shapes(run: Run, session: Session, systems: Sequence[str], pt_per_pixel: float) -> list[Shape]:
    """One run: its line in its system's colour and dash, ticks on the coated side, openings."""
    system = _system(session, run)
    colour, dash = style_of(system, systems)
    line = tuple(polyline(run))
    is_selected = run.id in session.selection.runs
    shapes = []
    if is_selected:
        shapes.append(Shape("line", line, SELECTED, 9, tag=run.id))
        shapes.append(Shape("line", line, "#FFFFFF", 6, tag=run.id))
    dashes = tuple(int(v) * 2 for v in dash.split())
    shapes.append(Shape("line", line, colour, 3.5, dashes, tag=run.id))
    shapes = as_seen(session, "walls", shapes)
    if session.marks.get("sides") != "hidden":
        shapes.extend(as_seen(session, "sides", coated_ticks(line, run.face, pt_per_pixel, colour)))
    scale = session.job.scale_for(run)
    if scale is not None and session.marks.get("openings") != "hidden":
        for i, opening in enumerate(run.openings):
            is_chosen = session.selection.opening == (run.id, i)
            shows = is_chosen or pt_per_pixel < MARK_SCALE
            made = opening_shapes(run, opening, scale, is_chosen=is_chosen, shows_mark=shows)
            shapes.extend(as_seen(session, "openings", made))
    return shapes


def opening_shapes(
    run: Run, opening: Opening, scale: Calibration, *, is_chosen: bool = False, shows_mark: bool = True
) -> list[Shape]:
    """One opening on the traced line: a gap with jambs and, where it has one, its mark."""
    line = opening_line(run, opening.at, opening.width, scale)
    colour = SELECTED if is_chosen else "#000000"
    shapes = [Shape("line", line, "#FFFFFF", 7), Shape("line", line, colour, 3 if is_chosen else 1.5, (3, 3))]
    shapes.extend(Shape("dot", (jamb,), colour, fill="#FFFFFF", size=6) for jamb in (line[0], line[-1]))
    if opening.mark and shows_mark:
        middle = line[len(line) // 2] if len(line) > 2 else _between(line[0], line[-1])
        shapes.append(plate(middle, opening.mark, size=10))
    return shapes


def opening_line(run: Run, at: float, width: float, scale: Calibration) -> tuple[Point, ...]:
    """Sheet points along the traced line from jamb to jamb of an opening at a station."""
    path = traced_path(run, scale)
    low, high = at - width / 2, at + width / 2
    inner = [s for s in path.stations() if low < s < high]
    steps = [low, *inner, high]
    if any(run.bulges):
        steps = sorted({*steps, *(low + (high - low) * i / 8 for i in range(1, 8))})
    return tuple((x / scale.mx, y / scale.my) for x, y in (point_at(path, max(s, 0.0)) for s in steps))


def dimension_shapes(a: Point, b: Point, text: str) -> list[Shape]:
    """A known dimension: its line, its ends and its length."""
    return [
        Shape("line", (a, b), SCALES, 2, (8, 3)),
        Shape("square", (a, b), SCALES, fill="#FFFFFF", size=7),
        plate(_between(a, b), text, size=11),
    ]


def run_under(session: Session, point: Point, reach_pt: float) -> tuple[Run, float, int] | None:
    """The run whose line passes nearest to a point within reach, the station there in metres, and its segment."""
    best: tuple[float, Run, float, int] | None = None
    for run in session.runs_here():
        station, segment, away = nearest_station(run.path_pt, point)
        if away <= reach_pt and (best is None or away < best[0]):
            scale = session.job.scale_for(run)
            if scale is not None:
                station = nearest_station(traced_path(run, scale), scale.to_metres(point))[0]
            best = (away, run, station, segment)
    return best[1:] if best else None


def kept_on(run: Run, scale: Calibration, station: float, width: float) -> float:
    """Return the station nearest to one at which an opening of a width in metres lies whole on its wall."""
    if run.closed:
        return station
    return min(max(station, width / 2), max(traced_path(run, scale).stations()[-1] - width / 2, width / 2))


def opening_under(run: Run, station: float) -> int | None:
    """Number of the opening of a run that covers a station; the narrowest one where several do."""
    covering = [(o.width, i) for i, o in enumerate(run.openings) if abs(o.at - station) <= o.width / 2]
    return min(covering)[1] if covering else None


def _handles(session: Session) -> list[Shape]:
    chosen = [run for run in session.selected_runs() if run.sheet == session.sheet_id]
    if len(session.selection.runs) != 1 or not chosen:
        return []
    (run,) = chosen
    fills = [SELECTED if session.selection.vertex == (run.id, i) else "#FFFFFF" for i in range(len(run.points_pt))]
    return [Shape("square", (at,), SELECTED, size=9, fill=fill) for at, fill in zip(run.points_pt, fills, strict=True)]


def _system(session: Session, run: Run) -> str:
    room = session.job.rooms.get(run.room or "")
    return run.system or (room.system if room else None) or ""


def _name_place(run: Run, sheet: Sheet, letter_pt: float) -> Point:
    """Where a room's name stands: below its upper wall, for sheets print names in the middle; there in a low room."""
    import shapely

    shown = shapely.Polygon([sheet_to_displayed(sheet, *point) for point in polyline(run)])
    outline = shown if shown.is_valid else shown.convex_hull
    x0, y0, x1, y1 = outline.bounds
    level = y0 + BELOW * letter_pt
    if level <= y0 + UPPER * (y1 - y0):
        parts = shapely.get_parts(shapely.intersection(outline, shapely.LineString([(x0, level), (x1, level)])))
        place = max(parts, key=shapely.length).centroid
    else:
        place = shapely.point_on_surface(outline)
    return displayed_to_sheet(sheet, place.x, place.y)


def _between(a: Point, b: Point) -> Point:
    return ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
