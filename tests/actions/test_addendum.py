"""A whole new set: sheets matched, those that are the same left alone, the changed one compared and taken in."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pymupdf
import pytest

from takeoff.actions import add_plans, confirm_points, find_sheet, history, undo
from takeoff.actions.addendum import accept_set, compare_set, standing_sheets
from takeoff.actions.comparing import compare_revision
from takeoff.actions.left_of_sets import new_note
from takeoff.actions.points.deriving import open_points
from takeoff.actions.revising import accept_revision
from takeoff.errors import InputError
from takeoff.job.edits import PutFindings
from takeoff.model.plan import Finding, Sheet
from tests.jobs import PLANS
from tests.revise.conftest import job_of


def other_page(document: pymupdf.Document, number: str, title: str, mark: str) -> None:
    """A page of details with a title block, which the register reads number and title from."""
    page = document.new_page(width=1224, height=792)
    page.draw_rect((100, 100, 400, 300))
    page.insert_text((120, 200), mark, fontsize=12)
    page.insert_text((1060, 700), title, fontsize=10)
    page.insert_text((1060, 740), number, fontsize=20)


def a_set(plan: str, marks: dict[str, str]) -> bytes:
    with pymupdf.open() as out:
        with pymupdf.open(PLANS / plan) as source:
            out.insert_pdf(source, from_page=0, to_page=0)
        for number, mark in marks.items():
            other_page(out, number, f"DETAILS {number}", mark)
        return bytes(out.tobytes())


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path


def test_a_set_is_matched_and_only_what_changed_is_compared(folder):
    new = a_set("facility-rev-b.pdf", {"A-501": "one", "A-502": "two"})
    with job_of(folder, "A") as store:
        sheets = len(store.job.sheets)
        found = {s.label.split()[0]: s for s in compare_set(store, "set.pdf", new)}
        assert found["A-101"].state == "changed"
        assert found["A-101"].revision is not None
        assert {s.state for label, s in found.items() if label.startswith("A-5")} == {"new"}
        assert len(store.job.sheets) == sheets
        taken = accept_set(store, list(found.values()), "sure")
        assert len(taken) == 1
        # one sheet was added, the changed one, and it has the plain number now
        assert len(store.job.sheets) == sheets + 1
        assert find_sheet(store.job, "A-101").revision == "B"
        assert [s.number for s in standing_sheets(store.job)].count("A-101") == 1
        assert len(history(store)) > 1
        undo(store)
        assert len(store.job.sheets) == sheets


def test_a_set_with_the_same_sheets_changes_nothing(folder):
    same = a_set("facility-imperial.pdf", {})
    with job_of(folder, "A") as store:
        found = compare_set(store, "set.pdf", same)
        assert [s.state for s in found if s.new is not None] == ["same"]
        assert {s.state for s in found if s.new is None} <= {"gone"}
        assert accept_set(store, found, "all") == ()


def test_a_set_that_is_in_the_job_is_refused(folder):
    with job_of(folder, "A") as store, pytest.raises(InputError, match="in the job already"):
        compare_set(store, "same.pdf", (PLANS / "facility-imperial.pdf").read_bytes())


def test_going_back_a_revision_gives_the_plain_number_to_the_sheet_that_walls_stand_on(folder):
    with job_of(folder, "A") as store:
        for issue in ("b", "c", "b"):
            plan = PLANS / f"facility-rev-{issue}.pdf"
            old = find_sheet(store.job, "A-101")
            accept_revision(store, compare_revision(store, old, plan.name, plan.read_bytes()), "sure")
            now = find_sheet(store.job, "A-101")
            assert now.revision == issue.upper()
            assert any(run.sheet == now.id for run in store.job.runs.values())


def schedule_page(document: pymupdf.Document, rows: dict[str, tuple[str, str]], date: str) -> None:
    """A sheet of an opening schedule alone, ruled, with a title block."""
    page = document.new_page(width=1224, height=792)
    page.insert_text((100, 90), "DOOR SCHEDULE", fontsize=10)
    table = {"MARK": ("WIDTH", "HEIGHT"), **rows}
    for k, (mark, sizes) in enumerate(table.items()):
        for x, text in zip((104, 204, 304), (mark, *sizes), strict=True):
            page.insert_text((x, 112 + 16 * k), text, fontsize=8)
    for k in range(len(table) + 1):
        page.draw_line((100, 100 + 16 * k), (400, 100 + 16 * k), width=0.4)
    for x in (100, 200, 300, 400):
        page.draw_line((x, 100), (x, 100 + 16 * len(table)), width=0.4)
    for y, text, size in ((690, f"DATE: {date}", 8), (710, "SCHEDULES", 10), (740, "A-602", 20)):
        page.insert_text((1060, y), text, fontsize=size)


def schedules(height: str, date: str) -> bytes:
    with pymupdf.open() as out:
        schedule_page(out, {"104A": ("6'-0\"", height), "900": ("3'-0\"", "7'-0\"")}, date)
        return bytes(out.tobytes())


@pytest.mark.parametrize(("height", "date", "runs"), [("8'-0\"", "2026-02-01", 2), ("7'-0\"", "2026-02-01", 0)])
def test_a_schedule_on_a_sheet_of_its_own_is_compared_for_the_walls_of_all_sheets(folder, height, date, runs):
    with job_of(folder, "A") as store:
        add_plans(store, [("doors.pdf", schedules("7'-0\"", "2026-01-01"))])
        (found,) = [s for s in compare_set(store, "new.pdf", schedules(height, date)) if s.new is not None]
        assert found.state == "changed"
        if not runs:
            assert "DATE: 2026-02-01" in found.found
            return
        assert found.revision is not None
        marked = [id for id, run in store.job.runs.items() if any(o.mark == "104A" for o in run.openings)]
        assert [one.before.id for one in found.revision.runs] == marked
        accept_set(store, [found], "all")
        now = [o for id in marked for o in store.job.runs[id].openings if o.mark == "104A"]
        assert {round(o.height / 0.3048, 6) for o in now} == {8.0}
        assert find_sheet(store.job, "A-602").id == found.revision.sheet.id


def test_what_a_schedule_says_of_walls_stays_open_until_their_proposals_are_taken(folder):
    with job_of(folder, "A") as store:
        add_plans(store, [("doors.pdf", schedules("7'-0\"", "2026-01-01"))])
        new = schedules("8'-0\"", "2026-02-01")
        found = compare_revision(store, find_sheet(store.job, "A-602"), "new.pdf", new)
        first, *rest = [one.before.id for one in found.runs]
        assert rest
        for taken, is_open in (([first], True), (rest, False)):
            found = compare_revision(store, found.old, "new.pdf", new)
            accept_revision(store, found, taken)
            told = [p for p in open_points(store.job, has_stakes=False).open if "high by the schedule" in p.why]
            assert bool(told) == is_open


NOTES = "GENERAL NOTES: ALL CEILINGS ARE {} UNLESS NOTED OTHERWISE"


def notes_page(height: str, number: str, revision: str) -> bytes:
    with pymupdf.open() as out:
        page = out.new_page(width=1224, height=792)
        page.insert_text((100, 100), NOTES.format(height), fontsize=10)
        for y, text, size in ((690, f"REV {revision}", 8), (710, "NOTES", 10), (740, number, 20)):
            page.insert_text((1060, y), text, fontsize=size)
        return bytes(out.tobytes())


@pytest.mark.parametrize(
    ("number", "height", "told"), [("A-001", "9'-0\"", True), ("A-001", "10'-0\"", False), ("E-001", "9'-0\"", False)]
)
def test_a_sheet_without_walls_is_taken_in_and_what_it_says_anew_stays_open(folder, number, height, told):
    """What is read of the set later is read of its newest sheets; another trade's notes say nothing of walls."""
    with job_of(folder, "A") as store:
        add_plans(store, [("notes.pdf", notes_page("10'-0\"", number, "0"))])
        found = compare_set(store, "new.pdf", notes_page(height, number, "1"))
        accept_set(store, found, "sure")
        assert find_sheet(store.job, number).revision == "1"
        points = [p.why for p in open_points(store.job, has_stakes=False).open if "ALL CEILINGS" in p.why]
        assert bool(points) == told


