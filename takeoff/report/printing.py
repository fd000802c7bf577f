"""What all printed editions share: plans and elevations put beside the layout, and typst run on it.

Everything on the pages comes as data: no text of the job is ever read as markup.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from takeoff.estimate.days.works import DayPlan
from takeoff.model.cutting import Drop
from takeoff.report.content import SheetPicture, Shown, sheet_issue, sheet_title
from takeoff.report.drawing import marked_plan_svg, style_of
from takeoff.report.elevation_rows import ElevationSheets, arrange
from takeoff.report.letterhead import Letterhead, Paper, logo_kind
from takeoff.report.plan_names import PlacedRoom, place_rooms
from takeoff.report.planning_pictures import week_pictures
from takeoff.report.rooms import rooms_by_system
from takeoff.report.tables import Table
from takeoff.report.typesetting import set_layout
from takeoff.report.underlay import LARGEST_PIXELS, PIXELS, page_picture

PARTS = Path(__file__).with_name("parts.typ")
MARGIN_MM, ELEVATION_MARGIN_MM = 18.0, 12.0
"""Left and right of the pages, and of the broad pages of elevations."""
_PAPER: dict[Paper, tuple[str, float, float]] = {
    "letter": ("us-letter", 8.5 * 72.0, 11.0 * 72.0),
    "a4": ("a4", 210 / 25.4 * 72.0, 297 / 25.4 * 72.0),
}
WEEK_FRAME = 175.0
"""Points above and below the picture of a week: margins of the page and headings (measured on letter paper)."""
_HIGHEST = 0.35
"""Part of a broad page's height that the highest elevation may take."""


def printed_table(table: Table) -> dict[str, Any]:
    """Turn a table into texts for the pages."""
    columns = [{"title": c.heading, "number": c.is_number} for c in table.columns]

    def cells(row: tuple[Any, ...]) -> list[str]:
        return [c.text(v) for c, v in zip(table.columns, row, strict=True)]

    return {
        "id": table.id,
        "title": table.title,
        "columns": columns,
        "rows": [cells(r) for r in table.rows],
        "total": cells(table.total) if table.total else None,
        "note": table.note,
    }


def put_pages(
    shown: Shown,
    folder: Path,
    *,
    plan: DayPlan | None = None,
    drops: Mapping[str, Sequence[Drop]] | None = None,
    cuts: Mapping[str, Table] | None = None,
) -> dict[str, Any]:
    """Put pictures of plans, elevations and logo into a folder and return what the layout needs of them.

    Parameters
    ----------
    shown
        What is reported.
    folder
        Where the layout will be set.
    plan
        Days to draw week by week.
    drops, cuts
        Pieces of mat on each face by its key, and a room's cut list by its id.
    """
    head = shown.letterhead
    paper = shown.paper or ("letter" if shown.display.system == "imperial" else "a4")
    _, width, height = _PAPER[paper]
    made = put_head(shown.job, shown.date, head, paper, folder) | {
        "head": [list(row) for row in shown.head()],
        "weeks": [] if plan is None else _put_weeks(plan, folder, height, width),
        "plans": [_put_plan(shown, i, folder) for i in range(len(shown.pictures))],
    }
    across = height - 2 * ELEVATION_MARGIN_MM / 25.4 * 72.0
    sheets = arrange(shown, width=across, height=_HIGHEST * width, drops=drops)
    elevations = _put_elevations(sheets, folder)
    for room, put in zip(sheets.rooms, elevations["rooms"], strict=True):
        put["cuts"] = printed_table(cuts[room.id]) if cuts and room.id in cuts else None
    return made | {"elevations": elevations}


def _put_weeks(plan: DayPlan, folder: Path, across: float, down: float) -> list[dict[str, str]]:
    """Draw the weeks of a plan on broad pages of this size."""
    edge = 2 * ELEVATION_MARGIN_MM / 25.4 * 72.0
    pictures = week_pictures(plan, width=across - edge, height=down - WEEK_FRAME)
    for n, picture in enumerate(pictures):
        (folder / f"week{n}.svg").write_text(picture.svg, encoding="utf-8")
    return [{"title": picture.title, "picture": f"week{n}.svg"} for n, picture in enumerate(pictures)]


