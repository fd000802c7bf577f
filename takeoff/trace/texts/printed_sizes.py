"""Sizes printed on plans: floor areas and ceiling heights in rooms, and sizes at doors and windows.

Areas such as 8.15 m², 1,250 SF or 16'9" x 11'3"; heights such as CLG 9'-0" or CH 2700; 2868 is 2'-8" wide and 6'-8"
high, and no number of a room. That figures give feet and inches, width first, is common practice in drawings of houses
in the US; no source.
"""

from __future__ import annotations

import math
import re
import statistics
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import compress
from typing import TypeVar

import numpy as np
import shapely
from shapely import Geometry

from takeoff.errors import LengthError
from takeoff.model.plan import Point
from takeoff.model.walls import OpeningKind
from takeoff.sheet.text import TextLine
from takeoff.units import SQUARE_FOOT, door_size, parse_length, room_sides

AGREES = 0.03
"""Share by which an outline may differ from a printed area and agree: offices round, and measure to other faces."""
_TELL, _ENOUGH = 3, 0.5
"""Different areas that tell a scale together, and the share of all that are printed in closed rooms (judgement)."""
_LEAST, _MOST = 0.3, 20_000.0
"""Square metres between which a printed area is believed (judgement)."""

_METRES = r"(?:[mм]²|[mм]2|㎡|m\.?q\.?|sq\.?\s*m(?:tr?s?)?\.?|sqm|кв\.?\s*м)"
_FEET = r"(?:s\.?/?f\.?|sq\.?\s*ft\.?|ft²|sqft)"
_AREA = re.compile(rf"(?P<number>\d[\d,. ]*?)\s*(?:(?P<m>{_METRES})(?![a-z])|(?P<f>{_FEET}))", re.IGNORECASE)
_CALLED = re.compile(
    rf"(?:{_METRES}\s*[=:]?|(?:S(?:\.?U)?|SUP|SURF|[AÁ]REA|FL[AÄ]CHE)\.?\s*[=:])\s*(?P<number>\d{{1,4}}[.,]\d{{1,2}})",
    re.IGNORECASE,
)
"""A number with decimals behind m², or that is called an area and names no unit: it is of m² (common practice, no
source)."""

