"""Points near one another are those that comparing each with each finds, however they came to lie there."""

from __future__ import annotations

import math
import random
from itertools import combinations

import numpy as np
import pytest

from takeoff.geometry.near import FEW, NearPairs, cut_slanted

REACH = 0.5


def each_with_each(at: np.ndarray) -> list[tuple[int, int]]:
    near = [(math.dist(at[i], at[j]), i, j) for i, j in combinations(range(len(at)), 2)]
    return [(i, j) for gap, i, j in sorted(near) if gap <= REACH]


@pytest.mark.parametrize("seed", range(5))
def test_pairs_stay_right_while_points_move_come_and_go(seed: int) -> None:
    luck = random.Random(seed)

    def point() -> tuple[float, float]:
        return luck.randint(0, 40) / 4.0, luck.randint(0, 40) / 4.0

    at, near = [point() for _ in range(150)], NearPairs()
    for moved in (0, 1, 3, FEW - 1, FEW + 5, 2, 0):
        for _ in range(moved):
            at[luck.randrange(len(at))] = point()
        if moved == 3:
            del at[luck.randrange(len(at)) :]
        elif moved == 2:
            at.extend(point() for _ in range(4))
        found = near.of(np.array(at), REACH)
        assert sorted(map(tuple, found.tolist())) == sorted(each_with_each(np.array(at)))
        gaps = [math.dist(at[i], at[j]) for i, j in found]
        assert gaps == sorted(gaps)


def test_slanted_lines_are_cut_end_to_end() -> None:
    luck = random.Random(2)
    chords = np.array([[(luck.uniform(-9, 9), luck.uniform(-9, 9)) for _ in "ab"] for _ in range(50)])
    for chord in chords:
        pieces = cut_slanted(chord[None], 0.7)
        assert (pieces[0, 0] == chord[0]).all()
        assert (pieces[-1, 1] == chord[1]).all()
        assert pieces[1:, 0] == pytest.approx(pieces[:-1, 1])
        assert np.abs(pieces[:, 1] - pieces[:, 0]).min(axis=1).max() <= 0.7 + 1e-9
