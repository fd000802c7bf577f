"""What stands on a marked plan besides its lines: each room's name, system, height and area, and names of walls.

They cover neither one another nor, where there is room, what is written there. Greedy: rooms come first; then the
shortest runs, which have the fewest places; each takes the first place that covers nothing, or else the one that
covers least.
"""

from __future__ import annotations

import math
import re
import textwrap
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import pairwise, product
from operator import add

import numpy as np
import shapely

from takeoff.model.figures import Elevation, Quantities
from takeoff.model.open_points import OpenPoint
from takeoff.report.content import Box, Mark, ReportContent, SheetPicture, Shown
from takeoff.units import Display


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomSystem:
    """The walls of a room under one system; the empty system is none.

    ``height`` says how high the coating goes above the floor, empty where no wall is coated.
    """

    room: str
    label: str
    system: str
    name: str
    runs: tuple[str, ...]
    quantities: Quantities
    height: str

    def lines(self, display: Display) -> tuple[str, ...]:
        """Say system, height and net area, as a plan shows them in the room."""
        q = self.quantities
        if not self.height:
            return (self.name, f"{display.length(q.cove_length)} of cove")
        net = f"{display.area(q.net_area)} net".replace(" ", "\N{NO-BREAK SPACE}")
        return (self.name, f"{self.height}, {net}")


def rooms_by_system(shown: Shown) -> tuple[RoomSystem, ...]:
    """Put the walls of each room together by system, rooms and systems in their order."""
    place, faces, items = {}, defaultdict(list), defaultdict(list)
    for e in shown.elevations:
        place[e.run] = (e.room or "", e.system or "")
        faces[place[e.run]].append(e)
    for item in shown.by_run.items:
        items[place.get(item.sources[0])].append(item)
    made = []
    for room, system in product(shown.by_room.items, shown.system_order):
        if found := items.get((room.id, system)):
            made.append(
                RoomSystem(
                    room=room.id,
                    label=room.label,
                    system=system,
                    name=shown.system_name(system),
                    runs=tuple(run for item in found for run in item.sources),
                    quantities=reduce(add, (item.quantities for item in found), Quantities()),
                    height="" if system in shown.uncoated else height_words(faces[room.id, system], shown.display),
                )
            )
    return tuple(made)


def top_words(face: Elevation, display: Display) -> str:
    """Say how high the top of a face is, or from where to where it goes."""
    low, high = min(h for _, h in face.profile), max(h for _, h in face.profile)
    return display.length(high) if high - low < 5e-4 else f"{display.length(low)} to {display.length(high)}"


def height_words(faces: Sequence[Elevation], display: Display) -> str:
    """Say how high the coating of some faces goes above the floor, and where it does not go to the ceiling.

    A top edge that is a termination or is coated itself is that of a wainscot or a low wall.
    """
    said = []
    for e in faces:
        top = top_words(e, display)
        start = f"from {display.length(e.base)} to " if e.base > 0.0 else ""
        kind = {"exposed": " high, not to the ceiling", "return": " high, low wall"}.get(e.top, " high")
        said.append(f"{start}{top}{kind}")
    return "; ".join(dict.fromkeys(said))


def assumed_words(points: Iterable[OpenPoint], content: ReportContent) -> tuple[str, ...]:
    """Say what is assumed of open points, with walls as documents number them, and systems by their names."""
    names = {f"system {system.id}": f"system {system.name}" for system in content.catalogue.systems}
    faces: dict[str, list[str]] = {}
    for key in content.walls.walls:
        faces.setdefault(key.rpartition(":")[0], []).append(key)
    for run, keys in faces.items():
        room = content.walls.rooms[keys[0]]
        walls = " and ".join(
            content.walls.face(key).removeprefix(f"{room}, " if n else "") for n, key in enumerate(keys)
        )
        called = content.walls.runs.get(run, run)
        names |= {called: walls, called[:1].upper() + called[1:]: walls}
    longest_first = "|".join(re.escape(id) for id in sorted(names, key=len, reverse=True))
    said = []
    for point in points:
        text = point.assumes or ": ".join(part for part in (point.where.words, point.why) if part)
        text = re.sub(rf"(?<![\w-])({longest_first})(?![\w-])", lambda found: names[found[0]], text)
        said.append(text[:1].upper() + text[1:])
    return tuple(dict.fromkeys(said))


