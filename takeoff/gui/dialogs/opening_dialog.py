"""Repeating an opening along its wall."""

from __future__ import annotations

from takeoff.errors import TakeoffError
from takeoff.gui.dialogs.common import Dialog
from takeoff.gui.edit_commands import repeat_opening
from takeoff.gui.entries import read_count
from takeoff.gui.host import Host
from takeoff.gui.widgets.fields import TextField, button
from takeoff.gui.wording import words_of
from takeoff.units import parse_length


class RepeatDialog(Dialog):
    """Ask how often and how far apart the selected opening repeats."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "Repeat the opening", 320)
        session = host.session
        assert session is not None
        assert session.selection.opening is not None
        self._session = session
        run, index = session.selection.opening
        self.count = TextField(
            self.body, "How many more", lambda _t: None, self.refuse, hint="Number of copies along the wall."
        )
        self.spacing = TextField(
            self.body, "Every", lambda _t: None, self.refuse, hint="From the centre of one to the centre of the next."
        )
        self.count.show("1")
        self.spacing.show(session.display.length(2 * session.job.runs[run].openings[index].width))
        for field in (self.count, self.spacing):
            field.pack(fill="x", pady=2)
        self.first = self.count
        button(self.foot, "Repeat", self.repeat, is_main=True).pack(side="right")
        self.bind("<Return>", lambda _e: self.repeat())

    def repeat(self) -> None:
        """Repeat it; what does not fit is said."""
        try:
            times = read_count(self.count.entry.get())
            apart = parse_length(self.spacing.entry.get(), system=self._session.display.system)
        except TakeoffError as error:
            self.refuse(words_of(error))
            return
        if repeat_opening(self._session, times, apart):
            self.destroy()
        else:
            self.refuse(self._session.message)
