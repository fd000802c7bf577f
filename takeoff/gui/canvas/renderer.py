"""Drawing sheets in processes apart: what a page asks of memory and time cannot take the window with it."""

from __future__ import annotations

import time
import tkinter
from collections import deque
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, get_args

from takeoff.apart import Apart, is_wanted
from takeoff.errors import TakeoffError
from takeoff.gui.canvas.pixels import Picture, Pixels, area, common, is_empty, part_of, strips_beside
from takeoff.gui.canvas.view import View, size_within, view_box, whole_size
from takeoff.gui.widgets import Later
from takeoff.model.plan import Sheet
from takeoff.sheet.layers import LayerLook
from takeoff.sheet.opened import OpenSheet, PixelBox, open_sheet

if TYPE_CHECKING:
    from PIL.Image import Image

Slot = Literal["view", "part", "whole", ""]
"""What is drawn first, one of each at a time; small pictures, which have no name, come after."""
SLOTS: tuple[Slot, ...] = get_args(Slot)[:3]
WHOLE_SIDE = 4096
"""Pixels of the longer side of the picture of a whole sheet."""
THUMBNAIL_S = 20.0
"""Seconds after which a sheet gets no small picture: others wait for theirs, and most take a tenth of a second."""
PATIENCE = 3.0
"""Seconds in which work that is no longer wanted may end by itself: most pages take less to open."""
IDLE = 300.0
"""Seconds after which what draws the plan is ended: longer than others, for one looks at a plan and reads it."""
_LEAST_OVERLAP = 0.3
"""A drawing goes on when the newest view still shows at least this part of it at the same scale."""
_OPEN: list[OpenSheet] = []
"""In a process apart: the sheet that is open."""


@dataclass(frozen=True, slots=True)
class Source:
    """A sheet of a plan file, with its layers as they are to be seen; the same bytes are opened once."""

    data: bytes
    sheet: Sheet
    look: LayerLook | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Wish:
    """A picture that somebody waits for: a box of a sheet that is ``whole`` pixels large."""

    slot: Slot
    source: Source
    whole: tuple[int, int]
    box: PixelBox
    then: Callable[[Picture], None]
    fails: Callable[[TakeoffError], None] | None = None


class _NotOpen(Exception):
    """The process apart is another than the one that opened the sheet, which has ended."""


class _Lane:
    """A process apart that keeps one sheet open and draws one wish after another; `wish` is the one it is at."""

    def __init__(self, process: Apart) -> None:
        self._process = process
        self.source: Source | None = None
        """The sheet that is open over there."""
        self.wish: Wish | None = None
        self._kept: Picture | None = None
        self._drawing: Future[list[Pixels] | None] = Future()
        self.begun = 0.0
        self._unwanted = 0.0

    def begin(self, wish: Wish, kept: Picture | None) -> None:
        """Have a wish drawn; of what is ``kept`` of it already nothing is drawn again."""
        boxes = [wish.box] if kept is None else strips_beside(wish.box, kept.box)
        given = None if self.source == wish.source else wish.source
        self.wish, self._kept, self.source = wish, kept, wish.source
        self.begun, self._unwanted = time.monotonic(), 0.0
        self._drawing = self._process.submit(_draw, given, wish.whole, boxes)

    def is_done(self, *, is_wanted: bool) -> bool:
        """Tell whether it is known what came of the wish; one that is unwanted is told to end, and at last made to."""
        assert self.wish is not None
        if not self._drawing.done():
            if not is_wanted and not self._unwanted:
                self._unwanted = time.monotonic()
                self._process.interrupt()
            elif self._unwanted and time.monotonic() > self._unwanted + PATIENCE:
                self.stop()
        elif not self._drawing.cancelled() and isinstance(self._drawing.exception(), _NotOpen):
            self.source = None
            self.begin(self.wish, self._kept)
        return self._drawing.done()

    def take(self) -> Pixels | None:
        """Return what was drawn and rest: nothing where it was wanted no longer; else a fault of it is raised."""
        try:
            return self._joined(self._drawing.result())
        except Exception:
            self.source = None
            if self._unwanted:
                return None
            raise
        finally:
            self.wish = None

    def _joined(self, drawn: list[Pixels] | None) -> Pixels | None:
        """Put the strips that were drawn beside what was kept."""
        import numpy as np

        kept, wish = self._kept, self.wish
        if drawn is None or wish is None or kept is None:
            return drawn[0] if drawn else None
        box = wish.box
        made = np.empty((box[3] - box[1], box[2] - box[0], 3), dtype=np.uint8)
        shared = common(box, kept.box)
        part_of(made, shared, box)[:] = part_of(kept.pixels, shared, kept.box)
        for strip, pixels in zip(strips_beside(box, shared), drawn, strict=True):
            part_of(made, strip, box)[:] = pixels
        return made

    def forget(self) -> None:
        """Let go of the file."""
        if self.source is not None:
            self._process.submit(_close)
        self.source = None

    def stop(self) -> None:
        """End the process, in the middle of a drawing too."""
        self._unwanted = self._unwanted or time.monotonic()
        self._process.close()


