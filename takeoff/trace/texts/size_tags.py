"""Sizes that are written at doors and windows: 2868 is 2'-8" wide and 6'-8" high, and no number of a room.

That figures give feet and inches, width first, is common practice in drawings of houses in the US; no source.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import shapely

from takeoff.errors import LengthError
from takeoff.model.plan import Point
from takeoff.model.walls import OpeningKind
from takeoff.sheet.text import TextLine
from takeoff.units import door_size

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
