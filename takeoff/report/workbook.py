"""The workbook: typed cells, units in headers, live totals and prices; no text ever becomes a formula."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from takeoff.report.bid import Bid
from takeoff.report.book import (
    LINE,
    LOGO_LINES,
    Book,
    CellValue,
    Formula,
    form_with,
    lines_of,
    live_sum,
    new_book,
    put_logo,
    sum_where,
)
from takeoff.report.content import ReportContent
from takeoff.report.planning_tables import planning_tables
from takeoff.report.tables import Cell, Table, arithmetic_table, quantity_table, texts
from takeoff.report.workbook_price import add_labour, add_materials, add_price, add_rates, add_shares
from takeoff.report.workbook_walls import add_needs, add_walls
from takeoff.units.money import places_of


def report_workbook(content: ReportContent) -> bytes:
    """Make the workbook: summary with charts, rates, quantities, materials, labour, price, arithmetic, planning.

    Rates, pack prices and production rates are inputs: what follows from them recalculates in any spreadsheet program.
    """
    with new_book(content.job, content.display, "Wall coating takeoff and estimate", content.letterhead) as (book, out):
        summary = book.sheet("Summary")
        add_rates(book, content)
        lots = add_walls(book, content)
        for measurement in (content.by_room, content.by_run):
            table = quantity_table(measurement, content.display)
            _quantities(book, table, walls=len(content.elevations) if measurement is content.by_room else 0)
        lots = add_needs(book, content, lots)
        add_materials(book, content, lots)
        add_labour(book, content, lots)
        add_price(book, content)
        add_shares(book, content)
        arithmetic = arithmetic_table(content.estimate)
        book.table(
            arithmetic.title,
            arithmetic.columns,
            arithmetic.rows,
            note="As estimated with the rates above; it does not recalculate.",
        )
        for table in planning_tables(content.planning, content.display, content.estimate.currency, content.walls):
            note = f"{table.note} As planned; it does not recalculate.".strip()
            book.table(table.title, table.columns, table.rows, note=note)
        _summary(book, content, summary)
    return out.getvalue()


def bid_workbook(bid: Bid) -> bytes:
    """Make the workbook of a bid, which sees the bid alone: its tables, each system's build-up, and the terms.

    Totals add up the rows above them; no other cell is a formula, no sheet, row, column or name is hidden.
    """
    with new_book(bid.job, bid.display, "Bid for wall coating", bid.letterhead) as (book, out):
        head = [(name, line) for name, text in bid.head() for line in text.split("\n")]
        book.cover("Bid", [("Job", bid.job), *head, *bid.headline])
        for table in bid.tables():
            total = [_bid_sum(c, value, [row[c] for row in table.rows]) for c, value in enumerate(table.total or ())]
            book.table(table.title, table.columns, table.rows, total=total or None, note=table.note)
        steps = [(table.title, *row) for table in bid.build_up for row in table.rows]
        if steps:
            book.table("Wall systems", (*texts("System"), *bid.build_up[0].columns), steps)
        book.terms(
            (
                ("Payment", bid.payment),
                ("Not included", bid.exclusions),
                ("Qualification", bid.qualifications),
                ("Safety", bid.cautions),
            )
        )
    return out.getvalue()


def _bid_sum(column: int, value: Cell, cells: Sequence[Cell]) -> CellValue:
    """Give a total as a live sum where it is that of its column, so that it stays so when a row is changed."""
    numbers = [cell for cell in cells if not isinstance(cell, str)]
    is_sum = not isinstance(value, str) and bool(numbers) and abs(sum(numbers) - value) < 0.005
    return live_sum(column, len(cells), float(value)) if is_sum else value


def _quantities(book: Book, table: Table, *, walls: int) -> None:
    """Add a table of quantities whose totals are live, but for uncertainties, which do not add up.

    Areas by room follow so many rows of walls; by run (none), and lengths and corners, they are as measured.
    """
    total: list[CellValue] = []
    for c, value in enumerate(table.total or ()):
        is_sum = not isinstance(value, str) and bool(table.rows) and "±" not in table.columns[c].title
        total.append(live_sum(c, len(table.rows), float(value)) if is_sum else value)
    rows: list[Sequence[CellValue]] = [tuple(row) for row in table.rows]
    note = f"{table.note} As measured; it does not recalculate.".strip()
    if walls:
        rows = [
            row if row[1] == "" else (row[0], *_from_walls(r, row[1:4], walls), *row[4:])
            for r, row in enumerate(table.rows, start=2)
        ]
        note = f"{table.note} Gross, openings and net follow the sheet Walls; the rest is as measured.".strip()
    book.table(table.title, table.columns, rows, total=total or None, note=note)


def _from_walls(row: int, areas: Sequence[Cell], walls: int) -> list[CellValue]:
    gross, net = (sum_where("Walls", column, walls, B=f"A{row}") for column in "FI")
    formulas = (gross, f"B{row}-D{row}", net)
    return [Formula(text=text, value=float(area)) for text, area in zip(formulas, areas, strict=True)]


def _summary(book: Book, content: ReportContent, sheet: Any) -> None:
    sheet.set_column(0, 0, 30)
    sheet.set_column(1, 1, 18)
    sheet.set_column(2, 2, 80)
    at = _headline(book, content, sheet, _letterhead(book, content, sheet))
    _charts(book, content, sheet, _terms(book, content, sheet, at) + 2)


def _letterhead(book: Book, content: ReportContent, sheet: Any) -> int:
    """Put the company's lines, logo, job, date and author at the head of a page; gives the row for the figures."""
    head = content.letterhead
    for row, line in enumerate(head.company):
        sheet.write_string(row, 0, line, *((book.bold,) if row == 0 else ()))
    put_logo(sheet, 0, head)
    lines = max(len(head.company), LOGO_LINES if head.logo else 0)
    top = lines + 1 if lines else 0
    sheet.write_string(top, 0, content.job, book.bold)
    sheet.write_string(top + 1, 0, ", prepared by ".join(t for t in (content.date, head.prepared_by) if t))
    return top + 3


