"""Small pictures of a sheet over or beside the plan: a loupe, the whole sheet, and one place with lines on it."""

from __future__ import annotations

import tkinter
from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

from takeoff.gui.canvas.pixels import Picture
from takeoff.gui.canvas.plan_canvas import PlanCanvas
from takeoff.gui.canvas.renderer import Source
from takeoff.gui.canvas.view import HIGHEST_SCALE, View, box_round, fit, view_origin
from takeoff.gui.widgets import THEME, ctk, label
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.frame import displayed_size, sheet_to_displayed

if TYPE_CHECKING:
    from PIL.Image import Image

ORANGE = "#D55E00"
"""Vermilion of Okabe and Ito's palette: what is picked, measured or in view."""
LINE_PX = 3


class PlacePicture(ctk.CTkFrame):
    """A heading with a picture under it, or a sentence where there is none."""

    def __init__(self, parent: tkinter.Misc, canvas: PlanCanvas, size: tuple[int, int]) -> None:
        super().__init__(parent, fg_color="transparent")
        self._canvas, self._size = canvas, size
        self._wanted: object = None
        self.heading = label(self, colour=THEME.quiet, height=20)
        self.heading.pack(fill="x")
        look = {"width": size[0], "height": size[1], "fg_color": THEME.ground}
        self.picture = ctk.CTkLabel(self, text="", wraplength=size[0] - 20, text_color=THEME.text, **look)
        self.picture.pack()
        self.image: ctk.CTkImage | None = None

    def say(self, heading: str, text: str) -> None:
        """Show a sentence in place of a picture."""
        self._wanted = None
        self.heading.configure(text=heading)
        self._put(None, text)

    def show(
        self, heading: str, data: bytes, sheet: Sheet, points_pt: Sequence[Point], lines_pt: Sequence[Sequence[Point]]
    ) -> None:
        """Have the place drawn that holds some sheet points, with lines over it."""
        self._wanted = wanted = object()
        self.heading.configure(text=heading)
        box = box_round(sheet_to_displayed(sheet, *point) for point in points_pt)
        view = fit(box, *self._size, highest=HIGHEST_SCALE)

        def take(picture: Picture) -> None:
            if self._wanted is wanted and self.winfo_exists():
                self._paint(picture, sheet, lines_pt)

        self._canvas.renderer.request_view(Source(data, sheet), view, take, slot="")

    def _paint(self, picture: Picture, sheet: Sheet, lines_pt: Sequence[Sequence[Point]]) -> None:
        from PIL import Image, ImageDraw

        image = Image.fromarray(picture.pixels)
        pen = ImageDraw.Draw(image)
        scale = picture.whole[0] / displayed_size(sheet)[0]
        for line in lines_pt:
            places = (sheet_to_displayed(sheet, *point) for point in line)
            seen = [(x * scale - picture.box[0], y * scale - picture.box[1]) for x, y in places]
            pen.line(seen, fill=ORANGE, width=LINE_PX)
        self._put(ctk.CTkImage(light_image=image, size=image.size), "")

    def _put(self, image: ctk.CTkImage | None, text: str) -> None:
        self.image = image
        self.picture.configure(image=image if image is not None else "", text=text)


SIDE = 150
"""Pixels of its sides."""
TIMES = 4.0
"""How much larger than the plan it shows a place."""
EDGE_PX = 8
"""Pixels from the corner of the plan."""
NEAR_PX = 60
"""Pixels from it at which the pointer has it go to the other corner."""


class _OverPlan(tkinter.Canvas):
    """A small canvas over the plan, with one picture under what else is on it."""

    def __init__(self, canvas: PlanCanvas, wide: int, high: int, **look: Any) -> None:
        super().__init__(canvas, width=wide, height=high, highlightthickness=1, borderwidth=0, **look)
        self._canvas = canvas
        self._photo: Any = None

    def _put(self, picture: Image, x: int = 0, y: int = 0) -> None:
        from PIL import ImageTk

        if self.winfo_exists():
            self._photo = ImageTk.PhotoImage(picture, master=self)
            self.delete("picture")
            self.create_image(x, y, image=self._photo, anchor="nw", tags="picture")
            self.tag_lower("picture")


