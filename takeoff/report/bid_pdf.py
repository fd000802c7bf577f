"""The printed bid."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from takeoff.report.bid import Bid
from takeoff.report.files import write_whole
from takeoff.report.printing import Paper, printed_table, put_pages, set_pages

LAYOUT = Path(__file__).with_name("bid.typ")


def write_bid_pdf(
    bid: Bid,
    path: Path,
    *,
    paper: Paper | None = None,
    prepared_by: str = "",
    progress: Callable[[str], None] = lambda text: None,
) -> Path:
    """Write a bid as PDF.

    Parameters
    ----------
    bid
        What it shows.
    path
        The file to write.
    paper
        Letter or A4; by the job's units where ``None``.
    prepared_by
        Who made it, where the letterhead does not say.
    progress
        Is told what is being done.

    Raises
    ------
    ReportError
        If it cannot be set or written.
    """
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        pages = put_pages(bid, bid.letterhead, folder, paper=paper, prepared_by=prepared_by, progress=progress)
        progress("setting the pages")
        made = set_pages(folder, LAYOUT, _data(bid) | pages, has_logo=bool(bid.letterhead.logo))
    return write_whole(path, made)


def _data(bid: Bid) -> dict[str, Any]:
    """Give the layout every text of a bid."""
    return {
        "headline": [list(figure) for figure in bid.headline],
        "scope": printed_table(bid.scope),
        "price": printed_table(bid.price),
        "alternates": None if bid.alternates is None else printed_table(bid.alternates),
        "days": None if bid.days is None else printed_table(bid.days),
        "build_up": [printed_table(table) for table in bid.build_up],
        "exclusions": list(bid.exclusions),
        "qualifications": list(bid.qualifications),
        "cautions": list(bid.cautions),
    }
