"""Door schedules drawn here beside the sample plan, whose doors carry marks: 101A to 108B."""

from __future__ import annotations

import json
from dataclasses import replace

import pymupdf
import pytest
from typer.testing import CliRunner

from takeoff import actions
from takeoff.actions.given import HEIGHTS
from takeoff.actions.traced_sheets import read_sheet_trace
from takeoff.actions.tracing import trace_sheet
from takeoff.cli.tree import app
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.schedules.opening_schedule import OpeningSchedule, read_opening_table, size_in
from tests.jobs import DONE, job_on
from tests.trace.schedules.test_finish_schedule import draw_table

FOOT = 0.3048
HEADINGS = ["DOOR NO.", "WIDTH", "HEIGHT", "TYPE", "REMARKS"]
DOORS = [
    ["101A", "3'-0\"", "6'-8\"", "A", "-"],
    ["102A", "3'-0\"", "7'-0\"", "A", "-"],
    ["104A", "5'-9 1/4\"", "8'-0\"", "B", "Pair"],
    ["105A", "5'-8 7/8\"", "8'-0\"", "B", "Pair"],
    ["108B", "8'-0\"", "10'-0\"", "C", "Rolls up"],
    ["110Z", "3'-0\"", "7'-0\"", "A", "Next phase"],
]


def table_of(data: bytes) -> OpeningSchedule | None:
    sheet = read_sheets(data, "a.pdf")[0][0]
    return read_opening_table(read_linework(data, sheet), read_lines(data, sheet), sheet)


SAMPLE = actions.sample_plans() / "facility-imperial.pdf"
OWN_SCHEDULE = (1745, 90, 2170, 420)
"""Where the sample plan has its own opening schedule, in sheet points."""


def plan_without_its_schedule() -> bytes:
    document = pymupdf.open(SAMPLE)
    document.select([0])
    document[0].add_redact_annot(OWN_SCHEDULE)
    document[0].apply_redactions()
    return document.tobytes()


@pytest.fixture
def job(tmp_path):
    path = tmp_path / "doors.takeoff"
    plans = [("plan.pdf", plan_without_its_schedule()), ("doors.pdf", draw_table(HEADINGS, DOORS))]
    with job_on(path, *plans) as store:
        actions.set_scale_ratio(store, store.job.sheets[1], "1:48")
    return path


@pytest.mark.parametrize("ruled", [True, False])
@pytest.mark.parametrize("rotation", [0, 90])
def test_a_table_of_marks_widths_and_heights_is_read_ruled_or_not_and_turned_or_not(ruled, rotation):
    table = table_of(draw_table(HEADINGS, DOORS, ruled=ruled, rotation=rotation))
    assert [row.mark for row in table.rows] == [row[0] for row in DOORS]
    assert [row.width / FOOT for row in table.rows] == pytest.approx([3, 3, 69.25 / 12, 68.875 / 12, 8, 3])
    assert [row.height / FOOT for row in table.rows] == pytest.approx([6 + 8 / 12, 7, 8, 8, 10, 7])


@pytest.mark.parametrize("shown", [90, 180, 270])
def test_a_table_on_a_page_that_is_shown_lying_on_its_side_is_read(shown):
    document = pymupdf.open(stream=draw_table(HEADINGS, DOORS))
    document[0].set_rotation(shown)
    table = table_of(document.tobytes())
    assert [row.mark for row in table.rows] == [row[0] for row in DOORS]
    assert [row.height / FOOT for row in table.rows] == pytest.approx([6 + 8 / 12, 7, 8, 8, 10, 7])


def test_a_column_of_sizes_gives_both_width_and_height():
    table = table_of(draw_table(["DOOR MARK", "SIZE", "TYPE"], [["D1", "900 x 2100", "A"], ["D2", "3070", "B"]]))
    assert [(row.mark, row.kind) for row in table.rows] == [("D1", "door"), ("D2", "door")]
    assert [(row.width, row.height) for row in table.rows] == [(0.9, 2.1), pytest.approx((3 * FOOT, 7 * FOOT))]


def test_a_pair_is_as_wide_as_both_its_leaves():
    assert size_in("PR 3'-0\" x 7'-0\"") == pytest.approx((6 * FOOT, 7 * FOOT))
    assert size_in("2 x 826 x 2040") == pytest.approx((1.652, 2.04))
    rows = [["1", "2x 3'-0\"", "7'-0\""], ["2", "(2) 3'-0\"", "7'-0\""]]
    read = table_of(draw_table(["DOOR NO.", "WIDTH", "HEIGHT"], rows)).rows
    assert [row.width for row in read] == pytest.approx([6 * FOOT] * 2)


