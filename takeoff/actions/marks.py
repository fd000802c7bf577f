"""Measured faces as marks on their sheets as displayed."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

from takeoff.model.figures import Elevation
from takeoff.model.plan import Calibration, Point, Sheet
from takeoff.report.content import Mark
from takeoff.sheet.frame import sheet_to_displayed


def mark_of(elevation: Elevation, scale: Calibration, sheet: Sheet) -> Mark:
    """Put one face on its sheet, in points of the page as displayed.

    ``elevation``: the face; its line is in building metres.
    """
    line = [sheet_to_displayed(sheet, x / scale.mx, y / scale.my) for x, y in elevation.line]
    stations = _stations(elevation)
    sign = 1.0 if elevation.face == "left" else -1.0
    corners = [(*_point_at(line, stations, c.station), c.is_inside) for c in elevation.corners]
    return Mark(
        label=elevation.key,
        system=elevation.system or "",
        room=elevation.room or "",
        line_pt=tuple(line),
        hand=tuple(_left_of(a, b, sign) for a, b in pairwise(line)),
        openings_pt=tuple(
            piece for o in elevation.openings for piece in _pieces(line, stations, o.x0, o.x1) if piece[0] != piece[1]
        ),
        corners=tuple(corners),
    )


def _left_of(a: Point, b: Point, sign: float) -> Point:
    """Unit vector to the left of the way from a to b with y down, or to the right for sign −1."""
    length = math.dist(a, b)
    if length == 0.0:
        return (0.0, 0.0)
    return (sign * (b[1] - a[1]) / length, -sign * (b[0] - a[0]) / length)


def _stations(elevation: Elevation) -> list[float]:
    """Stations of the drawn line's points; chords are stretched so that the last one is the developed length."""
    at = [0.0]
    for a, b in pairwise(elevation.line):
        at.append(at[-1] + math.dist(a, b))
    return [s * elevation.length / at[-1] for s in at]


def _point_at(line: Sequence[Point], stations: Sequence[float], station: float) -> Point:
    i = min(max(bisect_right(stations, station) - 1, 0), len(line) - 2)
    span = stations[i + 1] - stations[i]
    part = min(max((station - stations[i]) / span, 0.0), 1.0) if span > 0.0 else 0.0
    (x0, y0), (x1, y1) = line[i], line[i + 1]
    return (x0 + (x1 - x0) * part, y0 + (y1 - y0) * part)


def _pieces(line: Sequence[Point], stations: Sequence[float], low: float, high: float) -> list[tuple[Point, Point]]:
    """The drawn line between two stations, a piece for each straight part."""
    cuts = [low, *(s for s in stations if low < s < high), high]
    points = [_point_at(line, stations, s) for s in cuts]
    return list(pairwise(points))
