"""What is drawn on a vector sheet, as numbers: straight lines, arcs and filled shapes with the style of their paths.

Words of this module: a *path* is one painting instruction with one style; a *line* is one straight piece of a path's
outline; an *arc* is a circular piece, whether the file holds it as a curve or as a chain of short chords; a *ring* is
the closed outline of a filled shape. Paths are numbered in the order of painting: a later path covers an earlier one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import compress, pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from takeoff.geometry.arcs import flatten_segment
from takeoff.limits import no_sweeps
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.document import open_page
from takeoff.sheet.formats import file_format
from takeoff.sheet.frame import Box, cut_line, cut_ring
from takeoff.trace.drawing import curves
from takeoff.trace.drawing.covers import is_patch, shown_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

Keep = Callable[[dict[str, Any]], bool]
_AT_ONCE = 2_000
"""Drawings of a page that are taken in at once (judgement)."""
CHORD_PT = 0.05
"""Points; how far a chord may leave its arc where arcs are needed as straight pieces."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pieces:
    """Straight segments: all lines of a linework in their order, then the chords of its arcs.

    ``segments`` has a row (x0, y0, x1, y1) in sheet points, ``path`` its path; ``is_end`` says of both its ends whether
    something drawn ends there, which a chord in the middle of an arc does not; ``arc`` is the row of the arc that it is
    a chord of, −1 for lines.
    """

    segments: Floats
    path: Ints
    is_end: Flags
    arc: Ints

    @property
    def is_whole(self) -> Flags:
        """Whether each is a line and no chord."""
        flags: Flags = self.arc < 0
        return flags


@dataclass(frozen=True, kw_only=True)
class Linework:
    """Everything that is drawn on one sheet, in sheet points.

    ``lines`` has a row (x0, y0, x1, y1) per straight piece and ``arcs`` a row (x0, y0, x1, y1, bulge) per arc;
    ``line_path`` and ``arc_path`` number the path of each row. ``ring_points`` holds the rings of the filled shapes one
    after another, ``ring_start`` where each begins (and, last, where the last ends), ``ring_path`` the path of each.

    Per path: ``stroked`` and ``filled``, the ``width`` of the pen in points, its ``colour`` and the ``fill`` as red,
    green and blue in 0..1 (of no meaning where not stroked or filled), ``dashed``, and ``layer`` as an index into
    ``layers``, whose first name is empty.
    """

    lines: Floats
    line_path: Ints
    arcs: Floats
    arc_path: Ints
    ring_points: Floats
    ring_start: Ints
    ring_path: Ints
    stroked: Flags
    filled: Flags
    width: Floats
    colour: Floats
    fill: Floats
    dashed: Flags
    layer: Ints
    layers: tuple[str, ...]

    @property
    def path_count(self) -> int:
        """Number of paths."""
        return len(self.stroked)

    def ring(self, index: int) -> Floats:
        """Return the vertices of one ring in sheet points, the first not repeated."""
        return self.ring_points[self.ring_start[index] : self.ring_start[index + 1]]

    def layer_name(self, path: int) -> str:
        """Return the layer of a path; empty where it is on none."""
        return self.layers[int(self.layer[path])]

    @cached_property
    def pens(self) -> tuple[Floats, Ints]:
        """The pens of the sheet, a row each (layer, width, red, green, blue), and for each path that of its pen."""
        rows = np.column_stack([self.layer, np.round(self.width, 2), np.round(self.colour, 2)])
        kinds, number = np.unique(rows, axis=0, return_inverse=True)
        return kinds, number.ravel()

    @cached_property
    def pieces(self) -> Pieces:
        """All lines and the chords of all arcs as straight segments."""
        chords: list[tuple[float, float, float, float]] = []
        owners: list[int] = []
        ends: list[tuple[bool, bool]] = []
        for row, (x0, y0, x1, y1, bulge) in enumerate(self.arcs.tolist()):
            points = list(pairwise(flatten_segment((x0, y0), (x1, y1), bulge, CHORD_PT)))
            chords.extend((*a, *b) for a, b in points)
            owners.extend([row] * len(points))
            ends.extend((i == 0, i == len(points) - 1) for i in range(len(points)))
        straight = len(self.lines)
        return Pieces(
            segments=np.concatenate([self.lines, np.array(chords, np.float64).reshape(-1, 4)]),
            path=np.concatenate([self.line_path, self.arc_path[np.array(owners, np.int64)]]),
            is_end=np.concatenate([np.ones((straight, 2), bool), np.array(ends, bool).reshape(-1, 2)]),
            arc=np.concatenate([np.full(straight, -1, np.int64), np.array(owners, np.int64)]),
        )


