"""Jobs that tests begin with, made as a person makes one."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from takeoff import actions
from takeoff.job.job import JobSettings
from takeoff.job.store import JobStore

PLANS = Path(__file__).parents[1] / "sample_plans"
AT = "2026-03-02T10:00:00+00:00"
DONE: dict[str, Any] = {"sign": lambda: ("test", AT)}
"""Who did what is done, and when."""


def job_on(path: Path, *plans: Path | tuple[str, bytes], tells_units: bool = False, **settings: Any) -> JobStore:
    """Start a job on plan files, each a path or a name with its bytes; it is open."""
    files = [plan if isinstance(plan, tuple) else (plan.name, plan.read_bytes()) for plan in plans]
    kept = JobSettings(**{"name": "Sample", **settings})
    return actions.new_job(path, files, kept, **DONE, tells_units=tells_units)[0]


def sample_on(path: Path, *, is_traced: bool = True, plan: str = "facility-imperial.pdf", **settings: Any) -> JobStore:
    """Start a job on the imperial sample plan at its scale, with its runs where it ``is_traced``."""
    store = job_on(path, PLANS / plan, **settings)
    actions.set_scale_note(store, actions.find_sheet(store.job, "A-101"), '1/4" = 1\'-0"')
    if is_traced:
        actions.apply_edits(store, (PLANS / "facility-edits.json").read_bytes())
    return store
