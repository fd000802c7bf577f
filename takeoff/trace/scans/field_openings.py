"""Openings in a field of chances: where what is solid is a door or a window rather than wall, from jamb to jamb.

An opening lies in a wall: its two sides go on in line with the wall's faces beyond its jambs, and are taken from there.
Coordinates are pixels of the field, pixel edges counted from 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point, Polygon

from takeoff.trace.drawing.linework import Floats
from takeoff.trace.lines.gaps import MOST
from takeoff.trace.scans.field_bands import Band, axis_of, band_of, sampled
from takeoff.trace.scans.field_outlines import Ring
from takeoff.trace.scans.wall_network import LOW, M_PER_PX, OPEN, PASSAGE, SWING, WALL, WINDOW, Chances, WallField

_LEAST = 0.3 / M_PER_PX
"""Pixels; the narrowest opening."""
_MOST = MOST / M_PER_PX
_STEP = 0.5
_APART = 0.35 / M_PER_PX
"""Pixels; the least width of each of two openings that stand side by side without a jamb between them."""
_NEAR = 0.4 / M_PER_PX
"""Pixels; beyond its end an opening goes on to the next wall that is so near: between them is a jamb, or nothing."""
_PIER = 0.08 / M_PER_PX
"""Pixels; the least wall between two openings: leaves that lie over one another are as dark as a wall, but thinner."""
_FILLED = 0.15
"""Darkness by which a filled wall differs from a gap in it."""
_CAP = 0.15
"""Darkness by which a line across a wall's end stands out."""
_GLASS = 0.02
"""Darkness, along an opening, that a line within a wall stands out by; a face's stands out by several times that."""
_FACE = 4.0
"""Pixels; how far the ink of a face reaches into a wall."""
_ASTRAY = 6.0
"""Pixels; how far the network may be from a jamb: it was shown frames that are filled like walls."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldOpening:
    """An opening: its two sides from jamb to jamb, as rows x, y; its class; the chance of that class over its band.

    A loose one has no wall at one of its ends.
    """

    left: Floats
    right: Floats
    row: int
    chance: float
    is_loose: bool = False

    @property
    def width(self) -> float:
        """Pixels between the jambs."""
        return float(np.hypot(*(self.left[1] - self.left[0])))


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
        points = np.column_stack([xs + x + 0.5, ys + y + 0.5]).astype(np.float64)
        found.extend(_openings(field, points, middles[k] + 0.5))
    return _apart(found)


def closed_field(
    chances: Chances, openings: Sequence[FieldOpening], breaks: Sequence[Floats] = ()
) -> NDArray[np.float32]:
    """Return the chance of solid over a field: that of wall, and the bands of openings straight across their gaps.

    ``breaks`` are rings of corners that are filled too.
    """
    bands = np.zeros(chances.shape[1:], np.uint8)
    for opening in openings:
        along = opening.left[1] - opening.left[0]
        more = 3.0 * along / max(float(np.hypot(*along)), 1e-9)
        corners = [opening.left[0] - more, opening.left[1] + more, opening.right[1] + more, opening.right[0] - more]
        # the middle of the first pixel is at 0 for the painter
        cv2.fillConvexPoly(bands, np.round((np.array(corners) - 0.5) * 16).astype(np.int32), 255, cv2.LINE_AA, 4)
    for ring in breaks:
        cv2.fillConvexPoly(bands, np.round((ring - 0.5) * 16).astype(np.int32), 255, cv2.LINE_AA, 4)
    solid = bands / np.float32(255)
    return np.asarray(np.maximum(chances[WALL], solid, out=solid), np.float32)


def _openings(field: WallField, points: Floats, middle: Floats) -> list[FieldOpening]:
    """Make the openings of one patch of pixels."""
    chances = field.chances
    axis = axis_of(chances, points, middle)
    along = (points - middle) @ axis
    band = band_of(chances, points, middle, axis, float(along.min()), float(along.max()))
    if band is None:
        return []
    reach = _NEAR + 4
    stations = np.arange(float(along.min()) - reach, float(along.max()) + reach, _STEP)
    across = band.low + (band.high - band.low) * np.linspace(0.25, 0.75, 5)
    at = band.at(np.repeat(stations, len(across)), np.tile(across, len(stations))).reshape(
        len(stations), len(across), 2
    )
    seen = np.stack([sampled(row, at).mean(1) for row in chances])
    open_ = seen[OPEN[0] :].sum(0)
    share = np.where(open_ + seen[WALL] < 0.2, 0.0, open_ / np.maximum(open_ + seen[WALL], 1e-6))
    inner = np.flatnonzero((share > 0.5) & (stations > along.min() - 4) & (stations < along.max() + 4))
    if not len(inner):
        return []
    first, last = _longest(inner, seen[WALL] > 0.5)
    start, is_held = _jamb(stations, share, seen[WALL], first, -1)
    stop, is_held_too = _jamb(stations, share, seen[WALL], last, 1)
    if not _LEAST < stop - start < _MOST or not (is_held or is_held_too):
        return []
    if _is_recess(chances, band, start, stop):
        return []
    dark = sampled(field.darkness, at).mean(1)
    faces = _along_faces(field, band, stations)
    start, stop = _on_ink(stations, dark, faces, start, -1), _on_ink(stations, dark, faces, stop, 1)
    made = []
    for a, b, row in _parts(stations, seen, start, stop):
        inside = (stations > a) & (stations < b)
        chance = float(seen[row][inside].mean()) if inside.any() else 0.0
        if row == WINDOW and not _has_glass(field, band, a, b):
            row, chance = PASSAGE, 0.8 * chance
        left, right = (band.at(np.array([a, b]), offset) for offset in (band.low, band.high))
        # an end that no wall holds is no jamb
        is_loose = not (is_held and is_held_too)
        chance = 0.5 * chance if is_loose else chance
        made.append(FieldOpening(left=left, right=right, row=row, chance=chance, is_loose=is_loose))
    return made


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


def _has_glass(field: WallField, band: Band, start: float, stop: float) -> bool:
    """Tell whether a line runs along inside a band, or next to nothing is drawn at its faces either: glass does."""
    thickness = band.high - band.low
    stations = np.linspace(start, stop, 42)[1:-1]
    offsets = np.linspace(-0.1 * thickness, 1.1 * thickness, 49)
    at = band.at(np.repeat(stations, len(offsets)), np.tile(band.low + offsets, len(stations)))
    dark = sampled(field.darkness, at).reshape(len(stations), len(offsets)).mean(0)
    dark = dark - float(np.median(dark))
    inside = np.abs(offsets - 0.5 * thickness) <= max(0.05 * thickness, 0.5 * thickness - _FACE)
    return float(dark[inside].max()) > _GLASS or float(dark.max()) < 3 * _GLASS


def _is_recess(chances: Chances, band: Band, start: float, stop: float) -> bool:
    """Tell whether a wall lies behind one side of a band: then it is a niche, and leads nowhere."""
    stations = np.linspace(start, stop, 9)[1:-1]
    behind = [sampled(chances[WALL], band.at(stations, face)).mean() for face in (band.low - 4.0, band.high + 4.0)]
    return float(max(behind)) > 0.6


def _longest(rows: NDArray[np.int64], is_wall: NDArray[np.bool_]) -> tuple[int, int]:
    """Return the first and last of the longest stretch of rows between which there is no pier."""
    walls = np.cumsum(is_wall)
    cuts = np.flatnonzero((walls[rows[1:]] - walls[rows[:-1]]) > _PIER / _STEP)
    starts, stops = np.concatenate([[0], cuts + 1]), np.concatenate([cuts, [len(rows) - 1]])
    best = int(np.argmax(rows[stops] - rows[starts]))
    return int(rows[starts[best]]), int(rows[stops[best]])


def _jamb(stations: Floats, share: Floats, wall: Floats, row: int, step: int) -> tuple[float, bool]:
    """Return where the wall begins beyond a row, and whether it does at all."""
    after = row + step
    if not 0 <= after < len(share):
        return float(stations[row]), False
    if wall[after] < 0.35:  # there is neither opening nor wall: the next wall near by is the jamb
        ahead = np.arange(after, -1 if step < 0 else len(share), step)
        ahead = ahead[: int(_NEAR / _STEP)]
        held = np.flatnonzero(wall[ahead] > 0.5)
        if not len(held):
            return float(stations[row]), False
        hit = int(ahead[held[0]])
        before = hit - step
        a, b = float(wall[before]), float(wall[hit])
        return float(stations[before]) + step * _STEP * (0.5 - a) / max(b - a, 1e-6), True
    a, b = float(share[row]), float(share[after])
    return float(stations[row]) + step * _STEP * (a - 0.5) / max(a - b, 1e-6), True


def _along_faces(field: WallField, band: Band, stations: Floats) -> Floats:
    """Return the darkness along the two faces of a band: the darkest within a pixel and a half of each."""
    offsets = [face + k for face in (band.low, band.high) for k in (-1.5, -0.75, 0.0, 0.75, 1.5)]
    at = band.at(np.repeat(stations, len(offsets)), np.tile(offsets, len(stations)))
    return np.asarray(sampled(field.darkness, at).reshape(len(stations), 2, 5).max(2).mean(1))


def _on_ink(stations: Floats, dark: Floats, faces: Floats, jamb: float, step: int) -> float:
    """Move a jamb to where the ink has it.

    That is the edge of a wall's filling, or of the pen round it; and where a wall has no filling and nothing is drawn
    across its end, the place where the lines of its faces end. ``dark`` is the darkness inside the band, ``faces`` that
    along its two faces.
    """
    beyond = step * (stations - jamb)
    order = np.argsort(beyond)
    order = order[np.abs(beyond[order]) <= 2 * _ASTRAY]
    at, inner, outer = beyond[order], dark[order], faces[order]
    wall, gap = (at > 5) & (at < 10), (at < -5) & (at > -10)
    if not wall.any() or not gap.any():
        return jamb
    filled, bare = float(np.median(inner[wall])), float(np.median(inner[gap]))
    if float(inner[wall].min()) - bare > _FILLED:
        edge = _last_fall(at, inner, (filled + bare) / 2)
        if edge is None:
            return jamb
        pen = (at > edge - 1) & (at < edge + 4)
        more = np.maximum(inner[pen] - filled - 0.04, 0.0)
        if more.sum() > 0.1:  # a pen goes round the filling: its middle is the jamb
            edge = float((at[pen] * more).sum() / more.sum())
        return jamb + step * edge if abs(edge) < _ASTRAY else jamb
    cap = float(inner[np.abs(at) <= 5].max()) - max(filled, bare)
    drawn, missing = float(np.median(outer[wall])), float(np.median(outer[gap]))
    if cap < _CAP and drawn - missing > _FILLED:
        edge = _last_fall(at, outer, (drawn + missing) / 2)
        if edge is not None and abs(edge) < 1.7 * _ASTRAY:
            return jamb + step * edge
    return jamb


def _last_fall(at: Floats, values: Floats, level: float) -> float | None:
    """Return where values fall through a level, coming from the wall."""
    below = np.flatnonzero((values < level) & (at < 6))
    if not len(below) or below[-1] + 1 >= len(at):
        return None
    k = int(below[-1])
    a, b = float(values[k]), float(values[k + 1])
    return float(at[k]) + _STEP * (level - a) / max(b - a, 1e-6)


def _parts(stations: Floats, seen: Floats, start: float, stop: float) -> list[tuple[float, float, int]]:
    """Cut what is open into openings of one class each."""
    inside = np.flatnonzero((stations > start) & (stations < stop))
    rows = np.array(OPEN)
    # a window beside a door is told from it; a door's own class is a matter of its whole width
    is_window = seen[WINDOW][inside] + seen[LOW][inside] > seen[SWING][inside] + seen[PASSAGE][inside]
    edges = [0, *(np.flatnonzero(np.diff(is_window)) + 1).tolist(), len(inside)]
    while len(edges) > 2:
        short = int(np.argmin(np.diff(edges)))
        if (edges[short + 1] - edges[short]) * _STEP >= _APART:
            break
        del edges[short or 1]  # it goes to the part before it, the first to the one after it
    made = []
    for a, b in pairwise(edges):
        low = start if a == 0 else float(stations[inside[a]])
        high = stop if b == len(inside) else float(stations[inside[b]])
        sums = seen[rows][:, inside[a:b]].sum(1)
        made.append((low, high, int(rows[int(np.argmax(sums))])))
    return made


def _apart(found: Sequence[FieldOpening]) -> list[FieldOpening]:
    """Of openings that cover one another keep the surest: patches that are broken in two give one each."""
    kept: list[FieldOpening] = []
    for opening in sorted(found, key=lambda o: -o.chance * o.width):
        middle = (opening.left + opening.right).sum(0) / 4
        if all(outside_by(middle, k) > 0.4 * min(k.width, opening.width) for k in kept if _is_along(opening, k)):
            kept.append(opening)
    return kept


def _is_along(one: FieldOpening, other: FieldOpening) -> bool:
    a, b = one.left[1] - one.left[0], other.left[1] - other.left[0]
    return abs(float(a @ b)) > 0.95 * float(np.hypot(*a) * np.hypot(*b))


def outside_by(point: Floats, opening: FieldOpening) -> float:
    """Return how far a point lies from an opening's band, roughly: 0 inside it."""
    corners = np.array([opening.left[0], opening.left[1], opening.right[1], opening.right[0]], np.float32)
    return max(0.0, -cv2.pointPolygonTest(corners.reshape(-1, 1, 2), (float(point[0]), float(point[1])), True))
