"""Boxes of pixels, pictures of a part of a sheet, and one laid into another."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from takeoff.sheet.opened import PixelBox

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]
else:
    Pixels = Any  # only told: numpy is brought in where something is drawn

NOTHING: PixelBox = (0, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Picture:
    """Pixels (height × width × 3; red, green, blue) of a part of a sheet.

    ``whole`` is the size in pixels of the whole sheet as displayed at this scale and ``box`` the part of it.
    """

    whole: tuple[int, int]
    box: PixelBox
    pixels: Pixels


def common(one: PixelBox, other: PixelBox) -> PixelBox:
    """Return what two boxes share; it is empty (`is_empty`) when they share nothing.

    Examples
    --------
    >>> common((0, 0, 10, 10), (5, -5, 20, 5))
    (5, 0, 10, 5)
    """
    return (max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3]))


def is_empty(box: PixelBox) -> bool:
    """Tell whether a box holds no pixel."""
    return box[2] <= box[0] or box[3] <= box[1]


def moved(box: PixelBox, dx: int, dy: int) -> PixelBox:
    """Move a box by so many pixels."""
    return (box[0] + dx, box[1] + dy, box[2] + dx, box[3] + dy)


def area(box: PixelBox) -> int:
    """Count the pixels of a box."""
    return 0 if is_empty(box) else (box[2] - box[0]) * (box[3] - box[1])


def part_of(pixels: Pixels, box: PixelBox, origin: Sequence[int] = (0, 0)) -> Pixels:
    """Return the pixels in a box, as part of those whose first pixel is the ``origin``; to write there writes them."""
    return pixels[box[1] - origin[1] : box[3] - origin[1], box[0] - origin[0] : box[2] - origin[0]]


def strips_beside(box: PixelBox, part: PixelBox) -> list[PixelBox]:
    """Return what is left of a box beside a part of it: at most four boxes that do not overlap.

    Examples
    --------
    >>> strips_beside((0, 0, 10, 10), (0, 0, 10, 7))
    [(0, 7, 10, 10)]
    """
    inner = common(box, part)
    if is_empty(inner):
        return [] if is_empty(box) else [box]
    left, top, right, bottom = inner
    beside = (
        (box[0], box[1], box[2], top),
        (box[0], bottom, box[2], box[3]),
        (box[0], top, left, bottom),
        (right, top, box[2], bottom),
    )
    return [strip for strip in beside if not is_empty(strip)]


def lay(frame: Pixels, picture: Picture, whole: tuple[int, int], origin: tuple[int, int], part: PixelBox) -> PixelBox:
    """Lay what a picture has of a part of a frame into it, stretched to its scale; return the pixels that were laid.

    The picture is of some of the sheet at any scale; the frame is the pixels of the canvas, at whose scale the sheet is
    ``whole`` pixels large. ``origin`` is the pixel of the whole sheet at the top left of the frame, in whose pixels the
    part to lay is given.
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
    left, top, right, bottom = used
    stretched = (round(left * across), round(top * down), round(right * across), round(bottom * down))
    place = moved(stretched, -origin[0], -origin[1])
    laid = common(place, part)
    if is_empty(laid):
        return NOTHING
    pixels = part_of(picture.pixels, used, picture.box)
    if whole != picture.whole:
        pixels = cv2.resize(pixels, (place[2] - place[0], place[3] - place[1]), interpolation=cv2.INTER_LINEAR)
    part_of(frame, laid)[:] = part_of(pixels, laid, place)
    return laid
