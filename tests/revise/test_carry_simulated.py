"""Runs carried across generated revisions whose truth is exact: walls moved, doors moved, new, gone and widened."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest

from takeoff.actions.given import openings_like
from takeoff.model.walls import Run
from takeoff.revise.carry import carry_run
from takeoff.revise.sides import make_scene
from tests.revise.simulated_plans import SAME, SCALE, picked, random_plan, revised


def is_right(found: Run | None, truth: Run, spread_pt: float) -> bool:
    """Whether a proposal has the vertices and openings of the exact trace, to what tracing by hand leaves."""
    if found is None or len(found.openings) != len(truth.openings):
        return False
    near = 0.005 + 6.0 * spread_pt * SCALE.mx
    off = max(math.dist(p, q) for p, q in zip(found.points_pt, truth.points_pt, strict=True)) * SCALE.mx
    ours, theirs = (sorted((o.at, o.width) for o in run.openings) for run in (found, truth))
    return off < near and all(
        abs(a[0] - b[0]) < 2 * near and abs(a[1] - b[1]) < 0.03 for a, b in zip(ours, theirs, strict=True)
    )


def outcomes(seeds: range, spread_pt: float) -> Counter[tuple[str, str, str]]:
    out: Counter[tuple[str, str, str]] = Counter()
    for seed in seeds:
        rng = np.random.default_rng(seed)
        before, after = revised(random_plan(rng), rng)
        scene = make_scene(before.lines(), after.lines(), SCALE, 0.4)
        old, new = before.rooms(), after.rooms()
        for id, run in old.items():
            found = carry_run(
                picked(run, rng, spread_pt), SAME, scene, scale=SCALE, sheet=2, like=openings_like((), "metric")
            )
            same = "same" if run == new[id] else "changed"
            right = "right" if is_right(found.after, new[id], spread_pt) else "wrong"
            out[same, "sure" if found.sure else "look", right] += 1
    return out


@pytest.mark.parametrize("spread_pt", [0.0, 0.5])
def test_unchanged_runs_need_no_hand_and_no_sure_proposal_is_wrong(spread_pt: float) -> None:
    found = outcomes(range(25), spread_pt)
    same = sum(n for (kind, _, _), n in found.items() if kind == "same")
    changed = sum(n for (kind, _, _), n in found.items() if kind == "changed")
    assert same > 150
    assert changed > 60
    assert found["same", "sure", "right"] >= 0.95 * same
    assert sum(n for (_, sure, right), n in found.items() if (sure, right) == ("sure", "wrong")) == 0
    right = found["changed", "sure", "right"] + found["changed", "look", "right"]
    assert right >= 0.95 * changed
