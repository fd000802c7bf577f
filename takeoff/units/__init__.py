"""Lengths, areas, volumes and money between people and the SI floats inside: the only converter.

Inside the program a length is a float in metres, an area m², a volume litres, a mass kilograms, a film metres. Text is
read by `parse_length` and `door_size`; figures are shown by a `Display`, which knows the person's unit system.
"""

from takeoff.units.factors import (
    FOOT,
    INCH,
    MIL,
    OUNCE,
    OUNCE_PER_SQFT,
    OUNCE_PER_SQYD,
    POUND,
    POUND_PER_GALLON,
    PRECISIONS,
    SQUARE_FOOT,
    US_GALLON_LITRES,
    UnitSystem,
)
from takeoff.units.reading import door_size, parse_length
from takeoff.units.showing import (
    Display,
    Figure,
    figure_value,
    format_figure,
    format_length,
    format_money,
    in_units,
    signed,
)

__all__ = [
    "FOOT",
    "INCH",
    "MIL",
    "OUNCE",
    "OUNCE_PER_SQFT",
    "OUNCE_PER_SQYD",
    "POUND",
    "POUND_PER_GALLON",
    "PRECISIONS",
    "SQUARE_FOOT",
    "US_GALLON_LITRES",
    "Display",
    "Figure",
    "UnitSystem",
    "door_size",
    "figure_value",
    "format_figure",
    "format_length",
    "format_money",
    "in_units",
    "parse_length",
    "signed",
]
