"""The plan by CP-SAT: starts in working time, waits on the clock, crews as cumulative resources.

The model begins from a quick plan as its hint and may only improve on it. Length comes first, then abrading.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from takeoff.estimate.days.bounds import heads_of
from takeoff.estimate.days.problem import Placement, Problem


@dataclass(frozen=True, slots=True)
class Solved:
    """The best placement found, or None; a slot before which no plan finishes; whether there is proven to be none."""

    placement: Placement | None
    bound: int
    is_impossible: bool


def solve(
    problem: Problem, hint: Placement, *, bound: int, seconds: float, workers: int, lets_break: bool = False
) -> Solved:
    """Look for a shorter plan than the hint within so many seconds.

    Parameters
    ----------
    problem
        What to plan.
    hint
        A placement to start from; where nothing of it is broken, its finish is not exceeded.
    bound
        A slot before which no plan finishes.
    seconds, workers
        Time limit and search threads.
    lets_break
        Look for the plan that breaks the fewest due times and windows, instead of the shortest.
    """
    from ortools.sat.python import cp_model

    grid = problem.grid
    heads = heads_of(problem)
    last = problem.most if hint.broken else hint.finish(problem)
    shifts = [start - day * grid.shift for day, start in enumerate(grid.day_starts)][: last // grid.shift + 1]
    model = cp_model.CpModel()
    starts = [
        model.new_int_var(min(head, last), max(head, last - task.length), f"s{i}")
        for i, (head, task) in enumerate(zip(heads, problem.tasks, strict=True))
    ]
    missed = {
        (i, n): model.new_bool_var(f"m{i}_{n}")
        for i, task in enumerate(problem.tasks)
        for n, link in enumerate(task.links)
        if link.within is not None and (link.abrade is not None or lets_break)
    }
    late = {i: model.new_bool_var(f"l{i}") for i, t in enumerate(problem.tasks) if t.due is not None and lets_break}
    extras = [
        sum((link.abrade or 0) * missed[i, n] for n, link in enumerate(task.links) if (i, n) in missed)
        for i, task in enumerate(problem.tasks)
    ]
    stretched: dict[int, tuple[cp_model.IntVar, cp_model.IntVar]] = {}
    sizes: list[cp_model.LinearExprT] = []
    ends: list[cp_model.LinearExpr] = []
    for i, task in enumerate(problem.tasks):
        most = sum(link.abrade or 0 for n, link in enumerate(task.links) if (i, n) in missed)
        if not most:
            sizes.append(int(task.length))
            ends.append(starts[i] + task.length)
            continue
        size = model.new_int_var(task.length, task.length + most, f"z{i}")
        end = model.new_int_var(0, last + most, f"e{i}")
        stretched[i] = (size, end)
        model.add(size == task.length + extras[i])
        model.add(end == starts[i] + size)
        sizes.append(size)
        ends.append(end)
    days: dict[tuple[int, bool], cp_model.IntVar] = {}

    def day_of(i: int, *, is_end: bool) -> cp_model.IntVar:
        """Return the day in which a task begins, or works its last slot."""
        if (i, is_end) not in days:
            day = model.new_int_var(0, len(shifts) - 1, f"d{i}{'e' if is_end else 's'}")
            slot = ends[i] - 1 if is_end else starts[i]
            model.add(grid.shift * day <= slot)
            model.add(slot <= grid.shift * day + grid.shift - 1)
            days[i, is_end] = day
        return days[i, is_end]

    gaps: dict[tuple[int, bool], cp_model.IntVar] = {}

    def clock_of(i: int, *, is_end: bool) -> cp_model.LinearExpr:
        """Return the clock slot at which a task begins or ends."""
        slot = ends[i] if is_end else starts[i]
        if grid.never_pauses:
            return slot + shifts[0]
        if (i, is_end) not in gaps:
            gap = model.new_int_var_from_domain(cp_model.Domain.from_values(shifts), f"g{i}{'e' if is_end else 's'}")
            model.add_element(day_of(i, is_end=is_end), shifts, gap)
            gaps[i, is_end] = gap
        return gaps[i, is_end] + slot

    for i, task in enumerate(problem.tasks):
        for n, link in enumerate(task.links):
            model.add(starts[i] >= ends[link.before])
            if link.wait:
                model.add(clock_of(i, is_end=False) >= clock_of(link.before, is_end=True) + link.wait)
            if link.within is not None:
                holds = model.add(clock_of(i, is_end=False) <= clock_of(link.before, is_end=True) + link.within)
                if (i, n) in missed:
                    holds.only_enforce_if(missed[i, n].negated())
        if task.is_whole and task.length:
            model.add(ends[i] - task.length >= grid.shift * day_of(i, is_end=True))
        if task.due is not None and task.length:
            holds = model.add(clock_of(i, is_end=True) <= task.due)
            if i in late:
                holds.only_enforce_if(late[i].negated())
    for crew, count in enumerate(problem.counts):
        mine = [(i, dict(task.crews)[crew]) for i, task in enumerate(problem.tasks) if crew in dict(task.crews)]
        intervals = [model.new_interval_var(starts[i], sizes[i], ends[i], f"i{crew}_{i}") for i, _ in mine]
        if all(2 * n > count for _, n in mine):
            model.add_no_overlap(intervals)
        else:
            model.add_cumulative(intervals, [n for _, n in mine], count)
    finish = model.new_int_var(bound, max(bound, last + problem.most_abrading), "finish")
    model.add_max_equality(finish, ends)
    abrading = sum(extras)
    weight = problem.most_abrading + 1
    must_hold = [(i, n) for i, n in missed if problem.tasks[i].links[n].abrade is None]
    broken = sum(missed[key] for key in must_hold) + sum(late.values())
    model.minimize(broken if lets_break else weight * finish + abrading)
    for i, begin in enumerate(hint.starts):
        stop = hint.end(problem, i)
        model.add_hint(starts[i], begin)
        for n, link in enumerate(problem.tasks[i].links):
            if (i, n) in missed:
                late_by = grid.begin(begin) - grid.end(hint.end(problem, link.before)) - (link.within or 0)
                model.add_hint(missed[i, n], late_by > 0)
        if i in stretched:
            model.add_hint(stretched[i][0], stop - begin)
            model.add_hint(stretched[i][1], stop)
        for is_end, at in ((False, begin), (True, stop - 1)):
            if (i, is_end) in days:
                model.add_hint(days[i, is_end], at // grid.shift)
            if (i, is_end) in gaps:
                model.add_hint(gaps[i, is_end], shifts[at // grid.shift])
    model.add_hint(finish, hint.finish(problem))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = workers
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Solved(None, bound, status == cp_model.INFEASIBLE)
    placement = Placement(
        tuple(solver.value(start) for start in starts),
        tuple(solver.value(extra) for extra in extras),
        tuple(
            [key for key in must_hold if solver.value(missed[key])]
            + [(i, None) for i, is_late in late.items() if solver.value(is_late)]
        ),
    )
    least = bound if lets_break else max(bound, math.ceil(solver.best_objective_bound - 1e-6) // weight)
    return Solved(placement, least, False)
