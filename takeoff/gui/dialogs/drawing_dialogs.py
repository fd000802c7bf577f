"""How a sheet is seen and read: its layers and the marks over it, and the drafting styles of the job."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from takeoff import actions
from takeoff.errors import InputError
from takeoff.gui.background import Beside
from takeoff.gui.dialogs.common import JOB_TYPES, Dialog, FormDialog, ask_files
from takeoff.gui.host import Host, session_of
from takeoff.gui.reading_process import propose_style, with_store
from takeoff.gui.session import MARK_KINDS, Seen
from takeoff.gui.tools.style_tool import NAME, StyleTool
from takeoff.gui.widgets import Row, TableView, button, text_size
from takeoff.job.edits import Batch, PutStyle, Remove
from takeoff.model.drafting import DraftingStyle
from takeoff.report.tables import Column, Table, rows_table
from takeoff.sheet.layers import NOTES, Layer, LayerLook, read_layers

ABOUT = (
    "Click a row, or several with Control or Shift, and say how they are seen. Nothing snaps to a hidden layer. "
    "No figure changes."
)
COLUMNS = (Column(title="On the plan", kind="text"), Column(title="Lines and texts"), Column(title="Seen", kind="text"))
ACTS: tuple[tuple[str, str, Seen], ...] = (("Show", "s", "shown"), ("Dim", "d", "dimmed"), ("Hide", "h", "hidden"))
MOST_ROWS = 16
"""Rows that are seen at once at 100 % text; a longer list scrolls."""


class LayersDialog(Dialog):
    """Shows, dims and hides what is chosen, at once, for as long as the job is open."""

    def __init__(self, host: Host) -> None:
        session = session_of(host)
        sheet = session.sheet
        layers = read_layers(session.store.source(sheet.source), sheet)  # before there is anything to see or press
        super().__init__(host, "Layers of the plan", 480)
        self.sheet, self.layers = sheet, layers
        self.say(ABOUT)
        rows = min(len(MARK_KINDS) + len(self.layers), round(MOST_ROWS / text_size()))
        self.table = TableView(self.body, takes_several=True, rows=rows)
        self.table.pack(fill="both", expand=True, pady=6)
        for label, key, seen in ACTS:
            act = partial(self.set_seen, seen)
            button(self.foot, label, act, hint=f"Key: {key.upper()}", side="left", padx=(0, 8))
            self.bind(f"<KeyPress-{key}>", lambda _event, act=act: act())
        self.close_button()
        self._show()

    def take_keys(self) -> None:
        self.table.tree.focus_force()

    @property
    def _look(self) -> LayerLook:
        """How layers are seen now: as a person chose, else as the file has them."""
        return self.session.looks.get(self.sheet.id) or _own_look(self.layers)

    def _show(self) -> None:
        look, marks = self._look, self.session.marks
        rows: list[tuple[str, str, str]] = [(label, "", marks.get(kind, "shown")) for kind, label in MARK_KINDS.items()]
        for layer in self.layers:
            seen = "hidden" if layer.name in look.hidden else "dimmed" if layer.name in look.dimmed else "shown"
            name = f"Layer {layer.name}" if layer.name != NOTES else "Notes in the file"
            rows.append((name, f"{layer.count:,}", seen))
        self.table.show(Table(id="layers", title="", columns=COLUMNS, rows=tuple(rows)))

    def set_seen(self, seen: Seen) -> None:
        """Show, dim or hide what is chosen."""
        chosen = self.table.rows()
        if not chosen:
            self.refuse("Nothing is chosen. Click a row first.")
            return
        self.refuse("")
        kinds, session = list(MARK_KINDS), self.session
        session.marks.update({kinds[row]: seen for row in chosen if row < len(kinds)})
        names = {self.layers[row - len(kinds)].name for row in chosen if row >= len(kinds)}
        look = self._look
        look = LayerLook(
            hidden=look.hidden | names if seen == "hidden" else look.hidden - names,
            dimmed=look.dimmed | names if seen == "dimmed" else look.dimmed - names,
        )
        session.looks[self.sheet.id] = look
        if look == _own_look(self.layers):
            del session.looks[self.sheet.id]
        self._show()
        self.host.show_layers(self.sheet)


def _own_look(layers: tuple[Layer, ...]) -> LayerLook:
    return LayerLook(hidden=frozenset(layer.name for layer in layers if not layer.is_on))


ABOUT_STYLES = (
    "A drafting style says how an office draws walls, doors and windows. Sheets that it fits are traced by it. Name "
    "one and show it on the plan, or have the program propose the one that this sheet is read by."
)
Proposal = tuple[DraftingStyle, float] | None


class StylesDialog(FormDialog):
    """A line for each style, the one that is proposed last."""

    def __init__(self, host: Host) -> None:
        rows = (Row("name", "Name", "Of the style to show: one of the list is shown further, another is a new one."),)
        super().__init__(host, "Drafting styles", rows, "Show it", width=760)
        self.say(ABOUT_STYLES)
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
        if self.tries(lambda: self.session.do(Remove(kind="style", id=self.named()))):
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
