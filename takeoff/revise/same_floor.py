"""Whether a new sheet shows the same floor as the old one, and which walls lie beyond what it shows."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.model.plan import EDGE_PT, Point, Sheet
from takeoff.model.walls import Room, Run
from takeoff.revise.registration import Box, Floats, Registration, middles_in
from takeoff.sheet.text import TextLine

FEW = 3
"""Printed room numbers or names below which they tell nothing of a sheet (judgement, no source)."""
KEPT = 0.5
"""Part of them that the same floor still has after a revision (judgement, no source)."""
WALLS = 0.8
"""Part of the old drawing that a revision of the same floor still shows where nothing else tells it (measured on pairs
of floors of one building, which share up to 0.7)."""
STILL = 2.0 / 3.0
"""The same of the traced walls where one of the sheets is a picture (measured on made pairs: revisions have 0.69 and
more, other floors of one building up to 0.64 unless they are drawn alike but for a door or two)."""
ALIKE = 0.95
"""Part of the old drawing from which it is the same floor although its rooms were numbered anew (judgement)."""
EMPTY = 0.02
"""Part of the old lines about a wall that chance finds where a sheet shows nothing of it."""
LEAST_LINES = 4
ABOUT_PT = 100.0
"""Points about a room's label within which a sheet that shows the place prints something (judgement, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Likeness:
    """What two sheets have in common: printed room numbers and names kept, of how many, and the share of lines.

    ``least`` is the share that tells the same floor where rooms do not.
    """

    numbers: tuple[int, int]
    names: tuple[int, int]
    lines: float
    least: float = WALLS

    @property
    def is_other_floor(self) -> bool:
        """True where printed rooms say that it is another floor."""
        kept, of = self.numbers if self.numbers[1] >= FEW else self.names
        return of >= FEW and kept < KEPT * of and self.lines < ALIKE

    @property
    def is_uncertain(self) -> bool:
        """True where neither rooms nor lines say that it is the same floor."""
        kept, of = self.numbers if self.numbers[1] >= FEW else self.names
        return self.lines < self.least if of < FEW else kept < KEPT * of


def likeness(
    runs: Sequence[Run],
    rooms: Mapping[str, Room],
    registration: Registration,
    old_text: Sequence[TextLine],
    new_text: Sequence[TextLine],
    *,
    lines: float,
    least: float = WALLS,
) -> Likeness:
    """Compare the numbers and names that both sheets print in the traced rooms.

    Parameters
    ----------
    lines
        Part of the old drawing, by length, that the new sheet shows.
    least
        Part from which it is the same floor where neither numbers nor names tell.
    """
    kept = {"number": [0, 0], "name": [0, 0]}
    for run in runs if old_text and new_text else ():  # a picture shows no text
        room = rooms.get(run.room or "")
        if room is None or not run.closed:
            continue
        points = run.path_pt.flattened(1.0)
        before = _texts_in(points, old_text)
        after = [text for text, _ in _texts_in([registration.carry(p) for p in points], new_text)]
        for kind, wanted in (("number", room.number), ("name", room.name)):
            plain = _plain(wanted)
            at = next((at for text, at in before if plain and plain in text), None)
            if at is not None and _is_printed_about(registration.carry(at), new_text):
                kept[kind][1] += 1
                kept[kind][0] += any(plain in text for text in after)
    numbers, names = kept["number"], kept["name"]
    return Likeness(numbers=(numbers[0], numbers[1]), names=(names[0], names[1]), lines=lines, least=least)


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9]", "", text.casefold())


def _texts_in(outline: Sequence[Point], lines: Sequence[TextLine]) -> list[tuple[str, Point]]:
    if len(outline) < 3:
        return []
    shape = shapely.Polygon(outline)
    shapely.prepare(shape)
    return [(_plain(line.text), at) for line in lines if shape.contains(shapely.Point(at := line.middle_pt))]


def _is_printed_about(at: Point, lines: Sequence[TextLine]) -> bool:
    """Tell whether a sheet prints anything near a place; where it does not, it may end there."""
    return any(math.dist(at, line.middle_pt) <= ABOUT_PT for line in lines)


def is_beyond(points_pt: Sequence[Point], sheet: Sheet, old: Floats, new: Floats, margin_pt: float) -> bool:
    """Tell whether a wall lies beyond what the new sheet shows: off its page, or where it draws nothing at all.

    Parameters
    ----------
    points_pt
        The wall's line on the new sheet.
    old, new
        Lines of both in points of the new sheet, shape (n, 4).
    margin_pt
        How far about the wall is looked, points.
    """
    if not all(sheet.holds(p) for p in points_pt):
        return True
    xs, ys = [p[0] for p in points_pt], [p[1] for p in points_pt]
    box = (min(xs) - margin_pt, min(ys) - margin_pt, max(xs) + margin_pt, max(ys) + margin_pt)
    before, after = _length_in(old, box), _length_in(new, box)
    return before[1] >= LEAST_LINES and after[0] <= EMPTY * before[0]


def is_cut(points_pt: Sequence[Point], sheet: Sheet, old: Floats, margin_pt: float) -> bool:
    """Tell whether the new sheet ends within what the old one draws about a wall; parameters as for `is_beyond`."""
    size = np.array([sheet.width_pt, sheet.height_pt, sheet.width_pt, sheet.height_pt])
    off = old[((old < -EDGE_PT) | (old > size + EDGE_PT)).any(1)]
    if not len(off):
        return False
    return bool(
        shapely.dwithin(shapely.LineString(points_pt), shapely.linestrings(off.reshape(-1, 2, 2)), margin_pt).any()
    )


def _length_in(lines: Floats, box: Box) -> tuple[float, int]:
    inside = lines[middles_in(lines, box)]
    return float(np.hypot(inside[:, 2] - inside[:, 0], inside[:, 3] - inside[:, 1]).sum()), len(inside)
