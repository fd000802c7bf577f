"""Commands that start, change and show a job, checked through the library afterwards."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pymupdf
import pytest
import typer
from typer.testing import CliRunner

from takeoff import actions
from takeoff.cli.rim import run_command
from takeoff.cli.tree import app
from takeoff.exchange.catalogue_file import default_catalogue
from takeoff.exchange.catalogue_writer import catalogue_text

POINT = 0.0254 / 72
"""Metres of paper in a sheet point: 1/72 inch."""


def job_of(path):
    with actions.open_job(path) as store:
        return store.job


def commands():
    return typer.main.get_command(app).commands


def test_help_lists_every_command_of_the_design():
    assert set(commands()) >= {
        "demo", "new", "sheets", "scale", "apply", "measure", "estimate", "report", "schema", "export", "import",
        "undo", "redo", "history", "catalogue",
    }  # fmt: skip


@pytest.mark.parametrize("name", sorted(commands()))
def test_every_command_and_every_option_is_documented(name, done):
    command = commands()[name]
    assert command.help
    for parameter in command.params:
        assert parameter.help, f"{name}: {parameter.name}"
    shown = done(name, "--help").out
    assert shown.startswith(f"Usage: takeoff {name}")
    for parameter in command.params:
        word = parameter.metavar if parameter.param_type_name == "argument" else None
        assert (word or max((*parameter.opts, ""), key=len).lstrip("-")).casefold() in shown.casefold()


def test_without_words_the_help_is_shown(done):
    assert done().out.startswith("Usage: takeoff")


def test_the_list_of_commands_cuts_no_summary_on_a_terminal_of_80_columns(done, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    lines = done("--help").out.splitlines()
    assert max(map(len, lines)) <= 80
    listed = " ".join(" ".join(lines[lines.index("Commands:") + 1 :]).split())
    commands = typer.main.get_command(app).commands
    for name, command in commands.items():
        first = " ".join(command.help.split("\n\n")[0].split()).split(". ")[0].rstrip(".")
        assert f"{name} {first}." in f"{listed} ", name
    assert "..." not in listed


def test_the_version_is_printed(done):
    assert done("--version").out.startswith("takeoff")


@pytest.mark.parametrize("more", [["--plan", "--plan"], ["--plan"]])
def test_new_takes_every_sheet_of_every_plan_in_order(more, tmp_path, done, plans):
    path = tmp_path / "two.takeoff"
    first, second = (plans / f"facility-{units}.pdf" for units in ("metric", "imperial"))
    done("new", path, *more[:1], first, *more[1:], second, "--name", "Two")
    job = job_of(path)
    assert job.settings.name == "Two"
    assert [job.sources[s.source].name for s in job.sheets.values()] == [
        "facility-metric.pdf", *("facility-imperial.pdf",) * 3
    ]  # fmt: skip
    assert list(job.sheets) == [1, 2, 3, 4]


def test_sheets_lists_the_register_with_scales(job, done):
    done("scale", job, "a-101", "--ratio", "1:48")
    listed = done("sheets", job, "--json").json
    assert [s["number"] for s in listed] == ["A-101", "A-201", "A-601"]
    assert listed[0]["scale"]["ratio"] == pytest.approx(48)
    assert listed[1]["scale"] is None
    shown = done("sheets", job).out
    assert '1/4" = 1\'-0" (from a ratio)' in shown  # the job is in feet
    assert "not set" in shown


def test_scale_from_points_is_fitted_along_x_and_y(job, done):
    # 360 points at 1/4" = 1'-0" are 20'; 2 % less along y, as a scanner that stretches would make it
    words = ("--points", "100,100", "460,100", "--length", "20'", "--points", "100,100", "100,460", "--length", "19.6'")
    outcome = done("scale", job, 1, *words, "--json")
    [told] = outcome.json
    assert told["mx"] == pytest.approx(48 * POINT)
    assert told["my"] == pytest.approx(0.98 * 48 * POINT)
    assert job_of(job).calibrations["1"].mx == told["mx"]
    assert "The scale along y differs" in outcome.err


@pytest.mark.parametrize("rotation", [0, 90])
def test_points_that_a_sheet_lists_set_its_scale_on_the_page_unrotated_and_as_shown(tmp_path, done, plans, rotation):
    document = pymupdf.open(plans / "facility-imperial.pdf")
    document[0].set_rotation(rotation)
    document.save(tmp_path / "turned.pdf")
    path, edits = tmp_path / "turned.takeoff", tmp_path / "walls.json"
    done("new", path, "--plan", tmp_path / "turned.pdf")
    found = []
    for frame in ((), ("--as-shown",)):
        places = done("sheets", path, 1, "--json", *frame).json
        ends = next(p["points"] for p in places if (p["kind"], p["words"]) == ("dimension", "36'-0\""))
        at = next(p["points"][0] for p in places if p["words"] == "PROCESS")
        points = [f"{x},{y}" for x, y in ends]
        done("scale", path, 1, "--points", *points, "--length", "36'", *frame)
        assert job_of(path).calibrations["1"].ratio == pytest.approx(48, rel=1e-3)
        known = job_of(path).calibrations["1"].dimensions[0]
        assert known.start_pt[1] == pytest.approx(known.end_pt[1], abs=0.5)  # level on the page unrotated
        run = {"id": "line", "sheet": 1, "points": [at, [at[0] + 10, at[1]]], "height": "9'", "system": "thin-film"}
        page = {"page": "as-shown"} if frame else {}
        edits.write_text(json.dumps({"schema": "takeoff.edits/1", "runs": [run], **page}))
        done("apply", path, edits)
        found.append((at, job_of(path).runs["line"].points_pt[0]))
    (at, plain), (at_shown, turned_back) = found
    assert turned_back == pytest.approx(plain)
    assert (at == pytest.approx(at_shown)) is (rotation == 0)


def test_both_ends_of_a_dimension_may_be_one_quoted_word(job, done):
    done("scale", job, 1, "--points", "100,100 460,100", "--length", "20'")
    assert job_of(job).calibrations["1"].ratio == pytest.approx(48)


def test_scale_is_read_from_the_title_block(job, done):
    done("scale", job, "A-101", "--read")
    calibration = job_of(job).calibrations["1"]
    assert (calibration.source, round(calibration.ratio, 9)) == ("note", 48)


def test_scale_is_read_from_the_embedded_measurement_first(tmp_path, done, plans):
    path = tmp_path / "metric.takeoff"
    done("new", path, "--plan", plans / "facility-metric.pdf", "--units", "metric")
    done("scale", path, 1, "--read")
    calibration = job_of(path).calibrations["1"]
    assert calibration.source == "embedded"
    assert calibration.ratio == pytest.approx(50)


def test_a_run_in_a_scale_region_is_measured_at_its_scale(job, done, edits_file):
    done("scale", job, 1, "--ratio", "1:48")
    done("scale", job, 1, "--ratio", "1:10", "--region", "50,50 300,50 300,300 50,300", "--region-name", "detail")
    done("apply", job, edits_file())
    length = done("measure", job, "--json").json["total"]["base_length"]
    assert length == pytest.approx(100 * 10 * POINT)
    done("scale", job, 1, "--ratio", "1:20", "--region", "detail")
    assert done("measure", job, "--json").json["total"]["base_length"] == pytest.approx(2 * length)


def test_a_run_across_the_edge_of_a_scale_region_is_not_in_the_figures_and_not_taken_in(job, done, refused, edits_file):
    done("scale", job, 1, "--ratio", "1:48")
    done("apply", job, edits_file())
    done("scale", job, 1, "--ratio", "1:10", "--region", "50,50 150,50 150,300 50,300")
    assert "Not in the figures: it crosses the edge of the scale region" in done("measure", job).err
    line = refused("apply", job, edits_file(id="b"))
    assert "$.runs[0].points: it crosses the edge of the scale region" in line


def test_a_wall_of_100_points_at_1_to_72_measures_100_inches(job, done, edits_file):
    done("scale", job, 1, "--ratio", "1:72")
    done("apply", job, edits_file())
    total = done("measure", job, "--json").json["total"]
    assert total["base_length"] == pytest.approx(100 * 0.0254)
    assert total["net_area"] == pytest.approx(100 * 0.0254 * 3.0)


def test_measuring_a_job_without_runs_says_so(job, done):
    outcome = done("measure", job, "--json")
    assert outcome.json["total"]["net_area"] == 0
    assert outcome.json["items"] == []
    assert "note: there is no wall to measure" in outcome.err


@pytest.mark.parametrize("command", ["measure", "estimate", "days", "cut", "progress"])
def test_a_job_without_runs_says_what_is_missing_in_place_of_empty_tables(command, job, done):
    shown = done(command, job)
    assert shown.out.startswith("There is nothing to ")
    assert f"takeoff scale {job} A-101 --read" in shown.out
    assert f"takeoff trace {job} A-101 --all" in shown.out
    assert ("takeoff finishes" in shown.out) == (command != "measure")
    assert "Total" not in shown.out


def test_applying_to_a_sheet_without_scale_says_what_waits_for_it(job, done, edits_file):
    told = done("apply", job, edits_file()).err
    assert "Wall in no room (sheet A-101). Not in the figures: sheet A-101 has no scale." in told


def test_applying_an_opening_above_the_wall_says_so_at_once(job, done, edits_file):
    done("scale", job, 1, "--ratio", "1:72")
    opening = {"at": 1.0, "width": 0.5, "height": 0.5, "sill": 3.0, "kind": "window"}
    told = done("apply", job, edits_file(openings=[opening])).err
    assert "Wall in no room, opening 1: it lies wholly above the coating and deducts nothing: check its sill" in told


def test_a_run_without_a_system_is_named_as_not_priced(job, done, edits_file):
    done("scale", job, 1, "--ratio", "1:72")
    done("apply", job, edits_file())
    assert "note: System of wall in no room" in done("estimate", job, "--json").err


def test_undo_and_redo_are_written_in_the_history(traced, done):
    before = job_of(traced)
    assert "Undone: Apply" in done("undo", traced).err
    assert not job_of(traced).runs
    assert "Redone: Apply" in done("redo", traced).err
    assert job_of(traced) == before
    lines = done("history", traced, "--json").json
    assert [line["verb"] for line in lines] == ["do", "do", "do", "undo", "redo"]
    assert all(line["who"] and line["at"].endswith("+00:00") for line in lines)
    assert "Undone: Apply" in done("history", traced).out


def test_export_and_import_lose_nothing(traced, done, tmp_path):
    done("export", traced, tmp_path / "out.json")
    done("import", tmp_path / "out.json", tmp_path / "copy.takeoff")
    with actions.open_job(traced) as one, actions.open_job(tmp_path / "copy.takeoff") as other:
        assert other.job == one.job
        assert all(other.source(sha) == one.source(sha) for sha in one.job.sources)
    whole = json.loads((tmp_path / "out.json").read_text(encoding="utf-8"))
    jsonschema.validate(whole, done("schema", "job").json)


def test_the_edits_schema_takes_the_sample_edits_and_refuses_a_typo(done, plans):
    schema = done("schema").json
    assert schema == done("schema", "edits").json
    edits = json.loads((plans / "facility-edits.json").read_text(encoding="utf-8"))
    jsonschema.validate(edits, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**edits, "romms": []}, schema)


def test_the_catalogue_schema_takes_the_shipped_catalogue_and_its_systems(done):
    import tomllib

    catalogue = tomllib.loads(done("catalogue").out)
    jsonschema.validate(catalogue, done("schema", "catalogue").json)
    for system in catalogue["systems"]:
        jsonschema.validate(system, done("schema", "system").json)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"id": "a"}, done("schema", "system").json)


def test_ones_own_catalogue_prices_once_or_is_taken_into_the_job(traced, done, tmp_path):
    own = tmp_path / "own.toml"
    catalogue = actions.catalogue_of(job_of(traced))
    text = done("catalogue").out
    wage = next(line for line in text.splitlines() if line.startswith("wage"))
    own.write_text(text.replace(wage, f"wage = {2 * catalogue.rates.wage}"), encoding="utf-8")

    def labour(*words):
        found = done("estimate", traced, "--json", *words).json
        return next(line["amount"] for line in found["price"] if line["id"] == "labour")

    before = labour()
    # each line is rounded to the cent, so the double is met to a cent a line
    assert labour("--catalogue", own) == pytest.approx(2 * before, abs=1.0)
    assert labour() == before
    done("catalogue", traced, "--set", own)
    assert job_of(traced).settings.rates == replace(catalogue.rates, wage=2 * catalogue.rates.wage)
    assert labour() == pytest.approx(2 * before, abs=1.0)
    done("undo", traced)
    assert labour() == before


def test_a_sheet_without_rooms_says_so_when_it_is_traced(tmp_path, done):
    import pymupdf

    with pymupdf.open() as document:
        document.new_page(width=792, height=612).draw_line((100, 100), (400, 100), width=2)
        document.save(tmp_path / "line.pdf")
    job = tmp_path / "line.takeoff"
    done("new", job, "--plan", tmp_path / "line.pdf")
    done("scale", job, 1, "--ratio", "1:48")
    assert "No room was found on sheet 1" in done("trace", job, 1, "--all", "--height", "9'-0\"").err
    assert "no room was found on it" in done("points", job).out.replace("\n", " ")
    told = json.loads(done("trace", job, 1, "--all", "--json").out)
    assert any("No room was found on sheet 1" in note for note in told["notes"])


def own_catalogue(folder, *, drop=(), notes=("Prices of the spring list.",)):
    """The shipped catalogue as somebody's own: other notes, and without some systems."""
    shipped = default_catalogue()
    own = replace(shipped, notes=notes, systems=tuple(s for s in shipped.systems if s.id not in drop))
    path = folder / "own.toml"
    path.write_text(catalogue_text(own), encoding="utf-8")
    return path


