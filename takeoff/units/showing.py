"""Unit systems with their exact factors, and figures shown in a person's unit system."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Literal

from takeoff.errors import InputError
from takeoff.units.money import places_of

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

PRECISIONS = (1, 2, 4, 8, 16, 32, 64)
"""Parts of an inch to which a length may be shown."""


def format_length(metres: float, *, system: UnitSystem = "imperial", precision: int = 16) -> str:
    r"""Show a length of ``metres`` as feet and inches to the nearest 1/``precision`` inch, or in metric.

    Metric lengths are shown to the millimetre. Raises `InputError` when the length is not finite, or the precision is
    not one of `PRECISIONS`.

    Examples
    --------
    >>> format_length(3.8227)
    '12\'-6 1/2"'
    >>> format_length(0.3047)
    '1\'-0"'
    >>> format_length(3.81, system="metric")
    '3.810 m'
    """
    _check_precision(precision)
    if system == "metric":
        return f"{_fixed(metres, 3, thousands=False)} m"
    _check_showable(metres)
    parts = math.floor(abs(metres) / INCH * precision + 0.5)
    inches, parts_left = divmod(parts, precision)
    feet, inches = divmod(inches, 12)
    fraction = f" {Fraction(parts_left, precision)}" if parts_left else ""
    return f"{'−' if metres < 0 and parts else ''}{feet}'-{inches}{fraction}\""


Figure = Literal["length", "area", "volume", "mass", "film", "spread", "per area"]

_SHOWN: dict[tuple[Figure, UnitSystem], tuple[float, float, str, int]] = {
    ("length", "imperial"): (1.0, FOOT, "ft", 1),
    ("length", "metric"): (1.0, 1.0, "m", 2),
    ("area", "imperial"): (1.0, SQUARE_FOOT, "sf", 1),
    ("area", "metric"): (1.0, 1.0, "m²", 2),
    ("volume", "imperial"): (1.0, US_GALLON_LITRES, "gal", 2),
    ("volume", "metric"): (1.0, 1.0, "L", 2),
    ("mass", "imperial"): (1.0, POUND, "lb", 1),
    ("mass", "metric"): (1.0, 1.0, "kg", 1),
    ("film", "imperial"): (1.0, MIL, "mils", 1),
    ("film", "metric"): (1e6, 1.0, "µm", 0),
    ("spread", "imperial"): (US_GALLON_LITRES / SQUARE_FOOT, 1.0, "sf/gal", 1),
    ("spread", "metric"): (1.0, 1.0, "m²/L", 2),
    ("per area", "imperial"): (SQUARE_FOOT, 1.0, "/sf", 2),
    ("per area", "metric"): (1.0, 1.0, "/m²", 2),
}
"""What a figure in SI units is multiplied and divided by, its unit's sign, and the decimals that are shown."""


def figure_value(figure: Figure, value: float, system: UnitSystem) -> tuple[float, str]:
    """Turn a figure into a unit system, with the unit's sign.

    Lengths are decimal feet or metres; volumes come in litres, masses in kilograms, films in metres, spreads in m²/L;
    "per area" is a price, a rate or a count for each m².

    Examples
    --------
    >>> figure_value("area", 9.290304, "imperial")
    (100.0, 'sf')
    """
    times, over, sign, _ = _SHOWN[figure, system]
    return value * times / over, sign


def format_figure(figure: Figure, value: float, system: UnitSystem) -> str:
    """Show a figure with its unit: ``1,234.5 sf``, ``42.90 L``, ``45.4 kg``, ``16.0 mils``."""
    number, sign = figure_value(figure, value, system)
    return f"{_fixed(number, _SHOWN[figure, system][3])} {sign}"


def signed(text: str) -> str:
    """Put a plus before a figure that is shown as above nothing, and no sign before one that is shown as nothing.

    Examples
    --------
    >>> signed("USD 12.30"), signed("USD −12.30"), signed("−0.00 sf")
    ('+USD 12.30', 'USD −12.30', '0.00 sf')
    """
    if not any(c in "123456789" for c in text):
        return text.replace("−", "")
    return text if "−" in text else f"+{text}"


