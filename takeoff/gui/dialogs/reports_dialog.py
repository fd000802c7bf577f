"""Writing reports: which, where, with what, and how far they are."""

from __future__ import annotations

import webbrowser
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from takeoff import actions
from takeoff.errors import InputError, ReportError
from takeoff.exchange.catalogue_file import read_catalogue
from takeoff.gui.background import fault_words
from takeoff.gui.dialogs.working import Work, WorkDialog
from takeoff.gui.entries import COUNT, DATE, TEXT, TICK, maybe
from takeoff.gui.host import Host
from takeoff.gui.preferences import ReportChoices
from takeoff.gui.widgets import THEME, Row, button, ctk, label
from takeoff.report.kinds import KINDS as REPORT_KINDS
from takeoff.report.kinds import ReportKind, ReportOrder
from takeoff.report.letterhead import Edition
from takeoff.signing import now

MORE_TEXT, LESS_TEXT = "More: letterhead, paper, days, alternates …", "Less"
UP_TO_DATE = "up to date"
TOML = (("TOML files", "*.toml"), ("All files", "*"))
# fmt: off
ROWS = (
    Row("folder", "Into folder", finds="folder"),
    Row("edition", "For",
        "Everything for your own desk; the bid for the owner, without any cost; the copy for the site, without money.",
        (("full", "your own desk: everything"), ("bid", "the owner: a bid, without costs"),
         ("foreman", "the foreman: a PDF without money")), TEXT),
    Row("price_by", "Price in a bid", "How a bid sets out the price.",
        (("lump-sum", "one lump sum"), ("room", "for each room"), ("system", "for each system")), TEXT),
    Row("allows_open", "Bid with open points",
        "Write a bid although open points move its price by more than 2 %; it says what is open.",
        is_tick=True, kind=TICK),
    *(Row(kind.name, kind.title, is_tick=True) for kind in REPORT_KINDS),
    Row("letterhead", "Letterhead", "File with company lines, logo and own terms for the PDF; empty for none.",
        finds="file", types=TOML),
    Row("catalogue", "Catalogue", "Price with the systems and rates of this file; empty for the job's own.",
        finds="file", types=TOML),
    Row("paper", "Paper", "Paper of the PDF.",
        (("", "by the job's units"), ("letter", "Letter"), ("a4", "A4")), maybe(TEXT)),
    Row("start", "Days from",
        "First day of work, such as 2026-03-09: the PDF and the workbook show the crew days. Empty for none.",
        kind=maybe(DATE)),
    Row("crews", "Crews", "Crews for the plan of days.", kind=COUNT),
    Row("against", "Alternate", "Price this system on all coated walls too.", ()),
    Row("second", "And another", "Price this system on all coated walls too.", ()),
)
# fmt: on
OF_BID, MORE = ("price_by", "allows_open"), ("letterhead", "catalogue", "paper", "start", "crews", "against", "second")
"""Fields of a bid alone, and those that are shown when they are asked for."""


