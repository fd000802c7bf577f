"""Kinds of values in fields: how each is shown, and how what is typed is read. No toolkit in here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC
from typing import Any

from takeoff.errors import InputError
from takeoff.estimate.climate import degrees
from takeoff.exchange.catalogue_units import read_area, read_degrees, read_moment
from takeoff.gui.entries import (
    cove_text,
    height_text,
    read_count,
    read_cove,
    read_day,
    read_height,
    read_length,
    read_number,
)
from takeoff.units import Display


@dataclass(frozen=True, slots=True)
class Kind:
    """How a value is shown in the job's units, and read from what is typed into the field of a name.

    What is read raises an `InputError` where it does not fit.
    """

    show: Callable[[Any, Display], str] = lambda value, _: str(value)
    read: Callable[[str, Display, str], Any] = lambda text, _, name: text.strip()


def maybe(kind: Kind, empty: Any = None) -> Kind:
    """Have an empty field stand for a value; ``None`` is shown as an empty field."""
    return Kind(
        lambda value, show: "" if value is None else kind.show(value, show),
        lambda text, show, name: kind.read(text, show, name) if text.strip() else empty,
    )


def needed(kind: Kind) -> Kind:
    """Have an empty field refused."""

    def read(text: str, show: Display, name: str) -> Any:
        if not text.strip():
            raise InputError(f"{name}: nothing is written", remedy="Write a number.")
        return kind.read(text, show, name)

    return Kind(kind.show, read)


def _amount(text: str, name: str) -> float:
    value = read_number(text, name)
    if value < 0.0:
        raise InputError(f"{name}: {value:g} is below zero", remedy="Write 0 or more.")
    return value


TEXT = Kind()
TICK = Kind(lambda value, _: "yes" if value else "", lambda text, _, name: bool(text))
COUNT = Kind(read=lambda text, _, name: read_count(text))
NUMBER = Kind(lambda value, _: f"{value:g}", lambda text, _, name: read_number(text, name))
AMOUNT = Kind(NUMBER.show, lambda text, _, name: _amount(text, name))
"""A number that is not below zero."""
SHARE = Kind(
    lambda value, _: f"{value * 100:g}",
    lambda text, _, name: _amount(text.strip().rstrip("%"), name.rstrip(" %")) / 100.0,
)
"""A fraction, in per cent."""
DAY = Kind(read=lambda text, _, name: read_day(text).isoformat())
DAYS = Kind(
    lambda value, _: " ".join(value),
    lambda text, _, name: tuple(read_day(written).isoformat() for written in text.split()),
)
MOMENT = Kind(read=lambda text, *_: read_moment(text.strip()).astimezone(UTC).isoformat(timespec="seconds"))
LENGTH = Kind(lambda value, show: show.length(value), lambda text, show, _: read_length(text, show))
LENGTH_OR_NONE = Kind(lambda value, show: show.length(value) if value else "", LENGTH.read)
"""A length; an empty field is 0."""
AREA = Kind(lambda value, show: show.area(value), lambda text, show, _: read_area(text, show))
DEGREES = Kind(
    lambda value, show: degrees(value, show.system),
    lambda text, show, _: read_degrees(text, is_metric=show.system == "metric"),
)
HEIGHT = Kind(height_text, lambda text, show, _: read_height(text, show))
COVE = Kind(cove_text, lambda text, show, _: read_cove(text, show))
