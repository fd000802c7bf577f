"""Every input that cannot be used gives one line on stderr that says what to do, and exit code 2."""

from __future__ import annotations

import json
import os
import sqlite3
from pathlib import Path

import pytest

from takeoff import actions
from takeoff.cli.options import RULE_NAMES
from takeoff.measure.rules import RULES


def runs_of(path):
    with actions.open_job(path) as store:
        return dict(store.job.runs)


def test_a_plan_file_that_is_not_there(refused, tmp_path):
    line = refused("new", tmp_path / "job", "--plan", tmp_path / "plan.pdf")
    assert "there is no plan file" in line
    assert not (tmp_path / "job").exists()


def test_an_empty_plan_file(refused, tmp_path):
    (tmp_path / "plan.pdf").write_bytes(b"")
    assert "plan.pdf: the file is empty" in refused("new", tmp_path / "job", "--plan", tmp_path / "plan.pdf")
    assert not (tmp_path / "job").exists()


def test_a_plan_file_that_is_no_plan(refused, tmp_path):
    (tmp_path / "plan.pdf").write_text("minutes of a meeting", encoding="utf-8")
    assert "not a plan file" in refused("new", tmp_path / "job", "--plan", tmp_path / "plan.pdf")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_plan_that_is_a_pipe_nobody_writes_to(refused, tmp_path):
    os.mkfifo(tmp_path / "plan.pdf")
    assert "is no file on a disk" in refused("new", tmp_path / "job", "--plan", tmp_path / "plan.pdf")


@pytest.mark.skipif(not Path("/proc/version").exists(), reason="this system has no files that grow as they are read")
def test_a_file_that_is_longer_than_it_was_when_it_was_opened(refused, tmp_path):
    """What Linux tells of itself is a file of no bytes that has some when it is read (proc(5))."""
    assert "was changed while it was read" in refused("new", tmp_path / "job", "--plan", "/proc/version")


def test_a_plan_that_is_a_folder(refused, tmp_path):
    assert "is a folder" in refused("new", tmp_path / "job", "--plan", tmp_path)


def test_the_same_plan_twice(refused, tmp_path, plans):
    plan = plans / "facility-metric.pdf"
    assert "is the same file as" in refused("new", tmp_path / "job", "--plan", plan, "--plan", plan)


def test_a_job_without_a_plan(refused, tmp_path):
    assert "--plan" in refused("new", tmp_path / "job")


def test_a_job_that_exists_already(refused, job, plans):
    before = job.read_bytes()
    assert "exists already" in refused("new", job, "--plan", plans / "facility-metric.pdf")
    assert job.read_bytes() == before


def test_a_job_in_a_place_that_cannot_be_written(refused, tmp_path, plans):
    (tmp_path / "file").write_bytes(b"")
    line = refused("new", tmp_path / "file" / "job", "--plan", plans / "facility-metric.pdf")
    assert "permissions" in line or "folder" in line


@pytest.mark.parametrize("words", [("--currency", "dollars"), ("--precision", "3"), ("--rule", "guess")])
def test_settings_that_no_job_has(refused, tmp_path, plans, words):
    refused("new", tmp_path / "job", "--plan", plans / "facility-metric.pdf", *words)
    assert not (tmp_path / "job").exists()


@pytest.mark.parametrize("verb", ["sheets", "measure", "estimate", "undo", "redo", "history"])
def test_a_job_that_is_not_there(refused, tmp_path, verb):
    assert "there is no file" in refused(verb, tmp_path / "none")


def test_a_file_that_is_no_job(refused, tmp_path):
    (tmp_path / "notes.txt").write_text("not a job", encoding="utf-8")
    assert "is not a job file" in refused("measure", tmp_path / "notes.txt")


def test_a_database_of_another_program(refused, tmp_path):
    other = sqlite3.connect(tmp_path / "other.db")
    other.execute("CREATE TABLE t (x)")
    other.close()
    assert "is not a job file" in refused("measure", tmp_path / "other.db")


def test_a_job_of_a_newer_version_is_left_as_it_is(refused, job):
    db = sqlite3.connect(job)
    db.execute("PRAGMA user_version = 999")
    db.commit()
    db.close()
    before = job.read_bytes()
    assert "schema version 999" in refused("measure", job)
    assert job.read_bytes() == before


