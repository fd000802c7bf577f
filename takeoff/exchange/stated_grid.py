"""Cells of a table in a file: CSV, XLSX, XLS or ODS, with cells that were merged written into each of their places."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass, replace

from takeoff.errors import InputError

MAX_BYTES = 10_000_000
MAX_ROWS = 10_000
MAX_COLUMNS = 100
MAX_UNPACKED = 50_000_000
"""Bytes that a workbook may unpack to: some hundred times a large schedule of areas."""
SNIFFED = 20
"""Lines of a CSV file by which its delimiter is told."""
_XLS = b"\xd0\xcf\x11\xe0"
_ZIP = b"PK\x03\x04"


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Rows of cells as text. ``copies`` are (row, column) of cells that repeat the first cell of a merged range.

    ``uncalculated`` are (row, column) of formulas that the file holds no value for. ``boxes`` are where the rows of a
    table on a sheet stand, in sheet points. ``title`` is the name of the sheet in its workbook. ``places`` are numbers
    of rows in the file where they are not 1, 2, 3 …
    ``is_hidden`` says that its workbook hides the sheet, ``hidden`` and ``struck`` are numbers of rows in the file that
    it hides, and that are struck through.
    """

    rows: tuple[tuple[str, ...], ...]
    copies: frozenset[tuple[int, int]] = frozenset()
    uncalculated: frozenset[tuple[int, int]] = frozenset()
    boxes: tuple[tuple[float, float, float, float], ...] = ()
    title: str = ""
    places: tuple[int, ...] = ()
    is_hidden: bool = False
    hidden: frozenset[int] = frozenset()
    struck: frozenset[int] = frozenset()

    @property
    def called(self) -> str:
        """Its title, and whether it is hidden."""
        return self.title + " (hidden)" * self.is_hidden


