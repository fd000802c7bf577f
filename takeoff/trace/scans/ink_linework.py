"""A picture as linework: its thin strokes as lines and arcs of pens. What is filled is left out."""

from __future__ import annotations

import math
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from takeoff.model.plan import Sheet
from takeoff.sheet.frame import displayed_size, displayed_to_sheet
from takeoff.trace.drawing.linework import Linework, empty_linework
from takeoff.trace.scans.ink_lines import ink_lines
from takeoff.trace.scans.wall_network import against_paper

_FINE, _MOST = 11.8, 3.6e7
"""Pixels to a millimetre of paper that strokes are followed at, 300 to the inch, as far as there are no more pixels
than the second: a sheet of 420 × 594 mm."""
_PEN, _LEAF = 0.8, 0.065
"""Millimetres of the widest pen on paper, metres of the thickest leaf: what is wider is a fill (common practice)."""
_LETTER, _SLIM = 3.6, 0.25
"""Millimetres of the largest letter of common text on paper; width over length of what is a dash and no letter."""
_INK, _RIDGE = 0.22, 2
"""Darkness of a stroke over its ground, and times that its middle may be as dark as its edge: between are two."""

Grey = NDArray[np.uint8]


def linework_of_picture(grey: Grey, sheet: Sheet, m_per_pt: float) -> Linework | None:
    """Return the strokes of a picture as linework in sheet points; nothing where there are none, or dirt.

    Pictures of over 36 million pixels are not followed: it took 6 s more, for nothing on the three real ones so large.

    ``grey`` is the whole sheet as displayed; ``m_per_pt`` its scale.
    """
    height, width = grey.shape
    across, down = displayed_size(sheet)
    px_per_mm = width / across * 72 / 25.4
    if grey.size > _MOST:
        return None
    dark = np.asarray(np.clip(against_paper(grey), 0.0, 1.0) * np.float32(255), np.uint8)
    widest = round(max(_PEN * px_per_mm, _LEAF / m_per_pt * width / across + 0.2 * px_per_mm, 4)) | 1
    dark = cv2.subtract(dark, cv2.morphologyEx(dark, cv2.MORPH_OPEN, np.ones((widest, widest), np.uint8)))
    grow = max(1.0, min(_FINE / px_per_mm, math.sqrt(_MOST / dark.size), 2.0))
    if grow > 1.0:
        dark = cv2.resize(dark, None, fx=grow, fy=grow, interpolation=cv2.INTER_CUBIC)
    found = ink_lines(dark / np.float32(255), _strokes(np.asarray(dark, np.uint8), px_per_mm * grow))
    if found is None:
        return None
    origin, right, below = (
        np.array(displayed_to_sheet(sheet, *at)) for at in ((0.0, 0.0), (across / width, 0.0), (0.0, down / height))
    )
    matrix = np.array([right - origin, below - origin])
    lines, arcs = (
        ((rows[:, :4].reshape(-1, 2) + 0.5) / grow @ matrix + origin).reshape(-1, 4)
        for rows in (found.lines, found.arcs)
    )
    strokes, total = len(found.lines), len(found.lines) + len(found.arcs)
    pens = np.append(found.pens, np.full(total - strokes, found.pens.min()))  # leaves swing in the thinnest
    return replace(
        empty_linework(),
        lines=lines,
        line_path=np.arange(strokes),
        arcs=np.column_stack([arcs, found.arcs[:, 4] * np.sign(np.linalg.det(matrix))]),
        arc_path=np.arange(strokes, total),
        stroked=np.ones(total, bool),
        filled=np.zeros(total, bool),
        width=np.round(pens / grow * across / width, 2),
        colour=np.zeros((total, 3)),
        fill=np.zeros((total, 3)),
        dashed=np.zeros(total, bool),
        layer=np.zeros(total, np.int64),
    )


def _strokes(thin: Grey, px_per_mm: float) -> Grey:
    """Tell where strokes are: dark over their ground, and no letters nor specks."""
    reach = 2 * round(px_per_mm / _FINE * 2) + 1
    ridge = cv2.dilate(thin, np.ones((max(3, reach), max(3, reach)), np.uint8)) // _RIDGE
    mask = ((thin > 255 * _INK) & (thin > ridge)).astype(np.uint8)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
    long, wide = (np.sort(stats[:, 2:4], axis=1)[:, k] for k in (1, 0))
    is_left_out = ((long < _LETTER * px_per_mm) & (wide > _SLIM * long)) | (long < px_per_mm)
    is_left_out[0] = True
    return (~is_left_out[labels]).astype(np.uint8)
