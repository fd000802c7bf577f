"""What is drawn over a sheet: lines, polygons, marks and texts, as plain values.

Places are in sheet points, so a shape is made once and stays right at every zoom; widths and sizes are in canvas
pixels, so that it stays legible.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from takeoff.model.plan import Point

ShapeKind = Literal["line", "polygon", "dot", "square", "text"]


@dataclass(frozen=True, slots=True)
class Shape:
    """One thing drawn over a sheet.

    A line needs two points or more, a polygon three; a dot, a square and a text lie at each of theirs. Colours are
    ``#rrggbb``: ``colour`` of line, outline or text, ``fill`` inside and ``back`` of the plate under a text, empty for
    none. ``width`` of a line is in pixels, 0 draws none; ``dash`` are dashes and gaps in pixels. ``size`` is that of a
    dot or square in pixels, or of letters in pixels at 100 % text. ``anchor`` is where the point lies in a text: ``nw``
    puts it at its top left. ``tag`` names it on the canvas.
    """

    kind: ShapeKind
    points_pt: tuple[Point, ...]
    colour: str
    width: float = 2
    dash: tuple[int, ...] = ()
    fill: str = ""
    text: str = ""
    size: int = 12
    anchor: str = "center"
    back: str = ""
    tag: str = ""


def box_shape(a: Point, b: Point, **look: Any) -> Shape:
    """A rectangle from corner to corner."""
    (x0, y0), (x1, y1) = a, b
    return Shape(kind="polygon", points_pt=((x0, y0), (x1, y0), (x1, y1), (x0, y1)), **look)


def plate(place: Point, text: str, **look: Any) -> Shape:
    """A text in black on a white plate, or with another look."""
    return Shape(kind="text", points_pt=(place,), text=text, **{"colour": "#000000", "back": "#FFFFFF", **look})
