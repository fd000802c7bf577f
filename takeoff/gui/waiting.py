"""Waiting for what is read of a plan in a process apart: the window lives meanwhile, and a person can stop it."""

from __future__ import annotations

import threading
import time
import tkinter
from collections.abc import Callable
from concurrent.futures import Future, wait
from typing import Any

from takeoff.apart import Apart
from takeoff.gui.widgets.parts import button
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import Toplevel, ctk

PATIENCE_S = 0.4
"""Seconds after which it is shown that something is waited for."""
_STEP = 0.02
"""Seconds between two turns of the window's event loop meanwhile."""


class Waiting:
    """Has work done in a process apart, and waits for it as `takeoff.apart.go_apart` asks.

    Parameters
    ----------
    root
        The window.
    """

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
