"""Pen work on one PDF page: lines, arcs, text and dimension strings, each on a named layer (optional content)."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import pymupdf

Point = tuple[float, float]

LAYERS = (
    "A-EQPM",
    "P-DRAN",
    "A-WALL",
    "A-WALL-PRHT",
    "A-COLS",
    "A-GLAZ",
    "A-DOOR",
    "A-FLOR-IDEN",
    "A-ELEV",
    "A-ANNO-DIMS",
    "A-ANNO-TEXT",
    "A-ANNO-SYMB",
    "A-ANNO-SCHD",
    "A-ANNO-TTLB",
)
BLACK, GREY, LIGHT, POCHE = 0.0, 0.35, 0.55, 0.72


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where a drawing lies on its page: sheet points of the building's origin, and points to the metre."""

    x0: float
    y0: float
    scale: float

    def pt(self, point: Point) -> Point:
        """Turn building metres into sheet points."""
        return (self.x0 + point[0] * self.scale, self.y0 + point[1] * self.scale)


def add_layers(doc: pymupdf.Document) -> dict[str, int]:
    """Make the layers of a document; name to object number."""
    return {name: doc.add_ocg(name, on=True) for name in LAYERS}


class Ink:
    """Everything drawn on one page, gathered by layer and laid down by ``dry``."""

    def __init__(self, page: pymupdf.Page, layers: dict[str, int]) -> None:
        self.page = page
        self._layers = layers
        self._shapes = {name: page.new_shape() for name in layers}

    def dry(self) -> None:
        """Lay the layers down in their order."""
        for name in self._layers:
            self._shapes[name].commit()

    def _finish(
        self,
        layer: str,
        width: float,
        tone: float | None,
        fill: float | None = None,
        dashes: str = "",
        even_odd: bool = False,
    ) -> None:
        self._shapes[layer].finish(
            width=width,
            color=None if tone is None else (tone,) * 3,
            fill=None if fill is None else (fill,) * 3,
            dashes=dashes or None,
            closePath=False,
            even_odd=even_odd,
            lineJoin=0,
            oc=self._layers[layer],
        )

    def line(
        self,
        layer: str,
        points: Sequence[Point],
        width: float = 0.5,
        *,
        tone: float | None = BLACK,
        fill: float | None = None,
        closed: bool = False,
        dashes: str = "",
    ) -> None:
        """Draw a polyline, or a polygon when closed."""
        path = [*points, points[0]] if closed else list(points)
        self._shapes[layer].draw_polyline(path)
        self._finish(layer, width, tone, fill, dashes)

    def box(self, layer: str, a: Point, b: Point, width: float = 0.5, **style: object) -> None:
        """Draw an upright rectangle between two corners."""
        self.line(layer, [a, (b[0], a[1]), b, (a[0], b[1])], width, closed=True, **style)  # type: ignore[arg-type]

    def circle(self, layer: str, centre: Point, radius: float, width: float = 0.5, **style: object) -> None:
        """Draw a circle."""
        self._arc(layer, centre, radius, 0.0, 2 * math.pi)
        self._finish(layer, width, style.get("tone", BLACK), style.get("fill"), str(style.get("dashes", "")))  # type: ignore[arg-type]

    def arc(
        self, layer: str, centre: Point, radius: float, start: float, end: float, width: float = 0.35, dashes: str = ""
    ) -> None:
        """Draw an arc between two angles in radians, x to the right and y down."""
        self._arc(layer, centre, radius, start, end)
        self._finish(layer, width, BLACK, None, dashes)

    def _arc(
        self,
        layer: str,
        centre: Point,
        radius: float,
        start: float,
        end: float,
        ends: tuple[Point, Point] | None = None,
    ) -> None:
        pieces = max(1, math.ceil(abs(end - start) / (math.pi / 4) - 1e-9))
        step = (end - start) / pieces
        k = 4 / 3 * math.tan(step / 4) * radius
        at = [start + step * i for i in range(pieces + 1)]
        spot = [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in at]
        if ends is not None:
            spot[0], spot[-1] = ends
        for i in range(pieces):
            (x0, y0), (x1, y1) = spot[i], spot[i + 1]
            c0 = (x0 - k * math.sin(at[i]), y0 + k * math.cos(at[i]))
            c1 = (x1 + k * math.sin(at[i + 1]), y1 - k * math.cos(at[i + 1]))
            self._shapes[layer].draw_bezier(spot[i], c0, c1, spot[i + 1])

    def rings(
        self, layer: str, rings: Iterable[list[Point]], circles: list[tuple[Point, float]], width: float, fill: float
    ) -> None:
        """Fill and outline an area; stretches of a ring that lie on one of the circles become true arcs."""
        for ring in rings:
            self._ring(layer, ring, circles)
        self._finish(layer, width, BLACK, fill, even_odd=True)

    def _ring(self, layer: str, ring: list[Point], circles: list[tuple[Point, float]]) -> None:
        def curve(p: Point) -> int | None:
            near = (i for i, (c, r) in enumerate(circles) if abs(math.dist(p, c) - r) < 1e-3)
            return next(near, None)

        on = [curve(p) for p in ring]
        first = on.index(None)
        points = ring[first:] + ring[: first + 1]
        on = on[first:] + on[: first + 1]
        i = 0
        while i < len(points) - 1:
            j = i + 1
            if on[i] is None or on[j] != on[i]:
                self._shapes[layer].draw_line(points[i], points[j])
            else:
                while on[j + 1] == on[i]:
                    j += 1
                centre, radius = circles[on[i] or 0]
                a, b = (math.atan2(p[1] - centre[1], p[0] - centre[0]) for p in (points[i], points[j]))
                self._arc(layer, centre, radius, a, b, (points[i], points[j]))
            i = j

    def text(
        self,
        layer: str,
        at: Point,
        words: str,
        size: float = 8.0,
        *,
        bold: bool = False,
        align: str = "left",
        upright: bool = False,
        tone: float = BLACK,
    ) -> None:
        """Write one line; ``align`` is left, centre or right; ``upright`` reads from the right of the sheet."""
        font = "hebo" if bold else "helv"
        back = {"left": 0.0, "centre": 0.5, "right": 1.0}[align] * text_width(words, size, bold)
        where = (at[0], at[1] + back) if upright else (at[0] - back, at[1])
        self._shapes[layer].insert_text(
            where, words, fontsize=size, fontname=font, rotate=90 if upright else 0, color=(tone,) * 3,
            oc=self._layers[layer],
        )  # fmt: skip

    def dimensions(
        self,
        frame: Frame,
        stations: Sequence[float],
        axis: str,
        offset: float,
        start: float | None,
        label: Callable[[float], str],
        layer: str = "A-ANNO-DIMS",
    ) -> None:
        """Draw a string of dimensions between stations (metres along the axis).

        ``offset`` is where the string lies and ``start`` where its extension lines begin, both in sheet points across
        the axis; without a start there are none.
        """
        spots = [frame.pt((s, s))[0 if axis == "x" else 1] for s in stations]

        def at(along: float, across: float) -> Point:
            return (along, across) if axis == "x" else (across, along)

        self.line(layer, [at(spots[0] - 5, offset), at(spots[-1] + 5, offset)], 0.35)
        for s in spots:
            self.line(layer, [(at(s, offset)[0] - 3.2, at(s, offset)[1] + 3.2),
                              (at(s, offset)[0] + 3.2, at(s, offset)[1] - 3.2)], 0.9)  # fmt: skip
            if start is not None:
                away = math.copysign(1.0, offset - start)
                self.line(layer, [at(s, start + 5 * away), at(s, offset + 5 * away)], 0.25)
        for s, t, m, n in zip(spots, spots[1:], stations, stations[1:], strict=False):
            words = label(n - m)
            rise = 3.0 if text_width(words, 7.5) < abs(t - s) - 8 else 6.0
            middle = (s + t) / 2
            self.text(layer, at(middle, offset - rise), words, 7.5, align="centre", upright=axis == "y")


def text_width(words: str, size: float, bold: bool = False) -> float:
    """Measure a line of text in points."""
    return pymupdf.get_text_length(words, fontname="hebo" if bold else "helv", fontsize=size)
