"""What a man-hour costs: the wage with its burden, over the classes of a crew, with overtime in a long shift."""

from __future__ import annotations

import math

from takeoff.model.systems import CrewMember, Rates
from takeoff.system.words import percent
from takeoff.units import format_money


def burdened_rate(rates: Rates) -> float:
    """Return the cost of one man-hour: wage × (1 + burden), with fringe and overtime, in the mean over a crew.

    Overtime counts on wage and burden, never on fringe. Of a shift of S hours with overtime after N the mean factor is
    (N + (S − N) × f) / S.

    Examples
    --------
    >>> round(burdened_rate(Rates(wage=45.0, burden=0.35)), 6)
    60.75
    """
    factor = overtime_mean(rates)
    people = _people(rates)
    total = math.fsum(p.count * (p.wage * (1.0 + _burden(p, rates)) * factor + p.fringe) for p in people)
    return total / sum(p.count for p in people)


def overtime_mean(rates: Rates) -> float:
    """Return the mean factor on the wage over a shift.

    Examples
    --------
    Ten hours with overtime at one and a half after eight:

    >>> overtime_mean(Rates(shift_hours=10.0, overtime_after=8.0))
    1.1
    """
    after = rates.overtime_after
    if after is None or rates.shift_hours <= after:
        return 1.0
    return (after + (rates.shift_hours - after) * rates.overtime_factor) / rates.shift_hours


def wage_words(rates: Rates, currency: str) -> tuple[str, ...]:
    """Say how the cost of a man-hour comes about."""

    def money(value: float) -> str:
        return format_money(value, currency)

    factor = overtime_mean(rates)
    over = f" × {factor:.4g}" if factor != 1.0 else ""
    lines = []
    if factor != 1.0:
        lines.append(
            f"Overtime: ({rates.overtime_after:g} h + {rates.shift_hours - (rates.overtime_after or 0.0):g} h ×"
            f" {rates.overtime_factor:g}) ÷ {rates.shift_hours:g} h = {factor:.4g} in the mean."
        )
    if not rates.people:
        hourly = money(burdened_rate(rates))
        return (*lines, f"{money(rates.wage)} × (1 + {rates.burden:g}){over} = {hourly} an hour")
    for p in rates.people:
        fringe = f" + {money(p.fringe)} fringe" if p.fringe else ""
        cost = p.wage * (1.0 + _burden(p, rates)) * factor + p.fringe
        lines.append(
            f"{p.count} × {p.name}: {money(p.wage)} with {percent(_burden(p, rates))} burden{over}{fringe} ="
            f" {money(cost)} an hour"
        )
    return (*lines, f"In the mean of {rates.crew} people {money(burdened_rate(rates))} an hour")


def _people(rates: Rates) -> tuple[CrewMember, ...]:
    return rates.people or (CrewMember(name="crew", count=rates.crew, wage=rates.wage),)


def _burden(member: CrewMember, rates: Rates) -> float:
    return rates.burden if member.burden is None else member.burden
