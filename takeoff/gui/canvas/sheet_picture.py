"""The picture of a sheet on a canvas: what is known of it at once, sharp as soon as it has been drawn."""

from __future__ import annotations

import math
import tkinter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from takeoff.gui.canvas.old_revision import OldIssue
from takeoff.gui.canvas.pixels import (
    NOTHING,
    Picture,
    Pixels,
    area,
    common,
    is_empty,
    lay,
    moved,
    part_of,
    strips_beside,
)
from takeoff.gui.canvas.view import View, view_box, view_origin, whole_size
from takeoff.model.plan import Sheet
from takeoff.sheet.opened import PixelBox

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageTk import PhotoImage

Place = tuple[int, int]
"""Column and row of a tile, counted from the one that lay at the top left when the scale was chosen."""
DIMMED = 0.86
"""Part of its brightness that paper keeps in the dark window; what is drawn over it has the colours of the reports."""
TILE_PX = 256
"""Pixels of the longest side of a tile. Smaller ones cost more for each pixel, larger ones are pasted for less use."""
NEW_AT_A_TIME, SHARPER_AT_A_TIME = 9, 6
"""Tiles that are filled, or else made sharper, before the canvas sees to other things again."""


@dataclass(slots=True)
class _Tile:
    """A photo image on the canvas and the pixels in it.

    ``place`` is ``None`` when it shows nothing of use; ``sharp`` is the part of the sheet, in pixels of the whole sheet
    at the scale shown, of which it has the sharp pixels. ``is_stale`` when something else is to be faded into it.
    """

    item: int
    photo: PhotoImage
    pixels: Pixels
    place: Place | None = None
    is_stale: bool = False
    sharp: PixelBox = NOTHING
    is_shown: bool = False


