"""What a person asks for when they ask for reports, and the kinds of report that there are.

From the list of kinds come the options of the command, the list of the window and what is written. A new kind is
a module that turns a `ReportContent` (and a `Bid`) into files, and an entry here. Nothing that takes long to load is
imported before a report is written.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, Literal

from takeoff.report.letterhead import PLAIN, Edition, Letterhead, Paper, PriceBy

if TYPE_CHECKING:
    from takeoff.model.systems import Catalogue
    from takeoff.report.bid import Bid
    from takeoff.report.content import ReportContent
    from takeoff.report.foreman import Foreman

Files = Mapping[str, bytes]
"""Names of files and what is in them."""
Need = Literal["plans", "planning", "drawing"]
"""Marked plans, what is planned besides the estimate, the walls as a drawing: made only for kinds that show them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportKind:
    """One kind of report.

    ``name`` is that of the command's option and of the window's choice. ``summary`` says what the option does,
    ``title`` what the window offers. ``files`` are, by edition, a file that it always writes; an edition that is not
    among them has no report of this kind. ``write`` makes the files of an edition.
    """

    name: str
    summary: str
    title: str
    needs: frozenset[Need]
    files: Mapping[Edition, str]
    write: Callable[[Any], Files]


def _pdf(shown: ReportContent | Bid | Foreman) -> Files:
    from takeoff.report.bid import Bid
    from takeoff.report.foreman import Foreman
    from takeoff.report.pdf import bid_pdf, foreman_pdf, report_pdf

    if isinstance(shown, Foreman):
        return {"foreman.pdf": foreman_pdf(shown)}
    return {"bid.pdf": bid_pdf(shown)} if isinstance(shown, Bid) else {"report.pdf": report_pdf(shown)}


def _html(shown: ReportContent | Bid) -> Files:
    from takeoff.report.bid import Bid
    from takeoff.report.html import bid_html, report_html

    return {"bid.html": bid_html(shown)} if isinstance(shown, Bid) else {"report.html": report_html(shown)}


def _xlsx(shown: ReportContent | Bid) -> Files:
    from takeoff.report.bid import Bid
    from takeoff.report.workbook import bid_workbook, report_workbook

    return {"bid.xlsx": bid_workbook(shown)} if isinstance(shown, Bid) else {"report.xlsx": report_workbook(shown)}


def _csv(shown: ReportContent | Bid) -> Files:
    from takeoff.report.bid import Bid
    from takeoff.report.files import csv_files
    from takeoff.report.tables import cost_lines, text_table

    if isinstance(shown, Bid):
        return csv_files(
            (*shown.tables(), text_table("qualifications", "Qualification", shown.qualifications)), before="bid-"
        )
    told = (text_table("open-points", "Open point", shown.open_lines),) if shown.open_lines else ()
    left_out, points = shown.by_room.left_out, len(shown.points.open)
    return csv_files(
        (
            *shown.tables(),
            cost_lines(shown.estimate, shown.catalogue, shown.display, left_out=left_out, points=points),
            *told,
        )
    )


def _dxf(shown: ReportContent | Bid) -> Files:
    return {"runs.dxf": shown.drawing}


KINDS: tuple[ReportKind, ...] = (
    ReportKind(
        name="pdf",
        summary="Write the marked plans and tables as PDF.",
        title="PDF report with marked plans and elevations",
        needs=frozenset({"plans", "planning"}),
        files={"full": "report.pdf", "bid": "bid.pdf", "foreman": "foreman.pdf"},
        write=_pdf,
    ),
    ReportKind(
        name="html",
        summary="Write one HTML file that needs no network.",
        title="One-file web page with the plan, elevations and tables",
        needs=frozenset({"plans", "planning"}),
        files={"full": "report.html", "bid": "bid.html"},
        write=_html,
    ),
    ReportKind(
        name="xlsx",
        summary="Write a workbook.",
        title="Workbook",
        needs=frozenset({"planning"}),
        files={"full": "report.xlsx", "bid": "bid.xlsx"},
        write=_xlsx,
    ),
    ReportKind(
        name="csv",
        summary="Write one CSV file for each table.",
        title="Tables as CSV",
        needs=frozenset(),
        files={"full": "price.csv", "bid": "bid-price.csv"},
        write=_csv,
    ),
    ReportKind(
        name="dxf",
        summary="Write the walls as a DXF drawing.",
        title="Drawing of the walls as DXF",
        needs=frozenset({"drawing"}),
        files={"full": "runs.dxf", "bid": "runs.dxf"},
        write=_dxf,
    ),
)


def kinds_named(*names: str) -> tuple[ReportKind, ...]:
    """Give the kinds of these names, in the order of `KINDS`; a `KeyError` where there is none of a name."""
    by_name = {kind.name: kind for kind in KINDS}
    wanted = {by_name[name].name for name in names}
    return tuple(kind for kind in KINDS if kind.name in wanted)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportOrder:
    """Which reports to write, and with what.

    ``edition`` is the full report with costs, the bid without, which sets out its price as ``price_by`` says, or the
    foreman's copy without money.
    ``catalogue`` is what to price with, the job's own where ``None``. ``paper`` goes by the job's units where ``None``.
    ``start`` and ``crews`` are for the plan of crew days; without a first day there is none, and a bid counts days.
    ``against`` are ids of systems to price instead, as alternates. ``allows_open`` has a bid written although open
    points move its price by more than a little; it says so then.
    """

    kinds: Sequence[ReportKind] = KINDS
    edition: Edition = "full"
    price_by: PriceBy = "lump-sum"
    letterhead: Letterhead = PLAIN
    catalogue: Catalogue | None = None
    paper: Paper | None = None
    start: date | None = None
    crews: int = 1
    against: Sequence[str] = ()
    allows_open: bool = False

    def needs(self, what: str) -> bool:
        """Tell whether one of the kinds shows something that takes long to make."""
        return any(what in kind.needs for kind in self.kinds)


ALL_KINDS = ReportOrder()
"""The full report in every kind, for a job's own prices and paper."""
