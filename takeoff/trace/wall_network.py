"""Which spots of a picture are wall, door or window, told by a small network that was trained on made-up scans.

How it was trained, on what, and how far to trust it stands in docs/wall-network.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from importlib.resources import files

import cv2
import numpy as np
from numpy.typing import NDArray

M_PER_PX = 0.0125
"""Metres of the building per pixel of what the network sees and says."""
WALL, SWING, PASSAGE, WINDOW = 1, 2, 3, 4
"""Rows of the chances; row 0 is that of nothing."""
_DEEP = 32
"""Sides of what the network sees are multiples of this."""
_CORE, _RIM = 1312, 96
"""Pixels; pictures are taken in tiles of this core, each seen with a rim round it."""
_SHADED = 200
"""Pixels; what is darker than its neighbourhood over more than this is shading of the paper, not ink."""
_FILLED = 0.25
"""Darkness from which the inside of walls counts as filled."""
_BLANK = 0.12
"""Darkness that no pixel of a blank tile reaches."""

Chances = NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallField:
    """The chances of each class over a sheet as displayed: 5 × height × width at `M_PER_PX`, and pixels per point.

    ``darkness`` is what the network saw: 0 on paper, 1 on black. Pixel edges count from 0 at the sheet's upper left
    corner: the middle of the first pixel is at (0.5, 0.5).
    """

    chances: Chances
    darkness: NDArray[np.float32]
    px_per_pt: tuple[float, float]

    @property
    def solid(self) -> NDArray[np.float32]:
        """The chance of being a wall or an opening in one."""
        return np.asarray(1.0 - self.chances[0], np.float32)


def read_walls(grey: NDArray[np.uint8], size_pt: tuple[float, float], m_per_pt: tuple[float, float]) -> WallField:
    """Ask the network about a picture.

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
    darkness = np.clip(1.0 - small.astype(np.float32) / _paper(small), -0.05, 1.0)
    return WallField(
        chances=with_filling(_asked(darkness), darkness),
        darkness=darkness,
        px_per_pt=(wide / size_pt[0], high / size_pt[1]),
    )


def with_filling(chances: Chances, darkness: NDArray[np.float32]) -> Chances:
    """Return the chances with what is filled like the walls taken for wall, where walls are filled at all."""
    # glass, leaves and frames are drawn with pens, which are thinner than this
    deep = cv2.erode(darkness, np.ones((5, 5), np.uint8))
    walls = deep[::2, ::2][chances[WALL][::2, ::2] > 0.9]
    level = float(np.median(walls)) if len(walls) else 0.0
    if level < _FILLED:
        return chances
    is_filled = (deep > 0.6 * level) & (chances[0] < 0.5) & (chances[WALL] < 0.9)
    chances[:, is_filled] = 0.0
    chances[WALL][is_filled] = 1.0
    return chances


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
    return np.asarray(np.maximum(level, 32.0), np.float32)


def _asked(darkness: NDArray[np.float32]) -> Chances:
    """Return the chances for a picture of any size, tile by tile."""
    model = files("takeoff.trace") / "models" / "walls.onnx"
    network = cv2.dnn.readNetFromONNX(np.frombuffer(model.read_bytes(), np.uint8))
    height, width = darkness.shape
    chances = np.zeros((5, height, width), np.float32)
    chances[0] = 1.0
    high, wide = _core(height), _core(width)
    padded = np.pad(
        darkness,
        (
            (_RIM, _RIM + high * math.ceil(height / high) - height),
            (_RIM, _RIM + wide * math.ceil(width / wide) - width),
        ),
    )
    for top in range(0, height, high):
        for left in range(0, width, wide):
            tile = padded[top : top + high + 2 * _RIM, left : left + wide + 2 * _RIM]
            if float(tile.max()) < _BLANK:
                continue
            network.setInput(np.ascontiguousarray(tile)[None, None])
            said = network.forward()[0]
            bottom, right = min(height, top + high), min(width, left + wide)
            chances[:, top:bottom, left:right] = said[:, _RIM : _RIM + bottom - top, _RIM : _RIM + right - left]
    return chances


def _core(length: int) -> int:
    """Return the side of the cores that a length is cut into: all alike, and fit for the network with their rims."""
    count = math.ceil(length / _CORE)
    return math.ceil(length / count / _DEEP) * _DEEP