class Renderer:
    """Draws the newest wanted view first, then whole sheets; small pictures of other sheets beside them.

    The functions handed in are called by the event loop of a widget that looks every so many milliseconds, while
    something is wanted, whether something was drawn.
    """

    def __init__(self, widget: tkinter.Misc, every_ms: int) -> None:
        self._polling, self._every_ms = Later(widget, self._poll), every_ms
        self._wishes: dict[Slot, Wish] = {}
        self._small: deque[Wish] = deque()
        drawing = Apart(idle=IDLE)
        drawing.submit(_warm_up)
        self._plan, self._beside = self._lanes = _Lane(drawing), _Lane(Apart())
        self._kept: list[Picture] = []
        """The last view drawn of the sheet that is open, and the last that showed the whole of it."""

    @property
    def is_busy(self) -> bool:
        """Whether something is being drawn or waits to be drawn."""
        return bool(self._wishes or self._small or any(lane.wish for lane in self._lanes))

    def request_view(
        self,
        source: Source,
        view: View,
        then: Callable[[Picture], None],
        fails: Callable[[TakeoffError], None] | None = None,
        slot: Slot = "view",
    ) -> None:
        """Draw what a view shows of a sheet; a view that was asked for before and is not begun is dropped.

        Hand in the same bytes of a ``source`` each time, so that it is opened once. ``then`` is given the picture,
        ``fails`` the refusal; a view of nothing is not drawn. ``slot`` is the view, or a small part at a scale of its
        own, of which one is wanted at a time; or, empty, one of those that are drawn when nothing else waits.
        """
        whole = whole_size(source.sheet, view)
        self._ask(Wish(slot, source, whole, view_box(source.sheet, view, whole), then, fails))

    def request_whole(self, source: Source, then: Callable[[Picture], None]) -> None:
        """Draw a whole sheet when no view waits."""
        whole = size_within(source.sheet, WHOLE_SIDE, WHOLE_SIDE)
        self._ask(Wish("whole", source, whole, (0, 0, *whole), then))

    def request_thumbnail(self, data: bytes, sheet: Sheet, width: int, then: Callable[[Image], None]) -> None:
        """Draw a small picture of a sheet, ``width`` pixels wide and at most as high, when nothing else waits.

        A sheet that cannot be drawn gets no picture.
        """
        from PIL import Image

        whole = size_within(sheet, width, width)
        box = (0, 0, *whole)
        self._ask(Wish("", Source(data, sheet), whole, box, lambda made: then(Image.fromarray(made.pixels))))

    def _ask(self, wish: Wish) -> None:
        """Put a wish in its place, over the one before; one without a place waits behind all others."""
        if is_empty(wish.box):
            return
        if wish.slot:
            self._wishes[wish.slot] = wish
        else:
            self._small.append(wish)
        self._begin()
        self._polling.begin(self._every_ms)

    def forget(self) -> None:
        """Let go of the sheet and drop every wish for it that is not begun; thumbnails stay wanted (`drop_small`)."""
        self._wishes.clear()
        self._kept = []
        self._plan.forget()

    def drop_small(self) -> None:
        """Drop every small picture that is wanted, the one that is being drawn too: their job is closed."""
        self._small.clear()
        for lane in self._lanes:
            if lane.wish is not None and not lane.wish.slot:
                lane.begun = -THUMBNAIL_S

    def close(self) -> None:
        """End the processes and let go of the files; what is under way is lost."""
        self._polling.stop()
        for lane in self._lanes:
            lane.stop()

    # -- drawing -------------------------------------------------------------------------------------------------

    def _poll(self) -> None:
        """Hand out what was drawn, and begin what waits; a fault is raised here."""
        try:
            for lane in self._lanes:
                if lane.wish is not None:
                    self._look(lane, lane.wish)
        finally:
            self._begin()
            if self.is_busy:
                self._polling.begin(self._every_ms)

    def _begin(self) -> None:
        """Have each process that rests begin with what is wanted first of it."""
        if self._plan.wish is None:
            slot = next((slot for slot in SLOTS if slot in self._wishes), None)
            if slot is not None:
                self._draw(self._plan, self._wishes.pop(slot))
            elif self._small and self._small[0].source == self._plan.source:
                self._draw(self._plan, self._small.popleft())
        if self._beside.wish is None and self._small and self._small[0].source != self._plan.source:
            self._draw(self._beside, self._small.popleft())

    def _draw(self, lane: _Lane, wish: Wish) -> None:
        if lane is self._plan and wish.source != lane.source:
            self._kept = []
        of_it = (k for k in self._kept if wish.slot == "view" and k.whole == wish.whole)
        lane.begin(wish, next((k for k in of_it if is_much_of(k.box, wish.box)), None))

    def _look(self, lane: _Lane, wish: Wish) -> None:
        """Take what a process has made of a wish, where it is done; what had to make way is taken up again later."""
        if not lane.is_done(is_wanted=self._is_wanted(lane, wish)):
            return
        try:
            pixels = lane.take()
        except TakeoffError as error:
            if wish.fails is not None:
                wish.fails(error)
            return
        if pixels is not None:
            picture = Picture(wish.whole, wish.box, pixels)
            if wish.slot == "view" and lane.source == wish.source:
                whole = [k for k in self._kept if k.box == (0, 0, *k.whole)][-1:]
                self._kept = [picture, *(k for k in whole if picture.box != (0, 0, *picture.whole))]
            wish.then(picture)
        elif wish.slot == "whole" and self._is_of_view(wish):
            self._wishes.setdefault("whole", wish)
        elif wish.slot in ("part", "") and time.monotonic() < lane.begun + THUMBNAIL_S:
            self._small.append(wish)

    def _is_of_view(self, wish: Wish) -> bool:
        view = self._wishes.get("view")
        return view is not None and view.source.sheet == wish.source.sheet

    def _is_wanted(self, lane: _Lane, wish: Wish) -> bool:
        """Tell whether to draw on: a view while none is newer that shows little of it, others while none waits."""
        newest = self._wishes.get("view") if lane is self._plan else None
        if wish.slot == "view" and newest is not None:
            is_same = newest.source == wish.source and newest.whole == wish.whole
            return is_same and is_much_of(wish.box, newest.box)
        is_in_time = wish.slot in ("view", "whole") or time.monotonic() < lane.begun + THUMBNAIL_S
        return newest is None and is_in_time


def is_much_of(drawn: PixelBox, wanted: PixelBox) -> bool:
    """Tell whether what is drawn is a fair part of what is wanted."""
    shared = common(drawn, wanted)
    return not is_empty(shared) and area(shared) >= _LEAST_OVERLAP * area(wanted)


def _warm_up() -> None:
    """Have loaded over there what takes long: before the first sheet is wanted."""
    import numpy  # noqa: F401
    import pypdfium2  # noqa: F401


def _draw(source: Source | None, whole: tuple[int, int], boxes: list[PixelBox]) -> list[Pixels] | None:
    """Draw boxes of the sheet that is open, or of one to be opened first; nothing where it is wanted no longer."""
    if source is not None:
        _close()
        _OPEN.append(open_sheet(source.data, source.sheet, source.look))
    if not _OPEN:
        raise _NotOpen
    made: list[Any] = [_OPEN[0].draw_while(whole, box, is_wanted) for box in boxes]
    return None if any(pixels is None for pixels in made) else made


def _close() -> None:
    while _OPEN:
        _OPEN.pop().close()
