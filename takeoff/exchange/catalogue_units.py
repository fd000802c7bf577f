"""Amounts with their units as a catalogue file writes them: a closed list, read into the units used inside."""

from __future__ import annotations

import re
from typing import get_args

from takeoff import units
from takeoff.errors import CatalogueError, LengthError
from takeoff.model.systems import LinePer, Unit
from takeoff.system.words import BasisKind

Factors = dict[str, float]
"""Units of one kind, each with its factor to the unit used inside."""

MILE_KM = 1.609344
"""Kilometres of an international mile, exactly."""

LINE_UNITS: dict[str, tuple[LinePer, float]] = {
    **{per: (per, 1.0) for per in get_args(LinePer)},
    "m2": ("area", 1.0),
    "ft2": ("area", units.SQUARE_FOOT),
    "m": ("length", 1.0),
    "ft": ("length", units.FOOT),
}
"""What a line of one's own may be counted by, with the factor to m² or m."""

_AMOUNT = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?(\S.*)")


def _lengths() -> Factors:
    return {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": units.INCH, "ft": units.FOOT}


def _areas() -> Factors:
    return {"m2": 1.0, "cm2": 1e-4, "mm2": 1e-6, "in2": units.INCH**2, "ft2": units.SQUARE_FOOT}


def _volumes() -> Factors:
    gallon = units.US_GALLON_LITRES
    return {"L": 1.0, "mL": 0.001, "gal": gallon, "qt": gallon / 4, "fl oz": gallon / 128, "ft3": 1728 / 231 * gallon}


def _masses() -> Factors:
    return {"kg": 1.0, "g": 0.001, "lb": units.POUND, "oz": units.OUNCE}


def _over(tops: Factors, bottoms: Factors) -> Factors:
    """Combine units into those of a quotient."""
    return {f"{t}/{b}": x / y for t, x in tops.items() for b, y in bottoms.items()}


def read_film(text: str) -> float:
    """Read a film such as ``8 mil`` or ``200 um`` in metres.

    Examples
    --------
    >>> round(read_film("8 mil") * 1e6, 6)
    203.2
    """
    return _read(text, {"mil": units.MIL, "um": 1e-6, "mm": 0.001}, "film")


def read_spread(text: str) -> float:
    """Read a spread such as ``200 ft2/gal`` or ``5 m2/L`` in m²/L."""
    return _read(text, _over({"m2": 1.0, "ft2": units.SQUARE_FOOT}, _volumes()), "spread")


def read_length(text: str) -> float:
    """Read a length as people write it, such as ``50 in`` or ``12'-6"``, in metres."""
    try:
        return units.parse_length(text)
    except LengthError as error:
        raise CatalogueError(error.message, remedy=error.remedy) from error


def read_section(text: str) -> float:
    """Read a bead as ``6 mm x 6 mm`` or as an area such as ``36 mm2``, in m²."""
    sides = text.split(" x ")
    if len(sides) == 2:
        return read_length(sides[0]) * read_length(sides[1])
    return _read(text, _areas(), "bead section")


def read_time(text: str) -> float:
    """Read a time such as ``24 h`` or ``30 min`` in hours."""
    return _read(text, {"h": 1.0, "min": 1 / 60, "d": 24.0}, "time")


def read_temperature(text: str) -> float:
    """Read a temperature such as ``23 C`` or ``73 F`` in °C.

    Examples
    --------
    >>> read_temperature("50 F")
    10.0
    """
    celsius = _read(text, {"C": 1.0, "F": 5 / 9}, "temperature")
    return celsius - 160 / 9 if text.endswith("F") else celsius


def read_degrees_apart(text: str) -> float:
    """Read a difference of temperatures such as ``3 C``, ``3 K`` or ``5 F`` in K."""
    return _read(text, {"K": 1.0, "C": 1.0, "F": 5 / 9}, "difference of temperatures")


def read_density(text: str) -> float:
    """Read a density such as ``1.15 kg/L`` or ``9.6 lb/gal`` in kg/L."""
    return _read(text, _over(_masses(), _volumes()), "density")


def read_mass_per_area(text: str) -> float:
    """Read a mass per area such as ``450 g/m2`` or ``1.5 oz/ft2`` in kg/m²."""
    return _read(text, _over(_masses(), _ground()), "mass per area")


def read_volume_per_area(text: str) -> float:
    """Read a volume per area such as ``0.1 L/m2`` in L/m²."""
    return _read(text, _over(_volumes(), _ground()), "volume per area")


def read_size(text: str, unit: Unit) -> float:
    """Read a pack size in the unit that the product is sold by.

    Examples
    --------
    >>> round(read_size("3 gal", "L"), 4)
    11.3562
    """
    return _read(text, _product_units(unit), f"size in {unit}")


def read_amount(text: str, unit: Unit, per: BasisKind) -> float:
    """Read an amount of a product over its basis, such as ``1 m/m``, ``450 g/m2`` or ``2 each/each``."""
    return _read(text, _over(_product_units(unit), _basis_units(per)), f"amount of {unit} per {per}")


def read_rate(text: str, per: BasisKind) -> float:
    """Read a production rate such as ``150 ft2/h``, ``12 ft/h`` or ``6 each/h`` in units of the basis an hour."""
    return _read(text, _over(_basis_units(per), {"h": 1.0}), f"rate of {per}")


def read_minutes(text: str) -> float:
    """Read the minutes that one piece takes, such as ``10 min/each``."""
    return _read(text, {"min/each": 1.0, "h/each": 60.0}, "time each")


def read_per_distance(text: str) -> float:
    """Read money for a distance such as ``0.70/mi`` or ``0.45/km`` in money for a km.

    Examples
    --------
    >>> round(read_per_distance("0.70/mi"), 4)
    0.435
    """
    amount, _, unit = text.partition("/")
    kilometres = {"km": 1.0, "mi": MILE_KM}.get(unit.strip())
    try:
        money = float(amount)
    except ValueError:
        money = -1.0
    if kilometres is None or not money >= 0.0:
        raise CatalogueError(f'"{text}" is not money for a distance', remedy="Write it as 0.70/mi or 0.45/km.")
    return money / kilometres


def read_distance(text: str) -> float:
    """Read a distance such as ``40 mi`` or ``65 km`` in km."""
    return _read(text, {"km": 1.0, "mi": MILE_KM}, "distance")


def _ground() -> Factors:
    return {"m2": 1.0, "ft2": units.SQUARE_FOOT, "yd2": 9 * units.SQUARE_FOOT}


def _product_units(unit: Unit) -> Factors:
    if unit == "L":
        return _volumes()
    if unit == "kg":
        return _masses()
    if unit == "m2":
        return _ground()
    return _lengths() if unit == "m" else {"each": 1.0}


def _basis_units(per: BasisKind) -> Factors:
    if per == "area":
        return _ground()
    if per == "length":
        return {"m": 1.0, "ft": units.FOOT}
    return {"m3": 1.0, "L": 0.001, "ft3": units.FOOT**3} if per == "volume" else {"each": 1.0}


def _read(text: str, factors: Factors, noun: str) -> float:
    found = _AMOUNT.fullmatch(text.strip())
    if found is None or found[2] not in factors:
        some = ", ".join(list(factors)[:12])
        raise CatalogueError(f'"{text}" is not a {noun}', remedy=f"Write a number and one of these units: {some}.")
    return float(found[1]) * factors[found[2]]
