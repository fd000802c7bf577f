"""Writing reports: which, where, with what, and how far they are."""

from __future__ import annotations

import webbrowser
from dataclasses import replace
from datetime import date
from pathlib import Path

from takeoff import actions
from takeoff.errors import InputError
from takeoff.exchange.catalogue_file import read_catalogue
from takeoff.gui.dialogs.common import FormDialog
from takeoff.gui.dialogs.report_order import ReportJob, currency_of
from takeoff.gui.entries import read_count, read_day
from takeoff.gui.host import Host
from takeoff.gui.preferences import ReportChoices
from takeoff.gui.widgets.form import Row
from takeoff.gui.widgets.parts import button
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import ctk
from takeoff.gui.wording import words_of
from takeoff.report.kinds import KINDS as REPORT_KINDS
from takeoff.report.kinds import ReportOrder
from takeoff.signing import now

CURRENCY_WORDS = {"none": "", "current": "up to date", "older": "older than the job"}
TOML = (("TOML files", "*.toml"), ("All files", "*"))
ROWS = (
    Row("folder", "Into folder", finds="folder"),
    Row(
        "edition",
        "Edition",
        "Everything for your own desk; the bid for the owner, without any cost; the copy for the site, without money.",
        (("full", "Full, for your own desk"), ("bid", "Bid, to hand over"), ("foreman", "Foreman's copy, PDF")),
    ),
    Row(
        "price_by",
        "Price in a bid",
        "How a bid sets out the price.",
        (("lump-sum", "one lump sum"), ("room", "for each room"), ("system", "for each system")),
    ),
    Row(
        "allows_open",
        "Bid with open points",
        "Write a bid although open points move its price by more than 2 %; it says what is open.",
        is_tick=True,
    ),
    *(Row(kind.name, kind.title, is_tick=True) for kind in REPORT_KINDS),
    Row(
        "letterhead",
        "Letterhead",
        "File with company lines, logo and own terms for the PDF; empty for none.",
        finds="file",
        types=TOML,
    ),
    Row(
        "catalogue",
        "Catalogue",
        "Price with the systems and rates of this file; empty for the job's own.",
        finds="file",
        types=TOML,
    ),
    Row("paper", "Paper", "Paper of the PDF.", (("", "by the job's units"), ("letter", "Letter"), ("a4", "A4"))),
    Row(
        "start",
        "Days from",
        "First day of work, such as 2026-03-09: the PDF and the workbook show the crew days. Empty for none.",
    ),
    Row("crews", "Crews", "Crews for the plan of days."),
    Row("against", "Alternate", "Price this system on all coated walls too.", ()),
    Row("second", "And another", "Price this system on all coated walls too.", ()),
)


class ReportsDialog(FormDialog):
    """Write reports with a progress bar, away from the event loop; it can be stopped. Choices are remembered."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "Reports", ROWS, "Write them", width=500)
        path, kept = self.session.path.resolve(), host.preferences.reports
        for key in ("against", "second"):
            self.form.choices(key, [("", "none"), *self.session.systems()])
        self.form.show(
            folder=str(path.parent / f"{path.stem} reports"),
            letterhead=kept.letterhead,
            catalogue=kept.catalogue,
            start=actions.next_monday(date.today()).isoformat() if kept.has_days else "",
            crews=str(kept.crews),
            against="",
            second="",
            **{kind.name: kind.name not in kept.left_out for kind in REPORT_KINDS},
        )
        for key in ("edition", "price_by", "paper"):
            self.form.choose(key, getattr(kept, key))
        self.currency: dict[str, ctk.CTkLabel] = {}
        for kind in REPORT_KINDS:
            label = ctk.CTkLabel(self.body, text="", text_color=THEME.quiet, height=20)
            label.place(in_=self.form[kind.name], relx=1.0, rely=0.5, x=-4, anchor="e")
            self.currency[kind.name] = label
        self.bar = ctk.CTkProgressBar(self.body, progress_color=THEME.accent)
        self.bar.set(0)
        self.bar.pack(fill="x", pady=8)
        self.open_button = button(self.foot, "Open the folder", self._open_folder, hint="See what was written.")
        self.work: ReportJob | None = None
        self._poll_job: str | None = None
        self.show_currency()

    def changed(self, key: str, text: str) -> None:
        """Say anew what is in the folder."""
        if key in ("folder", "edition"):
            self.show_currency()

    def show_currency(self) -> None:
        """Say of each kind whether it is in the folder, and whether the job was changed since."""
        changed = actions.history(self.session.store)[-1].at
        folder, edition = Path(self.form.text("folder")), self.form.text("edition")
        for kind in REPORT_KINDS:
            found = currency_of(folder, kind, changed, edition)  # type: ignore[arg-type]
            colour = THEME.warn if found == "older" else THEME.good
            self.currency[kind.name].configure(text=CURRENCY_WORDS[found], text_color=colour)

    # -- writing -------------------------------------------------------------------------------------------------

    def order(self) -> ReportOrder:
        """Read the fields, and the files that they name.

        Raises
        ------
        TakeoffError
            When one does not fit.
        """
        text = self.form.text
        order = ReportOrder(
            kinds=tuple(kind for kind in REPORT_KINDS if text(kind.name)),
            catalogue=read_catalogue(self._path("catalogue")) if text("catalogue") else None,
            paper=text("paper") or None,  # type: ignore[arg-type]
            start=read_day(text("start")) if text("start") else None,
            crews=read_count(text("crews")),
            edition=text("edition"),  # type: ignore[arg-type]
            price_by=text("price_by"),  # type: ignore[arg-type]
            against=tuple(dict.fromkeys(id for id in (text("against"), text("second")) if id)),
            allows_open=bool(text("allows_open")),
        )
        if not order.kinds:
            raise InputError("no report is chosen", remedy="Tick at least one.")
        if not text("letterhead"):
            return order
        return replace(order, letterhead=actions.read_letterhead(self._path("letterhead")))

    def _path(self, key: str) -> Path:
        return Path(self.form.text(key)).expanduser()

    def act(self) -> None:
        """Begin writing, and remember what was chosen."""
        if self.work is not None:
            return
        order = self.order()
        self._remember(order)
        self.refuse("")
        self.act_button.configure(state="disabled")
        self.leave_button.configure(text="Stop")
        self.work = ReportJob(self.session.path, self._path("folder"), order, now())
        self.work.start()
        self._poll()

    def _remember(self, order: ReportOrder) -> None:
        text = self.form.text
        choices = ReportChoices(
            left_out=tuple(kind.name for kind in REPORT_KINDS if kind not in order.kinds),
            letterhead=text("letterhead"),
            catalogue=text("catalogue"),
            paper=text("paper"),
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
        self.act_button.configure(state="normal")
        self.leave_button.configure(text="Close")
        self.show_currency()
        if work.error is not None:
            self.refuse(words_of(work.error))
        else:
            self.good(f"Written: {', '.join(p.name for p in work.paths)}")
            self.open_button.pack(side="left")
            self.session.tell(f"Reports written into {self.form.text('folder')}")

    def _open_folder(self) -> None:
        folder = self._path("folder").resolve()
        if not webbrowser.open(folder.as_uri()):
            self.refuse(f"The system shows no folders here. The reports are in {folder}.")

    def close(self) -> None:
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
