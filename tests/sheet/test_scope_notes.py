"""Notes that say how high walls are coated or leave rooms out: the words are common practice, no source."""

from __future__ import annotations

from collections.abc import Sequence

import pymupdf
import pytest

from takeoff import actions
from takeoff.job.edits import PutRoom, PutRun, SetCalibration
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Room, Run
from takeoff.sheet.files import read_sheets
from tests.jobs import job_on


def page_with(texts: Sequence[str]) -> bytes:
    """Write texts under one another on a page, as the notes of a sheet stand."""
    with pymupdf.open() as document:
        page = document.new_page(width=800, height=600)
        for n, text in enumerate(texts):
            page.insert_text((60, 80 + 12 * n), text, fontsize=9)
        return bytes(document.tobytes())


def notes_on(*texts: str) -> list[tuple[str, str]]:
    (sheet,) = read_sheets(page_with(texts), "notes.pdf")[0]
    return [(found.about, found.text) for found in sheet.findings]


@pytest.mark.parametrize(
    "text",
    [
        "PROVIDE WALL COATING TO 8'-0\" A.F.F. U.N.O.",
        "Epoxy coating on all walls of wet rooms, 2400 mm high",
        "RESINOUS WALL SYSTEM SHALL EXTEND TO UNDERSIDE OF DECK",
        'Wainscot to a height of 48" in corridors',
        "Walls are coated full height behind equipment",
    ],
)
def test_a_note_on_how_high_walls_are_coated_is_kept_in_its_words(text: str) -> None:
    ((about, said),) = notes_on(text)
    assert about == "extent"
    assert text in said


@pytest.mark.parametrize(
    "text",
    [
        "ALL DIMENSIONS ARE TO FACE OF STUD",
        'COVE BASE 4" HIGH',
        "WALL COATING: SEE FINISH SCHEDULE",
        "Floor coating 3 mm",
    ],
)
def test_other_notes_are_left_alone(text: str) -> None:
    assert notes_on(text) == []


@pytest.mark.parametrize("text", ["TYPICAL FLOOR PLAN, LEVELS 3-7", "THIS PLAN IS TYPICAL FOR FLOORS 2 THRU 5"])
def test_a_heading_that_a_plan_is_built_several_times_is_kept_where_the_title_does_not_say_it(text: str) -> None:
    assert notes_on(text) == [("times", f"“{text}” stands on it, and its walls are counted once")]


def test_a_note_over_two_lines_is_read_whole_and_ends_before_the_next_number() -> None:
    told = notes_on("1. PROVIDE RESINOUS WALL COATING UP", "TO 9'-0\" ABOVE THE FLOOR.", "2. SEE DOOR SCHEDULE.")
    ((_, said),) = told
    assert "“PROVIDE RESINOUS WALL COATING UP TO 9'-0\" ABOVE THE FLOOR.”" in said


def test_notes_are_open_points_once_walls_are_measured_and_of_rooms_that_they_name(tmp_path) -> None:
    plan = page_with(
        ["1. Wall coating to 8'-0\" A.F.F. in all rooms", "2. ROOM 104 IS NOT IN CONTRACT", "3. ROOM 9 N.I.C. AS SHOWN"]
    )
    store = job_on(tmp_path / "a.takeoff", ("a.pdf", plan))
    assert actions.open_points(store.job, has_stakes=False).points == ()
    store.do(SetCalibration(calibration=Calibration(sheet=1, mx=0.01, my=0.01)))
    store.do(PutRoom(room=Room(id="R", number="104", height=HeightProfile.constant(3.0))))
    store.do(PutRun(run=Run(id="a", sheet=1, points_pt=((100.0, 300.0), (400.0, 300.0)), room="R")))
    found = [point for point in actions.open_points(store.job, has_stakes=False).points if "a note on it" in point.why]
    assert [point.key.split(":")[0] for point in found] == ["extent", "scope"]
    assert "104" in found[1].why
