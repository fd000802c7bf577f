"""Alternates: the job priced with other systems on its coated walls, beside the job as it is."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from concurrent.futures import Future
from tkinter import ttk

from takeoff import actions
from takeoff.estimate.alternates import Comparison
from takeoff.gui.awaited import Awaited, fault_words
from takeoff.gui.fields import button
from takeoff.gui.planned import alternates_of
from takeoff.gui.reading import ReadingProcess
from takeoff.gui.session import Session
from takeoff.gui.tables import TableView
from takeoff.gui.theme import THEME
from takeoff.gui.toolkit import ctk
from takeoff.report.planning_tables import alternates_table
from takeoff.report.tables import Column, Table
from takeoff.system.bases import coats_walls

ASK = "Press systems at the left, then Compare."
NONE_YET = Table(id="none", title="", columns=(Column(title="Line", kind="text"),), rows=())


class AlternatesPanel(ctk.CTkFrame):
    """Systems to choose at the left, and a line for each figure that differs.

    Parameters
    ----------
    say
        Called with what is to be read beside the lines.
    """

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None]) -> None:
        super().__init__(parent, fg_color=THEME.card, corner_radius=0)
        self._say = say
        self._session: Session | None = None
        self._process: ReadingProcess | None = None
        self._asked = Awaited[Comparison](self, self._compared)
        self._for: object = None
        self.result: Comparison | None = None
        self.grid_columnconfigure(1, weight=1)
        self.grid_rowconfigure(1, weight=1)
        head = ctk.CTkFrame(self, fg_color="transparent")
        head.grid(row=0, column=0, columnspan=2, sticky="ew")
        self.compare = button(head, "Compare", self.ask, hint="Price each chosen system on all coated walls.")
        self.compare.pack(side="left", padx=(8, 4), pady=2)
        self.state = ctk.CTkLabel(head, text="", anchor="w", text_color=THEME.text)
        self.state.pack(side="left", padx=10)
        self.systems = ttk.Treeview(self, show="tree", selectmode="none", style="Figures.Treeview")
        self.systems.column("#0", width=270, stretch=False)
        self.systems.grid(row=1, column=0, sticky="ns")
        self.systems.bind("<Button-1>", self._pressed)
        self.systems.bind("<space>", lambda _e: self._toggle(self.systems.focus()))
        self.table = TableView(self, lambda _row: None)
        self.table.grid(row=1, column=1, sticky="nsew")

    def show(self, session: Session, process: ReadingProcess) -> None:
        """Offer the systems of a job; what was compared before an edit is shown no more."""
        self._session, self._process = session, process
        if session.job is not self._for:
            is_old = self.result is not None or self._asked.is_waiting
            self._asked.stop()
            self._for, self.result = session.job, None
            self._offer()
            self.state.configure(
                text="The job has changed since: press Compare." if is_old else ASK, text_color=THEME.quiet
            )
            self._fill()
        self._tell()

    def _offer(self) -> None:
        assert self._session is not None
        chosen = set(self.systems.selection())
        self.systems.delete(*self.systems.get_children())
        for system in actions.catalogue_of(self._session.job).systems:
            if coats_walls(system):
                self.systems.insert("", "end", iid=system.id, text=system.name)
        self.systems.selection_set([id for id in self.systems.get_children() if id in chosen])

    def _pressed(self, event: tkinter.Event[ttk.Treeview]) -> None:
        self._toggle(self.systems.identify_row(event.y))

    def _toggle(self, id: str) -> None:
        if id:
            self.systems.selection_toggle(id)
            self.systems.focus(id)

    def ask(self) -> None:
        """Have the chosen systems priced in the background."""
        if self._session is None or self._process is None:
            return
        chosen = self.systems.selection()
        if not chosen:
            self.state.configure(text=f"No system is chosen. {ASK}", text_color=THEME.refuse)
            return
        self._asked.wait(self._process.submit(alternates_of, self._session.path, tuple(chosen)))
        self.state.configure(text="pricing …", text_color=THEME.quiet)

    def _compared(self, made: Future[Comparison]) -> None:
        error = made.exception()
        self.result = None if error is not None else made.result()
        if error is not None:
            self.state.configure(text=fault_words(error, "it could not be compared"), text_color=THEME.refuse)
        else:
            self.state.configure(text=self._summary(), text_color=THEME.text)
        self._fill()
        self._tell()

    def _summary(self) -> str:
        assert self._session is not None
        assert self.result is not None
        prices = self.result.row("price", "price").values
        show = self._session.display
        return ";  ".join(
            f"{name}: {show.money(price or 0.0)}" for name, price in zip(self.result.names, prices, strict=True)
        )

    def _fill(self) -> None:
        self.table.refit()
        if self.result is None or self._session is None:
            self.table.show(NONE_YET)
        else:
            self.table.show(alternates_table(self.result, self._session.display, only_differences=True))

    def _tell(self) -> None:
        if self._session is not None and self.winfo_manager():
            notes = self.result.notes if self.result is not None else (ASK,)
            self._say("\n\n".join(notes) or "Nothing but the figures differs.")

    def refit(self) -> None:
        """Fit the table anew after the size of the text has changed."""
        self._fill()

    def stop(self) -> None:
        """Forget what is being priced."""
        self._asked.stop()
        self.result = self._for = self._session = None
