"""Neutral tables: what the command line, the PDF, the workbook and the CSV all show."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from takeoff.model.costs import Estimate, MaterialLine
from takeoff.model.figures import MeasuredItem, Measurement
from takeoff.model.systems import Catalogue
from takeoff.units import Display, Figure, figure_value, format_money
from takeoff.units.money import places_of, rounded

Cell = str | float | int


Kind = Literal["text", "number", "money"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column: title, unit (empty for none), kind, and decimals that are printed."""

    title: str
    unit: str = ""
    kind: Kind = "number"
    decimals: int = 1

    @property
    def heading(self) -> str:
        """Title with its unit."""
        return f"{self.title} ({self.unit})" if self.unit else self.title

    @property
    def is_number(self) -> bool:
        """True for numbers and money."""
        return self.kind != "text"

    def text(self, value: Cell) -> str:
        """Show one value."""
        return value if isinstance(value, str) else f"{value:,.{self.decimals}f}"


def texts(*titles: str, unit: str = "") -> tuple[Column, ...]:
    """Make columns of texts."""
    return tuple(Column(title=title, unit=unit, kind="text") for title in titles)


def numbers(*titles: str, unit: str = "", decimals: int = 1) -> tuple[Column, ...]:
    """Make columns of numbers of one unit."""
    return tuple(Column(title=title, unit=unit, decimals=decimals) for title in titles)


def amounts(*titles: str, unit: str = "") -> tuple[Column, ...]:
    """Make columns of money; ``unit`` begins with the currency, without which two decimals are printed."""
    places = places_of(unit[:3])
    return tuple(Column(title=title, unit=unit, kind="money", decimals=places) for title in titles)


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows of cells under columns, with an optional line of totals and a note."""

    id: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    total: tuple[Cell, ...] | None = None
    note: str = ""


def quantity_table(result: Measurement, display: Display) -> Table:
    """Areas, lengths and counts of a measurement."""
    area, length = display.area_unit, display.length_unit
    by = "wall" if result.by == "run" else result.by
    columns = (
        *texts(by.capitalize()),
        *numbers("Gross", "Openings", "Net", "± (k=2)", "Returns", "For payment", unit=area),
        *numbers("Base", "Terminations", "Inside corners", "Outside corners", "Cove", unit=length),
        *numbers("Inside corners", "Outside corners", unit="no.", decimals=0),
    )

    def row(item: MeasuredItem) -> tuple[Cell, ...]:
        q = item.quantities
        areas = (q.gross_area, q.deducted_area, q.net_area, item.u.net_area, q.return_area, q.measured_area)
        corners = (q.inside_corner_length, q.outside_corner_length)
        lengths = (q.base_length, q.termination_length, *corners, q.cove_length)
        shown = (*map(display.area_number, areas), *map(display.length_number, lengths))
        return (item.label, *shown, q.inside_corners, q.outside_corners)

    return Table(
        id=f"quantities-by-{result.by}",
        title=f"Quantities by {by}",
        columns=columns,
        rows=(*(row(i) for i in result.items), *((words, *[""] * (len(columns) - 1)) for words in result.left_out)),
        total=row(result.total),
        note=(
            f'Net is exact and is for ordering; "For payment" follows the measuring rule {result.rule}. ± is the '
            "expanded uncertainty of the net area (k = 2, about 95 %); it does not add up line by line."
        ),
    )


def shown_amount(value: float, unit: str, display: Display) -> tuple[float, str]:
    """Turn litres, kilograms, m² or m into the units that are shown; other units stay."""
    figures: dict[str, Figure] = {"L": "volume", "kg": "mass", "m2": "area", "m": "length"}
    return figure_value(figures[unit], value, display.system) if unit in figures else (value, unit)


def shown_basis(basis: str, value: float, display: Display) -> tuple[float, str]:
    """Turn what a step is counted by into the units that are shown."""
    kind = "m2" if basis.endswith("area") else "m" if basis.endswith("length") else "each"
    return shown_amount(value, kind, display)


def material_table(result: Estimate, display: Display) -> Table:
    """What to buy: need, whole packs, left over, cost."""
    columns = (
        *texts("Product"),
        *numbers("Need", decimals=2),
        *texts("Buy"),
        *numbers("Bought", "Left over", decimals=2),
        *texts("Unit"),
        *numbers("Colour packs", decimals=0),
        *amounts("Cost", unit=result.currency),
    )
    rows: list[tuple[Cell, ...]] = []
    for m in result.materials:
        packs, (_, unit) = " + ".join(f"{p.count} × {p.pack}" for p in m.packs), shown_amount(0.0, m.unit, display)
        need, bought, left = (shown_amount(x, m.unit, display)[0] for x in (m.needed, m.bought, m.left_over))
        rows.append((m.name, need, packs, bought, left, unit, m.colour_packs, m.cost))
    total = ("Total", *[""] * 6, sum(m.cost for m in result.materials))
    return Table(id="materials", title="Materials, in whole packs", columns=columns, rows=tuple(rows), total=total)


def labour_table(result: Estimate, display: Display) -> Table:
    """Hours and cost of each step in each room; the basis is shown in the job's units."""
    columns = (
        *texts("Room", "Step"),
        *numbers("Amount"),
        *texts("Unit"),
        *numbers("Hours", unit="h", decimals=2),
        *amounts("Cost", unit=result.currency),
    )
    labels = {r.id: r.label for r in result.rooms}
    rows: list[tuple[Cell, ...]] = []
    for line in result.labour:
        amount, unit = shown_basis(line.basis, line.basis_value, display)
        rows.append((labels.get(line.room, line.room), line.name, amount, unit, line.hours, line.cost))
    total = ("Total", "", "", "", sum(x.hours for x in result.labour), sum(x.cost for x in result.labour))
    hours, days = f"{result.hours:,.1f} man-hours in all", f"{result.crew_days:,.1f} days of the whole crew."
    note = f"With set-up and clean-up {hours}: {days}"
    return Table(id="labour", title="Labour", columns=columns, rows=tuple(rows), total=total, note=note)