def format_money(value: float | Decimal, currency: str) -> str:
    """Show money with its ISO 4217 code, to the decimals of its currency, halves away from zero.

    Raises `InputError` when the value cannot be shown or the currency is not three capital letters.

    Examples
    --------
    >>> format_money(1234.565, "USD")
    'USD 1,234.57'
    """
    return f"{_checked_currency(currency)} {_fixed(value, places_of(currency))}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Display:
    r"""How one person wants figures shown: unit system, parts of an inch, currency (ISO 4217 code).

    Methods named for a figure take its SI value and give text; numbers and units are table cells and headings.

    Examples
    --------
    >>> show = Display(system="imperial", precision=8)
    >>> show.length(3.8227), show.area(60.0), show.area_unit
    ('12\'-6 1/2"', '645.8 sf', 'sf')
    """

    system: UnitSystem = "imperial"
    precision: int = 16
    currency: str = "USD"

    def __post_init__(self) -> None:
        _check_precision(self.precision)
        _checked_currency(self.currency)

    def length(self, metres: float) -> str:
        """Show a length in metres."""
        return format_length(metres, system=self.system, precision=self.precision)

    def area(self, m2: float) -> str:
        """Show an area in m²."""
        return format_figure("area", m2, self.system)

    def volume(self, litres: float) -> str:
        """Show a volume in litres."""
        return format_figure("volume", litres, self.system)

    def film(self, metres: float) -> str:
        """Show a film thickness in metres."""
        return format_figure("film", metres, self.system)

    def money(self, value: float | Decimal) -> str:
        """Show money."""
        return format_money(value, self.currency)

    def money_per_area(self, per_m2: float) -> str:
        """Show money per m² as money per area shown, ``USD 12.34/sf``."""
        value, unit = figure_value("per area", per_m2, self.system)
        return self.money(value) + unit

    def number(self, figure: Figure, value: float) -> float:
        """Give a figure as the number for `unit`."""
        return figure_value(figure, value, self.system)[0]

    def unit(self, figure: Figure) -> str:
        """Unit of `number`."""
        return figure_value(figure, 0.0, self.system)[1]

    def length_number(self, metres: float) -> float:
        """Give a length in metres as the number for `length_unit`."""
        return self.number("length", metres)

    def area_number(self, m2: float) -> float:
        """Give an area in m² as the number for `area_unit`."""
        return self.number("area", m2)

    @property
    def length_unit(self) -> str:
        """Unit of `length_number`."""
        return self.unit("length")

    @property
    def area_unit(self) -> str:
        """Unit of `area_number`."""
        return self.unit("area")


_NUMBER = r"\d+(?:\.\d+)?"
_METRIC = re.compile(
    rf"“[^”]*”|(?<![\d.(])(?P<numbers>(?:{_NUMBER}(?: to | \+ ))*{_NUMBER}) (?P<unit>m²|mm|m)(?![\w²])"
)
"""A quotation; or figures in metric units, one or several of one unit, but for one in brackets behind its like in other
units."""


def usual_size(metres: float, system: UnitSystem) -> float:
    """Return a common size of an opening as it is where a system is used: in metres, whole decimetres (no source).

    Examples
    --------
    >>> usual_size(2.1336, "metric"), usual_size(0.9144, "metric"), usual_size(2.1336, "imperial")
    (2.1, 0.9, 2.1336)
    """
    return round(metres, 1) if system == "metric" else metres


def in_units(sentence: str, show: Display) -> str:
    """Write the metric figures of a sentence in the units of a person; what it quotes stays, and what says both units.

    Examples
    --------
    >>> in_units("It is only 1.2 m² large.", Display(system="imperial"))
    'It is only 12.9 sf large.'
    >>> in_units("4.9 + 27.9 m² are printed in it", Display(system="imperial"))
    '52.7 sf + 300.3 sf are printed in it'
    >>> in_units("76.3 ft (23.27 m) of cove", Display(system="imperial"))
    '76.3 ft (23.27 m) of cove'
    """

    def shown(found: re.Match[str]) -> str:
        if found["unit"] is None:
            return found[0]
        by = 0.001 if found["unit"] == "mm" else 1.0
        form = show.area if found["unit"] == "m²" else show.length
        return re.sub(_NUMBER, lambda number: form(float(number[0]) * by), found["numbers"])

    return sentence if show.system == "metric" else _METRIC.sub(shown, sentence)


def _check_showable(value: float | Decimal) -> None:
    if not abs(float(value)) < 1e20:
        raise InputError(f"a figure of {value} cannot be shown", remedy="Look for the input that made it.")


_QUANTA = tuple(Decimal(1).scaleb(-places) for places in range(16))


def _fixed(value: float | Decimal, places: int, *, thousands: bool = True) -> str:
    """Round halves away from zero to ``places`` and write with a true minus, never with a minus before zero."""
    _check_showable(value)
    rounded = Decimal(str(value)).quantize(_QUANTA[places], rounding=ROUND_HALF_UP)
    return f"{'−' if rounded < 0 else ''}{abs(rounded):{',' if thousands else ''}f}"


def _check_precision(precision: int) -> None:
    if precision not in PRECISIONS:
        raise InputError(
            f"a precision of 1/{precision} in",
            remedy=f"Use one of {', '.join(str(p) for p in PRECISIONS)} parts of an inch.",
        )


def _checked_currency(currency: str) -> str:
    if not re.fullmatch("[A-Z]{3}", currency):
        raise InputError(
            f"“{currency}” is not a currency code", remedy="Use three capital letters, such as USD or EUR."
        )
    return currency
