"""Which spots of a picture are wall, door or window, told by a small network that was trained on made-up scans.

How it was trained, on what, and how far to trust it stands in docs/wall-network.md.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.resources import files
from itertools import pairwise
from typing import TYPE_CHECKING, TypeVar

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from takeoff.limits import quiet_libraries
from takeoff.model.plan import Sheet
from takeoff.sheet.frame import displayed_to_sheet
from takeoff.trace.drawing import raster_strokes as strokes
from takeoff.trace.drawing.linework import Floats

if TYPE_CHECKING:
    from onnxruntime import InferenceSession

M_PER_PX = 0.0125
"""Metres of the building per pixel of what the network sees and says."""
WALL, SWING, PASSAGE, WINDOW, LOW = 1, 2, 3, 4, 5
"""Rows of the chances; row 0 is that of nothing, the last that of a way over a low wall."""
OPEN = (SWING, PASSAGE, WINDOW, LOW)
"""The rows that are openings."""
_ROWS = 6
_DEEP = 32
"""Sides of what the network sees are multiples of this."""
_MOST = 4.0e6
"""Pixels; the most that is looked at at once, which takes about 65 MB a million (measured with ONNX Runtime 1.32).
Larger pictures are taken in tiles."""
_RIM, _EDGE = 160, 32
"""Pixels of the rim that a tile is seen with where it meets another, and at the edges of the sheet: a hollow wall is
told by its ends, which may be far away."""
_BLEND = 32
"""Pixels to either side of a cut over which the answers of two tiles pass into each other."""
_SHADED = 200
"""Pixels; what is darker than its neighbourhood over more than this is shading of the paper, not ink."""
_FILLED = 0.25
"""Darkness from which the inside of walls counts as filled."""
_BLANK = 0.12
"""Darkness that no pixel of blank paper reaches."""

_LEAST = 2.0**-14
"""The least chance that is told from none: numbers below it take NumPy 50 times as long to turn into halves."""

_Value = TypeVar("_Value", bound=np.generic)
Chances = NDArray[np.float16]
"""Half the memory of single numbers, and 0.0005 off at the most: a fiftieth of a pixel at an edge."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallField:
    """The chances of each class over a sheet as displayed: 6 × height × width at `M_PER_PX`, and pixels per point.

    ``darkness`` is what the network saw: 0 on paper, 1 on black; ``m_per_px`` the metres of the building that a pixel
    of the picture itself is wide. Pixel edges count from 0 at the sheet's upper left
    corner: the middle of the first pixel is at (0.5, 0.5).
    """

    chances: Chances
    darkness: NDArray[np.float32]
    px_per_pt: tuple[float, float]
    m_per_px: float = M_PER_PX


def sampled(field: NDArray[np.float16] | NDArray[np.float32], at: Floats) -> Floats:
    """Return a field's values at points, rows of x, y of any shape."""
    at = np.clip(at - 0.5, 0.0, np.array(field.shape[::-1]) - 1.0)  # an edge goes on as it is
    low, high = (np.floor(end(at.reshape(-1, 2), 0)).astype(int) for end in (np.min, np.max))
    part = field[low[1] : high[1] + 2, low[0] : high[0] + 2].astype(np.float32)  # what OpenCV takes
    return strokes.sampled(part, at - low)


def within(row: NDArray[_Value], shape: Polygon) -> NDArray[_Value]:
    """Return a row's values at the pixels inside a polygon, those of its holes left out."""
    x0, y0 = np.maximum(np.floor(shape.bounds[:2]).astype(int), 0)
    x1, y1 = np.ceil(shape.bounds[2:]).astype(int) + 1
    part = row[y0:y1, x0:x1]
    mask = np.zeros(part.shape, np.uint8)
    rings = [shapely.get_coordinates(ring) - (x0 + 0.5, y0 + 0.5) for ring in (shape.exterior, *shape.interiors)]
    cv2.fillPoly(mask, [np.round(ring).astype(np.int32) for ring in rings], 1)
    return part[mask > 0]


def turning(sheet: Sheet, px_per_pt: tuple[float, float]) -> Callable[[Floats], Floats]:
    """Return what turns pixels of a picture of a whole sheet as displayed into sheet points."""
    across, down = (1 / per_pt for per_pt in px_per_pt)
    origin, *ends = (np.array(displayed_to_sheet(sheet, *at)) for at in ((0.0, 0.0), (across, 0.0), (0.0, down)))
    matrix = np.array([end - origin for end in ends])
    return lambda points: np.asarray(points @ matrix + origin)


