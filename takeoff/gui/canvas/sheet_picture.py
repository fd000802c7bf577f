"""The picture of a sheet on a canvas, sharp as soon as it has been drawn, and an old issue that is faded into it."""

from __future__ import annotations

import math
import tkinter
from collections.abc import Callable
from typing import TYPE_CHECKING

from takeoff.gui.canvas.renderer import Renderer, Source
from takeoff.gui.canvas.view import (
    Picture,
    Pixels,
    View,
    box_round,
    common,
    is_empty,
    lay,
    moved,
    part_of,
    strips_beside,
    view_box,
    view_origin,
    whole_size,
)
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.frame import displayed_size, displayed_to_sheet, sheet_to_displayed
from takeoff.sheet.opened import PixelBox

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageTk import PhotoImage

LOOK_MS = 12
"""Between two looks whether something was drawn."""


class OldIssue:
    """Draws the old issue on a thread of its own and fades its pixels into those of the new one, on which it is laid.

    ``carry_back`` turns a sheet point of the new sheet into the same point of the old one; ``changed`` is called when
    there is something new to show.
    """

    def __init__(
        self,
        widget: tkinter.Misc,
        old: Source,
        new: Sheet,
        carry_back: Callable[[Point], Point],
        changed: Callable[[], None],
    ) -> None:
        self._source, self._old, self._new = old, old.sheet, new
        self._carry_back, self._changed = carry_back, changed
        self._renderer = Renderer(widget, LOOK_MS)
        self._view: View | None = None
        self._sharp: Picture | None = None
        self._overview: Picture | None = None
        self.share = 0.0
        """Part of the old issue in what is seen: 0 shows the new one alone, 1 the old one alone."""

    @property
    def is_ready(self) -> bool:
        """Whether something of the old issue can be shown, and nothing better is on its way."""
        return self._overview is not None and not self._renderer.is_busy

    def look(self, view: View) -> None:
        """Have what a view of the new sheet shows drawn of the old one; nothing while none of it is seen."""
        self._view = view
        if self.share <= 0.0:
            return
        if self._overview is None:
            self._renderer.request_whole(self._source, self._take_overview)
        self._renderer.request_view(self._source, self._carried(view), self._take)

    def set_share(self, share: float) -> None:
        """Show more or less of the old issue, 0 to 1."""
        self.share = min(max(share, 0.0), 1.0)
        if self._view is not None:
            self.look(self._view)
        self._changed()

    def laid_over(self, pixels: Pixels, box: PixelBox, whole: tuple[int, int]) -> Pixels:
        """Return pixels of the new sheet with the old issue faded in; those given stay as they are.

        They lie in a box of the whole new sheet, which at this scale is ``whole`` pixels large.
        """
        import cv2
        import numpy as np

        paper = common(box, (0, 0, *whole))
        if self.share <= 0.0 or is_empty(paper):
            return pixels
        corners = [(paper[0], paper[1]), (paper[2], paper[1]), (paper[0], paper[3])]
        picture = self._picture_for(paper, whole)
        if picture is None:
            return pixels
        source = np.array([self._pixel_of(picture, x, y, whole) for x, y in corners], dtype=np.float32) - 0.5
        width, height = paper[2] - paper[0], paper[3] - paper[1]
        target = np.array([(0, 0), (width, 0), (0, height)], dtype=np.float32) - 0.5
        way, size = cv2.getAffineTransform(target, source), (width, height)
        how = {"flags": cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, "borderMode": cv2.BORDER_CONSTANT}
        laid = cv2.warpAffine(picture.pixels, way, size, borderValue=(255, 255, 255), **how)
        out = pixels.copy()
        seen = part_of(out, paper, box)
        seen[:] = cv2.addWeighted(laid, self.share, seen, 1.0 - self.share, 0.0)
        return out

    def close(self) -> None:
        """End the thread."""
        self._renderer.close()

    # -- frames --------------------------------------------------------------------------------------------------

    def _place_of(self, x: float, y: float) -> Point:
        """Turn a displayed point of the new sheet into a displayed point of the old one."""
        return sheet_to_displayed(self._old, *self._carry_back(displayed_to_sheet(self._new, x, y)))

    def _pixel_of(self, picture: Picture, x: float, y: float, whole: tuple[int, int]) -> Point:
        """Turn a pixel of the whole new sheet into one of a picture of the old one."""
        across, down = displayed_size(self._new)
        place = self._place_of(x * across / whole[0], y * down / whole[1])
        own = displayed_size(self._old)
        return (
            place[0] * picture.whole[0] / own[0] - picture.box[0],
            place[1] * picture.whole[1] / own[1] - picture.box[1],
        )

    def _carried(self, view: View) -> View:
        """Return the view of the old sheet that holds what a view of the new one shows, as fine."""
        left, top, right, bottom = view.visible_box()
        x0, y0, x1, y1 = box_round([self._place_of(x, y) for x in (left, right) for y in (top, bottom)])
        scale = view.scale / math.dist(self._place_of(left, top), self._place_of(left + 1.0, top))
        return View(scale, x0, y0, round((x1 - x0) * scale) + 2, round((y1 - y0) * scale) + 2)

    def _picture_for(self, box: PixelBox, whole: tuple[int, int]) -> Picture | None:
        """Return the picture to show a part of the new sheet with: the sharp one where it has all of the part."""
        sharp = self._sharp
        if sharp is None:
            return self._overview
        places = [self._pixel_of(sharp, x, y, whole) for x in (box[0], box[2]) for y in (box[1], box[3])]
        left, top, right, bottom = box_round(places)
        needed = (round(left), round(top), round(right), round(bottom))
        own = common(moved(needed, sharp.box[0], sharp.box[1]), (0, 0, *sharp.whole))
        if is_empty(own) or common(own, sharp.box) == own or self._overview is None:
            return sharp
        return self._overview

    # -- what was drawn ------------------------------------------------------------------------------------------

    def _take(self, picture: Picture) -> None:
        self._sharp = picture
        self._changed()

    def _take_overview(self, picture: Picture) -> None:
        self._overview = picture
        self._changed()


