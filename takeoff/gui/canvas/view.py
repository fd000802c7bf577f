"""Which part of a sheet is shown, and how large; shapes that are drawn over it.

Two frames meet here: displayed points (`takeoff.sheet.frame`: the sheet as a person sees it, 1/72 inch, y down) and
canvas pixels (from the top left corner of the canvas, y down).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Literal

from takeoff.gui.canvas.pixels import common
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.frame import Box, displayed_size
from takeoff.sheet.opened import PixelBox

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


SMALLEST_SIDE = 120.0
"""Pixels of the longer side of a sheet at the lowest scale."""
HIGHEST_SCALE = 32.0
"""Pixels per point at the highest scale: a point 32 pixels wide, 2304 dots per inch."""


@dataclass(frozen=True, slots=True)
class View:
    """The part of a sheet that a canvas shows.

    ``scale`` is canvas pixels per displayed point; ``left`` and ``top`` are the displayed point at canvas pixel (0, 0);
    ``width`` and ``height`` are the size of the canvas in pixels.
    """

    scale: float
    left: float
    top: float
    width: int
    height: int

    def to_canvas(self, x: float, y: float) -> Point:
        """Turn a displayed point into canvas pixels.

        Examples
        --------
        >>> View(2.0, 100.0, 50.0, 800, 600).to_canvas(110, 50)
        (20.0, 0.0)
        """
        return ((x - self.left) * self.scale, (y - self.top) * self.scale)

    def to_displayed(self, px: float, py: float) -> Point:
        """Turn canvas pixels into a displayed point: the inverse of `to_canvas`.

        Examples
        --------
        >>> View(2.0, 100.0, 50.0, 800, 600).to_displayed(20, 0)
        (110.0, 50.0)
        """
        return (self.left + px / self.scale, self.top + py / self.scale)

    def zoomed(self, factor: float, px: float, py: float, *, lowest: float = 0.0, highest: float = math.inf) -> View:
        """Multiply the scale while the displayed point at canvas pixel (px, py) stays where it is.

        The scale is kept from ``lowest`` to ``highest`` (`scale_limits`), pixels per displayed point.

        Examples
        --------
        >>> View(1.0, 0.0, 0.0, 800, 600).zoomed(2.0, 400, 300)
        View(scale=2.0, left=200.0, top=150.0, width=800, height=600)
        """
        scale = min(max(self.scale * factor, lowest), highest)
        x, y = self.to_displayed(px, py)
        return replace(self, scale=scale, left=x - px / scale, top=y - py / scale)

    def panned(self, dx_px: float, dy_px: float) -> View:
        """Move the sheet on the canvas by so many pixels right and down.

        Examples
        --------
        >>> View(2.0, 100.0, 50.0, 800, 600).panned(20, 0).left
        90.0
        """
        return replace(self, left=self.left - dx_px / self.scale, top=self.top - dy_px / self.scale)

    def resized(self, width: int, height: int) -> View:
        """Give the canvas another size in pixels; what lies at its top left corner stays."""
        return replace(self, width=width, height=height)

    def held(self, box: Box, least_px: float) -> View:
        """Move the view back so far that ``least_px`` pixels of a displayed box stay on the canvas, across and down.

        Examples
        --------
        >>> View(1.0, 5000.0, 0.0, 800, 600).held((0, 0, 1000, 500), 50).left
        950.0
        """
        keep_x = min(least_px, (box[2] - box[0]) * self.scale, self.width) / self.scale
        keep_y = min(least_px, (box[3] - box[1]) * self.scale, self.height) / self.scale
        left = min(max(self.left, box[0] + keep_x - self.width / self.scale), box[2] - keep_x)
        top = min(max(self.top, box[1] + keep_y - self.height / self.scale), box[3] - keep_y)
        return replace(self, left=left, top=top)

    def visible_box(self) -> Box:
        """Return left, top, right and bottom of what the canvas shows, in displayed points."""
        right, bottom = self.to_displayed(self.width, self.height)
        return (self.left, self.top, right, bottom)


def box_round(points: Iterable[Point]) -> Box:
    """Return the smallest box that holds some points: left, top, right and bottom.

    Examples
    --------
    >>> box_round([(3, 1), (2, 5)])
    (2, 1, 3, 5)
    """
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def fit(
    box: Box, width: int, height: int, margin_px: float = 24.0, *, lowest: float = 0.0, highest: float = math.inf
) -> View:
    """Show a whole displayed box (left, top, right, bottom) in the middle of a canvas in pixels, as large as it goes.

    The scale is kept within its limits, in pixels per displayed point.

    Examples
    --------
    >>> fit((0, 0, 400, 200), 840, 640, 20)
    View(scale=2.0, left=-10.0, top=-60.0, width=840, height=640)
    """
    room_x, room_y = max(width - 2 * margin_px, 1.0), max(height - 2 * margin_px, 1.0)
    across, down = box[2] - box[0], box[3] - box[1]
    scales = [room / size for room, size in ((room_x, across), (room_y, down)) if size > 0]
    scale = min(max(min(scales, default=HIGHEST_SCALE), lowest), highest)
    middle_x, middle_y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    return View(scale, middle_x - width / scale / 2, middle_y - height / scale / 2, width, height)


def scale_limits(sheet: Sheet) -> tuple[float, float]:
    """Return the lowest and the highest scale at which a sheet is shown, in pixels per displayed point.

    Examples
    --------
    >>> scale_limits(Sheet(id=1, source="", page=1, width_pt=1200, height_pt=600))
    (0.1, 32.0)
    """
    return min(SMALLEST_SIDE / max(displayed_size(sheet)), HIGHEST_SCALE), HIGHEST_SCALE


def whole_size(sheet: Sheet, view: View) -> tuple[int, int]:
    """Return the width and height in pixels of a whole sheet at a view's scale, each rounded to a pixel."""
    width, height = displayed_size(sheet)
    return max(1, round(width * view.scale)), max(1, round(height * view.scale))


def size_within(sheet: Sheet, across: int, down: int) -> tuple[int, int]:
    """Return the largest width and height in pixels of a sheet as displayed that fit in a rectangle."""
    width, height = displayed_size(sheet)
    scale = min(across / width, down / height)
    return max(1, round(width * scale)), max(1, round(height * scale))


def view_origin(sheet: Sheet, view: View, whole: tuple[int, int]) -> tuple[int, int]:
    """Return the pixel of the whole sheet, ``whole`` pixels large, that lies at the top left of a view's canvas.

    It is rounded to a whole pixel, so that a picture is never shifted by part of one.
    """
    width, height = displayed_size(sheet)
    return round(view.left * whole[0] / width), round(view.top * whole[1] / height)


def view_box(sheet: Sheet, view: View, whole: tuple[int, int]) -> PixelBox:
    """Return what a view shows of a sheet, in pixels of the whole sheet; empty when it shows nothing of it."""
    left, top = view_origin(sheet, view, whole)
    return common((left, top, left + view.width, top + view.height), (0, 0, *whole))
