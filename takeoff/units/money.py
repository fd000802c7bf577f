"""Money in the smallest unit of its currency: rounding and sharing out so that printed figures add up."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

_PLACES = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
"""Currencies whose smallest unit is not a hundredth, by decimals (ISO 4217:2015, table A.1, from memory)."""
_PLACES_OF = {code: places for places, codes in _PLACES.items() for code in codes.split()}
_FINEST = 10_000
"""Of the finest of these units, so many make one of the currency."""


def places_of(currency: str) -> int:
    """Return how many decimals a currency has.

    Examples
    --------
    >>> places_of("USD"), places_of("JPY"), places_of("KWD")
    (2, 0, 3)
    """
    return _PLACES_OF.get(currency, 2)


def rounded(value: float, currency: str) -> float:
    """Round money to the smallest unit of its currency, halves away from zero.

    Examples
    --------
    >>> rounded(10.125, "USD"), rounded(-10.125, "USD"), rounded(10.5, "JPY"), rounded(1.0005, "KWD")
    (10.13, -10.13, 11.0, 1.001)
    """
    units: int = 10 ** places_of(currency)
    return math.copysign(math.floor(abs(value) * units + 0.5 + 1e-7) / units, value) + 0.0


def add(amounts: Iterable[float]) -> float:
    """Add amounts of whole smallest units without a float's crumbs, whatever their currency.

    Examples
    --------
    >>> add([0.1, 0.2])
    0.3
    """
    return sum(round(amount * _FINEST) for amount in amounts) / _FINEST


def share_out(total: float, weights: Sequence[float], currency: str) -> tuple[float, ...]:
    """Share whole smallest units in proportion to weights; the parts add up to the total exactly.

    Units left by rounding down go to the largest remainders, first come first served on equal ones. Where all weights
    are zero the parts are as equal as units allow.

    Examples
    --------
    >>> share_out(100.0, [1, 1, 1], "USD")
    (33.34, 33.33, 33.33)
    >>> share_out(100.0, [1, 1, 1], "JPY")
    (34.0, 33.0, 33.0)
    """
    if not weights:
        return ()
    units: int = 10 ** places_of(currency)
    whole = math.fsum(weights)
    fractions = [w / whole for w in weights] if whole > 0.0 else [1.0 / len(weights)] * len(weights)
    count = round(total * units)
    exact = [count * f for f in fractions]
    parts = [math.floor(e + 1e-9) for e in exact]
    order = sorted(range(len(parts)), key=lambda i: parts[i] - exact[i])
    for i in order[: count - sum(parts)]:
        parts[i] += 1
    return tuple(part / units for part in parts)
