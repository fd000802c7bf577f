"""Collecting cyclic garbage in the window's thread only.

Python collects in whichever thread happens to pass a threshold. When that is not the window's, things of the toolkit
(images, fonts, variables) are given back to it from the wrong thread, and the program ends there and then.
"""

from __future__ import annotations

import gc
import tkinter

from takeoff.gui.widgets.later import Later

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
        """Collect young objects, now and then old ones too."""
        self._periods += 1
        gc.collect(2 if self._periods % FULL_EVERY == 0 else 1)
        self._later.begin(PERIOD_MS)
