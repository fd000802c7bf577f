"""Windows that are drawn over walls which go on there: in the walls' own pen, or over their fill."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import Geometry

from takeoff.trace.drawing.linework import Floats
from takeoff.trace.drawing.polygons import lengths_inside
from takeoff.trace.lines.gap_contents import FRAME
from takeoff.trace.lines.scene import Scene

_SILL = 0.15
"""Metres that a sill in the walls' own pen stands out at the most (common practice, no source)."""


def windows_in(material: Geometry, scene: Scene) -> list[Geometry]:
    """Find windows that are drawn over an unbroken wall: lines inside it along its run, between two cross lines.

    Returns
    -------
    list of Geometry
        What to cut out of the material so that each is a gap like any other.
    """
    pieces = scene.pieces
    inside = shapely.buffer(material, -scene.pt(0.012))
    is_drawn = pieces.is_whole & scene.linework.stroked[pieces.path] & ~scene.is_symbol & ~scene.is_note
    lines = np.array(shapely.linestrings(pieces.segments.reshape(-1, 2, 2)), object)
    drawn = np.flatnonzero(is_drawn)
    around = shapely.buffer(material, scene.pt(0.01))
    shapely.prepare(around)
    middles = (pieces.segments[drawn, :2] + pieces.segments[drawn, 2:]) / 2
    drawn = drawn[shapely.contains_xy(around, middles)]  # far quicker told than that all of a line is covered
    rows = drawn[shapely.covers(around, lines[drawn])]
    lengths = shapely.length(lines[rows])
    is_long = ~scene.is_hatch[rows] & (lengths > scene.pt(0.35)) & (lengths < scene.pt(6.0))
    glass = rows[is_long]
    glass = glass[lengths_inside(lines[glass], inside) > 0.8 * lengths[is_long]]
    crossing = rows[(lengths > scene.pt(0.05)) & (lengths < scene.pt(0.7))]
    tree = shapely.STRtree(lines[crossing])
    faces = shapely.boundary(material)
    cuts: list[Geometry] = []
    for row in glass.tolist():
        cut = _window_round(pieces.segments[row], pieces.segments[crossing], tree, faces, material, scene)
        if cut is not None:
            cuts.append(cut)
    return cuts


def _window_round(
    line: Floats, crossing: Floats, tree: shapely.STRtree, faces: Geometry, material: Geometry, scene: Scene
) -> Geometry | None:
    """Return the box of the wall round a line of glass, where a cross line closes both its ends."""
    a, b = line[:2], line[2:]
    u = (b - a) / np.hypot(*(b - a))
    n = np.array([-u[1], u[0]])
    sides: list[tuple[float, float]] = []
    ends: list[Floats] = []
    for end, out in ((a, -u), (b, u)):
        reach = shapely.LineString([end, end + out * scene.pt(FRAME)])
        near = crossing[tree.query(reach, predicate="dwithin", distance=scene.pt(0.03))]
        d = near[:, 2:] - near[:, :2]
        near = near[np.abs(d @ u) < 0.1 * np.hypot(d[:, 0], d[:, 1])].reshape(-1, 2, 2) - end
        if not len(near):
            return None
        offsets = near @ n
        sides.append((float(offsets.min()), float(offsets.max())))
        is_jamb = np.ptp(offsets, axis=1) > 0.9 * np.ptp(offsets)  # the others are the sides of a frame
        ends.append(end + out * float((near @ out).mean(1)[is_jamb].min(initial=scene.pt(FRAME))))
        if not material.contains(shapely.Point(ends[-1] + out * scene.pt(0.08))):
            return None
    low, high = max(s[0] for s in sides), min(s[1] for s in sides)
    slack = scene.pt(0.02)
    a, b = ends
    middle = (a + b) / 2
    off = [float(faces.distance(shapely.Point(middle + n * offset))) for offset in (low, high)]
    if high - low < scene.pt(0.05) or min(off) > slack or max(off) > scene.pt(_SILL):
        return None
    low, high = low - off[0] - slack, high + off[1] + slack
    box = [a + n * low, b + n * low, b + n * high, a + n * high]
    return shapely.Polygon(box)
