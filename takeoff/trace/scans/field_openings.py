"""Openings in a field of chances: where what is solid is a door or a window rather than wall, from jamb to jamb.

An opening lies in a wall: its two sides go on in line with the wall's faces beyond its jambs, and are taken from there.
Coordinates are pixels of the field, pixel edges counted from 0.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point, Polygon

from takeoff.trace.drawing.linework import Floats
from takeoff.trace.lines.gaps import MOST
from takeoff.trace.scans.field_outlines import Ring
from takeoff.trace.scans.wall_network import (
    LOW,
    M_PER_PX,
    OPEN,
    PASSAGE,
    SWING,
    WALL,
    WINDOW,
    Chances,
    WallField,
    sampled,
)

_LEAST = 0.3 / M_PER_PX
"""Pixels; the narrowest opening."""
_MOST = MOST / M_PER_PX
_THIN, _THICK = 3.0, 1.1 / M_PER_PX
"""Pixels; the thinnest and the thickest wall."""
_APART = 0.35 / M_PER_PX
"""Pixels; the least width of each of two openings that stand side by side without a jamb between them."""
_NEAR = 0.4 / M_PER_PX
"""Pixels; beyond its end an opening goes on to the next wall that is so near: between them is a jamb, or nothing."""
_PIER = 0.08 / M_PER_PX
"""Pixels; the least wall between two openings: leaves that lie over one another are as dark as a wall, but thinner."""
_BEYOND = np.arange(3.0, 36.0, 3.0)
"""Pixels beyond a jamb where the wall's faces are looked for."""
_ASIDE = 5.0
"""Pixels; how far aside of where a patch points to its wall may go on: a patch's own direction is rough."""
_DEEPER, _FAR = 1.5, 24.0
"""Share by which a wall may be thicker than what is open in it, of that (glass parts a window in two halves), and the
pixels aside of that in which its faces are looked for."""
_SAME = 0.5
"""Share of the smaller of two openings that lies on or beside the other from which both are one (judgement)."""
_GLASS = 0.02
"""Darkness, along an opening, that a line within a wall stands out by; a face's stands out by several times that."""
_SHUT = 4
"""Ways through with a line along them from which a sheet draws its doors shut, where no more of its doors swing."""
_FACE = 4.0
"""Pixels; how far the ink of a face reaches into a wall."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldOpening:
    """An opening: its two sides from jamb to jamb, as rows x, y; its class; the chance of that class over its band.

    A loose one has no wall at one of its ends; a barred one is a way through that a line runs along within.
    """

    left: Floats
    right: Floats
    row: int
    chance: float
    is_loose: bool = False
    is_barred: bool = False

    @property
    def width(self) -> float:
        """Pixels between the jambs."""
        return float(np.hypot(*(self.left[1] - self.left[0])))

    @property
    def band(self) -> Polygon:
        """Its area in the wall."""
        return Polygon([*self.left, *self.right[::-1]]).buffer(0)


def field_openings(field: WallField) -> list[FieldOpening]:
    """Find the openings in what the network says of a sheet."""
    chances = field.chances
    mask = (chances[0] < 0.6).astype(np.uint8)
    drawn = np.nonzero(mask)
    mask[drawn] = sum(chances[row][drawn] for row in OPEN) > chances[WALL][drawn]
    count, labels, stats, middles = cv2.connectedComponentsWithStats(mask, connectivity=4)
    found: list[FieldOpening] = []
    for k in range(1, count):
        x, y, w, h, area = stats[k]
        if max(w, h) < 0.5 * _LEAST or area < 1.5 * _LEAST:
            continue
        ys, xs = np.nonzero(labels[y : y + h, x : x + w] == k)
        found.extend(_openings(field, np.column_stack([xs + x, ys + y]), middles[k] + 0.5))
    return _without_panes(_joined(found))


def closed_field(chances: Chances, openings: Sequence[FieldOpening]) -> NDArray[np.float32]:
    """Return the chance of solid over a field: that of wall, and the bands of openings straight across their gaps."""
    bands = np.zeros(chances.shape[1:], np.uint8)
    for opening in openings:
        along = opening.left[1] - opening.left[0]
        more = 3.0 * along / max(float(np.hypot(*along)), 1e-9)
        corners = [opening.left[0] - more, opening.left[1] + more, opening.right[1] + more, opening.right[0] - more]
        # the middle of the first pixel is at 0 for the painter
        cv2.fillConvexPoly(bands, np.round((np.array(corners) - 0.5) * 16).astype(np.int32), 255, cv2.LINE_AA, 4)
    solid = bands / np.float32(255)
    return np.asarray(np.maximum(chances[WALL], solid, out=solid), np.float32)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Band:
    """The strip that a patch lies in: its middle, its direction, and how far it reaches aside."""

    middle: Floats
    along: Floats
    low: float
    high: float

    @property
    def inner(self) -> Floats:
        """Three offsets between its sides."""
        return self.low + (self.high - self.low) * np.array([0.25, 0.5, 0.75])

    def at(self, station: float | Floats, offset: float | Floats) -> Floats:
        """Return points by how far along and how far aside they are."""
        normal = np.array([-self.along[1], self.along[0]])
        stations, offsets = np.asarray(station)[..., None], np.asarray(offset)[..., None]
        return np.asarray(self.middle + stations * self.along + offsets * normal)


def _openings(field: WallField, pixels: NDArray[np.int64], middle: Floats) -> list[FieldOpening]:
    """Make the openings of one patch of pixels."""
    chances, points = field.chances, pixels.astype(np.float64) + 0.5
    band, along, aside = max((_laid(points, middle, turn) for turn in (0, 90)), key=lambda laid: _worth(chances, *laid))
    (start, stop), low, high = _reach(along), band.low, band.high
    if not _THIN < high - low < _THICK or _is_recess(chances, band, start, stop):
        return []
    ends = [_jamb(chances, band, end, step) for end, step in ((start, -1), (stop, 1))]
    start, stop = (station for station, _, _ in ends)
    held = [is_held for _, is_held, _ in ends]
    if not _LEAST < stop - start < _MOST or not any(held):
        return []
    # where the wall's own faces are not seen beyond one jamb, those beyond the other count
    own = [faces for _, _, faces in ends if faces is not None] or [np.array([low, high])]
    if np.abs(own[0] - own[-1]).max() > _ASIDE:  # a wall thickens at one of its ends: it goes straight on
        own = [min(own, key=np.ptp)]
    sides = [band.at(np.array([start, stop]), np.array([own[0][k], own[-1][k]])) for k in (0, 1)]
    wall = replace(band, low=min(faces[0] for faces in own), high=max(faces[1] for faces in own))
    is_core = np.abs(aside - (low + high) / 2) <= max((high - low) / 4, 0.75)
    along, seen = along[is_core], chances[:, pixels[is_core, 1], pixels[is_core, 0]].astype(np.float64)
    made = []
    for a, b in _parts(chances, band, along, seen, (start, stop)):
        inside = (along >= a) & (along <= b)
        if not inside.any():
            continue
        told = seen[list(OPEN)][:, inside].mean(1)
        row, chance = OPEN[int(np.argmax(told))], float(told.max())
        strips = (band, wall) if row == WINDOW else (band,)
        within, drawn = np.max([_lines_along(field, strip, a, b) for strip in strips], axis=0).tolist()
        is_barred = row == PASSAGE and within > _GLASS
        if row == WINDOW and within <= _GLASS and drawn >= 3 * _GLASS:  # next to nothing at its faces either is glass
            row, chance = PASSAGE, 0.8 * chance
        shares = (np.array([[a], [b]]) - start) / (stop - start)
        left, right = (side[0] + shares * (side[1] - side[0]) for side in sides)
        is_loose = not all(held)  # an end that no wall holds is no jamb
        chance = 0.5 * chance if is_loose else chance
        made.append(
            FieldOpening(left=left, right=right, row=row, chance=chance, is_loose=is_loose, is_barred=is_barred)
        )
    return made


def _laid(points: Floats, middle: Floats, turn: float) -> tuple[_Band, Floats, Floats]:
    """Return the strip along one side of the box round a patch, and how far its pixels are along and aside."""
    angle = math.radians(cv2.minAreaRect(points.astype(np.float32))[2] + turn)
    axis = np.array([math.cos(angle), math.sin(angle)])
    along, aside = (points - middle) @ axis, (points - middle) @ (-axis[1], axis[0])
    low, high = _reach(aside)
    return _Band(middle=middle, along=axis, low=low, high=high), along, aside


def _worth(chances: Chances, band: _Band, along: Floats, aside: Floats) -> float:
    """Return how much speaks for a strip: wall beyond both its ends, and that it is longer than wide."""
    steps = np.array([[2.0], [4.0], [6.0]])
    ends = ((float(along.min()), -1.0), (float(along.max()), 1.0))
    wall = [sampled(chances[WALL], band.at(end + k * steps, band.inner)).mean() for end, k in ends]
    return float(sum(wall)) + 0.4 * min(3.0, float(np.ptp(along)) / max(1.0, float(np.ptp(aside))))


def _reach(places: Floats) -> tuple[float, float]:
    """Return from where to where a box of pixels reaches: most of them tell, not the few that stand out."""
    spread = np.arange(len(places)) * 0.618 % 1.0 - 0.5  # over the width of a pixel
    low, high = np.percentile(places + spread, (10, 90)).tolist()
    return low - (high - low) / 8, high + (high - low) / 8


def _jamb(chances: Chances, band: _Band, end: float, step: int) -> tuple[float, bool, Floats | None]:
    """Return where the wall begins beyond an end of a band, whether it does at all, and its two faces there."""
    stations = end + step * np.arange(0.0, _NEAR, 0.5)
    wall = sampled(chances[WALL], band.at(stations[:, None], band.inner)).mean(1) > 0.5
    if not wall.any():
        return end, False, None
    first = float(np.argmax(wall)) / 2
    end = end + step * first if first > 3 else end
    offsets = np.arange(band.low - _FAR, band.high + _FAR + 0.01, 0.5)
    profiles = sampled(chances[WALL], band.at(end + step * _BEYOND[:, None], offsets))
    wide, centre = band.high - band.low, (band.low + band.high) / 2
    faces = [seen for profile in profiles if (seen := _faces(offsets, profile, centre)) is not None]
    own = [seen for seen in faces if abs(seen[1] - seen[0] - wide) < max(8.0, _DEEPER * wide)]
    return end, True, (np.median(own, axis=0) if len(own) > 1 else None)


def _parts(
    chances: Chances, band: _Band, along: Floats, seen: Floats, ends: tuple[float, float]
) -> list[tuple[float, float]]:
    """Cut what is open at piers, and where a window stands beside a door; a door has one class over its whole width."""
    is_glass = (seen[[WINDOW, LOW]].sum(0) > 0.5 * seen[list(OPEN)].sum(0)).astype(float)
    cuts = np.linspace(ends[0], ends[1], max(2, round((ends[1] - ends[0]) / 2)))
    count, glass = (np.histogram(along, cuts, weights=weights)[0] for weights in (None, is_glass))
    wall = sampled(chances[WALL], band.at((cuts[:-1, None] + cuts[1:, None]) / 2, band.inner)).mean(1)
    seen_as = np.where(count > 0, glass / np.maximum(count, 1), is_glass.mean())
    kind = np.where(wall > 0.5, 0, np.where(seen_as > 0.5, 2, 1))
    while True:
        edges = [0, *(np.flatnonzero(np.diff(kind)) + 1).tolist(), len(kind)]
        room = np.diff(cuts[edges]) / np.where(kind[edges[:-1]] == 0, _PIER, _APART)
        short = int(np.argmin(room))
        if room[short] >= 1.0 or len(room) == 1:
            return [(float(cuts[a]), float(cuts[b])) for a, b in pairwise(edges) if kind[a]]
        # it goes to the part before it, the first to the one after it
        kind[edges[short] : edges[short + 1]] = kind[edges[short] - 1 if short else edges[1]]


def leading_somewhere(openings: Sequence[FieldOpening], rings: Sequence[Ring]) -> list[FieldOpening]:
    """Leave out loose openings with one room on both sides: where a wall ends in a room, nothing is closed."""
    rooms = shapely.STRtree([Polygon(r.points).buffer(0) for r in rings if r.is_hole])
    kept = []
    for o in openings:
        middles = np.array([o.left.mean(0), o.right.mean(0)])
        aside = (middles[0] - middles[1]) / max(float(np.hypot(*(middles[0] - middles[1]))), 1e-9)
        here, there = (rooms.query(Point(p), predicate="within") for p in middles + 4.0 * np.array([aside, -aside]))
        if not (o.is_loose and set(here.tolist()) & set(there.tolist())):
            kept.append(o)
    return kept


def _lines_along(field: WallField, band: _Band, start: float, stop: float) -> tuple[float, float]:
    """Return how much darker than a band the darkest line along it is: of those inside it, and of its faces too."""
    thickness = band.high - band.low
    stations = np.linspace(start, stop, 42)[1:-1]
    offsets = np.linspace(-0.1 * thickness, 1.1 * thickness, 49)
    dark = sampled(field.darkness, band.at(stations[:, None], band.low + offsets)).mean(0)
    inside = np.abs(offsets - 0.5 * thickness) <= max(0.05 * thickness, 0.5 * thickness - _FACE)
    over = dark - float(np.median(dark))
    return float(over[inside].max()), float(over.max())


def _joined(found: Sequence[FieldOpening]) -> list[FieldOpening]:
    """Join openings side by side across a wall, as the clearest of them: a leaf's two faces may be two patches."""
    kept: list[FieldOpening] = []
    for o in sorted(found, key=lambda o: -o.chance):
        beside = o.band.buffer(_ASIDE)
        for k, other in enumerate(kept):
            if other.band.intersection(beside).area > _SAME * min(o.band.area, other.band.area):
                across = other.right.mean(0) - other.left.mean(0)
                across /= max(float(np.hypot(*across)), 1e-9)
                far = [(s.mean(0) - other.left.mean(0)) @ across for s in (other.left, other.right, o.left, o.right)]
                left, right = (other.left + end(far) * across for end in (min, max))
                kept[k] = replace(other, left=left, right=right, is_barred=other.row == PASSAGE)
                break
        else:
            kept.append(o)
    return kept


def _without_panes(found: Sequence[FieldOpening]) -> list[FieldOpening]:
    """Doubt ways through that a line runs along in, unless the sheet draws its doors shut: it may be glass."""
    barred = sum(o.is_barred for o in found)
    is_shut = barred >= max(_SHUT, sum(o.row == SWING for o in found))
    return [o if is_shut or not o.is_barred else replace(o, chance=0.9 * o.chance) for o in found]


def _is_recess(chances: Chances, band: _Band, start: float, stop: float) -> bool:
    """Tell whether a wall lies behind one side of a band: then it is a niche, and leads nowhere."""
    stations = np.linspace(start, stop, 9)[1:-1]
    behind = [sampled(chances[WALL], band.at(stations, face)).mean() for face in (band.low - 4.0, band.high + 4.0)]
    return float(max(behind)) > 0.6


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
