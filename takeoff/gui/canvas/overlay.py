"""Shapes as items of a canvas that follow the view."""

from __future__ import annotations

import tkinter
from collections.abc import Sequence
from typing import Any

from takeoff.gui.canvas.view import Shape, View
from takeoff.gui.widgets import family, text_size
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.frame import sheet_to_displayed

PLATE_PX = 3
"""Pixels of plate that show around a text."""


class Overlay:
    """One layer of shapes on a canvas, all of whose items carry the layer's name as a tag.

    Items move along with the view, and are made anew at another scale. Marks, plates and letters keep their size. Where
    plates would lie on one another, only the first is shown.
    """

    def __init__(self, canvas: tkinter.Canvas, layer: str) -> None:
        self._canvas = canvas
        self._layer = layer
        self._shapes: tuple[Shape, ...] = ()
        self._sheet: Sheet | None = None
        self._view: View | None = None
        self._plates: list[tuple[int, int, int, int]] = []
        self._family = family()

    def show(self, shapes: Sequence[Shape], sheet: Sheet | None, view: View) -> None:
        """Draw these shapes in place of those before; without a sheet none is drawn."""
        wanted = tuple(shapes) if sheet is not None else ()
        if (wanted, sheet, view) != (self._shapes, self._sheet, self._view):
            self._shapes, self._sheet, self._view = wanted, sheet, view
            self.draw()

    def move(self, view: View) -> None:
        """Put every item where the view has it."""
        before, self._view = self._view, view
        if before is None or before.scale != view.scale:
            self.draw()
        else:
            self._canvas.move(self._layer, (before.left - view.left) * view.scale, (before.top - view.top) * view.scale)

    def draw(self) -> None:
        """Draw all anew: the text may have another size."""
        self._canvas.delete(self._layer)
        self._plates = []
        if self._sheet is not None and self._view is not None:
            for shape in self._shapes:
                places = (sheet_to_displayed(self._sheet, *point) for point in shape.points_pt)
                self._add(shape, [self._view.to_canvas(*place) for place in places])

    def lift(self) -> None:
        """Put the layer over all else."""
        self._canvas.tag_raise(self._layer)

    def _add(self, shape: Shape, places: list[Point]) -> None:
        """Make the items of one shape at places in pixels; a line or polygon of a single one has none."""
        canvas = self._canvas
        tags = (self._layer, shape.tag) if shape.tag else (self._layer,)
        pen: dict[str, Any] = {"width": shape.width, "dash": shape.dash, "tags": tags}
        outline = shape.colour if shape.width > 0 else ""
        match shape.kind:
            case "line" if len(places) > 1:
                canvas.create_line(places, fill=shape.colour, joinstyle="round", **pen)
            case "polygon" if len(places) > 1:
                canvas.create_polygon(places, fill=shape.fill, outline=outline, joinstyle="round", **pen)
            case "dot" | "square":
                create: Any = canvas.create_oval if shape.kind == "dot" else canvas.create_rectangle
                half = shape.size / 2
                for x, y in places:
                    create(x - half, y - half, x + half, y + half, fill=shape.fill, outline=outline, **pen)
            case "text":
                for place in places:
                    self._add_text(shape, place, tags)

    def _add_text(self, shape: Shape, place: Point, tags: tuple[str, ...]) -> None:
        """Write a text, with its plate, unless that would lie on one before it; closer by, it has its own room."""
        letters = (self._family, -max(round(shape.size * text_size()), 1))
        anchor: Any = shape.anchor
        item = self._canvas.create_text(
            place, text=shape.text, fill=shape.colour, font=letters, anchor=anchor, tags=tags
        )
        if not shape.back:
            return
        left, top, right, bottom = self._canvas.bbox(item)
        box = (left - PLATE_PX, top - 1, right + PLATE_PX, bottom + 1)
        if any(box[2] > b[0] and box[0] < b[2] and box[3] > b[1] and box[1] < b[3] for b in self._plates):
            self._canvas.delete(item)
            return
        self._plates.append(box)
        plate = self._canvas.create_rectangle(box, fill=shape.back, outline="", tags=tags)
        self._canvas.tag_lower(plate, item)
