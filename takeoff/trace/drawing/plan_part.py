"""The part of a sheet that buildings are drawn on: without frame, title block and empty margins."""

from __future__ import annotations

import math
from typing import Protocol

import cv2
import numpy as np
from numpy.typing import NDArray

from takeoff.model.plan import Sheet
from takeoff.sheet.frame import Box, displayed_size, displayed_to_sheet
from takeoff.sheet.render import render_array

_M_PER_PX = 0.1
_NEAR = 0.8
"""Metres; what stands closer together is one thing."""
_SMALL = 3.0
"""Metres; what is less wide or less deep is no building (common practice, no source)."""
_MARGIN = 1.5
"""Metres of paper that are kept round what is drawn."""
_FRAME = 0.85
"""Share of the sheet's side from which an unbroken line is that of a frame."""
_STRIP, _EDGE = 0.22, 0.06
"""Shares of the sheet's side: a title block lies in a strip as wide as the first, within the second of the edge."""
_INK, _PICTURE_INK = 235, 190
"""Levels of 0 to 255 below which there is ink: on drawings, and on pictures, whose paper may be shaded and whose thin
lines come out pale (measured on three mosaic pages)."""


class Draw(Protocol):
    """Draws a sheet, or what counts of it: `takeoff.sheet.render.render_array` and its like."""

    def __call__(self, data: bytes, sheet: Sheet, *, dpi: float, clip_pt: Box | None = None) -> NDArray[np.uint8]:
        """Draw a box of a sheet at so many dots per inch."""


def drawn_part(
    data: bytes, sheet: Sheet, m_per_pt: float, *, draw: Draw = render_array, is_picture: bool = False
) -> Box:
    """Return the box in sheet points that holds all that may be a building; the whole sheet where nothing may.

    ``draw`` draws what is looked at, ``is_picture`` tells whether that is pictures and no drawing.

    Raises
    ------
    SheetError
        When the picture cannot be drawn.
    """
    pixels = draw(data, sheet, dpi=max(72.0 * m_per_pt / _M_PER_PX, 4.0))
    ink = (pixels.min(2) < (_PICTURE_INK if is_picture else _INK)).astype(np.uint8)
    height, width = ink.shape
    across, down = displayed_size(sheet)
    per_m = width / (across * m_per_pt)
    kernels = [
        np.ones((1, max(2, round(_FRAME * width))), np.uint8),
        np.ones((max(2, round(_FRAME * height)), 1), np.uint8),
    ]
    lines = np.maximum(*(cv2.morphologyEx(ink, cv2.MORPH_OPEN, kernel) for kernel in kernels))
    ink = ink & ~cv2.dilate(lines, np.ones((3, 3), np.uint8))
    near = 2 * round(_NEAR * per_m / 2) + 1
    _, _, stats, _ = cv2.connectedComponentsWithStats(cv2.dilate(ink, np.ones((near, near), np.uint8)))
    low, sides = stats[1:, :2], stats[1:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]]
    size = np.array([width, height])
    at_edge = (low < _EDGE * size) | (low + sides > (1 - _EDGE) * size)
    is_strip = at_edge & ((low > (1 - _STRIP) * size) | (low + sides < _STRIP * size))
    boxes = stats[1:][(sides.min(1) - near > _SMALL * per_m) & ~is_strip.any(1)]
    if not len(boxes):
        return (0.0, 0.0, sheet.width_pt, sheet.height_pt)
    more = math.ceil((_MARGIN - _NEAR / 2) * per_m)
    first = np.maximum(boxes[:, :2].min(0) - more, 0) * (across, down) / size
    last = np.minimum((boxes[:, :2] + boxes[:, 2:4]).max(0) + more, size) * (across, down) / size
    corners = np.array([displayed_to_sheet(sheet, *first.tolist()), displayed_to_sheet(sheet, *last.tolist())])
    return (*map(float, corners.min(0)), *map(float, corners.max(0)))  # type: ignore[return-value]
