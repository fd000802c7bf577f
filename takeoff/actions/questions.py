"""Questions to the author of the drawings, made of the open points that nobody here can settle alone."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path

from takeoff.actions.points.deriving import open_points
from takeoff.errors import ReportError
from takeoff.job.store import JobStore
from takeoff.model.open_points import OpenPoint
from takeoff.model.plan import Point, Sheet
from takeoff.model.point_register import PointGroup, grouped
from takeoff.report.check_report import Question, write_questions
from takeoff.report.content import sheet_issue, sheet_title
from takeoff.sheet.frame import sheet_to_displayed
from takeoff.sheet.render import pixel_box, render_array

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
    return write_questions(questions_of(store), folder, job=settings.name, date=at[:10], show=settings.display)


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
