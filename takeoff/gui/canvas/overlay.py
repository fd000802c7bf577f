"""Shapes as items of a canvas that follow the view."""

from __future__ import annotations

import tkinter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

from takeoff.gui.canvas.view import Shape, View
from takeoff.gui.widgets import family, text_size
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.frame import sheet_to_displayed

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

PLATE_PX = 3
"""Pixels of plate that show around a text."""


class Overlay:
    """One layer of shapes on a canvas. All its items carry the layer's name as a tag.

    Lines, polygons and texts follow a change of scale in one call of the canvas for all of them, by a tag of their own.
    Marks and plates keep their size: each of their corners is a displayed point and an offset in pixels from it. Where
    plates would lie on one another, only the first is shown.
    """

    def __init__(self, canvas: tkinter.Canvas, layer: str) -> None:
        self._canvas = canvas
        self._layer = layer
        self._scaled = f"{layer}-scaled"
        self._shapes: tuple[Shape, ...] = ()
        self._sheet: Sheet | None = None
        self._view: View | None = None
        self._items: list[int] = []
        self._plates: list[tuple[int, int]] = []
        self._corners: list[tuple[Point, Point]] = []
        self._offsets: list[tuple[Point, Point]] = []
        self._arrays: tuple[NDArray[np.float64], NDArray[np.float64]] | None = None
        self._family = family()

    def draw(self) -> None:
        """Draw all anew: the text may have another size."""
        shapes, self._shapes = self._shapes, ()
        if self._view is not None:
            self.show(shapes, self._sheet, self._view)

    def show(self, shapes: Sequence[Shape], sheet: Sheet | None, view: View) -> None:
        """Draw these shapes in place of those before; without a sheet none is drawn."""
        wanted = tuple(shapes) if sheet is not None else ()
        if wanted == self._shapes and sheet == self._sheet:
            return
        self._canvas.delete(self._layer)
        self._items, self._corners, self._offsets, self._plates = [], [], [], []
        self._arrays = None
        self._shapes, self._sheet, self._view = wanted, sheet, view
        if sheet is None:
            return
        for shape in wanted:
            self._add(shape, [sheet_to_displayed(sheet, *point) for point in shape.points_pt], view)
        self._place_marks(view)

    def move(self, view: View) -> None:
        """Put every item where the view has it."""
        before, self._view = self._view, view
        if not self._shapes or before is None or before == view:
            return
        dx, dy = (before.left - view.left) * view.scale, (before.top - view.top) * view.scale
        if before.scale == view.scale:
            self._canvas.move(self._layer, dx, dy)
            return
        factor = view.scale / before.scale
        self._canvas.scale(self._scaled, 0, 0, factor, factor)
        self._canvas.move(self._scaled, dx, dy)
        self._place_marks(view)

    def lift(self) -> None:
        """Put the layer over all else."""
        self._canvas.tag_raise(self._layer)

    def _place_marks(self, view: View) -> None:
        import numpy as np

        if not self._items:
            return
        if self._arrays is None:
            self._arrays = (np.array(self._corners, dtype=float), np.array(self._offsets, dtype=float))
        corners, offsets = self._arrays
        places: list[list[float]] = ((corners - (view.left, view.top)) * view.scale + offsets).reshape(-1, 4).tolist()
        call, path = self._canvas.tk.call, str(self._canvas)
        for item, place in zip(self._items, places, strict=True):
            call(path, "coords", item, place)
        self._clear_crowd(places)

    def _clear_crowd(self, places: list[list[float]]) -> None:
        """Hide each plate with its text that would lie on one before it; closer by, it is seen again."""
        shown: list[list[float]] = []
        for number, text in self._plates:
            x0, y0, x1, y1 = places[number]
            is_free = all(x1 <= a0 or x0 >= a1 or y1 <= b0 or y0 >= b1 for a0, b0, a1, b1 in shown)
            if is_free:
                shown.append(places[number])
            state: Literal["normal", "hidden"] = "normal" if is_free else "hidden"
            for item in (self._items[number], text):
                self._canvas.itemconfigure(item, state=state)

    def _add(self, shape: Shape, places: list[Point], view: View) -> None:
        """Make the items of one shape; a line or polygon of a single point has none."""
        canvas = self._canvas
        own = (shape.tag,) if shape.tag else ()
        tags, scaled = (self._layer, *own), (self._layer, self._scaled, *own)
        pen: dict[str, Any] = {"width": shape.width, "dash": shape.dash}
        outline = shape.colour if shape.width > 0 else ""
        match shape.kind:
            case "line" if len(places) > 1:
                line = [view.to_canvas(*place) for place in places]
                canvas.create_line(line, fill=shape.colour, joinstyle="round", tags=scaled, **pen)
            case "polygon" if len(places) > 1:
                ring = [view.to_canvas(*place) for place in places]
                canvas.create_polygon(ring, fill=shape.fill, outline=outline, joinstyle="round", tags=scaled, **pen)
            case "dot" | "square":
                create: Any = canvas.create_oval if shape.kind == "dot" else canvas.create_rectangle
                half = shape.size / 2
                for place in places:
                    item = create((0, 0, 0, 0), fill=shape.fill, outline=outline, tags=tags, **pen)
                    self._keep(item, place, (-half, -half), (half, half))
            case "text":
                for place in places:
                    self._add_text(shape, place, view, tags)

    def _add_text(self, shape: Shape, place: Point, view: View, tags: tuple[str, ...]) -> None:
        letters = (self._family, -max(round(shape.size * text_size()), 1))
        anchor: Any = shape.anchor
        item = self._canvas.create_text(
            0, 0, text=shape.text, fill=shape.colour, font=letters, anchor=anchor, tags=(*tags, self._scaled)
        )
        if shape.back:
            left, top, right, bottom = self._canvas.bbox(item)
            plate = self._canvas.create_rectangle((0, 0, 0, 0), fill=shape.back, outline="", tags=tags)
            self._canvas.tag_lower(plate, item)
            self._plates.append((len(self._items), item))
            self._keep(plate, place, (left - PLATE_PX, top - 1), (right + PLATE_PX, bottom + 1))
        self._canvas.coords(item, *view.to_canvas(*place))

    def _keep(self, item: int, place: Point, first: Point, last: Point) -> None:
        """Remember where a mark or plate lies, and its corners in pixels from there."""
        self._items.append(item)
        self._corners.append((place, place))
        self._offsets.append((first, last))
