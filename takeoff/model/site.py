"""Records from site: packs used on an area, and readings of the air and the wall."""

from __future__ import annotations

import math
from dataclasses import dataclass

from takeoff.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class PackUse:
    """What was used of a coat for an area: packs opened less what is left in them.

    ``step`` is a coat of ``system`` and ``pack`` the name of a pack of its product. ``area`` is what was done in m², a
    second coat counted again. ``when`` is when it was finished, ISO 8601.
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

    def __post_init__(self) -> None:
        """Refuse amounts below zero."""
        if not all(math.isfinite(value) and value >= 0.0 for value in (self.packs, self.area)):
            raise InputError(f"{self.packs:g} packs on {self.area:g} m²", remedy="Give no less than 0.")


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
        """Refuse what no instrument reads."""
        if self.moisture is not None and not 0.0 <= self.moisture < 1.0:
            raise InputError(f"a moisture of {self.moisture * 100:g} %", remedy="Give 0 up to below 100 %.")
        if not all(math.isfinite(value) for value in (self.air, self.surface, self.humidity)):
            raise InputError("a reading is no number", remedy="Read again.")
        if not 0.0 < self.humidity <= 1.0:
            raise InputError(
                f"a relative humidity of {self.humidity * 100:g} %", remedy="Give a humidity above 0 and up to 100 %."
            )
