"""Man-hours by lot and step: basis over production rate, slower at height and in cut-up rooms."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from takeoff.estimate.wages import burdened_rate
from takeoff.model.costs import Arithmetic, LabourLine
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Catalogue, Labour, Rates, Step
from takeoff.system.bases import basis_value, basis_words, counts_wall_area, steps_on
from takeoff.system.words import METRIC_FIRST, Words
from takeoff.units import FOOT
from takeoff.units.money import rounded


def height_factor(bands: Sequence[tuple[float, float, float]], factors: Sequence[tuple[float, float]]) -> float:
    """Return the factor on hours for work at height, weighted by the area in each band.

    Exact where the bands are cut at the factors' heights; a band that straddles one counts by its share of height.
    Without bands the lowest factor holds.

    Parameters
    ----------
    bands
        (from height, to height, area) in m, m and m².
    factors
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
    lot: Lot,
    step: Step,
    labour: Labour,
    value: float,
    at_height: float,
    rates: Rates,
    currency: str,
    words: Words,
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
        arithmetic=Arithmetic(
            lines=(
                f"{basis_words(step.basis, value, words)} at {how}{coats} = {bare * step.coats:.2f} h",
                f"× {at_height:.3f} for height × {cut_up:.3f} for corners and edges = {hours:.2f} h",
                f"{hours:.2f} h × {words.money(rate, currency)} an hour = {words.money(cost, currency)}",
                *_factor_words(lot, rates, at_height, cut_up, words),
            )
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
