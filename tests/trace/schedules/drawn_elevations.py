"""Interior elevations drawn for tests, with the pens of the sample set: walls with dimensions, notes and a title."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import pymupdf

from sample_plans.ink import Frame, Ink, add_layers
from sample_plans.sheets import POINTS_PER_METRE, feet_and_inches
from sample_plans.titleblock import SheetTitle, draw_border, draw_title

INCH = 0.0254


@dataclass(frozen=True, kw_only=True)
class Wall:
    """A wall to draw, in metres: its title, its heights at both ends, and what is dimensioned and noted.

    ``strings`` are stations of upright dimension strings at its left side, over the floor. ``notes`` are texts with
    their place over the floor. ``door`` is the height of a door in the middle, ``door_width`` its width. ``sides``
    tells whether its ends are drawn.
    """

    title: str
    width: float
    heights: tuple[float, float]
    strings: Sequence[Sequence[float]] = ()
    notes: Sequence[tuple[str, float]] = ()
    wainscot: float = 0.0
    door: float = 0.0
    door_width: float = 0.9
    sides: bool = True


def draw_walls(
    document: pymupdf.Document,
    walls: Sequence[tuple[Wall, tuple[float, float]]],
    *,
    scale: tuple[str, int] = ('3/8" = 1\'-0"', 32),
    label: Callable[[float], str] = feet_and_inches,
    page: int = -1,
) -> None:
    """Draw walls on a page, each with the sheet point where its floor begins; a scale is a note and its N of 1:N."""
    ink = Ink(document[page], add_layers(document))
    draw_border(ink, SheetTitle(number="A-201", title="INTERIOR ELEVATIONS", scale=scale[0]))
    for wall, at in walls:
        _draw(ink, wall, Frame(x0=at[0], y0=at[1], scale=POINTS_PER_METRE / scale[1]), label)
        draw_title(ink, (at[0], at[1] + 130), "1", wall.title, scale[0], 300)
    ink.dry()


def _draw(ink: Ink, wall: Wall, frame: Frame, label: Callable[[float], str]) -> None:
    layer, (left, right) = "A-ELEV", wall.heights
    ceiling = [(0.0, -left), (wall.width, -right)]
    outline = [(0.0, 0.0), *ceiling, (wall.width, 0.0)] if wall.sides else ceiling
    ink.line(layer, [frame.pt(p) for p in outline], 1.2)
    ink.line(layer, [frame.pt((-0.4, 0.0)), frame.pt((wall.width + 0.4, 0.0))], 2.2)
    if wall.wainscot:
        ink.line(layer, [frame.pt((0.0, -wall.wainscot)), frame.pt((wall.width, -wall.wainscot))], 0.5)
    if wall.door:
        low, high = (wall.width - wall.door_width) / 2, (wall.width + wall.door_width) / 2
        ink.box(layer, frame.pt((low, -wall.door)), frame.pt((high, 0.0)), 0.7)
    x, floor = frame.pt((0.0, 0.0))
    for k, stations in enumerate(wall.strings):
        ink.dimensions(frame, [-s for s in sorted(stations, reverse=True)], "y", x - 40 - 30 * k, x - 10, label)
    ink.dimensions(frame, [0.0, wall.width], "x", floor + 50, floor + 6, label)
    for text, height in wall.notes:
        ink.text("A-ANNO-TEXT", frame.pt((0.55 * wall.width, -height)), text, 8)
