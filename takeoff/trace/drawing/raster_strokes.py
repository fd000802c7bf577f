"""Straight pen strokes of a picture: found by their edges, put on the middle of their ink, followed to their ends.

Everything is in pixels from the middle of the first pixel, y down; a line is a row x0, y0, x1, y1.
"""

from __future__ import annotations

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.geometry.pairs import linked_groups
from takeoff.trace.drawing.linework import Floats, Ints
from takeoff.trace.drawing.polygons import spans, square_to

Grey = NDArray[np.float32]

_ACROSS = np.arange(-5.0, 5.01, 0.5)
_RISE = 0.1
_SHORT = 6.0
"""Pixels; what is shorter is no stroke."""
_HOLE = 3.0
"""Pixels; a break in the ink of one stroke up to this long is closed."""
_REACH = 40.0
"""Pixels; how far beyond its edges a stroke is followed."""
_JOINED = 7.0
"""Pixels between edges that may be of one line."""
_TILE = 2048
_SEAM = 48


def find_strokes(thin: Grey) -> Floats:
    """Find the straight strokes of thin ink.

    Parameters
    ----------
    thin
        Darkness of thin ink.

    Returns
    -------
    array
        One row x0, y0, x1, y1 per stroke.
    """
    edges = find_edges(thin)
    if not len(edges):
        return np.zeros((0, 4))
    centred = _centred(thin, edges)
    groups = linked_groups(len(centred), *pairs_in_line(centred, _JOINED, 1.4))
    placed, weight = fitted(thin, joined_lines(centred, groups))
    return fitted(thin, _followed(thin, placed, weight))[0]


def find_edges(thin: Grey) -> Floats:
    """Find the straight edges of ink, a row x0, y0, x1, y1 each, tile by tile so that memory stays small."""
    detector = cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD, 0.8)
    found: list[Floats] = []
    height, width = thin.shape
    for top in range(0, height, _TILE):
        for left in range(0, width, _TILE):
            y0, x0 = max(0, top - _SEAM), max(0, left - _SEAM)
            tile = (255.0 - 255.0 * thin[y0 : top + _TILE + _SEAM, x0 : left + _TILE + _SEAM]).astype(np.uint8)
            inked = cv2.boundingRect(255 - tile)
            if inked[2] < 2 or inked[3] < 2:
                continue
            lines = detector.detect(tile)[0]
            if lines is not None:
                found.append(lines.reshape(-1, 4).astype(np.float64) + np.array([x0, y0, x0, y0]))
    lines = np.concatenate(found) if found else np.zeros((0, 4))
    return lines[spans(lines)[1] >= _SHORT]


def _profiles(image: Grey, lines: Floats, count: int, inset: float) -> tuple[Floats, Floats]:
    """Sample darkness square to each line.

    Returns the samples (line, place along, offset) and the shares along at which they were taken.
    """
    u, length = spans(lines)
    margin = np.minimum(inset / np.maximum(length, 1e-9), 0.3)
    share = margin[:, None] + (1 - 2 * margin[:, None]) * np.linspace(0, 1, count)[None, :]
    at = lines[:, None, :2] + share[:, :, None] * (lines[:, 2:] - lines[:, :2])[:, None, :]
    points = at[:, :, None, :] + _ACROSS[None, None, :, None] * square_to(u)[:, None, None, :]
    return sampled(image, points), share


