"""Works placed one after another, each as early as waits, crews and shifts let it: the serial scheme.

That of Kelley (1963, from memory). It holds recoat windows by putting work off that need not be early. Everything here
is in slots (`takeoff.estimate.days.calendar`): working time for starts and ends, clock time for waits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from takeoff.estimate.days.problem import Link, Placement, Problem, Task, broken_by

PUT_OFFS = 12
"""Times that work is put off for one follower before its window is given up."""


def place(problem: Problem, order: Iterable[int], *, holds_windows: bool = True) -> Placement:
    """Place tasks in an order of preference, each as early as it can be; what it follows always goes first.

    Where ``holds_windows``, work whose follower would miss its window is put off until it does not, as long as nothing
    else follows it yet.
    """
    table = Table(problem)
    for i in order:
        table.put(i, holds_windows=holds_windows)
    return table.placement()


class Table:
    """Starts found so far and how many of each crew are at work in each slot; begins empty."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.starts = [-1] * len(problem.tasks)
        self.abrading = [0] * len(problem.tasks)
        self.used = [np.zeros(1024, dtype=np.int64) for _ in problem.counts]
        self.followed = [0] * len(problem.tasks)

    def placement(self) -> Placement:
        """Return what is placed."""
        starts, abrading = tuple(self.starts), tuple(self.abrading)
        return Placement(starts, abrading, broken_by(self.problem, starts, abrading))

    def end(self, i: int) -> int:
        """Return the slot at which a task ends."""
        return self.starts[i] + self.abrading[i] + self.problem.tasks[i].length

    def put(self, i: int, *, holds_windows: bool, floor: int = 0) -> None:
        """Place a task and what it follows."""
        if self.starts[i] >= 0:
            return
        task = self.problem.tasks[i]
        for link in task.links:
            self.put(link.before, holds_windows=holds_windows)
        at, extra, missed = self._find(i, floor)
        for _ in range(PUT_OFFS if holds_windows else 0):
            late = [n for n in missed if self.followed[task.links[n].before] == 0]
            if not late or at > self.problem.most:
                break
            for n in late:
                self._put_off(task.links[n], at)
            at, extra, missed = self._find(i, floor)
        self.starts[i], self.abrading[i] = at, extra
        end = self.end(i)
        for crew, count in task.crews:
            used = self.used[crew]
            if end > len(used):
                self.used[crew] = np.concatenate((used, np.zeros(2 * end - len(used), dtype=np.int64)))
            self.used[crew][at:end] += count
        for link in task.links:
            self.followed[link.before] += 1

    def take_out(self, i: int) -> None:
        """Take a task out again that nothing follows yet."""
        for crew, count in self.problem.tasks[i].crews:
            self.used[crew][self.starts[i] : self.end(i)] -= count
        for link in self.problem.tasks[i].links:
            self.followed[link.before] -= 1
        self.starts[i], self.abrading[i] = -1, 0

    def _find(self, i: int, floor: int) -> tuple[int, int, list[int]]:
        """Return where a task can start at the earliest, its abrading, and the links whose window it misses."""
        grid, task = self.problem.grid, self.problem.tasks[i]
        ends = [self.end(k.before) for k in task.links]
        clocks = [grid.end(end) for end in ends]
        waits = [clock + k.wait for clock, k in zip(clocks, task.links, strict=True)]
        at, extra = max([floor, grid.first_at(max([task.opens, *waits])), *ends]), 0
        while True:
            at = _free_from(self.problem, task, self.used, at, extra)
            begin = grid.begin(at)
            missed = [
                n
                for n, (clock, k) in enumerate(zip(clocks, task.links, strict=True))
                if k.within is not None and begin > clock + k.within
            ]
            more = sum(task.links[n].abrade or 0 for n in missed)
            if more <= extra:
                return at, extra, missed
            extra = more

    def _put_off(self, link: Link, at: int) -> None:
        """Place the work before a link again, so late that what starts at a slot is within its window."""
        grid, before = self.problem.grid, link.before
        start, length = self.starts[before], self.end(before) - self.starts[before]
        need = grid.begin(at) - (link.within or 0)
        self.take_out(before)
        self.put(before, holds_windows=True, floor=max(start + 1, grid.first_at(need - 1) + 1 - length))


def _free_from(problem: Problem, task: Task, used: Sequence[NDArray[np.int64]], at: int, extra: int) -> int:
    """Return the first slot from ``at`` on at which the crews are free for the abrading and the work.

    Work in one go lies within a shift; its abrading may be done at the end of the shift before.
    """
    shift, length = problem.grid.shift, extra + task.length
    reach = 4 * length + 256
    while True:
        busy = np.zeros(reach, dtype=bool)
        for crew, count in task.crews:
            part = used[crew][at : at + reach]
            busy[: len(part)] |= part + count > problem.counts[crew]
        taken = np.flatnonzero(busy)
        begins = np.concatenate(([0], taken + 1)) + at
        stops = np.concatenate((taken, [reach])) + at
        if task.is_whole:
            works = begins + extra
            begins = np.where(works % shift + task.length > shift, (works // shift + 1) * shift - extra, begins)
        fits = np.flatnonzero(stops - begins >= length)
        if fits.size:
            return int(begins[fits[0]])
        at = int(begins[-1])
        reach *= 2


def serial_plan(problem: Problem) -> Placement:
    """Return the better placement of tasks in the order given and by start: windows held by putting off, or missed."""
    best = min(
        (place(problem, range(len(problem.tasks)), holds_windows=holds) for holds in (True, False)),
        key=lambda placed: placed.rank(problem),
    )
    return settled(problem, best)


def settled(problem: Problem, placement: Placement) -> Placement:
    """Push everything as early as it goes in the order of a placement, where that loses nothing."""
    order = sorted(range(len(placement.starts)), key=lambda i: (placement.starts[i], i))
    return min(place(problem, order), placement, key=lambda placed: placed.rank(problem))
