"""A sheet that is drawn in a process apart: what a page asks of memory and time cannot take the window with it."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import wait
from typing import TYPE_CHECKING, TypeVar

from takeoff.apart import Apart, is_wanted
from takeoff.model.plan import Sheet
from takeoff.sheet.layers import LayerLook
from takeoff.sheet.opened import OpenSheet, PixelBox, open_sheet

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Pixels = TypeVar("Pixels")
ASK = 0.01
"""Seconds after which it is asked again whether a drawing is still wanted."""
_OPEN: list[OpenSheet] = []
"""In the process apart: the sheet that is open."""


class _NotOpen(Exception):
    """The process apart is another than the one that opened the sheet, which has ended."""


class SheetApart:
    """One sheet of a plan file, opened and drawn in a process apart; see `takeoff.sheet.opened.OpenSheet`.

    Where the process ended meanwhile, the next drawing opens the sheet anew in the one that came after it.

    Raises
    ------
    SheetError
        When the file or the page cannot be read, or goes beyond a limit.
    """

    def __init__(self, process: Apart, data: bytes, sheet: Sheet, look: LayerLook | None = None) -> None:
        self._process, self._data, self._sheet, self._look = process, data, sheet, look
        self._open()

    def _open(self) -> None:
        self._process.submit(_open, self._data, self._sheet, self._look).result()

    def draw(self, whole: tuple[int, int], box: PixelBox) -> NDArray[np.uint8]:
        """Draw part of the sheet at one go."""
        pixels: NDArray[np.uint8] = self._drawn(lambda: self._process.submit(_draw, whole, box).result())
        return pixels

    def draw_while(
        self, whole: tuple[int, int], box: PixelBox, is_wanted: Callable[[], bool]
    ) -> NDArray[np.uint8] | None:
        """Draw part of the sheet, but give up as soon as it is no longer wanted."""

        def draw() -> NDArray[np.uint8] | None:
            drawing = self._process.submit(_draw_while, whole, box)
            while wait([drawing], ASK).not_done:
                if not is_wanted():
                    self._process.interrupt()
                    wait([drawing])
            pixels: NDArray[np.uint8] | None = drawing.result()
            return pixels

        return self._drawn(draw)

    def _drawn(self, draw: Callable[[], Pixels]) -> Pixels:
        try:
            return draw()
        except _NotOpen:
            self._open()
            return draw()

    def close(self) -> None:
        """Let go of the file."""
        self._process.submit(_close)


def warm_up() -> None:
    """Have loaded over there what takes long: before the first sheet is wanted."""
    import numpy  # noqa: F401
    import pypdfium2  # noqa: F401


def _open(data: bytes, sheet: Sheet, look: LayerLook | None) -> None:
    _close()
    _OPEN.append(open_sheet(data, sheet, look))


def _sheet() -> OpenSheet:
    if not _OPEN:
        raise _NotOpen
    return _OPEN[0]


def _draw(whole: tuple[int, int], box: PixelBox) -> NDArray[np.uint8]:
    return _sheet().draw(whole, box)


def _draw_while(whole: tuple[int, int], box: PixelBox) -> NDArray[np.uint8] | None:
    return _sheet().draw_while(whole, box, is_wanted)


def _close() -> None:
    while _OPEN:
        _OPEN.pop().close()