def empty_linework() -> Linework:
    """Return the linework of a sheet on which nothing is drawn.

    Examples
    --------
    >>> empty_linework().pieces.segments.shape
    (0, 4)
    """
    return _Gathered().linework()


_LAST: dict[tuple[int, int], Linework] = {}
"""What was read last, all of it: a sheet is read for its scale, and again for its rooms."""


@no_sweeps()
def read_linework(data: bytes, sheet: Sheet, keep: Keep | None = None) -> Linework:
    """Read everything that is drawn on a sheet, in sheet points; a picture has no linework.

    ``data`` is the plan file; ``keep`` tells of each drawing of the engine whether it is wanted; without it all are.
    Raises `SheetError` when the file cannot be read.
    """
    if file_format(data, sheet.called) != "pdf":
        return empty_linework()
    key = (hash(data), sheet.page)
    if keep is None and key in _LAST:
        return _LAST[key]
    with open_page(data, sheet.page, sheet.called) as page:
        found = linework_of_page(page, keep)
    if keep is None:
        _LAST.clear()
        _LAST[key] = found
    return found


def linework_of_page(page: Any, keep: Keep | None = None) -> Linework:
    """Read everything that is drawn and shows on an open page, or what of it is wanted."""
    gathered = _Gathered()
    sides = (page.rect.width, page.rect.height)[:: -1 if page.rotation % 180 else 1]
    # what cuts off what follows at a deeper level, and whether nothing but that is done to it
    boxes: list[tuple[int, Box, bool]] = [(-1, (0.0, 0.0, *sides), True)]
    waiting: list[tuple[dict[str, Any], Box, bool]] = []

    def take(drawing: dict[str, Any]) -> None:
        while boxes[-1][0] >= drawing["level"]:
            boxes.pop()
        _, around, is_plain = boxes[-1]
        if drawing["type"] == "clip":
            (x0, y0, x1, y1), (a, b, c, d) = drawing["scissor"], around
            is_box = [item[0] for item in drawing["items"]] == ["re"]
            boxes.append((drawing["level"], (max(x0, a), max(y0, b), min(x1, c), min(y1, d)), is_plain and is_box))
        elif drawing["type"] == "group":
            is_mixed = drawing["blendmode"] != "Normal" or drawing["opacity"] < 1.0
            boxes.append((drawing["level"], around, is_plain and not is_mixed))
        elif _shows(drawing) and (keep is None or keep(drawing)):
            waiting.append((drawing, around, is_patch(drawing, is_plain=is_plain)))
            if len(waiting) == _AT_ONCE:
                gathered.add_all(waiting)
                waiting.clear()

    page.get_cdrawings(extended=True, callback=take)  # some at a time: all together take 1.3 kB for each path
    gathered.add_all(waiting)
    return gathered.linework()


def _shows(drawing: dict[str, Any]) -> bool:
    """Tell whether a drawing leaves ink: what is wholly transparent leaves none."""
    return max(drawing.get("stroke_opacity") or 0.0, drawing.get("fill_opacity") or 0.0) > 0.0


