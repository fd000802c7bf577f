"""The workbook: typed cells, units in headers, live totals and prices; no text ever becomes a formula."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Generic, TypeVar

from takeoff.report.content import ReportContent, Shown
from takeoff.report.files import write_whole
from takeoff.report.letterhead import Letterhead, logo_png
from takeoff.report.planning_tables import Planning, cuts_of, planning_tables
from takeoff.report.tables import Cell, Column, Table, arithmetic_table, quantity_table
from takeoff.report.terms import usual_exclusions, usual_qualifications


@dataclass(frozen=True, slots=True, kw_only=True)
class Formula:
    """A formula and the value that it has as written."""

    text: str
    value: float


CellValue = Cell | Formula
Content = TypeVar("Content", bound=Shown)
LINE = 15.0
"""Points that a line of a row is high."""
LOGO_LINES = 4
"""Rows that a logo is high."""
WIDEST = 90.0
"""Characters that a column of texts is wide at the most; longer ones wrap."""


class Book(Generic[Content]):
    """A workbook in the making, with its formats."""

    def __init__(self, book: Any, content: Content) -> None:
        self.book = book
        self.content = content
        self.bold = book.add_format({"bold": True, "valign": "top"})
        self.wrapped = book.add_format({"text_wrap": True, "valign": "top"})
        self.beside = book.add_format({"text_wrap": True, "valign": "top", "align": "left", "indent": 1})
        looks = {"bold": True, "text_wrap": True, "bottom": 1, "valign": "top", "bg_color": "#E6EEF4"}
        self.head = book.add_format(looks)
        self.head_beside = book.add_format({**looks, "align": "left", "indent": 1})
        self.head_number = book.add_format({**looks, "align": "right"})
        self._numbers: dict[tuple[str, bool, bool], Any] = {}

    def number(self, form: str, *, is_total: bool = False, is_input: bool = False) -> Any:
        """Give the format of a number; totals are bold, inputs are framed on yellow."""
        key = (form, is_total, is_input)
        if key not in self._numbers:
            looks: dict[str, Any] = {"num_format": form, "valign": "top"}
            if is_total:
                looks.update(bold=True, top=1)
            if is_input:
                looks.update(bg_color="#FFF6CC", border=1)
            self._numbers[key] = self.book.add_format(looks)
        return self._numbers[key]

    def form_of(self, column: Column) -> str:
        """Give the number format of a column."""
        places = 2 if column.kind == "money" else column.decimals
        return "#,##0" + ("." + "0" * places if places else "")

    def sheet(self, name: str) -> Any:
        """Add a worksheet that prints on pages one wide, with the job and page numbers at the foot."""
        sheet = self.book.add_worksheet(name)
        sheet.set_landscape()
        sheet.set_paper(1 if self.content.display.system == "imperial" else 9)
        sheet.fit_to_pages(1, 0)
        sheet.set_footer(f"&L{self.content.job[:100].replace('&', '&&')}&C{name}&RPage &P of &N")
        return sheet

    def note(self, sheet: Any, row: int, text: str, widths: Sequence[float]) -> None:
        """Write a note below a table, as wide as the table and wrapped."""
        wide = sum(widths)
        if len(widths) > 1:
            sheet.merge_range(row, 0, row, len(widths) - 1, "", self.wrapped)
        sheet.write_string(row, 0, text, self.wrapped)
        sheet.set_row(row, LINE * _lines(text, wide))

    def put(self, sheet: Any, row: int, column: int, value: CellValue, number: Any, text: Any) -> None:
        """Write one cell with its type."""
        if isinstance(value, Formula):
            sheet.write_formula(row, column, f"={value.text}", number, value.value)
        elif isinstance(value, str):
            sheet.write_string(row, column, value, text)
        else:
            sheet.write_number(row, column, value, number)

    def table(
        self,
        name: str,
        columns: Sequence[Column],
        rows: Sequence[Sequence[CellValue]],
        *,
        total: Sequence[CellValue] | None = None,
        note: str = "",
        inputs: Sequence[int] = (),
    ) -> Any:
        """Add a worksheet with a table: frozen headers, filters, print titles, columns of ``inputs`` framed."""
        sheet = self.sheet(name)
        every = [*rows, *(() if total is None else (total,))]
        widths = [_width(column, [row[c] for row in every]) for c, column in enumerate(columns)]
        for c, column in enumerate(columns):
            is_beside = c > 0 and columns[c - 1].is_number and not column.is_number
            head = self.head_number if column.is_number else self.head_beside if is_beside else self.head
            sheet.write_string(0, c, column.heading, head)
            sheet.set_column(c, c, widths[c])
            look = self.number(self.form_of(column), is_input=c in inputs)
            for r, row in enumerate(rows, start=1):
                self.put(sheet, r, c, row[c], look, self.beside if is_beside else self.wrapped)
            if total is not None:
                strong = self.number(self.form_of(column), is_total=True)
                self.put(sheet, len(rows) + 1, c, total[c], strong, self.head)
        for r, texts in enumerate(([column.heading for column in columns], *every)):
            lines = max(_lines(text, wide) for text, wide in zip(texts, widths, strict=True))
            if lines > 1:
                sheet.set_row(r, LINE * lines)
        last = len(rows) + (total is not None)
        if note:
            self.note(sheet, last + 2, note, widths)
        sheet.freeze_panes(1, 1)
        sheet.repeat_rows(0)
        sheet.print_area(0, 0, last + (2 if note else 0), len(columns) - 1)
        if rows:
            sheet.autofilter(0, 0, len(rows), len(columns) - 1)
        return sheet


def _width(column: Column, values: Sequence[CellValue]) -> float:
    """Characters that a column is wide: its values whole, and no word of its heading broken."""
    words = max((len(word) for word in column.heading.split()), default=0)
    if not column.is_number:
        longest = max((len(v) for v in values if isinstance(v, str)), default=0)
        return min(max(longest + 2, words + 2, 10), WIDEST)
    numbers = (v.value if isinstance(v, Formula) else v for v in values)
    longest = max((len(column.text(v)) for v in numbers if not isinstance(v, str)), default=0)
    return max(longest + 2, words + 3, 9)


def _lines(value: CellValue, wide: float) -> int:
    """Lines that a cell takes in a column; words are not broken."""
    if not isinstance(value, str):
        return 1
    lines, room = 1, wide - 2
    for word in value.split(" "):
        if room < len(word) and room < wide - 2:
            lines, room = lines + 1, wide - 2
        room -= len(word) + 1
    return lines


def write_workbook(
    content: ReportContent,
    path: Path,
    planning: Planning | None = None,
    *,
    letterhead: Letterhead | None = None,
    prepared_by: str = "",
) -> Path:
    """Write the workbook: summary with charts, rates, quantities, materials, labour, price, arithmetic, planning.

    Rates, pack prices and production rates are inputs: what follows from them recalculates in any spreadsheet program.

    Parameters
    ----------
    content
        What is reported.
    path
        Where to write.
    planning
        What was planned besides; the cut list of the estimate where ``None``.
    letterhead
        Whose report it is.
    prepared_by
        Who made it, where the letterhead does not say.

    Raises
    ------
    ReportError
        If it cannot be written.
    """
    import xlsxwriter

    from takeoff.report.workbook_price import add_labour, add_materials, add_price, add_rates, add_shares

    out = io.BytesIO()
    currency = content.estimate.currency
    head = replace(letterhead or Letterhead(), prepared_by=(letterhead or Letterhead()).prepared_by or prepared_by)
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(out, options) as workbook:
        workbook.set_properties(
            {
                "title": content.job,
                "subject": "Wall coating takeoff and estimate",
                "author": head.prepared_by,
                "company": head.company[0] if head.company else "",
            }
        )
        book = Book(workbook, content)
        summary = book.sheet("Summary")
        add_rates(book)
        for measurement in (content.by_room, content.by_run):
            _quantities(book, quantity_table(measurement, content.display))
        add_materials(book)
        add_labour(book)
        add_price(book)
        add_shares(book)
        arithmetic = arithmetic_table(content.estimate)
        book.table(
            arithmetic.title,
            arithmetic.columns,
            arithmetic.rows,
            note="As estimated with the rates above; it does not recalculate.",
        )
        for table in planning_tables(planning or Planning(cuts=cuts_of(content.estimate)), content.display, currency):
            _planning(book, table)
        _summary(book, summary, head)
    return write_whole(path, out.getvalue())


def column_name(index: int) -> str:
    """Letters of a column counted from 0.

    Examples
    --------
    >>> column_name(0), column_name(27)
    ('A', 'AB')
    """
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def _quantities(book: Book[ReportContent], table: Table) -> None:
    """Add a table of quantities whose totals are live, but for uncertainties, which do not add up."""
    last = len(table.rows) + 1
    total: list[CellValue] = []
    for c, value in enumerate(table.total or ()):
        is_sum = not isinstance(value, str) and bool(table.rows) and "±" not in table.columns[c].title
        name = column_name(c)
        total.append(Formula(text=f"SUM({name}2:{name}{last})", value=float(value)) if is_sum else value)
    book.table(table.title, table.columns, table.rows, total=total or None, note=table.note)


def _planning(book: Book[ReportContent], table: Table) -> None:
    """Add a table of what was planned, which does not recalculate."""
    note = f"{table.note} As planned; it does not recalculate.".strip()
    book.table(table.title, table.columns, table.rows, note=note)


def _letterhead(book: Book[ReportContent], sheet: Any, head: Letterhead) -> int:
    """Put the company's lines and logo at the head of a page; gives the row below them."""
    for row, line in enumerate(head.company):
        sheet.write_string(row, 0, line, *((book.bold,) if row == 0 else ()))
    if head.logo:
        picture = io.BytesIO(logo_png(head.logo))
        words = f"Logo {head.company[0]}" if head.company else "Logo"
        sheet.insert_image(0, 2, "logo.png", {"image_data": picture, "description": words, "object_position": 3})
    lines = max(len(head.company), LOGO_LINES if head.logo else 0)
    return lines + 1 if lines else 0