def test_a_table_without_a_word_of_openings_is_no_opening_schedule():
    assert table_of(draw_table(["MARK", "WIDTH", "HEIGHT"], [["A", "3'-0\"", "4'-0\""]])) is None


def test_a_mark_that_stands_twice_and_a_height_that_is_none_are_told():
    rows = [["1A", "900", "2100"], ["1A", "800", "2100"], ["2A", "900", "see 5"]]
    table = table_of(draw_table(["DOOR NO.", "WIDTH", "HEIGHT"], rows))
    assert [(row.mark, row.width, row.height) for row in table.rows] == [("2A", 0.9, None)]
    assert "2A" in table.doubts[0]
    assert "1A" in table.doubts[1]


@pytest.mark.parametrize("width", ["VERIFY", "3125+2870", "30'-0\""])
def test_a_width_that_is_none_is_told_as_a_height_is(width):
    table = table_of(draw_table(HEADINGS, [*DOORS, ["107A", width, "7'-0\"", "A", "-"]]))
    assert table.rows[-1].width is None
    assert table.doubts == (f"door 107A: the schedule's width cannot be read from “{width} × 7'-0\"”",)


@pytest.mark.parametrize(
    ("said", "adds"),
    [("PAIR, W/ 2'-0\" TRANSOM ABOVE", True), ("SIDELITE 1'-6\" WIDE", True), ("T30, mit Oberlicht 60 cm", True),
     ("600 MM OVERPANEL", True), ("TRANSOM OVER", True), ("GLAZED FANLIGHT", False), ("Rolls up", False),
     ("DELETED", True), ("N.I.C.", True), ("Existing, verify in field", True), ("Vertical lift", False),
     ("Height to suit", True), ("Confirm on site", True), ("See Addendum 2", True), ("8'-0\" high on level 2", True)],
)  # fmt: skip
def test_words_of_a_row_that_speak_against_its_size_are_told(said, adds):
    # such parts stand in remarks of door schedules, their sizes on sheets of frame types (common practice, no source)
    table = table_of(draw_table(HEADINGS, [*DOORS, ["107A", "3'-0\"", "7'-0\"", "A", said]]))
    assert bool(table.rows[-1].unsure) == adds
    assert [doubt for doubt in table.doubts if doubt.startswith("door 107A: “")] == list(table.doubts)
    assert len(table.doubts) == adds


@pytest.mark.parametrize(
    ("ruled", "said"),
    [(True, "is a row without a mark and was not read: it may be a part of it"), (False, "cannot be read from")],
)
def test_a_row_of_sizes_without_a_mark_is_told_as_a_part_of_the_one_over_it(ruled, said):
    rows = [
        ["D1", "3'-0\"", "7'-0\"", "A", "-"],
        ["", "3'-0\"", "2'-0\"", "Transom", "-"],
        ["D2", "3'-0\"", "7'-0\"", "A", "-"],
        ["", "1'-0\"", "7'-0\"", "Sidelight", "-"],
    ]
    told = table_of(draw_table(HEADINGS, rows, ruled=ruled)).doubts
    assert [mark in doubt and said in doubt for mark, doubt in zip(("D1", "D2"), told, strict=True)] == [True, True]


@pytest.mark.parametrize(
    ("note", "is_told"),
    [("ALL DOORS ON LEVEL 2 ARE 8'-0\" HIGH", True), ("WINDOW HEADS ARE AT 2400 MM", True),
     ("ALL DOORS HAVE CLOSERS", False), ("COUNTERS ARE 3'-0\" HIGH AND 2'-0\" DEEP", False)],
)  # fmt: skip
def test_a_note_of_heights_beside_the_schedule_is_told(note, is_told):
    told = table_of(draw_table(HEADINGS, DOORS, extra=note)).doubts
    assert list(told) == [f"a note beside the schedule may change heights of it: “{note}”"] * is_told


def test_a_size_whose_heading_names_the_height_first_is_read_so():
    read = table_of(
        draw_table(["MARK", "SIZE (H X W)", "SILL"], [["W1", "1500 x 1200", "900"]], title="WINDOW SCHEDULE")
    )
    assert [(row.width, row.height) for row in read.rows] == [pytest.approx((1.2, 1.5))]


