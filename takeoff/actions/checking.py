"""What goes to the author of the drawings: a check of stated areas against measured ones, and questions."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from takeoff.actions.points.deriving import open_points
from takeoff.actions.quantities import measure_ready, settings_of
from takeoff.apart import apart
from takeoff.audit.areas import Basis, RoomAreas, room_areas
from takeoff.audit.matching import RoomMatch, match_rooms, match_walls
from takeoff.audit.stated import AreaUnit, StatedArea
from takeoff.audit.verdict import AreaCheck, check_rooms
from takeoff.errors import InputError, ReportError
from takeoff.exchange.stated_file import StatedTable, read_stated
from takeoff.exchange.stated_headings import Asked
from takeoff.exchange.stated_sheet import read_stated_pages
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.rules import MeasureSettings, rule_named
from takeoff.measure.totals import room_label
from takeoff.model.open_points import OpenPoint
from takeoff.model.plan import Point, Sheet
from takeoff.model.point_register import PointGroup, grouped
from takeoff.model.site import day_of
from takeoff.model.walls import Room
from takeoff.report.check_report import Question, write_check_pdf, write_questions
from takeoff.report.content import sheet_issue, sheet_title
from takeoff.sheet.files import read_sheets
from takeoff.sheet.frame import sheet_to_displayed
from takeoff.sheet.render import pixel_box, render_array
from takeoff.sheet.text import read_lines


@apart
def read_stated_areas(
    data: bytes, name: str, *, basis: Basis = "net", unit: AreaUnit | None = None, column: str = ""
) -> StatedTable:
    """Read stated areas from a CSV file, a workbook or a PDF; where several columns hold areas the basis tells which.

    Raises `InputError` when it is no table of areas, or their unit is missing; it names the row.
    """
    asked = Asked(unit, column, "floor" if basis == "floor" else "wall")
    if not data[:1024].lstrip().startswith(b"%PDF"):
        return read_stated(data, name, asked)
    return read_stated_pages([read_lines(data, sheet) for sheet in read_sheets(data, name)[0]], name, asked)


def read_sheet_areas(
    store: JobStore, sheet: Sheet, *, basis: Basis = "net", unit: AreaUnit | None = None, column: str = ""
) -> StatedTable:
    """Read stated areas from a table that a sheet of the job shows as text.

    Raises `InputError` when the sheet shows no such table, or the unit is missing.
    """
    name = sheet.number or f"sheet {sheet.id}"
    if sheet.kind == "image":
        raise InputError(f"{name} is a picture and shows no text", remedy="Give the areas as CSV or XLSX instead.")
    lines = read_lines(store.source(sheet.source), sheet)
    return read_stated_pages([lines], name, Asked(unit, column, "floor" if basis == "floor" else "wall"))


def check_areas(
    job: Job, stated: StatedTable | Sequence[StatedArea], *, rule: str | None = None, basis: Basis = "net"
) -> AreaCheck:
    """Check stated areas against the measured rooms of a job, or against its walls where the table lists walls.

    ``basis``: what the stated areas are taken to be areas of. Gives a line for each stated area: the room or wall, both
    areas, the expanded uncertainty (k = 2) of their difference, the verdict, and for a difference its likely reasons;
    and the reasons that explain several differences. Raises `InputError` when nothing is stated, or there is no such
    rule or basis.
    """
    table = stated if isinstance(stated, StatedTable) else StatedTable(areas=tuple(stated), column="")
    if not job.rooms and not (table.is_by_wall and job.runs):
        raise InputError("the job has no rooms", remedy="Trace the rooms first.")
    settings = settings_of(job, rule_named(rule or job.settings.rule).name)
    pending = {p.run: p for p in measure_ready(job)[1]}
    ready = replace(job, runs={id: run for id, run in job.runs.items() if id not in pending})
    measured = _walls(ready, settings) if table.is_by_wall else _rooms(ready, settings, job)
    unmeasured = {
        job.runs[id].room or "": f"wall {id} could not be measured: {one.message}" for id, one in pending.items()
    }
    scales = (c for areas in measured.values() for c in areas.calibrations.values())
    labels, matches = _matched(job, table, measured)
    return check_rooms(
        matches,
        measured,
        rule=settings.rule,
        basis=basis,
        labels=labels,
        display=job.settings.display,
        faults=table.faults,
        doubts=tuple(dict.fromkeys(d for c in scales for d in c.doubts)),
        unmeasured=unmeasured,
    )


def _matched(
    job: Job, table: StatedTable, measured: Mapping[str, RoomAreas]
) -> tuple[dict[str, str], tuple[RoomMatch, ...]]:
    """Labels of the rooms or walls by id, and each row of the table with its room or wall."""
    if not table.is_by_wall:
        rooms = tuple(job.rooms.values())
        return {room.id: room_label(room) for room in rooms}, tuple(match_rooms(table.areas, rooms))
    return {id: room_label(m.room) for id, m in measured.items()}, match_walls(table.areas, measured)


def _rooms(ready: Job, settings: MeasureSettings, job: Job) -> dict[str, RoomAreas]:
    """Every room of which all walls of ``job`` are ready to be measured."""
    out: dict[str, RoomAreas] = {}
    for room in job.rooms.values():
        runs = [run for run in ready.runs.values() if run.room == room.id]
        if runs and len(runs) == sum(run.room == room.id for run in job.runs.values()):
            calibrations = {run.id: job.calibration_for(run) for run in runs}
            out[room.id] = room_areas(room, runs, calibrations, settings=settings)
    return out


def _walls(job: Job, settings: MeasureSettings) -> dict[str, RoomAreas]:
    """Every wall alone, as if it were a room of its own."""
    out: dict[str, RoomAreas] = {}
    for run in job.runs.values():
        own = job.rooms.get(run.room or "")
        wall = Room(id=run.id, name=run.id, height=own.height if own else None)
        alone = replace(run, room=run.id)
        out[run.id] = room_areas(wall, (alone,), {run.id: job.calibration_for(run)}, settings=settings)
    return out


def write_check_report(job: Job, check: AreaCheck, path: Path, *, source: str, at: str) -> Path:
    """Write a check as a page that can be sent to the author of the drawing.

    ``source``: name of the table that the areas were stated in.
    """
    rule = rule_named(check.rule)
    scales = []
    for scale in dict.fromkeys(s for run in job.runs.values() if run.room and (s := job.scale_for(run))):
        sheet = job.sheets[scale.sheet]
        issue = " ".join(sheet_issue(sheet))
        part = f", {scale.region}" if scale.region else ""
        name = f"{sheet_title(sheet)}{part}{f' ({issue})' if issue else ''}"
        scales.append(f"{name}, 1:{scale.ratio:.4g} ± {2 * scale.u_scale:.1%} (k = 2)")
    return write_check_pdf(
        check,
        path,
        show=job.settings.display,
        source=source,
        job=job.settings.name,
        date=str(day_of(at)),
        rule=f"{rule.name}: {rule.summary}",
        sheets=scales,
    )


CLIP_DPI = 110.0
"""Dots per inch of a clip: what is drawn on the sheet stays legible at the width that the page has."""
AROUND_PT = 110.0
"""Sheet points that a clip shows to each side of what the question is about."""
WIDEST_PT = 1400.0
"""Sheet points that places may lie apart to be on one clip; farther ones are named alone."""
RING = (213, 94, 0)
"""Colour of the rings, a vermilion of Okabe and Ito's palette."""