LONGEST_NAME = 24
"""Letters of a run's name that are shown on a plan."""
SIZE = 8.5
"""Height of a name in units of the plan."""
BROAD, UPRIGHT = (947.0, 540.0), (733.0, 853.0)
"""Units of 0.75 points across and down that a plan may take on a broad page of letter paper, and on an upright one."""
SIZES = (11.0, 10.0, 9.0, 8.0)
"""Heights of the letters in a room, in units of the plan; the first that fits is taken: 8 to 6 points."""
NO_BREAK = "\N{NO-BREAK SPACE}"
_LINE = 1.15
"""Height of a line for its letters."""
_ADVANCE = 0.52
"""Width of a letter for its height in the face of books and in the usual ones of screens (measured on names)."""
_SHARES = (0.38, 0.62, 0.25, 0.75, 0.5, 0.12, 0.88)
"""Parts of a piece's length at which a name may stand; the middle, where the tick is, comes late."""
_OFF = (9.0, 7.2, 13.0, 17.0, -9.0, -7.2, -13.0, 22.0, 27.0, -17.0)
"""Distances of a name's middle from the face in the same measure; below nil on the side that is not coated."""
_GRID = 16
"""Places tried in a room from side to side, and from top to bottom."""
_PIECES = 8
"""Longest pieces of a run that a name is tried beside."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedName:
    """A run's name and the middle of its base line, in points of the page as displayed."""

    run: str
    text: str
    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedRoom:
    """What is written in a room: its lines, the first its name, the height of their letters, and their box.

    ``left`` are the lines for which there was no room; they go below the plan.
    """

    lines: tuple[str, ...]
    size: float
    box: Box
    left: tuple[str, ...] = ()

    @property
    def bases(self) -> tuple[tuple[float, float, str], ...]:
        """Middle of the base line of each line, and its text."""
        x, top = (self.box[0] + self.box[2]) / 2, self.box[1]
        return tuple((x, top + (n + 0.82) * _LINE * self.size, text) for n, text in enumerate(self.lines))


def unit_of(picture: SheetPicture) -> float:
    """Points of the page that a unit of the plan is: lines and letters are as large on paper on every sheet."""
    x0, y0, x1, y1 = picture.crop
    across, down = BROAD if x1 - x0 > y1 - y0 else UPRIGHT
    return max((x1 - x0) / across, (y1 - y0) / down)


def place_rooms(picture: SheetPicture, rooms: Sequence[RoomSystem], display: Display) -> tuple[PlacedRoom, ...]:
    """Place name, system, height and net area in every room that is marked on a sheet, largest rooms last."""
    said: dict[str, list[RoomSystem]] = {}
    for each in rooms:
        said.setdefault(each.room, []).append(each)
    outlines = {id: _outline([m for m in picture.marks if m.room == id]) for id in said}
    unit = unit_of(picture)
    taken = [*picture.texts_pt, *_wall_boxes(picture, unit)]
    placed: list[PlacedRoom] = []
    for id in sorted((i for i in said if not outlines[i].is_empty), key=lambda i: outlines[i].area):
        lines = (said[id][0].label, *(line for each in said[id] for line in each.lines(display)))
        found = _in_room(lines, outlines[id], picture, [*taken, *(room.box for room in placed)])
        placed.append(found)
    return tuple(placed)


def _outline(marks: Sequence[Mark]) -> shapely.Geometry:
    """The floor within some marks: what their lines close round, without what stands in it; else their hull."""
    lines = [shapely.LineString(mark.line_pt) for mark in marks if len(set(mark.line_pt)) > 1]
    if not lines:
        return shapely.Polygon()
    closed = shapely.get_parts(shapely.polygonize([shapely.unary_union(lines)]))
    whole = max(closed, key=lambda part: part.area, default=shapely.Polygon())
    return whole if whole.area > 0.0 else shapely.unary_union(lines).convex_hull


def _in_room(
    lines: Sequence[str], outline: shapely.Geometry, picture: SheetPicture, taken: Sequence[Box]
) -> PlacedRoom:
    """Write in a room as large as fits; where nothing does, the name alone, and the rest is left."""
    unit = unit_of(picture)
    inside = outline.buffer(-4.0 * unit)
    found: list[tuple[float, PlacedRoom]] = []
    for smaller, size in enumerate(SIZES):
        for narrower, letters in enumerate((34, 24, 17)):
            texts = tuple(part.replace(NO_BREAK, " ") for line in lines for part in textwrap.wrap(line, letters))
            free = _free_box(texts, size * unit, inside, taken)
            if free is not None:
                cost = free[0] + 2.0 * smaller + 0.5 * narrower
                found.append((cost, PlacedRoom(lines=texts, size=size * unit, box=free[1])))
    if found:
        return min(found, key=lambda each: each[0])[1]
    texts = tuple(textwrap.wrap(lines[0], 17))
    size = SIZES[-1] * unit
    free = _free_box(texts, size, inside, taken)
    middle = outline.representative_point()
    box = free[1] if free else _round(middle.x, middle.y, *_half_of(texts, size))
    return PlacedRoom(lines=texts, size=size, box=box, left=tuple(line.replace(NO_BREAK, " ") for line in lines))


