"""Text with its places, scale notes and title blocks."""

from __future__ import annotations

import pymupdf
import pytest

from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines

ARCH_D = (0, 0, 2592, 1728)


def title_block(write_text):
    """A plan with room names, a detail reference, and a title block up the right-hand edge."""
    return "".join(
        [
            write_text(600, 900, 14, "PROCESS ROOM 104"),
            write_text(600, 880, 14, "SEE A-501"),
            write_text(300, 200, 10, '1/8" = 1\'-0"'),
            write_text(2300, 600, 8, "SHEET TITLE:"),
            write_text(2300, 580, 14, "FIRST FLOOR"),
            write_text(2300, 565, 14, "FINISH PLAN"),
            write_text(2300, 500, 8, 'SCALE: 1/4" = 1\'-0"'),
            write_text(2300, 450, 8, "DATE:"),
            write_text(2360, 450, 8, "2024-03-18"),
            write_text(2300, 430, 8, "PRINTED 2024-04-02"),
            write_text(2300, 400, 8, "REV 2"),
            write_text(2300, 300, 8, "SHEET NO."),
            write_text(2300, 250, 36, "A-101"),
            write_text(2500, 20, 6, "A1"),
        ]
    )


@pytest.mark.parametrize("rotate", [0, 180])
def test_title_block_gives_number_title_scale_revision_and_date(make_pdf, write_text, rotate):
    content = title_block(write_text)
    if rotate == 180:  # drawn upside down, displayed upright
        content = f"q -1 0 0 -1 2592 1728 cm {content} Q"
    sheet = read_sheets(make_pdf(content, media=ARCH_D, rotate=rotate), "plan.pdf")[0][0]
    assert sheet.number == "A-101"
    assert sheet.title == "FIRST FLOOR FINISH PLAN"
    assert sheet.scale_note == '1/4" = 1\'-0"'
    assert sheet.revision == "2"
    assert sheet.date == "2024-03-18"


@pytest.mark.parametrize(
    ("labels", "number", "revision"),
    [
        (("zeichnung", "zeichn.-nr.", "index", "datum", "M"), "210", "b"),
        (("OGGETTO:", "TAVOLA NO.:", "REV:", "DATA:", "SCALA:"), "A-101", "C"),
        (("TÍTULO", "LÁMINA Nº", "REVISIÓN", "FECHA", "ESCALA"), "12", "2"),
        (("TITRE :", "PLAN N°", "INDICE", "DATE", "ECHELLE"), "04", "A"),
    ],
)
def test_title_blocks_in_other_languages_are_read_by_their_labels(make_pdf, write_text, labels, number, revision):
    title, number_label, revision_label, date, scale = labels
    content = "".join(
        [
            write_text(2200, 600, 8, title) + write_text(2230, 580, 14, "Grundriss EG"),
            write_text(2200, 500, 8, "PROJEKT-NR.") + write_text(2200, 480, 14, "19-50"),
            write_text(2300, 500, 8, number_label) + write_text(2300, 480, 14, number),
            write_text(2400, 500, 8, revision_label) + write_text(2446, 500, 8, revision),
            write_text(2404, 488, 8, "0"),  # the first figure of a scale bar, just beneath
            write_text(2200, 400, 8, date) + write_text(2250, 400, 8, "20.11.2015"),
            write_text(2400, 400, 8, scale) + write_text(2470, 400, 8, "1:50"),
            write_text(2400, 350, 8, "20.01.2016"),
        ]
    )
    sheet = read_sheets(make_pdf(content, media=ARCH_D), "plan.pdf")[0][0]
    read = (sheet.number, sheet.title, sheet.scale_note, sheet.revision, sheet.date)
    assert read == (number, "Grundriss EG", "1:50", revision, "20.11.2015")


def test_a_title_in_two_centred_lines_is_read_whole_and_a_counted_room_is_no_number(make_pdf, write_text):
    content = write_text(2200, 600, 14, "Second & Third") + write_text(2216, 585, 14, "Floor Plan")
    sheet = read_sheets(make_pdf(content + write_text(2300, 900, 9, "WIC-2"), media=ARCH_D), "plan.pdf")[0][0]
    assert (sheet.title, sheet.number) == ("Second & Third Floor Plan", "")