def price_table(result: Estimate, display: Display) -> Table:
    """The way from direct cost to the price."""
    per_area, unit = display.area_number(1.0), display.area_unit
    note = ""
    if result.net_area > 0:
        rate = f"{format_money(result.price_per_area / per_area, result.currency)} per {unit}"
        note = f"{rate} on {display.area(result.net_area)} under systems that coat walls{_left_out(result, display)}."
        if result.pays_by_rule:
            paid = f"{format_money(result.price_per_paid_area / per_area, result.currency)} per {unit}"
            note += f" For payment: {paid} on {display.area(result.paid_area)} by the job's measuring rule."
    if result.retention:
        note += f" Of the price {display.money(result.retention)} is retention: paid late, and not taken off."
    columns = (*texts("Line"), *amounts("Amount", unit=result.currency))
    rows = tuple((p.label, p.amount) for p in result.price)
    return Table(id="price", title="Price", columns=columns, rows=rows, note=note.strip())


def _left_out(result: Estimate, display: Display) -> str:
    """Say what of the measured net area the price per area leaves out."""
    without = sum(a.net for a in result.areas if not a.is_coated)
    return f"; {display.area(without)} measured where a system has no wall coat are left out" if without else ""


def share_table(result: Estimate, display: Display) -> Table:
    """The price shared among rooms by their own direct cost."""
    unpriced = [a for a in result.areas if not a.is_coated and a.net > 0.0]
    note = ""
    if unpriced:
        rooms = ", ".join(f"{a.room_label} ({display.area(a.net)} net)" for a in unpriced)
        note = f"Without a wall coat, so priced by the length of cove and not by area: {rooms}."
    shares = [(r.material, r.labour, r.price) for r in result.rooms]
    paid = amounts("Material", "Labour", "Price", unit=result.currency)
    columns = (*texts("Room"), *numbers("Net coated", unit=display.area_unit), *paid)
    rows = tuple((r.label, display.area_number(r.area), *own) for r, own in zip(result.rooms, shares, strict=True))
    sums = (sum(column) for column in zip(*shares, strict=True))
    total = ("Total", display.area_number(result.net_area), *sums) if shares else None
    return Table(id="price-by-room", title="Price by room", columns=columns, rows=rows, total=total, note=note)