def test_the_notes_of_ones_own_catalogue_take_the_place_of_the_example_s(traced, done, tmp_path):
    before = done("estimate", traced, "--json").json["notes"]
    assert any("example catalogue" in note for note in before)
    done("catalogue", traced, "--set", own_catalogue(tmp_path))
    after = done("estimate", traced, "--json").json["notes"]
    assert after[0] == "Prices of the spring list."
    assert not any("example catalogue" in note for note in after)
    done("undo", traced)
    assert done("estimate", traced, "--json").json["notes"] == before


def test_a_system_that_ones_own_catalogue_lacks_is_said_to_be_priced_by_the_example(traced, done, tmp_path):
    taken = done("catalogue", traced, "--set", own_catalogue(tmp_path, drop=("mat-hygienic",)))
    assert "note: walls take mat-hygienic, which own.toml does not have" in taken.err
    priced = done("estimate", traced, "--json")
    listed = done("points", traced, "--json").json["points"]
    assert any("Priced by the example catalogue" in p["why"] and "Reinforced hygienic wall" in p["why"] for p in listed)
    assert any("example catalogue: replace them" in note for note in priced.json["notes"])


def test_a_job_with_notes_of_its_own_catalogue_goes_out_and_in_whole(traced, done, tmp_path):
    done("catalogue", traced, "--set", own_catalogue(tmp_path))
    done("export", traced, tmp_path / "job.json")
    done("import", tmp_path / "job.json", tmp_path / "again.takeoff")
    notes = [done("estimate", path, "--json").json["notes"] for path in (traced, tmp_path / "again.takeoff")]
    assert notes[0] == notes[1]


