"""Waiting for what the reading process makes, without the window waiting."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from concurrent.futures import Future
from typing import Generic, TypeVar

from takeoff.errors import TakeoffError
from takeoff.gui.wording import words_of

LOOK_MS = 80
"""Between two looks whether it is there."""

Made = TypeVar("Made")


class Pending(Generic[Made]):
    """One result that a widget waits for; a newer one takes the place of the one before.

    Parameters
    ----------
    widget
        Whose event loop looks for it.
    take
        Called with the future once it is done.
    """

    def __init__(self, widget: tkinter.Misc, take: Callable[[Future[Made]], None]) -> None:
        self._widget, self._take = widget, take
        self._future: Future[Made] | None = None
        self._job: str | None = None

    @property
    def is_waiting(self) -> bool:
        """Whether something is on its way."""
        return self._future is not None

    def wait(self, future: Future[Made]) -> None:
        """Wait for a result, in place of the one before."""
        if self._future is not None:
            self._future.cancel()
        self._future = future
        if self._job is None:
            self._job = self._widget.after(LOOK_MS, self._look)

    def _look(self) -> None:
        self._job = None
        future = self._future
        if future is None:
            return
        if future.done():
            self._future = None
            self._take(future)
        else:
            self._job = self._widget.after(LOOK_MS, self._look)

    def stop(self) -> None:
        """Forget what is on its way; what has not begun is not made."""
        if self._future is not None:
            self._future.cancel()
        if self._job is not None:
            self._widget.after_cancel(self._job)
        self._future = self._job = None


def fault_words(error: BaseException, doing: str) -> str:
    """Say why something was not made: a refusal in its own words, else what was not done and the fault."""
    return words_of(error) if isinstance(error, TakeoffError) else f"{doing}: {error}"