def arithmetic_table(result: Estimate) -> Table:
    """Every line of an estimate opened to its arithmetic."""
    labels = {r.id: r.label for r in result.rooms}
    systems = {s.id: s.label for s in result.systems}
    rows: list[tuple[Cell, ...]] = []

    def put(kind: str, name: str, lines: Sequence[str]) -> None:
        rows.extend((kind, name, line) for line in lines)

    for area in result.areas:
        put("Coated area", f"{area.room_label}: {systems.get(area.system, area.system)}", area.arithmetic)
    for m in result.materials:
        for need in m.needs:
            put("Need", f"{labels.get(need.room, need.room)}: {m.name}", need.arithmetic)
        put("Buy", m.name, m.arithmetic)
    for line in result.labour:
        put("Labour", f"{labels.get(line.room, line.room)}: {line.name}", line.arithmetic)
    for p in result.price:
        put("Price", p.label, p.arithmetic)
    columns = texts("Kind", "Line", "Arithmetic")
    return Table(id="arithmetic", title="Arithmetic", columns=columns, rows=tuple(rows))


COST_SUMS = ("material", "direct", "net_price", "price")
"""Lines of the price that sum up lines above them."""


def cost_lines(
    estimate: Estimate, catalogue: Catalogue, display: Display, *, left_out: Sequence[str] = (), points: int = 0
) -> Table:
    """One row for each pack that is bought and for each other line of the price; the amounts add up to the price.

    Lines of no amount say which walls are ``left_out`` of it, and how many open ``points`` it has.
    """
    columns = (
        *texts("Kind", "Product code", "What", "Pack"),
        *numbers("Pack size", decimals=3),
        *texts("Unit"),
        *numbers("Count", decimals=0),
        *amounts("Unit price", "Amount", unit=estimate.currency),
    )
    rows: list[tuple[Cell, ...]] = []
    for line in estimate.materials:
        rows += _packs(line, catalogue, display)
    for price in estimate.price:
        if price.id not in COST_SUMS and price.amount:
            rows.append(("Price line", "", price.label, "", "", "", 1, price.amount, price.amount))
    unpriced = [*left_out, f"{points} open point{'s' * (points != 1)}"] if points else [*left_out]
    rows += [("Not in the price", "", words, *[""] * 5, 0.0) for words in unpriced]
    total: tuple[Cell, ...] = ("Total", "", "Price", *[""] * 5, estimate.line("price").amount)
    return Table(id="cost-lines", title="Cost lines", columns=columns, rows=tuple(rows), total=total)


def _packs(line: MaterialLine, catalogue: Catalogue, display: Display) -> list[tuple[Cell, ...]]:
    """Give a row for each pack of a product, and for its colour packs; they add up to its cost."""
    product = catalogue.product(line.product)
    bought: list[tuple[str, Cell, str, int, float]] = []
    for pack in line.packs:
        size, unit = shown_amount(pack.size, line.unit, display)
        bought.append((pack.pack, size, unit, pack.count, pack.price))
    if line.colour_packs:
        bought.append(("Colour pack", 1, "each", line.colour_packs, product.colour_pack or 0.0))
    return [
        ("Material", product.code, line.name, *words, rounded(words[3] * words[4], catalogue.currency))
        for words in bought
    ]


def rows_table(titles: Sequence[str], rows: Iterable[Sequence[str]], *, title: str = "") -> Table:
    """Make a table of texts alone."""
    return Table(id="texts", title=title, columns=texts(*titles), rows=tuple(tuple(row) for row in rows))


def text_table(id: str, title: str, lines: Sequence[str]) -> Table:
    """Set texts out one below another."""
    return Table(id=id, title=title, columns=texts(title), rows=tuple((line,) for line in lines))
