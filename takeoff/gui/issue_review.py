"""Taking in a new issue of a sheet: compared away from the event loop, reviewed on the plan, taken in or put aside."""

from __future__ import annotations

from concurrent.futures import Future
from pathlib import Path
from typing import TYPE_CHECKING

from takeoff import actions
from takeoff.errors import InputError
from takeoff.gui.awaited import Awaited
from takeoff.gui.review import Review, compare, delta_words
from takeoff.job.edits import Change
from takeoff.revise.changes import SMALLEST
from takeoff.signing import now, person
from takeoff.units import parse_length

if TYPE_CHECKING:
    from takeoff.gui.app import DeskWindow

BLINK_MS = 600
"""How long each issue is seen while they blink."""


class IssueReview:
    """The review that is open, if one is."""

    def __init__(self, window: DeskWindow) -> None:
        self._window = window
        self.review: Review | None = None
        self._path = Path()
        self._smallest = SMALLEST
        self._comparing = Awaited[actions.Revision](window, self._compared)
        self._blink_job: str | None = None

    @property
    def is_blinking(self) -> bool:
        """Whether old and new take turns."""
        return self._blink_job is not None

    def drop(self) -> None:
        """Forget the review and what is being compared."""
        self._comparing.stop()
        self._stop_blinking()
        self.review = None

    def compare(self, path: Path, smallest: float = SMALLEST) -> None:
        """Compare a new issue of the sheet that is shown, away from the event loop, and open its review."""
        session = self._window.session
        if session is None or self._comparing.is_waiting:
            return

        def start() -> None:
            data = actions.read_file(path, "plan file")
            assert self._window.process is not None
            self._path, self._smallest = path, smallest
            self._comparing.wait(
                self._window.process.submit(compare, session.path, session.sheet_id, path.name, data, smallest)
            )

        if self._window.guard(start):
            session.tell(f"Comparing {path.name} with this sheet …")

    def _compared(self, made: Future[actions.Revision]) -> None:
        found: list[actions.Revision] = []
        if self._window.guard(lambda: found.append(made.result())):
            self.open(found[0])

    def open(self, revision: actions.Revision) -> None:
        """Open the review of a revision, or go on with it where that issue is under review already."""
        session = self._window.session
        if session is None:
            return
        before, self.review = self.review, Review(revision, session.display, self._smallest)
        if before is not None:
            self.review.taken, self.review.shown, self.review.share = before.taken, before.shown, before.share
            self.changed(False)
            session.tell(f"{len(self.review.items)} walls and changes.")
            return
        canvas = self._window.canvas
        canvas.show_sheet(revision.data, revision.sheet)
        old = revision.old
        canvas.show_old_issue(session.store.source(old.source), old, revision.registration.inverse)
        self._window.use_tool("review")
        self._window.desk.review_panel.show(self.review, is_blinking=False)
        self._window.viewing.repaint()
        session.tell("Step through what changed with N and P.")

    # -- looking -------------------------------------------------------------------------------------------------

    def changed(self, is_step: bool) -> None:
        """Show the review as it stands; after a step the plan goes to the item."""
        if self.review is None:
            return
        focus = self.review.focus()
        if is_step and focus is not None:
            self._window.canvas.fit_points(focus)
        if not self.is_blinking:
            self._window.canvas.fade(self.review.share)
        self._window.desk.review_panel.show(self.review, is_blinking=self.is_blinking)
        self._window.viewing.repaint()

    def blink(self) -> None:
        """Have old and new take turns, or stop that."""
        if self.is_blinking:
            self._stop_blinking()
        else:
            self._turn(is_old=True)
        self.changed(False)

    def _turn(self, *, is_old: bool) -> None:
        self._window.canvas.fade(1.0 if is_old else 0.0)
        self._blink_job = self._window.after(BLINK_MS, lambda: self._turn(is_old=not is_old))

    def _stop_blinking(self) -> None:
        if self._blink_job is not None:
            self._window.after_cancel(self._blink_job)
            self._blink_job = None

    def leave_out(self, text: str) -> None:
        """List changes from a typed size; where comparing left out larger ones, it is compared again.

        Raises
        ------
        InputError
            When it is no size.
        """
        session, review = self._window.session, self.review
        if session is None or review is None:
            return
        smallest = parse_length(text.strip(), system=session.display.system)
        if smallest <= 0.0:
            raise InputError("the size must be above zero", remedy='Write 4" or 100 mm.')
        if smallest < review.compared_from:
            if self._comparing.is_waiting:
                raise InputError("the sheets are being compared", remedy="Wait until that is done.")
            self.compare(self._path, smallest)
            return
        review.leave_out(smallest)
        self.changed(False)
        session.tell(f"{len(review.items)} walls and changes.")

    # -- ending --------------------------------------------------------------------------------------------------

    def take_in(self) -> None:
        """Take what is ticked into the job, as one edit."""
        session, review = self._window.session, self.review
        if session is None or review is None:
            return
        chosen = [r.before.id for r in review.revision.runs if r.before.id in review.taken]
        if not chosen:
            session.tell("Nothing is ticked: take at least one wall, or put the new issue aside.", is_refusal=True)
            return
        before = session.job
        done: list[Change | None] = []

        def work() -> object:
            done.append(actions.accept_revision(session.store, review.revision, chosen, who=person(), at=now()))
            return done[0]

        self.review = None
        if not session.attempt(work, f"Took in {len(chosen)} walls of {review.revision.sheet.number}"):
            self.review = review
            return
        delta = actions.revision_delta(before, session.job, review.revision)
        self._end(review.revision.sheet.id)
        session.tell(f"Took in {len(chosen)} walls. {delta_words(delta, session.display)}")

    def put_aside(self) -> None:
        """End the review; nothing is changed."""
        if self._window.session is not None:
            self._end(self._window.session.sheet_id)
            self._window.session.tell("The new issue was put aside; nothing was changed.")

    def _end(self, sheet: int) -> None:
        assert self._window.session is not None
        self.drop()
        self._window.viewing.forget_sheet()
        self._window.use_tool("pick")
        self._window.session.show_sheet(sheet)
