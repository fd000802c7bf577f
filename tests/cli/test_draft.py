"""The command draft: what it tells, what a second run changes, and what a person gave that it leaves alone."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from PIL import Image

from takeoff.cli.main import run


@pytest.fixture(scope="session")
def drafted_once(tmp_path_factory: pytest.TempPathFactory, plans: Path) -> Path:
    """The sample set, drafted by the command once."""
    path = tmp_path_factory.mktemp("drafted") / "set.takeoff"
    assert run(["draft", str(path), "--plan", str(plans / "facility-imperial.pdf"), "--processes", "1"]) == 0
    return path


@pytest.fixture
def drafted(drafted_once: Path, tmp_path: Path) -> Path:
    """A copy of that job."""
    return Path(shutil.copy(drafted_once, tmp_path / "set.takeoff"))


@pytest.fixture(scope="session")
def truth(plans: Path) -> dict[str, dict[str, float]]:
    """What is true of each room: facility-truth.json, made by hand from the sizes that the set is drawn from."""
    rooms: dict[str, dict[str, float]] = json.loads((plans / "facility-truth.json").read_text(encoding="utf-8"))[
        "rooms"
    ]
    return rooms


def rooms_of(told):
    return {room["room"]: room for room in told["rooms"]}


def edited(path, job, done, **entry):
    """Apply one room's entry by an edits file, as a person would."""
    path.write_text(json.dumps({"schema": "takeoff.edits/1", "length_unit": "m", "rooms": [entry]}), encoding="utf-8")
    done("apply", job, path)


def test_the_page_tells_of_each_sheet_what_it_is_and_why_of_each_room_what_was_taken_and_what_is_open(drafted, done):
    page = done("draft", drafted, "--processes", "1")
    for words in ("floor plan", "its title says FLOOR PLAN", "INTERIOR ELEVATIONS", "FINISH SCHEDULE"):
        assert words in page.out
    # the plan shows in 104 a pair of leaves, two windows A and a window B
    assert re.search(r"104 PROCESS +12'-0\" +Reinforced hygienic wall, epoxy glaze +0'-4\" +4 +1 ", page.out)
    assert "W1     Mat-reinforced hygienic wall coating" in page.out
    net = done("measure", drafted, "--json").json["total"]["net_area"]
    assert f"Net area {net / 0.09290304:,.1f} sf" in page.out  # a foot is 0.3048 m (NIST Handbook 44, from memory)
    assert "Price USD" in page.out
    assert "open: Height of 107 STORE" in page.out  # its ceiling has two heights
    assert f"Next: takeoff points {drafted}" in page.err


def test_sources_say_of_every_value_where_it_came_from(drafted, done):
    page = done("draft", drafted, "--sources", "--processes", "1").out
    assert "height: 12'-0\" (from the schedule on sheet A-601:" in page
    assert "window, sill: 3'-6\" (from the schedule on sheet A-101:" in page  # the mark's line of that schedule
    assert "wall A of 104 PROCESS: closed, 4 points (measured on sheet A-101:" in page


def test_json_has_the_rooms_in_metres_with_sources_and_every_open_point(drafted, done, truth):
    told = done("draft", drafted, "--json", "--processes", "1").json
    assert told["schema"] == "takeoff.draft/1"
    assert [(sheet["use"], sheet["fault"]) for sheet in told["sheets"]] == [
        ("floor plan", ""),
        ("elevation", ""),
        ("schedule", ""),
    ]
    rooms = rooms_of(told)
    assert rooms.keys() == truth.keys()
    assert rooms["R104"]["height"]["source"].startswith("from the schedule on sheet A-601")
    assert {"height:R107", "system:R104"} <= {point["key"] for point in told["open_points"]["points"]}
    assert told["not_read"] == 0


def test_what_is_measured_of_the_draft_is_what_the_set_was_drawn_from(drafted, done, truth):
    measured = {item["id"]: item for item in done("measure", drafted, "--json").json["items"]}
    # 107 has no one height and 103 a low wall of its own: both are open points
    for room in truth.keys() - {"R107", "R103"}:
        assert measured[room]["gross_area"] == pytest.approx(truth[room]["gross_area"], rel=0.01), room


def test_two_processes_make_the_same_draft_as_one(drafted, done, plans, tmp_path):
    other = tmp_path / "two.takeoff"
    plan = plans / "facility-imperial.pdf"
    two = done("draft", other, "--plan", plan, "--processes", "2", "--json").json
    one = done("draft", drafted, "--processes", "1", "--json").json
    for told in (one, two):
        del told["sheets"]  # what was done is another the second time
    assert two == one


def test_drafting_again_adds_nothing_to_the_history(drafted, done):
    before = done("history", drafted).out
    done("draft", drafted, "--processes", "1")
    assert done("history", drafted).out == before


def test_a_code_that_is_named_changes_the_rooms_of_that_code_alone(drafted, done):
    before = rooms_of(done("draft", drafted, "--json", "--processes", "1").json)
    after = rooms_of(done("draft", drafted, "--code", "W1=mat-urethane", "--json", "--processes", "1").json)
    assert {room for room in before if before[room] != after[room]} == {"R104"}
    assert after["R104"]["system"]["value"] == "mat-urethane"


def test_what_was_edited_by_hand_is_kept(drafted, done, tmp_path):
    edited(tmp_path / "e.json", drafted, done, id="R105", height=2.5, system="thin-film")
    room = rooms_of(done("draft", drafted, "--code", "W3=mat-hygienic", "--json", "--processes", "1").json)["R105"]
    assert room["system"] == {"value": "thin-film", "source": "given by a person"}
    assert room["height"] == {"value": "8'-2 7/16\"", "source": "given by a person"}  # 2.5 m: 98.43 in, to 1/16 in


def test_a_point_that_was_answered_stays_answered(drafted, done):
    done("points", drafted, "--give", "height:R107=10'-6\"")
    told = done("draft", drafted, "--json", "--processes", "1").json
    assert rooms_of(told)["R107"]["height"] == {"value": "10'-6\"", "source": "given by a person"}
    assert "height:R107" not in {point["key"] for point in told["open_points"]["points"] if point["open"]}


def test_one_undo_takes_the_whole_draft_back(drafted, done):
    done("undo", drafted)
    assert done("measure", drafted, "--json").json["items"] == []


def test_a_sheet_that_cannot_be_read_is_told_with_its_fault_and_the_others_are_drafted(done, plans, tmp_path):
    blank = tmp_path / "blank.png"
    Image.new("RGB", (600, 400), "white").save(blank, dpi=(150, 150))
    job = tmp_path / "two.takeoff"
    told = done("draft", job, "--plan", blank, "--plan", plans / "facility-imperial.pdf", "--json").json
    assert "a picture carries no scale that can be read" in told["sheets"][0]["fault"]
    assert len(told["rooms"]) == 8
    reasons = [point["why"] for point in told["open_points"]["points"] if point["open"]]
    assert any("it was not read for the draft" in why for why in reasons)


def test_a_job_that_is_not_there_needs_plans_and_one_that_is_takes_none(drafted, refused, plans, tmp_path):
    assert "Name the plans of a new one behind it" in refused("draft", tmp_path / "none.takeoff")
    assert "exists already" in refused("draft", drafted, "--plan", plans / "facility-imperial.pdf")


def test_a_code_for_a_system_that_is_not_known_is_refused_before_a_sheet_is_read(drafted, refused):
    assert "no-such-system" in refused("draft", drafted, "--code", "W1=no-such-system")
