"""Text of scans: small pictures are drawn here and read back; the slow whole sheets are in the bench."""

from __future__ import annotations

import io
import subprocess
import sys

import numpy as np
import pymupdf
import pytest

from takeoff.errors import InputError
from takeoff.model.plan import Sheet
from takeoff.sheet.files import read_sheets
from takeoff.sheet.ocr import Reader, _parts, lines_of_pixels, read_scanned_lines, scan_dpi
from takeoff.sheet.text import TextLine
from takeoff.trace.scales.lengths import written_lengths

pytest.importorskip("rapidocr", reason="the OCR library of the extra [scan] is not installed")

TEXTS = [("SCALE: 1:50", (60.0, 60.0)), ("STORE", (60.0, 120.0)), ("4250 mm", (60.0, 180.0))]


@pytest.fixture(scope="module")
def reader() -> Reader:
    return Reader()


def scan_of(width: float = 300, height: float = 240, rotate: int = 0) -> tuple[bytes, Sheet]:
    """Draw the texts at 10 points and take a picture at 200 dpi, the page turned by ``rotate``."""
    from PIL import Image

    document = pymupdf.open()
    page = document.new_page(width=width, height=height)
    for text, place in TEXTS:
        page.insert_text(place, text, fontsize=10)
    page.insert_text((220, 200), "UP 3600", fontsize=10, rotate=90)
    page.set_rotation(rotate)
    pixels = page.get_pixmap(dpi=200)
    out = io.BytesIO()
    Image.frombytes("RGB", (pixels.width, pixels.height), pixels.samples).save(out, "PNG", dpi=(200, 200))
    data = out.getvalue()
    return data, read_sheets(data, "scan.png")[0][0]


def find(lines: list[TextLine], text: str) -> TextLine:
    [found] = [line for line in lines if line.text.replace(" ", "") == text.replace(" ", "")]
    return found


@pytest.fixture(scope="module")
def lines(reader: Reader) -> list[TextLine]:
    data, sheet = scan_of()
    return read_scanned_lines(data, sheet, reader=reader)


def test_lines_are_read_at_their_places_in_sheet_points(lines: list[TextLine]) -> None:
    for text, (x, baseline) in TEXTS:
        box = find(lines, text).box_pt
        width = pymupdf.get_text_length(text, fontsize=10)
        assert box[0] == pytest.approx(x, abs=3)
        assert box[2] == pytest.approx(x + width, abs=3)
        assert box[1] < baseline - 3 < box[3]


def test_a_text_that_runs_up_the_sheet_has_an_upright_box(lines: list[TextLine]) -> None:
    box = find(lines, "UP 3600").box_pt
    assert box[3] - box[1] > 3 * (box[2] - box[0])
    assert box[0] < 217 < box[2]


def test_a_length_of_a_scan_is_read_as_one(lines: list[TextLine]) -> None:
    assert 4.25 in [written.length for written in written_lengths(lines)]


def test_a_part_is_read_where_only_that_is_asked_for(reader: Reader) -> None:
    data, sheet = scan_of()
    lines = read_scanned_lines(data, sheet, reader=reader, clip_pt=(40, 95, 200, 140))
    assert [line.text for line in lines] == ["STORE"]
    assert lines[0].box_pt[0] == pytest.approx(60, abs=5)


def test_reading_twice_with_one_engine_gives_the_same(reader: Reader, lines: list[TextLine]) -> None:
    # an engine that is told to skip finding would keep to it: the second call must find all lines again
    data, sheet = scan_of()
    assert read_scanned_lines(data, sheet, reader=reader) == lines


def test_a_sheet_larger_than_one_part_is_read_without_doubles(reader: Reader) -> None:
    data, sheet = scan_of(width=640)  # 1778 pixels across: two parts that share 1422 of them
    texts = [line.text.replace(" ", "") for line in read_scanned_lines(data, sheet, reader=reader)]
    assert sorted(texts) == sorted(["SCALE:1:50", "STORE", "4250mm", "UP3600"])


def test_an_empty_sheet_has_no_lines(reader: Reader) -> None:
    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (800, 600), "white").save(out, "PNG", dpi=(200, 200))
    [sheet] = read_sheets(out.getvalue(), "white.png")[0]
    assert read_scanned_lines(out.getvalue(), sheet, reader=reader) == []


def test_a_coarse_scan_is_read_at_its_own_resolution() -> None:
    sheet = Sheet(id=1, source="", page=1, width_pt=100, height_pt=100, kind="image")
    assert scan_dpi(sheet) == 200
    assert scan_dpi(Sheet(id=1, source="", page=1, width_pt=100, height_pt=100, kind="image", dpi=150)) == 150


def test_without_the_library_the_refusal_says_how_to_install_it() -> None:
    code = (
        "import sys; sys.modules['rapidocr'] = None\n"
        "from takeoff.errors import InputError\n"
        "from takeoff.sheet.ocr import Reader\n"
        "try:\n    Reader()\nexcept InputError as error:\n    print(error)\n"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert "the OCR library is not installed" in told
    assert 'pip install "takeoff[scan]"' in told


def test_the_library_is_not_loaded_before_it_is_needed() -> None:
    code = "import sys, takeoff.sheet.ocr, takeoff.actions; print('rapidocr' in sys.modules)"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert told.strip() == "False"


def test_the_sheet_that_was_read_last_is_not_read_again_and_another_one_is(monkeypatch: pytest.MonkeyPatch) -> None:
    data, sheet = scan_of()
    other, turned = scan_of(rotate=90)
    lines = read_scanned_lines(data, sheet)
    monkeypatch.setitem(sys.modules, "rapidocr", None)  # from here on nothing can be read
    assert read_scanned_lines(data, sheet) == lines
    assert "SCALE: 1:50" in [line.text for line in lines]
    with pytest.raises(InputError, match="OCR library"):
        read_scanned_lines(other, turned)


def test_a_picture_of_lines_alone_is_not_read(reader: Reader) -> None:
    page = np.full((1200, 1200, 3), 255, np.uint8)
    for at in range(100, 1100, 200):
        page[at : at + 2, 60:1140] = 0
        page[60:1140, at : at + 2] = 0
    sheet = scan_of(432, 432)[1]
    assert list(_parts(page)) == []
    assert lines_of_pixels(reader, page, sheet, 200.0) == []


def test_letters_that_are_drawn_as_lines_are_read_on_a_drawing_along_it_and_up_it(reader: Reader) -> None:
    document = pymupdf.open()
    page = document.new_page(width=300, height=240)
    for text, place, turned in (("KITCHEN 12.5", (60, 60), 0), ("4250", (60, 120), 0), ("3600", (220, 200), 90)):
        page.insert_text(place, text, fontsize=10, rotate=turned)
    page.draw_line((20, 150), (280, 150))
    outlined = pymupdf.open("pdf", pymupdf.open("svg", page.get_svg_image(text_as_path=True).encode()).convert_to_pdf())
    data = outlined.tobytes()
    (sheet,) = read_sheets(data, "drawn.pdf")[0]
    assert sheet.kind == "vector"
    found = {line.text: line for line in read_scanned_lines(data, sheet, reader=reader)}
    assert {"KITCHEN 12.5", "4250", "3600"} <= set(found)
    box = found["3600"].box_pt
    assert box[3] - box[1] > 2 * (box[2] - box[0])
    assert found["4250"].box_pt[0] == pytest.approx(60, abs=3)