def test_of_two_revisions_in_one_set_the_newer_is_compared_and_going_back_is_told(folder):
    def pages(*revisions: str) -> bytes:
        with pymupdf.open() as out:
            for revision in revisions:
                with pymupdf.open("pdf", notes_page(f"{revision}0'-0\"", "A-001", revision)) as one:
                    out.insert_pdf(one)
            return bytes(out.tobytes())

    with job_of(folder, "A") as store:
        add_plans(store, [("notes.pdf", pages("1"))])
        for revisions, now, is_back in ((("3", "2"), "3", False), (("2",), "2", True)):
            accept_set(store, compare_set(store, f"{now}.pdf", pages(*revisions)), "sure")
            assert find_sheet(store.job, "A-001").revision == now
            told = [p for p in open_points(store.job, has_stakes=False).open if "look whether it is the newer" in p.why]
            assert bool(told) == is_back


def addendum(*lines: str) -> bytes:
    with pymupdf.open() as out:
        page = out.new_page(width=612, height=792)
        for k, line in enumerate(("ADDENDUM NO. 2", *lines)):
            page.insert_text((72, 100 + 16 * k), line, fontsize=10)
        return bytes(out.tobytes())


def test_what_an_addendum_says_in_words_is_an_open_point_until_it_is_confirmed(folder):
    with job_of(folder, "A") as store:
        number = next(room.number for room in store.job.rooms.values() if room.number)
        new = addendum(f"1. DELETE ROOM {number}.", "2. CEILINGS ARE 10'-0\".", "3. REPLACE THE TITLE SHEET.")
        found = compare_set(store, "addendum.pdf", new)
        assert accept_set(store, found, "none") == ()
        assert not [p for p in open_points(store.job, has_stakes=False).open if "DELETE" in p.why]
        accept_set(store, found, "all")
        told = [p for p in open_points(store.job, has_stakes=False).open if "it says" in p.why]
        assert [p.why.split("“")[1][:1] for p in told] == ["1", "2"]
        assert all(p.where.at_pt is not None for p in told)
        confirm_points(store, told[:1])
        assert [p.key for p in open_points(store.job, has_stakes=False).open if "it says" in p.why] == [told[1].key]