def test_a_fault_of_the_program_is_one_line_that_says_how_to_report_it(capsys):
    def broken(words):
        raise ZeroDivisionError("division by zero")

    assert run_command(broken, ["measure"]) == 70
    line = capsys.readouterr().err
    assert line.count("\n") == 1
    assert "ZeroDivisionError" in line
    assert "--debug" in line
    assert run_command(broken, ["measure", "--debug"]) == 70
    assert "Traceback" in capsys.readouterr().err


def test_a_refusal_shows_its_traceback_only_when_asked(takeoff, tmp_path):
    assert "Traceback" not in takeoff("measure", tmp_path / "none").err
    assert "Traceback" in takeoff("measure", tmp_path / "none", "--debug").err


def test_a_centreline_that_ends_in_the_middle_of_a_wall_is_told(job, done, tmp_path):
    done("scale", job, "A-101", "--ratio", "1:48")
    wall = {"sheet": 1, "line": "centre", "face": "both", "thickness": '8"', "height": "9'-0\""}
    runs = [
        {"id": "long", "points": [[300, 300], [900, 300]], **wall},
        {"id": "short", "points": [[600, 300], [600, 700]], **wall},
    ]
    (tmp_path / "t.json").write_text(json.dumps({"schema": "takeoff.edits/1", "runs": runs}), encoding="utf-8")
    done("apply", job, tmp_path / "t.json")
    short, long = "wall B in no room", "wall A in no room"
    said = f"End it at the face of {long}, and take the 0'-8\" of it that it covers out of {long}, or confirm it."
    assert f"{short[:1].upper()}{short[1:]} ends 0'-4\" inside {long}, which is counted." in done("measure", job).err
    assert said in [point["settle"] for point in done("points", job, "--json").json["points"]]


def test_a_scale_that_the_sheet_contradicts_says_so_each_time_it_is_set(tmp_path):
    """The sample plan is drawn at 1:48 (its README); both 1:96 and 1:24 are said to be against its dimensions."""
    job = tmp_path / "a.takeoff"
    runner = CliRunner()
    plan = str(Path(__file__).parents[2] / "sample_plans" / "facility-imperial.pdf")
    assert runner.invoke(app, ["new", str(job), "--plan", plan]).exit_code == 0
    for ratio in ("1:96", "1:24"):
        ran = runner.invoke(app, ["scale", str(job), "1", "--ratio", ratio])
        assert ran.exit_code == 0
        assert "the dimensions give 1:48" in ran.stderr
    assert "the dimensions give" not in runner.invoke(app, ["scale", str(job), "1", "--ratio", "1:48"]).stderr
