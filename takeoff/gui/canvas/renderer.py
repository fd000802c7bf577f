"""Drawing sheets away from the window's event loop, on one thread and in processes apart.

The thread never touches the window: what it made waits in a queue until the window's event loop takes it.
"""

from __future__ import annotations

import threading
import time
import tkinter
from collections import deque
from collections.abc import Callable
from functools import partial
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING, Literal, get_args

from takeoff.apart import StoppedError
from takeoff.errors import TakeoffError
from takeoff.gui.canvas.pixels import Picture, Pixels, is_empty, size_within, view_box, whole_size
from takeoff.gui.canvas.sheet_apart import DrawnSheets, Source, Wish, is_much_of
from takeoff.gui.canvas.view import View
from takeoff.gui.widgets import Later
from takeoff.model.plan import Sheet

if TYPE_CHECKING:
    from PIL.Image import Image

Slot = Literal["view", "part", "whole"]
"""What is drawn first, one of each at a time; small pictures come after."""
SLOTS: tuple[Slot, ...] = get_args(Slot)
WHOLE_SIDE = 4096
"""Pixels of the longer side of the picture of a whole sheet."""
MOST_PER_POLL = 10
THUMBNAIL_S = 20.0
"""Seconds after which a sheet gets no small picture: others wait for theirs, and most take a tenth of a second."""