def sampled(image: Grey, points: Floats) -> Floats:
    """Return the image at points (…, 2), interpolated; blank outside."""
    flat = points.reshape(-1, 2).astype(np.float32)
    rows = max(1, -(-len(flat) // 4096))
    padded = np.full((rows * 4096, 2), -10.0, np.float32)
    padded[: len(flat)] = flat
    maps = padded.reshape(rows, 4096, 2)
    parts = [
        cv2.remap(image, maps[i : i + 512], None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=0)
        for i in range(0, rows, 512)
    ]
    values = np.concatenate(parts).ravel()[: len(flat)]
    return np.asarray(values.reshape(points.shape[:-1]), dtype=np.float64)


def _ridge(profile: Floats) -> tuple[Floats, Floats]:
    """Return for profiles (…, offset) the middle of the ink nearest to 0, and the darkness summed across it.

    A second stroke close by is left out: the ink ends where it is blank or grows darker again.
    """
    flat = profile.reshape(-1, profile.shape[-1])
    near = np.abs(_ACROSS) <= 3.0
    top = np.argmax(np.where(near, flat - 0.03 * np.abs(_ACROSS), -1.0), axis=-1)
    rows = np.arange(len(flat))
    peak = flat[rows, top]
    inside = np.zeros(flat.shape, bool)
    inside[rows, top] = True
    for way in (-1, 1):
        low, going = peak.copy(), np.ones(len(flat), bool)
        for step in range(1, len(_ACROSS)):
            at = np.clip(top + way * step, 0, len(_ACROSS) - 1)
            value = flat[rows, at]
            going &= (value > 0.1 * peak) & (value < low + _RISE) & (at == top + way * step)
            if not going.any():
                break
            low = np.minimum(low, value)
            inside[rows[going], at[going]] = True
    weight = flat * inside
    total = weight.sum(-1)
    middle = (weight * _ACROSS).sum(-1) / np.maximum(total, 1e-9)
    return middle.reshape(profile.shape[:-1]), (0.5 * total).reshape(profile.shape[:-1])


def _centred(thin: Grey, lines: Floats) -> Floats:
    """Move edges onto the middle of their ink; drop those that are on no stroke."""
    out: list[Floats] = []
    weights: list[Floats] = []
    for part in np.array_split(lines, max(1, len(lines) // 4000)):
        samples, _ = _profiles(thin, part, 12, 2.0)
        middle, weight = _ridge(np.median(samples, axis=1))
        out.append(part + np.tile(square_to(spans(part)[0]) * middle[:, None], 2))
        weights.append(weight)
    kept: Floats = np.concatenate(out)[np.concatenate(weights) > 0.3]
    return kept


def pairs_in_line(lines: Floats, reach: float, aside: float) -> tuple[Ints, Ints]:
    """Return the pairs of lines, the longer first, that go on in, or lie on, one another within ``reach``."""
    shapes = shapely.linestrings(lines.reshape(-1, 2, 2))
    a, b = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=reach)
    u, length = spans(lines)
    pick = (length[a] > length[b]) | ((length[a] == length[b]) & (a < b))
    a, b = a[pick], b[pick]
    n = square_to(u[a])
    off = np.max([np.abs(((lines[b, k : k + 2] - lines[a, :2]) * n).sum(1)) for k in (0, 2)], axis=0)
    fits = (np.abs((u[b] * n).sum(1)) < np.minimum(0.02 + 1.2 / np.maximum(length[b], 1e-9), 0.12)) & (off < aside)
    return a[fits], b[fits]


def joined_lines(lines: Floats, group: Ints) -> Floats:
    """Put one line through each group."""
    weight = spans(lines)[1]
    count = int(group.max()) + 1
    total = np.bincount(group, weight, count)
    middles = (lines[:, :2] + lines[:, 2:]) / 2
    centre = np.column_stack([np.bincount(group, weight * middles[:, k], count) / total for k in (0, 1)])
    ends = np.concatenate([lines[:, :2], lines[:, 2:]])
    owner, mass = np.concatenate([group, group]), np.concatenate([weight, weight])
    r = ends - centre[owner]
    xx, yy, xy = (np.bincount(owner, mass * r[:, i] * r[:, j], count) for i, j in ((0, 0), (1, 1), (0, 1)))
    angle = 0.5 * np.arctan2(2 * xy, xx - yy)
    u = np.column_stack([np.cos(angle), np.sin(angle)])
    along = (r * u[owner]).sum(1)
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low, owner, along)
    np.maximum.at(high, owner, along)
    return np.concatenate([centre + u * low[:, None], centre + u * high[:, None]], axis=1)


def fitted(thin: Grey, lines: Floats) -> tuple[Floats, Floats]:
    """Put lines on the middle of their ink by robust least squares over places along them; weigh their pens."""
    out = lines.copy()
    weights = np.zeros(len(lines))
    u, length = spans(lines)
    n = square_to(u)
    for low, high, count in ((0, 40, 12), (40, 200, 32), (200, 1e9, 96)):
        rows = np.flatnonzero((length >= low) & (length < high))
        for part in np.array_split(rows, max(1, len(rows) * count // 40000)):
            if not len(part):
                continue
            samples, share = _profiles(thin, lines[part], count, 3.0)
            middle, weight = _ridge(samples)
            has_ink = samples.max(-1) > 0.15
            x = share - 0.5
            good = has_ink.astype(np.float64)
            for _ in range(4):
                s0, s1, s2 = good.sum(1), (good * x).sum(1), (good * x * x).sum(1)
                t0, t1 = (good * middle).sum(1), (good * x * middle).sum(1)
                det = s0 * s2 - s1 * s1
                safe = det > 1e-6
                slope = np.where(safe, (s0 * t1 - s1 * t0) / np.where(safe, det, 1.0), 0.0)
                level = np.where(s0 > 0, (t0 - slope * s1) / np.maximum(s0, 1e-9), 0.0)
                residual = np.abs(middle - level[:, None] - slope[:, None] * x)
                scale = np.maximum(1.5 * np.median(residual, axis=1), 0.12)[:, None]
                good = has_ink * np.minimum(1.0, (scale / np.maximum(residual, 1e-9)) ** 2)
            out[part, :2] += n[part] * (level - slope / 2)[:, None]
            out[part, 2:] += n[part] * (level + slope / 2)[:, None]
            masked = np.where(has_ink, weight, np.nan)
            weights[part] = np.where(
                has_ink.any(1),
                np.nanpercentile(np.where(has_ink.any(1)[:, None], masked, 0), 30 if high <= 40 else 50, axis=1),
                0,
            )
    return out, weights


def _followed(thin: Grey, lines: Floats, weight: Floats) -> Floats:
    """Follow the ink along each line to its ends; a line over a gap in the ink becomes two."""
    found: list[Floats] = []
    u, length = spans(lines)
    n = square_to(u)
    for row in np.flatnonzero((weight > 0.3) & (length > _SHORT)):
        a, along = lines[row, :2], u[row]
        t = np.arange(-_REACH, length[row] + _REACH, 0.5)
        at = a + t[:, None] * along
        across = np.stack([at - n[row], at, at + n[row]], axis=1)
        ink = sampled(thin, across).max(1)
        inside = (t > 0) & (t < length[row])
        level = 0.45 * float(np.median(ink[inside]))
        on = ink > max(level, 0.12)
        change = np.flatnonzero(np.diff(np.concatenate([[False], on, [False]]).astype(np.int8)))
        starts, stops = change[::2], change[1::2]
        if not len(starts):
            continue
        gap = starts[1:] - stops[:-1] > 2 * _HOLE
        first = np.concatenate([[True], gap])
        starts, stops = starts[first], stops[np.concatenate([gap, [True]])]
        for i, j in zip(starts.tolist(), stops.tolist(), strict=True):
            low, high = t[i], t[j - 1]
            if high - low >= _SHORT and min(high, length[row]) - max(low, 0.0) > min(_SHORT, 0.5 * (high - low)):
                found.append(np.concatenate([a + along * low, a + along * high]))
    return np.array(found).reshape(-1, 4)