class SheetPicture:
    """Puts together what a view shows from the last sharp picture and one of the whole sheet.

    To hand pixels to the canvas is what costs most. So the view is laid with tiles that move along with the sheet, and
    only those are filled that come into view or have something new to show. At a new scale all are to be filled: those
    about the pointer come first, and where the others will be there is blank paper for a moment. The tiles are kept
    until the canvas changes its size.
    """

    def __init__(self, canvas: tkinter.Canvas) -> None:
        self._canvas = canvas
        self._sheet: Sheet | None = None
        self._sharp: Picture | None = None
        self._overview: Picture | None = None
        self._fine: Picture | None = None
        self._surround = (255, 255, 255)
        self._brightness = 1.0
        self._paleness = 0.0
        self._tiles: list[_Tile] = []
        self._tile_size = (0, 0)
        self._canvas_size = (0, 0)
        self._whole = (0, 0)
        self._anchor = self._origin = (0, 0)
        self._old: OldIssue | None = None
        self._buffer: Image | None = None
        self._paper = canvas.create_rectangle(0, 0, 0, 0, outline="", state="hidden", tags="sheet")
        self.has_picture = False
        """Whether something of the sheet was shown."""
        self.is_sharp = False
        """Whether what was last shown was drawn for exactly that view."""
        self.has_more = False
        """Whether to draw the same view again would make it sharper."""

    def show(self, sheet: Sheet) -> None:
        """Begin with a sheet that nothing is known of: blank paper."""
        self.clear()
        self._sheet = sheet

    def clear(self) -> None:
        """Show nothing."""
        self._sheet = self._sharp = self._overview = self._fine = None
        self.has_picture = self.is_sharp = self.has_more = False
        self._forget_tiles()
        self._hide_unused()
        self._canvas.itemconfigure(self._paper, state="hidden")

    def take(self, picture: Picture) -> None:
        """Take a sharp picture of a view."""
        self._sharp = picture
        if picture.box == (0, 0, *picture.whole):
            self._overview = picture

    def take_whole(self, picture: Picture) -> None:
        """Take a picture of the whole sheet, finer than one before, of which views are warped until they are sharp."""
        self._fine = picture
        self._forget_unsharp()

    def set_ground(self, surround: tuple[int, int, int], *, is_dimmed: bool) -> None:
        """Choose the colour around the sheet (red, green, blue), and whether the paper is dimmed."""
        self._surround = surround
        self._brightness = DIMMED if is_dimmed else 1.0
        level = round(255 * self._brightness)
        self._canvas.itemconfigure(self._paper, fill=f"#{level:02x}{level:02x}{level:02x}")
        self._forget_tiles()

    def set_paleness(self, share: float) -> None:
        """Show what is drawn paler: 0 as it is, 1 not at all."""
        self._paleness = share
        self._forget_tiles()

    def lay_over(self, old: OldIssue | None) -> None:
        """Fade an old issue into what is shown, or none."""
        self._old = old
        self.old_changed()

    def old_changed(self) -> None:
        """Have every tile put on the canvas once more: what is faded into it has changed."""
        for tile in self._tiles:
            tile.is_stale = tile.place is not None

    def draw(self, view: View, focus: tuple[float, float]) -> None:
        """Show a view of the sheet; to fill it all and make it sharp may take more than one call (`has_more`).

        What is about the ``focus``, the canvas pixel that a person looks at, is filled first.
        """
        if self._sheet is None:
            return
        whole = whole_size(self._sheet, view)
        box = view_box(self._sheet, view, whole)
        origin = view_origin(self._sheet, view, whole)
        if self._canvas_size != (view.width, view.height):
            self._make_tiles(view.width, view.height)
        if self._whole != whole:
            self._forget_tiles()
            self._whole, self._anchor = whole, origin
            self._canvas.coords(self._paper, *moved((0, 0, *whole), -origin[0], -origin[1]))
            self._canvas.itemconfigure(self._paper, state="normal")
        elif origin != self._origin:
            self._canvas.move("sheet", self._origin[0] - origin[0], self._origin[1] - origin[1])
        self._origin = origin
        self._fill(self._places_of(box), (focus[0] + origin[0], focus[1] + origin[1]))
        self._hide_unused()
        self.has_picture = self._sharp is not None or self._fine is not None
        sharp = self._sharp
        self.is_sharp = not self.has_more and sharp is not None and sharp.whole == whole and sharp.box == box

    def _make_tiles(self, width: int, height: int) -> None:
        """Make as many tiles as a canvas of this size can show some of; just covering it, none is cut off."""
        import numpy as np
        import PIL.Image
        from PIL import ImageTk

        for tile in self._tiles:
            self._canvas.delete(tile.item)
        columns, rows = math.ceil(width / TILE_PX), math.ceil(height / TILE_PX)
        across, down = math.ceil(width / columns), math.ceil(height / rows)
        self._tiles = []
        for _ in range((columns + 1) * (rows + 1)):
            photo = ImageTk.PhotoImage("RGB", (across, down), master=self._canvas)
            item = self._canvas.create_image(0, 0, anchor="nw", image=str(photo), state="hidden", tags="sheet")
            self._canvas.tag_lower(item)
            self._tiles.append(_Tile(item, photo, np.empty((down, across, 3), dtype=np.uint8)))
        self._canvas.tag_lower(self._paper)
        self._buffer = PIL.Image.new("RGB", (across, down))
        self._tile_size, self._canvas_size = (across, down), (width, height)
        self._whole = (0, 0)

    def _forget_tiles(self) -> None:
        for tile in self._tiles:
            tile.place = None

    def _forget_unsharp(self) -> None:
        """Have those tiles filled anew that show something that is not sharp."""
        paper = (0, 0, *self._whole)
        for tile in self._tiles:
            if tile.place is not None and common(self._box_of(tile.place), paper) != tile.sharp:
                tile.place = None

    def _hide_unused(self) -> None:
        for tile in self._tiles:
            if tile.is_shown and tile.place is None:
                self._canvas.itemconfigure(tile.item, state="hidden")
                tile.is_shown = False

    def _box_of(self, place: Place) -> PixelBox:
        """Return the pixels of the whole sheet under a tile."""
        (across, down), (left, top) = self._tile_size, self._anchor
        x, y = left + place[0] * across, top + place[1] * down
        return (x, y, x + across, y + down)

    def _places_of(self, box: PixelBox) -> list[Place]:
        """Return the places, row by row, of the tiles that show some of a part of the sheet."""
        if is_empty(box):
            return []
        (across, down), (left, top) = self._tile_size, self._anchor
        columns = range((box[0] - left) // across, (box[2] - 1 - left) // across + 1)
        rows = range((box[1] - top) // down, (box[3] - 1 - top) // down + 1)
        return [(column, row) for row in rows for column in columns]

    def _fill(self, places: Sequence[Place], focus: tuple[float, float]) -> None:
        """Have a tile at each place, one new there with the best pixels that there are; sharpen some of the others.

        Those about the ``focus``, a pixel of the whole sheet, are filled first.
        """
        kept = {tile.place: tile for tile in self._tiles}
        lacking = sorted(set(places) - set(kept), key=lambda place: self._distance(place, focus))
        missing = lacking[:NEW_AT_A_TIME]
        gains = {place: self._gain(kept[place]) for place in places if place in kept}
        unsharp = sorted((place for place in gains if gains[place]), key=gains.__getitem__, reverse=True)
        most = max(SHARPER_AT_A_TIME - len(missing), 0)
        self.has_more = len(lacking) > len(missing) or len(unsharp) > most
        for place in unsharp[:most]:
            self._sharpen(kept[place])
        free = sorted((tile for tile in self._tiles if tile.place not in gains), key=lambda tile: tile.place is None)
        for place in missing:
            tile = free.pop()
            tile.place, tile.sharp = place, self._sharp_part(place)
            left, top = self._compose(tile.pixels, self._box_of(place))
            self._paste(tile)
            self._canvas.coords(tile.item, left - self._origin[0], top - self._origin[1])
            if not tile.is_shown:
                self._canvas.itemconfigure(tile.item, state="normal")
                tile.is_shown = True

    def _distance(self, place: Place, focus: tuple[float, float]) -> float:
        """Return how far the middle of a tile is from a pixel of the whole sheet, in pixels."""
        left, top, right, bottom = self._box_of(place)
        return math.hypot((left + right) / 2 - focus[0], (top + bottom) / 2 - focus[1])

    def _sharp_part(self, place: Place) -> PixelBox:
        """Return the part of a tile that the sharp picture has for the scale shown."""
        if self._sharp is None or self._sharp.whole != self._whole:
            return NOTHING
        part = common(self._box_of(place), self._sharp.box)
        return NOTHING if is_empty(part) else part

    def _gain(self, tile: _Tile) -> int:
        """Return how many pixels of a tile would become sharp by the sharp picture; one more where it is stale."""
        assert tile.place is not None
        part = self._sharp_part(tile.place)
        return area(part) - area(common(part, tile.sharp)) + tile.is_stale

    def _sharpen(self, tile: _Tile) -> None:
        assert tile.place is not None
        left, top, _, _ = self._box_of(tile.place)
        part = self._sharp_part(tile.place)
        if self._sharp is not None and area(part) > area(common(part, tile.sharp)):
            tile.sharp = part
            lay(tile.pixels, self._sharp, self._whole, (left, top), moved(tile.sharp, -left, -top))
        self._paste(tile)

    def _compose(self, frame: Pixels, box: PixelBox) -> Place:
        """Fill pixels with a part of the sheet and what is round it, paper undimmed; return the first pixel's place."""
        left, top, right, bottom = box
        paper = moved(common(box, (0, 0, *self._whole)), -left, -top)
        covered = NOTHING
        if self._sharp is not None:
            covered = lay(frame, self._sharp, self._whole, (left, top), paper)
        under = self._under(self._whole[0])
        for strip in strips_beside(paper, covered):
            part_of(frame, strip).fill(255)
            if under is not None:
                lay(frame, under, self._whole, (left, top), strip)
        for strip in strips_beside((0, 0, right - left, bottom - top), paper):
            part_of(frame, strip)[:] = self._surround
        return left, top

    def _under(self, across: int) -> Picture | None:
        """Return the picture of the whole sheet that suits one ``across`` pixels wide."""
        known = [picture for picture in (self._overview, self._fine) if picture is not None]
        known.sort(key=lambda picture: picture.whole[0])
        enough = (picture for picture in known if across <= 1.3 * picture.whole[0])
        return next(enough, known[-1] if known else None)

    def _paste(self, tile: _Tile) -> None:
        """Put the pixels of a tile on the canvas, an old issue faded in and its paper dimmed in the dark window."""
        import cv2

        assert tile.place is not None
        assert self._buffer is not None
        pixels, box = tile.pixels, self._box_of(tile.place)
        tile.is_stale = False
        if self._old is not None:
            pixels = self._old.laid_over(pixels, box, self._whole)
        if self._brightness != 1.0 or self._paleness:
            pixels = pixels.copy()
            paper = part_of(pixels, common(box, (0, 0, *self._whole)), box)
            kept, added = self._brightness * (1.0 - self._paleness), 255.0 * self._brightness * self._paleness
            paper[:] = cv2.convertScaleAbs(paper, alpha=kept, beta=added)
        self._buffer.frombytes(pixels.data, "raw", "RGB")  # into the same memory: a new image costs as much again
        tile.photo.paste(self._buffer)
