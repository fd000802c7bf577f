"""First-order propagation of uncertainty, JCGM 100:2008 (5.1.2 independent, 5.2.2 correlated inputs).

A length has a scale part, which every length of one calibration shares, and a picking part of its own. Heights carry
their own; those that come from one room's height are one input, so they add linearly within the room.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from takeoff.measure.develop import Face
from takeoff.model.figures import Quantities
from takeoff.model.plan import Calibration


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Standard uncertainties of one face: areas m², lengths m. Parts with one key are fully correlated."""

    scale_key: str
    scale_area: float
    scale_base: float
    pick_area: float
    pick_base: float
    height_key: str
    height_area: float

    def __mul__(self, times: int) -> Spread:
        """The spread of as many copies, which one line measures: their errors are one."""
        if times == 1:
            return self
        parts = ("scale_area", "scale_base", "pick_area", "pick_base", "height_area")
        return replace(self, **{part: getattr(self, part) * times for part in parts})


def scale_key(scale: Calibration) -> str:
    """Name of what shares one scale: a sheet, or a scale region of it."""
    return f"{scale.sheet}/{scale.region or ''}"


def pick_length(face: Face, pick: float) -> float:
    """Standard uncertainty of a face's length from picking its vertices, each coordinate with ``pick`` metres.

    Moving a vertex changes the length by the difference of the tangents before and after it, so a straight run has
    √2 × pick and a vertex on a straight line adds nothing.
    """
    if len(face.path.points) == 2 and not face.path.is_closed:
        return pick * math.sqrt(2.0)
    tangents = face.path.end_tangents()
    squares = 0.0
    n = len(face.path.points)
    for i in range(n):
        before = tangents[i - 1][1] if i > 0 or face.path.is_closed else (0.0, 0.0)
        after = tangents[i][0] if i < len(tangents) else (0.0, 0.0)
        squares += (before[0] - after[0]) ** 2 + (before[1] - after[1]) ** 2
    return pick * math.sqrt(squares)


def face_spread(face: Face, scale: Calibration, quantities: Quantities, *, height_u: float) -> Spread:
    """Standard uncertainties of one face's net area and base length.

    Opening sizes are typed, not scaled, so they add nothing; the gross area and the whole length carry the scale.
    """
    pick = pick_length(face, scale.pick * math.sqrt(scale.mx * scale.my))
    mean_height = quantities.gross_area / face.length
    shared = face.has_room_height and face.room is not None
    return Spread(
        scale_key=scale_key(scale),
        scale_area=scale.u_scale * quantities.gross_area,
        scale_base=scale.u_scale * face.length,
        pick_area=pick * mean_height,
        pick_base=pick,
        height_key=f"room {face.room}" if shared else f"wall {face.run.id}",
        height_area=height_u * face.length,
    )


def combine(spreads: Sequence[Spread]) -> tuple[float, float]:
    """Standard uncertainty of the summed net area (m²) and base length (m), whatever the order of ``spreads``."""
    areas = _by_key((s.scale_key, s.scale_area) for s in spreads)
    heights = _by_key((s.height_key, s.height_area) for s in spreads)
    bases = _by_key((s.scale_key, s.scale_base) for s in spreads)
    area = math.fsum(v * v for v in (*areas, *heights, *(s.pick_area for s in spreads)))
    base = math.fsum(v * v for v in (*bases, *(s.pick_base for s in spreads)))
    return math.sqrt(area), math.sqrt(base)


def _by_key(pairs: Iterable[tuple[str, float]]) -> list[float]:
    """Sums of what shares a key: they are fully correlated."""
    groups: dict[str, list[float]] = defaultdict(list)
    for key, value in pairs:
        groups[key].append(value)
    return [math.fsum(values) for values in groups.values()]
