"""Amounts with their units as a catalogue file writes them, and as people type them, read into the units inside."""

from __future__ import annotations

import re
from typing import get_args

from takeoff import units
from takeoff.audit.stated import read_number
from takeoff.errors import CatalogueError, InputError, LengthError
from takeoff.model.systems import LinePer, Unit
from takeoff.system.words import BasisKind
from takeoff.units import Display

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


LENGTHS: Factors = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": units.INCH, "ft": units.FOOT}
AREAS: Factors = {"m2": 1.0, "cm2": 1e-4, "mm2": 1e-6, "in2": units.INCH**2, "ft2": units.SQUARE_FOOT}
_GALLON = units.US_GALLON_LITRES
_VOLUMES: Factors = {
    "L": 1.0, "mL": 0.001, "gal": _GALLON, "qt": _GALLON / 4, "fl oz": _GALLON / 128, "ft3": 1728 / 231 * _GALLON,
}  # fmt: skip
_MASSES: Factors = {"kg": 1.0, "g": 0.001, "lb": units.POUND, "oz": units.OUNCE}
_GROUND: Factors = {"m2": 1.0, "ft2": units.SQUARE_FOOT, "yd2": 9 * units.SQUARE_FOOT}
_EACH: Factors = {"each": 1.0}
SOLD: dict[Unit, Factors] = {"L": _VOLUMES, "kg": _MASSES, "m2": _GROUND, "m": LENGTHS, "each": _EACH}
COUNTED: dict[BasisKind, Factors] = {
    "area": _GROUND,
    "length": {"m": 1.0, "ft": units.FOOT},
    "volume": {"m3": 1.0, "L": 0.001, "ft3": units.FOOT**3},
    "count": _EACH,
}


def _over(tops: Factors, bottoms: Factors) -> Factors:
    return {f"{t}/{b}": x / y for t, x in tops.items() for b, y in bottoms.items()}


FIGURES: dict[str, Factors] = {
    "film": {"mil": units.MIL, "um": 1e-6, "mm": 0.001},
    "spread": _over({"m2": 1.0, "ft2": units.SQUARE_FOOT}, _VOLUMES),
    "bead section": AREAS,
    "time": {"h": 1.0, "min": 1 / 60, "d": 24.0},
    "time each": {"min/each": 1.0, "h/each": 60.0},
    "temperature": {"C": 1.0, "F": 5 / 9},
    "difference of temperatures": {"K": 1.0, "C": 1.0, "F": 5 / 9},
    "density": _over(_MASSES, _VOLUMES),
    "mass per area": _over(_MASSES, _GROUND),
    "volume per area": _over(_VOLUMES, _GROUND),
    "distance": {"km": 1.0, "mi": MILE_KM},
}
"""Units of each kind of figure with their factors to m, m²/L, m², h, min, K, kg/L, kg/m², L/m² and km."""
KINDS: dict[str, tuple[str, str, str]] = {
    **dict.fromkeys(("wet_film", "dry_film"), ("film", "um", "mil")),
    **dict.fromkeys(("min_recoat", "max_recoat", "max_between", "cure"), ("time", "h", "h")),
    **dict.fromkeys(("lap", "trim_top", "trim_base"), ("length", "mm", "in")),
    "pot_life": ("time", "min", "min"),
    "spread": ("spread", "m2/L", "ft2/gal"),
    "density": ("density", "kg/L", "lb/gal"),
    "mass_per_area": ("mass per area", "kg/m2", "oz/ft2"),
    "dew_margin": ("difference of temperatures", "K", "F"),
    "width": ("length", "m", "in"),
    "stock_length": ("length", "m", "ft"),
}
"""Figures of products, steps and systems by their keys: their kind, and the units in which they are written."""
DEGREES = ("temperature", "least_temperature", "most_temperature")
"""Those that are temperatures."""


def read_figure(kind: str, text: str) -> float:
    """Read a figure of a kind of `FIGURES`, such as a film of ``8 mil`` in metres.

    Examples
    --------
    >>> round(read_figure("film", "8 mil") * 1e6, 6)
    203.2
    """
    return _read(text, FIGURES[kind], kind)


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
    return read_figure("bead section", text)


def read_temperature(text: str) -> float:
    """Read a temperature such as ``23 C`` or ``73 F`` in °C.

    Examples
    --------
    >>> read_temperature("50 F")
    10.0
    """
    celsius = read_figure("temperature", text)
    return celsius - 160 / 9 if text.endswith("F") else celsius


def read_size(text: str, unit: Unit) -> float:
    """Read a pack size in the unit that the product is sold by.

    Examples
    --------
    >>> round(read_size("3 gal", "L"), 4)
    11.3562
    """
    return _read(text, SOLD[unit], f"size in {unit}")


def read_amount(text: str, unit: Unit, per: BasisKind) -> float:
    """Read an amount of a product over its basis, such as ``1 m/m``, ``450 g/m2`` or ``2 each/each``."""
    return _read(text, _over(SOLD[unit], COUNTED[per]), f"amount of {unit} per {per}")


def read_rate(text: str, per: BasisKind) -> float:
    """Read a production rate such as ``150 ft2/h``, ``12 ft/h`` or ``6 each/h`` in units of the basis an hour."""
    return _read(text, _over(COUNTED[per], {"h": 1.0}), f"rate of {per}")


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


def _read(text: str, factors: Factors, noun: str) -> float:
    found = _AMOUNT.fullmatch(text.strip())
    if found is None or found[2] not in factors:
        some = ", ".join(list(factors)[:12])
        raise CatalogueError(f'"{text}" is not a {noun}', remedy=f"Write a number and one of these units: {some}.")
    return float(found[1]) * factors[found[2]]


def read_area(text: str, show: Display) -> float:
    """Read an area in m²; a bare number is in the job's unit, and a comma parts thousands alone."""
    factors = {"": 1.0 / show.area_number(1.0), "sf": units.SQUARE_FOOT, "m²": 1.0, **_GROUND}
    number, unit = re.split(r" *(?=[^0-9., ]|$)", text.strip(), maxsplit=1)
    try:
        return read_number(number)[0] * factors[unit]
    except (InputError, KeyError) as error:
        raise InputError(f'"{text}" is not an area', remedy="Write it such as 500 sf or 46.5 m2.") from error


def read_degrees(text: str, *, is_metric: bool) -> float:
    """Read a temperature in °C; a bare number is in °C or, where the job is in feet, in °F."""
    bare = text.strip().replace("°", "")
    sign, unsigned = (-1.0, bare[1:]) if bare.startswith("-") else (1.0, bare)
    unit = "C" if is_metric else "F"
    if not unsigned.replace(".", "", 1).isdigit():
        unit = unsigned[-1:]
        unsigned = unsigned[:-1].strip()
    try:
        zero = read_temperature(f"0 {unit}")
        return zero + sign * (read_temperature(f"{unsigned} {unit}") - zero)
    except CatalogueError as error:
        raise InputError(f'"{text}" is not a temperature', remedy="Write it such as 20 C or 68 F.") from error
