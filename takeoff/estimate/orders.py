"""What to order, delivery by delivery: packs of each product, when they are needed, and when to order them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from takeoff.estimate.days.works import DayPlan, PlannedWork
from takeoff.model.costs import Estimate, MaterialLine, PackCount
from takeoff.model.systems import Catalogue, Keeping


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """One product of one delivery.

    ``name`` is without the ``colour``. ``delivery`` counts from 1 and is 0 where no days are planned; ``need_by`` is
    the day on which it must be there, ``order_by`` that day less its ``lead_days``. ``assumed`` names what nobody took
    from a supplier or a data sheet. ``notes`` say what speaks against one delivery.
    """

    delivery: int
    product: str
    name: str
    colour: str
    code: str
    packs: tuple[PackCount, ...]
    colour_packs: int
    need_by: date | None
    order_by: date | None
    lead_days: int | None = None
    assumed: tuple[Keeping, ...] = ()
    notes: tuple[str, ...] = ()


def order_list(estimate: Estimate, catalogue: Catalogue, plan: DayPlan | None = None) -> tuple[OrderLine, ...]:
    """Return the order list of a priced job, by delivery and in the order of first use.

    What is first used in one calendar week comes in one delivery, on the first of those days. ``plan`` are the days in
    which it is used; without it nothing is dated. Lead times and shelf lives are those of the ``catalogue``.
    """
    if plan is None or not plan.works:
        return tuple(_line(line, catalogue) for line in estimate.materials)
    used = [(_days_of_use(line, plan.works), line) for line in estimate.materials]
    weeks: dict[tuple[int, int], list[tuple[tuple[date, date], MaterialLine]]] = {}
    for days, line in sorted(used, key=lambda one: one[0][0]):
        weeks.setdefault(days[0].isocalendar()[:2], []).append((days, line))
    return tuple(
        _line(line, catalogue, number, group[0][0][0], last)
        for number, group in enumerate(weeks.values(), start=1)
        for (_, last), line in group
    )


def _line(
    line: MaterialLine, catalogue: Catalogue, delivery: int = 0, need_by: date | None = None, last: date | None = None
) -> OrderLine:
    """Make the line of a product that comes on ``need_by`` and is last used on ``last``."""
    product = catalogue.product(line.product)
    lead, keeps = product.lead_days, product.shelf_life_days
    notes = []
    if need_by is not None and last is not None and keeps is not None and (last - need_by).days > keeps:
        notes.append(f"keeps {keeps} days and is used until {last}: have it brought in parts")
    return OrderLine(
        delivery=delivery,
        product=line.product,
        name=product.name,
        colour=line.colour,
        code=product.code,
        packs=line.packs,
        colour_packs=line.colour_packs,
        need_by=need_by,
        order_by=None if need_by is None or lead is None else need_by - timedelta(days=lead),
        lead_days=lead,
        assumed=product.assumed,
        notes=tuple(notes),
    )


def _days_of_use(line: MaterialLine, works: Sequence[PlannedWork]) -> tuple[date, date]:
    """First and last day of the works that take a product; of all of them where it is taken without labour."""
    steps = {(f"{need.room}/{need.system}/", need.step) for need in line.needs}
    uses = [
        work
        for work in works
        if any(work.work.startswith(place) and step in work.step.split("+") for place, step in steps)
    ] or works
    return min(work.start for work in uses).date(), max(work.end for work in uses).date()
