"""Plans made moment by moment, as a foreman would: when a crew is free, the most urgent work that may start is started.

The parallel scheme (Kolisch 1996, from memory) under priorities. Work whose recoat window closes before the next shift
goes first; where it is missed all the same, abrading is added. The priorities are then changed at random, with a fixed
seed and a few at a time, and changes that make the plan no worse are kept. A plan takes milliseconds, so that there is
time for many.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from functools import lru_cache
from heapq import heapify, heappop, heappush

import numpy as np
from numpy.typing import NDArray

from takeoff.estimate.days.problem import Link, Placement, Problem, Task, broken_by, chains_of, tails_of

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
    """Starts found so far and how many crews are at work in each slot; begins empty."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.starts = [-1] * len(problem.tasks)
        self.abrading = [0] * len(problem.tasks)
        self.used = np.zeros(1024, dtype=np.int64)
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
        if end > len(self.used):
            self.used = np.concatenate((self.used, np.zeros(2 * end - len(self.used), dtype=np.int64)))
        self.used[at:end] += task.crews
        for link in task.links:
            self.followed[link.before] += 1

    def take_out(self, i: int) -> None:
        """Take a task out again that nothing follows yet."""
        self.used[self.starts[i] : self.end(i)] -= self.problem.tasks[i].crews
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
            more = sum(task.links[n].abrade for n in missed)
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


def _free_from(problem: Problem, task: Task, used: NDArray[np.int64], at: int, extra: int) -> int:
    """Return the first slot from ``at`` on at which the crews are free for the abrading and the work.

    Work in one go lies within a shift; its abrading may be done at the end of the shift before.
    """
    shift, length = problem.grid.shift, extra + task.length
    reach = 4 * length + 256
    while True:
        taken = np.flatnonzero(used[at : at + reach] + task.crews > problem.crews)
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


FEW = 20_000
"""Tasks placed at most where a quick plan is wanted: about a fifth of a second."""

STILL = 100
"""Rounds in a row without a better plan after which a quick one is taken: of 80 made jobs of 1 to 12 rooms all but one
got the plan that all rounds make, those of up to 3 rooms in a quarter of the time (measured 2026)."""

SPREAD = 0.4
"""How far a priority is moved, as a part of the longest way to the end."""


def followers_of(problem: Problem) -> list[list[int]]:
    """Return for each task those that follow it, once for each link."""
    rows: list[list[int]] = [[] for _ in problem.tasks]
    for i, task in enumerate(problem.tasks):
        for link in task.links:
            rows[link.before].append(i)
    return rows


def dispatch(problem: Problem, followers: Sequence[Sequence[int]], priorities: Sequence[float]) -> Placement:
    """Start whatever may start as soon as its crew is free, work of the highest priority first."""
    run = _Run(problem, followers, priorities)
    left = len(problem.tasks)
    while left:
        left -= run.go_on()
    starts, abrading = tuple(run.starts), tuple(run.abrading)
    return Placement(starts, abrading, broken_by(problem, starts, abrading))