@pytest.mark.parametrize("head", ["NOTES:", "NOTES"])
def test_a_list_of_notes_is_no_part_of_a_title(make_pdf, write_text, head):
    notes = [head, "1. DIMENSIONS ARE TO FACES OF WALLS.", "2. SEE SCHEDULE FOR DOORS."]
    content = "".join(write_text(60, 120 - 12 * i, 10, text) for i, text in enumerate(notes))
    sheet = read_sheets(make_pdf(content, media=ARCH_D), "plan.pdf")[0][0]
    assert sheet.title in ("", "NOTES")


@pytest.mark.parametrize("number", ["A-101", "A1.2", "ID-3", "A101", "S2", "AD-101.1", "G-001", "A-101A"])
def test_sheet_numbers_of_every_usual_form_are_read(make_pdf, write_text, number):
    content = write_text(2400, 60, 30, number) + write_text(500, 900, 40, "B12")
    assert read_sheets(make_pdf(content, media=ARCH_D), "plan.pdf")[0][0].number == number


@pytest.mark.parametrize("text", ["REV2", "A-101 IS NOT USED", "1234", "SEE A-501", "NO3"])
def test_text_that_is_no_sheet_number_is_not_taken_for_one(make_pdf, write_text, text):
    assert read_sheets(make_pdf(write_text(2300, 60, 30, text), media=ARCH_D), "plan.pdf")[0][0].number == ""


@pytest.mark.parametrize(
    ("text", "revision"),
    [
        ("REV 3", "3"),
        ("REV. B", "B"),
        ("REV NO", ""),
        ("REVISION: 02", "02"),
        ("REVISIONS", ""),
        ("REVIEWED", ""),
        ("REV: P1", "P1"),
    ],
)
def test_revision_is_read_after_its_word_only(make_pdf, write_text, text, revision):
    assert read_sheets(make_pdf(write_text(2300, 60, 10, text), media=ARCH_D), "plan.pdf")[0][0].revision == revision


@pytest.mark.parametrize("date", ["2024-03-18", "03/18/2024", "18.03.2024", "18 MAR 2024", "March 18, 2024", "3/18/24"])
def test_dates_are_kept_as_written(make_pdf, write_text, date):
    content = write_text(2300, 60, 10, f"DATE {date}") + write_text(2300, 90, 10, "PLOTTED 2020-01-01")
    assert read_sheets(make_pdf(content, media=ARCH_D), "plan.pdf")[0][0].date == date


def test_two_dates_without_a_label_give_none(make_pdf, write_text):
    content = write_text(2300, 60, 10, "2024-03-18") + write_text(2300, 90, 10, "2020-01-01")
    assert read_sheets(make_pdf(content, media=ARCH_D), "plan.pdf")[0][0].date == ""


def test_scale_of_a_block_that_says_as_noted_is_so_registered(make_pdf, write_text):
    content = write_text(2300, 60, 10, "SCALE: AS NOTED") + write_text(300, 500, 10, "1:50")
    assert read_sheets(make_pdf(content, media=ARCH_D), "plan.pdf")[0][0].scale_note == "AS NOTED"


def test_one_scale_elsewhere_is_registered_and_two_that_differ_are_not(make_pdf, write_text):
    one = write_text(300, 500, 10, "PLAN 1:50") + write_text(300, 900, 10, "SCALE 1:50")
    assert "1:50" in read_sheets(make_pdf(one, media=ARCH_D), "plan.pdf")[0][0].scale_note
    two = one + write_text(900, 500, 10, "DETAIL 1:10")
    assert read_sheets(make_pdf(two, media=ARCH_D), "plan.pdf")[0][0].scale_note == ""


def test_words_of_one_line_stand_together_in_order(make_pdf, write_text):
    data = make_pdf(write_text(100, 300, 12, "STORE ROOM 12"))
    sheet = read_sheets(data, "plan.pdf")[0][0]
    assert [line.text for line in read_lines(data, sheet)] == ["STORE ROOM 12"]


