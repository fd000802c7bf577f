"""Mat on a developed face: where each drop hangs, how long and wide it is cut, and what comes free.

Drops start at the first station and follow each other a roll's width less the lap. Openings are cut out of drops hung
over them, or drops stop at the jambs and short pieces go over and under. Everything is read off the net elevation, so
sloped tops, steps, arched heads and openings above each other need no rule of their own. Lengths in metres, areas m².
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Literal

import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from takeoff.errors import CatalogueError, InputError
from takeoff.geometry.intervals import united
from takeoff.model.cut_lists import Drop, MatLayout, Offcut
from takeoff.model.figures import Elevation
from takeoff.model.systems import AtOpenings, Step

SLACK = 1e-9
"""Relative play that keeps a float's last digits from adding a drop or a roll."""
TINY = 1e-6
"""Metres below which a piece is a float's crumb."""

TALL = 1e4
"""Metres above every wall."""


def drop_count(length: float, *, width: float, lap: float, is_closed: bool) -> int:
    """Count the drops that cover a face of ``length`` m.

    Around a closed face each drop laps the next, n = ⌈P / (w − lap)⌉; on an open one the last laps nothing,
    n = ⌈(L − lap) / (w − lap)⌉.

    Examples
    --------
    >>> drop_count(20.0, width=1.27, lap=0.05, is_closed=True)
    17
    """
    if not 0.0 <= lap < width:
        raise CatalogueError(
            f"a lap of {lap:g} m on a mat {width:g} m wide", remedy="The lap must be less than the roll's width."
        )
    if length <= 0.0:
        return 0
    covered = length if is_closed else length - lap
    return max(1, math.ceil(covered / (width - lap) * (1.0 - SLACK)))


def hang_mat(elevation: Elevation, step: Step, *, width: float, longest: float = math.inf) -> MatLayout:
    """Hang the mat of a step, from a roll ``width`` m wide, on a face.

    Mat run along is joined with a lap where it is longer than ``longest`` m. Raises `InputError` when it is to be hung
    around openings.

    Examples
    --------
    A face 20 m long and 3 m high, mat 1.27 m wide lapped 50 mm, takes 17 drops of 3.10 m:

    >>> from shapely.geometry import box
    >>> face = Elevation(
    ...     run="a", face="left", room=None, system=None, length=20.0, is_closed=False, top="ceiling", base=0.0,
    ...     wall=box(0, 0, 20, 3), net=box(0, 0, 20, 3), profile=((0.0, 3.0), (20.0, 3.0)), openings=(), corners=(),
    ...     line=())
    >>> mat = Step(id="mat", name="Mat", kind="mat", basis="net_area", lap=0.05, trim_top=0.10)
    >>> layout = hang_mat(face, mat, width=1.27)
    >>> len(layout.drops), round(layout.drops[0].length, 6), round(layout.seam_length, 6)
    (17, 3.1, 48.0)
    """
    if step.direction == "up":
        longest = math.inf
    if not 0.0 <= step.lap < min(width, longest):
        raise CatalogueError(
            f"a lap of {step.lap:g} m on a mat {width:g} m wide, cut to {longest:g} m at the longest",
            remedy="The lap must be less than the roll's width and the longest piece.",
        )
    if step.direction == "along" and step.at_openings == "hung_around":
        raise InputError("mat run along a face is not hung around openings", remedy="Have openings cut out of it.")
    hung = _Hung(elevation, step, width)
    return hung.along(longest) if step.direction == "along" else hung.up()


