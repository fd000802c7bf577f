"""The strip of wall that an opening lies in: its direction and its two faces, taken from the wall beyond the opening.

Coordinates are pixels of the field, pixel edges counted from 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from takeoff.trace.drawing.linework import Floats
from takeoff.trace.scans.wall_network import M_PER_PX, WALL, Chances

_THIN, _THICK = 3.0, 1.1 / M_PER_PX
"""Pixels; the thinnest and the thickest wall."""
_AT_ONCE = 32000
"""Points; the most that OpenCV takes in a row."""
_ASIDE = 5.0
"""Pixels; how far aside of where a patch points to its wall may go on: a patch's own direction is rough."""
_BEYOND = 60
"""Pixels of wall beyond a jamb that are looked at for its faces."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Band:
    """The strip of a wall that an opening lies in: a point, its direction, and the offsets of its two faces."""

    middle: Floats
    along: Floats
    low: float
    high: float

    def at(self, station: float | Floats, offset: float | Floats) -> Floats:
        """Return points by how far along and how far aside they are."""
        normal = np.array([-self.along[1], self.along[0]])
        stations, offsets = np.asarray(station)[..., None], np.asarray(offset)[..., None]
        return np.asarray(self.middle + stations * self.along + offsets * normal)


def sampled(field: NDArray[np.float16] | NDArray[np.float32], at: Floats) -> Floats:
    """Return a field's values at points, rows of x, y of any shape."""
    shape = at.shape[:-1]
    flat = at.reshape(1, -1, 2)
    low = np.clip(np.floor(flat[0].min(0)).astype(int) - 2, 0, np.array(field.shape[::-1]) - 1)
    high = np.maximum(np.ceil(flat[0].max(0)).astype(int) + 2, low + 1)
    field = field[low[1] : high[1], low[0] : high[0]].astype(np.float32)  # what OpenCV takes, of the part alone
    x, y = ((flat[..., i] - 0.5 - low[i]).astype(np.float32) for i in (0, 1))
    parts = [
        cv2.remap(
            field, x[:, i : i + _AT_ONCE], y[:, i : i + _AT_ONCE], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
        )
        for i in range(0, x.shape[1], _AT_ONCE)
    ]
    return np.asarray(np.concatenate(parts, axis=1).reshape(shape), np.float64)


def within(row: NDArray[np.float16], shape: Polygon) -> NDArray[np.float16]:
    """Return a row's values at the pixels inside a polygon, those of its holes left out."""
    x0, y0 = np.maximum(np.floor(shape.bounds[:2]).astype(int), 0)
    x1, y1 = np.ceil(shape.bounds[2:]).astype(int) + 1
    part = row[y0:y1, x0:x1]
    mask = np.zeros(part.shape, np.uint8)
    rings = [shapely.get_coordinates(ring) - (x0 + 0.5, y0 + 0.5) for ring in (shape.exterior, *shape.interiors)]
    cv2.fillPoly(mask, [np.round(ring).astype(np.int32) for ring in rings], 1)
    return part[mask > 0]


def axis_of(chances: Chances, points: Floats, middle: Floats) -> Floats:
    """Return the direction from jamb to jamb: beyond the ends in it there is wall."""
    (_, _), _, angle = cv2.minAreaRect(points.astype(np.float32))
    best, chosen = -1.0, np.array([1.0, 0.0])
    for turn in (angle, angle + 90):
        u = np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn))])
        n = np.array([-u[1], u[0]])
        along, aside = (points - middle) @ u, (points - middle) @ n
        offsets = np.linspace(float(aside.min()), float(aside.max()), 5)[1:-1]
        beyond = [
            middle + u * (end + k * step) + n * off
            for end, k in ((float(along.min()), -1.0), (float(along.max()), 1.0))
            for step in (2.0, 4.0, 6.0)
            for off in offsets
        ]
        wall = sampled(chances[WALL], np.array(beyond)).reshape(2, -1).mean(1)
        worth = float(wall.sum()) + 0.4 * min(3.0, float(np.ptp(along)) / max(1.0, float(np.ptp(aside))))
        if worth > best:
            best, chosen = worth, u
    return chosen


