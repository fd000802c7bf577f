"""Straight sides and arcs of a chain of points: cut at its corners, fitted, turned into common directions, merged.

Coordinates are pixels of the field, pixel edges counted from 0.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from takeoff.trace.drawing.curves import fit_arcs, fit_circle
from takeoff.trace.drawing.linework import Floats, Ints

_ROUGH = 1.3
"""Pixels; how far the outline may lie from the first, rough sides."""
SHORT = 6.0
"""Pixels; the shortest side that is kept: a corner of the field is rounder than one of a wall."""
_TRIM = 3.0
"""Pixels left out at either end of a side when it is fitted, for the same reason."""
_STEP = 1.2
"""Pixels; sides of one direction that miss each other by less are one."""
PARALLEL = math.radians(12)
"""Sides that differ by less in direction do not make a corner."""
_SAME = math.radians(0.7)
"""A side that is off a common direction of the sheet by less takes it, unless it is long enough to know better."""
_LEAST_RADIUS = 8.0
"""Pixels; what is rounder or shorter than this is a rounded corner, no arc."""
_LONG, _LEANS, _ROUGH_TURN, _FEWEST = 120.0, math.radians(5), 0.003, 8
"""Pixels of a side from which it tells of its direction; how far sides that run alike may differ in a photograph, and
radians that each may be off; how many of them tell whether they do (judgement)."""
_LEAST_ARC, _MOST_TURN = 4, math.radians(40)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Side:
    """A side: a point on it, its direction, how far it reaches along that from the point, and an arc's own points."""

    foot: Floats
    along: Floats
    low: float
    high: float
    arc: Floats | None = None

    @property
    def length(self) -> float:
        """Pixels from end to end, along the chord of an arc."""
        return self.high - self.low

    @property
    def middle(self) -> Floats:
        """Half-way between its ends."""
        return self.foot + self.along * (self.low + self.high) / 2

    @property
    def start(self) -> Floats:
        """Where it begins, as the ring is walked."""
        return self.arc[0] if self.arc is not None else self.foot + self.along * self.low

    @property
    def stop(self) -> Floats:
        """Where it ends."""
        return self.arc[-1] if self.arc is not None else self.foot + self.along * self.high

    def nearest(self, point: Floats) -> Floats:
        """Return the place on its line that is nearest to a point."""
        return np.asarray(self.foot + self.along * float((point - self.foot) @ self.along))


def sides_of(chain: Floats) -> list[Side]:
    """Cut a chain into straight sides and arcs."""
    corners = _corners(chain)
    if len(corners) < 3:
        return []
    rows = [_between(len(chain), int(corners[i]), int(corners[(i + 1) % len(corners)])) for i in range(len(corners))]
    pieces = [chain[r] for r in rows]
    return [side for group in _arcs(pieces) for side in _sides_of_group(pieces, group) if side is not None]


def _sides_of_group(pieces: list[Floats], group: list[int]) -> list[Side | None]:
    """Return an arc, if need be without the first or the last piece, which may be straight sides; or lines."""
    count = len(group)
    for first, last in ((0, count), (1, count), (0, count - 1), (1, count - 1)):
        part = group[first:last]
        arc = _arc(np.concatenate([pieces[r] for r in part])) if len(part) >= _LEAST_ARC else None
        if arc is not None:
            return [*(_line(pieces[r]) for r in group[:first]), arc, *(_line(pieces[r]) for r in group[last:])]
    return [_line(pieces[r]) for r in group]


def _corners(chain: Floats) -> Ints:
    """Return the rows of the rough corners of a closed chain."""
    far = int(np.argmax(((chain - chain.mean(0)) ** 2).sum(1)))
    turned = np.roll(chain, -far, axis=0)
    fine = (turned * 64).astype(np.int32)
    row_of = {(x, y): row for row, (x, y) in reversed(list(enumerate(fine.tolist())))}
    rough = cv2.approxPolyDP(fine.reshape(-1, 1, 2), _ROUGH * 64, closed=True)[:, 0, :]
    rows = [row_of[x, y] for x, y in rough.tolist()]
    return np.unique((np.array(rows) + far) % len(chain))


def _between(count: int, first: int, last: int) -> Ints:
    """Return the rows of a closed chain from one to another, both included."""
    return np.arange(first, last + 1 if last > first else last + 1 + count) % count


