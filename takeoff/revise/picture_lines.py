"""Straight edges of ink in a picture of a sheet, as segments in sheet points."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from takeoff.revise.registration import Box, Floats

Picture = NDArray[np.uint8]

SHORTEST_PX = 6
"""Pixels below which an edge is a letter's or a speck's."""
LINE_TOLERANCE_PX = 1.6
"""Pixels within which lines found in two pictures are one."""
CORNER_PX = 6.0
"""Pixels by which a line found in a picture may stop short of the corner it runs to."""


def picture_lines(picture: Picture, *, dpi: float, focus_pt: Box) -> Floats:
    """Find straight edges of ink within a box of a sheet; gives segments in sheet points, shape (n, 4).

    Every edge has its ink on the same hand, so the two edges of one stroke go opposite ways.
    """
    import cv2

    to_px = dpi / 72.0
    left, top = max(int(focus_pt[0] * to_px), 0), max(int(focus_pt[1] * to_px), 0)
    part = picture[top : math.ceil(focus_pt[3] * to_px), left : math.ceil(focus_pt[2] * to_px)]
    if part.size == 0:
        return np.zeros((0, 4))
    found = cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD, scale=0.8).detect(np.ascontiguousarray(part))[0]
    if found is None:
        return np.zeros((0, 4))
    lines = np.asarray(found, np.float64).reshape(-1, 4)
    lines = lines[np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1]) >= SHORTEST_PX]
    placed: Floats = (lines + 0.5 + np.array([left, top, left, top])) / to_px
    return placed
