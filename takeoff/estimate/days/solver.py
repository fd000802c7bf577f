"""The plan by CP-SAT: starts in working time, waits on the clock, crews as one cumulative resource.

The model begins from a quick plan as its hint and may only improve on it. Length comes first, then abrading. The search
is cut off by the solver's own count of its steps, on one worker and with a fixed seed, so that every machine finds the
same plan.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from takeoff.estimate.days.problem import Placement, Problem, heads_of
from takeoff.system.packing import steady_solver

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

STEPS_OF_EFFORT = 0.1
"""Deterministic time of the solver that one unit of effort buys: about 1 s of processor time, measured on plans of
70 works, 2026."""


@dataclass(frozen=True, slots=True)
class Solved:
    """The best placement found, or None; a slot before which no plan finishes; whether there is proven to be none."""

    placement: Placement | None
    bound: int
    is_impossible: bool


def solve(problem: Problem, hint: Placement, *, bound: int, effort: float, lets_break: bool = False) -> Solved:
    """Look for a shorter plan than the ``hint``, whose finish is not exceeded where nothing of it is broken.

    ``bound`` is a slot before which no plan finishes; an ``effort`` of 1 is about a second of processor time, counted
    in steps of the solver. With ``lets_break`` it looks for the plan that breaks the fewest due times, instead of
    the shortest.
    """
    from ortools.sat.python import cp_model

    model = _Model(problem, hint, bound=bound, lets_break=lets_break)
    solver = steady_solver(effort * STEPS_OF_EFFORT)
    status = solver.solve(model.cp)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Solved(None, bound, status == cp_model.INFEASIBLE)
    least = bound if lets_break else max(bound, math.ceil(solver.best_objective_bound - 1e-6) // model.weight)
    return Solved(model.placement(solver), least, False)


class _Model:
    """The problem in the solver's variables, built in the order of the methods."""

    def __init__(self, problem: Problem, hint: Placement, *, bound: int, lets_break: bool) -> None:
        from ortools.sat.python import cp_model

        self.problem, self.grid = problem, problem.grid
        self.cp = cp_model.CpModel()
        self.last = problem.most if hint.broken else hint.finish(problem)
        days = self.last // self.grid.shift + 1
        self.shifts = [start - day * self.grid.shift for day, start in enumerate(self.grid.day_starts)][:days]
        self.stretched: dict[int, tuple[cp_model.IntVar, cp_model.IntVar]] = {}
        self.sizes: list[cp_model.LinearExprT] = []
        self.ends: list[cp_model.LinearExpr] = []
        self.days: dict[tuple[int, bool], cp_model.IntVar] = {}
        self.gaps: dict[tuple[int, bool], cp_model.IntVar] = {}
        self.weight = problem.most_abrading + 1
        self._tasks(lets_break)
        self._waits()
        self._crews()
        self._goal(bound, lets_break)
        self._hint(hint)

    def placement(self, solver: cp_model.CpSolver) -> Placement:
        """Read the solver's plan."""
        return Placement(
            tuple(solver.value(start) for start in self.starts),
            tuple(solver.value(extra) for extra in self.extras),
            tuple(i for i, is_late in self.late.items() if solver.value(is_late)),
        )

    def _tasks(self, lets_break: bool) -> None:
        """Give each task its start, what it misses, its abrading, its size and its end."""
        tasks = self.problem.tasks
        self.starts = [
            self.cp.new_int_var(min(head, self.last), max(head, self.last - task.length), f"s{i}")
            for i, (head, task) in enumerate(zip(heads_of(self.problem), tasks, strict=True))
        ]
        self.missed = {
            (i, n): self.cp.new_bool_var(f"m{i}_{n}")
            for i, task in enumerate(tasks)
            for n, link in enumerate(task.links)
            if link.within is not None
        }
        self.late = {i: self.cp.new_bool_var(f"l{i}") for i, t in enumerate(tasks) if t.due is not None and lets_break}
        self.extras = [
            sum(link.abrade * self.missed[i, n] for n, link in enumerate(task.links) if (i, n) in self.missed)
            for i, task in enumerate(tasks)
        ]
        for i, task in enumerate(tasks):
            most = sum(link.abrade for n, link in enumerate(task.links) if (i, n) in self.missed)
            if not most:
                self.sizes.append(int(task.length))
                self.ends.append(self.starts[i] + task.length)
                continue
            size = self.cp.new_int_var(task.length, task.length + most, f"z{i}")
            end = self.cp.new_int_var(0, self.last + most, f"e{i}")
            self.stretched[i] = (size, end)
            self.cp.add(size == task.length + self.extras[i])
            self.cp.add(end == self.starts[i] + size)
            self.sizes.append(size)
            self.ends.append(end)

    def _waits(self) -> None:
        """Hold waits, recoat windows, shifts of what is done in one go, and days to be ready by."""
        for i, task in enumerate(self.problem.tasks):
            for n, link in enumerate(task.links):
                self.cp.add(self.starts[i] >= self.ends[link.before])
                if link.wait:
                    self.cp.add(self._clock(i, is_end=False) >= self._clock(link.before, is_end=True) + link.wait)
                if link.within is not None:
                    closes = self._clock(link.before, is_end=True) + link.within
                    holds = self.cp.add(self._clock(i, is_end=False) <= closes)
                    holds.only_enforce_if(self.missed[i, n].negated())
            if task.is_whole and task.length:
                self.cp.add(self.ends[i] - task.length >= self.grid.shift * self._day(i, is_end=True))
            if task.due is not None and task.length:
                holds = self.cp.add(self._clock(i, is_end=True) <= task.due)
                if i in self.late:
                    holds.only_enforce_if(self.late[i].negated())

    def _crews(self) -> None:
        spans = enumerate(zip(self.starts, self.sizes, self.ends, strict=True))
        intervals = [self.cp.new_interval_var(*span, f"i{i}") for i, span in spans]
        crews = [task.crews for task in self.problem.tasks]
        if all(2 * n > self.problem.crews for n in crews):
            self.cp.add_no_overlap(intervals)
        else:
            self.cp.add_cumulative(intervals, crews, self.problem.crews)

    def _goal(self, bound: int, lets_break: bool) -> None:
        """Ask for the shortest plan with the least abrading, or for the one that breaks least."""
        self.finish = self.cp.new_int_var(bound, max(bound, self.last + self.problem.most_abrading), "finish")
        self.cp.add_max_equality(self.finish, self.ends)
        self.cp.minimize(sum(self.late.values()) if lets_break else self.weight * self.finish + sum(self.extras))

    def _hint(self, hint: Placement) -> None:
        problem, grid, cp = self.problem, self.grid, self.cp
        for i, begin in enumerate(hint.starts):
            stop = hint.end(problem, i)
            cp.add_hint(self.starts[i], begin)
            for n, link in enumerate(problem.tasks[i].links):
                if (i, n) in self.missed:
                    waited = grid.begin(begin) - grid.end(hint.end(problem, link.before))
                    cp.add_hint(self.missed[i, n], waited > (link.within or 0))
            if i in self.stretched:
                cp.add_hint(self.stretched[i][0], stop - begin)
                cp.add_hint(self.stretched[i][1], stop)
            for is_end, at in ((False, begin), (True, stop - 1)):
                if (i, is_end) in self.days:
                    cp.add_hint(self.days[i, is_end], at // grid.shift)
                if (i, is_end) in self.gaps:
                    cp.add_hint(self.gaps[i, is_end], self.shifts[at // grid.shift])
        cp.add_hint(self.finish, hint.finish(problem))

    def _day(self, i: int, *, is_end: bool) -> cp_model.IntVar:
        """Return the day in which a task begins, or works its last slot."""
        if (i, is_end) not in self.days:
            day = self.cp.new_int_var(0, len(self.shifts) - 1, f"d{i}{'e' if is_end else 's'}")
            slot = self.ends[i] - 1 if is_end else self.starts[i]
            self.cp.add(self.grid.shift * day <= slot)
            self.cp.add(slot <= self.grid.shift * day + self.grid.shift - 1)
            self.days[i, is_end] = day
        return self.days[i, is_end]

    def _clock(self, i: int, *, is_end: bool) -> cp_model.LinearExpr:
        from ortools.sat.python import cp_model

        slot = self.ends[i] if is_end else self.starts[i]
        if self.grid.never_pauses:
            return slot + self.shifts[0]
        if (i, is_end) not in self.gaps:
            domain = cp_model.Domain.from_values(self.shifts)
            gap = self.cp.new_int_var_from_domain(domain, f"g{i}{'e' if is_end else 's'}")
            self.cp.add_element(self._day(i, is_end=is_end), self.shifts, gap)
            self.gaps[i, is_end] = gap
        return self.gaps[i, is_end] + slot