def stacked(grid: Grid, first: int, deep: int) -> Grid:
    """Put parts of a table that stand side by side, under the same headings, below one another.

    ``first`` is the first of ``deep`` rows of headings. A table that is in one part stays as it is.
    """
    head = grid.rows[first + deep - 1] if first + deep <= len(grid.rows) else ()
    last = max((c for c, cell in enumerate(head) if cell), default=0) + 1
    for wide in range(2, last // 2 + 2):
        parts = -(-last // wide)
        cells = [(*head, *[""] * wide)[n * wide : (n + 1) * wide] for n in range(parts)]
        if len(set(filter(None, cells[0]))) > 1 and parts > 1 and all(part == cells[0] for part in cells):
            break
    else:
        return grid
    start = first + deep
    order = [(r, 0) for r in range(start)] + [(r, n) for n in range(parts) for r in range(start, len(grid.rows))]
    spots = {place: i for i, place in enumerate(order)}

    def moved(cells: frozenset[tuple[int, int]]) -> frozenset[tuple[int, int]]:
        every = ((spots.get((r, c // wide if r >= start else 0)), c % wide) for r, c in cells if r >= start or c < wide)
        return frozenset((r, c) for r, c in every if r is not None)

    return replace(
        grid, rows=tuple(grid.rows[r][n * wide : (n + 1) * wide] for r, n in order),
        copies=moved(grid.copies), uncalculated=moved(grid.uncalculated),
        boxes=tuple(grid.boxes[r] for r, _ in order) if grid.boxes else (),
        places=tuple(grid.places[r] if grid.places else r + 1 for r, _ in order),
    )  # fmt: skip


def read_grids(data: bytes, name: str) -> list[Grid]:
    """Read the tables of a file, one for each sheet that has cells.

    Raises `InputError` when it is no CSV file or workbook, is empty, damaged or too large.
    """
    if len(data) > MAX_BYTES:
        raise InputError(f"{name} has {len(data):,} bytes", remedy=f"Give a table of {MAX_BYTES:,} bytes at most.")
    if data[:4] not in (_ZIP, _XLS):
        return [_csv(data, name)]
    try:
        is_xlsx = data[:4] == _ZIP and "xl/workbook.xml" in _packed_parts(data, name)
        grids = list(_xlsx_sheets(data) if is_xlsx else _sheets(data))
    except InputError:
        raise
    # what damaged files raise inside these readers is no closed list: zip, XML, numbers, keys, indexes
    except Exception as error:
        raise InputError(
            f"{name} is not a workbook that can be read", remedy="Save it as XLSX or CSV again."
        ) from error
    for grid in grids:
        _refuse_long(len(grid.rows), name)
    if not any(any(row) for grid in grids for row in grid.rows):
        raise InputError(f"{name} is empty", remedy="Give a table with a row for each room.")
    return grids


def _csv(data: bytes, name: str) -> Grid:
    if b"\x00" in data and data[:2] not in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(f"{name} is not a table", remedy="Give a CSV file, or a workbook as XLSX, XLS or ODS.")
    for encoding in ("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig", "cp1252", "latin-1"):
        try:
            text = data.decode(encoding)
            break
        except UnicodeDecodeError:
            continue
    lines = [line for line in text.splitlines() if line.strip()][:SNIFFED]
    if not lines:
        raise InputError(f"{name} is empty", remedy="Give a table with a row for each room.")
    delimiter = max(",;\t|", key=lambda sign: sum(min(line.count(sign), 8) for line in lines))
    rows = []
    try:
        for row in csv.reader(io.StringIO(text), delimiter=delimiter, strict=True):
            rows.append(tuple(_text(cell) for cell in row[:MAX_COLUMNS]))
            _refuse_long(len(rows), name)
    except csv.Error as error:
        raise InputError(f"{name} is not a table ({error})", remedy="Save it as CSV again.") from error
    return Grid(rows=tuple(rows))


def _refuse_long(rows: int, name: str) -> None:
    if rows > MAX_ROWS:
        raise InputError(f"{name} has more than {MAX_ROWS:,} rows", remedy="Give the table of areas alone.")


def _packed_parts(data: bytes, name: str) -> list[str]:
    """Names of the files in a packed workbook; one that unpacks to too much is refused."""
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        parts = packed.infolist()
    if sum(part.file_size for part in parts) > MAX_UNPACKED:
        raise InputError(f"{name} unpacks to more than {MAX_UNPACKED:,} bytes", remedy="Give the table alone.")
    return [part.filename for part in parts]


def _xlsx_sheets(data: bytes) -> Iterable[Grid]:
    import openpyxl

    shown = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    written = openpyxl.load_workbook(io.BytesIO(data))
    for sheet, formulas in zip(shown.worksheets, written.worksheets, strict=True):
        last = {"max_row": min(sheet.max_row, MAX_ROWS + 1), "max_col": min(sheet.max_column, MAX_COLUMNS)}
        rows = [[_cell(v) for v in row] for row in sheet.iter_rows(**last, values_only=True)]
        missing = frozenset(
            (r, c)
            for r, row in enumerate(formulas.iter_rows(**last, values_only=True))
            for c, value in enumerate(row)
            if isinstance(value, str) and value.startswith("=") and not rows[r][c]
        )
        ranges = [(m.min_row - 1, m.min_col - 1, m.max_row - 1, m.max_col - 1) for m in sheet.merged_cells.ranges]
        cells = [[cell for cell in row if cell.value is not None] for row in formulas.iter_rows(**last)]
        is_struck = [bool(row) and all(cell.font.strike for cell in row) for row in cells]
        yield replace(
            _merged(sheet.title, rows, ranges, missing),
            is_hidden=sheet.sheet_state != "visible",
            hidden=frozenset(r for r, row in formulas.row_dimensions.items() if row.hidden),
            struck=frozenset(r for r, is_out in enumerate(is_struck, start=1) if is_out),
        )


def _sheets(data: bytes) -> Iterable[Grid]:
    from python_calamine import CalamineWorkbook

    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    for name in book.sheet_names:
        sheet = book.get_sheet_by_name(name)
        rows = [[_cell(v) for v in row[:MAX_COLUMNS]] for row in sheet.to_python(skip_empty_area=False)[: MAX_ROWS + 1]]
        yield _merged(name, rows, [(*a, *b) for a, b in sheet.merged_cell_ranges or ()])


def _merged(
    title: str,
    rows: list[list[str]],
    ranges: Iterable[tuple[int, int, int, int]],
    uncalculated: frozenset[tuple[int, int]] = frozenset(),
) -> Grid:
    copies = set()
    for top, left, bottom, right in ranges:
        for r in range(top, min(bottom + 1, len(rows))):
            for c in range(left, min(right + 1, len(rows[r]))):
                if (r, c) != (top, left):
                    rows[r][c] = rows[top][left]
                    copies.add((r, c))
    return Grid(
        rows=tuple(tuple(row) for row in rows), copies=frozenset(copies), uncalculated=uncalculated, title=title
    )


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.4f}".rstrip("0").rstrip(".")
    return _text(str(value))


def _text(cell: str) -> str:
    """Join the lines of a cell; figures on lines of their own stay apart, for they are no one number."""
    lines = [" ".join(line.split()) for line in cell.splitlines() if line.strip()]
    return ("; " if all(line[0].isdigit() for line in lines) else " ").join(lines)
