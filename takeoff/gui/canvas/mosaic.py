"""Pixels of one picture laid into those of another at another scale, and tiles gathered in blocks."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from takeoff.gui.canvas.pixels import common, is_empty, moved
from takeoff.gui.canvas.sheet_apart import Picture
from takeoff.sheet.opened import PixelBox

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

NOTHING: PixelBox = (0, 0, 0, 0)

Place = tuple[int, int]
"""Column and row of a tile, counted from the one that lay at the top left when the scale was chosen."""


def blocks(places: Sequence[Place]) -> Iterator[tuple[Place, Place]]:
    """Gather places, given row by row, in blocks, each from its first to its last: one if they fill it, else rows."""
    if not places:
        return
    columns, rows = {column for column, _ in places}, {row for _, row in places}
    if len(places) == (max(columns) - min(columns) + 1) * (max(rows) - min(rows) + 1):
        yield places[0], places[-1]
        return
    first = last = places[0]
    for place in places[1:]:
        if place != (last[0] + 1, last[1]):
            yield first, last
            first = place
        last = place
    yield first, last


def lay(
    frame: NDArray[np.uint8], picture: Picture, whole: tuple[int, int], origin: tuple[int, int], part: PixelBox
) -> PixelBox:
    """Lay what a picture has of a part of a frame into it, stretched to its scale; return the pixels that were laid.

    Parameters
    ----------
    frame
        The pixels of the canvas.
    picture
        A picture of some of the sheet at any scale.
    whole
        Size in pixels of the whole sheet at the frame's scale.
    origin
        Pixel of the whole sheet at the top left of the frame.
    part
        The part to lay, in pixels of the frame.
    """
    import cv2

    across, down = whole[0] / picture.whole[0], whole[1] / picture.whole[1]
    # the pixels of the picture that the part needs, whole ones, one more on each side
    needed = (
        math.floor((part[0] + origin[0]) / across) - 1,
        math.floor((part[1] + origin[1]) / down) - 1,
        math.ceil((part[2] + origin[0]) / across) + 1,
        math.ceil((part[3] + origin[1]) / down) + 1,
    )
    used = common(needed, picture.box)
    if is_empty(used):
        return NOTHING
    place = (
        round(used[0] * across) - origin[0],
        round(used[1] * down) - origin[1],
        round(used[2] * across) - origin[0],
        round(used[3] * down) - origin[1],
    )
    laid = common(place, part)
    if is_empty(laid):
        return NOTHING
    left, top, right, bottom = moved(used, -picture.box[0], -picture.box[1])
    pixels = picture.pixels[top:bottom, left:right]
    if whole != picture.whole:
        pixels = cv2.resize(pixels, (place[2] - place[0], place[3] - place[1]), interpolation=cv2.INTER_LINEAR)
    left, top, right, bottom = moved(laid, -place[0], -place[1])
    frame[laid[1] : laid[3], laid[0] : laid[2]] = pixels[top:bottom, left:right]
    return laid
