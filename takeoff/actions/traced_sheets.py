"""Sheets read for tracing: what is drawn on them at each of their scales, with the opening schedules of the job."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import shapely

from takeoff.actions.drafting import style_for
from takeoff.apart import apart
from takeoff.errors import CalibrationError, InputError
from takeoff.geometry.paths import point_at
from takeoff.job.store import JobStore
from takeoff.measure.develop import traced_path
from takeoff.model.drafting import DraftingStyle
from takeoff.model.plan import Calibration, Finding, Point, ScaleRegion, Sheet
from takeoff.model.walls import Run
from takeoff.sheet.ocr import MOST_DRAWN, can_recognise, read_scanned_lines
from takeoff.sheet.render import grey, render_array
from takeoff.sheet.text import TextLine, read_lines
from takeoff.sheet.uses import shows_no_plan, use_of_headings
from takeoff.trace.drawing.crowded import MANY, count_drawn, is_crowded
from takeoff.trace.drawing.linework import Linework, read_linework
from takeoff.trace.drawing.looks import keeper
from takeoff.trace.drawing.polygons import polygons_of
from takeoff.trace.lines.lost_rooms import LostRoom
from takeoff.trace.lines.other_scales import DOUBTED, at_other_scales, in_other_views
from takeoff.trace.lines.plan_rooms import TracedPlan, room_round
from takeoff.trace.lines.room_verdict import doubted, unwritten_doubted
from takeoff.trace.lines.traced_rooms import TracedOpening, TracedRoom
from takeoff.trace.scans.raster_plan import read_raster_plan
from takeoff.trace.schedules.opening_marks import MarkedPlan, mark_openings, with_sizes
from takeoff.trace.schedules.opening_schedule import (
    OpeningSchedule,
    joined_openings,
    may_show_openings,
    read_opening_table,
)
from takeoff.trace.sheet_reading import read_vector_plan
from takeoff.trace.texts.printed_sizes import CeilingNote, read_ceiling_notes

RECOGNISED = (
    "its letters are drawn as lines, and names, areas and heights were recognised, "
    f"in at most {MOST_DRAWN:,} lines of text: look through them"
)
RECOGNISED_IN_PICTURE = "names, areas and heights were recognised in its picture: look through them"
EMPTY = TracedPlan(rooms=(), shapes=())
DrawnOpening = tuple[Point, TracedOpening]
SCAN_DPI = 200.0
"""Dots per inch that scans are traced at, at the most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetTrace:
    """A sheet read for tracing: each of its scales with the plan as read at it, the scale regions first.

    Reading takes seconds, asking it a room takes milliseconds: read once, and again when sheet or scale change.
    ``notes`` say what the opening schedules of the job left open, and that its letters were recognised; ``ceilings``
    are the ceiling heights that it prints, ``lines`` its text. ``style`` is the drafting style that it was read by,
    where the job has one that fits it.
    """

    sheet: Sheet
    parts: tuple[tuple[ScaleRegion | None, Calibration, TracedPlan], ...]
    notes: tuple[str, ...] = ()
    ceilings: tuple[CeilingNote, ...] = ()
    lines: tuple[TextLine, ...] = ()
    style: DraftingStyle | None = None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What a schedule left open, as it is kept with the sheet."""
        return tuple(Finding(about="mark", text=note) for note in self.notes)

    @property
    def lost(self) -> tuple[LostRoom, ...]:
        """The names of rooms that stand in no room that was read."""
        return tuple(
            lost
            for region, _, plan in self.parts
            for lost in plan.lost
            if self._region_at(shapely.Point(lost.at_pt)) is region
        )

    def _region_at(self, at: shapely.Point) -> ScaleRegion | None:
        """Return the scale region that holds a sheet point, the one that wins."""
        return next((r for r, _, _ in self.parts if r and shapely.Polygon(r.outline_pt).contains(at)), None)

    @property
    def nothing_found(self) -> str:
        """Why the sheet has no room, as a clause, where it has none, and what helps, as a sentence without its stop."""
        walls = [part for _, _, plan in self.parts for part in polygons_of(plan.walls)]
        show = "show one wall, or trace it by hand" if self.sheet.kind == "vector" else "trace it by hand"
        if not walls:
            drawn = "nothing on it is drawn as walls are, filled or as two lines 0.06 to 0.65 m apart at its scale"
            return f"{drawn}. Check its scale; if that is right, {show}"
        at = max(walls, key=lambda part: part.length).representative_point()
        read = "one piece was read as a wall" if len(walls) == 1 else f"{len(walls)} pieces were read as walls"
        where = f"{read}, the longest at {at.x:.0f},{at.y:.0f}, and they close no room"
        return f"{where}. If that is a wall, click in a room to take what walls all but enclose; if it is none, {show}"

    def why_none_at(self, point_pt: Point) -> str:
        """Why no room is round a sheet point, as a clause."""
        at = shapely.Point(point_pt)
        if not any(polygons_of(plan.walls) for _, _, plan in self.parts):
            return "nothing on the sheet was read as a wall"
        if any(shapely.intersects(plan.walls, at) for _, _, plan in self.parts):
            return "it lies on what was read as a wall"
        return "on most sides of it nothing was read as a wall"

    def room_at(self, point_pt: Point) -> TracedRoom | None:
        """Return the room round a sheet point, at the scale that holds there; nothing where no walls are near.

        Where walls all but enclose the point, it is what they would enclose, with ``leaks_pt`` where they do not; so it
        is where the outline that was read reaches out over several rooms.
        """
        at = shapely.Point(point_pt)
        for region, scale, plan in self.parts:
            if region is None or shapely.Polygon(region.outline_pt).contains(at):
                sizes = {tag.line for tag in plan.sizes}
                lines = [line for line in self.lines if line not in sizes]
                return room_round(plan, point_pt, lines, scale)
        return None

    def rooms(self) -> tuple[TracedRoom, ...]:
        """Return every room of the sheet, each at the scale that holds where it lies."""
        found: list[TracedRoom] = []
        for region, scale, plan in self.parts:
            others = [no_plan := shows_no_plan(self.sheet, self.lines)] * len(plan.rooms)
            if not (region or no_plan):
                views = in_other_views(plan.shapes, self.lines, scale)
                others = [a or b for a, b in zip(at_other_scales(plan.shapes, self.lines, scale), views, strict=True)]
            for room, shape, other in zip(plan.rooms, plan.shapes, others, strict=True):
                if self._region_at(shape.representative_point()) is region:
                    found.append(doubted(room, other, DOUBTED) if other else room)
        return tuple(found)


def drawn_openings(read: SheetTrace) -> list[DrawnOpening]:
    """Return the openings of every room, each with the sheet point of its middle on the wall's face.

    One between two rooms comes on both its faces.
    """
    found: list[DrawnOpening] = []
    for _, scale, plan in read.parts:
        for room in plan.rooms:
            run = Run(
                id="", sheet=read.sheet.id, points_pt=room.points_pt, bulges=room.bulges, closed=True, face="left"
            )
            path = traced_path(run, scale)
            places = [(point_at(path, opening.at), opening) for opening in room.openings]
            found += [((x / scale.mx, y / scale.my), opening) for (x, y), opening in places]
    return found


def read_sheet_trace(store: JobStore, sheet_id: int) -> SheetTrace:
    """Read a sheet for tracing, at each of its scales: the lines of a vector sheet, the ink of a scan or picture."""
    job = store.job
    sheet = job.sheets.get(sheet_id)
    if sheet is None:
        raise InputError(f"there is no sheet {sheet_id}", remedy="Choose one of the register.", where="sheet")
    where = sheet.called
    scales = [c for c in job.calibrations.values() if c.sheet == sheet_id]
    if not scales:
        raise CalibrationError(
            "it has no scale yet", remedy=f"Set it first: takeoff scale JOB {sheet_id}.", where=where
        )
    trace = read_drawn_sheet(store.source(sheet.source), sheet, scales, job.regions, tuple(job.styles.values()))
    return with_schedules(trace, read_opening_schedules(store, first=sheet_id))


def read_drawn_sheet(
    data: bytes,
    sheet: Sheet,
    scales: Sequence[Calibration],
    regions: Mapping[str, ScaleRegion],
    styles: Sequence[DraftingStyle] = (),
) -> SheetTrace:
    """Read what is drawn on one sheet at its scales, which takes nothing but values; `with_schedules` comes after."""
    read, lines, style = _reader(data, sheet, styles)
    is_recognised = any(line.is_recognised for line in lines)
    is_drawn = is_recognised and sheet.kind == "vector"

    def plan_at(scale: Calibration) -> TracedPlan:
        plan = with_sizes(read(scale), sheet.id, scale)
        return replace(plan, rooms=unwritten_doubted(plan.rooms)) if is_drawn else plan

    # where regions lie over one another the later one wins, as in measuring
    ordered = [c for c in reversed(scales) if c.region is not None] + [c for c in scales if c.region is None]
    own = {c.region: regions[c.region] for c in ordered if c.region is not None}
    others = {name: told for name, region in own.items() if (told := _is_no_plan(region, lines))}
    parts = tuple((own.get(c.region or ""), c, EMPTY if c.region in others else plan_at(c)) for c in ordered)
    unasked = (f"in the part {name} no room was looked for: {told}" for name, told in others.items())
    letters = RECOGNISED if is_drawn else RECOGNISED_IN_PICTURE
    notes = (*((letters,) if is_recognised else ()), *unasked)
    ceilings = read_ceiling_notes(lines)
    return SheetTrace(sheet=sheet, parts=parts, notes=notes, ceilings=ceilings, lines=tuple(lines), style=style)


def _is_no_plan(region: ScaleRegion, lines: Sequence[TextLine]) -> str:
    """Say that a part of a sheet shows a site, a roof or an elevation by its largest heading; empty otherwise."""
    outline = shapely.Polygon(region.outline_pt)
    use, why = use_of_headings([line for line in lines if outline.contains(shapely.Point(line.middle_pt))])
    return why if use in ("other", "elevation", "schedule") else ""


def with_schedules(trace: SheetTrace, schedules: Sequence[OpeningSchedule]) -> SheetTrace:
    """Give the openings of a sheet what the opening schedules say of their marks, the first one first."""
    if not schedules:
        return trace
    marked = [mark_openings(plan, schedules, trace.lines, scale) for _, scale, plan in trace.parts]
    parts = tuple((region, scale, m.plan) for (region, scale, _), m in zip(trace.parts, marked, strict=True))
    return replace(trace, parts=parts, notes=(*trace.notes, *_schedule_notes(schedules, marked)))


def read_opening_schedules(store: JobStore, *, first: int | None = None) -> tuple[OpeningSchedule, ...]:
    """Read the opening schedules of a job, of every sheet that shows one as text.

    ``first``: the sheet whose own schedule counts before the others: the one that is traced.
    """
    texts = [sheet for sheet in store.job.sheets.values() if sheet.kind != "image"]
    read = {sheet.id: _opening_table(store.source(sheet.source), sheet) for sheet in texts}
    found = {id: schedule for id, schedule in read.items() if schedule is not None}
    joined = dict(zip(found, joined_openings([*found.values()]), strict=True))
    return tuple(joined[id] for id in sorted(joined, key=lambda id: id != first))


@apart
def _opening_table(data: bytes, sheet: Sheet) -> OpeningSchedule | None:
    lines = read_lines(data, sheet)
    return read_opening_table(read_linework(data, sheet), lines, sheet) if may_show_openings(lines, sheet) else None


def _schedule_notes(schedules: Sequence[OpeningSchedule], marked: Sequence[MarkedPlan]) -> tuple[str, ...]:
    matched = {mark for m in marked for mark in m.matched}
    loose = {mark for m in marked for mark in m.loose} - matched
    notes = [doubt for schedule in schedules if matched or not schedule.rows for doubt in schedule.doubts]
    if loose:
        notes.append(f"marks of openings that stand at no traced one: {', '.join(sorted(loose))}")
    for schedule in schedules:
        absent = [row.mark for row in schedule.rows if row.mark not in matched | loose]
        if matched and absent:
            notes.append(
                f"openings of the schedule on sheet {schedule.sheet} without a mark on this one: {', '.join(absent)}"
            )
    return tuple(notes)


def _drawn(data: bytes, sheet: Sheet, styles: Sequence[DraftingStyle]) -> tuple[Linework, DraftingStyle | None, bool]:
    """Return what is drawn on a sheet, the style that fits it, and whether it is all: of very many what styles show."""
    linework = None if is_crowded(sheet) else read_linework(data, sheet)
    if linework is not None and len(linework.lines) <= MANY:
        return linework, style_for(styles, linework), True
    pieces = count_drawn(data, sheet) if linework is None else len(linework.lines)
    shown = [look for one in styles for look in (*one.walls, *one.doors, *one.windows)]
    if shown:
        linework = read_linework(data, sheet, keeper(shown))
        style = style_for(styles, linework)
        if style is not None:
            return linework, style, False
    raise InputError(
        f"it has {pieces:,} lines, more than are read in ten seconds",
        remedy="Show one of its walls, or the layer of its walls, and it is quick.", where=sheet.called,
    )  # fmt: skip


def _reader(
    data: bytes, sheet: Sheet, styles: Sequence[DraftingStyle]
) -> tuple[Callable[[Calibration], TracedPlan], list[TextLine], DraftingStyle | None]:
    """Return what reads the plan at a scale, the sheet's text, and the style it is read by; it is drawn up once."""
    lines = [] if sheet.kind == "image" else read_lines(data, sheet)
    if sheet.kind == "scan":  # its text was recognised by whoever scanned it
        lines = [replace(line, is_recognised=True) for line in lines]
    if not lines and can_recognise() and not is_crowded(sheet):
        lines = read_scanned_lines(data, sheet)
    if sheet.kind == "vector":
        linework, style, is_all = _drawn(data, sheet, styles)
        read = partial(read_vector_plan, data, linework, lines, sheet, style=style, is_all=is_all)
        return read, lines, style
    pixels = grey(render_array(data, sheet, dpi=min(sheet.dpi or SCAN_DPI, SCAN_DPI)))
    return lambda scale: read_raster_plan(pixels, sheet, scale, lines), lines, None
