"""Show lengths, areas, volumes, masses, films and money in a person's unit system."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Literal

from takeoff.errors import InputError
from takeoff.units.factors import FOOT, INCH, MIL, POUND, PRECISIONS, SQUARE_FOOT, US_GALLON_LITRES, UnitSystem


def format_length(
    metres: float, *, system: UnitSystem = "imperial", precision: int = 16, unit: Literal["m", "mm"] | None = None
) -> str:
    r"""Show a length of ``metres`` as feet and inches to the nearest 1/``precision`` inch, or in metric.

    Metric lengths are shown to the millimetre, in metres or in ``unit``, which overrules ``system``.

    Raises
    ------
    InputError
        When the length is not finite, or the precision is not one of `PRECISIONS`.

    Examples
    --------
    >>> format_length(3.8227)
    '12\'-6 1/2"'
    >>> format_length(0.3047)
    '1\'-0"'
    >>> format_length(3.81, system="metric"), format_length(3.81, unit="mm")
    ('3.810 m', '3810 mm')
    """
    _check_precision(precision)
    if unit == "mm":
        return f"{_fixed(metres * 1000, 0, thousands=False)} mm"
    if unit == "m" or system == "metric":
        return f"{_fixed(metres, 3, thousands=False)} m"
    _check_showable(metres)
    parts = math.floor(abs(metres) / INCH * precision + 0.5)
    inches, parts_left = divmod(parts, precision)
    feet, inches = divmod(inches, 12)
    fraction = f" {Fraction(parts_left, precision)}" if parts_left else ""
    return f"{'−' if metres < 0 and parts else ''}{feet}'-{inches}{fraction}\""


def length_value(metres: float, system: UnitSystem) -> tuple[float, str]:
    """Turn metres into decimal feet or metres, with the unit's sign."""
    return (metres / FOOT, "ft") if system == "imperial" else (metres, "m")


def area_value(m2: float, system: UnitSystem) -> tuple[float, str]:
    """Turn square metres into square feet or square metres, with the unit's sign."""
    return (m2 / SQUARE_FOOT, "sf") if system == "imperial" else (m2, "m²")


def volume_value(litres: float, system: UnitSystem) -> tuple[float, str]:
    """Turn litres into US gallons or litres, with the unit's sign."""
    return (litres / US_GALLON_LITRES, "gal") if system == "imperial" else (litres, "L")


def mass_value(kg: float, system: UnitSystem) -> tuple[float, str]:
    """Turn kilograms into pounds or kilograms, with the unit's sign."""
    return (kg / POUND, "lb") if system == "imperial" else (kg, "kg")


def film_value(metres: float, system: UnitSystem) -> tuple[float, str]:
    """Turn a film thickness in metres into mils or micrometres, with the unit's sign."""
    return (metres / MIL, "mils") if system == "imperial" else (metres * 1e6, "µm")


def spread_value(m2_per_litre: float, system: UnitSystem) -> tuple[float, str]:
    """Turn a spread in m²/L into sf/gal or m²/L, with the unit's sign."""
    factor = US_GALLON_LITRES / SQUARE_FOOT
    return (m2_per_litre * factor, "sf/gal") if system == "imperial" else (m2_per_litre, "m²/L")


def per_area_value(per_m2: float, system: UnitSystem) -> tuple[float, str]:
    """Turn a price, a rate or a count per square metre into one per area shown, with the unit's sign."""
    return (per_m2 * SQUARE_FOOT, "/sf") if system == "imperial" else (per_m2, "/m²")


def per_length_value(per_metre: float, system: UnitSystem) -> tuple[float, str]:
    """Turn a price, a rate or a count per metre into one per length shown, with the unit's sign."""
    return (per_metre * FOOT, "/ft") if system == "imperial" else (per_metre, "/m")


def format_area(m2: float, system: UnitSystem) -> str:
    """Show square metres as ``1,234.5 sf`` or ``114.69 m²``."""
    return _joined(area_value(m2, system), 1 if system == "imperial" else 2)


def format_volume(litres: float, system: UnitSystem) -> str:
    """Show litres as US gallons, ``11.33 gal``, or litres, ``42.90 L``."""
    return _joined(volume_value(litres, system), 2)


def format_mass(kg: float, system: UnitSystem = "metric") -> str:
    """Show kilograms as ``45.4 kg`` or pounds, ``100.0 lb``."""
    return _joined(mass_value(kg, system), 1)


