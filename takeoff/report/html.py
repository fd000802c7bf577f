"""The report and the bid as one HTML file each that needs no network.

Texts of the job go through a template that escapes them; the page's own policy forbids every script and style but the
two whose hashes it names, and every address but pictures inside the file.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from takeoff.report.bid import Bid
from takeoff.report.content import Mark, ReportContent, SheetPicture, Shown, sheet_issue, sheet_title
from takeoff.report.drawing import elevation_svg, scaled, style_of, ticks
from takeoff.report.letterhead import logo_kind
from takeoff.report.pdf import printed_table, report_data
from takeoff.report.plan_names import SIZE, place_names, place_rooms, rooms_by_system, unit_of
from takeoff.report.planning_tables import planning_tables
from takeoff.report.tables import Cell, Table
from takeoff.report.typesetting import page_picture

FOLDER = Path(__file__).parent
_MEDIA = {"png": "image/png", "jpg": "image/jpeg", "svg": "image/svg+xml"}
PICTURE_PIXELS = 5000
"""Longer side of a plan that goes in as a picture of dots."""
LAYERS = (
    ("sheet", "Plan"),
    ("names", "Names"),
    ("hand", "Coated side"),
    ("openings", "Openings"),
    ("corners", "Corners"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Numbers that addresses are made of, so that no text of the job is part of one.

    ``marks`` number faces by their key, ``faces`` list the numbers of a run's faces, ``rooms`` number the rooms by id,
    ``figures`` are addresses of the rows that hold a run's figures, ``drawn`` the faces that a marked plan shows.
    """

    marks: dict[str, int]
    faces: dict[str, tuple[int, ...]]
    rooms: dict[str, int]
    figures: dict[str, str]
    drawn: frozenset[int]

    @classmethod
    def of(cls, content: Shown) -> Places:
        """Number what a report shows."""
        faces: dict[str, tuple[int, ...]] = {}
        for i, e in enumerate(content.elevations):
            faces[e.run] = (*faces.get(e.run, ()), i)
        marks = {e.key: i for i, e in enumerate(content.elevations)}
        return cls(
            marks=marks,
            faces=faces,
            rooms={item.id: i for i, item in enumerate(content.by_room.items)},
            figures={item.id: f"run-{i}" for i, item in enumerate(content.by_run.items)},
            drawn=frozenset(marks[mark.label] for picture in content.pictures for mark in picture.marks),
        )

    def drawn_of(self, runs: Sequence[str]) -> tuple[int, ...]:
        """Numbers of those faces of some runs that a marked plan shows."""
        return tuple(i for run in runs for i in self.faces.get(run, ()) if i in self.drawn)


@dataclass(frozen=True, slots=True, kw_only=True)
class RowPlaces:
    """A row's own address (empty for none), the faces it stands for, and further links (address, text)."""

    id: str = ""
    marks: tuple[int, ...] = ()
    links: tuple[tuple[str, str], ...] = ()


def report_html(content: ReportContent) -> bytes:
    """Make the report as one HTML file, UTF-8."""
    data, places, head = report_data(content), Places.of(content), content.letterhead
    lists = (
        ("Scales", data["scales"]),
        ("Open points", data["open_points"]),
        ("What is not included", content.exclusions),
        ("Qualifications", content.qualifications),
        ("Cautions", data["cautions"]),
    )
    rows = row_places(content, places)
    planned = planning_tables(content.planning, content.display, content.estimate.currency, content.walls)
    return render(
        "report.html.jinja",
        job=content.job,
        date=content.date,
        headline=data["headline"],
        rule=data["rule"],
        lists=lists,
        plans=[_plan(content, picture, places) for picture in content.pictures],
        elevations=_elevations(content, places),
        company=head.company,
        logo=logo_address(head.logo),
        prepared_by=head.prepared_by,
        tables=[page_table(table, rows.get(table.id, ())) for table in (*content.tables(), *planned)],
    )


def bid_html(bid: Bid) -> bytes:
    """Make a bid as one HTML file, UTF-8."""
    row_of = {run: f"scope-{i}" for i, runs in enumerate(bid.scope_runs) for run in runs}
    places = Places.of(bid)
    places = replace(places, figures={run: row_of.get(run, "scope") for run in places.figures})
    in_scope = [RowPlaces(id=f"scope-{i}", marks=places.drawn_of(runs)) for i, runs in enumerate(bid.scope_runs)]
    head = bid.letterhead
    return render(
        "bid.html.jinja",
        job=bid.job,
        company=head.company,
        logo=logo_address(head.logo),
        headline=(*bid.head(), *bid.headline),
        tables=[page_table(t, in_scope if t is bid.scope else ()) for t in bid.tables()],
        build_up=[page_table(replace(t, id=f"build-up-{i}")) for i, t in enumerate(bid.build_up)],
        lists=(
            ("payment", "Payment and how long this bid holds", bid.payment),
            ("not-included", "What is not included", bid.exclusions),
            ("qualifications", "Qualifications", bid.qualifications),
            ("safety", "Safety", bid.cautions),
        ),
        plans=[_plan(bid, picture, places) for picture in bid.pictures],
        elevations=_elevations(bid, places),
    )


def render(template: str, **values: Any) -> bytes:
    """Fill a template with values, its style and script inlaid; every text is escaped."""
    import jinja2
    from markupsafe import Markup

    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(FOLDER), autoescape=True, undefined=jinja2.StrictUndefined
    )
    css, js = ((FOLDER / name).read_text(encoding="utf-8") for name in ("report.css", "report.js"))
    page = environment.get_template(template)
    return page.render(policy=_policy(css, js), css=Markup(css), js=Markup(js), **values).encode("utf-8")


