"""Writing reports: which, where, with what, and how far they are."""

from __future__ import annotations

import tkinter
import webbrowser
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from tkinter import filedialog

from takeoff import actions
from takeoff.errors import TakeoffError
from takeoff.gui.dialogs.common import Dialog
from takeoff.gui.dialogs.report_order import ReportJob, currency_of
from takeoff.gui.entries import read_count, read_day
from takeoff.gui.host import Host
from takeoff.gui.preferences import ReportChoices
from takeoff.gui.widgets.fields import ChoiceField, TextField, TickField, button
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import ctk
from takeoff.gui.wording import words_of
from takeoff.signing import now

CURRENCY_WORDS = {"none": "", "current": "up to date", "older": "older than the job"}
PAPERS = (("", "by the job's units"), ("letter", "Letter"), ("a4", "A4"))
EDITIONS = (("full", "Full, for your own desk"), ("bid", "Bid, to hand over"))
PRICES_BY = (("lump-sum", "one lump sum"), ("room", "for each room"), ("system", "for each system"))
TOML = [("TOML files", "*.toml"), ("All files", "*")]


class ReportsDialog(Dialog):
    """Write reports with a progress bar, away from the event loop; it can be stopped. Choices are remembered."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "Reports", 500, scrolls=True)
        assert host.session is not None
        self.session = host.session
        chosen, path = host.preferences.reports, self.session.path.resolve()
        self.folder = self._file("Into folder", str(path.parent / f"{path.stem} reports"))
        self._choose_button(self.folder, self._choose_folder)
        self._edition = chosen.edition if chosen.edition in dict(EDITIONS) else "full"
        self._price_by = chosen.price_by if chosen.price_by in dict(PRICES_BY) else "lump-sum"
        self.edition = ChoiceField(
            self.body,
            "Edition",
            EDITIONS,
            self._with_edition,
            hint="Everything for your own desk, or the bid for the owner or general contractor, without any cost.",
        )
        self.price_by = ChoiceField(
            self.body, "Price in a bid", PRICES_BY, self._with_price_by, hint="How a bid sets out the price."
        )
        self._allows_open = False
        self.allows_open = TickField(
            self.body,
            "Bid with open points",
            self._with_open,
            hint="Write a bid although open points move its price by more than 2 %; it says what is open.",
        )
        self.edition.show(self._edition)
        self.price_by.show(self._price_by)
        self.edition.pack(fill="x", pady=2)
        self.price_by.pack(fill="x", pady=2)
        self.allows_open.pack(fill="x", pady=2)
        self.wanted: dict[actions.ReportKind, tkinter.BooleanVar] = {}
        self.currency: dict[actions.ReportKind, ctk.CTkLabel] = {}
        for kind in actions.REPORT_KINDS:
            self._kind_row(kind, is_wanted=kind.name not in chosen.left_out)
        self.letterhead = self._file(
            "Letterhead", chosen.letterhead, "File with company lines, logo and own terms for the PDF; empty for none."
        )
        self._choose_button(self.letterhead, lambda: self._choose_file(self.letterhead, "Letterhead"))
        self.catalogue = self._file(
            "Catalogue", chosen.catalogue, "Price with the systems and rates of this file; empty for the job's own."
        )
        self._choose_button(self.catalogue, lambda: self._choose_file(self.catalogue, "Catalogue"))
        self._paper = chosen.paper if chosen.paper in dict(PAPERS) else ""
        self.paper = ChoiceField(self.body, "Paper", PAPERS, self._with_paper, hint="Paper of the PDF.")
        self.paper.show(self._paper)
        self.paper.pack(fill="x", pady=2)
        self.start = self._file(
            "Days from",
            actions.next_monday(date.today()).isoformat() if chosen.has_days else "",
            "First day of work, such as 2026-03-09: the PDF and the workbook show the crew days. Empty for none.",
        )
        self.crews = self._file("Crews", str(chosen.crews), "Crews for the plan of days.")
        self.bar = ctk.CTkProgressBar(self.body, progress_color=THEME.accent)
        self.bar.set(0)
        self.bar.pack(fill="x", pady=8)
        self.go_button = button(self.foot, "Write them", self.go, is_main=True, hint="Key: Ctrl+Enter")
        self.go_button.pack(side="right")
        self.bind("<Control-Return>", lambda _e: self.go())
        self.open_button = button(self.foot, "Open the folder", self._open_folder, hint="See what was written.")
        self.stop_button = button(self.foot, "Close", self.stop, hint="Stop writing, or close. Key: Escape")
        self.stop_button.pack(side="right", padx=8)
        self.work: ReportJob | None = None
        self._poll_job: str | None = None
        self.show_currency()

    # -- building ------------------------------------------------------------------------------------------------

    def _file(self, label: str, text: str, hint: str = "") -> TextField:
        field = TextField(self.body, label, lambda _t: self.show_currency(), self.refuse, hint=hint)
        field.show(text)
        field.pack(fill="x", pady=2)
        return field

    def _choose_button(self, field: TextField, choose: Callable[[], object]) -> None:
        made = button(field, "…", choose, hint="Choose it.", width=30)
        made.grid(row=0, column=2, padx=(4, 0))

    def _kind_row(self, kind: actions.ReportKind, *, is_wanted: bool) -> None:
        row = ctk.CTkFrame(self.body, fg_color="transparent")
        row.pack(fill="x", pady=1)
        value = tkinter.BooleanVar(self, is_wanted)
        self.wanted[kind] = value
        ctk.CTkCheckBox(
            row,
            text=kind.title,
            variable=value,
            text_color=THEME.text,
            checkbox_width=18,
            checkbox_height=18,
            border_width=2,
            fg_color=THEME.accent,
        ).pack(side="left")
        self.currency[kind] = ctk.CTkLabel(row, text="", text_color=THEME.quiet, height=20)
        self.currency[kind].pack(side="right", padx=4)

    def show_currency(self) -> None:
        """Say of each kind whether it is in the folder, and whether the job was changed since."""
        changed = actions.history(self.session.store)[-1].at
        folder = Path(self.folder.entry.get())
        for kind, label in self.currency.items():
            found = currency_of(folder, kind, changed, self._edition)  # type: ignore[arg-type]
            label.configure(text=CURRENCY_WORDS[found], text_color=THEME.warn if found == "older" else THEME.good)

    def _choose_folder(self) -> None:
        folder = filedialog.askdirectory(parent=self, title="Folder for the reports")
        if folder:
            self.folder.show(folder)
            self.show_currency()

    def _choose_file(self, field: TextField, title: str) -> None:
        path = filedialog.askopenfilename(parent=self, title=title, filetypes=TOML)
        if path:
            field.show(path)

    def _with_edition(self, edition: str) -> None:
        self._edition = edition
        self.show_currency()

    def _with_price_by(self, price_by: str) -> None:
        self._price_by = price_by

    def _with_open(self, is_allowed: bool) -> None:
        self._allows_open = is_allowed

    def _with_paper(self, paper: str) -> None:
        self._paper = paper

    # -- writing -------------------------------------------------------------------------------------------------

    def order(self) -> actions.ReportOrder:
        """Read the fields, and the files that they name.

        Raises
        ------
        TakeoffError
            When one does not fit.
        """
        start = self.start.entry.get().strip()
        letterhead, catalogue = _path(self.letterhead), _path(self.catalogue)
        order = actions.ReportOrder(
            kinds=tuple(kind for kind, wanted in self.wanted.items() if wanted.get()),
            catalogue=None if catalogue is None else actions.read_catalogue(catalogue),
            paper=self._paper or None,  # type: ignore[arg-type]
            start=read_day(start) if start else None,
            crews=read_count(self.crews.entry.get()),
            edition=self._edition,  # type: ignore[arg-type]
            price_by=self._price_by,  # type: ignore[arg-type]
            allows_open=self._allows_open,
        )
        return order if letterhead is None else replace(order, letterhead=actions.read_letterhead(letterhead))

    def go(self) -> None:
        """Begin writing, and remember what was chosen."""
        if self.work is not None:
            return
        try:
            order = self.order()
        except TakeoffError as error:
            self.refuse(words_of(error))
            return
        if not order.kinds:
            self.refuse("Choose at least one report.")
            return
        self._remember(order)
        self.refuse("")
        self.go_button.configure(state="disabled")
        self.stop_button.configure(text="Stop")
        self.work = ReportJob(self.session.path, Path(self.folder.entry.get()), order, now())
        self.work.start()
        self._poll()

    def _remember(self, order: actions.ReportOrder) -> None:
        choices = ReportChoices(
            left_out=tuple(kind.name for kind in actions.REPORT_KINDS if kind not in order.kinds),
            letterhead=str(_path(self.letterhead) or ""),
            catalogue=str(_path(self.catalogue) or ""),
            paper=self._paper,
            crews=order.crews,
            has_days=order.start is not None,
            edition=order.edition,
            price_by=order.price_by,
        )
        self.host.remember(replace(self.host.preferences, reports=choices))

    def _poll(self) -> None:
        work = self.work
        if work is None:
            return
        self.bar.set(work.fraction)
        if not work.is_done:
            self._poll_job = self.after(60, self._poll)
            return
        self._poll_job = None
        self.work = None
        self.go_button.configure(state="normal")
        self.stop_button.configure(text="Close")
        self.show_currency()
        if work.error is not None:
            self.refuse(words_of(work.error))
        else:
            names = ", ".join(p.name for p in work.paths)
            self.said.configure(text=f"Written: {names}", text_color=THEME.good)
            self.open_button.pack(side="left")
            self.session.tell(f"Reports written into {self.folder.entry.get()}")

    def _open_folder(self) -> None:
        """Have the system show the folder of the reports."""
        folder = Path(self.folder.entry.get()).expanduser().resolve()
        if not webbrowser.open(folder.as_uri()):
            self.refuse(f"The system shows no folders here. The reports are in {folder}.")

    def stop(self) -> None:
        """Stop writing, or close."""
        if self.work is None:
            self.destroy()
        else:
            self.work.stop()

    def destroy(self) -> None:
        """Close, and stop what is being written."""
        if self._poll_job is not None:
            self.after_cancel(self._poll_job)
            self._poll_job = None
        if self.work is not None:
            self.work.stop()
            self.work.join()
            self.work = None
        super().destroy()


def _path(field: TextField) -> Path | None:
    """Return the file that a field names, if it names one."""
    text = field.entry.get().strip()
    return Path(text).expanduser() if text else None
