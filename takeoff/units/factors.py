"""Unit systems and exact factors (NIST Handbook 44, Appendix C; yard and pound agreement of 1959)."""

from __future__ import annotations

from typing import Literal

UnitSystem = Literal["imperial", "metric"]

INCH = 0.0254
"""Metres in an inch, exact (NIST Handbook 44 App. C)."""
FOOT = 0.3048
"""Metres in an international foot, exact (NIST Handbook 44 App. C); the US survey foot is out of use since 2023."""
MIL = 25.4e-6
"""Metres in a mil, a thousandth of an inch."""
SQUARE_FOOT = 0.09290304
"""Square metres in a square foot: 0.3048²."""
US_GALLON_LITRES = 3.785411784
"""Litres in a US gallon of 231 in³ (NIST Handbook 44 App. C): 231 × 2.54³ / 1000."""
POUND = 0.45359237
"""Kilograms in an avoirdupois pound, exact (NIST Handbook 44 App. C)."""
OUNCE = 0.028349523125
"""Kilograms in an avoirdupois ounce: a sixteenth of a pound."""
OUNCE_PER_SQFT = OUNCE / SQUARE_FOOT
"""Kilograms per square metre in an ounce per square foot, 0.3051517."""
OUNCE_PER_SQYD = OUNCE_PER_SQFT / 9
"""Kilograms per square metre in an ounce per square yard, 0.03390575."""
POUND_PER_GALLON = POUND / US_GALLON_LITRES
"""Kilograms per litre in a pound per US gallon, 0.11982643."""

PRECISIONS = (1, 2, 4, 8, 16, 32, 64)
"""Parts of an inch to which a length may be shown."""
