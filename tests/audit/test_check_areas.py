"""The check from end to end: the schedule of the sample plans with its three planted slips."""

from __future__ import annotations

import json
from dataclasses import replace

import pymupdf
import pytest
import typer

from sample_plans.schedule import WRONG_BASIS, WRONG_HEIGHT, WRONG_UNIT, schedule
from takeoff.actions.checking import check_areas, read_stated_areas, write_check_report
from takeoff.audit.stated import StatedArea
from takeoff.audit.verdict import AreaCheck
from takeoff.cli.check import check as check_command
from takeoff.cli.check import check_json
from takeoff.errors import InputError
from takeoff.job.job import Job, JobSettings
from takeoff.job.store import JobStore
from tests.jobs import PLANS

SCHEDULE = PLANS / "area-schedule.csv"


def of_the_sample(job: Job, **more: object) -> AreaCheck:
    table = read_stated_areas(SCHEDULE.read_bytes(), SCHEDULE.name)
    return check_areas(job, table.areas, **more)  # type: ignore[arg-type]


def test_the_schedule_on_disk_is_what_the_script_writes():
    assert SCHEDULE.read_text(encoding="utf-8") == schedule()


def test_exactly_the_three_planted_slips_are_found_each_with_its_cause(sample_job):
    found = of_the_sample(sample_job)
    differing = {line.match.stated.number: line.causes[0] for line in found.lines if line.verdict == "differs"}
    assert {number: cause.kind for number, cause in differing.items()} == {
        WRONG_HEIGHT: "height",
        WRONG_BASIS: "floor",
        WRONG_UNIT: "unit",
    }
    assert differing[WRONG_HEIGHT].text == "agrees if the height is 10'-0\" instead of 9'-0\""
    assert len(found.lines) == 8
    assert found.unstated == ()


def test_the_four_inch_base_is_measured_too_coarsely_to_agree(sample_job):
    (line,) = [line for line in of_the_sample(sample_job).lines if line.verdict == "cannot say"]
    assert line.match.stated.number == "108"


def test_a_room_that_cannot_be_measured_is_one_line_and_the_others_are_checked(sample_job):
    bare = replace(sample_job.rooms["R102"], height=None)
    found = of_the_sample(replace(sample_job, rooms={**sample_job.rooms, "R102": bare}))
    lines = {line.match.stated.number: line for line in found.lines}
    assert lines["102"].verdict == "cannot say"
    assert lines["102"].reason.startswith("wall 102-walls could not be measured: it has no height")
    assert lines["101"].verdict == "agrees"


def test_every_row_was_matched_by_number_and_name(sample_job):
    assert {line.match.how for line in of_the_sample(sample_job).lines} == {"number and name"}


def test_areas_stated_gross_agree_on_the_gross_basis(sample_job):
    truth = json.loads((PLANS / "facility-truth.json").read_text())["rooms"]
    stated = [
        StatedArea(number=id[1:], value=round(r["gross_area"], 1), unit="m2", decimals=1) for id, r in truth.items()
    ]
    assert not check_areas(sample_job, stated, basis="gross").differs
    assert check_areas(sample_job, stated, basis="net").differs


def test_a_job_without_rooms_is_refused():
    with pytest.raises(InputError, match="no rooms"):
        check_areas(Job(settings=JobSettings(name="x")), [StatedArea(number="1", value=1, unit="sf")])


def test_the_page_for_the_architect_is_one_page_with_all_findings(sample_job, tmp_path):
    found = of_the_sample(sample_job)
    path = write_check_report(sample_job, found, tmp_path / "check.pdf", source=SCHEDULE.name, at="2026-03-11T00:00:00")
    assert b"pdfuaid:part" in path.read_bytes()  # ISO 14289-1
    with pymupdf.open(path) as page:
        assert len(page) == 1
        text = " ".join(page[0].get_text().split())
    assert "3 differ by more than that" in text
    assert "53 m² = 570.5 sf" in text
    assert "A-101" in text
    for line in found.lines:
        assert line.room_label in text


def test_json_has_square_metres_and_the_causes(sample_job):
    value = json.loads(json.dumps(check_json(of_the_sample(sample_job))))
    item = next(i for i in value["items"] if i["number"] == WRONG_BASIS)
    assert item["stated"] == pytest.approx(792 * 0.3048**2)
    assert item["causes"][0]["kind"] == "floor"
    assert (value["agrees"], value["differs"], value["cannot_say"]) == (4, 3, 1)


def test_the_command_ends_with_1_where_something_differs_and_0_where_nothing_does(sample_job, tmp_path, capsys):
    path = tmp_path / "job.takeoff"
    plan = (PLANS / "facility-imperial.pdf").read_bytes()
    source = next(iter(sample_job.sources))
    JobStore.create(path, sample_job, {source: plan}, sign=lambda: ("tester", "2026-01-01T00:00:00+00:00")).close()
    app = typer.Typer()
    app.command("check")(check_command)
    command = typer.main.get_command(app)

    def run(*words: str) -> object:
        return command.main(args=list(words), prog_name="takeoff", standalone_mode=False)

    assert run(str(path), str(SCHEDULE), "--out", str(tmp_path / "page.pdf")) == 1
    written = capsys.readouterr()
    assert "agrees if it is the floor area of the room" in written.out
    assert (tmp_path / "page.pdf").is_file()
    good = tmp_path / "good.csv"
    truth = json.loads((PLANS / "facility-truth.json").read_text())["rooms"]
    rows = [f"{id[1:]},{room['net_area']:.1f} m2" for id, room in truth.items()]
    good.write_text("\n".join(["Room,Area", *rows]))
    assert run(str(path), str(good), "--json") == 0
    assert json.loads(capsys.readouterr().out)["differs"] == 0
    good.write_text("\n".join(["Room,Area", *rows[1:]]))
    assert run(str(path), str(good)) == 1
    assert "measured and not stated: 101" in capsys.readouterr().out
    for name, table in (("doubled", [*rows, rows[0]]), ("omitted", rows[1:])):
        (tmp_path / f"{name}.csv").write_text("\n".join(["Room,Area", *table]))
        assert run(str(path), str(tmp_path / f"{name}.csv"), "--json") == 1, name