def test_a_wall_on_a_sheet_without_scale_is_said_not_to_be_in_the_figures(done, job, edits_file):
    done("apply", job, edits_file())
    assert "Not in the figures: sheet A-101 has no scale." in done("measure", job).err


def test_a_sheet_that_is_not_there_is_answered_with_those_there_are(refused, job):
    assert "1 (A-101)" in refused("scale", job, "A-999", "--ratio", "1:50")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--points", "10,10", "200,10", "--length", "0'"), "more than zero"),
        (("--points", "10,10", "10,10", "--length", "12'-6\""), "the two picked points are the same"),
        (("--points", "10,10", "200,10", "--length", "12"), "no unit"),
        (("--points", "10,10", "200,10"), "--points 1 times and --length 0 times"),
        (("--points", "10,10", "--length", "12'"), "not two points"),
        (("--points", "10,10", "20;10", "--length", "12'"), "is not a point"),
        (("--length", "12'"), "no way to set the scale"),
        ((), "no way to set the scale"),
        (("--read", "--ratio", "1:50"), "2 ways to set the scale"),
        (("--ratio", "1:50", "--length", "12'"), "--length without --points"),
        (("--ratio", "50"), "is not a scale"),
        (("--ratio", "1:0"), "length of zero"),
        (("--note", "NTS"), "states no scale"),
        (("--ratio", "1:50", "--region", "0,0 10,10 10,0 0,10"), "crosses itself"),
        (("--ratio", "1:50", "--region", "0,0 10,10"), "a scale region of 2 points"),
        (("--ratio", "1:50", "--region", "detail"), "has no scale region"),
        (("--ratio", "1:50", "--region-name", "detail"), "--region-name without --region"),
        (("--read", "--region", "0,0 10,0 10,10"), "finds its regions itself"),
    ],
)
def test_a_scale_that_cannot_be_set(refused, job, words, said):
    assert said in refused("scale", job, 1, *words)
    with actions.open_job(job) as store:
        assert not store.job.calibrations
        assert not store.job.regions


def test_two_dimensions_that_disagree_by_3_percent_are_warned_of(done, job):
    words = ("--points", "100,100", "460,100", "--length", "20'", "--points", "100,300", "460,300", "--length", "20.6'")
    outcome = done("scale", job, 1, *words)
    assert "The dimensions disagree by 3.0%" in outcome.err


def test_dimensions_against_the_written_scale_are_warned_of(done, job):
    outcome = done("scale", job, 1, "--points", "100,100", "460,100", "--length", "30'")
    assert "The note says 1:48, the dimensions give 1:72" in outcome.err


def test_reading_a_scale_from_a_picture_is_refused(refused, done, tmp_path, plans):
    done("new", tmp_path / "job", "--plan", plans / "facility-scan.png")
    assert "takeoff scale JOB 1 --points" in refused("scale", tmp_path / "job", 1, "--read")


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"system": "gold-leaf"}, "$.runs[0].system"),
        ({"hieght": 3.0}, "$.runs[0]"),
        ({"room": "R9"}, "$.runs[0].room"),
        ({"sheet": 9}, "$.runs[0].sheet"),
        ({"height": "ten"}, "$.runs[0].height"),
        ({"height": "10"}, "$.runs[0].height"),
        ({"points": [[1, 1]]}, "$.runs[0].points"),
        ({"points": [[0, 0], [100, 100], [100, 0], [0, 100]], "closed": True}, "$.runs[0].points"),
    ],
)
def test_an_edits_file_that_does_not_fit_is_refused_with_the_place_of_the_fault(
    refused, traced, edits_file, changes, place
):
    before = runs_of(traced)
    assert place in refused("apply", traced, edits_file(**changes))
    assert runs_of(traced) == before