@lru_cache(maxsize=8)
def dispatched_plan(problem: Problem, *, bound: int, placed: int | None = None) -> Placement:
    """Return the best plan by dispatching, improved until it meets the bound or so many tasks have been placed.

    ``bound`` is a slot before which no plan finishes, ``placed`` the tasks to place in all rounds together, a round for
    each set of priorities; ten rounds are the least. They begin with the longest way to the end first or what is
    furthest on first, whichever is better. ``None`` for a quick plan: `FEW`, and no more once `STILL` rounds have not
    made it better. The last few are kept: price, open points, days and reports of one job ask for the same plan.
    """
    tails = [float(tail) for tail in tails_of(problem)]
    followers = followers_of(problem)
    depths = [0] * len(problem.tasks)
    for i, task in enumerate(problem.tasks):
        depths[i] = max((depths[k.before] + 1 for k in task.links), default=0)
    orders = [tails, [float(depth) for depth in depths]]
    plans = [dispatch(problem, followers, order) for order in orders]
    ranks = [plan.rank(problem) for plan in plans]
    rank = min(ranks)
    best, priorities = plans[ranks.index(rank)], orders[ranks.index(rank)]
    draw = random.Random(0)
    groups = [*chains_of(problem), *([i for i, d in enumerate(depths) if d == depth] for depth in sorted({*depths}))]
    spread = SPREAD * max(tails, default=0.0)
    still = 0
    for _ in range(max(10, (placed or FEW) // max(1, len(tails)))):
        if (rank[0] == rank[2] == 0 and rank[1] <= bound) or (placed is None and still > STILL):
            break
        changed = list(priorities)
        if draw.random() < 0.5:
            by = draw.gauss(0.0, spread)
            for i in draw.choice(groups):
                changed[i] += by
        else:
            for _ in range(draw.randint(1, 8)):
                changed[draw.randrange(len(changed))] += draw.gauss(0.0, spread)
        plan = dispatch(problem, followers, changed)
        now = plan.rank(problem)
        still = 0 if now < rank else still + 1
        if now <= rank:
            best, priorities, rank = plan, changed, now
    return best


class _Run:
    """A plan in the making: what is at work, what may start now and later, and how many crews are free."""

    def __init__(self, problem: Problem, followers: Sequence[Sequence[int]], priorities: Sequence[float]) -> None:
        self.tasks, self.grid, self.followers, self.priorities = problem.tasks, problem.grid, followers, priorities
        count = len(problem.tasks)
        self.starts, self.abrading, self.ends, self.clocks = [0] * count, [0] * count, [0] * count, [0] * count
        self.missing = [len(task.links) for task in problem.tasks]
        self.free = problem.crews
        self.day = 0
        self.running: list[tuple[int, int]] = []
        self.later = [(problem.grid.first_at(t.opens), i) for i, t in enumerate(problem.tasks) if not t.links]
        heapify(self.later)
        self.ready: dict[int, list[tuple[bool, float, int]]] = {}

    def go_on(self) -> int:
        """Go to the next moment at which something ends or may start; start what can be and return how many."""
        running, later = self.running, self.later
        now = min(queue[0][0] for queue in (running, later) if queue)
        if now // self.grid.shift > self.day:
            self._begin_shift(now)
        while running and running[0][0] <= now:
            self._end(heappop(running)[1])
        while later and later[0][0] <= now:
            self._offer(heappop(later)[1])
        started = 0
        for crews, heap in self.ready.items():
            if heap:
                started += self._start_from(crews, heap, now)
        return started

    def _begin_shift(self, now: int) -> None:
        """Judge anew what is urgent."""
        self.day = now // self.grid.shift
        waiting = [i for heap in self.ready.values() for _, _, i in heap]
        self.ready = {}
        for i in waiting:
            self._offer(i)

    def _end(self, i: int) -> None:
        """Free the crews and see what may follow when."""
        end = self.ends[i]
        self.free += self.tasks[i].crews
        self.clocks[i] = self.grid.end(end)
        for j in self.followers[i]:
            self.missing[j] -= 1
            if not self.missing[j]:
                clock, ended = self.tasks[j].opens, 0
                for link in self.tasks[j].links:
                    clock = max(clock, self.clocks[link.before] + link.wait)
                    ended = max(ended, self.ends[link.before])
                heappush(self.later, (max(self.grid.first_at(clock), ended), j))

    def _offer(self, i: int) -> None:
        """Let a task start from now on, first if a window of its own closes before the next shift."""
        task, is_urgent = self.tasks[i], False
        for link in task.links:
            if link.within is not None:
                closes = self.clocks[link.before] + link.within
                starts = self.grid.day_starts
                is_urgent = is_urgent or starts[self.day] <= closes < starts[self.day + 1]
        heappush(self.ready.setdefault(task.crews, []), (not is_urgent, -self.priorities[i], i))

    def _start_from(self, crews: int, heap: list[tuple[bool, float, int]], now: int) -> int:
        """Start tasks for so many crews each as long as as many are free, and return how many."""
        shift, begin, started = self.grid.shift, self.grid.begin(now), 0
        while heap and self.free >= crews:
            _, _, i = heappop(heap)
            task, extra = self.tasks[i], 0
            for link in task.links:
                if link.within is not None and begin > self.clocks[link.before] + link.within:
                    extra += link.abrade
            if task.is_whole and (now + extra) % shift + task.length > shift:
                heappush(self.later, (((now + extra) // shift + 1) * shift - extra, i))
                continue
            self.starts[i], self.abrading[i], self.ends[i] = now, extra, now + task.length + extra
            self.free -= crews
            heappush(self.running, (self.ends[i], i))
            started += 1
        return started
