"""Floor areas that are printed in rooms, such as 8.15 m², 1,250 SF or 16'9" x 11'3"."""

from __future__ import annotations

import math
import re
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.model.plan import Point
from takeoff.sheet.text import TextLine
from takeoff.units import SQUARE_FOOT, room_sides

AGREES = 0.03
"""Share by which an outline may differ from a printed area and agree: offices round, and measure to other faces."""
_TELL, _ENOUGH = 3, 0.5
"""Different areas that tell a scale together, and the share of all that are printed in closed rooms (judgement)."""
_LEAST, _MOST = 0.3, 20_000.0
"""Square metres between which a printed area is believed (judgement)."""

_METRES = r"(?:[mм]²|[mм]2|㎡|sq\.?\s*m(?:tr?s?)?\.?|sqm|кв\.?\s*м)"
_FEET = r"(?:s\.?f\.?|sq\.?\s*ft\.?|ft²|sqft)"
_AREA = re.compile(rf"(?P<number>\d[\d,. ]*?)\s*(?:(?P<m>{_METRES})|(?P<f>{_FEET}))", re.IGNORECASE)
_CALLED = re.compile(r"(?:S|SUP|SURF|[AÁ]REA|FL[AÄ]CHE)\.?\s*[=:]\s*(?P<number>\d{1,4}[.,]\d{1,2})", re.IGNORECASE)
"""A number that is called an area and names no unit: with decimals it is of m² (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedArea:
    """A printed floor area: its text, its middle in sheet points, and the area in m²."""

    text: str
    at_pt: Point
    area: float


def read_printed_areas(lines: Sequence[TextLine]) -> tuple[PrintedArea, ...]:
    """Return the lines of a sheet's text that give a floor area, or the two sides of a room."""
    return tuple(
        PrintedArea(text=line.text.strip(), at_pt=line.middle_pt, area=area)
        for line in lines
        if (area := area_in(line.text)) is not None
    )


def scale_told(pairs: Sequence[tuple[float, float]]) -> tuple[float, int] | None:
    """Return by what lengths are to be multiplied to make outlines as large as is printed in them; and how many say so.

    Nothing where fewer than three different areas agree, or no more than half of all.

    Parameters
    ----------
    pairs
        The printed area and that of the outline, in m², of each room.

    Examples
    --------
    >>> scale_told([(12.0, 3.0), (8.1, 2.02), (20.0, 5.05), (9.0, 7.0)])
    (2.0, 3)
    """
    factors = [(math.sqrt(printed / outline), printed) for printed, outline in pairs]
    groups = [[one for one in factors if abs(math.log(one[0] / middle)) <= AGREES / 2] for middle, _ in factors]
    best = max(groups, key=lambda group: len({area for _, area in group}), default=[])
    if len({area for _, area in best}) < _TELL or len(best) <= _ENOUGH * len(pairs):
        return None
    return statistics.median(factor for factor, _ in best), len(best)


def area_in(text: str) -> float | None:
    r"""Return the floor area in m² that a text gives; nothing where it gives none.

    Examples
    --------
    >>> area_in("8.15 m²"), area_in("AREA: 12,5 sqm"), round(area_in("1,250 SF"), 2)
    (8.15, 12.5, 116.13)
    >>> area_in("S=20.1"), area_in("Area: 12,50"), area_in("S=2.00 %"), area_in("S=3")
    (20.1, 12.5, None, None)
    >>> round(area_in("16'9\" x 11'3\""), 2), area_in("3.20 x 4.00 m"), area_in("2 x 4 STUDS"), area_in("12")
    (17.51, 12.8, None, None)
    """
    found = _AREA.search(text)
    if found is not None:
        number = _number(found["number"])
        area = None if number is None else number * (SQUARE_FOOT if found["f"] else 1.0)
        return area if area is not None and _LEAST <= area <= _MOST else None
    if called := _CALLED.fullmatch(text.strip()):
        return _number(called["number"])
    sides = room_sides(text)
    return sides[0] * sides[1] if sides else None


def _number(text: str) -> float | None:
    """Read a number with a comma or a point for its decimals, or commas between its thousands."""
    plain = text.replace(" ", "").strip(".,")
    if re.fullmatch(r"\d{1,3}(,\d{3})+(\.\d+)?", plain):
        plain = plain.replace(",", "")
    try:
        return float(plain.replace(",", "."))
    except ValueError:
        return None
