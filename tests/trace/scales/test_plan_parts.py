"""Two plans on one sheet at scales of their own: lengths are drawn at these, so what is read is arithmetic."""

from __future__ import annotations

from dataclasses import replace

import pymupdf
import pytest

from takeoff import actions
from takeoff.actions.scales import read_scales
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.lines.lost_rooms import LostRoom
from tests.jobs import job_on

POINT = 0.0254 / 72
"""Metres of a point on paper."""
LENGTHS = (4.0, 5.5, 7.25)


def draw_plan(page: pymupdf.Page, left: float, top: float, ratio: float, note: str) -> None:
    """Draw dimensions under one another at a ratio, a frame round them, and a title with the note beneath."""
    pt = 1.0 / (ratio * POINT)
    for n, length in enumerate(LENGTHS):
        y, right = top + 40 * (n + 1), left + length * pt
        page.draw_line((left, y), (right, y), width=0.4)
        for x in (left, right):
            page.draw_line((x - 3, y + 3), (x + 3, y - 3), width=0.4)
        page.insert_text(((left + right) / 2 - 12, y - 3), f"{length:.2f} m", fontsize=8)
    page.draw_circle((left + 20, top + 150), 8, width=0.4)
    page.draw_rect((left - 10, top, left + 10 + max(LENGTHS) * pt, top + 160), width=1.0)
    page.insert_text((left, top + 178), f"PLAN  SCALE {note}", fontsize=9)


def read(*plans: tuple[float, float, float, str], between: bool = False):
    document = pymupdf.open()
    page = document.new_page(width=1190, height=842)
    for plan in plans:
        draw_plan(page, *plan)
    if between:
        page.draw_rect((400, 200, 900, 500), width=0.3)
    data = document.tobytes()
    sheet = read_sheets(data, "a.pdf")[0][0]
    return read_scales(data, sheet, read_linework(data, sheet), read_lines(data, sheet))


@pytest.mark.parametrize(
    "second",
    [(80.0, 420.0), (700.0, 80.0), (700.0, 190.0)],
    ids=["under one another", "side by side", "beside and lower, so that what lies between one and its scale is empty"],
)
def test_each_of_two_plans_with_a_scale_under_it_is_measured_at_its_own(second):
    scales = read((80.0, 80.0, 50.0, "1:50"), (*second, 100.0, "1:100"))
    assert [round(scale.ratio) for _, scale in scales] == [50, 100]
    assert [basis.unsure for _, scale in scales for basis in scale.basis] == ["", ""]
    region = scales[1][0]
    assert scales[1][1].region == region.id
    xs, ys = zip(*region.outline_pt, strict=True)
    assert min(xs) <= second[0] <= max(xs)
    assert min(ys) <= second[1] <= max(ys)


def test_plans_that_something_drawn_lies_across_are_left_to_a_person():
    scales = read((80.0, 80.0, 50.0, "1:50"), (700.0, 80.0, 100.0, "1:100"), between=True)
    assert any(basis.unsure for _, scale in scales for basis in scale.basis)


@pytest.mark.parametrize(("title", "is_searched"), [("PLAN", True), ("SITE PLAN", False)])
def test_a_part_that_is_titled_as_a_site_is_not_searched_for_rooms_and_says_so(tmp_path, title, is_searched):
    document = pymupdf.open()
    page = document.new_page(width=1190, height=842)
    draw_plan(page, 80.0, 80.0, 50.0, "1:50")
    draw_plan(page, 80.0, 420.0, 100.0, "1:100")
    page.insert_text((300, 600), title, fontsize=16)
    with job_on(tmp_path / "a.takeoff", ("a.pdf", document.tobytes())) as store:
        actions.set_scale_read(store, store.job.sheets[1])
        notes = actions.read_sheet_trace(store, 1).notes
    assert any("no room was looked for" in note for note in notes) != is_searched


def test_a_name_in_a_part_with_a_scale_of_its_own_is_not_missed_by_the_plan_beside_it(tmp_path):
    document = pymupdf.open()
    page = document.new_page(width=1190, height=842)
    draw_plan(page, 80.0, 80.0, 50.0, "1:50")
    draw_plan(page, 80.0, 420.0, 100.0, "1:100")
    with job_on(tmp_path / "a.takeoff", ("a.pdf", document.tobytes())) as store:
        actions.set_scale_read(store, store.job.sheets[1])
        trace = actions.read_sheet_trace(store, 1)
    here, there = (
        LostRoom(name=name, reason="r", mend="m", at_pt=(200.0, y)) for name, y in (("A", 200.0), ("B", 500.0))
    )
    parts = [(region, scale, replace(plan, lost=(here, there))) for region, scale, plan in trace.parts]
    assert [lost.name for lost in replace(trace, parts=tuple(parts)).lost] == ["B", "A"]


def test_two_plans_of_one_scale_are_one_sheet():
    [(region, scale)] = read((80.0, 80.0, 50.0, "1:50"), (80.0, 420.0, 50.0, "1:50"))
    assert (region, round(scale.ratio)) == (None, 50)


def test_a_plan_whose_lengths_contradict_the_scale_under_it_is_measured_by_them_and_asked():
    (_, first), (region, second) = read((80.0, 80.0, 50.0, "1:50"), (80.0, 420.0, 100.0, "1:20"))
    assert (round(first.ratio), round(second.ratio)) == (50, 100)
    assert region is not None
    assert first.basis[0].unsure
    assert second.basis[0].unsure


def test_a_sheet_with_two_scales_says_nothing_against_the_note_of_the_next_one(tmp_path):
    document = pymupdf.open()
    first = document.new_page(width=1190, height=842)
    draw_plan(first, 80.0, 80.0, 50.0, "1:50")
    draw_plan(first, 80.0, 520.0, 100.0, "1:100")
    document.new_page(width=1190, height=842).insert_text((900, 800), "SCALE 1:50", fontsize=9)
    with job_on(tmp_path / "a.takeoff", ("a.pdf", document.tobytes())) as store:
        assert "1:100" in store.job.sheets[1].scale_note
        for sheet in store.job.sheets.values():
            actions.set_scale_read(store, sheet)
        [second] = [c for c in store.job.calibrations.values() if c.sheet == 2]
    assert "printed alike" not in second.basis[0].unsure
