"""A scale against printed areas: rooms are drawn in known sizes, and their areas are arithmetic on these."""

from __future__ import annotations

import pymupdf
import pytest

from takeoff import actions
from takeoff.errors import CalibrationError
from takeoff.model.open_points import basis_of
from tests.jobs import job_on

ROOMS = {"HALL": (5.0, 4.0), "STORE": (3.0, 4.0), "OFFICE": (4.2, 4.0), "LAB": (6.5, 4.0)}
"""Rooms beside one another: wide and deep in metres."""
WALL, LEAF = 0.2, 0.9
POINT = 0.0254 / 72
"""Metres of a point on paper."""


def draw_rooms(*, ratio: float = 100.0, areas: float = 1.0, note: str = "", alike: bool = False) -> bytes:
    """Draw the rooms at a scale, in each its name, its area times ``areas`` and a door, and a written scale."""
    document = pymupdf.open()
    page = document.new_page(width=842, height=595)
    pt = 1.0 / (ratio * POINT)
    left, top = 60.0, 200.0
    x = left
    for name, (wide, deep) in ROOMS.items():
        right, bottom = x + (wide + 2 * WALL) * pt, top + (deep + 2 * WALL) * pt
        inner = (x + WALL * pt, top + WALL * pt, right - WALL * pt, bottom - WALL * pt)
        door = (inner[0] + 0.6 * pt, inner[0] + (0.6 + LEAF) * pt)
        for box in (
            (x, top, right, inner[1]),
            (x, top, inner[0], bottom),
            (inner[2], top, right, bottom),
            (x, inner[3], door[0], bottom),
            (door[1], inner[3], right, bottom),
        ):
            page.draw_rect(box, color=None, fill=(0, 0, 0))
        page.draw_line((door[0], inner[3]), (door[0], inner[3] - LEAF * pt), width=0.3)
        page.draw_bezier(
            (door[0], inner[3] - LEAF * pt),
            (door[0] + 0.5523 * LEAF * pt, inner[3] - LEAF * pt),
            (door[1], inner[3] - 0.5523 * LEAF * pt),
            (door[1], inner[3]),
            width=0.3,
        )
        printed = 20.0 if alike else wide * deep
        page.insert_text((inner[0] + 20, inner[1] + 20), name, fontsize=8)
        page.insert_text((inner[0] + 20, inner[1] + 31), f"{printed * areas:.2f} m²", fontsize=6)
        x = right - WALL * pt
    if note:
        page.insert_text((640, 560), f"SCALE {note}", fontsize=9)
    return document.tobytes()


@pytest.fixture
def job(tmp_path):
    def make(**drawn):
        return job_on(tmp_path / "a.takeoff", ("plan.pdf", draw_rooms(**drawn)))

    return make


def test_a_note_that_nothing_else_bears_out_is_borne_out_by_the_areas_printed_in_rooms(job):
    with job(note="1:100") as store:
        [read] = actions.set_scale_read(store, store.job.sheets[1])
        assert "no dimension" in basis_of(read, "mx").unsure
        actions.trace_sheet(store, 1, all=True)
        [scale] = store.job.calibrations.values()
        assert scale.mx == pytest.approx(read.mx)
        assert basis_of(scale, "mx").unsure == ""
        assert "the areas printed in 4 rooms agree" in basis_of(scale, "mx").text


def test_a_note_that_the_areas_printed_in_rooms_contradict_stays_open_with_what_they_give(job):
    """A plan that was printed at 1:125 under a note of 1:100: its doors would be 0.72 m wide, and its areas are too."""
    with job(ratio=125.0, note="1:100") as store:
        actions.set_scale_read(store, store.job.sheets[1])
        actions.trace_sheet(store, 1, all=True)
        [scale] = store.job.calibrations.values()
        basis = basis_of(scale, "mx")
        assert "the areas printed in 4 rooms give 1:12" in basis.unsure
        assert basis.high == pytest.approx(1.25 * scale.mx, rel=0.02)


def test_a_note_by_which_doors_would_be_too_narrow_gives_way_to_the_areas_printed_in_rooms_and_that_is_asked(job):
    with job(ratio=200.0, note="1:100") as store:
        [scale] = actions.set_scale_read(store, store.job.sheets[1])
        assert scale.ratio == pytest.approx(200.0, rel=0.01)
        assert basis_of(scale, "mx").unsure


def test_areas_propose_a_scale_where_the_sheet_has_nothing_else_and_ask(job):
    with job() as store:
        [scale] = actions.set_scale_read(store, store.job.sheets[1])
        assert scale.ratio == pytest.approx(100.0, rel=0.01)
        assert "check it with a dimension" in basis_of(scale, "mx").unsure


@pytest.mark.parametrize("drawn", [{"alike": True}, {"areas": 1e-3}])
def test_areas_that_are_all_one_or_none_tell_no_scale(job, drawn):
    with job(**drawn) as store, pytest.raises(CalibrationError):
        actions.set_scale_read(store, store.job.sheets[1])
