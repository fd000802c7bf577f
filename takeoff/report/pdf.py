"""The printed editions, and what all of them share: plans and elevations put beside the layout, set by typst from data.

Everything on the pages comes as data: no text of the job is ever read as markup.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from takeoff.estimate.days.works import DayPlan
from takeoff.model.cut_lists import Drop
from takeoff.report.arithmetic import group_arithmetic
from takeoff.report.bid import Bid
from takeoff.report.bill_tables import bill, build_up_tables
from takeoff.report.content import ReportContent, Shown, sheet_issue, sheet_title
from takeoff.report.drawing import marked_plan_svg, style_of
from takeoff.report.elevation_rows import Cell, ElevationSheets, arrange
from takeoff.report.foreman import Foreman
from takeoff.report.letterhead import Letterhead, Paper, logo_kind
from takeoff.report.plan_names import place_rooms, rooms_by_system
from takeoff.report.planning_pictures import tornado_svg, week_pictures
from takeoff.report.planning_tables import planning_tables
from takeoff.report.tables import Table, price_table
from takeoff.report.typesetting import LARGEST_PIXELS, PIXELS, page_picture, set_layout
from takeoff.units import Display

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


def paper_of(show: Display) -> Paper:
    """Return the paper that goes with the units figures are shown in."""
    return "letter" if show.system == "imperial" else "a4"


def paper_name(show: Display) -> str:
    """Name that paper as the layouts do."""
    return _PAPER[paper_of(show)][0]


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


def printed(value: Any) -> Any:
    """Turn tables, and what holds them, into texts for the pages; other values stay."""
    if isinstance(value, Table):
        return printed_table(value)
    return [printed(one) for one in value] if isinstance(value, tuple) else value


def put_pages(
    shown: Shown,
    files: dict[str, bytes],
    *,
    plan: DayPlan | None = None,
    drops: Mapping[str, Sequence[Drop]] | None = None,
    cuts: Mapping[str, Table] | None = None,
) -> dict[str, Any]:
    """Put pictures of plans, elevations and logo into files by name and return what the layout needs of them.

    The days of a ``plan`` are drawn week by week; ``drops`` are pieces of mat on each face by its key, ``cuts`` a
    room's cut list by its id.
    """
    head = shown.letterhead
    paper = shown.paper or paper_of(shown.display)
    _, width, height = _PAPER[paper]
    made = put_head(shown.job, shown.date, head, paper, files) | {
        "head": [list(row) for row in shown.head()],
        "weeks": [] if plan is None else _put_weeks(plan, files, height, width),
        "plans": [_put_plan(shown, i, files) for i in range(len(shown.pictures))],
    }
    across = height - 2 * ELEVATION_MARGIN_MM / 25.4 * 72.0
    sheets = arrange(shown, width=across, height=_HIGHEST * width, drops=drops)
    elevations = _put_elevations(sheets, files)
    for room, put in zip(sheets.rooms, elevations["rooms"], strict=True):
        put["cuts"] = printed_table(cuts[room.id]) if cuts and room.id in cuts else None
    return made | {"elevations": elevations}


def _put_weeks(plan: DayPlan, files: dict[str, bytes], across: float, down: float) -> list[dict[str, str]]:
    edge = 2 * ELEVATION_MARGIN_MM / 25.4 * 72.0
    pictures = week_pictures(plan, width=across - edge, height=down - WEEK_FRAME)
    files |= {f"week{n}.svg": svg.encode() for n, (_, svg) in enumerate(pictures)}
    return [{"title": title, "picture": f"week{n}.svg"} for n, (title, _) in enumerate(pictures)]


def put_head(job: str, day: str, head: Letterhead, paper: Paper, files: dict[str, bytes]) -> dict[str, Any]:
    """Put the logo into files and return what every layout needs: job, date (ISO 8601), letterhead and paper."""
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
        files[made["logo"]] = head.logo
    return made


def _put_plan(shown: Shown, i: int, files: dict[str, bytes]) -> dict[str, Any]:
    picture = shown.pictures[i]
    x0, y0, x1, y1 = picture.crop
    pixels = min(LARGEST_PIXELS, round(PIXELS * max(picture.size_pt) / max(x1 - x0, y1 - y0)))
    ending, page = page_picture(picture.page_pdf, picture.size_pt, pixels=pixels)
    names = {"page": f"page{i}.{ending}", "marks": f"marks{i}.svg"}
    files[names["page"]] = page
    rooms = place_rooms(picture, rooms_by_system(shown), shown.display)
    files[names["marks"]] = marked_plan_svg(shown, picture, rooms).encode()
    return {
        "title": sheet_title(picture.sheet),
        "issue": ", ".join(sheet_issue(picture.sheet)).replace("revision", "Revision", 1),
        "width": picture.size_pt[0],
        "height": picture.size_pt[1],
        "crop": list(picture.crop),
        "left": [", ".join(room.left) for room in rooms if room.left],
        "legend": [[shown.system_name(s), *style_of(s, shown.system_order)] for s in shown.systems_on(picture)],
        **names,
    }


def set_pages(layout: str, data: dict[str, Any], files: Mapping[str, bytes]) -> bytes:
    """Set pages with a letterhead, whose logo may be what cannot be set (`ReportError`)."""
    remedy = "Check the logo, or write the workbook instead." if data.get("logo") else "Write the workbook instead."
    return set_layout(layout, data, files, remedy=remedy)


def _put_elevations(sheets: ElevationSheets, files: dict[str, bytes]) -> dict[str, Any]:

    def cell(c: Cell, name: str) -> dict[str, Any]:
        files[name] = c.picture.encode()
        alt = f"Elevation of {c.title}: {c.note}" + (f". Openings: {c.openings}" if c.openings else "")
        return {"picture": name, "width": c.width, "title": c.title, "note": c.note, "openings": c.openings, "alt": alt}

    return {
        "margin": ELEVATION_MARGIN_MM,
        "scale": sheets.scale.words,
        "bands": [list(band) for band in sheets.bands],
        "rooms": [
            {
                "title": room.title,
                "rows": [
                    [cell(c, f"elevation{i}-{k}-{n}.svg") for n, c in enumerate(row)] for k, row in enumerate(room.rows)
                ],
            }
            for i, room in enumerate(sheets.rooms)
        ],
    }


def report_data(content: ReportContent) -> dict[str, Any]:
    """Everything that the printed and the one-file report show alike, as texts."""
    total, u = content.by_room.total.quantities, content.by_room.total.u
    d, e = content.display, content.estimate
    corners = (total.inside_corner_length, total.outside_corner_length)
    return {
        "job": content.job,
        "date": content.date,
        "headline": [
            ["Net area", f"{d.area(total.net_area)} ± {d.area(u.net_area)}"],
            ["Openings deducted", d.area(total.deducted_area)],
            ["Base", f"{d.length(total.base_length)} ± {d.length(u.base_length)}"],
            ["Corners, inside and outside", ", ".join(map(d.length, corners))],
            ["Cove", d.length(total.cove_length)],
            ["Labour", f"{e.hours:,.1f} man-hours, {e.crew_days:,.1f} crew days"],
            ["Price", d.money(e.line("price").amount)],
            *([["Currency", content.currency_words]] if content.currency_words else []),
        ],
        "rule": f"{content.rule}: {content.rule_source}",
        "scales": list(content.scales),
        "open_points": list(content.open_lines),
        "cautions": list(e.cautions),
        "notes": list(e.notes),
        "tables": [printed_table(table) for table in content.tables()],
    }


def report_pdf(content: ReportContent) -> bytes:
    """Set the report as PDF; a `ReportError` where it cannot be set."""
    files: dict[str, bytes] = {}
    pages = put_pages(content, files, plan=content.planning.days)
    return set_pages("report.typ", report_data(content) | pages | _printed(content) | _planned(content, files), files)


def _planned(content: ReportContent, files: dict[str, bytes]) -> dict[str, Any]:
    planning = content.planning
    tables = planning_tables(planning, content.display, content.estimate.currency, content.walls)
    made: dict[str, Any] = {"planning": {table.id: printed_table(table) for table in tables}}
    if planning.price_range is not None:
        files["range.svg"] = tornado_svg(planning.price_range, content.estimate.currency).encode()
    return made


def _printed(content: ReportContent) -> dict[str, Any]:
    e, d = content.estimate, content.display
    return {
        "currency": e.currency,
        "per_area": price_table(e, d).note,
        "coated": d.area(e.net_area) if e.net_area > 0 else "",
        "price": d.money(e.line("price").amount),
        "systems": [[s.id, s.label, d.area(s.area) if s.area else "", d.money(s.price)] for s in e.systems],
        "build_up": [printed_table(t) for t in build_up_tables(e, content.catalogue, d)],
        "exclusions": content.exclusions,
        "qualifications": content.qualifications,
        "bill": [asdict(part) for part in bill(content)],
        "arithmetic": {
            name: [asdict(group) for group in groups] for name, groups in group_arithmetic(e, content.catalogue).items()
        },
    }


def bid_pdf(bid: Bid) -> bytes:
    """Set a bid as PDF; a `ReportError` where it cannot be set."""
    files: dict[str, bytes] = {}
    tables = ("scope", "price", "unit_prices", "alternates", "days", "build_up")
    texts = ("headline", "payment", "exclusions", "qualifications", "cautions")
    return set_pages("bid.typ", put_pages(bid, files) | _own(bid, *tables, *texts), files)


def foreman_pdf(copy: Foreman) -> bytes:
    """Set a foreman's copy as PDF; a `ReportError` where it cannot be set."""
    files: dict[str, bytes] = {}
    pages = put_pages(copy, files, plan=copy.plan, drops=copy.drops, cuts=copy.cuts)
    tables = ("rooms", "ready", "packs", "whole", "mixing", "limits", "strips", "steps", "build_up")
    return set_pages("foreman.typ", pages | _own(copy, *tables, "open", "cautions"), files)


def _own(shown: Shown, *names: str) -> dict[str, Any]:
    return {name: printed(getattr(shown, name)) for name in names}
