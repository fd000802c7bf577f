"""A revision in figures and in pictures, for the person who has to agree to what it costs: set by typst from data."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from takeoff.model.plan import Point
from takeoff.report.files import write_whole
from takeoff.report.pdf import paper_name, printed_table
from takeoff.report.tables import Cell, Table, amounts, numbers, shown_amount, texts
from takeoff.report.typesetting import PIXELS, page_picture, set_layout, svg_head
from takeoff.revise.delta import LEAST, Delta, DeltaItem
from takeoff.units import Display

Box = tuple[float, float, float, float]
GONE, CAME = "#D55E00", "#0072B2"
"""Vermilion and blue: told apart by people who do not tell red from green (Okabe and Ito, 2008)."""
CLIP_PIXELS = 1100
"""Longer side of a clip: 300 dots to the inch at the width that it has on a page."""
LABEL = 1.0 / 34.0
"""Radius of a numbered label as a part of the clip's longer side: 2.5 mm on a page."""
RINGS = (2.2, 3.6, 5.2, 7.0)
"""Distances of a label from its place, in its radius, the nearest tried first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipSide:
    """One revision's part: its page as displayed, the box that is shown, lines of its own, numbered places; points."""

    page_pdf: bytes
    box: Box
    lines: tuple[tuple[Point, Point], ...]
    places: tuple[tuple[int, Point], ...]
    is_new: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeClip:
    """A room before and after; ``words`` say what stands at each number, from 1."""

    room: str
    words: tuple[str, ...]
    before: ClipSide
    after: ClipSide


