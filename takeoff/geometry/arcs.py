"""Straight and arc segments given by two points and a bulge, in a frame with y down.

A bulge is the tangent of a quarter of the included angle; it is positive where the segment turns counter-clockwise as
seen on the drawing (the DXF convention, seen with y down). The left hand of a walker with unit tangent (tx, ty) is
(ty, −tx).
"""

from __future__ import annotations

import math

Point = tuple[float, float]

STRAIGHT = 1e-9
"""Bulge below which a segment is straight: over 100 m the arc leaves its chord by 50 nanometres."""


def is_straight(bulge: float) -> bool:
    """Tell whether a segment is straight, or so nearly that its circle has no usable centre."""
    return abs(bulge) < STRAIGHT


def segment_length(a: Point, b: Point, bulge: float) -> float:
    """Length of a segment: the chord, or radius × included angle.

    Examples
    --------
    >>> round(segment_length((0, 0), (2, 0), 1.0), 9)  # a half circle of radius 1
    3.141592654
    """
    chord = math.dist(a, b)
    if is_straight(bulge):
        return chord
    angle = 4.0 * math.atan(abs(bulge))
    return chord / (2.0 * math.sin(angle / 2.0)) * angle


def arc_centre(a: Point, b: Point, bulge: float) -> tuple[Point, float]:
    """Centre and radius of an arc; the segment must not be straight.

    Examples
    --------
    >>> arc_centre((0.0, 0.0), (2.0, 0.0), 1.0)
    ((1.0, 0.0), 1.0)
    """
    dx, dy = b[0] - a[0], b[1] - a[1]
    k = (1.0 - bulge * bulge) / (4.0 * bulge)  # distance of the centre to the left of the chord, per chord length
    centre = ((a[0] + b[0]) / 2.0 + k * dy, (a[1] + b[1]) / 2.0 - k * dx)
    return centre, math.hypot(dx, dy) * (1.0 + bulge * bulge) / (4.0 * abs(bulge))


def tangents(a: Point, b: Point, bulge: float) -> tuple[Point, Point]:
    """Unit tangents at the start and at the end of a segment.

    Examples
    --------
    >>> tangents((0.0, 0.0), (2.0, 0.0), 0.0)
    ((1.0, 0.0), (1.0, 0.0))
    """
    chord = math.dist(a, b)
    ux, uy = (b[0] - a[0]) / chord, (b[1] - a[1]) / chord
    if is_straight(bulge):
        return (ux, uy), (ux, uy)
    half = 2.0 * math.atan(bulge)
    c, s = math.cos(half), math.sin(half)
    # counter-clockwise as displayed by +h is (x cos h + y sin h, −x sin h + y cos h) with y down
    return (ux * c - uy * s, ux * s + uy * c), (ux * c + uy * s, -ux * s + uy * c)


def turn_between(incoming: Point, outgoing: Point) -> float:
    """Turning angle in radians from one direction to the next, positive counter-clockwise as displayed.

    Examples
    --------
    >>> round(math.degrees(turn_between((1.0, 0.0), (0.0, -1.0))))  # right, then up the page
    90
    """
    cross = incoming[0] * outgoing[1] - incoming[1] * outgoing[0]
    dot = incoming[0] * outgoing[0] + incoming[1] * outgoing[1]
    return math.atan2(-cross, dot)


def flatten_segment(a: Point, b: Point, bulge: float, tolerance: float) -> list[Point]:
    """Points along a segment, both ends included, so that chords leave the arc by at most ``tolerance``."""
    if is_straight(bulge):
        return [a, b]
    centre, radius = arc_centre(a, b, bulge)
    sweep = -4.0 * math.atan(bulge)
    step = 2.0 * math.acos(max(-1.0, 1.0 - min(tolerance, radius) / radius))
    count = max(2, math.ceil(abs(sweep) / step)) if step > 0 else 2
    start = math.atan2(a[1] - centre[1], a[0] - centre[0])
    inner = [
        (
            centre[0] + radius * math.cos(start + sweep * i / count),
            centre[1] + radius * math.sin(start + sweep * i / count),
        )
        for i in range(1, count)
    ]
    return [a, *inner, b]
