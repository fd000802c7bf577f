"""A sheet that is drawn in a process apart: what a page asks of memory and time cannot take the window with it."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import wait
from typing import TYPE_CHECKING

from takeoff.apart import Apart, is_wanted
from takeoff.model.plan import Sheet
from takeoff.sheet.opened import OpenSheet, PixelBox, open_sheet

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

ASK = 0.01
"""Seconds after which it is asked again whether a drawing is still wanted."""
_OPEN: list[OpenSheet] = []
"""In the process apart: the sheet that is open."""


class SheetApart:
    """One sheet of a plan file, opened and drawn in a process apart; see `takeoff.sheet.opened.OpenSheet`.

    Raises
    ------
    SheetError
        When the file or the page cannot be read, or goes beyond a limit.
    """

    def __init__(self, process: Apart, data: bytes, sheet: Sheet) -> None:
        self._process = process
        self._process.submit(_open, data, sheet).result()

    def draw(self, whole: tuple[int, int], box: PixelBox) -> NDArray[np.uint8]:
        """Draw part of the sheet at one go."""
        pixels: NDArray[np.uint8] = self._process.submit(_draw, whole, box).result()
        return pixels

    def draw_while(
        self, whole: tuple[int, int], box: PixelBox, is_wanted: Callable[[], bool]
    ) -> NDArray[np.uint8] | None:
        """Draw part of the sheet, but give up as soon as it is no longer wanted."""
        drawing = self._process.submit(_draw_while, whole, box)
        while wait([drawing], ASK).not_done:
            if not is_wanted():
                self._process.interrupt()
                wait([drawing])
        pixels: NDArray[np.uint8] | None = drawing.result()
        return pixels

    def close(self) -> None:
        """Let go of the file."""
        self._process.submit(_close)


def warm_up() -> None:
    """Have loaded over there what takes long: before the first sheet is wanted."""
    import numpy  # noqa: F401
    import pypdfium2  # noqa: F401


def _open(data: bytes, sheet: Sheet) -> None:
    _close()
    _OPEN.append(open_sheet(data, sheet))


def _draw(whole: tuple[int, int], box: PixelBox) -> NDArray[np.uint8]:
    return _OPEN[0].draw(whole, box)


def _draw_while(whole: tuple[int, int], box: PixelBox) -> NDArray[np.uint8] | None:
    return _OPEN[0].draw_while(whole, box, is_wanted)


def _close() -> None:
    while _OPEN:
        _OPEN.pop().close()
