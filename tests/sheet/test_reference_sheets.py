"""Real and modelled sheets with known truth, kept outside the project (environment variable TAKEOFF_REFERENCE)."""

from __future__ import annotations

import json

import pytest

from takeoff.model.plan import KnownDimension
from takeoff.sheet.calibrate import calibration_from_embedded, fit_calibration
from takeoff.sheet.embedded import embedded_scale
from takeoff.sheet.files import read_sheets
from takeoff.sheet.scales import parse_scale_note, ratio_text
from takeoff.units import parse_length


def test_modelled_house_carries_one_to_fifty(reference):
    data = (reference / "ifc_plans" / "house_ground.pdf").read_bytes()
    sheet = read_sheets(data, "house_ground.pdf")[0][0]
    found = embedded_scale(data, sheet)
    assert [ratio_text(scale.mx) for scale in found] == ["1:50"]
    truth = json.loads((reference / "ifc_plans" / "house_ground.json").read_text())
    (a, b), (_, d) = truth["page"]["m_to_pt"][0][:2], truth["page"]["m_to_pt"][1][:2]
    points_per_metre = max(abs(a), abs(b), abs(d))
    assert calibration_from_embedded(1, found[0]).mx * points_per_metre == pytest.approx(1, rel=1e-5)


def test_sheet_shrunk_for_printing_warns_with_both_ratios(reference):
    data = (reference / "real_plans" / "house_rev_2013-07-18.pdf").read_bytes()
    sheets, doubts = read_sheets(data, "house.pdf")
    assert (len(sheets), doubts) == (9, [])
    assert [sheet.paths is not None and 495 <= sheet.paths <= 842 for sheet in sheets] == [True] * 9
    sheet = sheets[0]
    note = parse_scale_note(sheet.scale_note)
    dimensions = [
        KnownDimension(start_pt=(300, 300), end_pt=(300 + 162.72, 300), length=parse_length("19'-10 5/8\"")),
        KnownDimension(start_pt=(300, 400), end_pt=(300 + 159.36, 400), length=parse_length("19'-5 5/8\"")),
    ]
    fitted = fit_calibration(sheet.id, dimensions, note_m_per_pt=note)
    assert fitted.doubts == ("the note says 1:48, the dimensions give 1:105.6",)
    assert 0.3048 / fitted.mx == pytest.approx(8.184, abs=0.001)


def test_later_revision_is_true_to_its_note_and_has_one_picture_page(reference):
    data = (reference / "real_plans" / "house_rev_2013-10-12.pdf").read_bytes()
    sheets, _ = read_sheets(data, "house.pdf")
    assert [sheet.kind for sheet in sheets].count("scan") == 1
    dimension = KnownDimension(start_pt=(0, 0), end_pt=(236.25, 0), length=parse_length('157 1/2"'))
    note = parse_scale_note(sheets[0].scale_note)
    assert fit_calibration(1, [dimension], note_m_per_pt=note).doubts == ()


def test_turned_sheet_is_registered_by_its_unrotated_size_and_displayed_title_block(reference):
    data = (reference / "real_plans" / "facility_wall_quantities.pdf").read_bytes()
    sheet = read_sheets(data, "facility.pdf")[0][0]
    assert (sheet.width_pt, sheet.height_pt, sheet.rotation) == (1584, 2448, 90)
    assert sheet.paths == 2133
    assert ratio_text(parse_scale_note(sheet.scale_note)) == "1:192"
    assert sheet.number.startswith("EX")
