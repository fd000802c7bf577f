"""What each room adds to a price or takes from it, so that the amounts sum to the change to the cent."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from takeoff.estimate.money import share_out


def amounts_by_cost(changes: Sequence[float], total: float, *, areas: Sequence[float]) -> tuple[float, ...]:
    """Spread over the rooms what their own changes leave of the whole change, each in proportion to its own.

    Parameters
    ----------
    changes
        Each room's own change of the price, in whole cents.
    total
        The change of the whole price, in whole cents.
    areas
        Each room's change of area in m², which the rest is spread by where no room changes the price by itself.

    Examples
    --------
    >>> amounts_by_cost([30.0, -10.0], 24.0, areas=[1.0, -1.0])
    (33.0, -9.0)
    """
    cents = [round(100.0 * change) for change in changes]
    rest = round(100.0 * total) - sum(cents)
    weights = [float(abs(c)) for c in cents] if any(cents) else [abs(area) for area in areas]
    sign = -1 if rest < 0 else 1
    parts = share_out(abs(rest) / 100.0, weights)
    return tuple((c + sign * round(100.0 * part)) / 100.0 for c, part in zip(cents, parts, strict=True))


def amounts_by_unit_price(before: Sequence[str], after: Sequence[str], unit_price: str) -> tuple[float, ...]:
    """Price each room's change of area; figures come as they are printed, so that a reader finds the same amounts.

    Examples
    --------
    >>> amounts_by_unit_price(["100.0", "50.0"], ["112.5", "49.0"], "12.25")
    (153.13, -12.25)
    """
    cent = Decimal("0.01")
    return tuple(
        float(((Decimal(b) - Decimal(a)) * Decimal(unit_price)).quantize(cent, ROUND_HALF_UP))
        for a, b in zip(before, after, strict=True)
    )
