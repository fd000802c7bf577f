"""All elevations of a report to one scale: long ones broken, rooms apart, several to a row."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from takeoff.model.cut_lists import Drop
from takeoff.model.figures import Elevation, PlacedOpening
from takeoff.report.content import Shown
from takeoff.report.drawing import ABOVE, BELOW, MARGIN, drawn_width, elevation_svg
from takeoff.report.plan_names import top_words
from takeoff.report.wall_names import Stretch
from takeoff.sheet.scales import USUAL_NOTES
from takeoff.units import Display

POINTS_PER_METRE = 72.0 / 0.0254
SCALES = {
    "imperial": (
        *(note for note in USUAL_NOTES if 24.0 <= note[1] <= 192.0 and note[0].endswith('0"')),
        ('1/32" = 1\'-0"', 384.0),
    ),
    "metric": tuple((f"1:{n}", float(n)) for n in (20, 50, 100, 200, 500)),
}
"""Scales to draw at, the largest first: how each is written, and how many times smaller than the wall it draws.

The metric ones are of ISO 5455, the others the usual architects' scales.
"""
MOST_ROWS = 2
"""Rows that the longest face may take before a smaller scale is tried."""
LEAST_CELL = 135.0
"""Points that a cell has at least, so that its words find room."""
GAP = 10.0
"""Points between two cells of a row."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """A scale as written, and its points per metre on paper."""

    words: str
    points: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One drawing with its words.

    ``index`` is the face's place among the elevations, ``span`` the stations shown in metres, ``width`` the cell's
    width in points. ``title`` names run and face, ``note`` its sizes, ``openings`` lists what is cut out of it.
    """

    index: int
    span: tuple[float, float]
    width: float
    title: str
    note: str
    openings: str
    picture: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomRows:
    """The elevations of one room in rows; ``id`` is the room's."""

    id: str
    title: str
    rows: tuple[tuple[Cell, ...], ...]

    @property
    def width(self) -> float:
        """Points that its longest row takes."""
        return max(sum(cell.width for cell in row) + GAP * (len(row) - 1) for row in self.rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class ElevationSheets:
    """All elevations of a report at one scale, by room.

    ``bands`` are rooms side by side: two where both are narrow.
    """

    scale: Scale
    rooms: tuple[RoomRows, ...]
    bands: tuple[tuple[int, ...], ...]


def common_scale(elevations: Sequence[Elevation], *, width: float, height: float, system: str) -> Scale:
    """Choose the largest usual scale at which every face fits.

    ``width`` is that of a row, ``height`` what the highest drawing may take, in points.
    """
    longest = max((e.length for e in elevations), default=1.0)
    highest = max((h for e in elevations for _, h in e.profile), default=1.0)
    scales = [Scale(words=words, points=POINTS_PER_METRE / ratio) for words, ratio in SCALES[system]]
    for scale in scales:
        rows = math.ceil(longest * scale.points / (width - 2 * MARGIN))
        if rows <= MOST_ROWS and highest * scale.points + ABOVE + BELOW <= height:
            return scale
    return scales[-1]


def break_points(elevation: Elevation, longest: float) -> tuple[float, ...]:
    """Return the stations that a face is cut at so that no part is longer than ``longest`` metres, ends included.

    A cut goes to a corner where there is one in the last two fifths of a part, else beside an opening, else anywhere.
    """
    cuts = [0.0]
    while elevation.length - cuts[-1] > longest + 1e-9:
        start, limit = cuts[-1], cuts[-1] + longest
        left = elevation.length - start
        even = left / math.ceil(left / longest - 1e-9)
        corners = [c.station for c in elevation.corners if start + 0.6 * longest <= c.station <= limit]
        at = min(corners, key=lambda s: abs(s - start - even)) if corners else start + even
        for o in elevation.openings:
            if not corners and o.x0 < at < o.x1 and o.x0 > start + 0.4 * longest:
                at = o.x0 - min(0.1, (o.x0 - start) / 10)
        cuts.append(at)
    return (*cuts, elevation.length)


def arrange(
    shown: Shown, *, width: float, height: float, drops: Mapping[str, Sequence[Drop]] | None = None
) -> ElevationSheets:
    """Draw all faces of a report to one scale and lay them in rows, room by room.

    ``width`` and ``height`` are as of `common_scale`; ``drops`` are pieces of mat to draw on a face, by its key.
    """
    scale = common_scale(shown.elevations, width=width, height=height, system=shown.display.system)
    made = []
    for room in shown.by_room.items:
        here = (i for i, e in enumerate(shown.elevations) if (e.room or "") == room.id)
        cells = [cell for i in here for cell in _cells(shown, i, scale, width, drops or {})]
        if cells:
            made.append(RoomRows(id=room.id, title=room.label, rows=_rows(cells, width)))
    return ElevationSheets(scale=scale, rooms=tuple(made), bands=_bands(made, (width - GAP) / 2))


def _bands(rooms: Sequence[RoomRows], half: float) -> tuple[tuple[int, ...], ...]:
    """Put two rooms side by side, one after the other, where both take no more than half the width."""
    bands: list[tuple[int, ...]] = []
    for i, room in enumerate(rooms):
        if room.width <= half and bands and len(bands[-1]) == 1 and rooms[bands[-1][0]].width <= half:
            bands[-1] = (*bands[-1], i)
        else:
            bands.append((i,))
    return tuple(bands)


def _cells(shown: Shown, index: int, scale: Scale, width: float, drops: Mapping[str, Sequence[Drop]]) -> list[Cell]:
    e, display = shown.elevations[index], shown.display
    name, walls = shown.wall_name(e.key), shown.walls.walls[e.key]
    cuts = break_points(e, (width - 2 * MARGIN) / scale.points)
    parts = list(pairwise(cuts))
    base = f" from {display.length(e.base)}" if e.base > 0.0 else ""
    size = f"{display.length(e.length)} long, {top_words(e, display)} high{base}, net {display.area(float(e.net.area))}"
    cells = []
    for n, (start, end) in enumerate(parts, start=1):
        part = "" if len(parts) == 1 else f", part {n} of {len(parts)}"
        here = f"{display.length(start)} to {display.length(end)}" if part else size
        cells.append(
            Cell(
                index=index,
                span=(start, end),
                width=max(LEAST_CELL, drawn_width(end - start, scale.points)),
                title=f"{name}{part}",
                note=f"{size}; here {here}" if part and n == 1 else here,
                openings=_openings([o for o in e.openings if start <= o.x0 < end], walls, display),
                picture=elevation_svg(
                    e, display, scale=scale.points, span=(start, end), drops=drops.get(e.key, ()), walls=walls
                ),
            )
        )
    return cells


def _openings(openings: Sequence[PlacedOpening], walls: Sequence[Stretch], display: Display) -> str:
    """Say of each opening its size and how far it is from the start of its wall."""

    def words(o: PlacedOpening) -> str:
        wall = next((wall for wall in walls if wall.start <= o.x0 < wall.end), walls[0])
        name = " ".join(t for t in (str(o.source.kind), o.source.mark) if t)
        size = f"{display.length(o.x1 - o.x0)} × {display.length(o.z1 - o.z0)}"
        inside = f" in wall {wall.number}" if len(walls) > 1 else ""
        sill = f", sill {display.length(o.z0)}" if o.z0 > 0.0 else ""
        return f"{name} {size}{inside} at {display.length(o.x0 - wall.start)}{sill}"

    return "; ".join(words(o) for o in openings)


def _rows(cells: Sequence[Cell], width: float) -> tuple[tuple[Cell, ...], ...]:
    rows: list[list[Cell]] = []
    room = -1.0
    for cell in cells:
        if not rows or cell.width + GAP > room:
            rows.append([])
            room = width + GAP
        rows[-1].append(cell)
        room -= cell.width + GAP
    return tuple(tuple(row) for row in rows)
