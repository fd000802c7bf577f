"""The range of a price: three-point rates drawn many times, percentiles, and what drives the spread.

Every draw multiplies the amounts that a rate governs and goes up the same lines to the price as the estimate does,
cents left aside. Rates are independent of each other, and equal for everything they govern.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from takeoff.errors import InputError
from takeoff.estimate.bill import OWN, markup_of_margin
from takeoff.model.costs import Estimate
from takeoff.model.systems import Rates

PartKind = Literal["material", "freight", "labour", "access", "site", "own", "on top"]
Draws = NDArray[np.float64]


KIND_OF_LINE: dict[str, PartKind] = {
    "freight": "freight",
    "abrading": "site",
    "waiting": "site",
    "setup": "labour",
    "travel": "site",
    "stay": "site",
    "access": "access",
}
"""What price lines other than material and labour are."""

FEWEST_VISITS, MOST_VISITS = 0.9, 1.35
"""Visits as parts of the likely: days on site grow more often than they shrink; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreePoint:
    """A rate with its low, likely and high value in its own unit, above zero and in this order.

    ``governs`` names the parts it scales in proportion.
    """

    id: str
    label: str
    low: float
    likely: float
    high: float
    governs: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """An amount of direct cost at likely rates; one "on top" comes after overhead and profit."""

    id: str
    label: str
    kind: PartKind
    amount: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Driver:
    """How a rate moves the price, and its share of the variance.

    The prices are those where what it governs costs its P10 and its P90, with all other lines at their likely value.
    """

    id: str
    label: str
    low_price: float
    high_price: float
    share: float

    @property
    def swing(self) -> float:
        """How far apart the two prices are."""
        return abs(self.high_price - self.low_price)


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceRange:
    """Percentiles of the price before tax on it: P80 is not exceeded in 80 of 100 draws.

    ``likely`` is the price with every rate at its likely value. ``asked`` is the price that is asked, and ``holds`` the
    part of the draws that stay under it; None where no price was named. ``drivers`` come widest swing first.
    """

    draws: int
    seed: int
    likely: float
    mean: float
    deviation: float
    p10: float
    p50: float
    p80: float
    p90: float
    drivers: tuple[Driver, ...]
    asked: float | None = None
    holds: float | None = None

    @property
    def words(self) -> str:
        """Say how often the price that is asked would hold."""
        if self.holds is None:
            return ""
        return f"The price would hold in {round(100.0 * self.holds)} of 100 such jobs."


def draw(rate: ThreePoint, count: int, generator: np.random.Generator) -> Draws:
    """Draw values of a rate."""
    span = rate.high - rate.low
    if span <= 0.0:
        return np.full(count, rate.likely)
    towards = (rate.likely - rate.low) / span
    values: Draws = rate.low + span * generator.beta(1.0 + 4.0 * towards, 5.0 - 4.0 * towards, count)
    return values


def parts_of(estimate: Estimate) -> tuple[Part, ...]:
    """Return an estimate's direct cost in parts: each product, each step of each system, its other lines.

    Ids are ``material:PRODUCT`` and ``labour:SYSTEM:STEP``, others those of the price lines.
    """
    groups: dict[tuple[PartKind, str], tuple[str, list[float]]] = {}
    for line in estimate.materials:
        groups.setdefault(("material", line.product), (line.name, []))[1].append(line.cost)
    called = {system.id: system.label for system in estimate.systems}
    for work in estimate.labour:
        name = f"{work.name} · {called.get(work.system, work.system)}"
        groups.setdefault(("labour", f"{work.system}:{work.step}"), (name, []))[1].append(work.cost)
    parts = [
        Part(id=f"{kind}:{id}", label=name, kind=kind, amount=math.fsum(costs))
        for (kind, id), (name, costs) in groups.items()
    ]
    ids = [line.id for line in estimate.price]
    for n, priced in enumerate(estimate.price):
        kind_of = KIND_OF_LINE.get(priced.id)
        if priced.id.startswith(OWN):
            kind_of = "own" if n < ids.index("direct") else "on top"
        if kind_of is not None and priced.amount:
            parts.append(Part(id=priced.id, label=priced.label, kind=kind_of, amount=priced.amount))
    return tuple(parts)


def usual_spreads(parts: Sequence[Part], *, most: int = 12, quantity: float = 0.0) -> tuple[ThreePoint, ...]:
    """Return spreads to start from: what moves all labour and all material together, and the largest parts alone.

    All hours 90 to 125 % of the likely, all material 95 to 110 %; each of the largest parts, up to ``most``, hours 85
    to 140 % and material 95 to 115 % besides. What a plan of days is paid for goes 90 to 135 % with the visits. Common
    practice without a source: a person's own records replace them. ``quantity`` is the relative standard uncertainty of
    the measured area, which all labour and material follow, three of it either way.
    """
    priced = [part for part in parts if part.kind in ("material", "labour") and part.amount > 0.0]
    off = min(3.0 * quantity, 0.9) if priced else 0.0
    site = [part for part in parts if part.kind in ("site", "access")]
    rows = [
        (kind, label, low, high, [part for part in priced if part.kind == kind])
        for kind, label, low, high in (("labour", "All labour", 0.90, 1.25), ("material", "All material", 0.95, 1.10))
    ]
    rows += [
        ("visits", "Visits and days on site", FEWEST_VISITS, MOST_VISITS, site),
        ("quantity", "Measured quantities", 1.0 - off, 1.0 + off, priced if off else []),
    ]
    for part in sorted(priced, key=lambda part: -part.amount)[:most]:
        low, high = (0.95, 1.15) if part.kind == "material" else (0.85, 1.4)
        rows.append((part.id, part.label, low, high, [part]))
    return tuple(
        ThreePoint(id=id, label=label, low=low, likely=1.0, high=high, governs=tuple(part.id for part in own))
        for id, label, low, high, own in rows
        if own
    )


