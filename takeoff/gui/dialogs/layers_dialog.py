"""What is seen on the plan: layers of the sheet and kinds of marks over it, each shown, dimmed or hidden."""

from __future__ import annotations

from functools import partial

from takeoff.gui.dialogs.common import Dialog
from takeoff.gui.host import Host, session_of
from takeoff.gui.session import MARK_KINDS, Seen
from takeoff.gui.widgets import TableView, button, text_size
from takeoff.report.tables import Column, Table
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
