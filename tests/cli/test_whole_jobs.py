"""The sample plans from plan file to figures: imperial, metric and scan agree with the building's true quantities.

The truth is worked out by plain arithmetic from the building's sizes (sample_plans/tracing.py). It leaves out the
corners and the base of the splash wall's two coated ends: four outside corners of its height, and two thicknesses of
cove, which the program counts.
"""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import pytest

from takeoff import actions

KEYS = {
    "gross_area", "net_area", "deducted_area", "return_area", "base_length", "top_length", "end_length",
    "opening_edge_length", "inside_corners", "outside_corners", "inside_corner_length", "outside_corner_length",
    "cove_length", "cove_girth_area", "u",
}  # fmt: skip
"""What design says that every item of ``measure --json`` has."""

FIGURES = ("gross_area", "net_area", "deducted_area", "return_area", "base_length", "inside_corner_length")
WITHIN = 1e-4


@pytest.fixture(scope="module")
def truth(plans):
    return json.loads((plans / "facility-truth.json").read_text(encoding="utf-8"))


def points_of(plans, run, vertex):
    edits = json.loads((plans / "facility-scan-edits.json").read_text(encoding="utf-8"))
    return next(r for r in edits["runs"] if r["id"] == run)["points"][vertex]


def scan_dimensions(plans):
    """Two dimensions as a person picks them: along the corridor, and across the building through two rooms.

    On A-101 at 1/4" = 1'-0" (18 points to the foot) they are 1416 and 912 points: 78'-8" and 50'-8".
    """
    ends = [
        (points_of(plans, "101-walls", 0), points_of(plans, "101-walls", 1), "78'-8\""),
        (points_of(plans, "104-walls", 0), points_of(plans, "103-walls", 3), "50'-8\""),
    ]
    words = []
    for (x0, y0), (x1, y1), length in ends:
        words += ["--points", f"{x0},{y0}", f"{x1},{y1}", "--length", length]
    return words


CASES = {
    "imperial": ("facility-imperial.pdf", "facility-edits.json", "A-101", lambda _: ["--note", '1/4" = 1\'-0"']),
    "metric": ("facility-metric.pdf", "facility-metric-edits.json", "1", lambda _: ["--read"]),
    "scan": ("facility-scan.png", "facility-scan-edits.json", "1", scan_dimensions),
}


@pytest.mark.parametrize("case", CASES)
def test_sample_plan_measures_to_the_true_quantities(case, tmp_path, done, plans, truth):
    plan, edits, sheet, words = CASES[case]
    job = tmp_path / "job.takeoff"
    assert done("new", job, "--plan", plans / plan).out == ""
    assert done("scale", job, sheet, *words(plans)).out == ""
    assert done("apply", job, plans / edits).out == ""
    by_run = done("measure", job, "--by", "run", "--json").json
    by_room = done("measure", job, "--json").json

    for found, stated in ((by_run, truth["runs"]), (by_room, truth["rooms"])):
        assert {item["id"] for item in found["items"]} == set(stated)
        for item in found["items"]:
            for figure in FIGURES:
                assert item[figure] == pytest.approx(stated[item["id"]][figure], rel=WITHIN, abs=1e-4), figure
    total = by_run["total"]
    for figure in FIGURES:
        assert total[figure] == pytest.approx(truth["total"][figure], rel=WITHIN)
    assert total["inside_corners"] == truth["total"]["inside_corners"]
    ends = next(item for item in by_run["items"] if item["id"] == "103-splash-wall")
    assert ends["outside_corners"] == 4
    assert total["outside_corners"] == truth["total"]["outside_corners"] + 4


def test_measure_json_has_the_promised_keys_in_total_and_items(traced, done):
    for by in ("room", "run", "system"):
        found = done("measure", traced, "--by", by, "--json").json
        assert found["by"] == by
        for item in (found["total"], *found["items"]):
            assert set(item) >= KEYS
            assert set(item["u"]) == {"net_area", "base_length"}
            assert item["u"]["net_area"] > 0


def test_the_uncertainty_of_a_total_does_not_shrink_below_the_scale_part(traced, done):
    total = done("measure", traced, "--json").json["total"]
    # a stated scale is taken as good to 0.2 %, twice that for k = 2; it is common to every length of the sheet
    assert total["u"]["base_length"] >= 2 * 0.002 * total["base_length"]


def test_a_rule_changes_the_measured_area_and_never_the_net_area(traced, done):
    exact = done("measure", traced, "--json").json["total"]
    ruled = done("measure", traced, "--rule", "us-half", "--json").json["total"]
    assert exact["measured_area"] == pytest.approx(exact["net_area"])
    assert ruled["net_area"] == exact["net_area"]
    assert ruled["measured_area"] > exact["net_area"]
    assert "By rule us-half" in done("measure", traced, "--rule", "us-half").out


def test_measure_explains_the_openings_that_were_deducted(traced, done):
    shown = done("measure", traced, "--explain").out
    assert "101-walls, right face" in shown
    assert "door 104A: 6'-0\" × 7'-0\"" in shown
    faces = done("measure", traced, "--explain", "--json").json["faces"]
    corridor = next(face for face in faces if face["run"] == "101-walls")
    assert len(corridor["openings"]) == 9
    assert corridor["gross_area"] - corridor["deducted_area"] == pytest.approx(corridor["net_area"])


