"""The drafting styles of a job: which there are, showing one, taking one out, those of another job, a proposal."""

from __future__ import annotations

from pathlib import Path

from takeoff import actions
from takeoff.errors import InputError
from takeoff.gui.background import Beside
from takeoff.gui.dialogs.common import JOB_TYPES, FormDialog, ask_files
from takeoff.gui.host import Host
from takeoff.gui.reading_process import propose_style, with_store
from takeoff.gui.tools.style_tool import NAME, StyleTool
from takeoff.gui.widgets import Row, TableView, button
from takeoff.job.edits import Batch, PutStyle, RemoveStyle
from takeoff.model.drafting import DraftingStyle
from takeoff.report.tables import rows_table

ABOUT = (
    "A drafting style says how an office draws walls, doors and windows. Sheets that it fits are traced by it. Name "
    "one and show it on the plan, or have the program propose the one that this sheet is read by."
)
Proposal = tuple[DraftingStyle, float] | None


class StylesDialog(FormDialog):
    """A line for each style, the one that is proposed last."""

    def __init__(self, host: Host) -> None:
        rows = (Row("name", "Name", "Of the style to show: one of the list is shown further, another is a new one."),)
        super().__init__(host, "Drafting styles", rows, "Show it", width=760)
        self.say(ABOUT)
        self.table = TableView(self.body, self._chosen, rows=6)
        self.table.pack(fill="both", expand=True, pady=6)
        for text, act, hint in (
            ("Remove", self._remove, "Take the chosen style out of the job. Undo brings it back."),
            ("From another job…", self._take, "Take the styles of another job."),
            ("Propose", self._propose, "Read this sheet without help, and say by which style it was read."),
            ("Keep the proposal", self._keep, "Keep the proposed style under the name above."),
        ):
            button(self.foot, text, act, hint=hint, side="left", padx=(0, 8))
        self._asked: Beside[Proposal] = Beside(self, self.refuse, self._proposed, "No style was proposed")
        self.proposal: Proposal = None
        self.form.show(name=NAME)
        self._show()

    def _styles(self) -> list[DraftingStyle]:
        return list(self.session.job.styles.values())

    def _show(self) -> None:
        rows = [(style.name, "; ".join(actions.style_words(style))) for style in self._styles()]
        if self.proposal is not None:
            style, sure = self.proposal
            rows.append((f"proposed, {sure:.0%} of the outlines sure", "; ".join(actions.style_words(style))))
        self.table.show(rows_table(("Style", "What is drawn so"), rows))

    def _chosen(self, row: int) -> None:
        styles = self._styles()
        if row < len(styles):
            self.form.show(name=styles[row].name)
        shown = styles[row] if row < len(styles) or self.proposal is None else self.proposal[0]
        self.good("\n".join(actions.style_words(shown)))

    def named(self) -> str:
        """Return what the style is called; none is refused."""
        name = self.form.text("name")
        if not name:
            raise InputError("the style has no name", remedy="Name it.")
        return name

    def act(self) -> None:
        """Take the tool that shows walls, doors and windows, for the style that is named."""
        host, tool = self.host, StyleTool(self.session, self.named())
        self.destroy()
        host.hold(tool)

    def _remove(self) -> None:
        if self.tries(lambda: self.session.do(RemoveStyle(id=self.named()))):
            self._show_done()

    def _show_done(self) -> None:
        self.good(self.session.message, is_well=not self.session.is_refusal)
        self._show()

    def _take(self) -> None:
        for path in ask_files(self.host, "Job whose styles are taken", JOB_TYPES):
            self.tries(lambda path=path: self._put_styles(path))  # type: ignore[misc]

    def _put_styles(self, path: Path) -> None:
        with actions.open_job(path) as other:
            styles = tuple(other.job.styles.values())
        if not styles:
            raise InputError(f"{path.name} has no drafting style", remedy="Choose another job.")
        edits = tuple(PutStyle(style=style) for style in styles)
        self.session.do(Batch(title=f"Take the drafting styles of {path.name}", edits=edits))
        self.good(f"Taken: {', '.join(style.name for style in styles)}.")
        self._show()

    def _propose(self) -> None:
        self.good("Reading the sheet …")
        self._asked.begin(with_store, self.session.path, propose_style, self.session.sheet_id)

    def _proposed(self, proposal: Proposal) -> None:
        self.proposal = proposal
        if proposal is None:
            self.refuse("No style can be proposed: no rooms were found on the sheet's lines. Show it on the plan.")
        else:
            self.good("Keep the proposal, or show more on the plan.")
        self._show()

    def _keep(self) -> None:
        if self.proposal is None:
            self.refuse("Nothing is proposed yet: click Propose first.")
            return
        style = DraftingStyle(name=self.form.text("name") or NAME, walls=self.proposal[0].walls)
        self.proposal = None
        self.session.do(PutStyle(style=style))
        self._show_done()