def band_of(chances: Chances, points: Floats, middle: Floats, axis: Floats, start: float, stop: float) -> Band | None:
    """Fit the strip of wall that a patch lies in, to the faces of the wall beyond its ends; to itself where none is."""
    normal = np.array([-axis[1], axis[0]])
    aside = (points - middle) @ normal
    own = float(np.percentile(aside, 4)) - 0.5, float(np.percentile(aside, 96)) + 0.5
    rough = Band(middle=middle, along=axis, low=own[0], high=own[1])
    offsets = np.arange(own[0] - 12, own[1] + 12.01, 0.5)
    seen: list[tuple[float, float, float]] = []
    for end, k in ((start, -1.0), (stop, 1.0)):
        stations = end + k * np.arange(3.0, _BEYOND, 3.0)
        at = rough.at(np.repeat(stations, len(offsets)), np.tile(offsets, len(stations)))
        walls = sampled(chances[WALL], at).reshape(len(stations), len(offsets))
        centre = (own[0] + own[1]) / 2
        for station, profile in zip(stations.tolist(), walls, strict=True):
            faces = _faces(offsets, profile, centre)
            if faces is None or abs((faces[1] - faces[0]) - (own[1] - own[0])) > max(8.0, 0.6 * (own[1] - own[0])):
                if abs(station - end) > 12:
                    break  # the wall ends there, or another one meets it
                continue
            seen.append((station, *faces))
            centre = (faces[0] + faces[1]) / 2
    if len(seen) < 2:
        return rough if _THIN < own[1] - own[0] < _THICK else None
    rows = np.array(seen)
    low, high, slope = _lines(rows)
    angle = math.atan(slope)
    c, s = math.cos(angle), math.sin(angle)
    turned = np.array([c * axis[0] - s * axis[1], s * axis[0] + c * axis[1]])
    band = Band(middle=middle, along=turned, low=low * c, high=high * c)
    return band if _THIN < band.high - band.low < _THICK else None


def _lines(rows: Floats) -> tuple[float, float, float]:
    """Fit two parallel lines to rows of station, low and high: their offsets at station 0, and their slope."""
    kept = np.ones(len(rows), bool)
    low = high = slope = 0.0
    for _ in range(3):
        x, both = rows[kept, 0], rows[kept, 1:]
        spread = x - x.mean()
        total = float((spread**2).sum())
        # one end alone says little of the direction
        slope = float((spread[:, None] * both).sum() / (2 * total)) if np.ptp(x) > 24 else 0.0
        low, high = (float(np.median(both[:, i] - slope * x)) for i in (0, 1))
        off = np.abs(rows[:, 1:] - np.array([low, high]) - slope * rows[:, :1]).max(1)
        inner = off < 2.0
        if inner.sum() < 2 or (inner == kept).all():
            break
        kept = inner
    return low, high, slope


def _faces(offsets: Floats, profile: Floats, centre: float) -> tuple[float, float] | None:
    """Return where a profile across a wall rises through one half and falls again, round a centre."""
    is_wall = profile > 0.5
    if not is_wall.any():
        return None
    at = int(np.argmin(np.where(is_wall, np.abs(offsets - centre), np.inf)))
    if abs(offsets[at] - centre) > _ASIDE:
        return None
    before, after = np.flatnonzero(~is_wall[:at]), np.flatnonzero(~is_wall[at:])
    if not len(before) or not len(after):
        return None
    low, high = int(before[-1]) + 1, at + int(after[0]) - 1
    rise = (0.5 - profile[low - 1]) / (profile[low] - profile[low - 1])
    fall = (profile[high] - 0.5) / (profile[high] - profile[high + 1])
    step = offsets[1] - offsets[0]
    return float(offsets[low - 1] + rise * step), float(offsets[high] + fall * step)
