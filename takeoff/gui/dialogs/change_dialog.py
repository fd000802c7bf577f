"""What a revision that was taken in changes, by room, wall and bill line, and the change order that is sent for it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from takeoff import actions
from takeoff.errors import InputError
from takeoff.gui.dialogs.common import FormDialog
from takeoff.gui.entries import read_count, read_day
from takeoff.gui.host import Host
from takeoff.gui.review import delta_words
from takeoff.gui.widgets.form import Row
from takeoff.gui.widgets.table_view import TableView
from takeoff.job.job import Job
from takeoff.report.change_letter import ChangeTerms
from takeoff.report.change_order import delta_tables
from takeoff.report.letterhead import Letterhead
from takeoff.report.tables import Table
from takeoff.revise.delta import Delta
from takeoff.signing import now

ROWS_SHOWN = 6
"""Rows of a table that are seen at once."""
LETTERS = [("Change orders", "*.pdf *.html *.xlsx *.csv"), ("All files", "*")]
# fmt: off
ROWS = (
    Row("table", "Change by", "What the table shows.", ()),
    Row("number", "Number", "The change order's number."),
    Row("date", "Date", "Its date, such as 2026-03-16."),
    Row("to", "To", "To whom it goes."),
    Row("reason", "Reason", "Such as the addendum."),
    Row("by", "Priced by", "The difference of the estimate, or the change of area at the job's own price per area.",
        (("cost", "the estimate's difference"), ("unit-price", "the job's price per area"))),
    Row("valid_days", "Holds for days", "How long the price holds, from its date."),
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
        self.table = TableView(self.body, lambda row: None)
        self.table.tree.configure(height=ROWS_SHOWN)
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
        """Show the table that is chosen."""
        if key == "table" and (chosen := self.tables.get(self.form.text("table") or text)):
            self.table.show(chosen)

    def _head(self, path: str) -> Letterhead:
        return actions.read_letterhead(Path(path).expanduser()) if path else Letterhead()

    def act(self) -> None:
        """Write the change order, and say where it is and what to look at."""
        text = self.form.text
        if not text("file"):
            raise InputError("no file is named", remedy="Say where to write the change order.")
        terms = ChangeTerms(
            number=text("number"), to=text("to"), reason=text("reason"), by=text("by"),  # type: ignore[arg-type]
            date=read_day(text("date")).isoformat() if text("date") else "",
            valid_days=read_count(text("valid_days")) if text("valid_days") else None,
            letterhead=self._head(text("letterhead")),
        )  # fmt: skip
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