def _line(points: Floats) -> Side | None:
    """Fit a line to the points of a side, its ends left out."""
    chord = points[-1] - points[0]
    length = float(np.hypot(*chord))
    if length < SHORT:
        return None
    u = chord / length
    along = (points - points[0]) @ u
    trim = min(_TRIM, 0.25 * length)
    kept = points[(along > trim) & (along < length - trim)]
    if len(kept) < 3:
        kept = points
    foot = kept.mean(0)
    for _ in range(4):
        vx, vy, x, y = cv2.fitLine(kept.astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.01).ravel().tolist()
        direction, foot = np.array([vx, vy]), np.array([x, y])
        off = np.abs((kept - foot) @ np.array([-vy, vx]))
        inner = off <= max(0.5, 2.5 * float(np.median(off)))
        if inner.all() or inner.sum() < 3:
            break
        kept = kept[inner]
    direction = direction if direction @ u > 0 else -direction
    return Side(
        foot=foot,
        along=direction,
        low=float((points[0] - foot) @ direction),
        high=float((points[-1] - foot) @ direction),
    )


def _arcs(pieces: list[Floats]) -> list[list[int]]:
    """Group the pieces: neighbours that turn a little to one side again and again may be an arc."""
    d = np.array([p[-1] - p[0] for p in pieces])
    length = np.hypot(d[:, 0], d[:, 1])
    after = np.roll(d, -1, axis=0)
    turn = np.arctan2(d[:, 0] * after[:, 1] - d[:, 1] * after[:, 0], (d * after).sum(1))
    ratio = np.minimum(length, np.roll(length, -1)) / np.maximum(length, np.roll(length, -1))
    bends = (np.abs(turn) > math.radians(3)) & (np.abs(turn) < _MOST_TURN) & (ratio > 0.3)
    count = len(pieces)
    if bends.all():
        return [list(range(count))]
    start = int(np.flatnonzero(~bends)[0]) + 1
    groups: list[list[int]] = [[start % count]]
    for k in range(start, start + count - 1):
        i = k % count
        last = groups[-1]
        goes_on = bends[i] and (len(last) == 1 or turn[i] * turn[last[-2]] > 0)
        if goes_on:
            last.append((i + 1) % count)
        else:
            groups.append([(i + 1) % count])
    return [part for g in groups for part in ([g] if len(g) >= _LEAST_ARC else [[r] for r in g])]


def _arc(points: Floats) -> Side | None:
    """Fit a circle to points, and give it as a chain of short chords; nothing where they lie on none."""
    fitted = fit_circle(points)
    if fitted is None or not fit_arcs(points, 1.6):
        return None
    centre, radius = fitted
    angle = np.unwrap(np.arctan2(points[:, 1] - centre[1], points[:, 0] - centre[0]))
    if radius < _LEAST_RADIUS or radius * abs(float(angle[-1] - angle[0])) < 4 * _LEAST_RADIUS:
        return None
    count = max(6, math.ceil(abs(float(angle[-1] - angle[0])) / math.radians(7)))
    turns = np.linspace(float(angle[0]), float(angle[-1]), count + 1)
    arc = centre + radius * np.column_stack([np.cos(turns), np.sin(turns)])
    chord = arc[-1] - arc[0]
    length = max(float(np.hypot(*chord)), 1e-9)
    return Side(foot=arc[0], along=chord / length, low=0.0, high=length, arc=arc)


def common_directions(sides: list[Side]) -> Floats:
    """Return the directions, in radians modulo half a turn, that most of the sides' length lies in."""
    straight = [s for s in sides if s.arc is None]
    if not straight:
        return np.zeros(0)
    angle = np.array([math.atan2(s.along[1], s.along[0]) % math.pi for s in straight])
    length = np.array([s.length for s in straight])
    common: list[float] = []
    left = np.ones(len(angle), bool)
    while left.any():
        # the longest side that is left begins a direction; those close to it say what it is
        seed = angle[left][np.argmax(length[left])]
        off = (angle - seed + math.pi / 2) % math.pi - math.pi / 2
        near = left & (np.abs(off) < _SAME)
        total = float(length[near].sum())
        if total < 0.02 * float(length.sum()) or total < 120:
            left &= ~near
            continue
        common.append(float(seed + (off[near] * length[near] ** 2).sum() / (length[near] ** 2).sum()) % math.pi)
        left &= ~near
    return np.array(common)


