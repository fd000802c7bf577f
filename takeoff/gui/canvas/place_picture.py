"""A small picture of one place of a sheet, with lines drawn over it."""

from __future__ import annotations

import tkinter
from collections.abc import Sequence

from takeoff.gui.canvas.plan_canvas import PlanCanvas
from takeoff.gui.canvas.renderer import Picture
from takeoff.gui.canvas.view import HIGHEST_SCALE, fit
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import ctk
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.frame import displayed_size, sheet_to_displayed

LINE = "#D55E00"
LINE_PX = 3


class PlacePicture(ctk.CTkFrame):
    """A heading with a picture under it, or a sentence where there is none."""

    def __init__(self, parent: tkinter.Misc, canvas: PlanCanvas, size: tuple[int, int]) -> None:
        super().__init__(parent, fg_color="transparent")
        self._canvas, self._size = canvas, size
        self._wanted: object = None
        self.heading = ctk.CTkLabel(self, text="", anchor="w", text_color=THEME.quiet, height=20)
        self.heading.pack(fill="x")
        self.picture = ctk.CTkLabel(
            self, text="", width=size[0], height=size[1], wraplength=size[0] - 20, fg_color=THEME.ground,
            text_color=THEME.text,
        )  # fmt: skip
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
        places = [sheet_to_displayed(sheet, *point) for point in points_pt]
        xs, ys = [x for x, _ in places], [y for _, y in places]
        view = fit((min(xs), min(ys), max(xs), max(ys)), *self._size, highest=HIGHEST_SCALE)

        def take(picture: Picture) -> None:
            if self._wanted is wanted and self.winfo_exists():
                self._paint(picture, sheet, lines_pt)

        self._canvas.renderer.request_crop(data, sheet, view, take)

    def _paint(self, picture: Picture, sheet: Sheet, lines_pt: Sequence[Sequence[Point]]) -> None:
        from PIL import Image, ImageDraw

        image = Image.fromarray(picture.pixels)
        pen = ImageDraw.Draw(image)
        scale = picture.whole[0] / displayed_size(sheet)[0]
        for line in lines_pt:
            places = (sheet_to_displayed(sheet, *point) for point in line)
            pen.line(
                [(x * scale - picture.box[0], y * scale - picture.box[1]) for x, y in places], fill=LINE, width=LINE_PX
            )
        self._put(ctk.CTkImage(light_image=image, size=image.size), "")

    def _put(self, image: ctk.CTkImage | None, text: str) -> None:
        self.image = image
        self.picture.configure(image=image if image is not None else "", text=text)