def _policy(css: str, js: str) -> str:
    """Content security policy (W3C CSP level 3): nothing but this file's own style, script and inlaid pictures."""
    style, script = (
        f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'" for text in (css, js)
    )
    own = f"style-src {style}; script-src {script}; img-src data:"
    return f"default-src 'none'; {own}; base-uri 'none'; form-action 'none'"


def row_places(content: ReportContent, places: Places) -> dict[str, list[RowPlaces]]:
    """List the places of the rows of each table that has any, by the table's id; rows after them have none."""

    def row(runs: Sequence[str], id: str = "", *links: tuple[str, str]) -> RowPlaces:
        return RowPlaces(id=id, marks=places.drawn_of(runs), links=links)

    in_room = {item.id: item.sources for item in content.by_room.items}
    room_of = {e.run: e.room or "" for e in content.elevations}
    e = content.estimate
    return {
        "quantities-by-room": [row(i.sources, f"room-{places.rooms[i.id]}") for i in content.by_room.items],
        "quantities-by-run": [
            row(
                i.sources,
                places.figures[i.id],
                (f"elevation-{places.faces[i.id][0]}", "elevation"),
                (f"room-{places.rooms[room_of[i.id]]}", "room"),
            )
            for i in content.by_run.items
        ],
        "materials": [row(tuple(dict.fromkeys(run for need in m.needs for run in need.runs))) for m in e.materials],
        "labour": [row(in_room.get(line.room, ())) for line in e.labour],
        "price-by-room": [row(in_room.get(room.id, ())) for room in e.rooms],
    }


def _plan(content: Shown, picture: SheetPicture, places: Places) -> dict[str, Any]:
    systems = content.systems_on(picture)
    width, height = picture.size_pt
    unit = unit_of(picture)
    kind, page = page_picture(picture.page_pdf, picture.size_pt, pixels=PICTURE_PIXELS)
    rooms = place_rooms(picture, rooms_by_system(content), content.display)
    system_of = {m.label.rpartition(":")[0]: systems.index(m.system) for m in picture.marks}
    return {
        "title": sheet_title(picture.sheet),
        "words": ", ".join((sheet_title(picture.sheet), *sheet_issue(picture.sheet))),
        "width": round(width, 3),
        "height": round(height, 3),
        "unit": unit,
        "picture": address_of(page, kind),
        "layers": LAYERS,
        "systems": [
            {"name": content.system_name(s), "colour": colour, "dash": scaled(dash, 1.0) or "none"}
            for s in systems
            for colour, dash in [style_of(s, content.system_order)]
        ],
        "marks": [_mark(mark, unit, systems, content, places) for mark in picture.marks],
        "names": [
            {"text": name.text, "x": name.x, "y": name.y, "system": system_of[name.run]}
            for name in place_names(picture, content.tags(picture), rooms)
        ],
        "rooms": [{"box": room.box, "size": round(room.size, 2), "lines": room.bases} for room in rooms],
        "left": [", ".join(room.left) for room in rooms if room.left],
        "crop": picture.crop,
        "name_size": round(SIZE * unit, 2),
    }


def _mark(mark: Mark, unit: float, systems: list[str], content: Shown, places: Places) -> dict[str, Any]:
    index = places.marks[mark.label]
    elevation = content.elevations[index]
    colour, dash = style_of(mark.system, content.system_order)
    return {
        "index": index,
        "target": places.figures[elevation.run],
        "words": _face_words(content, index),
        "system": systems.index(mark.system),
        "colour": colour,
        "dash": scaled(dash, unit) or "none",
        "line": " ".join(f"{x:.2f},{y:.2f}" for x, y in mark.line_pt),
        "ticks": ticks(mark, unit),
        "openings": "".join(f"M{a:.2f} {b:.2f}L{c:.2f} {d:.2f}" for (a, b), (c, d) in mark.openings_pt),
        "corners": [{"x": round(x, 2), "y": round(y, 2), "inside": inside} for x, y, inside in mark.corners],
    }


def _face_words(content: Shown, index: int) -> str:
    e, d = content.elevations[index], content.display
    name = f"{content.wall_name(e.key)}, {content.system_name(e.system or '')}"
    return f"{name}: {d.length(e.length)} long, {d.area(float(e.net.area))} net"


def _elevations(content: Shown, places: Places) -> list[dict[str, Any]]:
    from markupsafe import Markup

    return [
        {
            "picture": Markup(elevation_svg(e, content.display, walls=content.walls.walls[e.key])),
            "name": content.wall_name(e.key),
            "target": places.figures[e.run],
            "words": _face_words(content, i),
            "on_plan": i in places.drawn,
        }
        for i, e in enumerate(content.elevations)
    ]


def page_table(table: Table, places: Sequence[RowPlaces] = ()) -> dict[str, Any]:
    """Give the template a table with the places of its first rows; further rows have none."""

    def cells(row: tuple[Cell, ...]) -> list[dict[str, Any]]:
        return [{"text": c.text(v), "value": v, "number": c.is_number} for c, v in zip(table.columns, row, strict=True)]

    found = zip(table.rows, (*places, *[RowPlaces()] * len(table.rows)), strict=False)
    return printed_table(table) | {
        "rows": [{"cells": cells(row), "id": at.id, "marks": at.marks, "links": at.links} for row, at in found],
        "total": cells(table.total) if table.total else None,
    }


def address_of(picture: bytes, kind: str) -> str:
    """Address of a picture inside the file, of a kind such as ``png``; empty for none.

    A drawing inside an image is never given scripts or the network by a viewer (SVG 2, secure static mode).
    """
    return f"data:{_MEDIA[kind]};base64,{base64.b64encode(picture).decode()}" if picture else ""


def logo_address(logo: bytes) -> str:
    """Address of a logo inside the file; empty for none."""
    return address_of(logo, logo_kind(logo)) if logo else ""
