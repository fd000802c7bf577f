"""Tables of areas as they come from offices: each holds the same true figures, in another ordinary dress."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import odf.opendocument
import odf.table
import odf.text
import openpyxl
import pymupdf
import pytest
import xlwt
from openpyxl.styles import Font

from takeoff.actions.checking import check_areas, read_stated_areas
from takeoff.audit.matching import match_rooms
from takeoff.audit.stated import StatedArea
from takeoff.audit.verdict import AreaCheck
from takeoff.exchange.stated_file import StatedTable
from takeoff.job.job import Job, JobSettings
from takeoff.model.plan import Calibration, Sheet
from takeoff.model.walls import HeightProfile, Room, Run
from tests.trace.known_plans import reference_folder

Rows = list[list[object]]
WIDTHS = {"101": 10.0, "102": 12.0, "103": 14.0, "104": 20.0}
"""Feet; the rooms are 10 ft deep and 10 ft high, without openings."""
AREAS = {number: round(2 * (width + 10) * 10) for number, width in WIDTHS.items()}
"""Square feet: 400, 440, 480, 600."""
FOOT_PT = 18.0  # 1/4" = 1'-0"


@pytest.fixture(scope="module")
def job() -> Job:
    rooms, runs, x = {}, {}, 100.0
    for number, width in WIDTHS.items():
        right = x + width * FOOT_PT
        points = ((x, 100.0), (right, 100.0), (right, 100.0 + 10 * FOOT_PT), (x, 100.0 + 10 * FOOT_PT))
        id = f"R{number}"
        rooms[id] = Room(id=id, number=number, name=f"Room {number}", height=HeightProfile.constant(3.048))
        runs[number] = Run(id=number, sheet=1, room=id, points_pt=points, closed=True, face="right")
        x = right + 20
    scale = Calibration(sheet=1, mx=0.3048 / FOOT_PT, my=0.3048 / FOOT_PT, u_scale=0.001, pick=0.1)
    sheet = Sheet(id=1, source="0", page=1, width_pt=2000, height_pt=1000)
    return Job(settings=JobSettings(name="x"), sheets={1: sheet}, calibrations={"1": scale}, rooms=rooms, runs=runs)


def in_csv(rows: Rows) -> bytes:
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


def in_xlsx(rows: Rows, *merged: str) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    for cells in merged:
        book.active.merge_cells(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def in_xls(rows: Rows) -> bytes:
    book = xlwt.Workbook()
    sheet = book.add_sheet("Areas")
    for r, row in enumerate(rows):
        for c, value in enumerate(row):
            sheet.write(r, c, value)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def in_ods(rows: Rows) -> bytes:
    book = odf.opendocument.OpenDocumentSpreadsheet()
    table = odf.table.Table(name="Areas")
    for row in rows:
        line = odf.table.TableRow()
        for value in row:
            is_number = isinstance(value, int | float)
            cell = (
                odf.table.TableCell(valuetype="float", value=value)
                if is_number
                else odf.table.TableCell(valuetype="string")
            )
            cell.addElement(odf.text.P(text=str(value)))
            line.addElement(cell)
        table.addElement(line)
    book.spreadsheet.addElement(table)
    out = io.BytesIO()
    book.write(out)
    return out.getvalue()


def in_pdf(rows: Rows) -> bytes:
    document = pymupdf.open()
    page = document.new_page()
    for r, row in enumerate(rows):
        for c, value in enumerate(row):
            page.insert_text((72 + 130 * c, 100 + 16 * r), str(value), fontsize=9)
    return bytes(document.tobytes())


def checked(job: Job, data: bytes, name: str = "areas.csv") -> tuple[StatedTable, AreaCheck]:
    table = read_stated_areas(data, name)
    return table, check_areas(job, table)


PLAIN_ROWS: Rows = [[n, a] for n, a in AREAS.items()]
PLAIN: Rows = [["Room no.", "Name", "Net Wall (S.F.)"], *([n, f"Room {n}", a] for n, a in AREAS.items())]


@pytest.mark.parametrize("write", [in_csv, in_xlsx, in_xls, in_ods, in_pdf])
def test_every_kind_of_file_agrees(job, write):
    _, found = checked(job, write(PLAIN), "areas")
    assert [line.verdict for line in found.lines] == ["agrees"] * 4
    assert found.is_clean


@pytest.mark.parametrize("cell", ["N/A", "TBD", "N.I.C.", "~600", "600*", "0", "#REF!", "by others"])
def test_a_cell_without_a_figure_leaves_its_room_open_and_the_rest_compared(job, cell):
    rows = [*PLAIN[:4], ["104", "Room 104", cell]]
    _, found = checked(job, in_csv(rows))
    assert [line.verdict for line in found.lines] == ["agrees"] * 3 + ["cannot say"]
    assert found.lines[3].reason == f'the table states no figure: "{cell}"'


@pytest.mark.parametrize("cell", ["see note 3", "-600", "6e2", "600 each"])
def test_a_cell_that_is_no_area_is_wrong_in_the_table_and_the_rest_is_compared(job, cell):
    _, found = checked(job, in_csv([*PLAIN[:4], ["104", "Room 104", cell]]))
    assert [line.verdict for line in found.lines] == ["agrees"] * 3 + ["cannot say"]
    assert found.faults == (f'row 5: "{cell}" is not an area',)
    assert not found.is_clean


@pytest.mark.parametrize("number", ["103 & 104", "103, 104", "103-104", "103 to 104", "Rooms 103 and 104"])
def test_a_row_of_several_rooms_is_taken_for_none_of_them(job, number):
    _, found = checked(job, in_csv([["Room", "Wall area SF"], *PLAIN_ROWS[:2], [number, 1100]]))
    assert [line.verdict for line in found.lines] == ["agrees", "agrees", "cannot say"]
    assert found.lines[2].reason.startswith("states several rooms in one row: 103")


def test_how_many_are_alike_is_not_passed_over(job):
    rows: Rows = [["Room", "Wall area SF", "Qty"], [*PLAIN_ROWS[0], 1], [*PLAIN_ROWS[1], 2]]
    _, found = checked(job, in_csv(rows))
    [_, alike] = found.lines
    assert alike.verdict == "agrees"
    assert alike.reason.endswith("of 2 alike the area of one is compared")
    assert alike.match.doubts == ("the table says 2 alike, and the job counts it once",)
    assert not found.is_clean


@pytest.mark.parametrize("area", [440, 1760])
@pytest.mark.parametrize("column", [True, False])
def test_the_area_of_one_and_of_all_that_are_alike_are_told_apart(job, area, column):
    head, alike = (["Room", "Wall area SF"], ["102 x 4", area])
    rows = [[*head, "Qty"], [*PLAIN_ROWS[0], ""], ["102", area, "x 4"]] if column else [head, PLAIN_ROWS[0], alike]
    room = job.rooms["R102"]
    often = replace(job, rooms={**job.rooms, room.id: replace(room, count=4)})
    [_, line] = checked(often, in_csv([*rows, ["Total", 400 + 1760]]))[1].lines
    assert (line.verdict, line.match.doubts, line.counts_differ) == ("agrees", (), False)
    assert ("taken for all 4 alike" in line.reason) == (area == 1760)
    assert not checked(often, in_csv([*rows, ["Total", 400 + 1760]]))[0].faults
    assert checked(often, in_csv([*rows, ["Total", 2000]]))[0].faults


def test_a_table_in_parts_side_by_side_is_one(job):
    head = ["Room", "Wall area SF"]
    (a, b, c, d) = PLAIN_ROWS
    for gap in ([], [""]):
        table, found = checked(job, in_csv([["Areas"], [*head, *gap, *head], [*a, *gap, *c], [*b, *gap, *d]]))
        assert found.is_clean
        assert [area.where for area in table.areas] == ["row 3", "row 4", "row 3", "row 4"]


def test_a_column_that_is_named_needs_no_word_for_area(job):
    rows: Rows = [["Plant A"], ["Room No.", "North", "Rest", "Total"], *([n, 1, a - 1, a] for n, a in AREAS.items())]
    table = read_stated_areas(in_csv(rows), "areas.csv", unit="sf", column="Total")
    assert check_areas(job, table).is_clean


def test_other_sheets_of_a_workbook_that_hold_areas_are_named(job):
    book = openpyxl.load_workbook(io.BytesIO(in_xlsx([["Wall", "Length", "Area SF"], ["W1", 10, 99]])))
    book.active.title = "By wall"
    for row in PLAIN:
        (book["Rooms"] if "Rooms" in book.sheetnames else book.create_sheet("Rooms")).append(list(row))
    held = io.BytesIO()
    book.save(held)
    table, found = checked(job, held.getvalue(), "areas.xlsx")
    assert found.is_clean
    assert table.doubts == ('only the sheet "Rooms" of the workbook was read; areas stand on "By wall" too',)


def test_two_rows_of_headings_with_merged_heads(job):
    body: Rows = [[n, f"Room {n}", a, 99] for n, a in AREAS.items()]
    heads: Rows = [["ROOM", None, "AREAS (SF)", None], ["NO.", "NAME", "WALL NET", "FLOOR"]]
    for data in (in_xlsx([*heads, *body], "A1:B1", "C1:D1"), in_csv([[c or "" for c in row] for row in heads + body])):
        table, found = checked(job, data, "areas")
        assert table.column == "AREAS (SF) WALL NET"
        assert found.is_clean, found.lines


@pytest.mark.parametrize("is_merged", [True, False])
def test_rows_by_face_are_added_up_for_their_room(job, is_merged):
    rows: Rows = [["Room", "Face", "Net area SF"]]
    for number, width in WIDTHS.items():
        for face, length in (("N", width), ("E", 10.0), ("S", width), ("W", 10.0)):
            rows.append([number if face == "N" or is_merged else None, face, length * 10])
    merged = [f"A{i}:A{i + 3}" for i in range(2, 18, 4)] if is_merged else []
    _, found = checked(job, in_xlsx(rows, *merged), "areas.xlsx")
    assert found.is_clean, found.lines
    assert found.lines[0].reason.endswith("rows 2, 3, 4 and 5 are added up")


def test_a_room_in_two_rows_is_added_up_and_said(job):
    rows = [*PLAIN[:4], ["104", "Room 104", 350], ["104", "Room 104", 250]]
    _, found = checked(job, in_csv(rows))
    assert [line.verdict for line in found.lines] == ["agrees"] * 4
    assert "rows 5 and 6 are added up" in found.lines[3].reason


def test_a_room_stated_twice_is_compared_once_and_told(job):
    rows = [*PLAIN, ["104", "Room 104", 600]]
    _, found = checked(job, in_csv(rows))
    assert [line.verdict for line in found.lines] == ["agrees"] * 4
    assert not found.is_clean
    assert found.faults == ("104 Room 104 is stated more than once: rows 5 and 6",)


@pytest.mark.parametrize(
    "label",
    ["Total wall area", "TOTAL NET AREA (SF)", "Level 1 total", "Subtotal", "Totals (4 rooms)", "Gesamt", "Sum"],
)
def test_a_total_is_no_room_and_its_sum_is_tried(job, label):
    _, right = checked(job, in_csv([*PLAIN, [label, "", 1920]]))
    assert len(right.lines) == 4
    assert right.is_clean
    _, wrong = checked(job, in_csv([*PLAIN, [label, "", 1290]]))
    assert wrong.faults == ("row 6 says 1,290 sf in total; the rows above add up to 1,920 sf",)
    assert not wrong.is_clean


@pytest.mark.parametrize("dress", ["R-{}", "A{}", "L1-{}", "{}-A", "1/{}", "{}", "Rm {}"])
def test_room_numbers_with_prefix_or_letter_find_their_rooms(job, dress):
    rows: Rows = [["Room", "Wall area SF"], *([dress.format(n), a] for n, a in AREAS.items())]
    _, found = checked(job, in_csv(rows))
    assert [line.match.room for line in found.lines] == list(job.rooms)
    assert found.is_clean


def test_two_rows_that_one_room_could_mean_are_left_open():
    stated = [StatedArea(number=n, value=1, unit="sf") for n in ("L1-104", "L2-104")]
    assert [m.room for m in match_rooms(stated, (Room(id="R104", number="104"),))] == [None, None]


def test_a_dot_for_thousands_is_told_by_the_column(job):
    big = Room(id="R9", number="9", name="Hall")
    table = read_stated_areas(b"Room,Wall area SF\n9,1.434\n8,557\n", "a.csv")
    assert [a.value for a in table.areas] == [1434.0, 557.0]
    assert match_rooms(table.areas, (big,))[0].room == "R9"


def test_a_formula_that_was_never_calculated_is_told(job):
    rows: Rows = [*PLAIN[:4], ["104", "Room 104", "=300*2"]]
    table, found = checked(job, in_xlsx(rows), "areas.xlsx")
    assert "1 cell of areas hold a formula that was never calculated" in table.doubts[0]
    assert found.unstated == ("104 Room 104",)
    assert not found.is_clean


def test_rows_that_a_workbook_hides_or_strikes_through_are_told(job):
    book = openpyxl.load_workbook(io.BytesIO(in_xlsx(PLAIN)))
    sheet = book.worksheets[0]
    sheet.row_dimensions[3].hidden = True
    for cell in sheet[4]:
        cell.font = Font(strike=True)
    old = book.create_sheet("Old", 0)
    old.sheet_state = "hidden"
    for row in [PLAIN[0], ["102", "Room 102", 1]]:
        old.append(row)
    out = io.BytesIO()
    book.save(out)
    table, _ = checked(job, out.getvalue(), "areas.xlsx")
    assert len(table.areas) == 4
    assert table.doubts[0] == "hidden in the file, and read as the others are: row 3"
    assert table.doubts[1] == "struck through, and read as the others are: row 4"
    assert table.doubts[2].endswith('areas stand on "Old (hidden)" too')


def test_a_measured_room_that_the_table_omits_is_told(job):
    _, found = checked(job, in_csv(PLAIN[:4]))
    assert found.unstated == ("104 Room 104",)
    assert not found.is_clean


def test_damaged_workbooks_are_refused(job):
    good = in_xlsx(PLAIN)
    for data in (good[:200], good[: len(good) // 2] + b"zz" + good[len(good) // 2 :]):
        with pytest.raises(Exception, match="not a workbook that can be read"):
            read_stated_areas(data, "areas.xlsx")


@pytest.mark.skipif(reference_folder() is None, reason="TAKEOFF_REFERENCE names no folder of reference plans")
def test_a_real_table_of_30_walls_agrees_wall_by_wall():
    """The sheet's own table: 30 walls with length to the foot, height and area, of which each wall is made again."""
    folder = reference_folder()
    assert folder is not None
    path = folder / "real_plans" / "facility_wall_quantities.csv"
    rows = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    runs, y = {}, 0.0
    for i, row in enumerate(rows):
        # true length from the area: the printed one is rounded to the foot
        length = float(row["area_sf"]) / float(row["height_ft"])
        y += 20.0
        height = HeightProfile.constant(float(row["height_ft"]) * 0.3048)
        runs[f"w{i}"] = Run(
            id=f"w{i}", sheet=1, points_pt=((0.0, y), (length * FOOT_PT, y)), height=height, ends=("abut", "abut")
        )
    scale = Calibration(sheet=1, mx=0.3048 / FOOT_PT, my=0.3048 / FOOT_PT, u_scale=0.001, pick=0.05)
    sheet = Sheet(id=1, source="0", page=1, width_pt=9000, height_pt=9000)
    job = Job(settings=JobSettings(name="x"), sheets={1: sheet}, calibrations={"1": scale}, runs=runs)
    table = read_stated_areas(path.read_bytes(), path.name)
    found = check_areas(job, table)
    assert table.is_by_wall
    assert len(found.lines) == 30
    assert [line.verdict for line in found.lines if line.verdict != "agrees"] == []
