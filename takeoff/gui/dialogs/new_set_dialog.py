"""A whole new set beside the job: a line for each sheet, and the review of those that changed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from takeoff import actions
from takeoff.actions.addendum import SheetOfSet
from takeoff.gui.background import Beside
from takeoff.gui.dialogs.common import Dialog
from takeoff.gui.host import Host
from takeoff.gui.review import NewSet, compare_new_set
from takeoff.gui.widgets.parts import button, label
from takeoff.gui.widgets.table_view import TableView
from takeoff.report.tables import rows_table
from takeoff.signing import now, person

ROWS = 12
"""Rows that are seen at once at 100 % text."""
ABOUT = (
    "Click a sheet that changed and review it on the plan, or take in what is sure on all of them. What is to be "
    "looked at stays on the old sheet until you review it. Each sheet is one step to undo."
)


class NewSetDialog(Dialog):
    """Compare a new set, show what became of each sheet, and take changed sheets in.

    Parameters
    ----------
    new_set
        The set; it is compared now where it has no sheets yet.
    data
        Bytes of its file.
    review
        Called with the revision of a sheet to be reviewed.
    """

    def __init__(self, host: Host, new_set: NewSet, data: bytes, review: Callable[[actions.Revision], None]) -> None:
        super().__init__(host, f"New set: {new_set.name}", 860)
        self.new_set, self._review = new_set, review
        self.text = label(self.body, ABOUT, anchor="nw", wrap=self.width)
        self.text.pack(fill="x", pady=(0, 6))
        self.table = TableView(self.body, self._chosen)
        self.table.tree.configure(height=round(ROWS / host.preferences.text_size))
        self.table.pack(fill="both", expand=True)
        self.why = label(self.body, anchor="nw", wrap=self.width)
        self.why.pack(fill="x", pady=(6, 0))
        self.close_button()
        self.review_button = button(self.foot, "Review this sheet", self._open, hint="See its changes on the plan.")
        hint = "Take in the walls of all changed sheets that were found whole."
        self.sure_button = button(self.foot, "Take in what is sure", lambda: self._take("sure"), hint=hint)
        hint = "Take in changed and removed walls too; those to be looked at stay on the old sheet."
        self.all_button = button(self.foot, "Changed walls too", lambda: self._take("all"), hint=hint)
        for made in (self.review_button, self.sure_button, self.all_button):
            made.configure(state="disabled")
            made.pack(side="left", padx=(0, 8))
        self._comparing: Beside[tuple[SheetOfSet, ...]] = Beside(
            self, self.refuse, self._compared, "The set was not compared"
        )
        if new_set.sheets:
            self._show()
        else:
            self.good("Comparing every sheet with the job …")
            self._comparing.begin(compare_new_set, self.session.path, new_set.name, data)

    def _compared(self, sheets: tuple[SheetOfSet, ...]) -> None:
        self.new_set.sheets = sheets
        counts = [(state, sum(s.state == state for s in sheets)) for state in ("changed", "new", "gone")]
        told = ", ".join(f"{count} {state}" for state, count in counts if count)
        self.good(f"{len(sheets)} sheets: {told or 'all are the same'}.")
        self._show()

    def _show(self) -> None:
        done = self.new_set.done
        rows = [(s.label, s.state_words, s.found, done.get(i, "")) for i, s in enumerate(self.new_set.sheets)]
        self.table.show(rows_table(("Sheet", "State", "What was found", "Done"), rows))
        state = "normal" if self._open_revisions() else "disabled"
        for made in (self.sure_button, self.all_button):
            made.configure(state=state)

    def _open_revisions(self) -> list[actions.Revision]:
        """Changed sheets that nothing was done about yet."""
        done = self.new_set.done
        return [s.revision for i, s in enumerate(self.new_set.sheets) if s.revision is not None and i not in done]

    def _chosen(self, row: int) -> None:
        sheet = self.new_set.sheets[row]
        revision = sheet.revision
        doubts = () if revision is None else revision.doubts
        self.why.configure(text="\n".join((f"{sheet.label}: {sheet.found}.", *(f"• {doubt}" for doubt in doubts))))
        self.review_button.configure(state="normal" if revision in self._open_revisions() else "disabled")

    def _open(self) -> None:
        revision = self.new_set.sheets[self.table.rows()[0]].revision
        assert revision is not None
        self.destroy()
        self._review(revision)

    def _take(self, accept: Literal["sure", "all"]) -> None:
        """Take in the changed sheets, each as one edit."""
        store, taken = self.session.store, 0
        for revision in self._open_revisions():
            count = len(revision.chosen(accept))
            if count and self.session.attempt(
                lambda found=revision: actions.accept_revision(store, found, accept, who=person(), at=now()),  # type: ignore[misc]
                f"Took in {count} walls of {revision.sheet.number}",
            ):
                self.new_set.take(revision, f"{count} walls taken in")
                taken += count
            elif count:
                self.refuse(self.session.message)
                break
        else:
            self.good(f"{taken} wall{'s' * (taken != 1)} taken in.")
        self._show()