class _Gathered:
    """Lists that grow path by path, and become arrays at the end."""

    def __init__(self) -> None:
        self.lines: list[tuple[float, float, float, float]] = []
        self.line_path: list[int] = []
        self.curved: list[int] = []
        self.arcs: list[tuple[float, float, float, float, float]] = []
        self.arc_path: list[int] = []
        self.rings: list[list[Point]] = []
        self.ring_path: list[int] = []
        self.styles: list[tuple[bool, bool, float, Point3, Point3, bool, int]] = []
        self.layers: dict[str, int] = {"": 0}
        self.within: Box | None = None
        self.patches: list[int] = []

    def add_all(self, drawings: Sequence[tuple[dict[str, Any], Box, bool]]) -> None:
        """Take in drawings of the PDF engine, each with the box it shows within and if it hides what is under it."""
        solids = curves.solids_of(
            [(d["items"] if d["type"] == "s" else (), d.get("width") or 0.0) for d, _, _ in drawings]
        )
        for place, (drawing, within, hides) in enumerate(drawings):
            if hides:
                self.patches.append(len(self.styles))
            self._add(drawing, within, solids.get(place))

    def _add(self, drawing: dict[str, Any], within: Box, solid: list[Point] | None) -> None:
        """Take in what shows of one drawing ``within`` a box, a ``solid`` of it; what it holds is cut at its edge."""
        x0, y0, x1, y1 = drawing["rect"]
        if x1 < within[0] or x0 > within[2] or y1 < within[1] or y0 > within[3]:
            return
        is_whole = within[0] <= x0 and within[1] <= y0 and x1 <= within[2] and y1 <= within[3]
        self.within = None if is_whole else within
        path = len(self.styles)
        kind, items = drawing["type"], drawing["items"]
        width, ink, fill = float(drawing.get("width") or 0.0), drawing.get("color"), drawing.get("fill")
        if solid is not None:
            kind, fill = "f", ink
            items = [("l", a, b) for a, b in pairwise([*solid, solid[0]])]
        self.styles.append(
            (
                "s" in kind,
                "f" in kind,
                width,
                tuple(ink or BLACK),
                tuple(fill or BLACK),
                not (drawing.get("dashes") or "[]").startswith(("[]", "[ ]")),
                self.layers.setdefault(drawing.get("layer") or "", len(self.layers)),
            )
        )
        trails = self._pieces(items, path)
        if "f" in kind:
            for ring in trails if self.within is None else [cut_ring(ring, self.within) for ring in trails]:
                if ring and ring[0] == ring[-1]:
                    ring.pop()
                if len(ring) > 2:
                    self.rings.append(ring)
                    self.ring_path.append(path)

    def _pieces(self, items: Sequence[Any], path: int) -> list[list[Point]]:
        """Take in the lines and curves of a path; return what they go round."""
        arcs: list[tuple[float, float, float, float, float]] = []
        trail: list[Point] = []
        trails: list[list[Point]] = []
        for item in items:
            match item[0]:
                case "l":
                    self._put(item[1], item[2], path)
                    if not trail or trail[-1] != item[1]:
                        trail = [item[1]]
                        trails.append(trail)
                    trail.append(item[2])
                case "re" | "qu":
                    corners = curves.corners_of(item[0], item[1])
                    for a, b in pairwise([*corners, corners[0]]):
                        self._put(a, b, path)
                    trails.append([*corners, corners[0]])
                    trail = []
                case "c":
                    curve: curves.Curve = item[1:5]
                    if not trail or trail[-1] != curve[0]:
                        trail = [curve[0]]
                        trails.append(trail)
                    points = curves.flatten_curve(curve, CHORD_PT)
                    trail.extend(points[1:])
                    if self.within is not None and cut_ring(points, self.within) != points:
                        for a, b in pairwise(points):
                            self._put(a, b, path)
                        continue
                    bulge = curves.arc_of_curve(curve)
                    if bulge is not None:
                        arcs.append((*curve[0], *curve[3], bulge))
                    else:
                        for a, b in pairwise(points):
                            self.curved.append(len(self.lines))
                            self.lines.append((*a, *b))
                            self.line_path.append(path)
        for arc in curves.merge_arcs(arcs):
            self.arcs.append(arc)
            self.arc_path.append(path)
        return trails

    def _put(self, a: Point, b: Point, path: int) -> None:
        if a != b and (shown := (a, b) if self.within is None else cut_line(a, b, self.within)):
            self.lines.append((*shown[0], *shown[1]))
            self.line_path.append(path)

    def linework(self) -> Linework:
        """Turn the lists into arrays; chains of short chords become arcs."""
        stroked, filled, width, colour, fill, dashed, layer = [*zip(*self.styles, strict=True)] or [()] * 7
        lines = np.array(self.lines, np.float64).reshape(-1, 4)
        line_path = np.array(self.line_path, np.int64)
        styles = np.array([hash(s[:4] + s[5:]) for s in self.styles], np.int64)[line_path] if len(lines) else line_path
        styles[self.curved] = np.arange(len(self.curved))  # the chords of a curve that is not round stand for no arc
        stays, found, found_path = curves.chains_to_arcs(lines, line_path, styles)
        lines, line_path = lines[stays], line_path[stays]
        arcs = np.concatenate([np.array(self.arcs, np.float64).reshape(-1, 5), found])
        arc_path = np.concatenate([np.array(self.arc_path, np.int64), found_path])
        ring_path = np.array(self.ring_path, np.int64)
        shown = shown_of(self.patches, (lines, line_path), (arcs, arc_path), (self.rings, ring_path))
        rings = list(compress(self.rings, shown[2]))
        return Linework(
            lines=lines[shown[0]],
            line_path=line_path[shown[0]],
            arcs=arcs[shown[1]],
            arc_path=arc_path[shown[1]],
            ring_points=np.array([point for ring in rings for point in ring], np.float64).reshape(-1, 2),
            ring_start=np.cumsum([0, *map(len, rings)]).astype(np.int64),
            ring_path=ring_path[shown[2]],
            stroked=np.array(stroked, bool),
            filled=np.array(filled, bool),
            width=np.array(width, np.float64),
            colour=np.array(colour, np.float64).reshape(-1, 3),
            fill=np.array(fill, np.float64).reshape(-1, 3),
            dashed=np.array(dashed, bool),
            layer=np.array(layer, np.int64),
            layers=tuple(self.layers),
        )


Point3 = tuple[float, ...]
BLACK: Point3 = (0.0, 0.0, 0.0)
