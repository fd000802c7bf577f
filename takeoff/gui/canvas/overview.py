"""A small picture of the whole sheet over a corner of the plan: where one is on it, and a way to go elsewhere."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

from takeoff.gui.canvas.plan_canvas import PlanCanvas
from takeoff.gui.canvas.view import View
from takeoff.model.plan import Sheet
from takeoff.sheet.frame import displayed_size

if TYPE_CHECKING:
    from PIL.Image import Image

WIDE, HIGH = 168, 130
"""Most pixels of the picture."""
SHOWN_BELOW = 0.35
"""Share of the sheet in view below which the picture is shown."""
EDGE_PX = 8
"""Pixels from the corner of the plan."""
FRAME = "#D55E00"
"""Vermilion of Okabe and Ito's palette: the part that is in view."""


class Overview(tkinter.Canvas):
    """Shows itself while a small part of the sheet is in view.

    Parameters
    ----------
    canvas
        The plan.
    ask_picture
        Called with a sheet, a width and what to do with its picture.
    """

    def __init__(self, canvas: PlanCanvas, ask_picture: Callable[[Sheet, int, Callable[[Image], None]], None]) -> None:
        super().__init__(canvas, width=WIDE, height=HIGH, highlightthickness=1, borderwidth=0, cursor="hand2")
        self._canvas, self._ask_picture = canvas, ask_picture
        self._sheet: Sheet | None = None
        self._size = (1.0, 1.0)
        self._scale = 1.0
        self._photo: Any = None
        self._is_shown = False
        self.frame_item = self.create_rectangle(0, 0, 0, 0, outline=FRAME, width=2)
        for event in ("<Button-1>", "<B1-Motion>"):
            self.bind(event, self._pressed)

    def _take_sheet(self, sheet: Sheet) -> None:
        """Take the size of a sheet; its picture comes later."""
        self._sheet = sheet
        self._size = displayed_size(sheet)
        self._scale = min(WIDE / self._size[0], HIGH / self._size[1])
        self.configure(width=round(self._size[0] * self._scale), height=round(self._size[1] * self._scale))
        self.delete("picture")
        self._photo = None
        self._ask_picture(sheet, max(round(self._size[0] * self._scale), 1), partial(self._take_picture, sheet))

    def _take_picture(self, sheet: Sheet, picture: Image) -> None:
        """Show the picture of a sheet, unless another one is shown by now."""
        from PIL import ImageTk

        if self._sheet is sheet and self.winfo_exists():
            self._photo = ImageTk.PhotoImage(picture, master=self)
            self.delete("picture")
            self.create_image(0, 0, image=self._photo, anchor="nw", tags="picture")
            self.tag_raise(self.frame_item)

    def follow(self, view: View, sheet: Sheet | None) -> None:
        """Mark the part of the sheet that is in view; where that is much of it, or there is no sheet, be gone."""
        if sheet is None:
            self.place_forget()
            self._is_shown = False
            return
        if sheet is not self._sheet:
            self._take_sheet(sheet)
        (left, top), (right, bottom) = view.to_displayed(0, 0), view.to_displayed(view.width, view.height)
        wide, high = self._size
        x0, y0, x1, y1 = max(left, 0.0), max(top, 0.0), min(right, wide), min(bottom, high)
        is_small = max(x1 - x0, 0.0) * max(y1 - y0, 0.0) < SHOWN_BELOW * wide * high
        if is_small:
            self.coords(self.frame_item, *(v * self._scale for v in (x0, y0, x1, y1)))
        if is_small and not self._is_shown:
            self.place(relx=1.0, rely=1.0, x=-EDGE_PX, y=-EDGE_PX, anchor="se")
        elif not is_small and self._is_shown:
            self.place_forget()
        self._is_shown = is_small

    def _pressed(self, event: tkinter.Event[Any]) -> str:
        """Bring the place that is clicked to the middle of the plan."""
        view = self._canvas.view
        px, py = view.to_canvas(event.x / self._scale, event.y / self._scale)
        self._canvas.pan_by(view.width / 2 - px, view.height / 2 - py)
        return "break"
