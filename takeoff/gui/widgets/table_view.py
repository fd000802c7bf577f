"""A table of the window: any report table in a tree view, which stays quick with thousands of rows."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Collection, Sequence
from tkinter import font as tkfont
from tkinter import ttk
from typing import Any, Literal

from takeoff.gui.widgets.toolkit import colour, family, text_size
from takeoff.report.tables import Table

Cells = tuple[str, ...]
MEASURED_ROWS = 60
"""Rows whose texts are measured for the widths of columns, beside the last one, which may be the total."""
WIDEST = 420
"""Pixels that a column has at the most, and that names in the first one are never cut below."""


def with_bars(seen: ttk.Treeview | tkinter.Canvas, ways: str) -> None:
    """Let what scrolls fill its parent, with bars at its right (``y``) and below it (``x``)."""
    parent = seen.master
    parent.grid_rowconfigure(0, weight=1)
    parent.grid_columnconfigure(0, weight=1)
    seen.grid(row=0, column=0, sticky="nsew")
    if "y" in ways:
        down = ttk.Scrollbar(parent, orient="vertical", command=seen.yview)
        down.grid(row=0, column=1, sticky="ns")
        seen.configure(yscrollcommand=down.set)
    if "x" in ways:
        across = ttk.Scrollbar(parent, orient="horizontal", command=seen.xview)
        across.grid(row=1, column=0, sticky="ew")
        seen.configure(xscrollcommand=across.set)


class TableView(ttk.Frame):
    """Rows of a report table; ``chosen`` is called with the number, from 0, of the row that a person chose last.

    ``rows`` are seen at once at 100 % text where nothing else gives it a height.
    """

    def __init__(
        self,
        parent: tkinter.Misc,
        chosen: Callable[[int], object] = lambda _row: None,
        *,
        takes_several: bool = False,
        rows: int = 10,
    ) -> None:
        super().__init__(parent)
        self._chosen = chosen
        mode: Literal["browse", "extended"] = "extended" if takes_several else "browse"
        self.tree = ttk.Treeview(self, show="headings", selectmode=mode, style="Figures.Treeview", height=rows)
        with_bars(self.tree, "xy")
        self.tree.bind("<<TreeviewSelect>>", self._on_select)
        self._columns: Cells = ()
        self._rows: list[Cells] = []
        self._count = 0
        """Rows without the total, which stands behind them and is never chosen."""
        self._marked: Cells = ()
        self._widths: list[int] = []
        self._is_number: list[bool] = []

    def show(self, table: Table, warned: Collection[int] = ()) -> None:
        """Show a table, rows to be warned of in another colour; only what differs from what is shown is touched."""
        columns = tuple(c.heading for c in table.columns)
        rows = table.rows if table.total is None else (*table.rows, table.total)
        texts = [tuple(c.text(v) for c, v in zip(table.columns, row, strict=True)) for row in rows]
        self._count = len(table.rows)
        if columns != self._columns:
            self._set_columns(columns, [c.is_number for c in table.columns])
            self._rows = []
            self.tree.yview_moveto(0.0)
            self.tree.xview_moveto(0.0)
        if texts != self._rows:
            self._widen(texts)
        self._set_rows(texts)
        for i in range(self._count):
            self.tree.item(str(i), tags=("warned",) if i in warned else ())

    def clear(self) -> None:
        """Take all rows away."""
        self._set_rows([])
        self._count, self._marked = 0, ()

    def refit(self) -> None:
        """Forget the widths of columns: the next table shown is fitted anew, in the look that the window has now."""
        self._columns = ()

    def _set_columns(self, columns: tuple[str, ...], is_number: list[bool]) -> None:
        self.tree.delete(*self.tree.get_children())
        self.tree.tag_configure("warned", foreground=colour("warn"))
        self.tree.configure(columns=columns)
        for name, number in zip(columns, is_number, strict=True):
            anchor: Literal["e", "w"] = "e" if number else "w"
            self.tree.heading(name, text=name, anchor=anchor)
            self.tree.column(name, anchor=anchor, width=0, minwidth=0, stretch=not number)
        self._columns, self._marked = columns, ()
        self._widths = [0] * len(columns)
        self._is_number = is_number
        self._widen([columns])

    def _widen(self, rows: Sequence[tuple[str, ...]]) -> None:
        measure = tkfont.nametofont("TkDefaultFont").measure
        for i, name in enumerate(self._columns):
            widest = max((measure(row[i]) + 24 for row in (*rows[:MEASURED_ROWS], *rows[-1:])), default=0)
            if widest > self._widths[i]:
                self._widths[i] = widest
                narrowest = min(widest, 90 if self._is_number[i] else 300 if i else WIDEST)
                self.tree.column(name, width=min(widest, WIDEST), minwidth=narrowest)

    def _set_rows(self, texts: list[tuple[str, ...]]) -> None:
        for i, row in enumerate(texts):
            if i >= len(self._rows):
                self.tree.insert("", i, iid=str(i), values=row)
            elif row != self._rows[i]:
                self.tree.item(str(i), values=row)
        for i in range(len(texts), len(self._rows)):
            self.tree.delete(str(i))
        self._rows = list(texts)

    def mark(self, *rows: int | None) -> None:
        """Mark rows without calling back; ``None`` marks none."""
        wanted = tuple(str(row) for row in rows if row is not None and self.tree.exists(str(row)))
        self._marked = wanted
        if self.tree.selection() != wanted:
            self.tree.selection_set(wanted)
        if wanted:
            self.tree.see(wanted[0])

    def _on_select(self, _event: object) -> None:
        chosen = self.tree.selection()
        if chosen and chosen != self._marked and int(chosen[0]) < self._count:
            new = [row for row in chosen if row not in self._marked] or list(chosen)
            self._marked = chosen
            self._chosen(int(new[-1]))

    def rows(self) -> list[int]:
        """Return the rows that are chosen, from the top."""
        return sorted(row for row in map(int, self.tree.selection()) if row < self._count)


def style_tables(root: tkinter.Misc) -> None:
    """Set colours and row height of all tables, and the colours of the system's own dialogs for files."""
    ground, text, chosen, head, line = (colour(name) for name in ("card", "text", "chosen", "ground", "line"))
    style, size = ttk.Style(root), text_size()
    if style.theme_use() != "clam":
        style.theme_use("clam")
    face = tkfont.nametofont("TkDefaultFont")
    face.configure(family=family(), size=-round(13 * size))
    tkfont.nametofont("TkHeadingFont").configure(family=family(), size=-round(12 * size), weight="bold")
    edges = {"bordercolor": line, "lightcolor": line, "darkcolor": line}
    of_rows: dict[str, Any] = {"fieldbackground": ground, "borderwidth": 0, "rowheight": round(22 * size)}
    style.configure("Figures.Treeview", background=ground, foreground=text, **edges, **of_rows)
    style.map("Figures.Treeview", background=[("selected", chosen)], foreground=[("selected", text)])
    style.configure("Figures.Treeview.Heading", background=head, foreground=text, bordercolor=line, relief="flat")
    style.map("Figures.Treeview.Heading", background=[("active", head)])
    style.configure("TFrame", background=ground, **edges)
    for part in ("TLabel", "TButton", "TMenubutton"):
        style.configure(part, background=ground, foreground=text, arrowcolor=text, bordercolor=line)
        style.configure(part, lightcolor=ground, darkcolor=ground)
        style.map(part, background=[("active", chosen)], foreground=[("disabled", line)])
    style.configure("TEntry", fieldbackground=ground, foreground=text, insertcolor=text, bordercolor=line)
    for bar in ("Vertical.TScrollbar", "Horizontal.TScrollbar"):
        style.configure(bar, background=head, troughcolor=ground, bordercolor=line, arrowcolor=text, relief="flat")
        style.configure(bar, lightcolor=head, darkcolor=head)
        style.map(bar, background=[("disabled", ground), ("active", line)])
