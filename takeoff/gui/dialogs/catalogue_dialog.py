"""What dialogs have that change a catalogue: the job takes it as one edit, and nothing is dropped without a word."""

from __future__ import annotations

from takeoff import actions
from takeoff.gui.dialogs.common import Dialog
from takeoff.gui.host import Host
from takeoff.gui.widgets.parts import button
from takeoff.model.systems import Catalogue
from takeoff.signing import now, person

NOT_YET = "Not in the job yet: click Use in this job."


class CatalogueDialog(Dialog):
    """A dialog over the ``catalogue`` of the open job, with buttons to use what is shown and to close."""

    def __init__(self, host: Host, title: str, width: int, *, scrolls: bool) -> None:
        super().__init__(host, title, width, scrolls=scrolls)
        self.catalogue: Catalogue = actions.catalogue_of(self.session.job)
        self._is_warned = False
        self.take_button = button(self.foot, "Use in this job", self.take, is_main=True, hint="Price the job with it.")
        self.take_button.pack(side="right")
        button(self.foot, "Close", self.close, hint="Key: Escape").pack(side="right", padx=8)

    @property
    def is_changed(self) -> bool:
        """True where something is not in the job yet."""
        return self.catalogue != actions.catalogue_of(self.session.job)

    def take(self) -> None:
        """Use what is shown in the job, as one edit that can be undone."""
        store, catalogue = self.session.store, self.catalogue
        self.leave_if(
            self.session.attempt(
                lambda: actions.use_catalogue(store, catalogue, who=person(), at=now()),
                f"The job is priced with {catalogue.name}",
            )
        )

    def close(self) -> None:
        """Close; where something is not in the job yet, say so first."""
        if self._is_warned or not self.is_changed:
            self.destroy()
        else:
            self._is_warned = True
            self.refuse("What you changed is not in the job yet: click Use in this job, or close once more to drop it.")
