"""Tracing through the actions, checked against the true quantities of the sample building."""

from __future__ import annotations

import json
from dataclasses import replace

import pymupdf
import pytest

from takeoff import actions
from takeoff.model.open_points import basis_of
from takeoff.trace.lines.lost_rooms import LostRoom
from tests.jobs import job_on


def job_of(tmp_path, name, ratio):
    plan = actions.sample_plans() / name
    path = tmp_path / "job.takeoff"
    store = job_on(path, (name, plan.read_bytes()))
    actions.set_scale_ratio(store, store.job.sheets[1], ratio)
    return store


def true_base(run):
    """Base length in m of a run of the sample building (facility-truth.json: plain arithmetic on its sizes)."""
    truth = json.loads((actions.sample_plans() / "facility-truth.json").read_text())
    return truth["runs"][run]["base_length"]


@pytest.mark.parametrize(("name", "ratio"), [("facility-imperial.pdf", "1:48"), ("facility-metric.pdf", "1:50")])
def test_every_room_of_a_vector_sheet_is_traced_to_its_true_base(tmp_path, name, ratio):
    with job_of(tmp_path, name, ratio) as store:
        traced = actions.trace_sheet(store, 1, all=True, height=3.0)
        assert len(traced.put) == 8
        assert traced.doubtful == ()
        items = {i.label.split()[0]: i for i in actions.measure_ready(store.job, by="room")[0].measurement.items}
        for number, run in (("105", "105-walls"), ("106", "106-walls"), ("107", "107-walls")):
            assert items[number].quantities.base_length == pytest.approx(true_base(run), rel=0.002)


def test_what_closes_on_a_sheet_of_elevations_is_no_room_that_goes_in_without_a_look(tmp_path):
    with job_of(tmp_path, "facility-imperial.pdf", "1:48") as store:
        titled = replace(store.job.sheets[1], title="ELEVATIONS - NORTH AND SOUTH")
        read = replace(actions.read_sheet_trace(store, 1), sheet=titled)
        traced = actions.trace_sheet(store, 1, all=True, height=3.0, read=read)
        assert traced.put == ()
        assert len(traced.doubtful) == 8
        assert all("no floor plan" in room.reasons[-1] for room in traced.doubtful)


def test_a_name_in_no_room_is_told_once_however_often_rooms_are_taken(tmp_path):
    lost = LostRoom(name="PANTRY", at_pt=(1850.0, 900.0), reason="nothing closes it", mend="Trace it by hand")
    with job_of(tmp_path, "facility-imperial.pdf", "1:48") as store:
        read = actions.read_sheet_trace(store, 1)
        read = replace(read, parts=tuple((r, s, replace(plan, lost=(lost,))) for r, s, plan in read.parts))
        actions.trace_sheet(store, 1, at=[(300.0, 400.0)], height=3.0, read=read)
        actions.accept_traced(store, read, [read.room_at((1500.0, 400.0))], height=3.0)
        told = [finding.text for finding in store.job.sheets[1].findings if "PANTRY" in finding.text]
        assert len(told) == 1
        keys = [point.key for point in actions.open_points(store.job, has_stakes=False).points]
        assert len(keys) == len(set(keys))


def test_a_sheet_of_elevations_is_not_searched_for_rooms_unasked_and_says_so(tmp_path):
    document = pymupdf.open()
    page = document.new_page(width=1000, height=700)
    page.draw_rect((100, 100, 400, 300), fill=None, width=4.0)
    page.insert_text((800, 660), "EXTERIOR ELEVATIONS", fontsize=12)
    with job_on(tmp_path / "a.takeoff", ("a.pdf", document.tobytes())) as store:
        traced = actions.trace_sheet(store, 1, all=True)
        assert (traced.put, traced.doubtful) == ((), ())
        assert "its title says EXTERIOR ELEVATIONS" in traced.notes[0]


def test_rooms_of_a_scan_are_traced_and_what_is_doubtful_waits(tmp_path):
    # the scan is stretched by 0.997 and 1.002 (sample_plans/README.md), so lengths at its written scale are as far off
    with job_of(tmp_path, "facility-scan.png", "1:48") as store:
        read = actions.read_sheet_trace(store, 1)
        traced = actions.trace_sheet(store, 1, all=True, height=3.0, read=read)
        assert len(traced.put) >= 1
        assert len(traced.put) + len(traced.doubtful) == 8
        before = len(store.job.rooms)
        taken = actions.accept_traced(store, read, traced.doubtful[:1], height=3.0)
        assert len(taken.put) == 1
        assert len(store.job.rooms) == before + 1
        actions.accept_traced(store, read, traced.doubtful[1:], height=3.0)
        bases = sorted(
            i.quantities.base_length for i in actions.measure_ready(store.job, by="room")[0].measurement.items
        )
        assert {room.name for room in store.job.rooms.values()} >= {"CORRIDOR", "GOWNING", "WASH", "PACKING"}
        for room in ("101", "102", "103", "105", "106", "107", "108"):
            # 0.3 % of it is the scan's own stretch; the network finds a door's jambs to some centimetres
            assert min(abs(b / true_base(f"{room}-walls") - 1) for b in bases) < 0.006


def test_a_height_that_stands_in_the_text_behind_a_scan_is_an_open_point(tmp_path):
    """A scan of the sample's size at which a program that reads letters left their text, unseen (ISO 32000 mode 3)."""
    picture = actions.sample_plans() / "facility-scan.png"
    document = pymupdf.open()
    page = document.new_page(width=1656, height=1332)
    page.insert_image(page.rect, filename=str(picture))
    page.insert_text((830, 580), "101 CORRIDOR", fontsize=9, render_mode=3)
    page.insert_text((830, 592), "CLG 9'-0\"", fontsize=9, render_mode=3)
    with job_on(tmp_path / "a.takeoff", ("a.pdf", document.tobytes())) as store:
        assert store.job.sheets[1].kind == "scan"
        actions.set_scale_ratio(store, store.job.sheets[1], "1:48")
        read = actions.read_sheet_trace(store, 1)
        actions.accept_traced(store, read, read.rooms())
        [held] = [b for room in store.job.rooms.values() if (b := basis_of(room, "height")) is not None]
        assert (held.text, held.taken, held.is_open) == ("CLG 9'-0\"", pytest.approx(2.7432), True)