@pytest.mark.parametrize(
    ("before", "raised", "after", "text"),
    [
        ("36", "5", "", "36⁵"),
        ("42.23 m", "2", "", "42.23 m²"),
        ("4", "1", "/2 IN", "4 1/2 IN"),
        ("ROOM ", "104", "", ""),
    ],
)
def test_raised_digits_are_told_from_those_beside_them(make_pdf, before, raised, after, text):
    data = make_pdf(f"BT /F 10 Tf 100 300 Td ({before}) Tj /F 6 Tf 4 Ts ({raised}) Tj /F 10 Tf 0 Ts ({after}) Tj ET")
    sheet = read_sheets(data, "plan.pdf")[0][0]
    assert [line.text for line in read_lines(data, sheet)] == [text or before + raised]


@pytest.mark.parametrize("turn", ["1 0 0 1", "0 1 -1 0"])
@pytest.mark.parametrize(
    ("before", "upper", "lower", "text"),
    [
        ("22'-8", "1", "2", "22'-8 1/2\""),
        ("5'-", "15", "16", "5'-15/16\""),
        ("ROOM 8", "1", "3", ""),
        ("ROOM 8", "5", "4", ""),
    ],
)
def test_figures_over_each_other_are_a_fraction_of_an_inch(make_pdf, turn, before, upper, lower, text):
    back = 556 * len(upper)  # a figure of this typeface is 0.556 em wide
    over = f"({before}) Tj 6 Ts ({upper}) Tj -6 Ts [{back} ({lower})] TJ 0 Ts"
    data = make_pdf(f'BT /F 10 Tf {turn} 300 300 Tm {over} (") Tj ET')
    sheet = read_sheets(data, "plan.pdf")[0][0]
    read = [line.text for line in read_lines(data, sheet)]
    assert read == [text] if text else not any("/" in line for line in read)


def test_picture_has_no_text(make_picture):
    data = make_picture("PNG", dpi=(100, 100))
    sheet = read_sheets(data, "scan.png")[0][0]
    assert read_lines(data, sheet) == []


def test_names_of_grid_lines_along_an_edge_are_no_number_of_the_sheet():
    document = pymupdf.open()
    page = document.new_page(width=800, height=600)
    for n in range(1, 5):
        page.insert_text((150 * n, 560), f"B{n}", fontsize=12)
    assert read_sheets(document.tobytes(), "a.pdf")[0][0].number == ""
    row = document.new_page(width=800, height=600)
    for n, name in enumerate(("E", "F", "G", "H", "G.8")):
        row.insert_text((100 + 140 * n, 60), name, fontsize=12)
    assert read_sheets(document.tobytes(), "a.pdf")[0][1].number == ""
    document[0].insert_text((740, 590), "A-101", fontsize=18)
    assert read_sheets(document.tobytes(), "a.pdf")[0][0].number == "A-101"


@pytest.mark.parametrize("rotate", [0, 90])
@pytest.mark.parametrize("pen", ["1 1 1 rg", "3 Tr"])
def test_words_that_leave_no_ink_are_not_read_and_white_ones_on_a_bar_are(make_pdf, write_text, rotate, pen):
    bar = "0 0 0 rg 290 90 200 30 re f"
    content = f"q {bar} 1 1 1 rg {write_text(300, 100, 10, 'PROCESS')} Q q {pen} {write_text(300, 200, 10, 'OLD')} Q"
    content += "\n" + write_text(100, 300, 10, "WASH")
    data = make_pdf(content, rotate=rotate)
    assert sorted(line.text for line in read_lines(data, read_sheets(data, "plan.pdf")[0][0])) == ["PROCESS", "WASH"]


