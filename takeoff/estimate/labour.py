"""Man-hours by lot and step, slower at height and in cut-up rooms, and what one of them costs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from takeoff.model.costs import LabourLine
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Catalogue, CrewMember, Labour, Rates, Step
from takeoff.system.bases import basis_value, basis_words, counts_wall_area, steps_on
from takeoff.system.words import METRIC_FIRST, Words, percent
from takeoff.units import FOOT, format_money
from takeoff.units.money import rounded


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


def height_factor(bands: Sequence[tuple[float, float, float]], factors: Sequence[tuple[float, float]]) -> float:
    """Return the factor on hours for work at height, weighted by the area in each band.

    Exact where the bands are cut at the factors' heights; a band that straddles one counts by its share of height.
    Without bands the lowest factor holds. ``bands`` are (from height, to height, area) in m, m and m²; ``factors``
    (from height in m, factor), upwards from 0.

    Examples
    --------
    Half the area from the floor to 3 m at factor 1, half above at 1.2:

    >>> round(height_factor([(0.0, 3.0, 30.0), (3.0, 6.0, 30.0)], [(0.0, 1.0), (3.0, 1.2)]), 6)
    1.1
    """
    shares = _at_heights(bands, factors)
    total = math.fsum(area for area, _ in shares)
    return math.fsum(area * factor for area, factor in shares) / total if total > 0.0 else factors[0][1]


def _at_heights(
    bands: Sequence[tuple[float, float, float]], factors: Sequence[tuple[float, float]]
) -> list[tuple[float, float]]:
    limits = [*(height for height, _ in factors), math.inf]
    areas = [0.0] * len(factors)
    for low, high, area in bands:
        for i, (start, end) in enumerate(pairwise(limits)):
            if high > low:
                areas[i] += area * max(0.0, min(high, end) - max(low, start)) / (high - low)
            else:
                areas[i] += area * float(start <= low < end)
    return [(area, factor) for area, (_, factor) in zip(areas, factors, strict=True)]


def cut_up_factor(quantities: Quantities, per_metre: float) -> float:
    """Return the factor on the hours of area steps in a cut-up room.

    That is 1 + ``per_metre`` × (corners + opening edges in m) / (net area in m²); 1 where there is no area.

    Examples
    --------
    >>> cut_up_factor(Quantities(net_area=40.0, inside_corner_length=12.0, jamb_length=4.0), 0.25)
    1.1
    """
    if quantities.net_area <= 0.0:
        return 1.0
    return 1.0 + per_metre * (quantities.corner_length + quantities.opening_edge_length) / quantities.net_area


def labour_lines(
    lots: Sequence[Lot], catalogue: Catalogue, rates: Rates, *, words: Words = METRIC_FIRST
) -> tuple[LabourLine, ...]:
    """Work out the hours of each step in each lot, in lot and step order, at the burdened rate.

    A step of several coats takes its hours for each. Height counts where the step's labour says so, cut-up rooms for
    steps counted by the area of the wall. Steps without labour, or whose basis measured nothing, leave no
    line. ``words`` writes the figures of the arithmetic.
    """
    lines = []
    for lot in lots:
        system = catalogue.system(lot.system)
        at_height = height_factor(lot.bands, rates.height_factors)
        for step in steps_on(system, lot.substrate or rates.substrate):
            value = basis_value(lot.quantities, step.basis, lot.times)
            if step.labour is not None and value > 0.0:
                lines.append(_line(lot, step, step.labour, value, at_height, rates, catalogue.currency, words))
    return tuple(lines)


def crew_days(hours: float, rates: Rates) -> float:
    """Return the days that a full crew needs for these man-hours.

    Examples
    --------
    >>> crew_days(80.0, Rates(crew=4, shift_hours=8.0))
    2.5
    """
    return hours / (rates.crew * rates.shift_hours)


def _line(
    lot: Lot, step: Step, labour: Labour, value: float, at_height: float, rates: Rates, currency: str, words: Words
) -> LabourLine:
    bare, how = value * (labour.minutes or 0.0) / 60.0, f"{labour.minutes or 0.0:g} min each"
    if labour.rate is not None:
        bare, how = value / labour.rate, f"{basis_words(step.basis, labour.rate, words)} an hour"
    at_height = at_height if labour.height_factor else 1.0
    cut_up = cut_up_factor(lot.quantities, rates.cut_up_factor) if counts_wall_area(step.basis) else 1.0
    hours = bare * step.coats * at_height * cut_up
    rate = burdened_rate(rates)
    cost = rounded(hours * rate, currency)
    coats = f" × {step.coats} coats" if step.coats > 1 else ""
    return LabourLine(
        system=lot.system,
        step=step.id,
        name=step.name,
        room=lot.room,
        basis=step.basis,
        basis_value=value,
        hours=hours,
        cost=cost,
        arithmetic=(
            f"{basis_words(step.basis, value, words)} at {how}{coats} = {bare * step.coats:.2f} h",
            f"× {at_height:.3f} for height × {cut_up:.3f} for corners and edges = {hours:.2f} h",
            f"{hours:.2f} h × {words.money(rate, currency)} an hour = {words.money(cost, currency)}",
            *_factor_words(lot, rates, at_height, cut_up, words),
        ),
    )


def _factor_words(lot: Lot, rates: Rates, at_height: float, cut_up: float, words: Words) -> list[str]:
    """Say how the factors came about; one of 1 needs no words."""
    said = []
    if at_height != 1.0:
        shares = [(area, factor) for area, factor in _at_heights(lot.bands, rates.height_factors) if area > 0.0]
        parts = " + ".join(f"{words.short_area(area)} × {factor:g}" for area, factor in shares)
        whole = words.short_area(math.fsum(area for area, _ in shares))
        said.append(f"for height: ({parts}) / {whole} = {at_height:.3f}")
    if cut_up != 1.0:
        q = lot.quantities
        corners, openings = words.short_length(q.corner_length), words.short_length(q.opening_edge_length)
        edges = f"({corners} of corners + {openings} of edges)"
        reach = f"{rates.cut_up_factor / FOOT:.3f} ft" if words.first == "imperial" else f"{rates.cut_up_factor:.3f} m"
        said.append(f"for corners and edges: 1 + {reach} × {edges} / {words.short_area(q.net_area)} = {cut_up:.3f}")
    return said
