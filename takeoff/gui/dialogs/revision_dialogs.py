"""New revisions: a whole set sheet by sheet, one that does not fit its sheet, and what one changes once taken in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Literal

from takeoff import actions
from takeoff.errors import InputError, TakeoffError
from takeoff.gui.background import Beside
from takeoff.gui.dialogs.common import Dialog, FormDialog
from takeoff.gui.entries import COUNT, DAY, TEXT, maybe
from takeoff.gui.host import Host
from takeoff.gui.reading_process import with_store
from takeoff.gui.review import NewSet, delta_words
from takeoff.gui.widgets import ChoiceField, Row, TableView, button, label, text_size
from takeoff.gui.wording import finding_of
from takeoff.job.job import Job
from takeoff.model.plan import Sheet
from takeoff.report.change_letter import ChangeTerms
from takeoff.report.change_order import delta_tables
from takeoff.report.letterhead import Letterhead
from takeoff.report.tables import Table, rows_table
from takeoff.revise.delta import Delta
from takeoff.signing import now

SHEETS_SHOWN = 12
"""Rows that are seen at once at 100 % text."""
ABOUT = (
    "Click a sheet that changed and review it on the plan, or take in what is sure on all of them. What is to be "
    "looked at stays on the old sheet until you review it. Each sheet is one step to undo."
)


TAKES: tuple[tuple[str, Literal["sure", "all"], str], ...] = (
    ("Take in what is sure", "sure", "Take in the walls of all changed sheets that were found whole."),
    ("Changed walls too", "all", "Take in changed and removed walls too; those to be looked at stay on the old sheet."),
)


class NewSetDialog(Dialog):
    """Compare a new set, show what became of each sheet, and take changed sheets in.

    The set is compared now, from the ``data`` of its file, where it has no sheets yet. ``review`` is called with the
    revision of a sheet to be reviewed.
    """

    def __init__(self, host: Host, new_set: NewSet, data: bytes, review: Callable[[actions.Revision], None]) -> None:
        super().__init__(host, f"New set: {new_set.name}", 860)
        self.new_set, self._review = new_set, review
        self.text = label(self.body, ABOUT, anchor="nw", wrap=self.width)
        self.text.pack(fill="x", pady=(0, 6))
        self.table = TableView(self.body, self._chosen, rows=round(SHEETS_SHOWN / text_size()))
        self.table.pack(fill="both", expand=True)
        self.why = label(self.body, anchor="nw", wrap=self.width)
        self.why.pack(fill="x", pady=(6, 0))
        self.close_button()
        hint = "See its changes on the plan."
        self.review_button = button(self.foot, "Review this sheet", self._open, hint=hint, side="left", padx=(0, 8))
        self.review_button.configure(state="disabled")
        self.sure_button, self.all_button = (
            button(self.foot, text, partial(self._take, accept), hint=hint, side="left", padx=(0, 8))
            for text, accept, hint in TAKES
        )
        self._show()
        if not new_set.sheets:
            failing = "The set was not compared"
            self._comparing: Beside[tuple[actions.SheetOfSet, ...]] = Beside(self, self.refuse, self._compared, failing)
            self.good("Comparing every sheet with the job …")
            self._comparing.begin(with_store, self.session.path, actions.compare_set, new_set.name, data)

    def _compared(self, sheets: tuple[actions.SheetOfSet, ...]) -> None:
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
        taken = 0
        for revision in self._open_revisions():
            if not revision.is_taken(accept):
                continue
            count = len(revision.chosen(accept))
            told = f"Took in {count} walls of {revision.sheet.number}"
            if self.session.act(told, actions.accept_revision, revision, accept):
                left = len(revision.left(accept))
                self.new_set.take(revision, f"{count} walls taken in" + f", {left} to be looked at" * bool(left))
                taken += count
            else:
                self.refuse(self.session.message)
                break
        else:
            self.session.act("What was not taken is an open point", actions.keep_what_is_left, self.new_set.sheets)
            self.good(f"{taken} wall{'s' * (taken != 1)} taken in.")
        self._show()


class IssueDialog(Dialog):
    """Say why a new issue could not be laid on the sheet, and ask for another of its sheets, or for two points.

    It begins with a page. ``compare`` or ``pair`` is called with the sheet that is chosen.
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
        pages = [(id, f"{id}: {' '.join(t for t in (s.number, s.title) if t)}") for id, s in self._sheets.items()]
        self.page = ChoiceField(self.body, "Page", pages, lambda _page: None)
        self.page.show(str(page))
        if len(sheets) > 1:
            self.say("Choose its page and compare again, or show two points that both revisions have.")
            self.page.pack(fill="x", pady=4)
            button(self.foot, "Compare this page", partial(self._go, compare), side="left")
        else:
            self.say("Show two points that both revisions have.")
        button(self.foot, "Show two points", partial(self._go, pair), is_main=True, side="right")
        button(self.foot, "Close", self.close, side="right", padx=8)

    def _go(self, work: Callable[[Sheet], None]) -> None:
        sheet = self._sheets[self.page.value]
        self.close()
        work(sheet)


