"""Words printed in the rooms of two pictures of a sheet: which of the older ones stand in their room still."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.revise.changes import Differences

LETTER_PT = (1.2, 12.0)
"""Height or width in points of a printed letter (common practice, no source)."""
GAP_PT = 1.0
"""Points from one letter of a word to the next, at the most half of it."""
INK = 0.35
"""Darkness from which a pixel is ink of a letter."""
ALIKE = 0.8
"""Correlation from which a word is the same: 0.85 and more for the same word, up to 0.7 for most others (measured
on made scans at 150 dpi)."""
BLUR_PX = 0.8

Shade = NDArray[np.float32]


def words_kept(differences: Differences, rooms: Sequence[shapely.Geometry]) -> tuple[int, int]:
    """Count the words of the old picture that stand in their room on the new one, and all of the old one's.

    ``rooms`` are areas in points of the new sheet, clear of their walls.
    """
    import cv2

    kept = of = 0
    if differences.shades is None:
        return kept, of
    for room in (part for area in rooms for part in shapely.get_parts(area) if part.area > 0.0):
        outline = shapely.get_coordinates(room.exterior) / differences.pixel_pt
        (left, top), (right, bottom) = np.floor(outline.min(0)).astype(int), np.ceil(outline.max(0)).astype(int)
        box = np.s_[max(top, 0) : bottom, max(left, 0) : right]
        before, now = (shade[box] for shade in differences.shades)
        if not before.size:
            continue
        inside = np.zeros(before.shape, np.uint8)
        cv2.fillPoly(inside, [np.round(outline - (max(left, 0), max(top, 0))).astype(np.int32)], 1)
        soft_before, soft_now = (cv2.GaussianBlur(shade, (0, 0), BLUR_PX) for shade in (before, now))
        for x, y, wide, high in _words(before * inside, differences.pixel_pt):
            of += 1
            word = soft_before[y : y + high, x : x + wide]
            # most stand where they stood: to look there first takes a hundredth of the time
            where = soft_now[max(y - high, 0) : y + 2 * high, max(x - high, 0) : x + wide + high]
            kept += _holds(where, word) or _holds(soft_now, word)
    return kept, of


def _holds(shade: Shade, word: Shade) -> bool:
    """Tell whether a word is drawn somewhere in a picture."""
    import cv2

    alike = np.asarray(cv2.matchTemplate(shade, word, cv2.TM_CCOEFF_NORMED))
    ink = cv2.boxFilter(shade, -1, word.shape[::-1], anchor=(0, 0))[: alike.shape[0], : alike.shape[1]]
    return bool(((alike >= ALIKE) & (ink > 0.5 * word.mean())).any())  # bare paper is like anything


def _words(shade: Shade, pixel_pt: float) -> Iterator[tuple[int, int, int, int]]:
    """Boxes (left, top, width, height) of ink of a letter's size that stands close together, two letters or more."""
    import cv2

    _, labels, boxes, middles = cv2.connectedComponentsWithStats((shade > INK).astype(np.uint8), connectivity=8)
    extent = boxes[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(1) * pixel_pt
    is_letter = (extent >= LETTER_PT[0]) & (extent <= LETTER_PT[1])
    is_letter[0] = False
    size = 2 * max(round(GAP_PT / pixel_pt), 1) + 1
    wide = cv2.dilate(is_letter[labels].astype(np.uint8), np.ones((size, size), np.uint8))
    count, words, bounds, _ = cv2.connectedComponentsWithStats(wide, connectivity=8)
    x, y = np.round(middles[is_letter]).astype(int).T
    letters = np.bincount(np.asarray(words)[y, x], minlength=count)
    for row in np.flatnonzero(letters[1:] >= 2) + 1:
        yield tuple(int(v) for v in bounds[row, :4])  # type: ignore[misc]
