"""Why each work starts no earlier: the wait, the crew, the shift or the window that holds it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from takeoff.estimate.days.calendar import moment_words
from takeoff.estimate.days.problem import Link, Placement, Problem
from takeoff.estimate.days.works import Crew, Work


def reasons(problem: Problem, works: Sequence[Work], crews: Sequence[Crew], placement: Placement) -> list[str]:
    """Say of each task why it does not start earlier."""
    size = placement.finish(problem) + 1
    used = [np.zeros(size, dtype=np.int64) for _ in crews]
    for i, task in enumerate(problem.tasks):
        for crew, count in task.crews:
            used[crew][placement.starts[i] : placement.end(problem, i)] += count
    ending: dict[int, list[int]] = {}
    for i in range(len(works)):
        ending.setdefault(placement.end(problem, i), []).append(i)
    return [_reason(problem, works, crews, placement, used, ending, i) for i in range(len(works))]


def _reason(
    problem: Problem,
    works: Sequence[Work],
    crews: Sequence[Crew],
    placement: Placement,
    used: Sequence[NDArray[np.int64]],
    ending: dict[int, list[int]],
    i: int,
) -> str:
    grid, task, at = problem.grid, problem.tasks[i], placement.starts[i]
    held: list[tuple[int, Link | None]] = [(grid.first_at(task.opens), None)]
    for link in task.links:
        end = placement.end(problem, link.before)
        held.append((max(end, grid.first_at(grid.end(end) + link.wait)), link))
    ready, binding = max(held, key=lambda pair: pair[0])
    if at <= ready:
        if binding is None:
            if at > problem.begins:
                return f"the room opens {moment_words(grid.moment(task.opens))}"
            return "follows the set-up" if problem.begins else "starts the job"
        before = works[binding.before]
        name = f"{before.name} in {before.room}"
        if not binding.wait:
            return f"follows {name}"
        until = grid.end(placement.end(problem, binding.before)) + binding.wait
        outside = ", outside the shift" if grid.begin(at) > until else ""
        wait = f"{round(grid.hours(binding.wait), 2):g} h"
        return f"waits {wait} after {name}, until {moment_words(grid.moment(until))}{outside}"
    length = placement.end(problem, i) - at
    for crew, count in task.crews:
        if used[crew][at - 1] + count > crews[crew].count:
            at_work = [j for j in ending.get(at, []) if j != i and crew in dict(problem.tasks[j].crews)]
            if not at_work:
                return f"waits for {crews[crew].name}"
            doing = works[at_work[0]]
            return f"{crews[crew].name} is at {doing.name} in {doing.room} until then"
    if task.is_whole and (at - 1 + placement.abrading[i]) % grid.shift + task.length > grid.shift:
        return "is done in one go and does not fit into the rest of the shift before"
    for crew, count in task.crews:
        others = used[crew][at - 1 : at - 1 + length].copy()
        others[1:] -= count
        if bool(np.any(others + count > crews[crew].count)):
            return f"waits for {crews[crew].name}, free too briefly before"
    return "is held so that what follows it falls into its recoat window, or nothing is gained by an earlier start"
