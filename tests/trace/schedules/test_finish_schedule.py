"""Finish schedules: the sample set's, and tables drawn here in other ways; then laid upon rooms."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pymupdf
import pytest
import typer
from typer.testing import CliRunner

from takeoff import actions
from takeoff.actions.quantities import catalogue_of
from takeoff.actions.schedules import apply_finish_schedule, read_finish_schedule
from takeoff.cli.check import finishes
from takeoff.errors import InputError
from takeoff.job.edits import PutRoom
from takeoff.job.job import Job, JobSettings
from takeoff.job.store import JobStore
from takeoff.model.systems import System
from takeoff.model.walls import Cove, HeightProfile, Room
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.schedules.finish_matching import cove_in_words, match_schedule
from takeoff.trace.schedules.finish_schedule import FinishRow, FinishSchedule, read_finish_table
from tests.jobs import DONE, PLANS, job_on

FOOT = 0.3048
HEADINGS = ["ROOM NO.", "ROOM NAME", "FLOOR", "BASE", "WALL", "HEIGHT", "REMARKS"]
ROWS = [
    ["101", "KILN", "F1", "B1", "W1", "9'-0\"", "-"],
    ["102", "DRYING HALL", "F1", "B1", "W2", "10'-6\"", "Reveals coated"],
    ["A103", "OFFICE", "F2", "-", "W2", "8'-0\"", ""],
]


def draw_table(
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    ruled: bool = True,
    rotation: int = 0,
    extra: str = "",
    title: str = "ROOM FINISH SCHEDULE",
) -> bytes:
    """Draw a schedule as displayed on a page that is turned by ``rotation``."""
    document = pymupdf.open()
    page = document.new_page(width=900, height=600)
    edges = [60.0]
    for column in range(len(headings)):
        longest = max(len(row[column]) for row in [headings, *rows])
        edges.append(edges[-1] + 6.0 * longest + 16)
    for index, row in enumerate([headings, *rows]):
        top = 100 + 20 * index
        for left, text in zip(edges, row, strict=False):
            if text:
                page.insert_text((left + 5, top + 14), text, fontsize=9)
        if ruled:
            page.draw_line((edges[0], top), (edges[-1], top), width=0.4)
    if ruled:
        for x in edges:
            page.draw_line((x, 100), (x, 100 + 20 * (len(rows) + 1)), width=0.4)
    page.insert_text((60, 88), title, fontsize=12)
    page.insert_text((60, 500), extra, fontsize=9)
    if rotation:
        # the same picture drawn turned on the page, which is then displayed turned back
        turned = pymupdf.open()
        size = (600, 900) if rotation % 180 else (900, 600)
        onto = turned.new_page(width=size[0], height=size[1])
        onto.show_pdf_page(onto.rect, document, 0, rotate=rotation)
        onto.set_rotation(rotation)
        return bytes(turned.tobytes())
    return bytes(document.tobytes())


def schedule_of(data: bytes, page: int = 1) -> FinishSchedule:
    sheet = read_sheets(data, "a.pdf")[0][page - 1]
    return read_finish_table(read_linework(data, sheet), read_lines(data, sheet), sheet)


@pytest.fixture(scope="module")
def sample() -> FinishSchedule:
    return schedule_of((PLANS / "facility-imperial.pdf").read_bytes(), 3)


@pytest.fixture(scope="module")
def systems() -> dict[str, System]:
    return {system.id: system for system in catalogue_of(Job(settings=JobSettings(name="a"))).systems}


@pytest.fixture
def store(tmp_path: Path) -> JobStore:
    """A job of the sample set with its rooms by number and name alone."""
    data = (PLANS / "facility-imperial.pdf").read_bytes()
    made = job_on(tmp_path / "a.takeoff", ("a.pdf", data))
    for room in sample_rooms():
        made.do(PutRoom(room=Room(id=room["id"], number=room["number"], name=room["name"])))
    return made


def sample_rooms() -> list[dict]:
    return json.loads((PLANS / "facility-edits.json").read_text(encoding="utf-8"))["rooms"]


def test_the_sample_schedule_is_read_row_by_row(sample: FinishSchedule) -> None:
    assert [(row.number, row.name) for row in sample.rows] == [
        (room["number"], room["name"].upper()) for room in sorted(sample_rooms(), key=lambda room: room["number"])
    ]
    process = sample.rows[3]
    assert (process.number, process.wall, process.base, process.walls) == ("104", "W1", "B1", ("W1",) * 4)
    assert process.height == pytest.approx(12 * FOOT)
    assert process.remarks == "Pillars full height; coat reveals of windows A"


def test_the_legend_tells_what_the_codes_stand_for(sample: FinishSchedule) -> None:
    assert sample.legend["W5"] == "Flake broadcast wall coating"
    assert sample.legend["B1"] == 'Integral cove base, 4" high, 1" radius'
    assert "101A" not in sample.legend


@pytest.mark.parametrize(
    ("entry", "legend"),
    [
        ("RW-1 RESINOUS COATING CB INTEGRAL COVE BASE", {"RW-1": "RESINOUS COATING", "CB": "INTEGRAL COVE BASE"}),
        ("RW-1 - PAINT  CB - INTEGRAL COVE BASE", {"RW-1": "PAINT", "CB": "INTEGRAL COVE BASE"}),
        ("RW-1 PAINT TO MATCH CB COVE", {"RW-1": "PAINT TO MATCH CB COVE"}),
    ],
)
def test_a_text_of_a_legend_may_explain_several_codes(entry: str, legend: dict[str, str]) -> None:
    rows = [["101", "HALL", "CONC", "CB", "RW-1", "9'-0\"", ""]]
    assert schedule_of(draw_table(HEADINGS, rows, extra=entry)).legend == legend


@pytest.mark.parametrize(
    "entry", ["RW-1  Resinous wall coating", "RW-1 - Resinous wall coating", "RW-1: Resinous wall coating"]
)
def test_a_legend_may_hold_code_and_words_in_one_text(entry: str) -> None:
    rows = [[*row[:4], "RW-1", *row[5:]] for row in ROWS]
    assert schedule_of(draw_table(HEADINGS, rows, extra=entry)).legend == {"RW-1": "Resinous wall coating"}


def test_a_sloped_height_is_left_and_told(sample: FinishSchedule) -> None:
    store = next(row for row in sample.rows if row.number == "107")
    assert store.height is None
    assert sample.doubts == ("room 107: the height “12'-0\" TO 9'-0\"” is not one length",)


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
@pytest.mark.parametrize("ruled", [True, False])
def test_a_table_is_read_with_and_without_rules_on_turned_pages(ruled: bool, rotation: int) -> None:
    read = schedule_of(draw_table(HEADINGS, ROWS, ruled=ruled, rotation=rotation))
    found = [(r.number, r.name, r.base, r.wall, r.height_text, r.remarks) for r in read.rows]
    assert found == [
        (number, name, "" if base == "-" else base, wall, height, remark)
        for number, name, _, base, wall, height, remark in ROWS
    ]
    assert [row.height for row in read.rows] == pytest.approx([9 * FOOT, 10.5 * FOOT, 8 * FOOT])


def test_columns_may_come_in_another_order_with_other_words() -> None:
    headings = ["RM #", "WALLS", "COVE", "CLG HT", "NAME"]
    read = schedule_of(draw_table(headings, [["12", "W9", "B2", "2.7 m", "Lab"], ["14", "W9", "B2", "3.0 m", "Bay"]]))
    assert [(row.number, row.wall, row.base, row.height, row.name) for row in read.rows] == [
        ("12", "W9", "B2", 2.7, "Lab"),
        ("14", "W9", "B2", 3.0, "Bay"),
    ]
    assert "ceiling heights" in read.doubts[0]


def test_walls_by_compass_that_differ_have_no_one_code() -> None:
    headings = ["NO.", "NAME", "BASE", "WALL N", "WALL E", "WALL S", "WALL W", "HEIGHT"]
    [row] = schedule_of(draw_table(headings, [["7", "Wash", "B1", "W1", "W1", "W2", "-", "9'-0\""]])).rows
    assert row.walls == ("W1", "W1", "W2")
    assert row.wall == ""


def test_a_sheet_without_a_schedule_is_refused() -> None:
    with pytest.raises(InputError, match="no finish schedule was found"):
        schedule_of(draw_table(["MARK", "TYPE", "WIDTH"], [["101A", "Single leaf", "3'-0\""]]))


def test_the_sample_codes_find_the_systems_that_its_edits_use(
    sample: FinishSchedule, systems: dict[str, System]
) -> None:
    rooms = [Room(id=room["id"], number=room["number"]) for room in sample_rooms()]
    match = match_schedule(sample, rooms, systems)
    # the edits were written with the building, by a person; the schedule tells the same by words alone
    assert {found.room.id: found.room.system for found in match.rooms} == {
        room["id"]: room["system"] for room in sample_rooms()
    }
    assert {meaning.how for meaning in match.codes} == {"words"}
    assert match.rows_left == match.rooms_left == ()


def test_rooms_are_matched_by_number_then_by_name_and_the_rest_is_listed(systems: dict[str, System]) -> None:
    rows = tuple(FinishRow(number=n, name=name, walls=("W1",)) for n, name in (("1", "A"), ("2", "B"), ("3", "C")))
    rooms = [Room(id="x", number="1"), Room(id="y", name="b"), Room(id="z", number="9", name="C")]
    match = match_schedule(FinishSchedule(rows=rows), rooms, systems, {"w1": "thin-film"})
    assert [(found.room.id, found.how, found.room.system) for found in match.rooms] == [
        ("x", "number", "thin-film"),
        ("y", "name", "thin-film"),
    ]
    assert [row.number for row in match.rows_left] == ["3"]
    assert [room.id for room in match.rooms_left] == ["z"]


def test_two_rooms_with_one_number_are_both_left(systems: dict[str, System]) -> None:
    schedule = FinishSchedule(rows=(FinishRow(number="1", walls=("W1",)),))
    match = match_schedule(schedule, [Room(id="x", number="1"), Room(id="y", number="1")], systems)
    assert match.rooms == ()
    assert len(match.rows_left) == 1


def test_a_code_that_fits_no_one_system_is_told_and_keeps_the_rooms_system(systems: dict[str, System]) -> None:
    schedule = FinishSchedule(rows=(FinishRow(number="1", walls=("W1",)),), legend={"W1": "Ceramic tile, full height"})
    match = match_schedule(schedule, [Room(id="x", number="1", system="thin-film")], systems)
    assert match.rooms[0].room.system == "thin-film"
    assert match.doubts == ("code W1 “Ceramic tile, full height” stands for no one system of the job",)


def test_a_named_system_that_is_not_known_is_refused(systems: dict[str, System]) -> None:
    with pytest.raises(InputError, match="no system"):
        match_schedule(FinishSchedule(rows=()), [], systems, {"W1": "gold-leaf"})


def test_a_base_that_is_no_cove_takes_the_rooms_cove_away(systems: dict[str, System]) -> None:
    cove = Cove(height=0.1, toe=0.1, radius=0.025, thickness=0.006)
    schedule = FinishSchedule(rows=(FinishRow(number="1", base="B0"),), legend={"B0": "No integral base"})
    match = match_schedule(schedule, [Room(id="x", number="1", cove=cove)], systems)
    assert match.rooms[0].room.cove is None
    assert match.rooms[0].changes == ("cove",)


def test_a_cove_that_is_as_the_legend_says_keeps_its_thickness(systems: dict[str, System]) -> None:
    cove = Cove(height=0.1016, toe=0.1016, radius=0.0254, thickness=0.005, jamb_return=0.1)
    legend = {"B1": 'Integral cove base, 4" high, 1" radius'}
    schedule = FinishSchedule(rows=(FinishRow(number="1", base="B1"),), legend=legend)
    match = match_schedule(schedule, [Room(id="x", number="1", cove=cove)], systems)
    assert match.rooms[0].changes == ()


@pytest.mark.parametrize(
    ("words", "height", "radius"),
    [
        ('4" cove base', 0.1016, 0.0254),
        ("Integral cove, 150 mm high, radius 40 mm", 0.15, 0.04),
        ('6" integral cove with 1 1/2" radius', 0.1524, 0.0381),
    ],
)
def test_a_cove_is_read_from_its_words(words: str, height: float, radius: float) -> None:
    cove = cove_in_words(words)
    assert cove is not None
    assert (cove.height, cove.toe, cove.radius) == pytest.approx((height, max(0.0254, radius), radius))


def test_a_cove_without_a_height_is_none() -> None:
    assert cove_in_words("Integral cove base") is None


def test_applying_a_schedule_is_one_step_that_can_be_undone(store: JobStore) -> None:
    with store:
        before = store.job
        match = read_finish_schedule(store, store.job.sheets[3])
        assert store.job == before
        apply_finish_schedule(store, match)
        truth = {room["id"]: room for room in sample_rooms()}
        for room in store.job.rooms.values():
            assert room.system == truth[room.id]["system"]
            assert (room.cove is not None) == ("cove" in truth[room.id])
            if room.id != "R107":  # its height is written as a slope
                assert isinstance(room.height, HeightProfile)
        assert store.job.rooms["R104"].height == HeightProfile.constant(3.6576)
        actions.undo(store)
        assert dict(store.job.rooms) == dict(before.rooms)


def test_applying_it_again_changes_nothing(store: JobStore) -> None:
    with store:
        apply_finish_schedule(store, read_finish_schedule(store, store.job.sheets[3]))
        assert apply_finish_schedule(store, read_finish_schedule(store, store.job.sheets[3])) is None


def test_a_picture_shows_no_schedule(store: JobStore) -> None:
    with store, pytest.raises(InputError, match="picture"):
        read_finish_schedule(store, replace(store.job.sheets[3], kind="image"))


def test_the_command_shows_first_and_sets_on_demand(store: JobStore, tmp_path: Path) -> None:
    store.close()
    path = str(tmp_path / "a.takeoff")
    app = typer.Typer()
    app.command()(finishes)
    shown = CliRunner().invoke(app, [path, "A-601", "--json"])
    assert (shown.exit_code, json.loads(shown.stdout)["applied"]) == (0, False)
    done = CliRunner().invoke(app, [path, "A-601", "--apply", "--code", "W4=flake-wall", "--json"])
    told = json.loads(done.stdout)
    assert told["applied"]
    gowning = next(room for room in told["rooms"] if room["number"] == "102")
    assert gowning["system"] == "flake-wall"
    assert math.isclose(gowning["cove"]["height"], 4 * 0.0254)
    with actions.open_job(Path(path), **DONE) as opened:
        assert opened.job.rooms["R102"].system == "flake-wall"
    assert "Reinforced hygienic wall, epoxy glaze" in CliRunner().invoke(app, [path, "A-601"]).stdout


@pytest.mark.parametrize(
    ("text", "wall", "sides"),
    [
        ("ALL W1", "W1", {}),
        ("W1 ALL WALLS", "W1", {}),
        ("W1 (N & E), W2 (S & W)", "", {"N": "W1", "E": "W1", "S": "W2", "W": "W2"}),
        ("N, E & W: W1; S: W2", "", {"N": "W1", "E": "W1", "S": "W2", "W": "W1"}),
        ("W1 NORTH AND EAST WALLS", "", {"N": "W1", "E": "W1", "S": "", "W": ""}),
        ("N: W1, N: W2", "N: W1, N: W2", {}),
        ("W1 SOUTH, PAINT ELSEWHERE", "W1 SOUTH, PAINT ELSEWHERE", {}),
        ("W-1/W-2", "", {}),
        ("W1 & W2", "", {}),
        ("W1 OR W2", "", {}),
    ],
)
def test_one_cell_may_tell_the_walls_by_their_sides_and_what_is_not_plain_is_no_code_of_them(text, wall, sides) -> None:
    [row] = schedule_of(draw_table(HEADINGS, [["7", "WASH", "F1", "B1", text, "9'-0\"", ""]])).rows
    assert row.wall == wall
    assert {said.side: said.code for said in row.by_side} == sides


def test_a_heading_of_the_walls_height_is_no_wall_and_remarks_explain_no_code() -> None:
    headings = ["RM", "NAME", "BASE", "WALL A", "WALL B", "WALL HT.", "REMARKS"]
    rows = [["1", "BAR", "B1", "W1", "W1", "9'-0\"", "W1 BEHIND SINK"], ["2", "BAY", "B1", "W1", "W2", "9'-0\"", ""]]
    read = schedule_of(draw_table(headings, rows, extra="W1 Resinous wall coating"))
    assert [(row.walls, row.height) for row in read.rows] == [
        (("W1", "W1"), pytest.approx(9 * FOOT)),
        (("W1", "W2"), pytest.approx(9 * FOOT)),
    ]
    assert read.legend == {"W1": "Resinous wall coating"}


def test_a_wainscot_is_a_finish_of_the_walls_and_its_height_is_theirs() -> None:
    headings = ["RM", "NAME", "BASE", "WALL", "WAINSCOT", "WAINSCOT HT.", "REMARKS"]
    [row] = schedule_of(draw_table(headings, [["1", "BAR", "B1", "P1", "W1", "6'-0\"", ""]])).rows
    assert (row.walls, row.wall, row.height) == (("P1", "W1"), "", pytest.approx(6 * FOOT))
