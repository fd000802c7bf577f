"""A magnified picture of the place that is picked, in a corner of the plan, for picks that must be exact."""

from __future__ import annotations

import tkinter
from typing import Any

from takeoff.gui.canvas.pixels import view_origin
from takeoff.gui.canvas.plan_canvas import PlanCanvas
from takeoff.gui.canvas.renderer import Picture
from takeoff.gui.canvas.view import HIGHEST_SCALE, View
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.frame import sheet_to_displayed

SIDE = 150
"""Pixels of its sides."""
TIMES = 4.0
"""How much larger than the plan it shows a place."""
EDGE_PX = 8
"""Pixels from the corner of the plan."""
NEAR_PX = 60
"""Pixels from it at which the pointer has it go to the other corner."""
CROSS = "#D55E00"
"""Vermilion of Okabe and Ito's palette: the place that is picked."""


class Loupe(tkinter.Canvas):
    """Shows itself while a place is followed, away from the pointer."""

    def __init__(self, canvas: PlanCanvas) -> None:
        super().__init__(canvas, width=SIDE, height=SIDE, highlightthickness=1, borderwidth=0, background="#FFFFFF")
        self._canvas = canvas
        self._photo: Any = None
        self._followed: tuple[Point, float] | None = None
        middle, gap, arm = SIDE / 2, 6, 26
        for x, y in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            ends = (middle + gap * x, middle + gap * y, middle + arm * x, middle + arm * y)
            self.create_line(*ends, fill=CROSS, width=2)

    def follow(self, place_pt: Point | None) -> None:
        """Show a sheet point magnified; nothing where there is none."""
        sheet = self._canvas.sheet
        if sheet is None or place_pt is None:
            self.place_forget()
            self._followed = None
            return
        scale = min(self._canvas.view.scale * TIMES, HIGHEST_SCALE)
        if self._followed == (place_pt, scale):
            return
        self._followed = (place_pt, scale)
        x, y = sheet_to_displayed(sheet, *place_pt)
        view = View(scale, x - SIDE / 2 / scale, y - SIDE / 2 / scale, SIDE, SIDE)
        self._canvas.request_part(view, lambda picture: self._show(sheet, view, picture))
        px, py = self._canvas.to_pixel(place_pt)
        is_near = px < SIDE + EDGE_PX + NEAR_PX and py > self._canvas.winfo_height() - SIDE - EDGE_PX - NEAR_PX
        rely = 0.0 if is_near else 1.0
        self.place(x=EDGE_PX, rely=rely, y=EDGE_PX if is_near else -EDGE_PX, anchor="nw" if is_near else "sw")

    def _show(self, sheet: Sheet, view: View, picture: Picture) -> None:
        from PIL import Image, ImageTk

        if not self.winfo_exists():
            return
        self._photo = ImageTk.PhotoImage(Image.fromarray(picture.pixels), master=self)
        left, top = view_origin(sheet, view, picture.whole)
        self.delete("picture")
        self.create_image(picture.box[0] - left, picture.box[1] - top, image=self._photo, anchor="nw", tags="picture")
        self.tag_lower("picture")