@pytest.mark.parametrize(
    ("headings", "rows", "sizes"),
    [
        (["TIPO", "ANCHO", "ALTO", "ALFEIZAR"], [["V-1", "1.50", "1.20", "0.90"], ["V-2", "0.60", "0.40", "1.80"]],
         [(1.5, 1.2, 0.9), (0.6, 0.4, 1.8)]),
        (["Repère", "Dimensions (L x H)", "Allège"], [["F01", "120 x 215", "0,10"], ["F02", "80 x 175", "0,85"]],
         [(1.2, 2.15, 0.1), (0.8, 1.75, 0.85)]),
    ],
)  # fmt: skip
def test_tables_of_other_countries_give_sizes_in_metres_and_levels_in_their_own_unit(headings, rows, sizes):
    # levels are in metres on drawings whose sizes are in centimetres or millimetres (common practice, no source)
    read = table_of(draw_table(headings, rows, title="CUADRO DE CARPINTERIA")).rows
    assert [(row.width, row.height, row.sill) for row in read] == [pytest.approx(size) for size in sizes]


def test_doors_take_their_heights_from_the_schedule_on_both_sides_of_a_wall(job):
    with actions.open_job(job, **DONE) as store:
        rooms = read_sheet_trace(store, 1).rooms()
    given = {(room.number, o.mark): o.height / FOOT for room in rooms for o in room.openings if o.mark}
    assert given == pytest.approx(
        {("101", "101A"): 6 + 8 / 12, ("108", "108B"): 10}
        | dict.fromkeys([("101", "102A"), ("102", "102A")], 7)
        | dict.fromkeys([("101", "104A"), ("104", "104A"), ("101", "105A"), ("105", "105A")], 8)
    )


def test_what_is_put_into_the_job_has_mark_and_height_and_says_where_they_are_from(job):
    with actions.open_job(job, **DONE) as store:
        traced = trace_sheet(store, 1, all=True, height=3.6)
        (door,) = [o for o in store.job.runs["R104-walls"].openings if o.kind == "door"]
        assert any("110Z" in finding.text for finding in store.job.sheets[1].findings)
    assert (door.mark, door.height) == ("104A", pytest.approx(8 * FOOT))
    (reason,) = [o.reason for _, room in traced.put if room.number == "104" for o in room.openings if o.mark]
    assert "door 104A of the schedule on sheet" in reason
    assert any("the height of a schedule" in note and "104A" in note for note in traced.notes)


def test_a_door_drawn_in_another_width_than_the_schedule_has_makes_its_rooms_doubtful(job):
    """Doors 104A and 105A are drawn 6 ft wide, and the schedule says 70 mm and 79 mm less: frames explain up to 75."""
    with actions.open_job(job, **DONE) as store:
        rooms = {room.number: room for room in read_sheet_trace(store, 1).rooms()}
    for number in ("101", "105"):
        assert not rooms[number].sure
        assert "1.83 m wide" in rooms[number].reasons[-1]
        assert "1.75 m" in rooms[number].reasons[-1]
        (door,) = [o for o in rooms[number].openings if o.mark == "105A"]
        assert door.confidence <= 0.7
    assert rooms["102"].sure
    assert rooms["104"].sure


def test_a_door_without_a_mark_in_the_schedule_keeps_what_is_assumed(job):
    """Door 107A has no row here: 7 ft (common practice, no source)."""
    with actions.open_job(job, **DONE) as store:
        trace_sheet(store, 1, all=True, height=3.6)
        (door,) = [o for o in store.job.runs["R107-walls"].openings if o.kind == "door"]
    assert (door.mark, door.height) == ("", pytest.approx(7 * FOOT))


def test_the_command_tells_marks_and_heights_of_openings(job):
    ran = CliRunner().invoke(app, ["trace", str(job), "1", "--at", "1370,1100", "--json"])
    assert ran.exit_code == 0, ran.output
    (room,) = json.loads(ran.stdout)["rooms"]
    doors = {o["mark"]: o["height"] for o in room["openings"]}
    assert doors["108B"] == pytest.approx(10 * FOOT)
    assert doors["108B"] != pytest.approx(HEIGHTS["roll-up"][0])


