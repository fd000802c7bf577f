"""Work that is done a little later, in the turns of a widget's event loop."""

from __future__ import annotations

import tkinter
from collections.abc import Callable


class Later:
    """One piece of work that a widget's event loop does in its time, once; it may have itself done again."""

    def __init__(self, widget: tkinter.Misc, work: Callable[[], object]) -> None:
        self._widget, self._work = widget, work
        self._job = ""

    @property
    def is_waiting(self) -> bool:
        """Whether it will be done."""
        return bool(self._job)

    def begin(self, ms: int = 0) -> None:
        """Have it done after so many milliseconds, or as soon as nothing else is to be done; once where it waits."""
        if not self._job:
            self._job = self._widget.after(ms, self._do) if ms else self._widget.after_idle(self._do)

    def begin_anew(self, ms: int) -> None:
        """Have it done so many milliseconds from now, and not before."""
        self.stop()
        self.begin(ms)

    def stop(self) -> None:
        """Have it done no more."""
        if self._job:
            self._widget.after_cancel(self._job)
            self._job = ""

    def _do(self) -> None:
        self._job = ""
        self._work()
