"""Amounts as people type them on site: areas, temperatures, times."""

from __future__ import annotations

from datetime import datetime

from takeoff.errors import CatalogueError, InputError
from takeoff.exchange.catalogue_units import read_size, read_temperature
from takeoff.units import Display


def read_area(text: str, show: Display) -> float:
    """Read an area in m²; a bare number is in the job's unit."""
    bare = text.strip().replace(",", "")
    if bare.replace(".", "", 1).isdigit():
        return float(bare) / show.area_number(1.0)
    try:
        return read_size(bare.replace("sf", "ft2").replace("m²", "m2"), "m2")
    except CatalogueError as error:
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


def read_moment(text: str) -> datetime:
    """Read a time such as 2026-03-02T07:00.

    Examples
    --------
    >>> read_moment("2026-03-02T07:00")
    datetime.datetime(2026, 3, 2, 7, 0)
    """
    try:
        return datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(f'"{text}" is not a time', remedy="Write 2026-03-02T07:00.") from error
