"""The lines of a price to buy and to book by: every pack, then every other line, which together make the price."""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.model.costs import Estimate, MaterialLine
from takeoff.model.systems import Catalogue
from takeoff.report.tables import Cell, Table, amounts, numbers, shown_amount, texts
from takeoff.units import Display

SUMS = ("material", "direct", "net_price", "price")
"""Lines of the price that sum up lines above them."""


def cost_lines(
    estimate: Estimate, catalogue: Catalogue, display: Display, *, left_out: Sequence[str] = (), points: int = 0
) -> Table:
    """One row for each pack that is bought and for each other line of the price; the amounts add up to the price.

    Lines of no amount say which walls are ``left_out`` of it, and how many open ``points`` it has.
    """
    money = estimate.currency
    columns = (
        *texts("Kind", "Product code", "What", "Pack"),
        *numbers("Pack size", decimals=3),
        *texts("Unit"),
        *numbers("Count", decimals=0),
        *amounts("Unit price", "Amount", unit=money),
    )
    rows: list[tuple[Cell, ...]] = []
    for line in estimate.materials:
        rows += _packs(line, catalogue, display)
    for price in estimate.price:
        if price.id not in SUMS and price.amount:
            rows.append(("Price line", "", price.label, "", "", "", 1, price.amount, price.amount))
    unpriced = [*left_out, f"{points} open point{'s' * (points != 1)}"] if points else [*left_out]
    rows += [("Not in the price", "", words, *[""] * 5, 0.0) for words in unpriced]
    total = estimate.line("price").amount
    return Table(
        id="cost-lines",
        title="Cost lines",
        columns=columns,
        rows=tuple(rows),
        total=("Total", "", "Price", "", "", "", "", "", total),
    )


def _packs(line: MaterialLine, catalogue: Catalogue, display: Display) -> list[tuple[Cell, ...]]:
    """Give a row for each pack of a product, and for its colour packs; the last takes what rounding leaves."""
    product = catalogue.product(line.product)
    bought: list[tuple[str, Cell, str, int, float]] = []
    for pack in line.packs:
        size, unit = shown_amount(pack.size, line.unit, display)
        bought.append((pack.pack, size, unit, pack.count, pack.price))
    if line.colour_packs:
        bought.append(("Colour pack", 1, "each", line.colour_packs, product.colour_pack or 0.0))
    amounts = [round(count * price, 2) for *_, count, price in bought]
    if amounts:
        amounts[-1] = round(line.cost - sum(amounts[:-1]), 2)
    return [
        ("Material", product.code, line.name, *words, amount) for words, amount in zip(bought, amounts, strict=True)
    ]
