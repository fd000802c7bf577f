"""Where the names of runs stand on a marked plan, so that they cover neither one another nor what is written there.

Greedy: the shortest runs, which have the fewest places, choose first; each takes the first place beside its face that
covers nothing, or else the one that covers least.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from takeoff.report.content import Box, Mark, SheetPicture

LONGEST_NAME = 24
"""Letters of a run's name that are shown on a plan."""
SIZE = 8.0
"""Height of a name in thousandths of the sheet's longer side."""
_ADVANCE = 0.602
"""Width of a letter of the fixed-pitch face for its height."""
_SHARES = (0.38, 0.62, 0.25, 0.75, 0.5, 0.12, 0.88)
"""Parts of a piece's length at which a name may stand; the middle, where the tick is, comes late."""
_OFF = (9.0, 7.2, 13.0, 17.0, -9.0, -7.2, -13.0, 22.0, 27.0, -17.0)
"""Distances of a name's middle from the face in the same measure; below nil on the side that is not coated."""
_PIECES = 8
"""Longest pieces of a run that a name is tried beside."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedName:
    """A run's name and the middle of its base line, in points of the page as displayed."""

    run: str
    text: str
    x: float
    y: float


def place_names(picture: SheetPicture) -> tuple[PlacedName, ...]:
    """Place the name of each run of a sheet once."""
    width, height = picture.size_pt
    unit = max(width, height) / 1000.0
    marks: dict[str, Mark] = {}
    for mark in picture.marks:
        marks.setdefault(mark.label.rpartition(":")[0], mark)
    written = [(box, 2.0) for box in picture.texts_pt]
    drawn = [(_round(x, y, 3.6 * unit, 3.6 * unit), 1.0) for mark in picture.marks for x, y, _ in mark.corners]
    drawn += [
        (_line_box(a, b, unit), 1.0) for mark in picture.marks for piece in _pieces(mark) for a, b in _cut(*piece[:2])
    ]
    taken: list[tuple[Box, float]] = [*written, *drawn]
    placed: dict[str, PlacedName] = {}
    for run in sorted(marks, key=lambda name: (_length(marks[name]), name)):
        text = run if len(run) <= LONGEST_NAME else run[: LONGEST_NAME - 1] + "…"
        wide, high = _ADVANCE * SIZE * unit * len(text), SIZE * unit
        best, least = (0.0, 0.0), math.inf
        for x, y in _places(marks[run], wide, high, unit):
            box = _round(x, y, wide / 2, high / 2)
            outside = max(-box[0], -box[1], box[2] - width, box[3] - height, 0.0)
            covered = outside * high * 4.0
            for other, weight in taken:
                if (overlap := _overlap(box, other)) > 0.0:
                    covered += weight * overlap + (high * high if weight > 1.0 else 0.0)
            if covered < least - 1e-9:
                best, least = (x, y), covered
            if covered == 0.0:
                break
        x, y = best
        taken.append((_round(x, y, wide / 2 + unit, high / 2 + unit), 4.0))
        placed[run] = PlacedName(run=run, text=text, x=x, y=y + 0.35 * high)
    return tuple(placed[run] for run in marks)


def _places(mark: Mark, wide: float, high: float, unit: float) -> Iterator[tuple[float, float]]:
    """Middles that a name may have beside a face, best first."""
    pieces = sorted(_pieces(mark), key=lambda piece: -math.dist(piece[0], piece[1]))[:_PIECES]
    for off in _OFF:
        for (x0, y0), (x1, y1), (hx, hy) in pieces:
            reach = off * unit + math.copysign(abs(hx) * wide / 2 + abs(hy) * (high - SIZE * unit) / 2, off)
            for share in _SHARES:
                yield x0 + share * (x1 - x0) + hx * reach, y0 + share * (y1 - y0) + hy * reach


def _pieces(mark: Mark) -> list[tuple[tuple[float, float], tuple[float, float], tuple[float, float]]]:
    return list(zip(mark.line_pt, mark.line_pt[1:], mark.hand, strict=False))


def _length(mark: Mark) -> float:
    return sum(math.dist(a, b) for a, b, _ in _pieces(mark))


def _cut(a: Sequence[float], b: Sequence[float]) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Cut a slanting line into pieces whose boxes lie close to it."""
    slant = min(abs(b[0] - a[0]), abs(b[1] - a[1]))
    count = max(1, min(16, math.ceil(slant / 6.0)))
    points = [(a[0] + (b[0] - a[0]) * n / count, a[1] + (b[1] - a[1]) * n / count) for n in range(count + 1)]
    return list(pairwise(points))


def _line_box(a: tuple[float, float], b: tuple[float, float], unit: float) -> Box:
    return (min(a[0], b[0]) - unit, min(a[1], b[1]) - unit, max(a[0], b[0]) + unit, max(a[1], b[1]) + unit)


def _round(x: float, y: float, half_wide: float, half_high: float) -> Box:
    return (x - half_wide, y - half_high, x + half_wide, y + half_high)


def _overlap(a: Box, b: Box) -> float:
    wide, high = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
    return wide * high if wide > 0.0 and high > 0.0 else 0.0