class _Hung:
    """The mat of a step on a face, as far as it hangs; what is cut along corners laps there as all joints do."""

    def __init__(self, face: Elevation, step: Step, width: float) -> None:
        self.face, self.step, self.width = face, step, width
        self.corners = () if step.wraps_corners else face.corners
        self.drops: list[Drop] = []
        self.seams = math.fsum(c.length for c in self.corners)

    def add(
        self, x0: float, x1: float, z0: float, z1: float, *, length: float, width: float, is_short: bool = False
    ) -> None:
        number = len(self.drops) + 1
        self.drops.append(
            Drop(
                face=self.face.key, number=number, x0=x0, x1=x1, z0=z0, z1=z1, length=length, width=width,
                is_short=is_short,
            )
        )  # fmt: skip

    def layout(self, offcuts: Iterable[Offcut]) -> MatLayout:
        return MatLayout(
            roll_width=self.width,
            drops=tuple(self.drops),
            offcuts=tuple(offcuts),
            seam_length=self.seams,
            lap=self.step.lap,
            net_area=float(self.face.net.area),
        )

    def up(self) -> MatLayout:
        """Hang it up and down, stretch by stretch."""
        face, lap = self.face, self.step.lap
        laps = (0.0, face.length) if face.is_closed else (0.0,)
        corners = sorted(c.station + more for c in self.corners for more in laps)
        wall, net = (_unrolled(g, face) for g in (face.wall, face.net))
        missing = wall.difference(net)
        holes, box = _intervals(missing, axis=0), wall.bounds
        is_level = math.isclose(wall.area, (box[2] - box[0]) * (box[3] - box[1]), rel_tol=TINY)
        flat = (box[1], box[3]) if is_level else None
        for start, end, kind in _stretches(face, missing, self.step.at_openings):
            over = lap if kind == "short" else 0.0
            strips = list(_strips(start, end, self.width, lap, corners, over=over, is_closed=kind == "around"))
            for a, b, cut in strips:
                span = (max(a, start), b if kind == "around" else min(b, end))
                is_open = any(low < span[1] and high > span[0] for low, high in holes)
                covered = [flat] if flat and not is_open else _intervals(_between(net, span), axis=1)
                floor, ceiling = flat or _between(wall, span).bounds[1::2]
                for z0, z1 in covered:
                    to_base, to_top = z0 <= floor + TINY, z1 >= ceiling - TINY
                    length = z1 - z0 + self.step.trim_top * to_top + self.step.trim_base * to_base
                    self.add(a, b, z0, z1, length=length, width=cut, is_short=not (to_base and to_top))
            joints = [b - lap / 2.0 for _, b, _ in strips[:-1]]
            self.seams += _heights_at(net, [*joints, *_ends(face, start, end, kind)])
        return self.layout(_cut_outs(self.drops, missing))

    def along(self, longest: float) -> MatLayout:
        """Run it along the face in bands from the base up."""
        face, lap = self.face, self.step.lap
        low, high = face.wall.bounds[1] - self.step.trim_base, face.wall.bounds[3] + self.step.trim_top
        cuts = sorted(c.station for c in self.corners)
        bands = list(_strips(low, high, self.width, lap, (), over=0.0, is_closed=False))
        for z0, z1, cut in bands:
            band = face.net.intersection(shapely.box(0.0, z0, face.length, z1))
            for start, end in _intervals(band, axis=0):
                stops = [start, *(c for c in cuts if start + TINY < c < end - TINY), end]
                goes_round = face.is_closed and end - start > face.length - TINY
                for a, b in pairwise(stops):
                    need = b - a + (lap if b < end or goes_round else 0.0)
                    pieces = drop_count(need, width=longest, lap=lap, is_closed=False) if need > longest else 1
                    step = (need - lap) / pieces if pieces > 1 else need
                    piece = step + lap if pieces > 1 else need
                    self.seams += (pieces - 1 + (goes_round and len(stops) == 2)) * min(cut, high - low)
                    for n in range(pieces):
                        self.add(a + n * step, a + n * step + piece, z0, z1, length=piece, width=cut)
        for _, z1, _ in bands[:-1]:
            line = shapely.LineString([(-1.0, z1 - lap / 2.0), (face.length + 1.0, z1 - lap / 2.0)])
            self.seams += float(face.net.intersection(line).length)
        free = _cut_outs(self.drops, face.wall.difference(face.net))
        return self.layout(Offcut(source=o.source, length=o.width, width=o.length) for o in free)


def _between(shape: BaseGeometry, span: tuple[float, float]) -> BaseGeometry:
    return shapely.clip_by_rect(shape, span[0], -TALL, span[1], TALL)


