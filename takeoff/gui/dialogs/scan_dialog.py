"""Reading the scale of a scan from the text on it, in a process beside the window."""

from __future__ import annotations

from takeoff.gui.background import Beside
from takeoff.gui.dialogs.common import FormDialog
from takeoff.gui.host import Host
from takeoff.gui.reading_process import read_scanned_scale
from takeoff.signing import now, person


class ScanScaleDialog(FormDialog):
    """Say what it takes, and read; the button that closes it stops it meanwhile."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "Scale of a scan", (), "Read it")
        self.say("Reads dimensions, scale bar and note off the picture. It takes a minute or more; you can work on.")
        self._sheet = self.session.sheet
        self._reading: Beside[list[str]] = Beside(self, self.refuse, self._taken, "The scale was not read", self._ended)

    def act(self) -> None:
        """Begin to read."""
        if not self._reading.is_waiting:
            self.good(f"Reading {self._sheet.number or 'the sheet'} …")
            self.leave_button.configure(text="Stop")
            self._reading.begin(read_scanned_scale, self.session.path, self._sheet.id, person(), now())

    def _ended(self) -> None:
        self.leave_button.configure(text="Close")

    def _taken(self, doubts: list[str]) -> None:
        self.session.take_up()
        self.good("\n".join(("The scale is set from the scan.", *doubts)), is_well=not doubts)