def new_plan(number: str) -> bytes:
    with pymupdf.open() as out:
        page = out.new_page(width=1224, height=792)
        page.draw_rect((100, 100, 400, 300))
        for y, text, size in ((710, "SECOND FLOOR PLAN", 10), (740, number, 20)):
            page.insert_text((1060, y), text, fontsize=size)
        return bytes(out.tobytes())


def test_a_new_plan_of_a_set_goes_into_the_register_and_stays_open(folder):
    with job_of(folder, "A") as store:
        found = compare_set(store, "new.pdf", new_plan("A-102"))
        for _ in range(2):  # once, however often it is taken
            accept_set(store, found, "all")
        sheet = find_sheet(store.job, "A-102")
        assert [p.where.sheet for p in open_points(store.job, has_stakes=False).open if "no figure" in p.why] == [
            sheet.id
        ]
        undo(store)
        assert all(sheet.number != "A-102" for sheet in store.job.sheets.values())


def test_a_newer_revision_that_was_not_taken_is_open_until_one_is(folder):
    with job_of(folder, "A") as store:
        new = (PLANS / "facility-rev-b.pdf").read_bytes()
        found = compare_set(store, "b.pdf", new)
        left = [replace(s, revision=None, note="not compared: it shows another floor") for s in found]

        def told() -> list[str]:
            return [p.why for p in open_points(store.job, has_stakes=False).open if "was not taken" in p.why]

        accept_set(store, left, "all")
        assert len(told()) == 1
        assert told()[0].endswith("was not taken, page 1 of b.pdf: not compared: it shows another floor.")
        accept_set(store, left, "all")
        assert len(told()) == 1
        accept_set(store, found, "all")
        assert told() == []


def test_what_is_open_of_a_revision_stays_open_when_the_next_one_comes(folder):
    """A note that changed in revision B is not settled by revision C; what a person confirmed is."""
    with job_of(folder, "A") as store:
        old = find_sheet(store.job, "A-101")
        notes = tuple(Finding(about="written", text=f"beside the plan, text “{n}” is new") for n in ("ONE", "TWO"))
        store.do(PutFindings(sheet=old.id, about=("written",), findings=notes))
        first = [p for p in open_points(store.job, has_stakes=False).open if "“ONE”" in p.why]
        confirm_points(store, first)
        data = (PLANS / "facility-rev-b.pdf").read_bytes()
        accept_revision(store, compare_revision(store, old, "b.pdf", data), "all")
        now = find_sheet(store.job, "A-101")
        told = [p for p in open_points(store.job, has_stakes=False).open if "beside the plan" in p.why]
        assert [(p.where.sheet, "“TWO”" in p.why) for p in told if "“" in p.why] == [(now.id, True)]


def test_a_sheet_in_place_of_others_is_told_with_all_of_them_that_have_its_title():
    page = Sheet(id=9, source="", page=1, width_pt=9.0, height_pt=9.0, number="A-101", title="FLOOR PLAN")
    parts = [replace(page, id=k, number=f"A-101{part}") for k, part in enumerate("AB")]
    assert "the title of A-101A and A-101B, which the set lacks: compare it with each of them" in new_note(page, parts)
    assert "the title of A-101A, which the set lacks: compare it with that" in new_note(page, parts[:1])