def questions_of(store: JobStore) -> tuple[Question, ...]:
    """Put the open points that the author of the drawings can settle as questions; points of a group on a sheet as one.

    The plans of the open job are drawn from. Raises `ReportError` when there is no question.
    """
    job = store.job
    asked = [point for point in open_points(job).open if point.question]
    if not asked:
        raise ReportError("there is no question to ask", remedy="Every open point can be settled here.")
    questions: list[Question] = []
    for group in grouped(asked):
        for id in dict.fromkeys(point.where.sheet for point in group.points):
            points = [point for point in group.points if point.where.sheet == id]
            sheet = job.sheets[id] if id is not None else None
            questions.append(_question(store, len(questions) + 1, group, points, sheet))
    return tuple(questions)


def ask_architect(store: JobStore, folder: Path, *, at: str) -> tuple[Path, ...]:
    """Write the questions as PDF, web page and CSV; ``at`` is the time, ISO 8601. Errors as `questions_of`."""
    settings = store.job.settings
    return write_questions(questions_of(store), folder, job=settings.name, date=str(day_of(at)), show=settings.display)


def _question(
    store: JobStore, number: int, group: PointGroup, points: Sequence[OpenPoint], sheet: Sheet | None
) -> Question:
    first = points[0]
    text = first.question
    if len(points) > 1:
        for noun in ("door", "window", "pass-through", "louvre", "room", "wall"):
            text = text.replace(f"this {noun}", f"these {len(points)} {noun}s").replace("does these", "do these")
    meanwhile = first.assumes or "nothing; it is not in the price."
    return Question(
        number=number,
        key=group.key if len(points) == len(group.points) else first.key,
        sheet=" ".join((sheet_title(sheet), *sheet_issue(sheet))) if sheet is not None else "",
        text=text,
        places=_places(points),
        meanwhile=meanwhile,
        picture=_clip(store, sheet, [p.where.at_pt for p in points if p.where.at_pt]) if sheet is not None else b"",
    )


def _places(points: Sequence[OpenPoint]) -> tuple[str, ...]:
    """Name the rooms, each with how many places in it."""
    counts: dict[str, int] = {}
    for point in points:
        name = point.where.inside or point.where.named
        if name:
            counts[name] = counts.get(name, 0) + 1
    return tuple(f"{name}: {count} places" if count > 1 else name for name, count in counts.items())


def _clip(store: JobStore, sheet: Sheet, places: Sequence[Point]) -> bytes:
    """Draw the part of a sheet about places, with a ring round each."""
    from PIL import Image, ImageDraw

    if not places:
        return b""
    near = [p for p in places if abs(p[0] - places[0][0]) < WIDEST_PT and abs(p[1] - places[0][1]) < WIDEST_PT]
    xs, ys = [p[0] for p in near], [p[1] for p in near]
    box = (
        max(min(xs) - AROUND_PT, 0.0),
        max(min(ys) - AROUND_PT, 0.0),
        min(max(xs) + AROUND_PT, sheet.width_pt),
        min(max(ys) + AROUND_PT, sheet.height_pt),
    )
    left, top, _, _ = pixel_box(sheet, CLIP_DPI, box)
    picture = Image.fromarray(render_array(store.source(sheet.source), sheet, dpi=CLIP_DPI, clip_pt=box))
    draw = ImageDraw.Draw(picture)
    by, radius = CLIP_DPI / 72.0, 0.16 * CLIP_DPI
    for place in near:
        x, y = (v * by for v in sheet_to_displayed(sheet, *place))
        x, y = x - left, y - top
        draw.ellipse((x - radius, y - radius, x + radius, y + radius), outline=RING, width=3)
    target = io.BytesIO()
    picture.save(target, "PNG", optimize=True)
    return target.getvalue()