DIMMED = 0.86
"""Part of its brightness that paper keeps in the dark window; what is drawn over it has the colours of the reports."""


MARGIN_PX = 128
"""What the image holds beyond the canvas on each side: to hand pixels over costs much, to move them nothing."""


class SheetPicture:
    """One image, put together from the last sharp picture and one of the whole sheet, that moves along with the view.

    It is put together anew where the view leaves it, at a new scale, and where it is to be renewed.
    """

    def __init__(self, canvas: tkinter.Canvas) -> None:
        self._canvas = canvas
        self._sheet: Sheet | None = None
        self._sharp: Picture | None = None
        self._overview: Picture | None = None
        self._fine: Picture | None = None
        self._surround = (255, 255, 255)
        self._brightness = 1.0
        self.paleness = 0.0
        """How much paler what is drawn is shown: 0 as it is, 1 not at all."""
        self.old: OldIssue | None = None
        """An old issue that is faded into what is shown."""
        self._item = canvas.create_image(0, 0, anchor="nw", state="hidden", tags="sheet")
        self._photo: PhotoImage | None = None
        self._buffer: Image | None = None
        self._shown: tuple[tuple[int, int], PixelBox] | None = None
        """Size of the whole sheet in pixels, and the part of it that the image holds, until it is to be renewed."""
        self.has_picture = False
        """Whether something of the sheet was shown."""
        self._used: Picture | None = None
        self.is_sharp = False
        """Whether what was last shown was drawn for exactly that view."""

    def show(self, sheet: Sheet | None) -> None:
        """Begin with a sheet that nothing is known of: blank paper; or show nothing."""
        self._sheet, self._sharp, self._overview, self._fine = sheet, None, None, None
        self.has_picture = self.is_sharp = False
        self._shown = None
        if sheet is None:
            self._canvas.itemconfigure(self._item, state="hidden")

    def take(self, picture: Picture) -> None:
        """Take a sharp picture of a view."""
        self._sharp = picture
        if picture.box == (0, 0, *picture.whole):
            self._overview = picture

    def take_whole(self, picture: Picture) -> None:
        """Take a picture of the whole sheet, finer than one before, of which views are warped until they are sharp."""
        self._fine = picture

    def set_ground(self, surround: tuple[int, int, int], *, is_dimmed: bool) -> None:
        """Choose the colour around the sheet (red, green, blue), and whether the paper is dimmed."""
        self._surround = surround
        self._brightness = DIMMED if is_dimmed else 1.0

    def renew(self) -> None:
        """Have what is shown put together anew when it is next drawn."""
        self._shown = None

    def draw(self, view: View) -> None:
        """Show a view of the sheet."""
        if self._sheet is None:
            return
        whole = whole_size(self._sheet, view)
        box = view_box(self._sheet, view, whole)
        left, top = view_origin(self._sheet, view, whole)
        seen = (left, top, left + view.width, top + view.height)
        sharp = self._sharp
        if self._shown is None or self._shown[0] != whole or common(self._shown[1], seen) != seen:
            held = (left - MARGIN_PX, top - MARGIN_PX, seen[2] + MARGIN_PX, seen[3] + MARGIN_PX)
            self._put(self._composed(held, whole))
            self._shown = (whole, held)
            self.has_picture = sharp is not None or self._fine is not None
            self._used = sharp
        held = self._shown[1]
        self._canvas.coords(self._item, held[0] - left, held[1] - top)
        is_of_view = sharp is not None and sharp.whole == whole and sharp.box == box
        self.is_sharp = is_of_view and self._used is sharp

    def _put(self, pixels: Pixels) -> None:
        import PIL.Image
        from PIL import ImageTk

        size = (pixels.shape[1], pixels.shape[0])
        if self._photo is None or self._buffer is None or self._buffer.size != size:
            self._photo = ImageTk.PhotoImage("RGB", size, master=self._canvas)
            self._buffer = PIL.Image.new("RGB", size)
            self._canvas.itemconfigure(self._item, image=str(self._photo))
            self._canvas.tag_lower(self._item)
        self._buffer.frombytes(pixels.data, "raw", "RGB")  # into the same memory: a new image costs as much again
        self._photo.paste(self._buffer)
        self._canvas.itemconfigure(self._item, state="normal")

    def _composed(self, box: PixelBox, whole: tuple[int, int]) -> Pixels:
        """Put together a part of the sheet, which is ``whole`` pixels large, and what surrounds it."""
        import cv2
        import numpy as np

        left, top, right, bottom = box
        frame = np.empty((bottom - top, right - left, 3), dtype=np.uint8)
        seen = common(box, (0, 0, *whole))
        for strip in strips_beside(box, seen):
            part_of(frame, strip, box)[:] = self._surround
        if is_empty(seen):
            return frame
        paper = moved(seen, -left, -top)
        sharp = self._sharp
        if sharp is None or sharp.whole != whole or common(sharp.box, seen) != seen:
            part_of(frame, paper).fill(255)
            if (under := self._under(whole[0])) is not None:
                lay(frame, under, whole, (left, top), paper)
        if sharp is not None:
            lay(frame, sharp, whole, (left, top), paper)
        if self.old is not None:
            frame = self.old.laid_over(frame, box, whole)
        if self._brightness != 1.0 or self.paleness:
            kept, added = self._brightness * (1.0 - self.paleness), 255.0 * self._brightness * self.paleness
            shown = part_of(frame, paper)
            shown[:] = cv2.convertScaleAbs(shown, alpha=kept, beta=added)
        return frame

    def _under(self, across: int) -> Picture | None:
        """Return the picture of the whole sheet that suits one ``across`` pixels wide."""
        known = [picture for picture in (self._overview, self._fine) if picture is not None]
        known.sort(key=lambda picture: picture.whole[0])
        enough = (picture for picture in known if across <= 1.3 * picture.whole[0])
        return next(enough, known[-1] if known else None)
