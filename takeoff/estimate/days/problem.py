"""What is planned, in slots (`takeoff.estimate.days.calendar`): tasks, the links between them, and where they are put.

Starts and ends count working time, waits count clock time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from takeoff.estimate.days.calendar import Grid
from takeoff.geometry.pairs import linked_groups


@dataclass(frozen=True, slots=True)
class Link:
    """Work ``before`` and its follower, with the least and the most wait and what abrading takes, in slots."""

    before: int
    wait: int
    within: int | None
    abrade: int | None


@dataclass(frozen=True, slots=True)
class Task:
    """Work in slots: its length, (crew, how many) by index, links, earliest clock slot and latest clock end.

    Where ``is_whole`` it lies within one shift, abrading before it aside.
    """

    length: int
    crews: tuple[tuple[int, int], ...]
    links: tuple[Link, ...]
    is_whole: bool
    opens: int
    due: int | None


@dataclass(frozen=True, slots=True)
class Problem:
    """Tasks in an order in which everything comes after what it follows, crews' counts, and the grid.

    ``begins`` is the slot from which on crews are at work, set-up over. ``most`` is a slot by which everything is done
    where one work follows another; the grid reaches three times as far.
    """

    tasks: tuple[Task, ...]
    counts: tuple[int, ...]
    grid: Grid
    most: int
    begins: int = 0

    @property
    def most_abrading(self) -> int:
        """Slots of abrading where every window is missed."""
        return sum(link.abrade or 0 for task in self.tasks for link in task.links)


@dataclass(frozen=True, slots=True)
class Placement:
    """Start and abrading of each task in slots; ``broken`` is what fails to hold: (task, link or None for its due)."""

    starts: tuple[int, ...]
    abrading: tuple[int, ...]
    broken: tuple[tuple[int, int | None], ...]

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


def broken_by(problem: Problem, starts: Sequence[int], abrading: Sequence[int]) -> tuple[tuple[int, int | None], ...]:
    """Return what fails to hold: due times, and windows where abrading is no way out."""
    grid = problem.grid
    out: list[tuple[int, int | None]] = []
    for i, task in enumerate(problem.tasks):
        if task.due is not None and grid.end(starts[i] + abrading[i] + task.length) > task.due:
            out.append((i, None))
        for n, link in enumerate(task.links):
            if link.within is None or link.abrade is not None:
                continue
            end = starts[link.before] + abrading[link.before] + problem.tasks[link.before].length
            if grid.begin(starts[i]) > grid.end(end) + link.within:
                out.append((i, n))
    return tuple(out)
