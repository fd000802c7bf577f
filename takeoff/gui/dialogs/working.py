"""Dialogs whose button begins work on a thread beside the window: how far it is, and that a person can stop it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from typing import Any, Generic, TypeVar

from takeoff.gui.dialogs.common import FormDialog
from takeoff.gui.host import Host
from takeoff.gui.widgets import THEME, Later, Row, ctk

Made = TypeVar("Made")
LOOK_MS = 60
"""Between two looks how far it is."""


class Work(threading.Thread, Generic[Made]):
    """Something being made: ``make`` sets its ``fraction`` as it goes on, and ends early where ``is_stopped``."""

    def __init__(self, make: Callable[[Work[Made]], Made]) -> None:
        super().__init__(name="work", daemon=True)
        self._make = make
        self.fraction, self.is_stopped = 0.0, False
        self.made: Made | None = None
        self.error: Exception | None = None

    def run(self) -> None:
        """Make it; a thread has nobody to tell of a fault, so it is kept."""
        try:
            self.made = self._make(self)
        except Exception as error:
            self.error = error


class WorkDialog(FormDialog):
    """Has work done with a bar to see how far it is; the button that closes the dialog stops it meanwhile."""

    def __init__(self, host: Host, title: str, rows: Sequence[Row], act: str, *, width: int) -> None:
        super().__init__(host, title, rows, act, width=width)
        self.bar = ctk.CTkProgressBar(self, progress_color=THEME.accent)
        self.work: Work[Any] | None = None
        self._looking = Later(self, self._look)

    def begin(self, make: Callable[[Work[Any]], Any]) -> None:
        """Begin work, and look from time to time how far it is."""
        self.refuse("")
        self.bar.set(0)
        self.bar.pack(side="bottom", fill="x", padx=16, pady=8, after=self.said)
        self.act_button.configure(state="disabled")
        self.leave_button.configure(text="Stop")
        self.work = Work(make)
        self.work.start()
        self._look()

    def _look(self) -> None:
        work = self.work
        if work is None:
            return
        self.bar.set(work.fraction)
        if work.is_alive():
            self.tell(work)
            self._looking.begin(LOOK_MS)
        else:
            self.work = None
            self.take(work)

    def tell(self, work: Work[Any]) -> None:
        """Say more of how far it is than the bar does."""

    def take(self, work: Work[Any]) -> None:
        """Take what was made, or say why it was not; `end` belongs to it."""
        raise NotImplementedError

    def end(self) -> None:
        """Have it look as before the work."""
        self.bar.pack_forget()
        self.act_button.configure(state="normal")
        self.leave_button.configure(text="Close")

    def close(self) -> None:
        if self.work is None:
            self.destroy()
        else:
            self.work.is_stopped = True

    def destroy(self) -> None:
        self._looking.stop()
        if self.work is not None:
            self.work.is_stopped = True
            self.work.join()
            self.work = None
        super().destroy()
