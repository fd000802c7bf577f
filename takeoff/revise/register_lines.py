"""Register two vector sheets by their linework: turn and scale by voting, shift by correlation, then line on line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Unpack

import numpy as np
import shapely

from takeoff.errors import SheetError
from takeoff.geometry.pairs import nearest_within
from takeoff.revise.linework_along import ordered, unmatched
from takeoff.revise.registration import (
    BY_HAND,
    MANY_PLACES,
    OTHER_SHEET,
    Aim,
    Floats,
    Kind,
    Registration,
    apply,
    ends_in,
    finished,
    fit_robust,
)

SHORTEST_PT = 3.0
"""Lines shorter than this say little of where they are (letters, hatching)."""
MOST_OLD, MOST_NEW = 5000, 20000
"""Lines used, the longest first: more cost time and add nothing."""
TURN_STEP = math.radians(0.25)
SCALE_STEP = math.log(1.004)
SCALES = (0.25, 4.0)
UPRIGHT = math.radians(10.0)
"""A sheet turned further than this was laid in another way; that is tried last."""
GRID = 256
"""Cells across the larger drawing in the search for the shift."""
FLOOR_PT = 0.02
"""Spread of drawn ends in points: plotters write hundredths (common practice, no source)."""
SLACK_PT = 0.75
"""Points by which a line may be drawn elsewhere and still be the same one."""
LEAST_SHARE = 0.25
"""Part of the old drawing, by length, that must be found on the new one."""
LEAST_LINES = 8
ALIKE = 0.8
"""Part of what is found in one place that is found in another one where two drawings are alike (judgement)."""
APART_PT = 5.0
"""Points from which two places are two."""
CLEAR = 0.9
"""Part of what lies beside a drawing and fits one place that may fit another one too (judgement, no source)."""
Fitting = tuple[float, tuple[float, ...], Floats, Floats]
"""Share that is found, map and matched ends."""


def register_lines(
    old: Floats, new: Floats, *, scale_hint: float | None = None, slack: float = SLACK_PT, **aim: Unpack[Aim]
) -> Registration:
    """Register a new sheet onto an old one by straight lines.

    Raises `SheetError` when too little of the old drawing is found on the new one, it is found in more than one place,
    or not well enough.

    Parameters
    ----------
    old, new
        Segments of both sheets, shape (n, 4), sheet points.
    scale_hint
        Points of the new sheet for each point of the old one, where the notes of both scales tell.
    slack
        Points by which an end of the same line may differ: more for lines found in pictures.
    aim
        What for (`Aim`).
    """
    focus_pt = aim["focus_pt"]
    first = _longest(old[ends_in(old, focus_pt)], MOST_OLD)
    second = _longest(new, MOST_NEW)
    if len(first) < LEAST_LINES or len(second) < LEAST_LINES:
        raise SheetError("there are too few lines to register the sheets by", remedy=BY_HAND)
    found = _tried(first, second, scale_hint, slack)
    if not found:
        raise SheetError("the new sheet does not show what the old one shows", remedy=OTHER_SHEET)
    share, _, a, _ = found[0]
    if share < LEAST_SHARE or len(a) < 2 * LEAST_LINES:
        raise SheetError(f"only {share:.0%} of the old drawing is found on the new sheet", remedy=OTHER_SHEET)
    beside = _longest(old[~ends_in(old, focus_pt)], MOST_NEW)
    share, _, a, b = _told_apart(first, second, beside, found, slack)
    return finished(a, b, method="linework", share=share, floor=FLOOR_PT, **aim)


def _told_apart(first: Floats, second: Floats, beside: Floats, found: Sequence[Fitting], slack: float) -> Fitting:
    """Choose, of several places where a drawing like this one lies, the one that fits what is ``beside`` it too.

    Two storeys on a sheet may be alike. Where one like it stands on the new sheet or on the old one, that one may be
    what was found.
    """
    total = float(_lengths(first).sum())
    least, matrix = ALIKE * found[0][0], found[0][1]
    fitting: list[Sequence[float]] = [one[1] for one in found if one[0] > least]
    for lines, placed in ((second, matrix), (beside, (1.0, 0.0, 0.0, 0.0, 1.0, 0.0))):
        own = apply(placed, first.reshape(-1, 2))
        rest = lines[~ends_in(lines, (*(own.min(0) - slack), *(own.max(0) + slack)))]
        if len(rest) < LEAST_LINES:
            continue
        start = _shifted(first, rest, math.atan2(placed[3], placed[0]), math.hypot(placed[0], placed[3]))
        twin = _line_on_line(first, rest, start, slack)
        if twin is not None and twin[3] > least * total:
            here, there = (np.array([[*way[:3]], [*way[3:]], [0.0, 0.0, 1.0]]) for way in (matrix, twin[0]))
            fitting.append(twin[0] if lines is second else (here @ np.linalg.inv(there))[:2].ravel().tolist())
    ends = first.reshape(-1, 2)
    ways: list[Sequence[float]] = [matrix]
    ways += [way for way in fitting if np.abs(apply(way, ends) - apply(matrix, ends)).max() > APART_PT]
    if len(ways) == 1:
        return found[0]
    lengths = _lengths(beside)
    lost = (unmatched(apply(way, beside.reshape(-1, 2)).reshape(-1, 4), second, 2.0 * slack) for way in ways)
    kept = [float(lengths[~one].sum()) for one in lost]
    best = ways[int(np.argmax(kept))]
    others = (
        other
        for way, other in zip(ways, kept, strict=True)
        if np.abs(apply(way, ends) - apply(best, ends)).max() > APART_PT
    )
    is_clear = max(kept) > LEAST_SHARE * lengths.sum() and max(others) < CLEAR * max(kept)
    chosen = _line_on_line(first, second, best, slack) if is_clear else None
    if chosen is None:
        raise SheetError(MANY_PLACES, remedy=BY_HAND)
    return (chosen[3] / total, *chosen[:3])


def _tried(first: Floats, second: Floats, scale_hint: float | None, slack: float) -> list[Fitting]:
    """What fits for each turn and scale, the best first."""
    total = float(_lengths(first).sum())
    found: list[Fitting] = []
    for turn, scale in _candidates(first, second, scale_hint):
        if abs(turn) > UPRIGHT and max((f[0] for f in found), default=0.0) >= LEAST_SHARE:
            break
        start = _shifted(first, second, turn, scale)
        matched = _line_on_line(first, second, start, slack)
        if matched is None:
            continue
        matrix, a, b, share = matched
        found.append((share / total, matrix, a, b))
        if share / total > 0.75:
            break
    found.sort(key=lambda f: -f[0])
    return found


def _lengths(lines: Floats) -> Floats:
    lengths: Floats = np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1])
    return lengths


def _longest(lines: Floats, most: int) -> Floats:
    lengths = _lengths(lines)
    kept = lines[lengths >= SHORTEST_PT]
    if len(kept) > most:
        kept = kept[np.argsort(-_lengths(kept), kind="stable")[:most]]
    # drawn twice counts once, whichever way round
    kept = ordered(kept)
    _, rows = np.unique(np.round(kept, 2), axis=0, return_index=True)
    lines_once: Floats = kept[np.sort(rows)]
    return lines_once


def _angles(lines: Floats) -> Floats:
    angles: Floats = np.arctan2(lines[:, 3] - lines[:, 1], lines[:, 2] - lines[:, 0]) % math.pi
    return angles


def _candidates(first: Floats, second: Floats, hint: float | None) -> list[tuple[float, float]]:
    """Turns and scales worth trying, the likeliest first."""
    bins = round(math.pi / TURN_STEP)

    def rose(lines: Floats) -> Floats:
        counts = np.bincount(np.round(_angles(lines) / TURN_STEP).astype(int) % bins, _lengths(lines), bins)
        smooth: Floats = counts + 0.5 * (np.roll(counts, 1) + np.roll(counts, -1))
        return smooth

    votes = np.fft.irfft(np.fft.rfft(rose(second)) * np.conj(np.fft.rfft(rose(first))), bins)
    turns = _peaks(votes, 3, apart=8)
    low, high = math.log(SCALES[0]), math.log(SCALES[1])
    size = round((high - low) / SCALE_STEP)

    def sizes(lines: Floats) -> Floats:
        at = np.round(np.log(_lengths(lines)) / SCALE_STEP).astype(int)
        return np.asarray(np.bincount(at, _lengths(lines) ** 0.5, 4 * size)[: 4 * size], np.float64)

    votes = np.fft.irfft(np.fft.rfft(sizes(second), 8 * size) * np.conj(np.fft.rfft(sizes(first), 8 * size)), 8 * size)
    steps = np.r_[: size // 2 + 1, -(size // 2) : 0]
    scales = [math.exp(int(steps[row]) * SCALE_STEP) for row in _peaks(votes[steps], 4, apart=3)]
    if hint is not None:
        scales = [hint, *scales]
    scales = [s for i, s in enumerate(scales) if all(abs(math.log(s / t)) > SCALE_STEP for t in scales[:i])]
    # a direction has no sense, so each turn stands for two; upright first, for each scale in its order
    both = [math.remainder(step * TURN_STEP + half, 2 * math.pi) for step in turns for half in (0.0, math.pi)]
    upright = [t for t in both if abs(t) <= UPRIGHT]
    return [(t, s) for s in scales for t in upright] + [(t, s) for s in scales[:2] for t in both if t not in upright]


def _peaks(votes: Floats, count: int, *, apart: int) -> list[int]:
    """Rows of the highest votes at least ``apart`` from each other, the last row beside the first."""
    left = votes.copy()
    out: list[int] = []
    while len(out) < count and left.max() > 0.0:
        out.append(int(np.argmax(left)))
        left[(out[-1] + np.arange(-apart, apart + 1)) % len(left)] = 0.0
    return out


def _shifted(first: Floats, second: Floats, turn: float, scale: float) -> tuple[float, ...]:
    """Find the shift under which the drawn lines cover one another best, to about a cell of the old drawing."""
    c, s = scale * math.cos(turn), scale * math.sin(turn)
    a = apply((c, -s, 0.0, s, c, 0.0), _sampled(first, scale))
    b = _sampled(second, 1.0)
    shift = np.zeros(2)
    for _ in range(2):
        found, cell = _covered(a, b)
        a, shift = a + found, shift + found
        # once more with what lies round about, in smaller cells
        low, high = a.min(0) - 2 * cell, a.max(0) + 2 * cell
        near = b[((b >= low) & (b <= high)).all(1)]
        if len(near) < LEAST_LINES:
            break
        b = near
    return (c, -s, float(shift[0]), s, c, float(shift[1]))


def _covered(a: Floats, b: Floats) -> tuple[Floats, float]:
    """Shift that lays points on points best, by correlation on a grid, and the size of its cells."""
    cell = max(float(np.ptp(a, 0).max()), float(np.ptp(b, 0).max())) / GRID
    size = 2 * GRID + 2

    def raster(points: Floats, corner: Floats) -> Floats:
        cells = np.floor((points - corner) / cell).astype(int)
        grid = np.zeros((size, size))
        grid[cells[:, 1], cells[:, 0]] = 1.0
        return grid

    ca, cb = a.min(0), b.min(0)
    votes = np.fft.irfft2(np.fft.rfft2(raster(b, cb)) * np.conj(np.fft.rfft2(raster(a, ca))), (size, size))
    row, column = np.unravel_index(int(np.argmax(votes)), votes.shape)
    dy, dx = (int(v) - size if v > size // 2 else int(v) for v in (row, column))
    shift: Floats = cb - ca + np.array([dx, dy]) * cell
    return shift, cell


def _sampled(lines: Floats, scale: float) -> Floats:
    """Points along lines, as dense on the new sheet at any scale."""
    dense = shapely.segmentize(shapely.linestrings(lines.reshape(-1, 2, 2)), 4.0 / scale)
    return np.asarray(shapely.get_coordinates(dense), np.float64)


def _line_on_line(
    first: Floats, second: Floats, start: Sequence[float], slack: float
) -> tuple[tuple[float, ...], Floats, Floats, float] | None:
    """Match whole lines by middle, length and direction, ever more closely; gives map, matched ends, matched length."""

    def described(lines: Floats) -> Floats:
        length, twice = _lengths(lines), 2.0 * _angles(lines)
        middle = (lines[:, :2] + lines[:, 2:]) / 2.0
        return np.column_stack([middle, 0.7 * length, 150.0 * np.cos(twice), 150.0 * np.sin(twice)])

    there = described(second)
    extent = float(max(np.ptp(second[:, [0, 2]]), np.ptp(second[:, [1, 3]])))
    matrix = tuple(start)
    pairs: tuple[Floats, Floats, Floats] | None = None
    for reach in (3.0 * extent / GRID, 1.5 * extent / GRID, 6.0, 3.0, 2.0 * slack, slack, slack):
        moved = apply(matrix, first.reshape(-1, 2)).reshape(-1, 4)
        _, rows = nearest_within(described(moved), there, reach)
        hit = rows >= 0
        if int(hit.sum()) < LEAST_LINES:
            return None
        target = second[rows[hit]]
        ends = moved[hit]
        straight = np.abs(ends - target).sum(1) <= np.abs(ends - target[:, [2, 3, 0, 1]]).sum(1)
        target = np.where(straight[:, None], target, target[:, [2, 3, 0, 1]])
        pairs = (first[hit].reshape(-1, 2), target.reshape(-1, 2), _lengths(first[hit]))
        kind: Kind = "similarity" if reach > 2.0 * slack or int(hit.sum()) < 30 else "affine"
        matrix, left = fit_robust(pairs[0], pairs[1], kind, floor=FLOOR_PT, rounds=8)
    assert pairs is not None
    good = (left.reshape(-1, 2) <= slack).all(1)
    twice = np.repeat(good, 2)
    return matrix, pairs[0][twice], pairs[1][twice], float(pairs[2][good].sum())
