"""Stated areas against measured ones: the table, the verdicts, and the page for the author of the drawing."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from takeoff import actions
from takeoff.audit.areas import Basis
from takeoff.audit.stated import AreaUnit
from takeoff.audit.verdict import AreaCheck, CheckLine, Verdict, leading_texts
from takeoff.errors import TakeoffError
from takeoff.exchange.stated_file import StatedTable
from takeoff.gui.canvas.small_pictures import PlacePicture
from takeoff.gui.dialogs.common import Dialog, asking
from takeoff.gui.host import Host, session_of
from takeoff.gui.job_shapes import polyline
from takeoff.gui.session import Selection
from takeoff.gui.widgets import Field, Form, Row, TableView, TextField, ask_save, button, clear, ctk, label
from takeoff.gui.wording import words_of
from takeoff.measure.rules import RULES
from takeoff.model.plan import Sheet
from takeoff.model.walls import Run
from takeoff.report.tables import Column, Table
from takeoff.signing import now

BASES = (
    ("net", "net wall area"),
    ("gross", "gross wall area"),
    ("with-returns", "net with returns"),
    ("centreline", "to the centreline"),
    ("floor", "floor area"),
)
# fmt: off
OPTIONS = (
    Row("basis", "Areas are", "What the areas in the table stand for: walls or floor, with or without openings.",
        BASES),
    Row("unit", "Unit", "Unit of areas that name none in heading or cell.",
        (("", "as the table says"), ("sf", "square feet"), ("m2", "square metres"))),
    Row("column", "Column", "Heading of the column to read, where several hold areas."),
    Row("rule", "Measured by", "The measuring rule that the table follows.", [(name, name) for name in RULES]),
    Row("find", "Find", "Show only the lines that hold this: a number, a name, or what was found."),
)
# fmt: on
HEADINGS = (("floor", "floor"), ("gross", "gross"), ("return", "with-returns"), ("cent", "centreline"))
"""Words in the heading of a column that tell what its areas are areas of."""
VERDICTS: tuple[tuple[Verdict, str], ...] = (
    ("agrees", "agree"),
    ("differs", "differ by more than measuring can explain"),
    ("cannot say", "cannot be told"),
)
STATED, OURS = "What the table states", "What was measured"
PICTURE = (420, 130)
"""Size of each of both pictures."""
PDF = [("PDF files", "*.pdf"), ("All files", "*")]
TABLES = [("Tables of areas", "*.csv *.xlsx *.xls *.ods *.pdf"), ("All files", "*")]


class CheckDialog(Dialog):
    """Check a table of stated areas; choosing a line shows its room on the plan and both pictures of it."""

    def __init__(self, host: Host, source: Path | Sheet) -> None:
        super().__init__(host, "Stated areas against measured", 2 * PICTURE[0] + 20, scrolls=True)
        self.source = source
        self.name = source.name if isinstance(source, Path) else source.number or f"sheet {source.id}"
        fields = clear(self.body)
        fields.pack(fill="x")
        fields.grid_columnconfigure((0, 1), weight=1, uniform="fields")
        self.form = Form(fields, OPTIONS, self.refuse, commit=self._changed, add=partial(_in_two_columns, fields))
        find = self.form["find"]
        self.first = find if isinstance(find, TextField) else None
        self.form.show(unit="", rule=self.session.job.settings.rule, basis=self._likely_basis())
        self.table = TableView(self.body, self._chosen, rows=8)
        self.table.pack(fill="both", expand=True, pady=6)
        pictures = clear(self.body)
        pictures.pack(fill="x")
        self.stated, self.ours = (PlacePicture(pictures, host.canvas, PICTURE) for _ in range(2))
        self.stated.pack(side="left")
        self.ours.pack(side="right")
        self.why = label(self.body, anchor="nw", wrap=self.width, height=70)
        self.why.pack(fill="x")
        self.write = button(self.foot, "Write a page for the architect…", self._write, side="left")
        self.close_button()
        self.check: AreaCheck | None = None
        self._shown: list[CheckLine] = []
        self.run_check()

    def _changed(self, key: str, _text: str) -> None:
        """Check anew, or only look for other lines."""
        if key == "find":
            self._show_lines()
        else:
            self.run_check()

    def _likely_basis(self) -> str:
        """Return what the heading of the areas tells, net wall area where it tells nothing."""
        try:
            table = self._stated("net", None, "")
        except TakeoffError:
            return "net"
        heading = table.column.lower()
        return next((basis for word, basis in HEADINGS if word in heading), "net")

    def _stated(self, basis: Basis, unit: AreaUnit | None, column: str) -> StatedTable:
        if isinstance(self.source, Path):
            data = actions.read_file(self.source, "table of areas")
            return actions.read_stated_areas(data, self.name, basis=basis, unit=unit, column=column)
        return actions.read_sheet_areas(self.session.store, self.source, basis=basis, unit=unit, column=column)

    def run_check(self) -> None:
        """Check anew."""
        self.refuse("")
        try:
            basis: Basis = self.form.text("basis")  # type: ignore[assignment]
            unit: AreaUnit | None = self.form.text("unit") or None  # type: ignore[assignment]
            stated = self._stated(basis, unit, self.form.text("column"))
            self.check = actions.check_areas(self.session.job, stated, rule=self.form.text("rule"), basis=basis)
        except TakeoffError as error:
            self.check = None
            self.refuse(words_of(error))
            return
        self._show_lines()
        heading = f'"{stated.column}" taken for {dict(BASES)[basis]}: '
        counts = [f"{self.check.count(v)} {words}" for v, words in VERDICTS if self.check.count(v)]
        texts = [heading + ", ".join(counts) + ". Click a line for the reason.", *leading_texts(self.check)[:2]]
        self.why.configure(text="\n".join((*texts, *self.check.faults[:1])))

    def _show_lines(self) -> None:
        if self.check is None:
            return
        show = self.session.display
        wanted = self.form.text("find").casefold()
        columns = (
            *(Column(title=title, kind="text") for title in ("Stated for", "Room")),
            *(Column(title=title, unit=show.area_unit) for title in ("Stated", "Measured", "Difference", "± (k=2)")),
            Column(title="Finding", kind="text"),
        )
        rows, self._shown = [], []
        for line in self.check.lines:
            areas = ("" if a is None else show.area_number(a) for a in (line.measured, line.difference, line.u))
            stated = line.match.stated
            name = " ".join(t for t in (stated.number, stated.name) if t)
            area = show.area_number(stated.area) if stated.is_figure else stated.written
            row = (name, line.room_label, area, *areas, line.verdict)
            if wanted in " ".join(str(cell) for cell in row).casefold():
                rows.append(row)
                self._shown.append(line)
        self.table.show(Table(id="check", title="", columns=columns, rows=tuple(rows)))
        self.table.mark()
        for picture, heading in ((self.stated, STATED), (self.ours, OURS)):
            picture.say(heading, "Click a line to see it." if rows else "No line holds what is looked for.")

    def _chosen(self, row: int) -> None:
        line = self._shown[row]
        reason = f"{line.reason[:1].upper()}{line.reason[1:].rstrip('.')}."
        self.why.configure(text="\n".join((reason, *(f"It {c.text}: {c.arithmetic}" for c in line.causes))))
        room = line.match.room
        runs = tuple(run for run in self.session.job.runs.values() if room and room in (run.room, run.id))
        if runs:
            self.session.select(Selection(runs=tuple(run.id for run in runs)))
        self._show_stated(line)
        self._show_ours(runs)

    def _show_stated(self, line: CheckLine) -> None:
        stated = line.match.stated
        boxes = [row.box_pt for row in stated.parts or (stated,) if row.box_pt is not None]
        if isinstance(self.source, Path) or not boxes:
            self.stated.say(STATED, f"{self.name}, {stated.where}: {stated.label}, {stated.text}")
            return
        corners = [corner for x0, y0, x1, y1 in boxes for corner in ((x0, y0), (x1, y1))]
        lines = [((x0, y1), (x1, y1)) for x0, _, x1, y1 in boxes]
        self.stated.show(STATED, self.session.store.source(self.source.source), self.source, corners, lines)

    def _show_ours(self, runs: Sequence[Run]) -> None:
        if not runs:
            self.ours.say(OURS, "No room of the job belongs to this line.")
            return
        sheet = self.session.job.sheets[runs[0].sheet]
        lines = [polyline(run) for run in runs if run.sheet == sheet.id]
        points = [point for line in lines for point in line]
        self.ours.show(OURS, self.session.store.source(sheet.source), sheet, points, lines)

    def _write(self) -> None:
        check = self.check
        if check is None:
            return
        store, name = self.session.store, self.name
        path = ask_save(self, "Page for the architect", store.path.with_name("stated areas.pdf"), PDF)
        if path and self.tries(lambda: actions.write_check_report(store.job, check, path, source=name, at=now())):
            self.good(f"Written: {path}")


def _in_two_columns(fields: ctk.CTkFrame, field: Field) -> None:
    at = len(fields.grid_slaves())
    field.grid(row=at // 2, column=at % 2, sticky="ew", padx=(0, 8), pady=2)


def check_sheet(host: Host) -> Dialog:
    """Check the areas that a table on the sheet that is shown states."""
    return CheckDialog(host, session_of(host).sheet)


ask_check = asking("Table of stated areas", TABLES, CheckDialog)