_BARE = re.compile(r"(?P<number>\d{1,4}[.,]\d{2})\s*m", re.IGNORECASE)
_OVER = re.compile(r"h\s*=\s*\d[.,]\d{1,2}\s*m?", re.IGNORECASE)
"""Figures in metres, and a height."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedArea:
    """A printed floor area: its text, its middle in sheet points, and the area in m²."""

    text: str
    at_pt: Point
    area: float


Printed = TypeVar("Printed", PrintedArea, "CeilingNote")


def read_printed_areas(lines: Sequence[TextLine]) -> tuple[PrintedArea, ...]:
    """Return the lines of a sheet's text that give a floor area, or the two sides of a room.

    Where letters are recognised, the raised 2 may be lost: figures in metres too large for openings are areas where
    some stand on the height of a room, and so are all others of that size.
    """
    found = [(line, area) for line in lines if (area := area_in(line.text)) is not None]
    bare = [(line, float(m["number"].replace(",", "."))) for line in lines if (m := _BARE.fullmatch(line.text.strip()))]
    heights = [shapely.box(*line.box_pt) for line in lines if _OVER.fullmatch(line.text.strip())] if bare else []
    told = [(line, n) for line, n in bare if shapely.dwithin(heights, shapely.box(*line.box_pt), line.size).any()]
    if len({n for _, n in told}) >= _TELL and statistics.median(n for _, n in told) > _WIDE[1]:
        size = statistics.median(line.size for line, _ in told)
        found += [(line, n) for line, n in bare if abs(line.size - size) < 0.1 * size and _LEAST <= n <= _MOST]
    return tuple(PrintedArea(text=line.text.strip(), at_pt=line.middle_pt, area=area) for line, area in found)


def printed_inside(shape: Geometry, printed: Sequence[Printed]) -> list[Printed]:
    """Return those floor areas, or notes on ceilings, whose middle lies in an area in sheet points."""
    inside = shapely.contains_xy(shape, np.array([one.at_pt for one in printed]).reshape(-1, 2))
    return list(compress(printed, inside))


def areas_inside(shape: Geometry, printed: Sequence[PrintedArea]) -> tuple[float, ...]:
    """Return the areas in m² that are printed in an area in sheet points."""
    return tuple(one.area for one in printed_inside(shape, printed))


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
    >>> round(area_in("257.85 S/F"), 2), round(area_in("67,46 S.F."), 2)
    (23.96, 6.27)
    >>> area_in("S=20.1"), area_in("Area: 12,50"), area_in("S=2.00 %"), area_in("S=3")
    (20.1, 12.5, None, None)
    >>> area_in("mq=28.51"), area_in("28,51 mq"), area_in("S.U. = 14,2"), area_in("3 MQTT")
    (28.51, 28.51, 14.2, None)
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


_WIDE = (0.3, 6.2)
"""Metres that an opening is wide, from a slit of glass to a door for two cars (common practice, no source)."""
_HIGH: dict[OpeningKind, tuple[float, float]] = {"door": (1.9, 3.1), "window": (0.3, 1.9)}
"""Metres between which doors and windows are high (common practice, no source)."""
_BESIDE = 1.0
"""Distance to the name of a room, over the height of its letters, up to which a number is that of the room."""
_FIGURES = re.compile(r"\d{4,5}", re.ASCII)
_SIDES = re.compile(r"\d[^x×]*[x×]\s*\d[^x×]*", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeTag:
    """A written size: its line of text, the middle of that in sheet points, width and height in metres, and of what."""

    line: TextLine
    at_pt: Point
    width: float
    height: float
    kind: OpeningKind


def size_tags(
    lines: Sequence[TextLine], names: Sequence[TextLine], fits: Callable[[SizeTag], bool] | None = None
) -> tuple[SizeTag, ...]:
    """Return the lines of text that give the size of a door or window.

    Four figures are one if two of three are so: a door as wide is drawn beside them, they stand more than once on the
    sheet, and they stand beside no room's name. Where a sheet has such doors, its other figures are sizes too, beside
    a name only those of a door as high as one of these.

    ``lines`` are the sheet's text, ``names`` those of it that read as names of rooms; ``fits`` tells whether a door as
    wide is drawn beside a size: without it the text alone decides.
    """
    found = [tag for tag in map(size_tag, lines) if tag is not None]
    times = Counter(tag.line.text for tag in found)
    boxes = [shapely.box(*name.box_pt) for name in names]
    drawn = [fits is not None and fits(tag) for tag in found]
    alone = [not shapely.dwithin(boxes, shapely.box(*t.line.box_pt), _BESIDE * t.line.size).any() for t in found]
    sure = [
        tag.kind == "door" and is_drawn + (times[tag.line.text] > 1) + is_alone > 1
        for tag, is_drawn, is_alone in zip(found, drawn, alone, strict=True)
    ]
    if not any(sure) or (fits is not None and not any(drawn)):
        return ()
    high = {tag.height for tag, is_sure in zip(found, sure, strict=True) if is_sure}
    return tuple(
        tag
        for tag, is_drawn, is_alone in zip(found, drawn, alone, strict=True)
        if is_drawn or (_FIGURES.fullmatch(tag.line.text) and (is_alone or tag.height in high))
    )


def size_tag(line: TextLine) -> SizeTag | None:
    """Return the size of a door or window that a line may give, whatever stands beside it."""
    text = line.text.strip()
    if not (_FIGURES.fullmatch(text) or _SIDES.fullmatch(text)):
        return None
    try:
        width, height = door_size(text)
    except LengthError:
        return None
    kind = next((kind for kind, (low, high) in _HIGH.items() if low <= height <= high), None)
    if kind is None or not _WIDE[0] <= width <= _WIDE[1]:
        return None
    return SizeTag(line=line, at_pt=line.middle_pt, width=width, height=height, kind=kind)


LOWEST, HIGHEST = 1.8, 30.0
"""Metres between which a printed height is believed (common practice, no source)."""

_WORD = (
    r"(?:C\.?L\.?G\.?|CEIL(?:ING)?\.?|C\.?H\.?)(?:\s*(?:HEIGHT|HGT\.?|HT\.?))?|"
    r"(?:P\.?D\.?|HSP|RH)(?=\s*[:=])"
)
"""PD is the *pé-direito* of Brazil, HSP the *hauteur sous plafond*, RH the *Raumhöhe* (ordinary words, no source)."""
_HEIGHT = (
    r"\d(?:[\d\s.,'\"’”′″/½¼¾⅛⅜⅝⅞~–-]|(?:mm|cm|m|ft|feet|in|inches|to|and|varies|slop(?:es|ed)|min|max|[nsew])\b\.?)*"
)
"""A height, or two of a ceiling that slopes; a note on what the ceiling is made of is none."""
_TAIL = r"(?:\s*A\.?F\.?F\.?(?:L\.?)?)?"
_BEFORE = re.compile(rf"(?:{_WORD})\s*[:=@]?\s*\+?\s*(?P<height>{_HEIGHT}?){_TAIL}", re.IGNORECASE)
_BEHIND = re.compile(rf"\+?\s*(?P<height>{_HEIGHT}?)\s*(?:{_WORD}){_TAIL}", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class CeilingNote:
    """A printed ceiling height: its text, its middle in sheet points, and the height in metres.

    ``height`` is ``None`` where the text does not give one height, as for a ceiling that slopes; ``is_recognised`` as
    of its line.
    """

    text: str
    at_pt: Point
    height: float | None
    is_recognised: bool = False


def read_ceiling_notes(lines: Sequence[TextLine]) -> tuple[CeilingNote, ...]:
    """Return the lines of a sheet's text that give the height of a ceiling.

    A bare whole number is millimetres, or centimetres where only that is a height; another bare number is no height.
    """
    return tuple(
        CeilingNote(text=text, at_pt=line.middle_pt, height=_height(found["height"]), is_recognised=line.is_recognised)
        for line in lines
        if (found := _BEFORE.fullmatch(text := line.text.strip()) or _BEHIND.fullmatch(text))
    )


def one_height(notes: Sequence[CeilingNote]) -> float | None:
    """Return the height in metres that all notes of a room give; nothing where they differ or one gives none."""
    heights = {note.height for note in notes}
    return heights.pop() if len(heights) == 1 else None


def _height(text: str) -> float | None:
    plain = text.strip()
    if re.fullmatch(r"\d{3}", plain):
        plain = f"{plain} cm"  # as millimetres it is under a metre
    try:
        height = parse_length(plain)
    except LengthError:
        return None
    return height if LOWEST <= height <= HIGHEST else None