def _half_of(texts: Sequence[str], size: float) -> tuple[float, float]:
    return _ADVANCE * size * max(len(text) for text in texts) / 2, _LINE * size * len(texts) / 2


def _free_box(
    texts: Sequence[str], size: float, inside: shapely.Geometry, taken: Sequence[Box]
) -> tuple[float, Box] | None:
    """Of the boxes within a shape, the one that covers least of what is taken, and is near its middle, with its cost.

    None where none lies in the shape.
    """
    if inside.is_empty:
        return None
    x0, y0, x1, y1 = inside.bounds
    across, down = np.linspace(x0, x1, _GRID + 1), np.linspace(y0, y1, _GRID + 1)
    middles = np.stack(np.meshgrid(across, down, indexing="ij"), axis=-1).reshape(-1, 2)
    half = np.array(_half_of(texts, size))
    boxes = np.hstack((middles - half, middles + half))
    shapely.prepare(inside)
    boxes = boxes[shapely.contains(inside, shapely.box(*boxes.T))]
    if not len(boxes):
        return None
    others = np.array([box for box in taken if _overlap(box, (x0, y0, x1, y1)) > 0.0]).reshape(-1, 4)
    shared = np.minimum(boxes[:, None, 2:], others[:, 2:]) - np.maximum(boxes[:, None, :2], others[:, :2])
    covered = np.prod(np.clip(shared, 0.0, None), axis=2).sum(axis=1) / (size * size)
    off = np.hypot(*((boxes[:, :2] + boxes[:, 2:]) / 2 - inside.centroid.coords[0]).T)
    costs = covered + off / max(x1 - x0, y1 - y0)
    least = int(np.argmin(costs))
    left, top, right, bottom = (float(at) for at in boxes[least])
    return float(costs[least]), (left, top, right, bottom)


def place_names(
    picture: SheetPicture, tags: Sequence[tuple[Mark, str]], rooms: Sequence[PlacedRoom] = ()
) -> tuple[PlacedName, ...]:
    """Place the names of the walls of a sheet, each name of a run once.

    ``tags`` are lines with what is written beside each, ``rooms`` what is written in the rooms already.
    """
    width, height = picture.size_pt
    unit = unit_of(picture)
    marks: dict[tuple[str, str], Mark] = {}
    for mark, name in tags:
        marks.setdefault((mark.label.rpartition(":")[0], name), mark)
    written = [*((box, 2.0) for box in picture.texts_pt), *((room.box, 8.0) for room in rooms)]
    drawn = [(_round(x, y, 3.6 * unit, 3.6 * unit), 1.0) for mark in picture.marks for x, y, _ in mark.corners]
    taken: list[tuple[Box, float]] = [*written, *drawn, *((box, 1.0) for box in _wall_boxes(picture, unit))]
    placed: dict[tuple[str, str], PlacedName] = {}
    for key in sorted(marks, key=lambda name: (_length(marks[name]), name)):
        run, text = key
        text = text if len(text) <= LONGEST_NAME else text[: LONGEST_NAME - 1] + "…"
        wide, high = _ADVANCE * SIZE * unit * len(text), SIZE * unit
        best, least = (0.0, 0.0), math.inf
        for x, y in _places(marks[key], wide, high, unit):
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
        placed[key] = PlacedName(run=run, text=text, x=x, y=y + 0.35 * high)
    return tuple(placed[key] for key in marks)


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


def _wall_boxes(picture: SheetPicture, unit: float) -> list[Box]:
    """Boxes about the lines of all walls of a sheet, a unit wider on every side."""
    lines = (line for mark in picture.marks for a, b, _ in _pieces(mark) for line in _cut(a, b))
    return [
        (min(a[0], b[0]) - unit, min(a[1], b[1]) - unit, max(a[0], b[0]) + unit, max(a[1], b[1]) + unit)
        for a, b in lines
    ]


def _round(x: float, y: float, half_wide: float, half_high: float) -> Box:
    return (x - half_wide, y - half_high, x + half_wide, y + half_high)


def _overlap(a: Box, b: Box) -> float:
    wide, high = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
    return wide * high if wide > 0.0 and high > 0.0 else 0.0
