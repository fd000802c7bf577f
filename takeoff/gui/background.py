"""Processes and threads beside the window: waited for while it lives, and nothing of the toolkit given back in them.

Python collects in whichever thread happens to pass a threshold. When that is not the window's, things of the toolkit
(images, fonts, variables) are given back to it from the wrong thread, and the program ends there and then.
"""

from __future__ import annotations

import gc
import threading
import time
import tkinter
from collections.abc import Callable
from concurrent.futures import Future, wait
from typing import Any, Generic, TypeVar

from takeoff.apart import Apart
from takeoff.errors import TakeoffError
from takeoff.gui.widgets import THEME, Later, Toplevel, button, ctk
from takeoff.gui.wording import words_of

LOOK_MS = 80
"""Between two looks whether it is there."""
PATIENCE = 5
"""By how much a process beside the window comes after it where both want the processor, in steps of ``nice``."""

Made = TypeVar("Made")


class Pending(Generic[Made]):
    """One result that a widget's event loop looks for; ``take`` is called with its future once it is done.

    A newer one takes the place of the one before.
    """

    def __init__(self, widget: tkinter.Misc, take: Callable[[Future[Made]], None]) -> None:
        self._take = take
        self._future: Future[Made] | None = None
        self._looking = Later(widget, self._look)

    @property
    def is_waiting(self) -> bool:
        """Whether something is on its way."""
        return self._future is not None

    def wait(self, future: Future[Made]) -> None:
        """Wait for a result, in place of the one before."""
        if self._future is not None:
            self._future.cancel()
        self._future = future
        self._looking.begin(LOOK_MS)

    def _look(self) -> None:
        future = self._future
        if future is not None and future.done():
            self._future = None
            self._take(future)
        elif future is not None:
            self._looking.begin(LOOK_MS)

    def stop(self) -> None:
        """Forget what is on its way; what has not begun is not made."""
        if self._future is not None:
            self._future.cancel()
        self._looking.stop()
        self._future = None


class Beside(Pending[Made]):
    """One piece of work at a time in a process of a dialog's own, which a person can stop; it ends with the dialog.

    ``ended`` is called first, whatever came of it; then ``take`` with what was made, or ``refuse`` with the reason why
    it was not: ``failing`` begins what is said of a fault.
    """

    def __init__(
        self,
        dialog: tkinter.Misc,
        refuse: Callable[[str], None],
        take: Callable[[Made], None],
        failing: str,
        ended: Callable[[], object] = lambda: None,
    ) -> None:
        super().__init__(dialog, self._done)
        self._refuse, self._made, self._failing, self._ended = refuse, take, failing, ended
        self._process = Apart(PATIENCE)
        dialog.bind("<Destroy>", lambda event: self.end() if event.widget is dialog else None, add="+")

    def _done(self, future: Future[Made]) -> None:
        self._ended()
        error = future.exception()
        if error is None:
            self._made(future.result())
        else:
            self._refuse(fault_words(error, self._failing))

    def begin(self, work: Callable[..., Made], *given: Any) -> None:
        """Have a function of a module called over there."""
        self.wait(self._process.submit(work, *given))

    def break_off(self) -> None:
        """End the process; what it was at ends in a refusal, which is taken."""
        self._process.close()

    def end(self) -> None:
        """End the process; what it was at is forgotten."""
        self.stop()
        self._process.close()


def fault_words(error: BaseException, doing: str) -> str:
    """Say why something was not made: a refusal in its own words, else what was not done and the fault."""
    return words_of(error) if isinstance(error, TakeoffError) else f"{doing}: {error}"


PATIENCE_S = 0.4
"""Seconds after which it is shown that something is waited for."""
_STEP = 0.02
"""Seconds between two turns of the window's event loop meanwhile."""


class Waiting:
    """Has work done in a process apart, and waits for it as `takeoff.apart.go_apart` asks."""

    def __init__(self, root: tkinter.Tk) -> None:
        self._root = root
        self._process = Apart()

    def __call__(self, work: Callable[..., Any], given: tuple[Any, ...]) -> Any:
        """Do work over there, and return what it makes; its refusals are raised."""
        future = self._process.submit(work, *given)
        if threading.current_thread() is threading.main_thread() and wait([future], PATIENCE_S).not_done:
            self._show_until_done(future)
        return future.result()

    def _show_until_done(self, future: Future[Any]) -> None:
        """Say that something is read, with a button to stop it; nothing else can be pressed meanwhile."""
        told = Toplevel(self._root, fg_color=THEME.card)
        told.title("Reading")
        told.transient(self._root)
        told.protocol("WM_DELETE_WINDOW", self.close)
        ctk.CTkLabel(told, text="The drawing is being read…", text_color=THEME.text).pack(padx=32, pady=(20, 8))
        button(told, "Stop", self.close).pack(pady=(0, 16))
        told.wait_visibility()
        told.grab_set()
        while not future.done():
            self._root.update()
            time.sleep(_STEP)
        told.grab_release()
        told.destroy()

    def close(self) -> None:
        """End the process; what it was at is refused."""
        self._process.close()


PERIOD_MS = 500
FULL_EVERY = 60
"""Every so many periods old objects are looked through too."""


class Collector:
    """Collects from a widget's event loop, in place of Python's own collecting, until it is closed.

    Make it before the first other thread begins. What there is by then, mostly modules, is not looked through, so that
    a full collection is short.
    """

    def __init__(self, widget: tkinter.Misc) -> None:
        self._was_enabled = gc.isenabled()
        self._periods = 0
        gc.disable()
        gc.freeze()
        self._later = Later(widget, self._collect)
        self._later.begin(PERIOD_MS)

    def close(self) -> None:
        """Leave collecting to Python again; no other thread may run any more."""
        self._later.stop()
        gc.unfreeze()
        if self._was_enabled:
            gc.enable()

    def _collect(self) -> None:
        self._periods += 1
        gc.collect(2 if self._periods % FULL_EVERY == 0 else 1)
        self._later.begin(PERIOD_MS)
