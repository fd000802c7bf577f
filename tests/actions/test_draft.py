"""The draft of a job: each room right or open, what a person gave kept, the same again the second time."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from takeoff.actions.demonstration import draft_sample_set, judged
from takeoff.actions.draft.making import Draft, make_draft
from takeoff.actions.draft.sheet_reads import Lanes, SheetRead, read_here
from takeoff.actions.editing import confirm_points
from takeoff.actions.points.deriving import open_points
from takeoff.actions.schedules import keep_codes
from takeoff.job.edits import PutRoom
from takeoff.job.store import JobStore
from takeoff.measure.totals import summarise
from takeoff.model.open_points import basis_of
from takeoff.model.walls import HeightProfile
from tests.actions.drawn_sets import read_once
from tests.jobs import DONE, PLANS, job_on


def drafted(store: JobStore, readers: Any = read_once) -> Draft:
    return make_draft(store, readers=readers)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[JobStore]:
    """The sample set as it comes: a plan, elevations, and a finish schedule."""
    plan = PLANS / "facility-imperial.pdf"
    with job_on(tmp_path / "d.takeoff", plan) as made:
        yield made


def test_every_room_of_the_sample_set_is_drafted_right_or_open_and_says_where_its_values_came_from(store):
    draft = make_draft(store)
    assert [s.use for s in draft.sheets] == ["floor plan", "elevation", "schedule"]
    assert [s.fault for s in draft.sheets] == ["", "", ""]
    # facility-truth.json: made by the script that draws the set, by hand from its dimensions
    truth = json.loads((PLANS / "facility-truth.json").read_text(encoding="utf-8"))["rooms"]
    faces = draft.priced.measured.faces
    found = {i.id: i.quantities for i in summarise(faces, by="room", rooms=store.job.rooms, rule="exact-net").items}
    # a ceiling of two heights in 107; in 103 a splash wall of 6 ft that stands free and is no column
    open_rooms = {p.where.room for p in draft.points.open if p.kind in ("height", "outline")}
    assert open_rooms == {"R107", "R103"}
    for room in set(truth) - open_rooms:
        assert found[room].base_length == pytest.approx(truth[room]["base_length"], rel=0.01), room
        assert found[room].gross_area == pytest.approx(truth[room]["gross_area"], rel=0.01), room
    corridor = store.job.rooms["R101"]
    assert corridor.height.points[0][1] == pytest.approx(4 * 0.3048)  # what the schedule coats, not the ceiling
    assert basis_of(corridor, "height").how == basis_of(corridor, "system").how == "schedule"
    assert store.job.sheets[basis_of(corridor, "height").sheet].number == "A-601"


def test_no_room_of_the_small_bid_set_is_wrong_in_silence(tmp_path):
    # facility-set-truth.json: from the building's sizes by plain arithmetic; one of its plans is printed at half size
    said = {v.room[:3]: v for v in draft_sample_set(tmp_path / "s.takeoff", **DONE)}
    assert {v.verdict for v in said.values()} == {"right", "open"}
    assert [room for room, v in said.items() if v.verdict == "right"] == [
        "102",
        "104",
        "105",
        "106",
        "108",
        "201",
        "202",
    ]
    assert {room: v.differs for room, v in said.items() if v.differs} == {"107": ("area",)}  # it slopes: no height


def test_a_room_that_differs_from_the_truth_without_an_open_point_is_wrong(store):
    keep_codes(store, {"W1": "mat-hygienic", "W4": "thin-film"})
    draft = drafted(store)
    true = json.loads((PLANS / "facility-set-truth.json").read_text(encoding="utf-8"))["rooms"]
    true["104"]["system"] = "thin-film"
    true["102"]["openings"][0][2] += 0.1
    said = {v.room[:3]: (v.verdict, v.differs) for v in judged(store.job, draft, true)}
    assert said["104"] == ("wrong", ("system",))
    assert said["102"] == ("wrong", ("openings",))
    assert said["201"] == ("wrong", ("room",))  # that plan is not in this set


def test_a_set_in_which_no_sheet_is_a_floor_plan_says_of_each_why_it_is_left_out(store):
    def others(tasks, contents):
        return (SheetRead(sheet=t.sheet.id, use="other", why="its number E-1 is of another trade") for t in tasks)

    draft = drafted(store, readers=others)
    left = [p for p in draft.points.open if "left out: its number E-1 is of another trade" in p.why]
    assert [p.where.sheet for p in left] == [1, 2, 3]
    # once a plan is read nothing is left to say
    assert not [p for p in drafted(store).points.open if "left out" in p.why]


@pytest.mark.parametrize(
    ("title", "is_open"), [("SECOND FLOOR PLAN", True), ("SECOND FLOOR PLAN - POWER", False), ("FLOOR PLAN", False)]
)
def test_a_floor_plan_with_the_number_of_another_trade_is_open_unless_a_plan_of_its_title_is_taken(
    store, tmp_path, title, is_open
):
    sheets = dict(store.job.sheets)
    sheets[2] = replace(sheets[2], title=title)
    contents = {sha: store.source(sha) for sha in store.job.sources}

    def second_is_of_another_trade(tasks, contents):
        for read in read_once(tasks, contents):
            told = {"use": "other", "why": "its number E-1 is of another trade"} if read.sheet == 2 else {}
            yield replace(read, **told)

    with JobStore.create(tmp_path / "t.takeoff", replace(store.job, sheets=sheets), contents, **DONE) as other:
        draft = drafted(other, readers=second_is_of_another_trade)
    assert any(f"its title says {title}" in p.why for p in draft.points.open) == is_open


def test_a_metric_set_without_scale_notes_is_drafted_in_metres_and_says_why(tmp_path):
    import pymupdf

    # the metric sample without its written scales; its lengths are whole millimetres on A1
    with pymupdf.open(PLANS / "facility-metric.pdf") as document:
        for found in document[0].search_for("1:50"):
            document[0].add_redact_annot(found)
        document[0].apply_redactions(graphics=0)
        data = document.tobytes()
    with job_on(tmp_path / "m.takeoff", ("m.pdf", data), tells_units=True) as store:
        assert store.job.sheets[1].scale_note == ""
        assert store.job.settings.units == "metric"
        assert basis_of(store.job.settings, "units").how == "measured"


def test_units_that_nothing_tells_are_an_open_point_until_they_are_confirmed(tmp_path):
    from PIL import Image

    picture = tmp_path / "blank.png"
    Image.new("RGB", (600, 400), "white").save(picture, dpi=(150, 150))
    files = [(picture.name, picture.read_bytes())]
    with job_on(tmp_path / "p.takeoff", *files, tells_units=True) as store:
        points = [p for p in open_points(store.job).open if p.what == "Units of the drawings"]
        assert [p.taken for p in points] == ["imperial"]
        confirm_points(store, points)
        assert "Units of the drawings" not in [p.what for p in open_points(store.job).open]


def test_drafting_again_changes_nothing_and_adds_no_line_to_the_journal(store):
    drafted(store)
    job, lines = store.job, len(store.history())
    drafted(store)
    assert (store.job, len(store.history())) == (job, lines)


def test_what_a_person_gave_is_not_overwritten_and_what_is_missing_is_added(store):
    drafted(store)
    mine = replace(store.job.rooms["R104"], height=HeightProfile.constant(2.5), system=None, basis=())
    store.do(PutRoom(room=mine))
    drafted(store)
    assert store.job.rooms["R104"].height == HeightProfile.constant(2.5)
    assert store.job.rooms["R104"].system == "mat-hygienic"


def test_a_sheet_that_fails_is_told_and_the_others_go_on(tmp_path):
    from PIL import Image

    picture = tmp_path / "blank.png"
    Image.new("RGB", (600, 400), "white").save(picture, dpi=(150, 150))
    plan = PLANS / "facility-imperial.pdf"
    files = [(picture.name, picture.read_bytes()), (plan.name, plan.read_bytes())]
    with job_on(tmp_path / "d.takeoff", *files) as store:
        draft = drafted(store)
    assert draft.sheets[0].fault
    assert len(draft.rooms) == 8


def test_processes_side_by_side_give_the_same_job_as_one_after_another(store, tmp_path):
    make_draft(store)
    plan = PLANS / "facility-imperial.pdf"
    with job_on(tmp_path / "2.takeoff", plan) as other:
        make_draft(other, readers=Lanes(2))
        assert other.job == store.job


def test_a_draft_is_one_step_to_undo(store):
    before = store.job
    drafted(store)
    assert store.job != before
    store.undo()
    assert store.job == before
    assert not store.can_undo


def test_a_sheet_over_its_limit_is_an_open_point_until_it_can_be_read(store, monkeypatch):
    monkeypatch.setenv("TAKEOFF_MEMORY_MB", "1")  # less than the interpreter itself takes
    draft = make_draft(store, readers=Lanes(2))
    assert all("memory" in sheet.fault for sheet in draft.sheets)
    assert len([p for p in draft.points.open if "not read for the draft" in p.why]) == len(draft.sheets)
    monkeypatch.delenv("TAKEOFF_MEMORY_MB")
    again = make_draft(store, readers=Lanes(2))
    assert [sheet.fault for sheet in again.sheets] == ["", "", ""]
    assert not [p for p in again.points.open if "not read for the draft" in p.why]


def test_where_a_person_stops_it_what_was_read_is_kept_and_the_next_draft_goes_on(store):
    def stopped(tasks, contents):
        for count, read in enumerate(read_here(tasks, contents)):
            if count == 1:
                raise KeyboardInterrupt
            yield read

    draft = drafted(store, readers=stopped)
    assert (draft.not_read, len(store.job.runs) > 0) == (2, True)
    assert drafted(store).not_read == 0
    assert store.job.rooms["R101"].system == "flake-wall"


def test_a_system_that_words_alone_tell_is_open_until_its_code_is_named(store):
    def open_systems(draft):
        return {p.where.room for p in draft.points.open if p.kind == "system"}

    assert "R104" in open_systems(drafted(store))
    mine = replace(store.job.rooms["R105"], system="mat-urethane")
    store.do(PutRoom(room=mine))
    keep_codes(store, {"W1": "mat-urethane", "W3": "mat-hygienic"})
    draft = drafted(store)
    assert store.job.rooms["R104"].system == "mat-urethane"
    assert store.job.rooms["R105"].system == "mat-urethane"  # changed by hand
    assert not {"R104", "R105"} & open_systems(draft)


def test_a_room_of_the_finish_schedule_that_no_plan_shows_is_open_until_there_is_one_and_a_painted_one_is_not(store):
    def renumbered(tasks, contents):
        for read in read_once(tasks, contents):
            if read.finishes is not None:
                rows = [replace(r, number="999", name="LAB") if r.number == "104" else r for r in read.finishes.rows]
                painted = replace(rows[0], number="998", name="OFFICE", walls=("P1",) * 4)
                read = replace(read, finishes=replace(read.finishes, rows=(*rows, painted)))
            yield read

    draft = drafted(store, readers=renumbered)
    (left,) = [p for p in draft.points.open if "no one room that was traced is it" in p.why]
    assert left.where.sheet == 3
    assert "999 LAB with Reinforced hygienic wall, epoxy glaze" in left.why
    assert "Trace the room" in left.settle
    store.do(PutRoom(room=replace(store.job.rooms["R104"], number="999")))
    assert not [p for p in open_points(store.job).open if "no one room that was traced is it" in p.why]


def test_walls_that_differ_in_a_finish_schedule_without_saying_on_which_side_are_open_with_their_codes(store):
    def differing(tasks, contents):
        for read in read_once(tasks, contents):
            if read.finishes is not None:
                walls = ("W1", "W1", "W3", "W1")
                rows = tuple(
                    replace(r, walls=walls, by_side=()) if r.number == "104" else r for r in read.finishes.rows
                )
                read = replace(read, finishes=replace(read.finishes, rows=rows))
            yield read

    whys = [p.why for p in drafted(store, readers=differing).points.open]
    assert any("room 104: its walls differ (W1, W1, W3, W1)" in why for why in whys)
