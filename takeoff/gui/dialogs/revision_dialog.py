"""What to do about a new issue that could not be laid on the sheet: another page of its file, or two points by hand."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from takeoff.errors import TakeoffError
from takeoff.gui.dialogs.common import Dialog
from takeoff.gui.host import Host
from takeoff.gui.widgets.fields import ChoiceField
from takeoff.gui.widgets.parts import button
from takeoff.gui.wording import finding_of
from takeoff.model.plan import Sheet


class IssueDialog(Dialog):
    """Ask for the page of a new issue, or for two points.

    Parameters
    ----------
    error
        Why it could not be laid on the sheet.
    sheets
        The sheets of its file.
    page
        The page to begin with.
    compare, pair
        Called with the sheet that is chosen: compare it again, or show two points.
    """

    def __init__(
        self,
        host: Host,
        error: TakeoffError,
        sheets: Sequence[Sheet],
        page: int,
        *,
        compare: Callable[[Sheet], None],
        pair: Callable[[Sheet], None],
    ) -> None:
        super().__init__(host, "The new revision does not fit this sheet yet", 520)
        self.say(finding_of(error))
        self._sheets = {str(s.page): s for s in sheets}
        self._page = str(page)
        if len(sheets) > 1:
            self.say("Choose its page and compare again, or show two points that both revisions have.")
            pages = [(str(s.page), f"{s.page}: {' '.join(t for t in (s.number, s.title) if t)}") for s in sheets]
            self.page = ChoiceField(self.body, "Page", pages, self._choose)
            self.page.show(self._page)
            self.page.pack(fill="x", pady=4)
            button(self.foot, "Compare this page", lambda: self._go(compare)).pack(side="left")
        else:
            self.say("Show two points that both revisions have.")
        self.pair_button = button(self.foot, "Show two points", lambda: self._go(pair), is_main=True)
        self.pair_button.pack(side="right")
        button(self.foot, "Close", self.close).pack(side="right", padx=8)

    def _choose(self, page: str) -> None:
        self._page = page

    def _go(self, work: Callable[[Sheet], None]) -> None:
        sheet = self._sheets[self._page]
        self.close()
        work(sheet)
