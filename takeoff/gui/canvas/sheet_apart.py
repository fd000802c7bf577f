"""A sheet that is drawn in a process apart: what a page asks of memory and time cannot take the window with it."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, wait
from typing import TYPE_CHECKING, Any

from takeoff.apart import Apart, is_wanted
from takeoff.model.plan import Sheet
from takeoff.sheet.layers import LayerLook
from takeoff.sheet.opened import OpenSheet, PixelBox, open_sheet

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

ASK = 0.01
"""Seconds after which it is asked again whether a drawing is still wanted."""
PATIENCE = 3.0
"""Seconds in which work that is no longer wanted may end by itself: most pages take less to open."""
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
        self._opening = self._open()

    def _open(self) -> Future[None]:
        return self._process.submit(_open, self._data, self._sheet, self._look)

    def draw(self, whole: tuple[int, int], box: PixelBox) -> NDArray[np.uint8]:
        """Draw part of the sheet at one go."""
        pixels = self.draw_while(whole, box, lambda: True)
        assert pixels is not None
        return pixels

    def draw_while(
        self, whole: tuple[int, int], box: PixelBox, is_wanted: Callable[[], bool]
    ) -> NDArray[np.uint8] | None:
        """Draw part of the sheet, but give up as soon as it is no longer wanted."""
        try:
            if not self._is_done(self._opening, is_wanted):
                return None
            self._opening.result()
            drawing = self._process.submit(_draw_while, whole, box)
            return drawing.result() if self._is_done(drawing, is_wanted) else None
        except _NotOpen:
            self._opening = self._open()
            return self.draw_while(whole, box, is_wanted)

    def _is_done(self, work: Future[Any], is_wanted: Callable[[], bool]) -> bool:
        """Wait for work; where it is no longer wanted and does not hear that, end its process."""
        while wait([work], ASK).not_done:
            if not is_wanted():
                self._process.interrupt()
                if wait([work], PATIENCE).not_done:
                    self._process.close()
                    self._opening = self._open()
                    return False
        return True

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


def _draw_while(whole: tuple[int, int], box: PixelBox) -> NDArray[np.uint8] | None:
    return _sheet().draw_while(whole, box, is_wanted)


def _close() -> None:
    while _OPEN:
        _OPEN.pop().close()
