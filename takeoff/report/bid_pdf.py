"""The printed bid."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from takeoff.report.bid import Bid
from takeoff.report.printing import printed_table, put_pages, set_pages

LAYOUT = Path(__file__).with_name("bid.typ")


def bid_pdf(bid: Bid) -> bytes:
    """Set a bid as PDF.

    Raises
    ------
    ReportError
        If it cannot be set.
    """
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        pages = put_pages(bid, folder)
        return set_pages(folder, LAYOUT, _data(bid) | pages, has_logo=bool(bid.letterhead.logo))


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
