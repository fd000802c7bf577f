"""Openings that change kind between jambs that stay: none is carried as sure; doors hung the other way are."""

from __future__ import annotations

import itertools
import math
from collections import Counter

import numpy as np
import pytest

from takeoff.revise.carry import CarriedRun, carry_run
from takeoff.revise.registration import Floats
from takeoff.revise.sides import make_scene
from tests.revise.simulated_plans import SAME, SCALE, Door, Plan, random_plan

KINDS = ("open", "door", "turned door", "pair", "window", "wall")
CHANGES = [(a, b) for a in KINDS for b in KINDS if a != b and {a, b} != {"door", "turned door"}]


def drawn(plan: Plan, door: Door, kind: str) -> Floats:
    """What a kind of opening draws between its jambs, in sheet points: leaf and swing, glass, or the wall's faces."""
    line, half, t = (plan.ys if door.level else plan.xs)[door.line], door.width / 2, plan.thick / 2
    low, high = door.at - half, door.at + half

    def leaf(hinge: float, other: float, out: float) -> list[tuple[float, float, float, float]]:
        size = abs(other - hinge)
        angles = np.linspace(0, math.pi / 2, 9)
        way = 1 if other > hinge else -1
        arc = [(hinge + way * size * math.cos(a), line + out * (t + size * math.sin(a))) for a in angles]
        pieces = [(*p, *q) for p, q in itertools.pairwise(arc)]
        return [(hinge, line + out * t, hinge, line + out * (t + size)), *pieces]

    found = {
        "open": [],
        "door": leaf(low, high, 1),
        "turned door": leaf(high, low, -1),
        "pair": leaf(low, door.at, 1) + leaf(high, door.at, 1),
        "window": [(low, line + d, high, line + d) for d in (-t, -t / 4, t / 4, t)],
        "wall": [(low, line + d, high, line + d) for d in (-t, t)],
    }[kind]
    out = np.array(found, float).reshape(-1, 4)
    return (out if door.level else out[:, [1, 0, 3, 2]]) / SCALE.mx


def lines(plan: Plan, kinds: dict[Door, str]) -> Floats:
    return np.concatenate([plan.lines(), *(drawn(plan, door, kind) for door, kind in kinds.items())])


def carried(seed: int, before: str, after: str) -> tuple[list[CarriedRun], set[str]]:
    """Carry the rooms of a plan over to a revision in which one opening changed kind; also the rooms beside it."""
    rng = np.random.default_rng(seed)
    plan = random_plan(rng)
    changed = plan.doors[int(rng.integers(len(plan.doors)))]
    others = {d: str(rng.choice(["door", "pair", "window", "open"])) for d in plan.doors if d != changed}
    scene = make_scene(lines(plan, {**others, changed: before}), lines(plan, {**others, changed: after}), SCALE, 0.4)
    rooms = plan.rooms()
    without = dict(Plan(plan.xs, plan.ys, plan.thick, tuple(others)).rooms().items())
    beside = {id for id, run in rooms.items() if len(run.openings) != len(without[id].openings)}
    return [carry_run(run, SAME, scene, scale=SCALE, sheet=2) for run in rooms.values()], beside


@pytest.mark.parametrize(("before", "after"), CHANGES, ids=lambda kind: kind.replace(" ", "-"))
def test_an_opening_that_changed_kind_is_never_sure(before: str, after: str) -> None:
    found: Counter[tuple[bool, bool]] = Counter()
    for seed in range(5):
        runs, beside = carried(seed, before, after)
        for one in runs:
            found[one.before.id in beside, one.sure] += 1
    assert found[True, True] == 0
    assert found[True, False] > 0
    assert found[False, False] == 0


@pytest.mark.parametrize("kind", KINDS)
def test_openings_that_stay_and_doors_hung_the_other_way_are_carried(kind: str) -> None:
    for seed in range(5):
        after = "turned door" if kind == "door" else kind
        runs, _ = carried(seed, kind, after)
        assert all(one.sure for one in runs)


def test_a_door_that_was_filled_in_is_proposed_as_gone() -> None:
    runs, beside = carried(3, "door", "wall")
    for one in runs:
        if one.before.id in beside:
            assert one.after is not None
            assert len(one.after.openings) == len(one.before.openings) - 1
            assert any("is gone" in note for note in one.notes)