def _summary(book: Book[ReportContent], sheet: Any, head: Letterhead) -> None:
    """Fill the first page: letterhead, headline figures that follow the other sheets, terms, cautions, charts."""
    content = book.content
    top = _letterhead(book, sheet, head)
    d, e, total = content.display, content.estimate, content.by_room.total
    sheet.set_column(0, 0, 30)
    sheet.set_column(1, 1, 18)
    sheet.set_column(2, 2, 80)
    sheet.write_string(top, 0, content.job, book.bold)
    sheet.write_string(top + 1, 0, ", prepared by ".join(t for t in (content.date, head.prepared_by) if t))
    area = "#,##0.0"
    foot = len(content.by_room.items) + 2
    figures: list[tuple[str, CellValue, str, str]] = [
        ("Net area", Formula(text=f"'Quantities by room'!D{foot}", value=d.area_number(total.quantities.net_area)),
         area, f"{d.area_unit}, ± {d.area(total.u.net_area)} (k = 2)"),
        ("Openings deducted", Formula(
            text=f"'Quantities by room'!C{foot}", value=d.area_number(total.quantities.deducted_area)
        ), area, d.area_unit),
        ("Labour", Formula(text="labour_hours", value=e.hours), area, "h, set-up and clean-up included"),
        ("Crew days", Formula(text="crew_days", value=e.crew_days), area, "days of a full crew"),
        ("Price", Formula(text="price_total", value=e.line("price").amount), "#,##0.00", e.currency),
    ]  # fmt: skip
    if e.net_area > 0:
        per = d.area_number(1.0)
        figures.append(
            ("Price per net area", Formula(text="price_total/priced_area", value=e.price_per_area / per), "#,##0.00",
             f"{e.currency} per {d.area_unit} of {d.area(e.net_area)} under systems that coat walls")
        )  # fmt: skip
    for r, (name, value, form, unit) in enumerate(figures, start=top + 3):
        sheet.write_string(r, 0, name, book.bold)
        book.put(sheet, r, 1, value, book.number(form, is_total=name == "Price"), book.wrapped)
        sheet.write_string(r, 2, unit, book.beside)
    at = top + len(figures) + 4
    rows = [("Measuring rule", f"{content.rule} ({content.rule_source})")]
    rows += [("Scale", s) for s in content.scales] + [("To check", t) for t in content.doubts]
    rows += [("Not included", t) for t in (*usual_exclusions(e), *head.exclusions)]
    rows += [("Qualification", t) for t in (*usual_qualifications(e), *head.qualifications)]
    rows += [("Caution", c) for c in e.cautions]
    for r, (name, text) in enumerate(rows, start=at):
        sheet.write_string(r, 0, name, book.bold)
        sheet.merge_range(r, 1, r, 2, "", book.wrapped)
        sheet.write_string(r, 1, text, book.wrapped)
        sheet.set_row(r, LINE * _lines(text, 118))
    sheet.set_h_pagebreaks([at + len(rows) + 1])
    _charts(book, sheet, at + len(rows) + 2)


def _charts(book: Book[ReportContent], sheet: Any, row: int) -> None:
    """Draw what the price is made of, and what each room costs."""
    e = book.content.estimate
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
