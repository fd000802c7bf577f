"""What a person asks for when they ask for reports."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from takeoff.report.choices import Edition, Paper, PriceBy
from takeoff.report.kinds import KINDS, ReportKind
from takeoff.report.letterhead import PLAIN, Letterhead

if TYPE_CHECKING:
    from takeoff.model.systems import Catalogue


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportOrder:
    """Which reports to write, and with what.

    ``edition`` is the full report with costs or the bid without, which sets out its price as ``price_by`` says.
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
