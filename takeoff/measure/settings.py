"""What measuring depends on besides the runs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from takeoff.errors import InputError

ROUNDING = 1e-7
"""Metres: rounding of set operations on coordinates of up to some hundred metres, with a wide margin."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureSettings:
    """Turn in radians from which a vertex is a corner, standard uncertainty of a height in m, rule."""

    corner_threshold: float = math.radians(10.0)
    height_u: float = 0.01
    rule: str = "exact-net"

    def __post_init__(self) -> None:
        """Refuse thresholds and uncertainties without meaning."""
        if not 0.0 < self.corner_threshold < math.pi:
            raise InputError("the corner threshold must lie between 0° and 180°", remedy="10° is usual.")
        if not 0.0 <= self.height_u < 1.0:
            raise InputError(f"a height uncertainty of {self.height_u!r} m", remedy="Give metres, for example 0.01.")