ROWS_SHOWN = 6
"""Rows of a table that are seen at once."""
LETTERS = [("Change orders", "*.pdf *.html *.xlsx *.csv"), ("All files", "*")]
# fmt: off
ROWS = (
    Row("table", "Change by", "What the table shows.", ()),
    Row("number", "Number", "The change order's number.", kind=TEXT),
    Row("date", "Date", "Its date, such as 2026-03-16.", kind=maybe(DAY, "")),
    Row("to", "To", "To whom it goes.", kind=TEXT),
    Row("reason", "Reason", "Such as the addendum.", kind=TEXT),
    Row("by", "Priced by", "The difference of the estimate, or the change of area at the job's own price per area.",
        (("cost", "the estimate's difference"), ("unit-price", "the job's price per area")), TEXT),
    Row("valid_days", "Holds for days", "How long the price holds, from its date.", kind=maybe(COUNT)),
    Row("letterhead", "Letterhead", "File with company lines, logo and own terms; empty for none.",
        finds="file", types=[("Letterheads", "*.toml"), ("All files", "*")]),
    Row("desk", "For your desk", "A PDF of what is taken in, with hours and costs; empty for none.",
        finds="save", types=[("PDF files", "*.pdf"), ("All files", "*")]),
    Row("file", "Write to", "PDF, HTML, XLSX or CSV, by the ending.", finds="save", types=LETTERS),
)
# fmt: on


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """A revision that was taken in: the job before, what was compared, the walls taken, and what it comes to."""

    before: Job
    revision: actions.Revision
    taken: tuple[str, ...]
    delta: Delta


class ChangeDialog(FormDialog):
    """Show what a revision changes, and write the change order."""

    def __init__(self, host: Host, done: TakenIn) -> None:
        super().__init__(host, "What the revision changes", ROWS, "Write the change order", width=860)
        self._done = done
        display = self.session.display
        self.tables = {t.id: _money_first(t) for t in delta_tables(done.delta, display) if t.rows}
        self.say(delta_words(done.delta, display))
        self.table = TableView(self.body, rows=ROWS_SHOWN)
        self.table.pack(fill="both", expand=True, pady=(4, 8))
        for part in reversed(self.body.pack_slaves()[-2:]):  # figures stand above the fields
            part.pack_configure(before=self.body.pack_slaves()[0])
        self.form.choices("table", [(id, t.title.removeprefix("Change by ")) for id, t in self.tables.items()])
        path = self.session.path
        name = f"{path.stem} change {done.revision.sheet.number or done.revision.sheet.id}.pdf"
        kept = host.preferences.reports.letterhead
        self.form.show(
            table=next(iter(self.tables), ""), date=date.today().isoformat(), letterhead=kept,
            valid_days=str(self._head(kept).valid_days), file=str(path.with_name(name.replace("/", "-"))),
        )  # fmt: skip
        self.form.choose("by", "cost")
        self.changed("table", next(iter(self.tables), ""))

    def changed(self, key: str, text: str) -> None:
        if key == "table" and (chosen := self.tables.get(self.form.text("table") or text)):
            self.table.show(chosen)

    def _head(self, path: str) -> Letterhead:
        return actions.read_letterhead(Path(path).expanduser()) if path else Letterhead()

    def act(self) -> None:
        text = self.form.text
        if not text("file"):
            raise InputError("no file is named", remedy="Say where to write the change order.")
        terms = ChangeTerms(**self.form.read(self.session.display), letterhead=self._head(text("letterhead")))
        done, store = self._done, self.session.store
        if text("desk"):
            desk = Path(text("desk")).expanduser()
            actions.write_change_order(store, done.revision, done.delta, desk, taken=done.taken, at=now())
        sent = actions.send_change(
            done.before, store.job, done.revision, done.delta, Path(text("file")).expanduser(), terms,
            taken=done.taken, at=now(), old_data=store.source(done.revision.old.source),
        )  # fmt: skip
        if sent is None:
            raise InputError("no room changes its area or price", remedy="There is no change order to send.")
        kept = self.host.preferences
        self.host.remember(replace(kept, reports=replace(kept.reports, letterhead=text("letterhead"))))
        self.good("\n".join((f"Wrote {sent.path.name}.", *sent.notes)), is_well=not sent.notes)


def _money_first(table: Table) -> Table:
    """Put the money beside the names, where it is seen without moving the table."""
    if table.columns[-1].kind != "money":
        return table
    head, rows = table.columns, tuple((row[0], row[-1], *row[1:-1]) for row in table.rows)
    total = None if table.total is None else (table.total[0], table.total[-1], *table.total[1:-1])
    return replace(table, columns=(head[0], head[-1], *head[1:-1]), rows=rows, total=total)
