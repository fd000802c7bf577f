"""Records from site: packs used on an area, and readings of the air and the wall."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from takeoff.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class PackUse:
    """Work on a step: packs opened less what is left in them, what was done, and the hours it took.

    ``step`` is a step of ``system`` and ``pack`` the name of a pack of its product, empty where it takes none. ``area``
    is what was done in m², m or pieces as ``counted`` says, a second coat counted again. ``hours`` are man-hours, of
    ``person`` where one is named. ``when`` is when it was finished, ISO 8601.
    """

    id: str
    system: str
    step: str
    pack: str
    packs: float
    area: float
    room: str | None = None
    when: str = ""
    note: str = ""
    hours: float = 0.0
    person: str = ""
    counted: Literal["area", "length", "volume", "count"] = "area"

    def __post_init__(self) -> None:
        for name, value in (("packs", self.packs), ("of area", self.area), ("hours", self.hours)):
            if not (math.isfinite(value) and value >= 0.0):
                raise InputError(f"{value:g} {name}", remedy="Give no less than 0.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Air and surface in °C and relative humidity as a fraction, read at a place and a time.

    ``moisture`` of the wall is a fraction of its mass; None where it was not read.
    """

    id: str
    air: float
    surface: float
    humidity: float
    room: str | None = None
    when: str = ""
    note: str = ""
    moisture: float | None = None

    def __post_init__(self) -> None:
        if self.moisture is not None and not 0.0 <= self.moisture < 1.0:
            raise InputError(f"a moisture of {self.moisture * 100:g} %", remedy="Give 0 up to below 100 %.")
        if not all(math.isfinite(value) for value in (self.air, self.surface, self.humidity)):
            raise InputError("a reading is no number", remedy="Read again.")
        if not 0.0 < self.humidity <= 1.0:
            raise InputError(
                f"a relative humidity of {self.humidity * 100:g} %", remedy="Give a humidity above 0 and up to 100 %."
            )