def simulate_price(
    parts: Sequence[Part],
    spreads: Sequence[ThreePoint],
    rates: Rates,
    *,
    draws: int = 100_000,
    seed: int = 1,
    asked: float | None = None,
) -> PriceRange:
    """Draw the rates many times and return the range of the price.

    ``parts`` are direct cost at likely rates (`parts_of`), ``spreads`` rates with three points each and the parts they
    govern. ``rates`` give the fractions from direct cost to price; contingency is left out, since the range takes its
    place. ``asked`` is a price before tax, of which it is told how often it would hold. Raises `InputError` when
    nothing is drawn.

    Examples
    --------
    >>> parts = (Part(id="a", label="Labour", kind="labour", amount=1000.0),)
    >>> spread = ThreePoint(id="a", label="Hours", low=0.8, likely=1.0, high=1.6, governs=("a",))
    >>> found = simulate_price(parts, (spread,), Rates(overhead=0.0, profit=0.0))
    >>> found.likely, round(found.mean, -1), found.drivers[0].share
    (1000.0, 1070.0, 1.0)
    """
    if draws < 1:
        raise InputError(f"{draws} draws", remedy="Draw at least once; 100 000 is usual.")
    generator = np.random.default_rng(seed)
    factors = {spread.id: draw(spread, draws, generator) / spread.likely for spread in spreads}
    prices = _prices(parts, spreads, rates, factors)
    p10, p50, p80, p90 = (float(p) for p in np.percentile(prices, (10, 50, 80, 90)))
    return PriceRange(
        draws=draws,
        seed=seed,
        likely=float(_prices(parts, spreads, rates, {})[0]),
        mean=float(prices.mean()),
        deviation=float(prices.std()),
        p10=p10,
        p50=p50,
        p80=p80,
        p90=p90,
        drivers=_drivers(parts, spreads, rates, factors, _shares(factors, prices)),
        asked=asked,
        holds=None if asked is None else float(np.mean(prices <= asked)),
    )


def _drivers(
    parts: Sequence[Part],
    spreads: Sequence[ThreePoint],
    rates: Rates,
    factors: Mapping[str, Draws],
    shares: Mapping[str, float],
) -> tuple[Driver, ...]:
    drivers = []
    for spread in spreads:
        ends = np.percentile(factors[spread.id], (10, 90))
        low, high = (float(p) for p in _prices(parts, spreads, rates, {spread.id: ends}))
        drivers.append(
            Driver(id=spread.id, label=spread.label, low_price=low, high_price=high, share=shares[spread.id])
        )
    return tuple(sorted(drivers, key=lambda driver: -driver.swing))


def _prices(parts: Sequence[Part], spreads: Sequence[ThreePoint], rates: Rates, factors: Mapping[str, Draws]) -> Draws:
    """Take the parts up to the price before tax on it; a rate without factors is at its likely value."""
    amounts: dict[tuple[str, ...], float] = {}
    of_price = math.fsum(line.amount for line in rates.lines if line.of == "price")
    own = {OWN + line.id: line for line in rates.lines}
    on_top = math.fsum(p.amount for p in parts if p.kind == "on top" and own[p.id].of != "price")
    for part in parts:
        if part.kind == "on top":
            continue
        governing = tuple(spread.id for spread in spreads if part.id in spread.governs and spread.id in factors)
        taxed = part.amount * (1.0 + rates.material_tax * (part.kind == "material"))
        amounts[governing] = amounts.get(governing, 0.0) + taxed
    direct = np.full(max((len(values) for values in factors.values()), default=1), amounts.pop((), 0.0))
    for governing, amount in amounts.items():
        direct += amount * math.prod((factors[id] for id in governing[1:]), start=factors[governing[0]])
    cost = direct * (1.0 + rates.overhead)
    profit = markup_of_margin(rates.profit) if rates.profit_basis == "margin" else rates.profit
    prices: Draws = (np.maximum(cost * (1.0 + profit), rates.minimum_charge) + on_top) * (1.0 + of_price)
    return prices


def _shares(factors: Mapping[str, Draws], prices: Draws) -> dict[str, float]:
    """Share the variance of the price out by squared correlation."""
    spread = prices.std()
    squares = {}
    for id, values in factors.items():
        own = values.std()
        if own <= 1e-12 or spread <= 1e-9:
            squares[id] = 0.0
        else:
            squares[id] = float(np.mean((values - values.mean()) * (prices - prices.mean())) / (own * spread)) ** 2
    total = math.fsum(squares.values())
    return {id: square / total if total > 0.0 else 0.0 for id, square in squares.items()}
