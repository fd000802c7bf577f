"""A workbook in the making: its formats, and tables as sheets of typed cells."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from takeoff.report.letterhead import PLAIN, Letterhead, logo_png
from takeoff.report.tables import Cell, Column, texts
from takeoff.units import Display


@dataclass(frozen=True, slots=True, kw_only=True)
class Formula:
    """A formula and the value that it has as written."""

    text: str
    value: float


CellValue = Cell | Formula


def form_with(decimals: int) -> str:
    """Give the number format with so many decimals.

    Examples
    --------
    >>> form_with(0), form_with(2)
    ('#,##0', '#,##0.00')
    """
    return "#,##0" + ("." + "0" * decimals if decimals else "")


def live_sum(column: int, rows: int, value: float) -> Formula:
    """Add up a column, counted from 0, of the rows under a heading.

    Examples
    --------
    >>> live_sum(27, 3, 10.0).text
    'SUM(AB2:AB4)'
    """
    from xlsxwriter.utility import xl_col_to_name

    name = xl_col_to_name(column)
    return Formula(text=f"SUM({name}2:{name}{rows + 1})", value=value)


MORE_ROWS = 500
"""Rows below a table that a sum over it reaches, for what a person adds there."""


def sum_where(sheet: str, column: str, rows: int, **equal: str) -> str:
    """Add up a column of a table of so many rows where columns hold the same text as a cell, letter by letter.

    SUMIF would take a star or a mark of comparison in a name for a pattern, and capitals for small letters.

    Examples
    --------
    >>> sum_where("Walls", "F", 100, B="A2", C="B2")
    'SUMPRODUCT(EXACT(Walls!$B$2:$B$601,A2)*EXACT(Walls!$C$2:$C$601,B2),Walls!$F$2:$F$601)'
    """
    places = {name: f"{sheet}!${name}$2:${name}${rows + 1 + MORE_ROWS}" for name in (*equal, column)}
    tests = "*".join(f"EXACT({places[name]},{cell})" for name, cell in equal.items())
    return f"SUMPRODUCT({tests if len(equal) > 1 else f'1*{tests}'},{places[column]})"


LINE = 15.0
"""Points that a line of a row is high."""
LOGO_LINES = 4
"""Rows that a logo is high."""
LOGO_WIDTH = 40.0
"""Characters that the column of a logo is wide beside a table."""
WIDEST = 90.0
"""Characters that a column of texts is wide at the most; longer ones wrap."""


class Book:
    """A workbook in the making, with its formats; job and letterhead are on its sheets, figures as ``display``."""

    def __init__(self, book: Any, job: str, display: Display, letterhead: Letterhead) -> None:
        self.book, self.job, self.display, self.letterhead = book, job, display, letterhead
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

    def sheet(self, name: str) -> Any:
        """Add a worksheet that prints on pages one wide, with the job and page numbers at the foot."""
        sheet = self.book.add_worksheet(name)
        sheet.set_landscape()
        sheet.set_paper(1 if self.display.system == "imperial" else 9)
        sheet.fit_to_pages(1, 0)
        sheet.set_footer(f"&L{self.job[:100].replace('&', '&&')}&C{name}&RPage &P of &N")
        return sheet

    def note(self, sheet: Any, row: int, text: str, widths: Sequence[float]) -> None:
        """Write a note below a table, as wide as the table and wrapped."""
        wide = sum(widths)
        if len(widths) > 1:
            sheet.merge_range(row, 0, row, len(widths) - 1, "", self.wrapped)
        sheet.write_string(row, 0, text, self.wrapped)
        sheet.set_row(row, LINE * lines_of(text, wide))

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
            look = self.number(form_with(column.decimals), is_input=c in inputs)
            for r, row in enumerate(rows, start=1):
                self.put(sheet, r, c, row[c], look, self.beside if is_beside else self.wrapped)
            if total is not None:
                strong = self.number(form_with(column.decimals), is_total=True)
                self.put(sheet, len(rows) + 1, c, total[c], strong, self.head)
        for r, cells in enumerate(([column.heading for column in columns], *every)):
            lines = max(lines_of(cell, wide) for cell, wide in zip(cells, widths, strict=True))
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

    def cover(self, name: str, rows: Sequence[tuple[str, str]]) -> None:
        """Add the first worksheet of what is handed over: what it is about, line by line, beside the logo."""
        head = self.letterhead
        lines = [*(("Company", line) for line in head.company), *rows]
        sheet = self.table(name, texts("What", name), lines)
        if head.logo:
            put_logo(sheet, 1, head)
            sheet.set_column(2, 2, LOGO_WIDTH)
            sheet.print_area(0, 0, max(len(lines), LOGO_LINES), 2)

    def terms(self, kinds: Sequence[tuple[str, Sequence[str]]]) -> None:
        """Add the worksheet of terms, each with its kind."""
        self.table("Terms", texts("Kind", "Term"), [(kind, line) for kind, lines in kinds for line in lines])


@contextmanager
def new_book(job: str, display: Display, subject: str, head: Letterhead = PLAIN) -> Iterator[tuple[Book, io.BytesIO]]:
    """Begin a workbook of a job about something; gives it, and where its bytes are after the block."""
    import xlsxwriter

    out = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(out, options) as workbook:
        company = head.company[0] if head.company else ""
        workbook.set_properties({"title": job, "subject": subject, "author": head.prepared_by, "company": company})
        yield Book(workbook, job, display, head), out


def _width(column: Column, values: Sequence[CellValue]) -> float:
    """Characters that a column is wide: its values whole, and no word of its heading broken."""
    words = max((len(word) for word in column.heading.split()), default=0)
    if not column.is_number:
        longest = max((len(v) for v in values if isinstance(v, str)), default=0)
        return min(max(longest + 2, words + 2, 10), WIDEST)
    numbers = (v.value if isinstance(v, Formula) else v for v in values)
    longest = max((len(column.text(v)) for v in numbers if not isinstance(v, str)), default=0)
    return max(longest + 2, words + 3, 9)


def lines_of(value: CellValue, wide: float) -> int:
    """Lines that a cell takes in a column; words are not broken."""
    if not isinstance(value, str):
        return 1
    lines, room = 1, wide - 2
    for word in value.split(" "):
        if room < len(word) and room < wide - 2:
            lines, room = lines + 1, wide - 2
        room -= len(word) + 1
    return lines


def put_logo(sheet: Any, row: int, head: Letterhead) -> None:
    """Put the logo of a letterhead on a sheet, in the third column of a row; nothing where it has none."""
    if head.logo:
        picture = io.BytesIO(logo_png(head.logo))
        words = f"Logo {head.company[0]}" if head.company else "Logo"
        sheet.insert_image(row, 2, "logo.png", {"image_data": picture, "description": words, "object_position": 3})
