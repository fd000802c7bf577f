"""Values as PDF writes them: reals, text strings, dates, rectangles, paths (ISO 32000-2:2020)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise

from takeoff.geometry.arcs import Point, arc_centre
from takeoff.geometry.paths import Path
from takeoff.sheet.document import Matrix


def drawn_path(line: Path) -> str:
    """Write the path operators of a line (§8.5.2); an arc becomes a cubic curve for each quarter turn or less."""
    out = [f"{reals(line.points[:1])} m"]
    for a, b, bulge in line.segments():
        if bulge == 0.0:
            out.append(f"{reals([b])} l")
            continue
        centre, radius = arc_centre(a, b, bulge)
        start, sweep = math.atan2(a[1] - centre[1], a[0] - centre[0]), -4.0 * math.atan(bulge)
        count = max(1, math.ceil(abs(sweep) / (math.pi / 2) - 1e-9))
        k = 4.0 / 3.0 * math.tan(sweep / count / 4.0) * radius
        angles = [start + sweep * i / count for i in range(count + 1)]
        for t0, t1 in pairwise(angles):
            p0, p1 = ((centre[0] + radius * math.cos(t), centre[1] + radius * math.sin(t)) for t in (t0, t1))
            c0 = (p0[0] - k * math.sin(t0), p0[1] + k * math.cos(t0))
            c1 = (p1[0] + k * math.sin(t1), p1[1] - k * math.cos(t1))
            out.append(f"{reals([c0, c1, p1])} c")
    return " ".join([*out, "h"] if line.is_closed else out)


def moved(matrix: Matrix, point: Point) -> Point:
    """Apply a matrix to a point.

    Examples
    --------
    >>> moved((1, 0, 0, -1, 0, 100), (10, 30))
    (10, 70)
    """
    a, b, c, d, e, f = matrix
    return (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)


def inverse(matrix: Matrix) -> Matrix:
    """Invert a matrix.

    Examples
    --------
    >>> inverse((2.0, 0.0, 0.0, -1.0, 4.0, 100.0))[4:]
    (-2.0, 100.0)
    """
    a, b, c, d, e, f = matrix
    det = a * d - b * c
    return (d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det)


def real(value: float) -> str:
    """Write a real number without an exponent (§7.3.3).

    Examples
    --------
    >>> real(1e-7), real(2.0)
    ('0.0000001', '2')
    """
    return f"{value:.12f}".rstrip("0").rstrip(".") if value else "0"


def reals(points: Sequence[Point]) -> str:
    """Write the coordinates of points one after the other."""
    return " ".join(f"{real(x)} {real(y)}" for x, y in points)


def rectangle(points: Sequence[Point], margin: float = 0.0) -> str:
    """Write the rectangle around points, wider by a margin on every side (§7.9.5)."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    low, high = (min(xs) - margin, min(ys) - margin), (max(xs) + margin, max(ys) + margin)
    return f"[{reals([low, high])}]"


def text_string(text: str) -> str:
    """Write a text string as UTF-16 in hex, so that no character can end it (§7.9.2.2).

    Examples
    --------
    >>> text_string("a)")
    '<feff00610029>'
    """
    return f"<{(chr(0xFEFF) + text).encode('utf-16-be', 'replace').hex()}>"


def date(at: str) -> str:
    """Write an ISO 8601 time as a date (§7.9.4).

    Examples
    --------
    >>> date("2026-03-02T10:00:00+01:00")
    "D:20260302100000+01'00"
    """
    time = datetime.fromisoformat(at)
    zone = time.strftime("%z")
    return time.strftime("D:%Y%m%d%H%M%S") + (f"{zone[:3]}'{zone[3:5]}" if zone else "")
