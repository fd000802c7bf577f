"""Every input that cannot be used gives one line on stderr that says what to do, and exit code 2."""

from __future__ import annotations

import os
import shutil
import sqlite3
from pathlib import Path

import pytest

from takeoff import actions
from takeoff.cli.options import RULE_NAMES
from takeoff.measure.rules import RULES


def runs_of(path):
    with actions.open_job(path) as store:
        return dict(store.job.runs)


TEXT, EMPTY, OTHER = "{tmp}/text.pdf", "{tmp}/empty.pdf", "{tmp}/other.json"
"""Files that are there: a text, one of no bytes, and JSON of another form."""
PLAN = "{plans}/facility-metric.pdf"
VERBS = ("sheets", "measure", "estimate", "undo", "redo", "history")


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("new {new} --plan {tmp}/plan.pdf", "there is no plan file"),
        (f"new {{new}} --plan {EMPTY}", "empty.pdf: the file is empty"),
        (f"new {{new}} --plan {TEXT}", "not a plan file"),
        ("new {new} --plan {tmp}", "is a folder"),
        (f"new {{new}} --plan {PLAN} --plan {PLAN}", "is the same file as"),
        ("new {new}", "Name one or more behind the job"),
        (f"new {TEXT}/job --plan {PLAN}", "permissions"),
        (f"new {{new}} --plan {PLAN} --currency dollars", "is not a currency code"),
        (f"new {{new}} --plan {PLAN} --precision 3", "precision"),
        (f"new {{new}} --plan {PLAN} --rule guess", "exact-net"),
        *((f"{verb} {{new}}", "there is no file") for verb in VERBS),
        (f"measure {TEXT}", "is not a job file"),
        ("measure {tmp}", "is a folder. Name the job file in it"),
        ("measure {traced} --rule guess", "exact-net"),
        ("measure {traced} --bye room", "takeoff measure --help"),
        ("mesure", "takeoff --help"),
        ("scale {job} A-999 --ratio 1:50", "1 (A-101)"),
        ("scale {job} A-101 --points 210,330 9999,330 --length 36'", "(9999, 330) lies off the sheet of 2448 × 1584"),
        ("apply {job} {tmp}/edits.json", "there is no edits file"),
        (f"import {TEXT} {{job}}", "text.pdf: this is not a plan file"),
        (f"import {OTHER} {{new}}", "not an exported job"),
        (f"export {{job}} {TEXT}/out.json", "the export cannot be written"),
        ("undo {job}", "nothing to undo"),
        ("redo {job}", "nothing to redo"),
        (f"report {{traced}} --out {TEXT}/reports --csv", "can be written"),
        (f"report {{traced}} --out {TEXT} --csv", "is a file, not a folder"),
        ("report {traced} --out {new} --csv --against panels", 'no system "panels"'),
        ("report {traced} --out {tmp} --price-by room", "Add --edition bid"),
        ("report {job} --out {new}", "has no wall"),
        ("report {traced} --out o --start 3/2/2026", '"3/2/2026" is not a date. Write year, month and day'),
        ("report {traced} --out o --crews 0", "'--crews': it must be 1 or more."),
        (f"demo --out {TEXT}/demo", "cannot be written"),
        ("catalogue --set {tmp}/own.toml", "JOB and --set"),
        ("estimate {traced} --draws 7", "--draws belongs to --range. Add --range, or leave it out."),
        ("estimate {traced} --seed 7", "--seed belongs to --range. Add --range, or leave it out."),
        ("estimate {traced} --against gold", 'no system "gold"'),
        ("use {traced} glaze --packs 1 --area lots", '"lots" is not an area. Write it such as 500 sf'),
        ("use {traced} saturate --packs 1 --area 100", "--system: mat-hygienic, mat-polyaspartic, mat-urethane.\n"),
        ("use {traced} glaze --packs 1 --system mat-hygienic --area 600 --length 3", "given twice"),
        ("site {traced} --air hot --surface 60 --humidity 50", '"hot" is not a temperature. Write it such'),
        ("check {traced}", "no stated areas were named"),
        ("check {traced} a.csv --table 1", "stated areas were named twice"),
        ("days {traced} --start tomorrow", '"tomorrow" is not a date'),
        ("days {traced} --holiday 3/2/26", '"3/2/26" is not a date'),
        ("days {traced} --ready x", '"x" is not a date'),
        ("days {traced} --temperature 200", "200.0 °F on site"),
        ("days {traced} --temperature warm", "is not a temperature"),
        ("days {traced} --start 2026-03-02 --ready 2026-03-02 --limit 0", "cannot be ready by its day"),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_refused_and_nothing_new_is_left(refused, tmp_path, job, jobs_made, plans, line, said):
    for name, text in (("text.pdf", "minutes of a meeting"), ("empty.pdf", ""), ("other.json", '{"runs": []}')):
        (tmp_path / name).write_text(text, encoding="utf-8")
    traced = shutil.copy(jobs_made / "traced.takeoff", tmp_path / "traced.takeoff")
    places = {"tmp": tmp_path, "new": tmp_path / "new", "job": job, "traced": traced, "plans": plans}
    assert said in refused(*(word.format(**places) for word in line.split()))
    assert not (tmp_path / "new").exists()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_plan_that_is_a_pipe_nobody_writes_to(refused, tmp_path):
    os.mkfifo(tmp_path / "plan.pdf")
    assert "is no file on a disk" in refused("new", tmp_path / "job", "--plan", tmp_path / "plan.pdf")


@pytest.mark.skipif(not Path("/proc/version").exists(), reason="this system has no files that grow as they are read")
def test_a_file_that_is_longer_than_it_was_when_it_was_opened(refused, tmp_path):
    """What Linux tells of itself is a file of no bytes that has some when it is read (proc(5))."""
    assert "was changed while it was read" in refused("new", tmp_path / "job", "--plan", "/proc/version")


def test_a_job_that_exists_already(refused, job, plans):
    before = job.read_bytes()
    assert "exists already" in refused("new", job, "--plan", plans / "facility-metric.pdf")
    assert job.read_bytes() == before


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


def test_an_edits_file_that_does_not_fit_is_refused_with_the_place_of_the_fault(refused, traced, edits_file):
    before = runs_of(traced)
    assert "$.runs[0].room" in refused("apply", traced, edits_file(room="R9"))
    assert runs_of(traced) == before


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


def test_a_catalogue_with_a_fault_names_its_place(refused, done, traced, tmp_path):
    text = done("catalogue").out.replace('kind = "coat"', 'kind = "coating"', 1)
    (tmp_path / "own.toml").write_text(text, encoding="utf-8")
    assert "steps" in refused("estimate", traced, "--catalogue", tmp_path / "own.toml")
    assert "steps" in refused("catalogue", traced, "--set", tmp_path / "own.toml")


def test_help_names_every_measuring_rule():
    assert RULE_NAMES.split(", ") == list(RULES)


def test_site_readings_of_a_job_in_feet_are_in_fahrenheit(takeoff, traced):
    # 60 °F is 15.56 °C; at 50 % the dew point is 5.1 °C, 41.2 °F (Magnus formula, WMO-No. 8, from memory)
    shown = takeoff("site", traced, "--air", "60", "--surface", "43", "--humidity", "50")
    assert shown.code == 1
    assert "Dew point 41." in shown.out
    assert "°F is" in shown.out
    assert "°C" not in shown.out


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
