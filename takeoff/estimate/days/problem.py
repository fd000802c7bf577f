"""What is planned, in slots (`takeoff.estimate.days.calendar`): tasks, links and where they are; what no plan can beat.

Starts and ends count working time, waits count clock time.

A finish is ruled out where crews have more to do between two moments than they can: work that cannot start before the
one and cannot end after the other counts whole, other work by the part that must fall between them. This energetic
reasoning is that of Erschler and Lopez (1990) and Baptiste, Le Pape and Nuijten (1999, both from memory). Latest ends
are found backwards over the calendar: what must dry for a night before the last step ends a day before it.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from takeoff.estimate.days.calendar import Grid
from takeoff.geometry.pairs import linked_groups


@dataclass(frozen=True, slots=True)
class Link:
    """Work ``before`` and its follower, with the least and the most wait and what abrading takes, in slots."""

    before: int
    wait: int
    within: int | None
    abrade: int


@dataclass(frozen=True, slots=True)
class Task:
    """Work in slots: its length, the crews that it takes, links, earliest clock slot and latest clock end.

    Where ``is_whole`` it lies within one shift, abrading before it aside.
    """

    length: int
    crews: int
    links: tuple[Link, ...]
    is_whole: bool
    opens: int
    due: int | None


@dataclass(frozen=True, slots=True)
class Problem:
    """Tasks in an order in which everything comes after what it follows, how many crews there are, and the grid.

    ``begins`` is the slot from which on crews are at work, set-up over. ``most`` is a slot by which everything is done
    where one work follows another; the grid reaches three times as far.
    """

    tasks: tuple[Task, ...]
    crews: int
    grid: Grid
    most: int
    begins: int = 0

    @property
    def most_abrading(self) -> int:
        """Slots of abrading where every window is missed."""
        return sum(link.abrade for task in self.tasks for link in task.links)


@dataclass(frozen=True, slots=True)
class Placement:
    """Start and abrading of each task in slots; ``broken`` are tasks that end after their due."""

    starts: tuple[int, ...]
    abrading: tuple[int, ...]
    broken: tuple[int, ...]

    def end(self, problem: Problem, task: int) -> int:
        """Return the slot at which a task ends."""
        return self.starts[task] + self.abrading[task] + problem.tasks[task].length

    def finish(self, problem: Problem) -> int:
        """Return the slot at which the last task ends."""
        return max((self.end(problem, i) for i in range(len(self.starts))), default=0)

    def rank(self, problem: Problem) -> tuple[int, int, int, int]:
        """Order placements: nothing broken, short, little abrading, everything early."""
        return (
            len(self.broken),
            self.finish(problem),
            sum(self.abrading),
            sum(self.end(problem, i) for i in range(len(self.starts))),
        )


def chains_of(problem: Problem) -> list[list[int]]:
    """Return tasks that are linked, in the order in which each chain first comes."""
    links = [(i, link.before) for i, task in enumerate(problem.tasks) for link in task.links]
    after, before = np.array(links, np.int64).reshape(-1, 2).T
    chains: dict[int, list[int]] = {}
    for i, chain in enumerate(linked_groups(len(problem.tasks), after, before).tolist()):
        chains.setdefault(chain, []).append(i)
    return list(chains.values())


def broken_by(problem: Problem, starts: Sequence[int], abrading: Sequence[int]) -> tuple[int, ...]:
    """Return the tasks that end after their due."""
    return tuple(
        i
        for i, task in enumerate(problem.tasks)
        if task.due is not None and problem.grid.end(starts[i] + abrading[i] + task.length) > task.due
    )


MOMENTS = 128
"""Starts and ends of the intervals that the crews' working time is looked at in."""


def heads_of(problem: Problem) -> list[int]:
    """Return the earliest start of each task in slots, crews aside."""
    grid = problem.grid
    starts: list[int] = []
    for task in problem.tasks:
        ends = [starts[k.before] + problem.tasks[k.before].length for k in task.links]
        clocks = [task.opens, *(grid.end(end) + k.wait for end, k in zip(ends, task.links, strict=True))]
        at = max([grid.first_at(max(clocks)), *ends])
        if task.is_whole and at % grid.shift + task.length > grid.shift:
            at = (at // grid.shift + 1) * grid.shift
        starts.append(at)
    return starts


def tails_of(problem: Problem) -> list[int]:
    """Return for each task the slots from its start to the end of what must come after it; waits count while working.

    A wait in a calendar with pauses may fall into them whole, and is left out.
    """
    grid = problem.grid
    tails = [task.length for task in problem.tasks]
    for i in reversed(range(len(problem.tasks))):
        for link in problem.tasks[i].links:
            wait = link.wait if grid.never_pauses else 0
            tails[link.before] = max(tails[link.before], problem.tasks[link.before].length + wait + tails[i])
    return tails


def latest_ends(problem: Problem, finish: int) -> list[int]:
    """Return the latest end of each task in slots so that what must come after it ends by a finish.

    Crews are left aside, days to be ready by too. Below zero where a task cannot be in time at all.
    """
    grid = problem.grid
    ends = [finish] * len(problem.tasks)
    for j in reversed(range(len(problem.tasks))):
        task = problem.tasks[j]
        ends[j] = _within_shift(task, ends[j], grid.shift)
        start = ends[j] - task.length
        for link in task.links:
            latest = start
            if link.wait and start >= 0:
                latest = min(latest, grid.last_by(grid.begin(start) - link.wait))
            ends[link.before] = min(ends[link.before], latest)
    return ends


def least_finish(problem: Problem) -> int:
    """Return a slot before which no plan can finish.

    The longest chain, and the crews' load after the first start; then the first finish that working time between
    earliest starts and latest ends does not rule out.
    """
    heads, tails = heads_of(problem), tails_of(problem)
    load = sum(task.length * task.crews for task in problem.tasks)
    after = min(tail - task.length for tail, task in zip(tails, problem.tasks, strict=True))
    longest = max(head + tail for head, tail in zip(heads, tails, strict=True))
    low = high = max(longest, min(heads) + math.ceil(load / problem.crews) + after)
    step = problem.grid.shift
    while high < problem.most and _is_ruled_out(problem, heads, high):
        low, high = high + 1, high + step
    return low + bisect_left(range(low, high), True, key=lambda finish: not _is_ruled_out(problem, heads, finish))


def _is_ruled_out(problem: Problem, heads: Sequence[int], finish: int) -> bool:
    starts, stops = np.asarray(heads), np.asarray(latest_ends(problem, finish))
    lengths, crews = np.array([(task.length, task.crews) for task in problem.tasks]).T
    if bool((starts + lengths > stops).any()):
        return True
    ends = _some(stops)
    for begin in _some(starts):
        late = ends[ends > begin][:, np.newaxis]
        inside = np.minimum(lengths, late - begin)
        inside = np.minimum(inside, np.maximum(0, starts + lengths - begin))
        inside = np.minimum(inside, np.maximum(0, late - (stops - lengths)))
        if bool(np.any(inside @ crews > problem.crews * (late[:, 0] - begin))):
            return True
    return False


def _some(values: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the distinct values, or some of them from the least to the greatest."""
    distinct = np.unique(values)
    if len(distinct) <= MOMENTS:
        return distinct
    return distinct[np.unique(np.linspace(0, len(distinct) - 1, MOMENTS).astype(np.int64))]


def _within_shift(task: Task, end: int, shift: int) -> int:
    """Return the latest end up to this one at which work in one go lies within a shift."""
    if not task.is_whole or not task.length or end <= 0:
        return end
    used = (end - 1) % shift + 1
    return end if used >= task.length else end - used