def put_head(job: str, day: str, head: Letterhead, paper: Paper, folder: Path) -> dict[str, Any]:
    """Put the logo into a folder and return what every layout needs: job, date, letterhead and paper.

    Parameters
    ----------
    job, day
        Name of the job, and the date, ISO 8601.
    head
        Whose the pages are.
    paper
        What they are printed on.
    folder
        Where the layout will be set.
    """
    try:
        on = date.fromisoformat(day)
    except ValueError:
        on = None
    made: dict[str, Any] = {
        "job": job,
        "date": day,
        "day": [on.year, on.month, on.day] if on else None,
        "company": list(head.company),
        "prepared_by": head.prepared_by,
        "paper": _PAPER[paper][0],
        "margin": MARGIN_MM,
    }
    if head.logo:
        made["logo"] = f"logo.{logo_kind(head.logo)}"
        (folder / made["logo"]).write_bytes(head.logo)
    return made


def _put_plan(shown: Shown, i: int, folder: Path) -> dict[str, Any]:
    picture = shown.pictures[i]
    x0, y0, x1, y1 = picture.crop
    pixels = min(LARGEST_PIXELS, round(PIXELS * max(picture.size_pt) / max(x1 - x0, y1 - y0)))
    ending, page = page_picture(picture.page_pdf, picture.size_pt, pixels=pixels)
    names = {"page": f"page{i}.{ending}", "marks": f"marks{i}.svg"}
    (folder / names["page"]).write_bytes(page)
    rooms = place_rooms(picture, rooms_by_system(shown), shown.display)
    (folder / names["marks"]).write_text(marked_plan_svg(shown, picture, rooms), encoding="utf-8")
    return {**_plan(shown, picture, rooms), **names}


def set_pages(folder: Path, layout: Path, data: dict[str, Any], *, has_logo: bool) -> bytes:
    """Set the pages of a layout from data and from what lies in the folder.

    Parameters
    ----------
    folder
        Holds the pictures; the layout and the data are put beside them.
    layout
        The typst file.
    data
        What it reads as ``report.json``.
    has_logo
        Whether the letterhead's logo is on them, which may be what cannot be set.

    Raises
    ------
    ReportError
        If it cannot be set.
    """
    (folder / PARTS.name).write_bytes(PARTS.read_bytes())
    remedy = "Check the logo, or write the workbook instead." if has_logo else "Write the workbook instead."
    return set_layout(folder, layout, data, name="report.json", remedy=remedy)


def _plan(shown: Shown, picture: SheetPicture, rooms: Sequence[PlacedRoom]) -> dict[str, Any]:
    """What stands about a marked plan, without its pictures."""
    return {
        "title": sheet_title(picture.sheet),
        "issue": ", ".join(sheet_issue(picture.sheet)).replace("revision", "Revision", 1),
        "width": picture.size_pt[0],
        "height": picture.size_pt[1],
        "crop": list(picture.crop),
        "left": [", ".join(room.left) for room in rooms if room.left],
        "legend": [[shown.system_legend(s), *style_of(s, shown.system_order)] for s in shown.systems_on(picture)],
    }


def _put_elevations(sheets: ElevationSheets, folder: Path) -> dict[str, Any]:
    """Put the drawings of elevations into the folder and say where each goes."""

    def cell(room: int, row: int, place: int) -> dict[str, Any]:
        c = sheets.rooms[room].rows[row][place]
        name = f"elevation{room}-{row}-{place}.svg"
        (folder / name).write_text(c.picture, encoding="utf-8")
        alt = f"Elevation of {c.title}: {c.note}" + (f". Openings: {c.openings}" if c.openings else "")
        return {"picture": name, "width": c.width, "title": c.title, "note": c.note, "openings": c.openings, "alt": alt}

    return {
        "margin": ELEVATION_MARGIN_MM,
        "scale": sheets.scale.words,
        "bands": [list(band) for band in sheets.bands],
        "rooms": [
            {
                "title": room.title,
                "rows": [[cell(i, k, n) for n in range(len(row))] for k, row in enumerate(room.rows)],
            }
            for i, room in enumerate(sheets.rooms)
        ],
    }
