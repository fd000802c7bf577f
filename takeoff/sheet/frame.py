"""The two frames of a sheet: sheet points (unrotated page) and displayed points (as a person sees it).

Both are in 1/72 inch from the top left corner, x right and y down. A sheet that is displayed with a rotation of 90, 180
or 270 degrees clockwise has its displayed frame turned by as much.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from takeoff.model.plan import Point, Sheet

Box = tuple[float, float, float, float]
"""Left, top, right and bottom, in points of the frame that its name says."""
SLACK_PT = 0.01
"""Points by which a line may lie over the edge of a box and still be within it: numbers are rounded."""


def displayed_size(sheet: Sheet) -> tuple[float, float]:
    """Return the width and height in points of the sheet as displayed."""
    size = (sheet.width_pt, sheet.height_pt)
    return size if sheet.rotation % 180 == 0 else (size[1], size[0])


def sheet_to_displayed(sheet: Sheet, x: float, y: float) -> Point:
    """Turn a sheet point into a displayed point.

    Examples
    --------
    >>> turned = Sheet(id=1, source="", page=1, width_pt=600, height_pt=400, rotation=90)
    >>> sheet_to_displayed(turned, 0, 0)
    (400.0, 0.0)
    """
    return turned(x, y, sheet.width_pt, sheet.height_pt, sheet.rotation)


def displayed_to_sheet(sheet: Sheet, x: float, y: float) -> Point:
    """Turn a displayed point into a sheet point: the inverse of `sheet_to_displayed`.

    Examples
    --------
    >>> turned = Sheet(id=1, source="", page=1, width_pt=600, height_pt=400, rotation=90)
    >>> displayed_to_sheet(turned, 400, 0)
    (0.0, 0.0)
    """
    return turned(x, y, *displayed_size(sheet), -sheet.rotation)


def turned(x: float, y: float, width: float, height: float, rotation: int) -> Point:
    """Turn a point of a page of that size, y down, as the page is turned, in degrees clockwise."""
    point = {90: (height - y, x), 180: (width - x, height - y), 270: (y, width - x)}.get(rotation % 360, (x, y))
    return (float(point[0]), float(point[1]))


def box_round(boxes: Iterable[Box]) -> Box:
    """Return the box round several.

    Examples
    --------
    >>> box_round([(0, 0, 2, 1), (1, 0, 5, 3)])
    (0, 0, 5, 3)
    """
    left, top, right, bottom = zip(*boxes, strict=True)
    return (min(left), min(top), max(right), max(bottom))


def meets(a: Box, b: Box) -> bool:
    """Tell whether two boxes share a place."""
    return a[0] <= b[2] and a[2] >= b[0] and a[1] <= b[3] and a[3] >= b[1]


def box_to_displayed(sheet: Sheet, box_pt: Box) -> Box:
    """Turn a box in sheet points into the same box in displayed points."""
    x0, y0 = sheet_to_displayed(sheet, box_pt[0], box_pt[1])
    x1, y1 = sheet_to_displayed(sheet, box_pt[2], box_pt[3])
    return (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))


def cut_line(a: Point, b: Point, box: Box) -> tuple[Point, Point] | None:
    """Return the part of a line that lies in a box, or ``None``.

    Examples
    --------
    >>> cut_line((0.0, 1.0), (10.0, 1.0), (2.0, 0.0, 4.0, 3.0))
    ((2.0, 1.0), (4.0, 1.0))
    >>> cut_line((0.0, 5.0), (10.0, 5.0), (2.0, 0.0, 4.0, 3.0)) is None
    True
    """
    low, high = 0.0, 1.0
    for start, end, least, most in ((a[0], b[0], box[0], box[2]), (a[1], b[1], box[1], box[3])):
        way = end - start
        if least - SLACK_PT <= start <= most + SLACK_PT and least - SLACK_PT <= end <= most + SLACK_PT:
            continue
        if way == 0.0:
            return None
        near, far = sorted(((least - start) / way, (most - start) / way))
        low, high = max(low, near), min(high, far)
    if not low < high or math.dist(a, b) * (high - low) <= SLACK_PT:
        return None

    def at(part: float) -> Point:
        return (a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1]))

    return a if low == 0.0 else at(low), b if high == 1.0 else at(high)


def cut_ring(ring: Sequence[Point], box: Box) -> list[Point]:
    """Return the part of a closed outline that lies in a box, its sides along the box where it is cut; else nothing.

    One side of the box after the other cuts it (I. E. Sutherland and G. W. Hodgman, Reentrant polygon clipping, 1974).

    Examples
    --------
    >>> cut_ring([(0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (0.0, 4.0)], (2.0, -1.0, 8.0, 9.0))
    [(2.0, 0.0), (8.0, 0.0), (8.0, 4.0), (2.0, 4.0)]
    """
    for axis, sign, edge in ((0, 1.0, box[0]), (1, 1.0, box[1]), (0, -1.0, box[2]), (1, -1.0, box[3])):
        kept: list[Point] = []
        for a, b in zip([*ring[-1:], *ring[:-1]], ring, strict=True):
            before, after = sign * (a[axis] - edge), sign * (b[axis] - edge)
            if (before < 0.0) != (after < 0.0):
                part = before / (before - after)
                kept.append((a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])))
            if after >= 0.0:
                kept.append(b)
        ring = kept
    return list(ring)
