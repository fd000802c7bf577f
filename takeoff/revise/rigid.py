"""Find the move of something that went as a whole: a pillar, a low wall."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from takeoff.geometry.pairs import pairs_within
from takeoff.geometry.paths import Path
from takeoff.model.plan import Point
from takeoff.revise.registration import Floats
from takeoff.revise.sides import SEARCH, Scene, Side

LARGEST = 8.0
"""Metres; a room does not go as a whole (judgement, no source)."""


def rigid_move(path: Path, sides: Sequence[Side], scene: Scene) -> Point | None:
    """Move of a run as a whole, where all of its drawn lines went and came again in another place."""
    if any(s.state == "same" and not s.doubt for s in sides):
        return None
    points = np.array(path.flattened(0.005))
    reach = 2.5 * SEARCH
    size = float(np.ptp(points, 0).max())
    if size > LARGEST:
        return None
    low, high = points.min(0) - 0.05, points.max(0) + 0.05
    gone, came = scene.gone.lines, scene.came.lines
    inside = ((gone[:, [0, 2]] >= low[0]) & (gone[:, [0, 2]] <= high[0])).all(1)
    inside &= ((gone[:, [1, 3]] >= low[1]) & (gone[:, [1, 3]] <= high[1])).all(1)
    own = gone[inside]
    if len(own) < 2:
        return None
    low, high = low - reach, high + reach
    inside = ((came[:, [0, 2]] >= low[0]) & (came[:, [0, 2]] <= high[0])).all(1)
    inside &= ((came[:, [1, 3]] >= low[1]) & (came[:, [1, 3]] <= high[1])).all(1)
    near = came[inside]
    step, size_own = own[:, 2:] - own[:, :2], len(own)
    votes: list[Floats] = []
    for other in near:
        move = other[2:] - other[:2]
        for sign, first in ((1.0, other[:2]), (-1.0, other[2:])):
            same = np.hypot(*(step - sign * move).T) <= 2.0 * scene.tolerance
            votes.extend(first - own[i, :2] for i in np.flatnonzero(same))
    if not votes:
        return None
    spots = np.array(votes)
    counts = np.bincount(pairs_within(spots, spots, 2.0 * scene.tolerance)[0])
    best = spots[int(np.argmax(counts))]
    if counts.max() < 0.8 * size_own or math.hypot(*best) <= scene.tolerance:
        return None
    close = spots[np.hypot(*(spots - best).T) <= 2.0 * scene.tolerance]
    return (float(close[:, 0].mean()), float(close[:, 1].mean()))
