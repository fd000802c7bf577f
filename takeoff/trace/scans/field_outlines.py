"""Outlines of walls in a field of chances: where it crosses one half, fitted by straight sides and arcs.

Coordinates are pixels of the field, pixel edges counted from 0.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from takeoff.trace.drawing.linework import Floats
from takeoff.trace.scans.field_sides import PARALLEL, Side, common_directions, merged_sides, sides_of, turned_into
from takeoff.trace.scans.wall_network import sampled

_BRIDGE = np.ones((9, 9), np.uint8)
_REACH = 3.0
"""Pixels to either side in which the crossing is looked for."""

Field = NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ring:
    """A closed outline: its vertices, and for the solid's side whether it goes round a hole in it.

    ``blur`` is the share of its length where the field is unsure of the edge; ``sides`` are its sides before
    they took common directions.
    """

    points: Floats
    is_hole: bool
    blur: float
    sides: Sequence[Side] = ()


def outline_rings(field: Field, least_area: float) -> list[Ring]:
    """Return the outlines of what is more likely solid than not, short breaks in it bridged.

    Parameters
    ----------
    field
        Height × width chances of being solid.
    least_area
        Square pixels; smaller pieces and holes are left out.
    """
    # what touches the frame of the picture is closed off there
    solid = np.pad(_bridged(field), 1)
    found, tree = cv2.findContours(solid, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    if tree is None:
        return []
    smooth = cv2.GaussianBlur(field, (0, 0), 1.0)
    chains: list[tuple[Floats, bool, float]] = []
    for contour, row in zip(found, tree[0], strict=True):
        if len(contour) < 12 or cv2.contourArea(contour) < least_area:
            continue
        chain, blur = _crossings(field, smooth, contour[:, 0, :].astype(np.float64) - 1.0)
        chains.append((chain, bool(row[3] >= 0), blur))
    sides = [sides_of(chain) for chain, _, _ in chains]
    common = common_directions([s for ring in sides for s in ring])
    rings = []
    for (chain, is_hole, blur), own in zip(chains, sides, strict=True):
        points = _joined([turned_into(s, common) for s in own])
        if len(points) < 3:
            points = chain
        rings.append(Ring(points=points, is_hole=is_hole, blur=blur, sides=own))
    return rings


def _bridged(field: Field) -> NDArray[np.uint8]:
    """Return what is solid, with the breaks closed that are shorter than a jamb is deep."""
    solid = (field > 0.5).astype(np.uint8)
    closed = cv2.morphologyEx((field > 0.3).astype(np.uint8), cv2.MORPH_CLOSE, _BRIDGE)
    return np.asarray(solid | closed, np.uint8)


def _crossings(field: Field, smooth: Field, pixels: Floats) -> tuple[Floats, float]:
    """Move the pixels of a contour to where the field crosses one half, along its slope; and how much is unsure."""
    slope = np.column_stack([sampled(smooth, pixels + 0.5 + k) - sampled(smooth, pixels + 0.5 - k) for k in np.eye(2)])
    size = np.hypot(*slope.T) / 2
    n = slope / np.maximum(2 * size, 1e-9)[:, None]
    steps = np.arange(-_REACH, _REACH + 0.01, 0.5)
    at = pixels[:, None, :] + steps[None, :, None] * n[:, None, :]
    seen = sampled(field, at + 0.5)
    rises = (seen[:, :-1] < 0.5) & (seen[:, 1:] >= 0.5)
    share = (0.5 - seen[:, :-1]) / np.where(rises, seen[:, 1:] - seen[:, :-1], 1.0)
    places = np.where(rises, steps[:-1] + 0.5 * share, np.inf)
    best = np.argmin(np.abs(places), axis=1)
    move = places[np.arange(len(places)), best]
    fits = np.isfinite(move) & (size > 1e-4)
    moved = pixels + np.where(fits, move, 0.0)[:, None] * n + 0.5
    return moved, float((np.ptp(seen, axis=1) < 0.7).mean())


def _joined(sides: list[Side]) -> Floats:
    """Join sides into a ring: neighbours meet where they cross; parallel ones that miss each other by a step."""
    merged = merged_sides(sides)
    if len(merged) == 1 and merged[0].arc is not None:  # a round column
        return merged[0].arc[:-1]
    if len(merged) < 2:
        return np.zeros((0, 2))
    points: list[Floats] = []
    for i, side in enumerate(merged):
        after = merged[(i + 1) % len(merged)]
        if side.arc is not None:
            points.extend(side.arc[1:-1])
        points.extend(_corner(side, after))
    return np.array(points)


def _corner(side: Side, after: Side) -> list[Floats]:
    """Return the vertices between two sides."""
    p, q = side.stop, after.start
    middle = (p + q) / 2
    if side.arc is not None and after.arc is not None:
        return [middle]
    if side.arc is not None or after.arc is not None:  # the arc ends on the line
        return [side.nearest(q) if side.arc is None else after.nearest(p)]
    met = _met(side.foot, side.along, after.foot, after.along)
    if met is None:
        return [side.nearest(middle), after.nearest(middle)]
    return [met] if float(np.hypot(*(met - middle))) < 12.0 + float(np.hypot(*(p - q))) else [p, q]


def _met(p: Floats, u: Floats, q: Floats, v: Floats) -> Floats | None:
    """Return where two lines cross, each by a point and its direction; nothing where they make no corner."""
    cross = float(u[0] * v[1] - u[1] * v[0])
    if abs(cross) <= math.sin(PARALLEL) * float(np.hypot(*u) * np.hypot(*v)):
        return None
    return np.asarray(p + u * float((q - p)[0] * v[1] - (q - p)[1] * v[0]) / cross)
