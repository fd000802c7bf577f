"""Taking in a new issue of a sheet: compared away from the event loop, reviewed on the plan, taken in or put aside."""

from __future__ import annotations

from concurrent.futures import Future
from dataclasses import replace
from pathlib import Path

from takeoff import actions
from takeoff.errors import InputError, TakeoffError
from takeoff.gui.background import Pending
from takeoff.gui.dialogs.revision_dialogs import ChangeDialog, IssueDialog, NewSetDialog, TakenIn
from takeoff.gui.host import Host, session_of
from takeoff.gui.reading_process import with_job, with_store
from takeoff.gui.review import NewIssue, NewSet, Review, compare, delta_words, sheets_of
from takeoff.gui.tools.revision_tools import PairTool, ReviewTool
from takeoff.gui.widgets import Later
from takeoff.gui.wording import words_of
from takeoff.job.job import Job
from takeoff.model.plan import Point, Sheet
from takeoff.units import parse_length

BLINK_MS = 600
"""How long each issue is seen while they blink."""


class IssueReview:
    """The review that is open, if one is."""

    def __init__(self, host: Host) -> None:
        self._host = host
        self.review: Review | None = None
        self.pairing: PairTool | None = None
        self.new_set: NewSet | None = None
        self._issue = NewIssue(name="", data=b"")
        self._compared_with: Job | None = None
        self._error: TakeoffError | None = None
        self._comparing: Pending[actions.RevisionPrices] = Pending(host.root, self._compared)
        self._reading = Pending[list[Sheet]](host.root, self._ask)
        self._blinking = Later(host.root, self._turn)
        self._shows_old = False

    @property
    def is_blinking(self) -> bool:
        """Whether old and new take turns."""
        return self._blinking.is_waiting

    def drop(self) -> None:
        """Forget the review and what is being compared."""
        self._comparing.stop()
        self._reading.stop()
        self._blinking.stop()
        self.review = self.pairing = self.new_set = None

    def compare(self, path: Path) -> None:
        """Compare a new issue of the sheet that is shown, away from the event loop, and open its review."""
        self._host.guard(lambda: self._compare(NewIssue(name=path.name, data=actions.read_file(path, "plan file"))))

    def _compare(self, issue: NewIssue) -> None:
        session = session_of(self._host)
        if not self._comparing.is_waiting:
            self._issue, self._compared_with = issue, session.job
            self._comparing.wait(self._host.process.submit(with_store, session.path, compare, session.sheet_id, issue))
            session.tell(f"Comparing {issue.name} with this sheet …")

    def compare_set(self, path: Path) -> None:
        """Compare a whole new set with the job, in a page of a line for each sheet."""
        self.new_set = NewSet(name=path.name)
        NewSetDialog(self._host, self.new_set, actions.read_file(path, "plan file"), self.review_of)

    def review_of(self, revision: actions.Revision) -> None:
        """Open the review of one sheet of a new set that was compared with the others."""
        session = session_of(self._host)
        if self._comparing.is_waiting:
            return
        session.show_sheet(revision.old.id)
        self._issue = NewIssue(name=revision.source.name, data=revision.data, page=revision.sheet.page)
        self._compared_with = session.job
        self._comparing.wait(self._host.process.submit(with_job, session.path, actions.RevisionPrices, revision))
        session.tell(f"Pricing what changed on {revision.sheet.number or 'this sheet'} …")

    def _compared(self, made: Future[actions.RevisionPrices]) -> None:
        """Open the review, or say why there is none; where a page or points would help, ask for them."""
        try:
            prices = made.result()
        except TakeoffError as error:
            self._host.refuse(words_of(error))
            if any(part in error.remedy for part in ("--page", "--points")):
                self._error = error
                self._reading.wait(self._host.process.submit(sheets_of, self._issue.name, self._issue.data))
            return
        self.open(prices.revision, prices)

    # -- where it does not lie on the sheet by itself ------------------------------------------------------------

    def _ask(self, made: Future[list[Sheet]]) -> None:
        assert self._error is not None
        sheets, number = made.result(), session_of(self._host).sheet.number
        own = [s.page for s in sheets if s.number and s.number == number]
        page = self._issue.page or (own or [sheets[0].page])[0]
        IssueDialog(self._host, self._error, sheets, page, compare=self._compare_with, pair=self.begin_pairing)

    def _compare_with(self, sheet: Sheet, *points: tuple[Point, Point]) -> None:
        """Compare the sheet that is shown with another page of the new issue's file, laid on it by pairs of points."""
        self._compare(replace(self._issue, page=sheet.page, points=points))

    def begin_pairing(self, sheet: Sheet) -> None:
        """Have two points shown that the sheet and a page of the new issue both have."""
        session = session_of(self._host)

        def turn() -> None:
            self._host.canvas.show_sheet(self._issue.data, sheet)
            self.cover()

        def done(points: list[tuple[Point, Point]]) -> None:
            self._host.use_tool("pick")
            self._compare_with(sheet, *points)

        self.pairing = PairTool(session, turn=turn, done=done, ended=self.end_pairing)
        self._host.hold(self.pairing)
        session.tell(
            "Click two points that both revisions show, far apart. They show how the new revision lies on this sheet."
        )

    def end_pairing(self) -> None:
        """Show the sheet of the job again."""
        if self.pairing is not None and self._host.session is not None:
            was_on_new, self.pairing = self.pairing.is_on_new, None
            if was_on_new:
                self._host.forget_sheet()
                self._host.session.show_sheet(self._host.session.sheet_id)

    def cover(self) -> None:
        """Keep the walls of the job off the new issue while points are shown on it."""
        if self.pairing is not None and self.pairing.is_on_new:
            self._host.canvas.set_shapes(())

    def open(self, revision: actions.Revision, prices: actions.RevisionPrices | None = None) -> None:
        """Open the review of a revision, or go on with it where that issue is under review already."""
        session = session_of(self._host)
        if prices is None or session.job is not self._compared_with:
            prices = actions.RevisionPrices(session.job, revision)
        before, self.review = self.review, Review(prices, session.job, session.display, self._issue.smallest)
        if before is not None:
            self.review.taken, self.review.shown, self.review.share = before.taken, before.shown, before.share
            self.changed(False)
            session.tell(f"{len(self.review.items)} walls and changes.")
            return
        canvas = self._host.canvas
        canvas.show_sheet(revision.data, revision.sheet)
        old = revision.old
        canvas.show_old_issue(session.store.source(old.source), old, revision.registration.inverse)
        self._host.hold(ReviewTool(session, self.review, self))
        session.tell("Step through what changed with N and P.")

    # -- looking -------------------------------------------------------------------------------------------------

    def changed(self, is_step: bool) -> None:
        if self.review is None:
            return
        focus = self.review.focus()
        if is_step and focus is not None:
            self._host.canvas.fit_points(focus)
        if not self.is_blinking:
            self._host.canvas.fade(self.review.share)
        self._host.show_side()
        self._host.repaint()

    def blink(self) -> None:
        if self.is_blinking:
            self._blinking.stop()
        else:
            self._shows_old = False
            self._turn()
        self.changed(False)

    def _turn(self) -> None:
        self._shows_old = not self._shows_old
        self._host.canvas.fade(1.0 if self._shows_old else 0.0)
        self._blinking.begin(BLINK_MS)

    def leave_out(self, text: str) -> None:
        """List changes from a typed size, refusing what is none; where larger ones were left out, compare again."""
        session, review = session_of(self._host), self.review
        if review is None:
            return
        smallest = parse_length(text.strip(), system=session.display.system)
        if smallest <= 0.0:
            raise InputError("the size must be above zero", remedy='Write 4" or 100 mm.')
        if smallest < review.compared_from:
            if self._comparing.is_waiting:
                raise InputError("the sheets are being compared", remedy="Wait until that is done.")
            self._compare(replace(self._issue, smallest=smallest))
            return
        review.leave_out(smallest)
        self.changed(False)
        session.tell(f"{len(review.items)} walls and changes.")

    # -- ending --------------------------------------------------------------------------------------------------

    def take_in(self) -> None:
        session, review = session_of(self._host), self.review
        if review is None:
            return
        chosen = review.chosen
        if not chosen:
            session.tell("Nothing is ticked: take at least one wall, or put the new revision aside.", is_refusal=True)
            return
        before = session.job
        self.review = None
        told = f"Took in {len(chosen)} walls of {review.revision.sheet.number}"
        if not session.act(told, actions.accept_revision, review.revision, chosen):
            self.review = review
            return
        delta = actions.revision_delta(before, session.job, review.revision)
        if self.new_set is not None:
            self.new_set.take(review.revision, f"{len(chosen)} walls taken in")
        self._end(review.revision.sheet.id)
        session.tell(f"Took in {len(chosen)} walls. {delta_words(delta, session.display)}")
        done = TakenIn(before=before, revision=review.revision, taken=tuple(chosen), delta=delta)
        ChangeDialog(self._host, done)

    def put_aside(self) -> None:
        session = session_of(self._host)
        self._end(session.sheet_id)
        session.tell("The new revision was put aside. Nothing was changed.")

    def _end(self, sheet: int) -> None:
        new_set = self.new_set
        self.drop()
        self._host.forget_sheet()
        self._host.use_tool("pick")
        session_of(self._host).show_sheet(sheet)
        if new_set is not None:
            self.new_set = new_set
            NewSetDialog(self._host, new_set, b"", self.review_of)
