"""The kinds of report: from this list come the options of the command, the list of the window and what is written.

A new kind is a module that turns a `ReportContent` (and a `Bid`) into files, and an entry here. Nothing that takes long
to load is imported before a report is written.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from takeoff.report.bid import Bid
    from takeoff.report.content import ReportContent

Files = Mapping[str, bytes]
"""Names of files and what is in them."""
Need = Literal["plans", "planning", "drawing"]
"""Marked plans, what is planned besides the estimate, the walls as a drawing: made only for kinds that show them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportKind:
    """One kind of report.

    ``name`` is that of the command's option and of the window's choice. ``file`` and ``bid_file`` are a file that it
    always writes. ``summary`` says what the option does, ``title`` what the window offers.
    """

    name: str
    file: str
    bid_file: str
    summary: str
    title: str
    needs: frozenset[Need]
    full: Callable[[ReportContent], Files]
    bid: Callable[[Bid], Files]


def _pdf(content: ReportContent) -> Files:
    from takeoff.report.pdf import report_pdf

    return {"report.pdf": report_pdf(content)}


def _bid_pdf(bid: Bid) -> Files:
    from takeoff.report.bid_pdf import bid_pdf

    return {"bid.pdf": bid_pdf(bid)}


def _html(content: ReportContent) -> Files:
    from takeoff.report.html import report_html

    return {"report.html": report_html(content)}


def _bid_html(bid: Bid) -> Files:
    from takeoff.report.bid_html import bid_html

    return {"bid.html": bid_html(bid)}


def _xlsx(content: ReportContent) -> Files:
    from takeoff.report.workbook import report_workbook

    return {"report.xlsx": report_workbook(content)}


def _bid_xlsx(bid: Bid) -> Files:
    from takeoff.report.bid_workbook import bid_workbook

    return {"bid.xlsx": bid_workbook(bid)}


def _csv(content: ReportContent) -> Files:
    from takeoff.report.csv import csv_files

    return csv_files(content.tables())


def _bid_csv(bid: Bid) -> Files:
    from takeoff.report.csv import csv_files

    return csv_files(bid.tables(), before="bid-")


def _dxf(shown: ReportContent | Bid) -> Files:
    return {"runs.dxf": shown.drawing}


KINDS: tuple[ReportKind, ...] = (
    ReportKind(
        name="pdf",
        file="report.pdf",
        bid_file="bid.pdf",
        summary="Write the marked plans and tables as PDF.",
        title="PDF report with marked plans and elevations",
        needs=frozenset({"plans", "planning"}),
        full=_pdf,
        bid=_bid_pdf,
    ),
    ReportKind(
        name="html",
        file="report.html",
        bid_file="bid.html",
        summary="Write one HTML file that needs no network.",
        title="One-file web page with the plan, elevations and tables",
        needs=frozenset({"plans", "planning"}),
        full=_html,
        bid=_bid_html,
    ),
    ReportKind(
        name="xlsx",
        file="report.xlsx",
        bid_file="bid.xlsx",
        summary="Write a workbook.",
        title="Workbook",
        needs=frozenset({"planning"}),
        full=_xlsx,
        bid=_bid_xlsx,
    ),
    ReportKind(
        name="csv",
        file="price.csv",
        bid_file="bid-price.csv",
        summary="Write one CSV file for each table.",
        title="Tables as CSV",
        needs=frozenset(),
        full=_csv,
        bid=_bid_csv,
    ),
    ReportKind(
        name="dxf",
        file="runs.dxf",
        bid_file="runs.dxf",
        summary="Write the runs as a DXF drawing.",
        title="Drawing of the runs as DXF",
        needs=frozenset({"drawing"}),
        full=_dxf,
        bid=_dxf,
    ),
)


def kinds_named(*names: str) -> tuple[ReportKind, ...]:
    """Give the kinds of these names, in the order of `KINDS`.

    Raises
    ------
    KeyError
        When there is none of a name.
    """
    by_name = {kind.name: kind for kind in KINDS}
    wanted = {by_name[name].name for name in names}
    return tuple(kind for kind in KINDS if kind.name in wanted)