class ReportsDialog(WorkDialog):
    """Write reports; choices are remembered."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "Reports", ROWS, "Write them", width=500)
        path, kept = self.session.path.resolve(), host.preferences.reports
        for key in ("against", "second"):
            self.form.choices(key, [("", "none"), *self.session.systems()])
        start = actions.next_monday(date.today()).isoformat() if kept.has_days else ""
        ticked = {kind.name: kind.name not in kept.left_out for kind in REPORT_KINDS}
        self.form.show(folder=str(path.parent / f"{path.stem} reports"), start=start, crews=str(kept.crews), **ticked)
        self.form.show(letterhead=kept.letterhead, catalogue=kept.catalogue, against="", second="")
        for key in ("edition", "price_by", "paper"):
            self.form.choose(key, getattr(kept, key))
        self.currency: dict[str, ctk.CTkLabel] = {}
        for kind in REPORT_KINDS:
            self.currency[kind.name] = label(self.body, colour=THEME.quiet, height=20)
            self.currency[kind.name].place(in_=self.form[kind.name], relx=1.0, rely=0.5, x=-4, anchor="e")
        self._has_more = bool(kept.letterhead or kept.catalogue)  # what acts is seen
        self.more = button(self.body, "", self.show_more)
        self._fit()
        self.open_button = button(self.foot, "Open the folder", self._open_folder, hint="See what was written.")
        self.show_currency()

    def changed(self, key: str, text: str) -> None:
        if key in ("folder", "edition"):
            self.show_currency()
        if key == "edition":
            self._fit()

    def show_more(self) -> None:
        """Show the fields that are rarely needed, or put them away."""
        self._has_more = not self._has_more
        self._fit()

    def _fit(self) -> None:
        """Show the fields that the choices made so far have a use for."""
        is_bid = self.form.text("edition") == "bid"
        for row in ROWS:
            field = self.form[row.key]
            field.pack_forget()
            if (row.key not in OF_BID or is_bid) and (row.key not in MORE or self._has_more):
                field.pack(fill="x", pady=1)
        self.more.pack_forget()
        self.more.configure(text=LESS_TEXT if self._has_more else MORE_TEXT)
        self.more.pack(anchor="w", pady=(6, 0))
        self.after(30, self._place)

    def show_currency(self) -> None:
        """Say of each kind whether it is in the folder, and whether the job was changed since."""
        changed = actions.history(self.session.store)[-1].at
        folder, edition = Path(self.form.text("folder")), self.form.text("edition")
        for kind in REPORT_KINDS:
            found = currency_of(folder, kind, changed, edition)  # type: ignore[arg-type]
            colour = THEME.good if found == UP_TO_DATE else THEME.warn
            self.currency[kind.name].configure(text=found, text_color=colour)

    # -- writing -------------------------------------------------------------------------------------------------

    def order(self) -> ReportOrder:
        """Read the fields, and the files that they name; what does not fit is refused."""
        text = self.form.text
        order = ReportOrder(
            kinds=tuple(kind for kind in REPORT_KINDS if text(kind.name)),
            catalogue=read_catalogue(self._path("catalogue")) if text("catalogue") else None,
            against=tuple(dict.fromkeys(id for id in (text("against"), text("second")) if id)),
            **self.form.read(self.session.display),
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
        order, job, folder, at = self.order(), self.session.path, self._path("folder"), now()
        self._remember(order)
        self.begin(lambda work: write_reports(job, folder, order, at, work))

    def _remember(self, order: ReportOrder) -> None:
        choices = ReportChoices(
            left_out=tuple(kind.name for kind in REPORT_KINDS if kind not in order.kinds),
            crews=order.crews,
            has_days=order.start is not None,
            **{key: self.form.text(key) for key in ("letterhead", "catalogue", "paper", "edition", "price_by")},
        )
        self.host.remember(replace(self.host.preferences, reports=choices))

    def take(self, work: Work[Any]) -> None:
        self.end()
        self.show_currency()
        if work.error is not None:
            self.refuse(fault_words(work.error, "the reports were not written"))
        else:
            self.good(f"Written: {', '.join(path.name for path in work.made or ())}")
            self.open_button.pack(side="left")
            self.session.tell(f"Reports written into {self.form.text('folder')}")

    def _open_folder(self) -> None:
        folder = self._path("folder").resolve()
        if not webbrowser.open(folder.as_uri()):
            self.refuse(f"The system shows no folders here. The reports are in {folder}.")


def write_reports(
    job: Path, folder: Path, order: ReportOrder, at: str, work: Work[tuple[Path, ...]]
) -> tuple[Path, ...]:
    """Write reports from a job file as it is on disk, where every edit is already.

    A `TakeoffError` is raised where one could not be written, or the work was stopped.
    """

    def told(fraction: float) -> None:
        work.fraction = fraction
        if work.is_stopped:
            raise ReportError("stopped", remedy="What was written before is kept.")

    try:
        with actions.open_job(job) as store:
            made = actions.make_reports(store, folder, order, at=at, progress=told)
    except OSError as error:
        raise ReportError(f"{error.filename}: {error.strerror}", remedy="Choose another folder.") from error
    if made.failures:
        raise made.failures[0]
    return made.paths


def currency_of(folder: Path, kind: ReportKind, changed: str, edition: Edition) -> str:
    """Tell whether there is a report of a kind in a folder, and whether it is newer than the job's last change.

    That is given in ISO 8601 to the second; a report of the same second counts as older.
    """
    try:
        written = (folder / kind.files[edition]).stat().st_mtime
    except (KeyError, OSError):
        return ""
    return UP_TO_DATE if int(written) > datetime.fromisoformat(changed).timestamp() else "older than the job"
