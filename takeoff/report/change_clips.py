"""A part of a plan before and after a change, side by side: lines that one revision alone has, and numbered places."""

from __future__ import annotations

import base64
import math
from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.model.plan import Point

Box = tuple[float, float, float, float]
GONE, CAME = "#D55E00", "#0072B2"
"""Vermilion and blue: told apart by people who do not tell red from green (Okabe and Ito, 2008)."""
PIXELS = 1100
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
        zoom = PIXELS / size
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


def clip_address(side: ClipSide) -> str:
    """The picture of one side as an address for HTML."""
    return f"data:image/png;base64,{base64.b64encode(clip_png(side)).decode('ascii')}"
