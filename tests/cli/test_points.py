"""The commands points and questions: listing, confirming, giving, failing on what is open, and asking the architect."""

from __future__ import annotations

import csv
import io
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from takeoff import actions
from takeoff.actions.given import opening_of
from takeoff.cli.main import run
from takeoff.job.edits import PutRun
from takeoff.trace.lines.traced_rooms import TracedOpening


@pytest.fixture(scope="session")
def room_made(jobs_made):
    """The sample set with room 104 traced, and a door and two windows in it that no schedule knows."""
    job = jobs_made / "room.takeoff"
    shutil.copy(jobs_made / "job.takeoff", job)
    assert run(["scale", str(job), "1", "--read"]) == 0
    assert run(["trace", str(job), "1", "--at", "300,400"]) == 0
    drawn = TracedOpening(at=3.0, width=1.0, form="window", kind="window", confidence=0.98, reason="lines of glass")
    door = replace(drawn, at=9.0, form="swing", kind="door")
    with actions.open_job(job, lambda: ("ann", "2026-01-05T08:00:00Z")) as store:
        walls = store.job.runs["R104-walls"]
        openings = tuple(opening_of(o, 1, store.job.settings.units) for o in (drawn, replace(drawn, at=6.0), door))
        store.do(PutRun(run=replace(walls, openings=openings)))
    return job


@pytest.fixture
def room(room_made, tmp_path):
    return Path(shutil.copy(room_made, tmp_path / "sample.takeoff"))


def keys(done, job) -> list[str]:
    return [p["key"] for p in done("points", job, "--json").json["points"] if p["open"]]


def test_points_of_one_kind_stand_on_one_line_with_a_key_for_all_of_them(room, done):
    listed = done("points", room)
    assert "Window sills taken at 3'-0\"" in listed.out
    assert "open points" in listed.out


def test_an_edit_that_leaves_something_open_says_so_in_the_same_words(job, done):
    done("scale", job, 1, "--read")
    told = done("trace", job, 1, "--at", "300,400").err
    assert "System of 104 PROCESS" in told
    assert "See: takeoff points JOB" in told


def test_a_key_confirms_a_point_and_undo_opens_it_again(room, done):
    key = next(k for k in keys(done, room) if k.startswith("sill:"))
    done("points", room, "--confirm", key)
    assert key not in keys(done, room)
    done("undo", room)
    assert key in keys(done, room)


def test_a_value_is_given_by_key(room, done):
    key = next(k for k in keys(done, room) if k.startswith("sill:"))
    done("points", room, "--give", f"{key}=3'-6\"")
    assert key not in keys(done, room)


def test_a_key_that_is_not_in_the_list_is_refused(room, refused):
    assert 'there is no open point "sill:nowhere:1"' in refused("points", room, "--confirm", "sill:nowhere:1")


def test_failing_on_what_is_open_ends_with_1_until_nothing_is(room, takeoff, done):
    assert takeoff("points", room, "--fail").code == 1
    done("points", room, "--give", "system:R104=mat-hygienic")
    done("points", room, "--confirm-all")
    assert takeoff("points", room, "--fail").code == 0


def test_a_bid_of_which_much_is_open_is_refused_and_says_what_is_open_where_it_is_asked_for(
    room, done, refused, tmp_path
):
    done("points", room, "--give", "system:R104=mat-hygienic")
    words = ("--out", tmp_path / "bid", "--edition", "bid", "--html")
    assert "A bid is written with up to 2%" in refused("report", room, *words)
    done("report", room, *words, "--allow-open")
    page = (tmp_path / "bid" / "bid.html").read_text(encoding="utf-8")
    assert "This price is provisional." in page
    assert "Not confirmed yet: Window sills are taken at 3&#39;-0&#34;; the drawings show none." in page
    done("points", room, "--confirm-all")
    done("report", room, *words)
    page = (tmp_path / "bid" / "bid.html").read_text(encoding="utf-8")
    assert "provisional" not in page
    assert "Window sills are taken at 3&#39;-0&#34;; the drawings show none." in page


def test_questions_are_numbered_with_what_is_assumed_meanwhile_and_the_key_to_answer_by(room, done, tmp_path):
    names = [line.rsplit("/", 1)[-1] for line in done("questions", room, "--out", tmp_path / "q").out.splitlines()]
    assert names == ["questions.pdf", "questions.html", "questions.csv"]
    assert (tmp_path / "q" / "questions.pdf").read_bytes().startswith(b"%PDF")
    rows = list(csv.DictReader(io.StringIO((tmp_path / "q" / "questions.csv").read_text(encoding="utf-8-sig"))))
    assert [row["Number"] for row in rows] == [str(n) for n in range(1, len(rows) + 1)]
    (sills,) = [row for row in rows if "the sill" in row["Question"]]
    assert sills["Assumed meanwhile"] == "Window sills are taken at 3'-0\"; the drawings show none."
    done("points", room, "--give", f"{sills['Key']}=3'-6\"")
    assert not [k for k in keys(done, room) if k.startswith("sill:")]
    page = (tmp_path / "q" / "questions.html").read_text(encoding="utf-8")
    assert page.count("data:image/png;base64,") >= 1


def test_a_plan_that_was_cut_short_opens_with_an_open_point_that_says_so(done, plans, tmp_path):
    whole = (plans / "facility-imperial.pdf").read_bytes()
    (tmp_path / "cut.pdf").write_bytes(whole[: len(whole) * 3 // 4])
    assert "was cut short" in done("new", tmp_path / "cut", "--plan", tmp_path / "cut.pdf").err
    assert "was cut short" in done("points", tmp_path / "cut").out
