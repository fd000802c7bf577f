"""What to order, delivery by delivery: packs of each product, when they are needed, and when to order them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from takeoff.estimate.days.works import DayPlan, PlannedWork
from takeoff.model.costs import Estimate, MaterialLine, PackCount
from takeoff.model.systems import Catalogue


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """One product of one delivery.

    ``delivery`` counts from 1 and is 0 where no days are planned; ``need_by`` is the day it is first used,
    ``order_by`` that day less its lead time. ``notes`` say what speaks against one delivery.
    """

    delivery: int
    product: str
    name: str
    code: str
    packs: tuple[PackCount, ...]
    colour_packs: int
    need_by: date | None
    order_by: date | None
    notes: tuple[str, ...] = ()


def order_list(estimate: Estimate, catalogue: Catalogue, plan: DayPlan | None = None) -> tuple[OrderLine, ...]:
    """Return the order list of a priced job, by delivery and in the order of first use.

    What is first used in one calendar week comes in one delivery, on the first of those days.

    Parameters
    ----------
    estimate, catalogue
        What is bought, and lead times and shelf lives.
    plan
        Days in which it is used; without it nothing is dated.
    """
    lines = [_line(line, catalogue, plan) for line in estimate.materials]
    if plan is None or not plan.works:
        return tuple(lines)
    weeks: dict[tuple[int, int], list[OrderLine]] = {}
    for line in sorted(lines, key=lambda line: line.need_by or date.max):
        if line.need_by is not None:
            year, week, _ = line.need_by.isocalendar()
            weeks.setdefault((year, week), []).append(line)
    return tuple(
        OrderLine(
            delivery=number,
            product=line.product,
            name=line.name,
            code=line.code,
            packs=line.packs,
            colour_packs=line.colour_packs,
            need_by=group[0].need_by,
            order_by=line.order_by,
            notes=line.notes,
        )
        for number, group in enumerate(weeks.values(), start=1)
        for line in group
    )


def _line(line: MaterialLine, catalogue: Catalogue, plan: DayPlan | None) -> OrderLine:
    product = catalogue.product(line.product)
    uses = [] if plan is None else _uses(line, plan.works)
    need_by = min((work.start.date() for work in uses), default=None)
    notes = []
    if need_by is not None and product.shelf_life_days is not None:
        last = max(work.end.date() for work in uses)
        if (last - need_by).days > product.shelf_life_days:
            notes.append(f"keeps {product.shelf_life_days} days and is used until {last}: have it brought in parts")
    lead = timedelta(days=product.lead_days or 0)
    return OrderLine(
        delivery=0,
        product=line.product,
        name=line.name,
        code=product.code,
        packs=line.packs,
        colour_packs=line.colour_packs,
        need_by=need_by,
        order_by=None if need_by is None or product.lead_days is None else need_by - lead,
        notes=tuple(notes),
    )


def _uses(line: MaterialLine, works: Sequence[PlannedWork]) -> list[PlannedWork]:
    """Return the works that take a product; all of them where it is taken without labour."""
    steps = {(f"{need.room}/{need.system}/", need.step) for need in line.needs}
    found = [
        work
        for work in works
        if any(work.work.startswith(place) and step in work.step.split("+") for place, step in steps)
    ]
    return found or list(works)