def test_estimate_json_adds_up_and_names_its_currency(traced, done):
    found = done("estimate", traced, "--json").json
    lines = {line["id"]: line for line in found["price"]}
    assert {line["currency"] for line in found["price"]} == {found["currency"]} == {"USD"}
    direct = sum(lines[k]["amount"] for k in ("material", "material_tax", "freight", "labour", "setup", "access"))
    assert lines["direct"]["amount"] == pytest.approx(direct)
    assert lines["material"]["amount"] == pytest.approx(sum(m["cost"]["amount"] for m in found["materials"]))
    assert lines["labour"]["amount"] == pytest.approx(sum(line["cost"]["amount"] for line in found["labour"]))
    assert found["total"]["amount"] == lines["price"]["amount"] > 0
    assert sum(room["price"]["amount"] for room in found["rooms"]) == pytest.approx(found["total"]["amount"])
    for line in found["materials"]:
        assert line["bought"] == pytest.approx(sum(p["count"] * p["size"] for p in line["packs"]))
        assert line["arithmetic"]


def test_estimate_says_on_stderr_that_a_cove_is_made_by_no_step(traced, done):
    outcome = done("estimate", traced)
    assert "note: 106 Cold room:" in outcome.err
    assert "Price USD" in outcome.out


def test_estimate_explains_each_price_line(traced, done):
    assert "Price before tax: Direct cost, contingency, overhead, profit, minimum" in (
        done("estimate", traced, "--explain").out
    )
    assert "Direct cost, contingency, overhead, profit, minimum" not in done("estimate", traced).out


def test_an_estimate_prints_its_notes_and_cautions_above_the_price(traced, done):
    lines = done("estimate", traced).out.splitlines()
    assert lines[-1].startswith("Price USD ")
    shown = " ".join(" ".join(lines).split())
    assert "replace them with your own before you bid" in shown
    assert "crystalline silica" in shown
    assert "Isocyanates can cause asthma" in shown


def test_alternates_that_no_named_report_shows_are_said_to_be_missing(traced, done, tmp_path):
    outcome = done("report", traced, "--out", tmp_path, "--csv", "--against", "sheet-panel")
    assert "alternates stand in the PDF, the page and the workbook alone: add --pdf, --html or --xlsx" in outcome.err


def test_what_only_the_desk_needs_to_know_of_the_filler_is_in_no_bid(traced, done, tmp_path):
    done("points", traced, "--confirm-all")
    done("report", traced, "--out", tmp_path, "--edition", "bid", "--html")
    page = (tmp_path / "bid.html").read_text(encoding="utf-8")
    assert "Filled block wall" in page
    assert "75 sf/gal" not in page
    assert "try a square" not in page
    assert "have a sample approved before ordering colour" in page


def test_reports_of_every_kind_are_written_where_none_is_named(traced, done, tmp_path):
    from openpyxl import load_workbook
    from pypdfium2 import PdfDocument

    net = done("measure", traced, "--json").json["total"]["net_area"] / 0.09290304
    paths = done("report", traced, "--out", tmp_path / "reports").out.splitlines()
    assert {path.rpartition(".")[2] for path in paths} == {"pdf", "html", "xlsx", "csv", "dxf"}
    book = load_workbook(tmp_path / "reports" / "report.xlsx", data_only=True)
    numbers = [
        cell for sheet in book for row in sheet.iter_rows(values_only=True) for cell in row if isinstance(cell, float)
    ]
    assert any(abs(number - net) < 0.06 for number in numbers)
    document = PdfDocument(tmp_path / "reports" / "report.pdf")
    assert len(document) > 1
    text = "".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    assert "Sample dairy" in text or "sample" in text
    assert f"{net:,.1f}" in text


def test_only_the_named_report_is_written(traced, done, tmp_path):
    done("report", traced, "--out", tmp_path / "reports", "--csv")
    assert {path.suffix for path in (tmp_path / "reports").iterdir()} == {".csv"}


def test_demo_does_a_whole_job_and_may_be_run_again(done, demo_made, tmp_path, truth, monkeypatch):
    shutil.copytree(demo_made / "demo", tmp_path / "demo")
    monkeypatch.chdir(tmp_path)
    second = done("demo", "--out", "demo")
    assert second.out == (demo_made / "printed.txt").read_text(encoding="utf-8")
    assert "Price USD" in second.out
    with actions.open_job(tmp_path / "demo" / "demo.takeoff") as store:
        total = actions.measure_ready(store.job)[0].measurement.total
    assert total.quantities.net_area == pytest.approx(truth["total"]["net_area"], rel=WITHIN)
    assert (tmp_path / "demo" / "report.pdf").read_bytes().startswith(b"%PDF")


def test_a_bid_is_written_beside_the_full_report_and_what_is_doubtful_is_told_the_estimator_alone(
    traced, tmp_path, done
):
    words = ("--edition", "bid", "--price-by", "system", "--against", "sheet-panel", "--csv", "--html")
    done("points", traced, "--confirm-all")
    outcome = done("report", traced, "--out", tmp_path / "offer", *words)
    assert [Path(line).name for line in outcome.out.splitlines()] == [
        "bid.html", "bid-scope.csv", "bid-price.csv", "bid-unit-prices.csv", "bid-alternates.csv", "bid-days.csv",
        "bid-qualifications.csv",
    ]  # fmt: skip
    assert "example catalogue" in outcome.err
    with (tmp_path / "offer" / "bid-price.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file))
    price = done("estimate", traced, "--json").json["price"]
    total = next(line["amount"] for line in price if line["id"] == "price")
    assert float(rows[-1][-1]) == total
    assert sum(float(row[-1]) for row in rows[1:-1]) == pytest.approx(total, abs=0.004)
    page = (tmp_path / "offer" / "bid.html").read_text(encoding="utf-8")
    assert "example catalogue" not in page
    assert "Overhead" not in page
