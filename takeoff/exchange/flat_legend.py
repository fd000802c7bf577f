"""What a flat copy of the plans says in words: a legend of the systems on a sheet, names and net areas of its rooms."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape
from typing import Any

from takeoff.exchange.plan_lines import PlanRun
from takeoff.exchange.plan_marks import look_of
from takeoff.exchange.printable import one_line
from takeoff.model.plan import Sheet
from takeoff.units import Display

LABEL, LEGEND = 7.0, 7.0
"""Height of letters in thousandths of the sheet's longer side."""
_INK_DPI = 18
"""Dots per inch at which the page is looked at for an empty place."""
_PLACES = 24
"""Places across and down that are tried."""
TITLE = "Net areas as measured"


def write_legend(page: Any, sheet: Sheet, runs: Sequence[PlanRun], display: Display) -> None:
    """Write names and areas into the rooms of a page, and a legend where it covers the least ink.

    Parameters
    ----------
    page
        The page, open for change; its marks are drawn already.
    sheet
        Its sheet.
    runs
        All runs of the job: a system has the colour of its mark.
    display
        How areas are shown.
    """
    here = [run for run in runs if run.sheet.id == sheet.id]
    if not here:
        return
    unit = max(sheet.width_pt, sheet.height_pt) / 1000.0
    rooms: dict[str, list[PlanRun]] = {}
    for run in here:
        if run.room is not None:
            rooms.setdefault(run.room.id, []).append(run)
    for members in rooms.values():
        _label(page, members, unit, display)
    _legend(page, here, sorted({run.system for run in runs}), unit, display)


def _label(page: Any, runs: Sequence[PlanRun], unit: float, display: Display) -> None:
    """Write the name and net area of a room into the middle of its largest wall line."""
    import shapely

    lines = [[(x / run.scale.mx, y / run.scale.my) for x, y in run.faces[0].path.flattened(0.05)] for run in runs]
    shapes = [shapely.Polygon(line) if len(line) > 3 else shapely.LineString(line) for line in lines]
    x, y = max(shapes, key=lambda shape: (shape.area, shape.length)).representative_point().coords[0]
    words = [one_line(runs[0].room_label), display.area(_net(runs))]
    size = LABEL * unit
    wide, high = max(map(len, words)) * size * 0.62 + size, 2.9 * size
    text = "<br/>".join(escape(word) for word in words)
    _box(page, (x, y), wide, high)
    _write(page, (x, y), wide, high, f'<div style="text-align:center;font-size:{size:.2f}px">{text}</div>')


def _legend(page: Any, runs: Sequence[PlanRun], systems: Sequence[str], unit: float, display: Display) -> None:
    here = [system for system in systems if any(run.system == system for run in runs)]
    size = LEGEND * unit
    names = {run.system: one_line(run.system_name) for run in runs}
    words = [f"{names[s]}: {display.area(_net([r for r in runs if r.system == s]))}" for s in here]
    wide, high = (
        (max(len(w) for w in (*words, TITLE)) * 0.62 + 6) * size,
        (len(here) + 2) * 1.5 * size,
    )
    corner = _emptiest(page, wide, high, 2 * size)
    left, top = corner[0] - wide / 2, corner[1] - high / 2
    middle = (left + wide / 2, top + high / 2)
    _box(page, _onto_sheet(page, middle), wide, high, is_framed=True)
    _write(
        page, _onto_sheet(page, (middle[0], top + 1.25 * size)), wide - size, 1.6 * size,
        f'<div style="font-size:{size:.2f}px"><b>{TITLE}</b></div>',
    )  # fmt: skip
    for row, (system, text) in enumerate(zip(here, words, strict=True), start=1):
        y = top + (row + 0.85) * 1.5 * size
        rgb, strokes = look_of(systems.index(system))
        ends = [_onto_sheet(page, (left + part * size, y)) for part in (0.7, 3.7)]
        dashes = " ".join(f"{d * unit:.2f}" for d in strokes)
        colour = [c / 255 for c in rgb]
        page.draw_line(*ends, color=colour, width=1.8 * unit, dashes=f"[{dashes}] 0" if dashes else None)
        at = _onto_sheet(page, (left + 4.4 * size + (wide - 5 * size) / 2, y))
        _write(page, at, wide - 5 * size, 1.5 * size, f'<div style="font-size:{size:.2f}px">{escape(text)}</div>')


def _net(runs: Sequence[PlanRun]) -> float:
    return math.fsum(face.quantities.net_area for run in runs for face in run.faces)


def _onto_sheet(page: Any, point: tuple[float, float]) -> tuple[float, float]:
    """Turn a point of the page as displayed into one of the unrotated page."""
    import pymupdf

    moved = pymupdf.Point(*point) * page.derotation_matrix
    return moved.x, moved.y


def _around(page: Any, middle: tuple[float, float], wide: float, high: float) -> Any:
    """Return the rectangle about a point, ``wide`` across as displayed."""
    import pymupdf

    across, down = (wide, high) if page.rotation % 180 == 0 else (high, wide)
    x, y = middle
    return pymupdf.Rect(x - across / 2, y - down / 2, x + across / 2, y + down / 2)


def _box(page: Any, middle: tuple[float, float], wide: float, high: float, *, is_framed: bool = False) -> None:
    looks = {"color": (0, 0, 0), "width": high / 150} if is_framed else {"color": None, "fill_opacity": 0.75}
    page.draw_rect(_around(page, middle, wide, high), fill=(1, 1, 1), **looks)


def _write(page: Any, middle: tuple[float, float], wide: float, high: float, html: str) -> None:
    page.insert_htmlbox(
        _around(page, middle, wide, high), html, css="* {font-family: sans-serif}", rotate=page.rotation, scale_low=0
    )


def _emptiest(page: Any, wide: float, high: float, margin: float) -> tuple[float, float]:
    """Return the middle of the place on the page as displayed where a box covers the least ink, low before high."""
    import numpy as np
    import pymupdf

    picture = page.get_pixmap(dpi=_INK_DPI, colorspace=pymupdf.csGRAY)
    ink = 255 - np.frombuffer(picture.samples, np.uint8).reshape(picture.height, picture.stride)[:, : picture.width]
    sums = np.pad(ink.astype(np.int64).cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    xs = np.linspace(margin + wide / 2, max(page.rect.width - margin - wide / 2, margin + wide / 2), _PLACES)
    ys = np.linspace(max(page.rect.height - margin - high / 2, margin + high / 2), margin + high / 2, _PLACES)
    by = _INK_DPI / 72.0

    def covered(middle: tuple[float, float]) -> int:
        x0, x1 = (min(max(0, round((middle[0] + side * wide / 2) * by)), picture.width) for side in (-1, 1))
        y0, y1 = (min(max(0, round((middle[1] + side * high / 2) * by)), picture.height) for side in (-1, 1))
        return int(sums[y1, x1] - sums[y0, x1] - sums[y1, x0] + sums[y0, x0])

    return min(((float(x), float(y)) for y in ys for x in xs), key=covered)