def clip_png(side: ClipSide) -> bytes:
    """Draw one side as a picture."""
    import pymupdf

    colour = tuple(int((CAME if side.is_new else GONE)[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    x0, y0, x1, y1 = side.box
    size = max(x1 - x0, y1 - y0)
    pen, radius = size / 260.0, LABEL * size
    with pymupdf.open(stream=side.page_pdf, filetype="pdf") as document:
        page = document[0]
        printed = [word[:4] for word in page.get_text("words", clip=pymupdf.Rect(side.box))]
        shape = page.new_shape()
        shape.draw_rect(pymupdf.Rect(side.box))  # the plan steps back behind its marks
        shape.finish(color=None, fill=(1, 1, 1), fill_opacity=0.4)
        for a, b in side.lines:
            shape.draw_line(a, b)
        if side.lines:
            shape.finish(color=colour, width=pen, dashes=None if side.is_new else f"[{3 * pen:g} {2 * pen:g}]")
        for (number, place), middle in zip(side.places, label_places(side, printed), strict=True):
            shape.draw_line(place, middle)
            shape.draw_circle(place, 0.25 * radius)
            shape.finish(color=(0, 0, 0), fill=(0, 0, 0), width=0.5 * pen)
            shape.draw_circle(middle, radius)
            shape.finish(color=(0, 0, 0), fill=(1, 1, 1), width=0.7 * pen)
            text = str(number)
            wide = pymupdf.get_text_length(text, fontname="hebo", fontsize=1.3 * radius)
            shape.insert_text(
                (middle[0] - wide / 2.0, middle[1] + 0.46 * radius), text, fontname="hebo", fontsize=1.3 * radius
            )  # fmt: skip
        shape.commit()
        zoom = CLIP_PIXELS / size
        seen = page.get_pixmap(matrix=pymupdf.Matrix(zoom, zoom), clip=pymupdf.Rect(side.box), alpha=False)
        return bytes(seen.tobytes("png"))


def label_places(side: ClipSide, printed: Sequence[Box] = ()) -> tuple[Point, ...]:
    """Middles of the labels: each beside its place, within the box, on no other label, place or printed word.

    Where there is no free spot, the one farthest from all that is taken.
    """
    x0, y0, x1, y1 = side.box
    radius = LABEL * max(x1 - x0, y1 - y0)
    placed: list[Point] = []
    for number, (x, y) in side.places:
        spots = [
            (x + ring * radius * math.cos(turn * math.pi / 4), y + ring * radius * math.sin(turn * math.pi / 4))
            for ring in RINGS
            for turn in (7, 1, 5, 3, 6, 2, 0, 4)
        ]
        inside = [s for s in spots if x0 + radius <= s[0] <= x1 - radius and y0 + radius <= s[1] <= y1 - radius]
        others = [place for other, place in side.places if other != number]

        def room(spot: Point, others: Sequence[Point] = others) -> float:
            away = [math.dist(spot, p) / (2.2 * radius) for p in placed]
            away += [math.dist(spot, p) / (1.3 * radius) for p in others]
            away += [_from_box(spot, word) / (1.2 * radius) for word in printed]
            return min(away, default=math.inf)

        placed.append(next((s for s in inside if room(s) >= 1.0), max(inside or spots, key=room)))
    return tuple(placed)


def _from_box(p: Point, box: Box) -> float:
    return math.hypot(max(box[0] - p[0], p[0] - box[2], 0.0), max(box[1] - p[1], p[1] - box[3], 0.0))


BILL_LINES = {
    "gross_area": "Gross area",
    "deducted_area": "Openings deducted",
    "net_area": "Net area",
    "return_area": "Returns at openings",
    "base_length": "Base",
    "termination_length": "Terminations",
    "inside_corner_length": "Inside corners",
    "outside_corner_length": "Outside corners",
    "cove_length": "Cove",
}
"""Measured lines of the bill, by the figures of a delta."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangePicture:
    """The new sheet as displayed, with what is gone and what is new in points of that page.

    ``page_pdf`` is the page alone. Lines are pairs of points; ``boxes`` are corners of changes, numbered from 1.
    """

    page_pdf: bytes
    size_pt: tuple[float, float]
    removed: tuple[tuple[Point, Point], ...]
    added: tuple[tuple[Point, Point], ...]
    boxes: tuple[tuple[Point, Point], ...]


def delta_tables(delta: Delta, display: Display) -> tuple[Table, ...]:
    """Tables of a delta: by room, by change, by bill line, and material; for the pages, a workbook or CSV."""
    changed = [r for r in delta.runs if r.is_changed]
    return (
        _items("delta-by-room", "Change by room", "Room", delta.rooms, delta, display),
        _items("delta-by-change", "Change by wall", "Room and wall", changed, delta, display),
        _bill_lines(delta, display),
        _materials(delta, display),
    )


def _items(id: str, title: str, head: str, items: Sequence[DeltaItem], delta: Delta, display: Display) -> Table:
    columns = (
        *texts(head),
        *numbers("Net before", "Net after", "Added", "Deducted", unit=display.area_unit),
        *numbers("Base", "Cove", unit=display.length_unit),
        *amounts("Price", unit=delta.currency),
    )

    def changed(figure: str, item: DeltaItem) -> float:
        change = item.figures[figure].change
        return display.length_number(change) if abs(change) > LEAST else 0.0

    def row(item: DeltaItem) -> tuple[Cell, ...]:
        net = item.figures["net_area"]
        areas = (net.before, net.after, max(net.change, 0.0), max(-net.change, 0.0))
        name = f"{item.room}: {item.label}" if item.room else item.label
        lengths = (changed("base_length", item), changed("cove_length", item))
        return (name, *map(display.area_number, areas), *lengths, item.price_change)

    blank: tuple[Cell, ...] = ("",) * (len(columns) - 2)
    rows: list[tuple[Cell, ...]] = [row(i) for i in items]
    rows += [(text, *blank, amount) for text, amount in beside_lines(delta, display)]
    return Table(
        id=id,
        title=title,
        columns=columns,
        rows=tuple(rows),
        total=("Change of price", *blank, delta.price.change),
        note="Lines count material as it is used, at the lowest price per unit.",
    )


def _bill_lines(delta: Delta, display: Display) -> Table:
    columns = (*texts("Bill line", "Unit"), *numbers("Before", "After", "Change"))
    rows: list[tuple[Cell, ...]] = []
    for figure, name in BILL_LINES.items():
        pair, is_area = delta.total[figure], figure.endswith("area")
        number = display.area_number if is_area else display.length_number
        unit = display.area_unit if is_area else display.length_unit
        if max(abs(pair.before), abs(pair.after)) > LEAST:
            change = number(pair.change) if abs(pair.change) > LEAST else 0.0
            rows.append((name, unit, number(pair.before), number(pair.after), change))
    return Table(id="delta-by-line", title="Change by bill line", columns=columns, rows=tuple(rows))


def beside_lines(delta: Delta, display: Display) -> list[tuple[str, float]]:
    """Name the parts of a change of price that no room makes: whole packs, and what changed besides the runs."""
    money = replace(display, currency=delta.currency).money
    left = delta.left_over
    lines = [
        (f"Packs are whole: left over {money(left.after)}, before {money(left.before)}", delta.whole_packs),
        ("Walls carried to within 1 mm, settings and rates", delta.other),
    ]
    return lines if delta.other else lines[:1]


def unpriced_words(delta: Delta) -> str:
    """Say which rooms change their area and have no price, where there are such."""
    rooms = ", ".join(r.label for r in delta.rooms if not (r.figures["net_area"].is_same or r.price_change))
    return f"No price is in this for {rooms}: no system is known there." if rooms else ""


def _materials(delta: Delta, display: Display) -> Table:
    columns = (
        *texts("Product"),
        *numbers("Before", "After", decimals=2),
        *texts("Unit"),
        *amounts("Cost", unit=delta.currency),
    )
    rows: list[tuple[Cell, ...]] = []
    for m in delta.materials:
        before, unit = shown_amount(m.bought.before, m.unit, display)
        rows.append((m.name, before, shown_amount(m.bought.after, m.unit, display)[0], unit, m.cost.change))
    return Table(id="delta-material", title="Material", columns=columns, rows=tuple(rows))


def change_svg(picture: ChangePicture) -> str:
    """Draw what is gone (vermilion, dashed) and what is new (blue) over a page, with numbered boxes."""
    width, height = picture.size_pt
    pen = max(width, height) / 1400.0

    def path(lines: Sequence[tuple[Point, Point]]) -> str:
        return " ".join(f"M{a[0]:.2f} {a[1]:.2f}L{b[0]:.2f} {b[1]:.2f}" for a, b in lines)

    parts = [
        svg_head(width, height, 'font-family="DejaVu Sans"'),
        f'<path d="{path(picture.removed)}" fill="none" stroke="{GONE}" stroke-width="{pen:g}" '
        f'stroke-dasharray="{3 * pen:g} {2 * pen:g}"/>',
        f'<path d="{path(picture.added)}" fill="none" stroke="{CAME}" stroke-width="{pen:g}"/>',
    ]
    for number, (a, b) in enumerate(picture.boxes, start=1):
        x, y = min(a[0], b[0]) - 4 * pen, min(a[1], b[1]) - 4 * pen
        w, h = abs(a[0] - b[0]) + 8 * pen, abs(a[1] - b[1]) + 8 * pen
        parts.append(
            f'<rect x="{x:.2f}" y="{y:.2f}" width="{w:.2f}" height="{h:.2f}" fill="none" stroke="#000" '
            f'stroke-width="{0.5 * pen:g}"/>'
            f'<text x="{x:.2f}" y="{y - 3 * pen:.2f}" font-size="{12 * pen:g}">{number}</text>'
        )
    return "\n".join([*parts, "</svg>"])


def write_change_order_pdf(
    path: Path, d: Delta, show: Display, picture: ChangePicture, **told: str | Sequence[str] | Sequence[tuple[str, str]]
) -> Path:
    """Write the pages as PDF; a `ReportError` where they cannot be set or written.

    ``told`` are words: ``job``, ``title`` with the revisions, ``date``, ``registration`` (how well the sheets lie on
    one another), ``changes``, ``taken`` (runs that were carried, each with what was found), ``left`` (to be looked at).
    """
    money = replace(show, currency=d.currency).money

    def sign(value: float) -> str:
        return ("+" if value > 0 else "") + money(value)

    ending, page = page_picture(picture.page_pdf, picture.size_pt, pixels=PIXELS)
    data = {
        **told,
        "paper": paper_name(show),
        "headline": [
            ["Net area added", show.area(d.added("net_area"))],
            ["Net area deducted", show.area(d.deducted("net_area"))],
            ["Cost of what is added", money(d.money_added)],
            ["Cost of what is deducted", money(-d.money_deducted)],
            *([text, sign(amount)] for text, amount in beside_lines(d, show)),
            ["Change of price", sign(d.price.change)],
            ["Price before and after", f"{money(d.price.before)}, {money(d.price.after)}"],
            ["Man-hours before and after", f"{d.hours.before:,.1f} h, {d.hours.after:,.1f} h"],
        ],
        "unpriced": unpriced_words(d),
        "tables": [printed_table(t) for t in delta_tables(d, show) if t.rows],
        "picture": dict(zip(("width", "height"), picture.size_pt, strict=True)),
        "page": f"page.{ending}",
    }
    files = {f"page.{ending}": page, "changes.svg": change_svg(picture).encode()}
    return write_whole(path, set_layout("change_order.typ", data, files, remedy="Use --json instead."))