def convergence(sides: Sequence[Side]) -> float:
    """Return by what share lengths differ from one end of a sheet to the other, as in a photograph taken at an angle.

    Sides that run alike meet far away there: their direction changes steadily across the sheet. Zero where too few are
    long enough to tell.
    """
    straight = [s for s in sides if s.arc is None and s.length > _LONG]
    angle = np.array([math.atan2(s.along[1], s.along[0]) for s in straight])
    weight = np.array([s.length for s in straight])
    middle = np.array([s.middle for s in straight]).reshape(-1, 2)
    most = 0.0
    for turn in (0.0, math.pi / 2) if straight else ():
        main = float(angle[np.argmax(weight)]) + turn
        off = (angle - main + math.pi / 2) % math.pi - math.pi / 2
        across, along = middle @ (-math.sin(main), math.cos(main)), middle @ (math.cos(main), math.sin(main))
        kept = np.abs(off) < _LEANS
        for _ in range(3):
            if kept.sum() < _FEWEST or np.ptp(across[kept]) < _LONG:
                break
            slope, level = np.polyfit(across[kept], off[kept], 1, w=weight[kept])
            miss = np.abs(off - level - slope * across)
            spread = np.abs(off - np.average(off[kept], weights=weight[kept]))
            is_told = np.median(miss[kept]) < 0.5 * np.median(spread[kept])
            ends = np.concatenate([(along + k * weight / 2)[kept] for k in (-1, 1)])
            share = abs(float(slope)) * float(np.ptp(ends)) if is_told else 0.0
            kept = (np.abs(off) < _LEANS) & (miss <= max(_ROUGH_TURN, 2.5 * float(np.median(miss[kept]))))
        else:
            most = max(most, share)
    return most


def turned_into(side: Side, common: Floats) -> Side:
    """Turn a side about its middle into a common direction that is close to its own."""
    if side.arc is not None or not len(common):
        return side
    angle = math.atan2(side.along[1], side.along[0])
    off = (common - angle + math.pi / 2) % math.pi - math.pi / 2
    best = off[int(np.argmin(np.abs(off)))]
    # a short side knows its direction badly
    if abs(best) > min(_SAME + 1.2 / max(side.length, 1.0), math.radians(5)):
        return side
    c, s = math.cos(best), math.sin(best)
    along = np.array([c * side.along[0] - s * side.along[1], s * side.along[0] + c * side.along[1]])
    half = side.length / 2
    return replace(side, foot=side.middle, along=along, low=-half, high=half)


def merged_sides(sides: list[Side]) -> list[Side]:
    """Make one of neighbours that lie in one line."""
    kept = list(sides)
    while len(kept) > 3:
        pairs = ((i, (i + 1) % len(kept)) for i in range(len(kept)))
        met = next(((i, k) for i, k in pairs if _is_one_line(kept[i], kept[k])), None)
        if met is None:
            break
        kept[met[0]] = _as_one(kept[met[0]], kept[met[1]])
        del kept[met[1]]
    return kept


def _is_one_line(a: Side, b: Side) -> bool:
    if a.arc is not None or b.arc is not None:
        return False
    short, long = (a, b) if a.length < b.length else (b, a)
    slack = min(PARALLEL, _SAME + 1.5 / max(short.length, 1.0))
    if float(a.along @ b.along) < math.cos(slack):
        return False
    return abs(float((short.middle - long.foot) @ np.array([-long.along[1], long.along[0]]))) < _STEP


def _as_one(a: Side, b: Side) -> Side:
    """Return the side along both, weighed by their lengths."""
    long = a if a.length >= b.length else b
    weights = [max(side.length, 1e-9) for side in (a, b)]
    share = [weight / sum(weights) for weight in weights]
    along = a.along * share[0] + b.along * share[1] if long.length < 4 * min(a.length, b.length) else long.along
    along = along / np.hypot(*along)
    normal = np.array([-along[1], along[0]])
    offset = share[0] * float(a.middle @ normal) + share[1] * float(b.middle @ normal)
    start, stop = float(a.start @ along), float(b.stop @ along)
    foot = along * (start + stop) / 2 + normal * offset
    half = (stop - start) / 2
    return Side(foot=foot, along=along, low=-half, high=half)
