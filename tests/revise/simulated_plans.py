"""Random plans of rooms with doors, a random revision of each, and the exact trace of both."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from takeoff.model.plan import Calibration, Point
from takeoff.model.walls import Opening, Run
from takeoff.revise.registration import Floats, Registration

SCALE = Calibration(sheet=1, mx=48 * 0.0254 / 72, my=48 * 0.0254 / 72, pick=0.5)
SAME = Registration(
    matrix=(1, 0, 0, 0, 1, 0), kind="similarity", method="linework", pairs=900, share=1, rms_pt=0, u=1e-5
)  # fmt: skip
CLEAR = 1.6
"""Metres between doors of one wall."""


@dataclass(frozen=True)
class Door:
    """A door in the wall along a grid line: ``level`` where the wall runs across the sheet; metres."""

    level: bool
    line: int
    at: float
    width: float


@dataclass(frozen=True)
class Plan:
    """Walls on a grid of centrelines, all of one thickness; metres."""

    xs: tuple[float, ...]
    ys: tuple[float, ...]
    thick: float
    doors: tuple[Door, ...]

    def lines(self) -> Floats:
        """Outlines of the walls in sheet points."""
        t, xs, ys = self.thick / 2, self.xs, self.ys
        walls = [shapely.box(x - t, ys[0] - t, x + t, ys[-1] + t) for x in xs]
        walls += [shapely.box(xs[0] - t, y - t, xs[-1] + t, y + t) for y in ys]
        cuts = [
            shapely.box(d.at - d.width / 2, ys[d.line] - 2 * t, d.at + d.width / 2, ys[d.line] + 2 * t)
            if d.level
            else shapely.box(xs[d.line] - 2 * t, d.at - d.width / 2, xs[d.line] + 2 * t, d.at + d.width / 2)
            for d in self.doors
        ]
        left = shapely.difference(shapely.union_all(walls), shapely.union_all(cuts))
        rings = [r for g in shapely.get_parts(left) for r in (g.exterior, *g.interiors)]
        made: Floats = np.concatenate([np.hstack([c[:-1], c[1:]]) for c in (np.array(r.coords) for r in rings)])
        return made / SCALE.mx

    def rooms(self) -> dict[str, Run]:
        """The inner face of every room, clockwise as displayed from its upper left corner, with its doors."""
        out = {}
        for i in range(len(self.xs) - 1):
            for j in range(len(self.ys) - 1):
                t = self.thick / 2
                x0, x1, y0, y1 = self.xs[i] + t, self.xs[i + 1] - t, self.ys[j] + t, self.ys[j + 1] - t
                w, h = x1 - x0, y1 - y0
                doors = []
                for d in self.doors:
                    if d.level and x0 < d.at < x1 and d.line in (j, j + 1):
                        doors.append((d.at - x0 if d.line == j else w + h + (x1 - d.at), d.width))
                    if not d.level and y0 < d.at < y1 and d.line in (i, i + 1):
                        doors.append((w + (d.at - y0) if d.line == i + 1 else 2 * w + h + (y1 - d.at), d.width))
                corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
                out[f"{i}-{j}"] = Run(
                    id=f"{i}-{j}", sheet=1, closed=True, face="right",
                    points_pt=tuple((x / SCALE.mx, y / SCALE.my) for x, y in corners),
                    openings=tuple(Opening(at=a, width=v, height=2.1) for a, v in sorted(doors)),
                )  # fmt: skip
        return out

    def bay(self, door: Door, width: float) -> tuple[float, float]:
        """Stations between which a door of some width may stand in its bay."""
        grid, t = (self.xs if door.level else self.ys), self.thick / 2
        k = next(k for k in range(len(grid) - 1) if grid[k] < door.at < grid[k + 1])
        return grid[k] + t + width / 2 + 0.02, grid[k + 1] - t - width / 2 - 0.02


def random_plan(rng: np.random.Generator) -> Plan:
    """Twelve rooms with doors between most of them."""
    xs, ys = np.cumsum([0, *rng.uniform(3, 7, 4)]), np.cumsum([0, *rng.uniform(3, 6, 3)])
    doors = []
    for level, lines, grid in ((True, ys, xs), (False, xs, ys)):
        for line in range(len(lines)):
            for k in range(len(grid) - 1):
                if rng.random() < 0.6:
                    at = float(rng.uniform(grid[k] + 0.9, grid[k + 1] - 0.9))
                    doors.append(Door(level, line, at, float(rng.choice([0.7, 0.9, 1.2]))))
    thick = float(rng.choice([0.1, 0.15, 0.2, 0.3]))
    return Plan(tuple(float(x) for x in xs), tuple(float(y) for y in ys), thick, tuple(doors))


def revised(plan: Plan, rng: np.random.Generator) -> tuple[Plan, Plan]:
    """A plan and its revision: perhaps a wall moved by 0.1 m to 0.8 m, and up to three doors changed."""
    doors = list(plan.doors)
    after = plan
    if rng.random() < 0.4:
        i = int(rng.integers(1, len(plan.xs) - 1))
        to = plan.xs[i] + float(rng.choice([-1, 1]) * rng.uniform(0.1, 0.8))
        low, high = sorted((to, plan.xs[i]))
        reach = 0.7 + plan.thick
        doors = [d for d in doors if not (d.level and low - reach < d.at < high + reach)]
        plan = replace(plan, doors=tuple(doors))
        after = replace(plan, xs=(*plan.xs[:i], to, *plan.xs[i + 1 :]))
    for _ in range(int(rng.integers(0, 4))):
        doors = list(after.doors)
        kept = [d for d in doors if d in plan.doors]
        kind = str(rng.choice(["moved", "new", "gone", "wider"]))
        if kind == "new":
            i, line = int(rng.integers(0, len(after.xs) - 1)), int(rng.integers(0, len(after.ys)))
            new = Door(True, line, float(rng.uniform(after.xs[i] + 0.8, after.xs[i + 1] - 0.8)), 0.9)
            if not _crowded(new, (*doors, *plan.doors)):
                after = replace(after, doors=(*doors, new))
            continue
        if not kept:
            continue
        door = kept[int(rng.integers(0, len(kept)))]
        doors.remove(door)
        if kind == "gone":
            after = replace(after, doors=tuple(doors))
            continue
        new = replace(door, width=door.width + 0.3)
        if kind == "moved":
            new = replace(door, at=door.at + float(rng.choice([-1, 1]) * rng.uniform(0.1, 0.9)))
        low, high = after.bay(door, new.width)
        if low < new.at < high and not _crowded(new, doors):
            after = replace(after, doors=(*doors, new))
    return plan, after


def _crowded(door: Door, others: tuple[Door, ...] | list[Door]) -> bool:
    return any((o.level, o.line) == (door.level, door.line) and abs(o.at - door.at) < CLEAR for o in others)


def picked(run: Run, rng: np.random.Generator, spread_pt: float) -> Run:
    """The run as a person traces it, each coordinate off by a spread."""
    points: list[Point] = [(x + rng.normal(0, spread_pt), y + rng.normal(0, spread_pt)) for x, y in run.points_pt]
    return replace(run, points_pt=tuple(points))
