"""A sheet that is drawn in a process apart: what a page asks of memory and time cannot take the window with it."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, wait
from dataclasses import dataclass
from typing import Any

from takeoff.apart import Apart, is_wanted
from takeoff.errors import TakeoffError
from takeoff.gui.canvas.pixels import Picture, Pixels, area, common, is_empty, part_of, strips_beside
from takeoff.model.plan import Sheet
from takeoff.sheet.layers import LayerLook
from takeoff.sheet.opened import OpenSheet, PixelBox, open_sheet

ASK = 0.01
"""Seconds after which it is asked again whether a drawing is still wanted."""
PATIENCE = 3.0
"""Seconds in which work that is no longer wanted may end by itself: most pages take less to open."""
_OPEN: list[OpenSheet] = []
"""In the process apart: the sheet that is open."""
IDLE = 300.0
"""Seconds after which what draws the plan is ended: longer than others, for one looks at a plan and reads it."""
_LEAST_OVERLAP = 0.3
"""A drawing goes on when the newest view still shows at least this part of it at the same scale."""


@dataclass(frozen=True, slots=True)
class Source:
    """A sheet of a plan file, with its layers as they are to be seen; the same bytes are opened once."""

    data: bytes
    sheet: Sheet
    look: LayerLook | None = None


@dataclass(frozen=True, slots=True)
class Wish:
    """A picture that somebody waits for."""

    source: Source
    whole: tuple[int, int]
    box: PixelBox
    then: Callable[[Any], None]
    fails: Callable[[TakeoffError], None] | None = None


class _NotOpen(Exception):
    """The process apart is another than the one that opened the sheet, which has ended."""


class SheetApart(OpenSheet):
    """One sheet of a plan file, opened and drawn in a process apart; see `takeoff.sheet.opened.OpenSheet`.

    Where the process ended meanwhile, the next drawing opens the sheet anew in the one that came after it. A file or
    page that cannot be read, or goes beyond a limit, is a `SheetError`.
    """

    def __init__(self, process: Apart, source: Source) -> None:
        self._process, self._source = process, source
        self._opening = self._open()

    def _open(self) -> Future[None]:
        return self._process.submit(_open, self._source)

    def draw_while(self, whole: tuple[int, int], box: PixelBox, is_wanted: Callable[[], bool]) -> Pixels | None:
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


class DrawnSheets:
    """The sheet that the thread keeps open, the last view drawn of it and the last that showed the whole of it."""

    def __init__(self) -> None:
        self._drawing, self._small = Apart(idle=IDLE), Apart()
        self._drawing.submit(warm_up)
        self._source: Source | None = None
        self._sheet: OpenSheet | None = None
        self._last: Picture | None = None
        self._overview: Picture | None = None

    def draw_view(self, wish: Wish, is_wanted: Callable[[], bool]) -> Pixels | None:
        """Draw part of a sheet; what a view that is kept showed of it at the same scale is not drawn again."""
        sheet = self._opened(wish.source)
        for kept in (self._last, self._overview):
            if kept is not None and kept.whole == wish.whole and is_much_of(kept.box, wish.box):
                pixels: Pixels | None = _completed(sheet, kept, wish.box)
                break
        else:
            pixels = sheet.draw_while(wish.whole, wish.box, is_wanted)
        if pixels is not None:
            self._last = Picture(wish.whole, wish.box, pixels)
            if wish.box == (0, 0, *wish.whole):
                self._overview = self._last
        return pixels

    def draw_whole(self, wish: Wish, is_wanted: Callable[[], bool]) -> Pixels | None:
        """Draw a whole sheet."""
        return self._opened(wish.source).draw_while(wish.whole, wish.box, is_wanted)

    def draw_thumbnail(self, wish: Wish, is_wanted: Callable[[], bool]) -> Pixels | None:
        """Draw a sheet small; the one that is open stays so."""
        if wish.source == self._source:
            return self.draw_whole(wish, is_wanted)
        sheet = SheetApart(self._small, wish.source)
        try:
            return sheet.draw_while(wish.whole, wish.box, is_wanted)
        finally:
            sheet.close()

    def close(self) -> None:
        """Let go of the file and the processes."""
        self._drawing.close()
        self._small.close()

    def forget(self) -> None:
        """Let go of the file."""
        if self._sheet is not None:
            self._sheet.close()
        self._source = self._sheet = self._last = self._overview = None

    def _opened(self, source: Source) -> OpenSheet:
        if self._sheet is None or source != self._source:
            self.forget()
            self._source, self._sheet = source, SheetApart(self._drawing, source)
        return self._sheet


def _completed(sheet: OpenSheet, last: Picture, box: PixelBox) -> Pixels:
    """Draw a box of which a picture at the same scale shows a part: only the strips beside that part are drawn."""
    import numpy as np

    made = np.empty((box[3] - box[1], box[2] - box[0], 3), dtype=np.uint8)
    shared = common(box, last.box)
    part_of(made, shared, box)[:] = part_of(last.pixels, shared, last.box)
    for strip in strips_beside(box, shared):
        part_of(made, strip, box)[:] = sheet.draw(last.whole, strip)
    return made


def is_much_of(drawn: PixelBox, wanted: PixelBox) -> bool:
    """Tell whether what is drawn is a fair part of what is wanted."""
    shared = common(drawn, wanted)
    return not is_empty(shared) and area(shared) >= _LEAST_OVERLAP * area(wanted)


def warm_up() -> None:
    """Have loaded over there what takes long: before the first sheet is wanted."""
    import numpy  # noqa: F401
    import pypdfium2  # noqa: F401


def _open(source: Source) -> None:
    _close()
    _OPEN.append(open_sheet(source.data, source.sheet, source.look))


def _draw_while(whole: tuple[int, int], box: PixelBox) -> Pixels | None:
    if not _OPEN:
        raise _NotOpen
    return _OPEN[0].draw_while(whole, box, is_wanted)


def _close() -> None:
    while _OPEN:
        _OPEN.pop().close()