def _headline(book: Book, content: ReportContent, sheet: Any, top: int) -> int:
    """Put the figures that follow the other sheets below one another; gives the row after them."""
    d, e, total = content.display, content.estimate, content.by_room.total
    area, money = "#,##0.0", form_with(places_of(e.currency))
    foot = len(content.by_room.items) + len(content.by_room.left_out) + 2
    figures: list[tuple[str, CellValue, str, str]] = [
        ("Net area", Formula(text=f"'Quantities by room'!D{foot}", value=d.area_number(total.quantities.net_area)),
         area, f"{d.area_unit}, ± {d.area(total.u.net_area)} (k = 2)"),
        ("Openings deducted", Formula(
            text=f"'Quantities by room'!C{foot}", value=d.area_number(total.quantities.deducted_area)
        ), area, d.area_unit),
        ("Labour", Formula(text="labour_hours", value=e.hours), area, "h, set-up and clean-up included"),
        ("Crew days", Formula(text="crew_days", value=e.crew_days), area, "days of a full crew"),
        ("Price", Formula(text="price_total", value=e.line("price").amount), money,
         ": ".join(t for t in (e.currency, content.currency_words) if t)),
    ]  # fmt: skip
    if e.net_area > 0:
        per = d.area_number(1.0)
        figures.append(
            ("Price per net area", Formula(text="price_total/priced_area", value=e.price_per_area / per), money,
             f"{e.currency} per {d.area_unit} of {d.area(e.net_area)} under systems that coat walls")
        )  # fmt: skip
    if e.pays_by_rule:
        per, paid = d.area_number(1.0), d.area_number(e.paid_area)
        figures.append(
            ("Price per area for payment", Formula(text=f"price_total/{paid!r}", value=e.price_per_paid_area / per),
             money, f"{e.currency} per {d.area_unit} of {d.area(e.paid_area)} measured by {content.rule}")
        )  # fmt: skip
    for r, (name, value, form, unit) in enumerate(figures, start=top):
        sheet.write_string(r, 0, name, book.bold)
        book.put(sheet, r, 1, value, book.number(form, is_total=name == "Price"), book.wrapped)
        sheet.write_string(r, 2, unit, book.beside)
    return top + len(figures)


def _terms(book: Book, content: ReportContent, sheet: Any, top: int) -> int:
    """Put what the figures rest on and the terms below one another; gives the row after them."""
    at = top + 1
    rows = [("Measuring rule", f"{content.rule} ({content.rule_source})")]
    rows += [("Scale", s) for s in content.scales] + [("Open point", t) for t in content.open_lines]
    rows += [("Not included", t) for t in content.exclusions]
    rows += [("Qualification", t) for t in content.qualifications]
    rows += [("Caution", c) for c in content.estimate.cautions]
    for r, (name, text) in enumerate(rows, start=at):
        sheet.write_string(r, 0, name, book.bold)
        sheet.merge_range(r, 1, r, 2, "", book.wrapped)
        sheet.write_string(r, 1, text, book.wrapped)
        sheet.set_row(r, LINE * lines_of(text, 118))
    sheet.set_h_pagebreaks([at + len(rows) + 1])
    return at + len(rows)


def _charts(book: Book, content: ReportContent, sheet: Any, row: int) -> None:
    e = content.estimate
    for title, name, n in (
        ("From direct cost to the price", "Price", len(e.price)),
        ("Price by room", "Price by room", len(e.rooms)),
    ):
        if not n:
            continue
        column = "B" if name == "Price" else "D"
        chart = book.book.add_chart({"type": "bar"})
        chart.add_series(
            {
                "name": title,
                "categories": f"='{name}'!$A$2:$A${n + 1}",
                "values": f"='{name}'!${column}$2:${column}${n + 1}",
                "fill": {"color": "#0072B2"},
            }
        )
        chart.set_title({"name": f"{title}, {e.currency}", "name_font": {"size": 11}})
        chart.set_y_axis({"reverse": True})
        chart.set_x_axis({"num_format": "#,##0"})
        chart.set_legend({"none": True})
        chart.set_size({"width": 620, "height": 120 + 22 * n})
        sheet.insert_chart(row, 0, chart, {"description": title})
        row += (120 + 22 * n) // 20 + 2
