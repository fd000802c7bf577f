"""What a step covers and abrades: the wall, its cove, or the edge where the coating stops. Each has a clock of its own.

From coat to coat on one surface the data sheets give a recoat window; what is done on another surface in between does
not start it anew, and abrading ends it.
"""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.model.systems import Step, Surface, System

COVERING = ("coat", "mat", "broadcast", "cove", "panel", "sealant")
"""Kinds of step that lay something over a whole surface."""


def surface_of(step: Step) -> Surface:
    """Return the surface that a step is done on: what it says, or what its basis goes by.

    Examples
    --------
    >>> surface_of(Step(id="a", name="A", kind="work", basis="cove_length"))
    'cove'
    >>> surface_of(Step(id="a", name="A", kind="work", basis="coated_area"))
    'wall'
    """
    if step.surface is not None:
        return step.surface
    if step.kind == "cove" or step.basis.startswith("cove_"):
        return "cove"
    return "edge" if step.basis in ("termination_length", "base_length", "top_length") else "wall"


def covers(step: Step) -> bool:
    """Say whether a step covers its surface, so that the surface's clock starts anew."""
    return step.kind in COVERING or step.min_recoat is not None or step.max_recoat is not None


def most_between(step: Step) -> float | None:
    """Return the most hours from one coat of a step to its next."""
    return step.max_recoat if step.max_between is None else step.max_between


def pour_of(system: System, step: Step) -> tuple[Step, ...]:
    """Return the steps that are worked together with a step, wet into wet, in their order; often itself alone."""
    steps = system.steps
    at = steps.index(step)
    first = next(n for n in range(at, -1, -1) if not steps[n].into_wet)
    last = next((n for n in range(first + 1, len(steps)) if not steps[n].into_wet), len(steps))
    return steps[first:last]


def ruling(pour: Sequence[Step]) -> dict[Surface, Step]:
    """Return for each surface that steps worked together cover the one whose recoat window rules.

    That is the last that has a window, or the last of all.

    Examples
    --------
    >>> base = Step(id="base", name="Base", kind="coat", basis="net_area")
    >>> flake = Step(id="flake", name="Flake", kind="broadcast", basis="net_area", min_recoat=12.0)
    >>> {surface: step.id for surface, step in ruling([base, flake]).items()}
    {'wall': 'flake'}
    """
    found: dict[Surface, Step] = {}
    for step in pour:
        if covers(step):
            surface = surface_of(step)
            has_window = step.min_recoat is not None or step.max_recoat is not None
            old = found.get(surface)
            if has_window or old is None or (old.min_recoat is None and old.max_recoat is None):
                found[surface] = step
    return found
