"""Openings that change kind between jambs that stay: none is carried as sure; doors hung the other way are."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from takeoff.actions.given import openings_like
from takeoff.revise.carry import CarriedRun, carry_run
from takeoff.revise.registration import Floats
from takeoff.revise.sides import make_scene
from tests.revise.simulated_plans import SAME, SCALE, Door, Plan, random_plan

Change = tuple[str, str]
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


def beside(plan: Plan, doors: Iterable[Door]) -> set[str]:
    """The rooms that some doors of a plan lead into."""
    with_all = plan.rooms()
    without = replace(plan, doors=tuple(d for d in plan.doors if d not in doors)).rooms()
    return {id for id, run in with_all.items() if len(run.openings) != len(without[id].openings)}


def apart(plan: Plan, most: int) -> list[Door]:
    """Doors of a plan of which no two lead into the same room, so that each tells of itself alone."""
    found: list[Door] = []
    for door in plan.doors:
        if len(found) < most and not beside(plan, [door]) & beside(plan, found):
            found.append(door)
    return found


def carried(seed: int, changes: Sequence[Change]) -> tuple[set[Change], list[CarriedRun], set[str]]:
    """Carry the rooms of a plan over to a revision in which as many openings as fit changed kind, each in its way.

    Gives the changes that were seen, all rooms, and those beside a change.
    """
    rng = np.random.default_rng(seed)
    plan = random_plan(rng)
    ways = dict(zip(apart(plan, len(changes)), changes, strict=False))
    others = {d: str(rng.choice(["door", "pair", "window", "open"])) for d in plan.doors if d not in ways}
    before, after = ({d: way[k] for d, way in ways.items()} for k in (0, 1))
    scene = make_scene(lines(plan, {**others, **before}), lines(plan, {**others, **after}), SCALE, 0.4)
    runs = [
        carry_run(run, SAME, scene, scale=SCALE, sheet=2, like=openings_like((), "metric"))
        for run in plan.rooms().values()
    ]
    return set(ways.values()), runs, beside(plan, ways)


def test_an_opening_that_changed_kind_is_never_sure() -> None:
    """Every change of a kind to another, in rooms of five plans and more; a room beside none of them is carried."""
    left = Counter(dict.fromkeys(CHANGES, 5))
    for seed in range(200):
        wanted = [change for change, count in left.most_common() if count > 0]
        if not wanted:
            break
        seen, runs, changed = carried(seed, wanted)
        left -= Counter(dict.fromkeys(seen, 1))
        wrong = [one.before.id for one in runs if one.sure == (one.before.id in changed)]
        assert wrong == [], (seed, seen)
    assert not +left


@pytest.mark.parametrize("kind", KINDS)
def test_openings_that_stay_and_doors_hung_the_other_way_are_carried(kind: str) -> None:
    for seed in range(2):
        _, runs, _ = carried(seed, [(kind, "turned door" if kind == "door" else kind)] * 6)
        assert all(one.sure for one in runs)


def test_a_door_that_was_filled_in_is_proposed_as_gone() -> None:
    _, runs, changed = carried(3, [("door", "wall")])
    for one in runs:
        if one.before.id in changed:
            assert one.after is not None
            assert len(one.after.openings) == len(one.before.openings) - 1
            assert any("is gone" in note for note in one.notes)