def test_a_schedule_of_windows_gives_sills_by_the_column_or_by_the_head():
    table = table_of(
        draw_table(
            ["WINDOW NO.", "WIDTH", "HEIGHT", "SILL HEIGHT", "HEAD HEIGHT"],
            [
                ["W1", "4'-0\"", "3'-0\"", "3'-6\"", "-"],
                ["W2", "4'-0\"", "3'-0\"", "-", "7'-0\""],
                ["W3", "900", "600", "-", "-"],
            ],
        )
    )
    assert {row.kind for row in table.rows} == {"window"}
    sills = [row.sill for row in table.rows]
    assert sills == [pytest.approx(3.5 * FOOT), pytest.approx(4 * FOOT), None]


def test_a_schedule_of_windows_without_heights_gives_them_by_head_and_sill():
    rows = [["W1", "4'-0\"", "7'-0\"", "3'-6\""], ["W2", "4'-0\"", "3'-0\"", "3'-6\""]]
    table = table_of(draw_table(["WINDOW NO.", "WIDTH", "HEAD HEIGHT", "SILL HEIGHT"], rows))
    assert [row.height for row in table.rows] == [pytest.approx(3.5 * FOOT), None]
    assert [doubt.partition(":")[0] for doubt in table.doubts] == ["window W2"]


def test_a_schedule_of_openings_tells_doors_from_windows_by_the_type():
    rows = [["101A", "Single leaf", "3'-0\" x 7'-0\"", "-"], ["A", "Fixed window", "6'-0\" x 4'-0\"", "3'-6\""]]
    table = table_of(draw_table(["OPENING", "TYPE", "WIDTH x HEIGHT", "SILL"], rows))
    assert [(row.kind, row.sill) for row in table.rows] == [("door", None), ("window", pytest.approx(3.5 * FOOT))]


@pytest.fixture
def sample(tmp_path):
    plans = [("plan.pdf", SAMPLE.read_bytes()), ("doors.pdf", draw_table(HEADINGS, DOORS))]
    with job_on(tmp_path / "own.takeoff", *plans[:1]) as store:
        actions.set_scale_ratio(store, store.job.sheets[1], "1:48")
        yield store


def test_every_opening_of_the_sample_plan_is_as_its_own_schedule_has_it(sample):
    """The schedule's rows, read off the sample plan by eye: mark, height and sill in feet."""
    by_eye = dict.fromkeys(["101A", "102A", "103A", "104A", "105A", "106A", "107A", "108A"], (7, 0))
    by_eye |= {"108B": (8, 0), "P": (3, 3), "A": (4, 3.5), "B": (3, 3.5), "C": (3, 4), "D": (3, 4)}
    trace_sheet(sample, 1, all=True)
    openings = [o for run in sample.job.runs.values() for o in run.openings]
    assert len(openings) == 25
    for opening in openings:
        assert (opening.height / FOOT, opening.sill / FOOT) == pytest.approx(by_eye[opening.mark])
        how = {basis.of: basis.how for basis in opening.basis}
        assert how["height"] == "schedule"
        assert how.get("sill", "schedule") == "schedule"


def test_where_two_schedules_say_different_things_of_one_mark_that_is_an_open_point(tmp_path):
    plans = [("plan.pdf", SAMPLE.read_bytes()), ("doors.pdf", draw_table(HEADINGS, DOORS))]
    with job_on(tmp_path / "two.takeoff", *plans) as store:
        actions.set_scale_ratio(store, store.job.sheets[1], "1:48")
        trace_sheet(store, 1, all=True)
        openings = {o.mark: o for run in store.job.runs.values() for o in run.openings}
    (tall,) = [basis for basis in openings["101A"].basis if basis.of == "height"]
    assert tall.is_open
    assert "6'-8\"" in tall.unsure
    (same,) = [basis for basis in openings["102A"].basis if basis.of == "height"]
    assert not same.is_open


def test_a_schedule_whose_text_stands_behind_a_scan_is_told_to_be_compared():
    data = draw_table(HEADINGS, DOORS)
    sheet = replace(read_sheets(data, "a.pdf")[0][0], kind="scan", dpi=200.0)
    read = read_opening_table(read_linework(data, sheet), read_lines(data, sheet), sheet)
    assert "the sheet is a scan, whose text was recognised: compare the schedule with the picture" in read.doubts
    assert table_of(data).doubts == ()
