from __future__ import annotations

import math

import numpy as np
import pytest

from takeoff.errors import SheetError
from takeoff.model.plan import Calibration
from takeoff.revise.registration import Registration, fit_robust, register_points

FOCUS = (0.0, 0.0, 1000.0, 800.0)


def test_two_pairs_give_the_shift_turn_and_scale_between_them() -> None:
    # by hand: (0,0)→(100,50), (400,0)→(100,250): a quarter turn clockwise as displayed (y down) at half size
    made = register_points([((0, 0), (100, 50)), ((400, 0), (100, 250))], focus_pt=FOCUS, m_per_pt=0.01, limit=0.05)
    assert made.scale == pytest.approx(0.5)
    assert made.turn == pytest.approx(math.pi / 2)
    assert made.carry((0.0, 200.0)) == pytest.approx((0.0, 50.0))
    assert made.inverse(made.carry((123.0, 456.0))) == pytest.approx((123.0, 456.0))


def test_pairs_picked_to_half_a_point_carry_to_about_as_much() -> None:
    rng = np.random.default_rng(7)
    old = [(0.0, 0.0), (1000.0, 0.0), (1000.0, 800.0), (0.0, 800.0)]
    worst, stated = [], []
    for _ in range(200):
        pairs = [(p, (p[0] + 30.0 + rng.normal(0, 0.5), p[1] - 20.0 + rng.normal(0, 0.5))) for p in old]
        made = register_points(pairs, focus_pt=FOCUS, m_per_pt=0.01, limit=0.05)
        stated.append(made.u)
        off = [math.dist(made.carry(p), (p[0] + 30.0, p[1] - 20.0)) for p in old]
        worst.append(max(off) * 0.01)
    # k = 2 covers the worst corner in 95 of 100 cases or more
    assert np.mean([w <= 2.0 * math.sqrt(2.0) * s for w, s in zip(worst, stated, strict=True)]) >= 0.95


@pytest.mark.parametrize(
    ("pairs", "says"),
    [
        ([((0, 0), (1, 1))], "1 pair"),
        ([((0, 0), (1, 1)), ((0, 0), (1, 1))], "on one another"),
        ([((0, 0), (0, 0)), ((500, 0), (500, 0)), ((500, 500), (500, 470)), ((0, 500), (20, 500))], "are needed"),
    ],
)
def test_pairs_that_do_not_register_are_refused(pairs: list[object], says: str) -> None:
    with pytest.raises(SheetError, match=says):
        register_points(pairs, focus_pt=FOCUS, m_per_pt=0.01, limit=0.02)  # type: ignore[arg-type]


def test_a_mirrored_sheet_is_refused() -> None:
    pairs = [((x, y), (1000.0 - x, y)) for x in (0.0, 500.0, 1000.0) for y in (0.0, 300.0, 800.0)]
    with pytest.raises(SheetError):
        register_points(pairs, focus_pt=FOCUS, m_per_pt=0.01, limit=0.02)  # type: ignore[arg-type]


def test_a_third_of_wrong_pairs_does_not_pull_the_fit() -> None:
    rng = np.random.default_rng(3)
    old = rng.uniform(0, 1000, (90, 2))
    new = old + np.array([12.0, -7.0])
    new[:30] += rng.uniform(5, 40, (30, 2))
    matrix, _ = fit_robust(old, new, "affine", floor=0.02, rounds=30)
    assert matrix == pytest.approx((1, 0, 12, 0, 1, -7), abs=0.02)


def test_the_scale_is_carried_with_the_stretch_of_the_paper() -> None:
    # the new sheet is half size, 2 % longer along y
    made = Registration(
        matrix=(0.5, 0, 0, 0, 0.51, 0), kind="affine", method="points", pairs=9, share=1, rms_pt=0.0, u=0
    )
    scale = made.scale_of(Calibration(sheet=1, mx=0.01, my=0.01, u_scale=0.002), 2)
    assert (scale.mx, scale.my) == pytest.approx((0.02, 0.01 / 0.51))
    assert made.stretch == pytest.approx(0.02)
    # 100 points of the old sheet are 1 m; carried they are 50 and 51 points, 1 m still
    assert 50 * scale.mx == pytest.approx(1.0)
    assert 51 * scale.my == pytest.approx(1.0)