class Renderer:
    """One thread that draws the newest wanted view first, then whole sheets, then thumbnails.

    Everything public is called from the window's thread; so are the functions handed in, by the event loop of a widget
    that looks every so many milliseconds, while something is wanted, whether something was drawn.
    """

    def __init__(self, widget: tkinter.Misc, every_ms: int) -> None:
        self._polling, self._every_ms = Later(widget, self._poll), every_ms
        self._change = threading.Condition()
        self._wishes: dict[Slot, Wish] = {}
        self._thumbnails: deque[Wish] = deque()
        self._dropped = 0
        """How often small pictures were dropped."""
        self._results: SimpleQueue[Callable[[], None]] = SimpleQueue()
        self._is_working = self._lets_go = False
        self._is_closed = False
        self._thread = threading.Thread(target=self._work, name="renderer", daemon=True)
        self._thread.start()

    @property
    def is_busy(self) -> bool:
        """Whether something is being drawn, waits to be drawn, or waits to be taken."""
        with self._change:
            waits = self._wishes or self._thumbnails or self._is_working
            return bool(waits) or not self._results.empty()

    def request_view(
        self,
        source: Source,
        view: View,
        then: Callable[[Picture], None],
        fails: Callable[[TakeoffError], None] | None = None,
        slot: Slot | Literal[""] = "view",
    ) -> None:
        """Draw what a view shows of a sheet; a view that was asked for before and is not begun is dropped.

        Hand in the same bytes of a ``source`` each time, so that it is opened once. ``then`` is given the picture,
        ``fails`` the refusal; a view of nothing is not drawn. ``slot`` is the view, or a small part at a scale of its
        own, of which one is wanted at a time; or, empty, one of those that are drawn when nothing else waits.
        """
        whole = whole_size(source.sheet, view)
        self._ask(slot, Wish(source, whole, view_box(source.sheet, view, whole), then, fails))

    def request_whole(self, source: Source, then: Callable[[Picture], None]) -> None:
        """Draw a whole sheet when no view waits."""
        whole = size_within(source.sheet, WHOLE_SIDE, WHOLE_SIDE)
        self._ask("whole", Wish(source, whole, (0, 0, *whole), then))

    def request_thumbnail(self, data: bytes, sheet: Sheet, width: int, then: Callable[[Image], None]) -> None:
        """Draw a small picture of a sheet, ``width`` pixels wide and at most as high, when nothing else waits.

        A sheet that cannot be drawn gets no picture.
        """
        from PIL import Image

        whole = size_within(sheet, width, width)
        wish = Wish(Source(data, sheet), whole, (0, 0, *whole), lambda made: then(Image.fromarray(made.pixels)))
        self._ask("", wish)

    def forget(self) -> None:
        """Let go of the sheet and drop every wish for it that is not begun; thumbnails stay wanted (`drop_small`)."""
        with self._change:
            self._wishes.clear()
            self._lets_go = True
            self._change.notify()

    def drop_small(self) -> None:
        """Drop every small picture that is wanted, the one that is being drawn too: their job is closed."""
        with self._change:
            self._thumbnails.clear()
            self._dropped += 1

    def _poll(self) -> None:
        """Hand out at most `MOST_PER_POLL` of the results that wait; a fault of the thread is raised here."""
        try:
            for _ in range(MOST_PER_POLL):
                self._results.get_nowait()()
        except Empty:
            pass
        finally:
            if self.is_busy:
                self._polling.begin(self._every_ms)

    def close(self) -> None:
        """End the thread and let go of the files; results that wait are lost."""
        self._polling.stop()
        with self._change:
            self._is_closed = True
            self._change.notify()
        self._thread.join()

    def _ask(self, slot: Slot | Literal[""], wish: Wish) -> None:
        """Put a wish in its place, over the one before; one without a place waits behind all others."""
        if is_empty(wish.box):
            return
        with self._change:
            if slot:
                self._wishes[slot] = wish
            else:
                self._thumbnails.append(wish)
            self._change.notify()
        self._polling.begin(self._every_ms)

    def _work(self) -> None:
        kept = DrawnSheets()
        while self._see_to(kept, self._next()):
            pass  # no picture and no file is held on to while it waits
        kept.close()

    def _see_to(self, kept: DrawnSheets, wish: tuple[str, Wish | None] | None) -> bool:
        """Fulfil one wish; there is none where the renderer is closed."""
        if wish is None:
            return False
        kind, wanted = wish
        if wanted is None:
            kept.forget()
            return True
        try:
            self._fulfil(kept, kind, wanted)
        except TakeoffError as error:
            if isinstance(error, StoppedError):
                kept.forget()
            if wanted.fails is not None:
                self._results.put(partial(wanted.fails, error))
        except Exception as error:  # the rim of the thread: shown and logged by the window's own handler
            self._results.put(partial(_raise, error))
        return True

    def _next(self) -> tuple[str, Wish | None] | None:
        """Wait for the next wish, or to let go of the sheet; ``None`` when the renderer is closed."""
        with self._change:
            self._is_working = False
            while not (self._is_closed or self._lets_go or self._wishes or self._thumbnails):
                self._change.wait()
            if self._is_closed:
                return None
            self._is_working = True
            if self._lets_go:
                self._lets_go = False
                return "forget", None
            for slot in SLOTS:
                if slot in self._wishes:
                    return slot, self._wishes.pop(slot)
            return "thumbnail", self._thumbnails.popleft()

    def _fulfil(self, kept: DrawnSheets, kind: str, wish: Wish) -> None:
        """Draw one wish and put the result in the queue, or take the wish up again later."""
        pixels: Pixels | None
        if kind in ("part", "thumbnail"):
            end, before = time.monotonic() + THUMBNAIL_S, self._dropped

            def may_go_on() -> bool:
                return self._dropped == before and time.monotonic() < end

            pixels = kept.draw_thumbnail(wish, lambda: self._is_quiet() and may_go_on())
            if pixels is None and not may_go_on():
                return
        elif kind == "view":
            pixels = kept.draw_view(wish, lambda: self._is_still_wanted(wish))
        else:
            pixels = kept.draw_whole(wish, self._is_quiet)
        if pixels is not None:
            self._results.put(partial(wish.then, Picture(wish.whole, wish.box, pixels)))
        elif kind in ("part", "thumbnail"):
            with self._change:
                self._thumbnails.append(wish)
        elif kind == "whole":
            with self._change:
                view = self._wishes.get("view")
                if view is not None and view.source.sheet == wish.source.sheet:
                    self._wishes.setdefault("whole", wish)

    def _is_quiet(self) -> bool:
        return "view" not in self._wishes and not self._is_closed

    def _is_still_wanted(self, wish: Wish) -> bool:
        """Tell whether a view is worth drawing on: there is none newer, or that one shows much of it."""
        newest = self._wishes.get("view")
        if self._is_closed or newest is None:
            return not self._is_closed
        is_same = newest.source == wish.source and newest.whole == wish.whole
        return is_same and is_much_of(wish.box, newest.box)


def _raise(error: Exception) -> None:
    raise error