class Loupe(_OverPlan):
    """Shows itself while a place is followed, away from the pointer."""

    def __init__(self, canvas: PlanCanvas) -> None:
        super().__init__(canvas, SIDE, SIDE, background="#FFFFFF")
        self._followed: tuple[Point, float] | None = None
        middle, gap, arm = SIDE / 2, 6, 26
        for x, y in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            ends = (middle + gap * x, middle + gap * y, middle + arm * x, middle + arm * y)
            self.create_line(*ends, fill=ORANGE, width=2)

    def follow(self, place_pt: Point | None) -> None:
        """Show a sheet point magnified; nothing where there is none."""
        source = self._canvas.source
        if source is None or place_pt is None:
            self.place_forget()
            self._followed = None
            return
        sheet = source.sheet
        scale = min(self._canvas.view.scale * TIMES, HIGHEST_SCALE)
        if self._followed == (place_pt, scale):
            return
        self._followed = (place_pt, scale)
        x, y = sheet_to_displayed(sheet, *place_pt)
        view = View(scale, x - SIDE / 2 / scale, y - SIDE / 2 / scale, SIDE, SIDE)
        show = partial(self._show, sheet, view)
        self._canvas.renderer.request_view(source, view, show, slot="part")
        px, py = self._canvas.to_pixel(place_pt)
        taken = SIDE + EDGE_PX + NEAR_PX
        is_near = px < taken and py > self._canvas.winfo_height() - taken
        at: dict[str, Any] = {"rely": 0.0, "y": EDGE_PX, "anchor": "nw"}
        self.place(x=EDGE_PX, **(at if is_near else {"rely": 1.0, "y": -EDGE_PX, "anchor": "sw"}))

    def _show(self, sheet: Sheet, view: View, picture: Picture) -> None:
        from PIL import Image

        left, top = view_origin(sheet, view, picture.whole)
        self._put(Image.fromarray(picture.pixels), picture.box[0] - left, picture.box[1] - top)


WIDE, HIGH = 168, 130
"""Most pixels of the picture."""
SHOWN_BELOW = 0.35
"""Share of the sheet in view below which the picture is shown."""


class Overview(_OverPlan):
    """Shows itself while a small part of the sheet is in view."""

    def __init__(self, canvas: PlanCanvas) -> None:
        super().__init__(canvas, WIDE, HIGH, cursor="hand2")
        self._sheet: Sheet | None = None
        self._size = (1.0, 1.0)
        self._scale = 1.0
        self.frame_item = self.create_rectangle(0, 0, 0, 0, outline=ORANGE, width=2)
        for event in ("<Button-1>", "<B1-Motion>"):
            self.bind(event, self._pressed)

    def _take_sheet(self, sheet: Sheet) -> None:
        self._sheet, self._photo = sheet, None
        self._size = displayed_size(sheet)
        self._scale = min(WIDE / self._size[0], HIGH / self._size[1])
        wide, high = (max(round(side * self._scale), 1) for side in self._size)
        self.configure(width=wide, height=high)
        self.delete("picture")
        if (source := self._canvas.source) is not None:
            self._canvas.renderer.request_thumbnail(source.data, sheet, wide, partial(self._take_picture, sheet))

    def _take_picture(self, sheet: Sheet, picture: Image) -> None:
        if self._sheet is sheet:
            self._put(picture)

    def follow(self, view: View, sheet: Sheet | None) -> None:
        """Mark the part of the sheet that is in view; where that is much of it, or there is no sheet, be gone."""
        if sheet is None:
            self.place_forget()
            return
        if sheet is not self._sheet:
            self._take_sheet(sheet)
        left, top, right, bottom = view.visible_box()
        wide, high = self._size
        x0, y0, x1, y1 = max(left, 0.0), max(top, 0.0), min(right, wide), min(bottom, high)
        is_small = max(x1 - x0, 0.0) * max(y1 - y0, 0.0) < SHOWN_BELOW * wide * high
        if is_small:
            self.coords(self.frame_item, *(v * self._scale for v in (x0, y0, x1, y1)))
            self.place(relx=1.0, rely=1.0, x=-EDGE_PX, y=-EDGE_PX, anchor="se")
        else:
            self.place_forget()

    def _pressed(self, event: tkinter.Event[Any]) -> str:
        view = self._canvas.view
        px, py = view.to_canvas(event.x / self._scale, event.y / self._scale)
        self._canvas.pan_by(view.width / 2 - px, view.height / 2 - py)
        return "break"