def _ends(elevation: Elevation, start: float, end: float, kind: Literal["full", "around", "short"]) -> list[float]:
    """Return the stations at which a stretch laps what hangs beside it."""
    if kind == "around":
        return [start + TINY]
    if kind == "full":
        return []
    joints = [start + TINY] if elevation.is_closed or start > TINY else []
    return joints + ([end - TINY] if elevation.is_closed or end < elevation.length - TINY else [])


def _unrolled(shape: BaseGeometry, elevation: Elevation) -> BaseGeometry:
    """Lay a closed face out twice, so that a drop across its start is in one place."""
    return shapely.union(shape, affinity.translate(shape, elevation.length)) if elevation.is_closed else shape


def _stretches(
    elevation: Elevation, missing: BaseGeometry, at_openings: AtOpenings
) -> Iterator[tuple[float, float, Literal["full", "around", "short"]]]:
    """Split a face into stretches hung on their own: between openings, and at each group of openings."""
    gaps = _intervals(missing, axis=0) if at_openings == "hung_around" else []
    if elevation.is_closed:
        gaps = [gap for gap in gaps if TINY < gap[0] <= elevation.length + TINY]
    if not gaps:
        yield 0.0, elevation.length, "around" if elevation.is_closed else "full"
        return
    at, last = 0.0, elevation.length
    if elevation.is_closed:
        at, last = gaps[0][0], gaps[0][0] + elevation.length
    for a, b in gaps:
        if a > at + TINY:
            yield at, a, "full"
        yield a, b, "short"
        at = b
    if last > at + TINY:
        yield at, last, "full"


def _strips(
    start: float, end: float, width: float, lap: float, corners: Sequence[float], *, over: float, is_closed: bool
) -> Iterator[tuple[float, float, float]]:
    """Yield from station, to station and width to cut of each strip over a stretch.

    ``over`` is how far the first and last go beyond the stretch onto what hangs beside it. At each corner that is cut,
    a lap of the mat is used up.
    """
    inside = [c for c in corners if start + TINY < c < end - TINY]
    total = end - start + 2.0 * over + lap * len(inside) + (lap if is_closed else 0.0)
    for n in range(drop_count(total, width=width, lap=lap, is_closed=False)):
        first = n * (width - lap)
        last = min(first + width, total)
        a, b = (_station(u + start - over, inside, lap) for u in (first, last))
        yield a, b, last - first


def _station(along: float, corners: Sequence[float], lap: float) -> float:
    """Turn a distance along the mat into a station: a lap is used up at each corner passed."""
    used = 0.0
    for corner in corners:
        if along - used <= corner:
            break
        used = min(used + lap, along - corner)
    return along - used


def _parts(shape: BaseGeometry) -> list[BaseGeometry]:
    return [part for part in getattr(shape, "geoms", [shape]) if part.area > TINY * TINY]


def _intervals(shape: BaseGeometry, *, axis: int) -> list[tuple[float, float]]:
    """Return what a shape covers of an axis, pieces that touch or overlap merged."""
    spans = united(((part.bounds[axis], part.bounds[axis + 2]) for part in _parts(shape)), TINY)
    return [(low, high) for low, high in spans if high - low > TINY]


def _heights_at(net: BaseGeometry, stations: Sequence[float]) -> float:
    if not stations:
        return 0.0
    lines = shapely.linestrings([[(x, -TALL), (x, TALL)] for x in stations])
    return math.fsum(shapely.length(shapely.intersection(lines, net)))


def _cut_outs(drops: Sequence[Drop], missing: BaseGeometry) -> Iterator[Offcut]:
    """Yield the rectangles that come free where openings are cut out of drops."""
    for drop in drops:
        for part in _parts(shapely.clip_by_rect(missing, drop.x0, drop.z0, drop.x1, drop.z1)):
            x0, z0, x1, z1 = part.bounds
            if part.area > 0.999 * (x1 - x0) * (z1 - z0):
                yield Offcut(source=drop.label, length=z1 - z0, width=x1 - x0)