def test_an_edits_file_that_is_no_json(refused, job, tmp_path):
    (tmp_path / "edits.json").write_text('{"schema": "takeoff.edits/1", "runs": [', encoding="utf-8")
    assert "not JSON" in refused("apply", job, tmp_path / "edits.json")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b'{"schema": "takeoff.edits/1",\n "runs": [}', 'line 2, column 11: "}" does not belong here'),
        (
            '{"schema": "takeoff.edits/1", "rooms": [{"id": "Café"}]}'.encode("latin-1"),
            "line 1 has a character that is not UTF-8: save it as UTF-8",
        ),
        ('{"rooms": []}'.encode("utf-16"), "written in UTF-16: save it as UTF-8"),
        (b"", "it is empty"),
        (b'{"schema": "takeoff.edits/1"', "it ends early"),
        (b"[]", 'A file begins with {"schema": "takeoff.edits/1"'),
        (b'{"runs": []}', 'the key "schema" is missing'),
    ],
)
def test_a_file_of_another_form_is_told_where_and_what_to_write(refused, job, tmp_path, data, said):
    (tmp_path / "edits.json").write_bytes(data)
    assert said in refused("apply", job, tmp_path / "edits.json")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"sheet": "A-101"}, "expected a whole number, got a text. Give its position in the register"),
        ({"points": [["1", "2"], [3, 4]]}, "expected a number, got a text. Write points as"),
        ({"heigth": 3.0}, 'there is no key "heigth": did you mean "height"? See the form'),
    ],
)
def test_a_value_of_the_wrong_form_is_told_in_words(refused, job, edits_file, change, said):
    assert said in refused("apply", job, edits_file(**change))


def test_a_dimension_picked_off_its_sheet(refused, job):
    line = refused("scale", job, "A-101", "--points", "210,330 99999,330", "--length", "36'-0\"")
    assert "(99999, 330) lies off the sheet of 2448 × 1584 points" in line


def test_a_coat_of_two_systems_is_asked_for_by_those_two_alone(refused, traced):
    line = refused("use", traced, "saturate", "--packs", 1, "--area", "100 sf")
    assert line.endswith("Say which with --system: mat-hygienic, mat-polyaspartic, mat-urethane.\n")


def test_a_pdf_that_is_no_marked_plan_is_named_as_it_was_given(refused, job, tmp_path):
    (tmp_path / "minutes.pdf").write_text("minutes of a meeting", encoding="utf-8")
    assert "minutes.pdf: this is not a plan file" in refused("import", tmp_path / "minutes.pdf", job)


def test_an_edits_file_that_is_not_there(refused, job, tmp_path):
    assert "there is no edits file" in refused("apply", job, tmp_path / "edits.json")


def test_a_measuring_rule_that_is_not_there_is_answered_with_those_there_are(refused, traced):
    assert "exact-net" in refused("measure", traced, "--rule", "guess")


def test_a_report_in_a_place_that_cannot_be_written(refused, traced, tmp_path):
    (tmp_path / "file").write_bytes(b"")
    assert "can be written" in refused("report", traced, "--out", tmp_path / "file" / "reports", "--csv")


def test_an_alternate_of_a_report_that_is_not_in_the_catalogue(refused, traced, tmp_path):
    assert 'no system "panels"' in refused("report", traced, "--out", tmp_path / "r", "--csv", "--against", "panels")
    assert not (tmp_path / "r").exists()


def test_a_full_report_has_no_price_to_set_out(refused, traced, tmp_path):
    assert "Add --edition bid" in refused("report", traced, "--out", tmp_path, "--price-by", "room")


def test_a_report_of_a_job_without_runs(refused, job, tmp_path):
    assert "has no wall" in refused("report", job, "--out", tmp_path / "reports")
    assert not (tmp_path / "reports").exists()


def test_a_demo_in_a_place_that_cannot_be_written(refused, tmp_path):
    (tmp_path / "file").write_bytes(b"")
    assert "cannot be written" in refused("demo", "--out", tmp_path / "file" / "demo")


def test_a_catalogue_with_a_fault_names_its_place(refused, done, traced, tmp_path):
    text = done("catalogue").out.replace('kind = "coat"', 'kind = "coating"', 1)
    (tmp_path / "own.toml").write_text(text, encoding="utf-8")
    assert "steps" in refused("estimate", traced, "--catalogue", tmp_path / "own.toml")
    assert "steps" in refused("catalogue", traced, "--set", tmp_path / "own.toml")


def test_a_catalogue_without_its_job(refused, tmp_path):
    assert "JOB and --set" in refused("catalogue", "--set", tmp_path / "own.toml")


def test_an_export_that_cannot_be_written(refused, job, tmp_path):
    (tmp_path / "file").write_bytes(b"")
    assert "the export cannot be written" in refused("export", job, tmp_path / "file" / "out.json")


def test_an_import_of_something_else(refused, tmp_path):
    (tmp_path / "in.json").write_text(json.dumps({"runs": []}), encoding="utf-8")
    assert "not an exported job" in refused("import", tmp_path / "in.json", tmp_path / "job")
    assert not (tmp_path / "job").exists()


