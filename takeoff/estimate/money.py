"""Money to the cent: rounding and sharing out so that printed figures add up."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence


def to_cents(value: float) -> float:
    """Round money to the nearest cent, halves up.

    Examples
    --------
    >>> to_cents(10.125), to_cents(3.999)
    (10.13, 4.0)
    """
    return math.floor(value * 100.0 + 0.5 + 1e-7) / 100.0


def add(amounts: Iterable[float]) -> float:
    """Add amounts of whole cents without a float's crumbs.

    Examples
    --------
    >>> add([0.1, 0.2])
    0.3
    """
    return sum(round(amount * 100.0) for amount in amounts) / 100.0


def share_out(total: float, weights: Sequence[float]) -> tuple[float, ...]:
    """Share whole cents in proportion to weights; the parts add up to the total exactly.

    Cents left by rounding down go to the largest remainders, first come first served on equal ones. Where all weights
    are zero the parts are as equal as cents allow.

    Examples
    --------
    >>> share_out(100.0, [1, 1, 1])
    (33.34, 33.33, 33.33)
    >>> share_out(0.05, [0, 0])
    (0.03, 0.02)
    """
    if not weights:
        return ()
    whole = math.fsum(weights)
    fractions = [w / whole for w in weights] if whole > 0.0 else [1.0 / len(weights)] * len(weights)
    cents = round(total * 100.0)
    exact = [cents * f for f in fractions]
    parts = [math.floor(e + 1e-9) for e in exact]
    order = sorted(range(len(parts)), key=lambda i: parts[i] - exact[i])
    for i in order[: cents - sum(parts)]:
        parts[i] += 1
    return tuple(part / 100.0 for part in parts)
