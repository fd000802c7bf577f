"""Texts that people type into fields, read and shown: height profiles, coves, counts. No toolkit in here."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC
from typing import Any

from takeoff.errors import InputError
from takeoff.estimate.climate import degrees
from takeoff.exchange.catalogue_units import read_area, read_degrees
from takeoff.model.site import read_day, read_moment
from takeoff.model.walls import Cove, HeightProfile
from takeoff.units import Display, parse_count, parse_height, parse_length


def read_height(text: str, display: Display, length: float | None = None) -> HeightProfile | None:
    """Read a height: level, sloped from end to end (9' to 12'), or by stations (0: 9', 8': 9', 8': 12').

    A slope from end to end needs the ``length`` of the run in metres; an empty text is no height.
    """
    plain = text.strip()
    if not plain:
        return None
    if ":" in plain:
        pairs = []
        for part in plain.replace(";", ",").split(","):
            station, sign, height = part.partition(":")
            if not sign:
                raise InputError(f'"{part.strip()}" has no station', remedy="Write pairs such as 0: 9', 14'-6\": 12'.")
            pairs.append((_length(station, display), _height(height, display)))
        return HeightProfile(points=tuple(pairs))
    low, word, high = plain.lower().partition(" to ")
    if word:
        if length is None:
            raise InputError(
                "a slope from end to end belongs to one wall", remedy="Select one wall and set its own top."
            )
        return HeightProfile(points=((0.0, _height(low, display)), (length, _height(high, display))))
    return HeightProfile.constant(_height(plain, display))


def _height(text: str, display: Display) -> float:
    return parse_height(text.strip(), system=display.system)


def height_text(height: HeightProfile | None, display: Display) -> str:
    """Show a height as `read_height` reads it."""
    if height is None:
        return ""
    if height.is_constant:
        return display.length(height.points[0][1])
    return ", ".join(f"{display.length(s)}: {display.length(h)}" for s, h in height.points)


COVE_SIZES = {"r": "radius", "radius": "radius", "thick": "thickness", "thickness": "thickness"}
"""Words for sizes of a cove beside its legs."""


def read_cove(text: str, display: Display) -> Cove | None:
    """Read a cove: its leg, or height x toe; with its radius and thickness where they differ from the usual.

    The usual are a toe of 1 in, a radius of a quarter of the leg and a thickness of 3/16 in (common practice).

    Examples
    --------
    >>> read_cove("4 in", Display()).radius
    0.0254
    """
    plain = text.strip().lower()
    if plain in ("", "none", "no"):
        return None
    words = [w for w in plain.replace(" x ", " by ").split(",") if w.strip()]
    legs = words[0].split(" by ")
    if len(legs) > 2:
        raise InputError(f'"{text.strip()}" is not a cove', remedy='Write 4", or 6" x 1", radius 1", thick 1/4".')
    sizes = dict(zip(("height", "toe"), (_length(leg, display) for leg in legs), strict=False))
    for word in words[1:]:
        name, _, value = word.strip().partition(" ")
        if name not in COVE_SIZES:
            raise InputError(f'"{word.strip()}" is not known of a cove', remedy="Name its radius or how thick it is.")
        sizes[COVE_SIZES[name]] = _length(value, display)
    return Cove.usual(**sizes)


def cove_text(cove: Cove | None, display: Display) -> str:
    """Show a cove as `read_cove` reads it."""
    if cove is None:
        return ""
    legs = [_small(cove.height, display), _small(cove.toe, display)]
    return f"{' x '.join(legs)}, radius {_small(cove.radius, display)}, thick {_small(cove.thickness, display)}"


def _small(metres: float, display: Display) -> str:
    """A length under a foot without its feet, as a shop drawing has it."""
    text = display.length(metres)
    head, sign, tail = text.partition("'-")
    if not sign or head != "0":
        return text
    return tail.removeprefix("0 ") if "/" in tail else tail


def read_number(text: str, what: str) -> float:
    """Read a number; ``what`` names it in the refusal.

    Examples
    --------
    >>> read_number(" 2.5 ", "packs")
    2.5
    """
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f'{what}: "{text.strip()}" is not a number', remedy="Write 3 or 2.5.")
    return value


def read_length(text: str, display: Display) -> float:
    """Read a length in the job's units; empty is 0."""
    return _length(text, display) if text.strip() else 0.0


def _length(text: str, display: Display) -> float:
    return parse_length(text.strip(), system=display.system)


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
COUNT = Kind(read=lambda text, _, name: parse_count(text))
NUMBER = Kind(lambda value, _: f"{value:g}", lambda text, _, name: read_number(text, name))
AMOUNT = Kind(NUMBER.show, lambda text, _, name: _amount(text, name))
"""A number that is not below zero."""
SHARE = Kind(
    lambda value, _: f"{value * 100:g}",
    lambda text, _, name: _amount(text.strip().rstrip("%"), name.rstrip(" %")) / 100.0,
)
"""A fraction, in per cent."""
DATE = Kind(read=lambda text, *_: read_day(text))
DAY = Kind(read=lambda text, *_: read_day(text).isoformat())
DAYS = Kind(
    lambda value, _: " ".join(value),
    lambda text, _, name: tuple(read_day(written).isoformat() for written in text.split()),
)
MOMENT = Kind(read=lambda text, *_: read_moment(text.strip()).astimezone(UTC).isoformat(timespec="seconds"))
LENGTH = Kind(lambda value, show: show.length(value), lambda text, show, _: read_length(text, show))
SIZE = Kind(LENGTH.show, lambda text, show, _: _height(text, show) if text.strip() else 0.0)
LENGTH_OR_NONE = Kind(lambda value, show: show.length(value) if value else "", LENGTH.read)
"""A length; an empty field is 0."""
AREA = Kind(lambda value, show: show.area(value), lambda text, show, _: read_area(text, show))
DEGREES = Kind(
    lambda value, show: degrees(value, show.system),
    lambda text, show, _: read_degrees(text, is_metric=show.system == "metric"),
)
HEIGHT = Kind(height_text, lambda text, show, _: read_height(text, show))
COVE = Kind(cove_text, lambda text, show, _: read_cove(text, show))