def format_film(metres: float, system: UnitSystem) -> str:
    """Show a film thickness in metres as ``16.0 mils`` or ``406 µm``."""
    return _joined(film_value(metres, system), 1 if system == "imperial" else 0)


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
    """Show money with its ISO 4217 code, to two places, halves away from zero.

    Raises
    ------
    InputError
        When the value cannot be shown or the currency is not three capital letters.

    Examples
    --------
    >>> format_money(1234.565, "USD")
    'USD 1,234.57'
    """
    return f"{_checked_currency(currency)} {_fixed(value, 2)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Display:
    r"""How one person wants figures shown: unit system, parts of an inch, currency (ISO 4217 code).

    Methods named for a figure take its SI value and give text; ``_number`` and ``_unit`` give table cells and headings.

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
        """Refuse precisions that no tape has and currencies that are no code."""
        _check_precision(self.precision)
        _checked_currency(self.currency)

    def length(self, metres: float) -> str:
        """Show a length in metres."""
        return format_length(metres, system=self.system, precision=self.precision)

    def area(self, m2: float) -> str:
        """Show an area in m²."""
        return format_area(m2, self.system)

    def volume(self, litres: float) -> str:
        """Show a volume in litres."""
        return format_volume(litres, self.system)

    def mass(self, kg: float) -> str:
        """Show a mass in kilograms."""
        return format_mass(kg, self.system)

    def film(self, metres: float) -> str:
        """Show a film thickness in metres."""
        return format_film(metres, self.system)

    def spread(self, m2_per_litre: float) -> str:
        """Show a spread in m²/L."""
        return _joined(spread_value(m2_per_litre, self.system), 1 if self.system == "imperial" else 2)

    def money(self, value: float | Decimal) -> str:
        """Show money."""
        return format_money(value, self.currency)

    def money_per_area(self, per_m2: float) -> str:
        """Show money per m² as money per area shown, ``USD 12.34/sf``."""
        value, unit = per_area_value(per_m2, self.system)
        return self.money(value) + unit

    def length_number(self, metres: float) -> float:
        """Give a length in metres as the number for `length_unit`."""
        return length_value(metres, self.system)[0]

    def area_number(self, m2: float) -> float:
        """Give an area in m² as the number for `area_unit`."""
        return area_value(m2, self.system)[0]

    def volume_number(self, litres: float) -> float:
        """Give a volume in litres as the number for `volume_unit`."""
        return volume_value(litres, self.system)[0]

    def mass_number(self, kg: float) -> float:
        """Give a mass in kilograms as the number for `mass_unit`."""
        return mass_value(kg, self.system)[0]

    def film_number(self, metres: float) -> float:
        """Give a film thickness in metres as the number for `film_unit`."""
        return film_value(metres, self.system)[0]

    def spread_number(self, m2_per_litre: float) -> float:
        """Give a spread in m²/L as the number for `spread_unit`."""
        return spread_value(m2_per_litre, self.system)[0]

    @property
    def length_unit(self) -> str:
        """Unit of `length_number`."""
        return length_value(0.0, self.system)[1]

    @property
    def area_unit(self) -> str:
        """Unit of `area_number`."""
        return area_value(0.0, self.system)[1]

    @property
    def volume_unit(self) -> str:
        """Unit of `volume_number`."""
        return volume_value(0.0, self.system)[1]

    @property
    def mass_unit(self) -> str:
        """Unit of `mass_number`."""
        return mass_value(0.0, self.system)[1]

    @property
    def film_unit(self) -> str:
        """Unit of `film_number`."""
        return film_value(0.0, self.system)[1]

    @property
    def spread_unit(self) -> str:
        """Unit of `spread_number`."""
        return spread_value(0.0, self.system)[1]


_METRIC = re.compile(r"“[^”]*”|(?:(?P<low>\d+(?:\.\d+)?) to )?(?P<number>\d+(?:\.\d+)?) (?P<unit>m²|mm|m)(?![\w²])")
"""A quotation, or a figure in a sentence that is written in metric units, or two of them."""


def in_units(sentence: str, show: Display) -> str:
    """Write the metric figures of a sentence in the units of a person; what it quotes stays.

    Examples
    --------
    >>> in_units("It is only 1.2 m² large.", Display(system="imperial"))
    'It is only 12.9 sf large.'
    """

    def shown(found: re.Match[str]) -> str:
        if found["unit"] is None:
            return found[0]
        by = 0.001 if found["unit"] == "mm" else 1.0
        form = show.area if found["unit"] == "m²" else show.length
        return " to ".join(form(float(number) * by) for number in (found["low"], found["number"]) if number)

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


def _joined(value_and_unit: tuple[float, str], places: int) -> str:
    return f"{_fixed(value_and_unit[0], places)} {value_and_unit[1]}"


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
