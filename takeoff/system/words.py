"""Figures in words for the arithmetic: the job's own units first, the other system's beside them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from takeoff import units
from takeoff.model.systems import Unit
from takeoff.units import Figure, UnitSystem

BasisKind = Literal["area", "length", "volume", "count"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Writes figures in the units of ``first``, and in those of the other system in brackets.

    Examples
    --------
    >>> Words().area(9.290304), Words(first="imperial").area(9.290304)
    ('9.29 m² (100.0 sf)', '100.0 sf (9.29 m²)')
    """

    first: UnitSystem = "metric"

    def area(self, m2: float) -> str:
        """Write square metres and square feet."""
        return self._figure("area", m2)

    def length(self, metres: float) -> str:
        """Write metres and decimal feet."""
        return self._both(lambda system: _decimal("length", metres, system))

    def short_length(self, metres: float) -> str:
        """Write metres or decimal feet, the first system's alone."""
        return _decimal("length", metres, self.first)

    def short_area(self, m2: float) -> str:
        """Write square metres or square feet, the first system's alone."""
        return units.format_figure("area", m2, self.first)

    def width(self, metres: float) -> str:
        """Write a small length in millimetres and inches."""
        return self._both(
            lambda system: f"{metres / units.INCH:.1f} in" if system == "imperial" else f"{metres * 1000:.0f} mm"
        )

    def section(self, m2: float) -> str:
        """Write a section in mm² and in²."""
        return self._both(
            lambda system: f"{m2 / units.INCH**2:.3f} in²" if system == "imperial" else f"{m2 * 1e6:.1f} mm²"
        )

    def volume(self, litres: float) -> str:
        """Write litres and US gallons."""
        return self._figure("volume", litres)

    def film(self, metres: float) -> str:
        """Write a film in micrometres and mils."""
        return self._figure("film", metres)

    def spread(self, m2_per_litre: float) -> str:
        """Write a spread in m²/L and sf/gal."""
        return self._both(lambda system: _decimal("spread", m2_per_litre, system))

    def amount(self, value: float, unit: Unit) -> str:
        """Write an amount of a product in its own unit.

        Examples
        --------
        >>> Words().amount(3.785411784, "L")
        '3.79 L (1.00 gal)'
        >>> Words().amount(12.5, "each")
        '12.5 each'
        """
        if unit == "each":
            return f"{value:,.4g} each"
        return self.length(value) if unit == "m" else self._figure(_FIGURE_OF[unit], value)

    def rate(self, value: float, unit: Unit, per: BasisKind) -> str:
        """Write an amount of a product per m², m, m³ or each; pieces are counted per 100 of an area.

        Examples
        --------
        >>> Words().rate(1.0, "kg", "area"), Words(first="imperial").rate(0.08, "each", "area")
        ('1 kg per m² (0.2048 lb per sf)', '0.7432 per 100 sf (8 per 100 m²)')
        """
        if unit == "each" and per == "count":
            return f"{value:.4g} for each"
        return self._both(lambda system: self._rate(value, unit, per, system))

    def short_rate(self, value: float, unit: Unit, per: BasisKind) -> str:
        """Write an amount per m², m, m³ or each in the first system alone."""
        return self._rate(value, unit, per, self.first)

    def short_amount(self, value: float, counted: BasisKind) -> str:
        """Write m², m, m³ or a count in the first system alone."""
        per_one, sign = _COUNTED[counted](self.first)
        return f"{value * per_one:.4g} {sign}"

    @staticmethod
    def _rate(value: float, unit: Unit, per: BasisKind, system: UnitSystem) -> str:
        of, sign = (value, "") if unit == "each" else units.figure_value(_FIGURE_OF[unit], value, system)
        counted, counted_sign = _COUNTED[per](system)
        many = 100 if unit == "each" and per == "area" else 1
        return f"{of / counted * many:.4g} {sign}".rstrip() + f" per {'100 ' * (many > 1)}{counted_sign}"

    @staticmethod
    def money(value: float, currency: str) -> str:
        """Write an amount of money."""
        return units.format_money(value, currency)

    def _figure(self, figure: Figure, value: float) -> str:
        return self._both(lambda system: units.format_figure(figure, value, system))

    def _both(self, text: Callable[[UnitSystem], str]) -> str:
        second: UnitSystem = "imperial" if self.first == "metric" else "metric"
        return f"{text(self.first)} ({text(second)})"


METRIC_FIRST = Words()


class Unsaid(Words):
    """Writes no figures: for prices whose arithmetic nobody reads, of which writing it takes the most time."""

    __slots__ = ()

    def short_area(self, m2: float) -> str:
        """Write nothing."""
        return ""

    def short_length(self, metres: float) -> str:
        """Write nothing."""
        return ""

    @staticmethod
    def money(value: float, currency: str) -> str:
        """Write nothing."""
        return ""

    def _both(self, text: Callable[[UnitSystem], str]) -> str:
        return ""


UNSAID = Unsaid()


_FIGURE_OF: dict[Unit, Figure] = {"L": "volume", "kg": "mass", "m2": "area", "m": "length"}
_COUNTED: dict[BasisKind, Callable[[UnitSystem], tuple[float, str]]] = {
    "area": lambda system: units.figure_value("area", 1.0, system),
    "length": lambda system: units.figure_value("length", 1.0, system),
    "volume": lambda system: units.figure_value("volume", 1000.0, system),
    "count": lambda system: (1.0, "each"),
}


def _decimal(figure: Figure, value: float, system: UnitSystem) -> str:
    number, sign = units.figure_value(figure, value, system)
    return f"{number:,.{1 if system == 'imperial' else 2}f} {sign}"


def percent(fraction: float) -> str:
    """Write a fraction as a percentage without needless zeros.

    Examples
    --------
    >>> percent(0.125), percent(1.0)
    ('12.5 %', '100 %')
    """
    return f"{fraction * 100:.6g} %"
