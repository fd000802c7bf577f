"""What pages ask of the reading process: cuts, days, the range and alternates of a job file.

No toolkit is imported here: its import writes the fonts anew that an open window is reading from.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

from takeoff import actions
from takeoff.estimate.alternates import Comparison
from takeoff.estimate.days.works import DayPlan
from takeoff.estimate.simulate import PriceRange
from takeoff.model.cutting import CutList
from takeoff.model.point_register import Register


def cut_plans_of(job: Path) -> tuple[CutList, ...]:
    """Plan the cuts of a job file."""
    with actions.open_job(job) as store:
        return actions.cut_plans(actions.make_estimate(store.job))


def plan_days_of(job: Path, start: date, crews: int, effort: float) -> DayPlan:
    """Plan the days of a job file."""
    with actions.open_job(job) as store:
        return actions.plan_job(store, start=start, crews=crews, effort=effort)


def open_points_of(job: Path) -> Register:
    """Derive the open points of a job file."""
    with actions.open_job(job) as store:
        return actions.open_points(store.job)


def price_range_of(job: Path) -> PriceRange:
    """Draw the range of a job file's price."""
    with actions.open_job(job) as store:
        return actions.price_range(actions.make_estimate(store.job))


def alternates_of(job: Path, systems: tuple[str, ...]) -> Comparison:
    """Price a job file with other systems."""
    with actions.open_job(job) as store:
        return actions.compare_alternates(store, systems)
