"""The commands that plan and follow a job: days, cut, estimate with its range and alternates, use, site, progress."""

from __future__ import annotations

from datetime import date

import pytest

from takeoff.cli.reports import bar_lines
from takeoff.exchange.catalogue_units import read_degrees


def test_days_are_printed_as_bars_and_with_the_reason_of_each_start(traced, done):
    out = done("days", traced, "--start", "2026-03-02", "--crews", 2, "--limit", 0).out
    head = out.splitlines()[0]
    assert head.split("|")[1].strip() == "03-02"
    assert all(len(line) == len(head) for line in out.splitlines()[:9])
    assert "104 Process" in out
    assert "starts the job" in out
    assert "working hours" in out


def test_days_as_json_name_every_step_once_and_only_on_working_days(traced, done):
    found = done("days", traced, "--start", "2026-03-02", "--limit", 0, "--json").json
    labour = done("estimate", traced, "--json").json["labour"]
    ids = [work["work"].split("/") for work in found["works"] if work["kind"] == "work"]
    assert len({tuple(id) for id in ids}) == len(ids)
    steps = {(*id[:2], step) for id in ids if len(id) > 1 for step in id[2].split("+")}
    assert steps == {(line["room"], line["system"], line["step"]) for line in labour}
    assert [id for id in ids if len(id) == 1] == [["setup"], ["cleanup"]]
    assert found["hours"] >= found["bound"]
    assert all(date.fromisoformat(bar[0][:10]).weekday() < 5 for work in found["works"] for bar in work["bars"])


def test_more_crews_take_no_longer(traced, done):
    one, three = (
        done("days", traced, "--start", "2026-03-02", "--limit", 0, "--crews", n, "--json").json for n in (1, 3)
    )
    assert three["hours"] < one["hours"]


def test_days_at_a_bare_temperature_are_in_the_degrees_of_the_job(traced, done):
    """68 °F are 20 °C: NIST SP 811 (2008), B.8, t/°C = (t/°F − 32) / 1.8."""

    def hours(text):
        words = ("--start", "2026-03-02", "--limit", 0, "--json", "--temperature", text)
        return done("days", traced, *words).json["hours"]

    assert hours("68") == hours("20 C") == hours("68 F")
    # in the warm a window may close and abrading be planned, so the hours differ, whichever way
    assert hours("50") == hours("10 C") != hours("68")


def test_the_cut_list_numbers_every_cut_of_every_roll(traced, done):
    (mat, *trims) = done("cut", traced, "--limit", 0, "--json").json["products"]
    assert (mat["product"], len(mat["rolls"]), mat["lower_bound"]) == ("glass-mat", 6, 6)
    numbers = [cut["cut"] for roll in mat["rolls"] for cut in roll["cuts"]]
    assert numbers == list(range(1, len(numbers) + 1))
    assert {trim["product"] for trim in trims} == {"panel-inside-trim", "panel-edge-trim"}
    text = done("cut", traced, "--limit", 0).out
    assert "roll 6" in text
    assert "length 6" in text


def test_a_job_without_mat_or_trim_has_nothing_to_cut(job, done, edits_file):
    done("scale", job, "A-101", "--note", "1:50")
    done("apply", job, edits_file(system="thin-film"))
    outcome = done("cut", job)
    assert (outcome.out, "nothing is cut" in outcome.err) == ("", True)


def test_range_and_alternates_come_with_the_estimate_where_asked(traced, done):
    bare = done("estimate", traced, "--json").json
    assert {"range", "alternates"} & set(bare) == set()
    words = ("--range", "--draws", 2000, "--seed", 3, "--against", "sheet-panel")
    full = done("estimate", traced, *words, "--json").json
    assert full["total"] == bare["total"]
    assert full["range"]["p10"] < full["range"]["p50"] < full["range"]["p80"]
    price = next(r for r in full["alternates"]["rows"] if (r["kind"], r["id"]) == ("price", "price"))
    assert price["values"][0] == bare["total"]["amount"]
    assert price["values"][1] < price["values"][0]
    out = done("estimate", traced, *words).out
    assert "P80" in out
    assert "Sheet panels: difference" in out


def test_packs_used_give_the_progress_and_are_taken_back_by_undo(traced, done):
    # By hand: 2 kits of 3 gal less 0.025 gal in tools, at 12 % loss, lay 19.9 L on 55.7 m2: 357 µm, not 203.
    out = done("use", traced, "glaze", "--packs", 2, "--area", "600 sf", "--room", "R104").out
    assert "14.1 mils (357 µm) laid for 8.0 mils (203 µm) specified" in out
    found = done("progress", traced, "--json", "--at", "2031-01-01T07:00").json
    (coat,) = [c for c in found["coats"] if (c["system"], c["step"]) == ("mat-hygienic", "glaze")]
    assert (coat["verdict"], round(coat["film"] * 1e6)) == ("thick", 357)
    assert [(room["room"], room["state"]) for room in found["rooms"]] == [("R104", "missed")]
    assert "too thick" not in done("progress", traced, "--at", "2031-01-01T07:00").out.replace("thick ", "")
    done("undo", traced)
    assert all(c["area_done"] == 0 for c in done("progress", traced, "--json").json["coats"])


def test_a_bare_area_is_in_the_units_of_the_job(traced, done):
    # imperial: 600 is 600 ft2 = 55.7 m2
    done("use", traced, "glaze", "--packs", 1, "--area", "600", "--system", "mat-hygienic")
    found = done("progress", traced, "--json").json
    assert max(c["area_done"] for c in found["coats"]) == pytest.approx(55.74, abs=0.01)


def test_a_cold_wall_may_not_be_coated_and_the_reading_is_kept(traced, takeoff, done):
    words = ("--air", "16 C", "--surface", "13 C", "--humidity", 71)
    outcome = takeoff("site", traced, *words)
    assert outcome.code == 1
    # 10.7 °C is 51.3 °F, and 2.3 K are 4.1 °F: the job is in feet.
    assert "Dew point 51.3 °F" in outcome.out
    assert "4.1 °F above the dew point" in outcome.out
    assert "Record a reading" in done("history", traced).out
    good = done("site", traced, "--air", 68, "--surface", "66", "--humidity", 50)
    assert "It may be coated." in good.out


@pytest.mark.parametrize(
    ("text", "is_metric", "celsius"),
    [("68", False, 20.0), ("20", True, 20.0), ("68 F", True, 20.0), ("-4 °C", True, -4)],
)
def test_bare_degrees_are_those_of_the_job(text, is_metric, celsius):
    assert read_degrees(text, is_metric=is_metric) == pytest.approx(celsius)


@pytest.mark.parametrize("text", ["", "warm", "20 K", "--20"])
def test_what_is_no_temperature_is_refused(traced, refused, text):
    assert "is not a temperature" in refused("site", traced, "--air", text, "--surface", "20 C", "--humidity", 50)


def test_no_plan_has_no_bars():
    from takeoff.estimate.days.works import DayPlan

    plan = DayPlan(works=(), rooms=(), finish=None, days=0, hours=0.0, bound=0.0, abraded=0)
    assert bar_lines(plan) == []
