"""Sums that can be taken back: every float is a whole number of 2⁻¹⁰⁷⁴, so whole numbers add without rounding.

The value of such a sum is the true sum rounded once, as that of `math.fsum`, whatever came and went before.
"""

from __future__ import annotations

_BITS = 1074
_ONE = 1 << _BITS


def whole(value: float) -> int:
    """Return a finite float as a whole number of 2⁻¹⁰⁷⁴.

    Examples
    --------
    >>> rounded(whole(0.1) + whole(0.2) - whole(0.1))
    0.2
    """
    numerator, denominator = value.as_integer_ratio()
    return numerator << (_BITS + 1 - denominator.bit_length())


def rounded(total: int) -> float:
    """Return the float nearest to a whole number of 2⁻¹⁰⁷⁴."""
    return total / _ONE