def darkness_of(
    grey: NDArray[np.uint8], size_pt: tuple[float, float], m_per_pt: tuple[float, float]
) -> tuple[NDArray[np.float32], float]:
    """Return what the network sees of a picture, and metres of the building per pixel of the picture itself.

    Parameters
    ----------
    grey
        Height × width, the whole sheet as displayed.
    size_pt
        Width and height of the sheet as displayed, in points.
    m_per_pt
        Metres per point across and down, as displayed.
    """
    height, width = grey.shape
    wide, high = (max(1, round(size_pt[i] * m_per_pt[i] / M_PER_PX)) for i in (0, 1))
    shrinks = wide < width or high < height
    small = cv2.resize(grey, (wide, high), interpolation=cv2.INTER_AREA if shrinks else cv2.INTER_LINEAR)
    m_per_px = math.sqrt(size_pt[0] * m_per_pt[0] * size_pt[1] * m_per_pt[1] / (width * height))
    return against_paper(np.asarray(small, np.uint8)), m_per_px


def against_paper(grey: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Return how dark a grey picture is against the paper near by: 0 on paper, 1 on black."""
    dark, paper, light = np.percentile(grey[::4, ::4], (1, 50, 99))
    if light - paper > 2 * (paper - dark):
        grey = 255 - grey  # white lines on blue or black
    darkness = _paper(grey)
    np.divide(grey, darkness, out=darkness)
    np.subtract(1.0, darkness, out=darkness)
    return np.asarray(np.clip(darkness, -0.05, 1.0, out=darkness), np.float32)


def read_walls(darkness: NDArray[np.float32], size_pt: tuple[float, float], m_per_px: float) -> WallField:
    """Ask the network about what it sees of a sheet of so many points across and down, as displayed."""
    height, width = darkness.shape
    return WallField(
        chances=with_filling(_asked(darkness), darkness),
        darkness=darkness,
        px_per_pt=(width / size_pt[0], height / size_pt[1]),
        m_per_px=m_per_px,
    )


def with_filling(chances: Chances, darkness: NDArray[np.float32]) -> Chances:
    """Return the chances with what is filled like the walls taken for wall, where walls are filled at all."""
    is_filled = filled_like(chances[WALL], darkness) & (chances[0] < 0.5) & (chances[WALL] < 0.9)
    chances[:, is_filled] = 0.0
    chances[WALL][is_filled] = 1.0
    return chances


def filled_like(wall: NDArray[np.float16], darkness: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Tell where a picture is filled as what is surely wall in it: nowhere where that is hollow or hatched."""
    # glass, leaves and frames are drawn with pens, which are thinner than this
    deep = cv2.erode(darkness, np.ones((5, 5), np.uint8))
    walls = deep[::2, ::2][wall[::2, ::2] > 0.9]
    level = float(np.median(walls)) if len(walls) else 0.0
    return np.asarray(deep > 0.6 * level if level >= _FILLED else np.zeros(deep.shape, bool))


def _paper(grey: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Return the level of the paper at every pixel: the lightest that is near it."""
    height, width = grey.shape
    small = cv2.resize(grey, (max(1, width // 16), max(1, height // 16)), interpolation=cv2.INTER_AREA)
    # the median first: specks and white paint are no paper
    small = cv2.medianBlur(small, 3) if min(small.shape) > 3 else small
    size = 2 * (_SHADED // 32) + 1
    light = cv2.morphologyEx(small, cv2.MORPH_CLOSE, np.ones((size, size), np.uint8), borderType=cv2.BORDER_REPLICATE)
    light = cv2.blur(light, (9, 9), borderType=cv2.BORDER_REPLICATE)
    level = cv2.resize(light, (width, height), interpolation=cv2.INTER_LINEAR).astype(np.float32)
    return np.asarray(np.maximum(level, 32.0, out=level), np.float32)


def _asked(darkness: NDArray[np.float32]) -> Chances:
    """Return the chances for a picture of any size, tile by tile, of the part that has ink."""
    chances = np.zeros((_ROWS, *darkness.shape), np.float16)
    chances[0] = 1.0
    part = inked(darkness)
    if part is None:
        return chances
    network, darkness, place = _network(), darkness[part], chances[:, *part]
    place[0] = 0.0
    height, width = darkness.shape
    rows, columns = tile_counts(height, width)
    for down in tiles(height, rows):
        for across in tiles(width, columns):
            seen, weights = _seen(darkness, down, across), down.weights[:, None] * across.weights
            beneath = place[:, down.start : down.stop, across.start : across.stop]
            for row, answer in zip(beneath, _chances(network, seen), strict=True):
                row += answer[down.answer, across.answer] * weights
    return chances


def _network() -> InferenceSession:
    """Return the network, ready to be asked."""
    # a slow import, wanted where there is a scan
    quiet_libraries()
    import onnxruntime

    options = onnxruntime.SessionOptions()
    # threads that wait for work must not keep a processor busy
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    options.enable_mem_pattern = False  # tiles of one size would take twice the memory
    model = files("takeoff.trace.scans") / "models" / "walls.onnx"
    return onnxruntime.InferenceSession(model.read_bytes(), options, providers=["CPUExecutionProvider"])


def _chances(network: InferenceSession, darkness: NDArray[np.float32]) -> Iterator[NDArray[np.float32]]:
    """Yield the chances of each class, of the scores that the network gives for two by two pixels at a time."""
    from onnxruntime import RunOptions

    height, width = darkness.shape
    if float(darkness.max()) < _BLANK:
        yield from (np.full(darkness.shape, row == 0, np.float32) for row in range(_ROWS))
        return
    asked = RunOptions()
    # tiles differ in size: what one of them took is given back before the next
    asked.add_run_config_entry("memory.enable_memory_arena_shrinkage", "cpu:0")
    patches = np.lib.stride_tricks.sliding_window_view(np.pad(darkness, 1), (4, 4))[::2, ::2]
    given = {"patches": patches.reshape(1, height // 2, width // 2, 16)}
    scores: NDArray[np.float32] = network.run(None, given, asked)[0].reshape(_ROWS, 2, 2, height // 2, width // 2)
    scores -= scores.max(0)
    np.exp(scores, out=scores)
    scores /= scores.sum(0)
    scores[scores < _LEAST] = 0.0
    for row in scores:
        laid = np.empty(darkness.shape, np.float32)
        for i, k in ((0, 0), (0, 1), (1, 0), (1, 1)):
            laid[i::2, k::2] = row[i, k]
        yield laid


def inked(darkness: NDArray[np.float32]) -> tuple[slice, slice] | None:
    """Return the part of a picture that has ink, with blank paper round it; nothing where all of it is blank."""
    is_ink = darkness >= _BLANK
    down, across = (np.flatnonzero(is_ink.any(axis)).tolist() for axis in (1, 0))
    if not down:
        return None
    return slice(max(0, down[0] - _EDGE), down[-1] + 1 + _EDGE), slice(
        max(0, across[0] - _EDGE), across[-1] + 1 + _EDGE
    )


def _seen(darkness: NDArray[np.float32], down: Tile, across: Tile) -> NDArray[np.float32]:
    """Return what a tile sees, blank paper beyond the sheet."""
    part = darkness[max(0, down.sees_from) : down.sees_to, max(0, across.sees_from) : across.sees_to]
    before = max(0, -down.sees_from), max(0, -across.sees_from)
    size = down.sees_to - down.sees_from, across.sees_to - across.sees_from
    after = (size[i] - before[i] - part.shape[i] for i in (0, 1))
    return np.pad(part, tuple(zip(before, after, strict=True)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """A part of a length in pixels: what it answers for, and what it sees for that, beyond the sheet's edges too.

    ``weights`` says how much its answer counts at each pixel: where tiles meet, the weights of both make one.
    """

    start: int
    stop: int
    sees_from: int
    sees_to: int
    weights: NDArray[np.float32]

    @property
    def answer(self) -> slice:
        """Where in what it sees that lies which it answers for."""
        return slice(self.start - self.sees_from, self.stop - self.sees_from)


def tile_counts(height: int, width: int) -> tuple[int, int]:
    """Return how many tiles a picture takes down and across, none of them too large."""
    rows = columns = 1
    # the longest tile down times the longest across, with their rims
    while math.prod(n / k + 2 * (_RIM if k > 1 else _EDGE) for n, k in ((height, rows), (width, columns))) > _MOST:
        if height / rows > width / columns:
            rows += 1
        else:
            columns += 1
    return rows, columns


def tiles(length: int, count: int) -> list[Tile]:
    """Cut a length into tiles, each seeing so much that it fits the network.

    Beyond the sheet's own edges there is nothing to see, and hardly a rim is needed.
    """
    cuts = [round(k * length / count) for k in range(count + 1)]
    made = []
    for first, last in pairwise(cuts):
        low = first - _RIM if first else -_EDGE
        high = last + _RIM if last < length else last + _EDGE
        start, stop = max(0, first - _BLEND), min(length, last + _BLEND)
        corners = (start, start + 2 * _BLEND, stop - 2 * _BLEND, stop)
        ends = (0.0 if first else 1.0, 1.0, 1.0, 0.0 if last < length else 1.0)
        weights = np.interp(np.arange(start, stop) + 0.5, corners, ends).astype(np.float32)
        wide = math.ceil((high - low) / _DEEP) * _DEEP
        made.append(Tile(start=start, stop=stop, sees_from=low, sees_to=low + wide, weights=weights))
    return made
