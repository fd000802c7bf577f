"""The old issue of a sheet, faded into the new one on which it is laid."""

from __future__ import annotations

import math
import tkinter
from collections.abc import Callable

from takeoff.gui.canvas.pixels import Picture, Pixels, common, is_empty, moved, part_of
from takeoff.gui.canvas.renderer import Renderer, Source
from takeoff.gui.canvas.view import View, box_round
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.frame import displayed_size, displayed_to_sheet, sheet_to_displayed
from takeoff.sheet.opened import PixelBox

LOOK_MS = 12
"""Between two looks whether something was drawn."""


class OldIssue:
    """Has the old issue drawn in processes of its own and fades its pixels into the new one, on which it is laid.

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
        """End the processes."""
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