@pytest.mark.parametrize(
    ("captions", "title"),
    [
        ([(1000, "SECTION", 20), (300, "FLOORPLAN", 20)], ""),  # one of the views of a sheet that shows a plan too
        ([(300, "WINDOW SCHEDULE", 8)], ""),  # the caption of a table beside a plan, no larger than what stands in it
        ([(300, "WINDOW SCHEDULE", 20)], "WINDOW SCHEDULE"),
        ([(300, "EXTERIOR ELEVATIONS", 8)], "EXTERIOR ELEVATIONS"),
    ],
)
def test_the_caption_of_one_view_of_several_is_not_the_title_of_a_sheet(make_pdf, write_text, captions, title):
    rooms = [write_text(400, 900 + 30 * n, 8, word) for n, word in enumerate(("KITCHEN", "BATH", "HALL"))]
    content = "".join([*rooms, *(write_text(2200, y, size, text) for y, text, size in captions)])
    sheet = read_sheets(make_pdf(content, media=ARCH_D), "plan.pdf")[0][0]
    assert sheet.title == title


def with_note(content, box, *, flags=64, border=0.0, rotate=0):
    """A page of strokes with a square annotation over them that says what they spell."""
    document = pymupdf.open()
    page = document.new_page(width=400, height=300)
    page.draw_line((20, 20), (25, 30))
    page.set_rotation(rotate)
    note = page.add_rect_annot(pymupdf.Rect(box))
    note.set_info(content=content, title="letters")
    note.set_border(width=border)
    note.set_flags(flags)
    note.update()
    return document.tobytes()


def test_letters_that_are_strokes_are_read_from_the_words_that_the_file_lays_over_them():
    # ISO 32000-1:2008 12.5.6.8 square annotations, 12.5.3 the bit for read only; two words in reading order
    data = with_note("LAB   8'-6\" X", (100, 50, 160, 60))
    (line,) = read_lines(data, read_sheets(data, "plan.pdf")[0][0])
    assert line.text == "LAB 8'-6\" X"
    assert line.box_pt == pytest.approx((100, 50, 160, 60), abs=1.0)  # the engine adds its border
    assert [word.box_pt[0] for word in line.words] == pytest.approx([100, 121.8, 154.5], abs=1.5)


def test_such_a_line_that_is_much_higher_than_wide_as_displayed_reads_up_the_sheet():
    data = with_note("WASH ROOM", (100, 50, 110, 140))
    (line,) = read_lines(data, read_sheets(data, "plan.pdf")[0][0])
    assert [word.box_pt[3] for word in line.words] == pytest.approx([140, 90], abs=1.0)
    turned = with_note("WASH ROOM", (100, 50, 110, 140), rotate=90)
    (line,) = read_lines(turned, read_sheets(turned, "plan.pdf")[0][0])
    assert [word.box_pt[3] for word in line.words] == pytest.approx([140, 90], abs=1.0)


def test_what_a_person_put_on_a_page_is_none_of_its_text():
    for data in (with_note("CHECK THIS", (100, 50, 160, 60), border=1.0), with_note("CHECK", (9, 9, 60, 20), flags=4)):
        assert not read_lines(data, read_sheets(data, "plan.pdf")[0][0])


def test_a_mark_in_the_plan_that_is_as_small_as_other_texts_is_no_sheet_number(make_pdf, write_text):
    notes = "".join(write_text(300, 100 + 30 * at, 10, "VERIFY IN FIELD") for at in range(12))
    small, large = (write_text(2400, 60, size, "W3") for size in (10, 30))
    read = [read_sheets(make_pdf(notes + mark, media=ARCH_D), "plan.pdf")[0][0].number for mark in (small, large)]
    assert read == ["", "W3"]


@pytest.mark.parametrize(
    ("text", "title"),
    [
        ("TOPIC - STILT PLAN", "STILT PLAN"),
        ("DRG. TITLE : TYPICAL LAYOUT", "TYPICAL LAYOUT"),
        ("NAME - J. DOE", ""),
        ("TITLE OF PROJECT: TWO HOUSES", ""),
        ("SUBJECT : -", ""),
    ],
)
def test_a_title_is_read_after_its_label_and_a_name_of_a_person_is_none(make_pdf, write_text, text, title):
    assert read_sheets(make_pdf(write_text(2100, 60, 10, text), media=ARCH_D), "plan.pdf")[0][0].title == title
