"""What can be chosen for a report."""

from __future__ import annotations

from typing import Literal

Edition = Literal["full", "bid"]
"""Everything for the contractor's own desk, or what the owner or general contractor is handed."""
PriceBy = Literal["lump-sum", "room", "system"]
PRICES_BY: tuple[PriceBy, ...] = ("lump-sum", "room", "system")
Paper = Literal["letter", "a4"]
PAPERS: tuple[Paper, ...] = ("letter", "a4")
