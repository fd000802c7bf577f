"""The bill of quantities: what is measured of each system, and its share of the price."""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from operator import add

from takeoff.measure.rules import EXACT_NET
from takeoff.model.costs import Estimate, RoomPrice
from takeoff.model.figures import Quantities
from takeoff.report.content import ReportContent


@dataclass(frozen=True, slots=True, kw_only=True)
class BillLine:
    """One item: number, words, unit, quantity, rate and amount as shown; empty where the item above covers it."""

    number: str
    words: str
    unit: str
    quantity: str
    rate: str = ""
    amount: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BillPart:
    """The items of one system, and what they come to."""

    title: str
    lines: tuple[BillLine, ...]
    amount: str


def bill(content: ReportContent) -> tuple[BillPart, ...]:
    """Set out the bill system by system; the parts' amounts add up to the price.

    The first item of a part carries the rate, all its work in: per area by the job's measuring rule, which is the net
    area where it has none, or per length of cove where a system coats no wall. The rate has as many decimals as it
    takes for quantity × rate to give the amount. A cove that was measured and that no step of the system makes is not
    included.
    """
    system_of = {e.run: e.system or "" for e in content.elevations}
    estimate = content.estimate
    with_cove = systems_with_cove(estimate)
    parts = []
    for n, share in enumerate(estimate.systems, start=1):
        of_runs = [item.quantities for item in content.by_run.items if system_of.get(item.sources[0]) == share.id]
        parts.append(_part(n, share, reduce(add, of_runs, Quantities()), content, has_cove=share.id in with_cove))
    return tuple(parts)


def unit_rates(content: ReportContent) -> tuple[tuple[BillPart, float], ...]:
    """Give the part of each system with something to measure, and its price per unit of its first item to the cent."""
    parts = [part for part in bill(content) if part.lines]
    return tuple((part, round(float(part.lines[0].rate.replace(",", "")), 2)) for part in parts)


def systems_with_cove(result: Estimate) -> set[str]:
    """Ids of the systems of which a step makes a cove."""
    made = {work.system for work in result.labour if work.basis.startswith("cove")}
    return made | {n.system for line in result.materials for n in line.needs if n.basis.startswith("cove")}


def rate_for(amount: float, quantity: float) -> str:
    """Write a rate with the fewest decimals, two or more, with which quantity × rate is the amount to the cent.

    Examples
    --------
    >>> rate_for(15897.33, 1030.7), rate_for(100.0, 8.0)
    ('15.42382', '12.50')
    """
    for decimals in range(2, 10):
        rate = round(amount / quantity, decimals)
        if abs(round(quantity * rate, 2) - amount) < 0.005:
            break
    return f"{rate:,.{decimals}f}"


def _part(n: int, share: RoomPrice, q: Quantities, content: ReportContent, *, has_cove: bool) -> BillPart:
    d = content.display
    area, length = d.area_number, d.length_number
    walls = [("Walls coated, net of openings", d.area_unit, area(share.area), 1)]
    if content.rule != EXACT_NET and share.area > 0.0:
        paid = (f"Walls coated, measured by {content.rule}", d.area_unit, area(q.measured_area), 1)
        walls = [paid, ("Walls coated, net of openings, as ordered", *walls[0][1:])]
    items = [
        *walls,
        ("Cove", d.length_unit, length(q.cove_length), 1),
        ("Returns coated", d.area_unit, area(q.return_area), 1),
        ("Inside corners", d.length_unit, length(q.inside_corner_length), 1),
        ("Outside corners", d.length_unit, length(q.outside_corner_length), 1),
        ("Terminations and edges of openings", d.length_unit, length(q.termination_length), 1),
        ("Openings cut out", "each", q.openings, 0),
    ]
    shown = [item for item in items if item[2] > 0.0]
    lines = []
    for k, (words, unit, quantity, decimals) in enumerate(shown, start=1):
        first = k == 1
        covered = "included" if words != "Cove" or has_cove else "not included"
        lines.append(
            BillLine(
                number=f"{n}.{k}",
                words=words,
                unit=unit,
                quantity=f"{quantity:,.{decimals}f}",
                rate=rate_for(share.price, round(quantity, decimals)) if first else covered,
                amount=f"{share.price:,.2f}" if first else "",
            )
        )
    return BillPart(title=share.label, lines=tuple(lines), amount=f"{share.price:,.2f}")