def test_nothing_to_undo_or_redo(refused, job):
    assert "nothing to undo" in refused("undo", job)
    assert "nothing to redo" in refused("redo", job)


def test_a_command_that_is_not_there(refused):
    assert "takeoff --help" in refused("mesure")


def test_an_option_that_is_not_there(refused, job):
    assert "takeoff measure --help" in refused("measure", job, "--bye", "room")


def test_help_names_every_measuring_rule():
    assert RULE_NAMES.split(", ") == list(RULES)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("report", "--out", "o", "--start", "3/2/2026"), '"3/2/2026" is not a date. Write year, month and day'),
        (("report", "--out", "o", "--crews", "0"), "'--crews': it must be 1 or more."),
        (("use", "glaze", "--packs", "1", "--area", "lots"), '"lots" is not an area. Write it such as 500 sf'),
        (("site", "--air", "hot", "--surface", "60", "--humidity", "50"), '"hot" is not a temperature. Write it such'),
        (("check",), "no stated areas were named"),
        (("check", "a.csv", "--table", "1"), "stated areas were named twice"),
    ],
)
def test_what_is_typed_wrong_is_refused_in_plain_words(refused, traced, words, said):
    command, *rest = words
    assert said in refused(command, traced, *rest)


def test_a_folder_for_a_job_and_a_file_for_a_folder_are_told_apart(refused, traced, tmp_path):
    assert "is a folder. Name the job file in it" in refused("measure", tmp_path)
    (tmp_path / "taken").write_text("x", encoding="utf-8")
    assert "is a file, not a folder" in refused("report", traced, "--out", tmp_path / "taken", "--csv")


def test_site_readings_of_a_job_in_feet_are_in_fahrenheit(takeoff, traced):
    # 60 °F is 15.56 °C; at 50 % the dew point is 5.1 °C, 41.2 °F (Magnus formula, WMO-No. 8, from memory)
    shown = takeoff("site", traced, "--air", "60", "--surface", "43", "--humidity", "50")
    assert shown.code == 1
    assert "Dew point 41." in shown.out
    assert "°F is" in shown.out
    assert "°C" not in shown.out


@pytest.mark.parametrize("option", ["--draws", "--seed"])
def test_draws_and_seed_without_the_range_that_they_are_of(refused, traced, option):
    assert f"{option} belongs to --range. Add --range, or leave it out." in refused("estimate", traced, option, 7)


@pytest.fixture
def in_euros(tmp_path, done, plans):
    """A job in EUR that has no catalogue of its own, so that it is priced in the USD of the shipped one."""
    path = tmp_path / "euros.takeoff"
    done("new", path, "--plan", plans / "facility-imperial.pdf", "--currency", "EUR")
    done("scale", path, "A-101", "--note", '1/4" = 1\'-0"')
    done("apply", path, plans / "facility-edits.json")
    return path


def test_a_bid_in_another_currency_than_the_job(refused, done, in_euros, tmp_path):
    words = ("report", in_euros, "--out", tmp_path / "offer", "--edition", "bid", "--csv")
    line = refused(*words)
    assert "the job is in EUR and the prices are in USD, not converted. Take a catalogue in EUR into the job" in line
    assert not (tmp_path / "offer").exists()
    own = tmp_path / "own.toml"
    own.write_text(done("catalogue").out.replace('currency = "USD"', 'currency = "EUR"'), encoding="utf-8")
    done(*words, "--catalogue", own, "--allow-open")
    assert "Price (EUR)" in (tmp_path / "offer" / "bid-price.csv").read_text(encoding="utf-8-sig")


def test_a_change_order_in_another_currency_than_the_job_before_anything_is_taken_in(
    refused, in_euros, plans, tmp_path
):
    before = runs_of(in_euros)
    words = ("--plan", plans / "facility-rev-b.pdf", "--accept", "all", "--out", tmp_path / "change.pdf")
    assert "the job is in EUR" in refused("revise", in_euros, "--sheet", "A-101", *words)
    assert runs_of(in_euros) == before
    assert not (tmp_path / "change.pdf").exists()


def test_an_estimate_in_another_currency_than_the_job_says_so_below_its_price(done, in_euros):
    last = done("estimate", in_euros).out.rstrip().splitlines()[-2:]
    assert last[0].startswith("Price USD ")
    assert last[1].rstrip() == "Check the currency: the job is in EUR and the prices are in USD, not converted."
