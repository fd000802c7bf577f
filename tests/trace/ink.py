"""Drawing in building metres onto a PDF page, with pens and layers."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pymupdf
from shapely import LineString, Polygon

Place = Callable[[tuple[float, float]], tuple[float, float]]


@dataclass(frozen=True)
class Pen:
    """A pen: width in points, grey, dash."""

    width: float
    grey: float = 0.0
    dash: str = ""


@dataclass(frozen=True, kw_only=True)
class Pens:
    """The pens of a plan, and the grey that walls are filled with."""

    wall: Pen
    door: Pen
    glass: Pen
    thin: Pen
    furniture: Pen
    dashed: Pen
    fill: float

    @classmethod
    def of(cls, rng: random.Random, kind: str) -> Pens:
        wall = rng.choice([0.5, 0.7, 1.0])
        light = rng.choice([0.13, 0.18, 0.25])
        if kind == "one-pen":
            wall = light = 0.25
        pale = rng.choice([0.0, 0.0, 0.4, 0.55]) if kind != "one-pen" else 0.0
        return cls(
            wall=Pen(wall),
            door=Pen(light if rng.random() < 0.7 else 0.3 if kind != "one-pen" else light),
            glass=Pen(light),
            thin=Pen(light),
            furniture=Pen(light, pale),
            dashed=Pen(light, 0.0, "[3 2] 0"),
            fill=rng.choice([0.0, 0.2, 0.4, 0.7]),
        )


class Ink:
    """A page that takes shapes in building metres."""

    def __init__(self, size: tuple[float, float], place: Place, *, layered: bool) -> None:
        self.size = size
        self.place = place
        self.layered = layered
        self.parts: list[str] = []
        self.layers: dict[str, int] = {}

    def _put(self, layer: str, content: str) -> None:
        if self.layered:
            number = self.layers.setdefault(layer, len(self.layers))
            content = f"/OC /L{number} BDC {content} EMC"
        self.parts.append(content)

    def _style(self, pen: Pen) -> str:
        return f"q {pen.width:.3f} w {pen.grey:.2f} G {pen.dash or '[] 0'} d"

    def _path(self, points: Sequence[tuple[float, float]]) -> str:
        moved = [self.place(p) for p in points]
        first, *rest = [f"{x:.3f} {y:.3f}" for x, y in moved]
        return f"{first} m " + " ".join(f"{p} l" for p in rest)

    def line(self, a: tuple[float, float], b: tuple[float, float], layer: str, pen: Pen) -> None:
        self._put(layer, f"{self._style(pen)} {self._path([a, b])} S Q")

    def polyline(self, points: Sequence[tuple[float, float]], layer: str, pen: Pen, *, apart: bool = False) -> None:
        if apart:
            for a, b in pairwise(points):
                self.line(a, b, layer, pen)
        else:
            self._put(layer, f"{self._style(pen)} {self._path(points)} S Q")

    def shape(
        self,
        shape: Polygon,
        layer: str,
        *,
        stroke: Pen | None = None,
        fill: float | tuple[float, float, float] | None = None,
        apart: bool = False,
    ) -> None:
        rings = [list(r.coords) for r in (shape.exterior, *shape.interiors)]
        if apart and fill is None and stroke is not None:
            for ring in rings:
                self.polyline(ring, layer, stroke, apart=True)
            return
        path = " ".join(f"{self._path(ring[:-1])} h" for ring in rings)
        paint = {(True, True): "B*", (True, False): "S", (False, True): "f*"}[(stroke is not None, fill is not None)]
        style = self._style(stroke) if stroke else "q"
        parts = fill if isinstance(fill, tuple) else () if fill is None else (fill,)
        colour = " ".join([*(f"{part:.2f}" for part in parts), {0: "", 1: "g", 3: "rg"}[len(parts)]])
        self._put(layer, f"{style} {colour} {path} {paint} Q")

    def arc(
        self,
        centre: Sequence[float],
        radius: float,
        start: float,
        sweep: float,
        layer: str,
        pen: Pen,
        *,
        chords: int = 0,
    ) -> None:
        """Draw an arc in the building frame; angles in radians from x towards y; ``chords`` makes it a polyline."""
        if chords:
            angles = np.linspace(start, start + sweep, chords + 1)
            points = [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles]
            self.polyline(points, layer, pen)
            return
        count = max(1, math.ceil(abs(sweep) / (math.pi / 2) - 1e-9))
        step = sweep / count
        k = 4 / 3 * math.tan(step / 4)
        words = []
        for i in range(count):
            a, b = start + i * step, start + (i + 1) * step
            p0, p3 = (math.cos(a), math.sin(a)), (math.cos(b), math.sin(b))
            p1 = (p0[0] - k * p0[1], p0[1] + k * p0[0])
            p2 = (p3[0] + k * p3[1], p3[1] - k * p3[0])
            q = [self.place((centre[0] + radius * x, centre[1] + radius * y)) for x, y in (p0, p1, p2, p3)]
            if i == 0:
                words.append(f"{q[0][0]:.3f} {q[0][1]:.3f} m")
            words.append(" ".join(f"{x:.3f} {y:.3f}" for x, y in q[1:]) + " c")
        self._put(layer, f"{self._style(pen)} {' '.join(words)} S Q")

    def thick_line(
        self, ends: Sequence[tuple[float, float]], thickness: float, whole: LineString, walls: Sequence[object]
    ) -> None:
        """Draw a wall as one line as wide as it is thick; at junctions the line runs on by half its width."""
        a, b = np.array(ends[0]), np.array(ends[-1])
        u = (b - a) / np.hypot(*(b - a))
        corners = [np.array(p) for p in whole.coords]
        if min(math.dist(a, c) for c in corners) < 1e-6:
            a = a - u * thickness / 2
        if min(math.dist(b, c) for c in corners) < 1e-6:
            b = b + u * thickness / 2
        p, q = self.place((0.0, 0.0)), self.place((1.0, 0.0))
        self.line(tuple(a), tuple(b), "A-WALL", Pen(thickness * math.dist(p, q)))

    def text(
        self, at: tuple[float, float], words: str, size: float, layer: str, *, mask: bool = False, raw: bool = False
    ) -> None:
        """Write words centred on a point (building metres, or sheet points where ``raw``)."""
        x, y = at if raw else self.place(at)
        width = pymupdf.get_text_length(words, "helv", size)
        if mask:
            box = f"{x - width / 2 - 1:.2f} {y - size * 0.75:.2f} {width + 2:.2f} {size:.2f} re"
            self._put(layer, f"q 1 g {box} f Q")
        escaped = words.replace("(", r"\(").replace(")", r"\)")
        self._put(
            layer, f"BT 0 g /F {size:.2f} Tf 1 0 0 -1 {x - width / 2:.2f} {y + size * 0.3:.2f} Tm ({escaped}) Tj ET"
        )

    def raw(self, content: str, layer: str) -> None:
        """Draw in sheet points."""
        self._put(layer, content)

    def data(self, *, rotate: int) -> bytes:
        """Return the PDF."""
        document = pymupdf.open()
        page = document.new_page(width=self.size[0], height=self.size[1])
        names = " ".join(f"/L{i} {document.add_ocg(name)} 0 R" for name, i in self.layers.items())
        font = document.get_new_xref()
        document.update_object(font, "<</Type/Font/Subtype/Type1/BaseFont/Helvetica/Encoding/WinAnsiEncoding>>")
        content = document.get_new_xref()
        document.update_object(content, "<<>>")
        flip = f"1 0 0 -1 0 {self.size[1]:.3f} cm\n"
        document.update_stream(content, (flip + "\n".join(self.parts)).encode("cp1252"))
        document.xref_set_key(page.xref, "Contents", f"{content} 0 R")
        document.xref_set_key(page.xref, "Resources", f"<</Font<</F {font} 0 R>>/Properties<<{names}>>>>")
        page.set_rotation(rotate)
        return bytes(document.tobytes(no_new_id=True))
