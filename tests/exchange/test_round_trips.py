"""What goes out and comes back measures the same: laws over any runs, sheets and units."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache

import ezdxf
import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.actions.handover import measured_runs
from takeoff.actions.quantities import measure_ready
from takeoff.exchange.annotated_pdf import PlanSet, annotated_pdf
from takeoff.exchange.annotated_pdf_reader import read_annotated_pdf
from takeoff.exchange.dxf import write_dxf
from takeoff.exchange.dxf_reader import read_dxf
from takeoff.exchange.edits_file import read_edits
from takeoff.job.changes import apply_change
from takeoff.job.job import Job, JobSettings
from takeoff.model.plan import Calibration, Sheet, Source
from takeoff.model.walls import HeightProfile, Opening, Room, Run
from takeoff.units import Display

AT = "2026-03-02T10:00:00+00:00"
WIDTH, HEIGHT = 1200.0, 900.0


@cache
def _blank(rotation: int) -> bytes:
    with pikepdf.new() as document:
        document.add_blank_page(page_size=(WIDTH, HEIGHT))
        document.pages[0].Rotate = rotation
        out = io.BytesIO()
        document.save(out)
        return out.getvalue()


@st.composite
def _line(draw: st.DrawFn, id: str, low: float) -> Run:
    """A run that goes to the right in a band of its own, so that it never crosses itself or leaves the sheet."""
    steps = draw(st.lists(st.floats(20.0, 200.0), min_size=1, max_size=5))
    xs = [50.0]
    for step in steps:
        xs.append(xs[-1] + step)
    points = tuple((x, draw(st.floats(low, low + 60.0))) for x in xs)
    bulges = tuple(draw(st.floats(-0.25, 0.25)) for _ in steps) if draw(st.booleans()) else ()
    height = draw(st.floats(2.2, 9.0))
    opening = st.builds(
        Opening,
        at=st.floats(0.1, 0.15),
        width=st.floats(0.05, 0.2),
        height=st.floats(0.5, 3.0),
        sill=st.floats(0.0, 2.0),
        kind=st.sampled_from(("door", "window", "louvre")),
        mark=st.text(max_size=5),
    )
    return Run(
        id=id,
        sheet=1,
        room=draw(st.sampled_from(("R", None))),
        points_pt=points,
        bulges=bulges,
        face=draw(st.sampled_from(("left", "right"))),
        height=HeightProfile.constant(height)
        if draw(st.booleans())
        else HeightProfile(points=((0.0, height), (3.0, 2.5))),
        openings=tuple(draw(st.lists(opening, max_size=2))),
        ends=draw(st.sampled_from((("free", "abut"), ("abut", "free")))),
    )


@st.composite
def _jobs(draw: st.DrawFn) -> Job:
    rotation = draw(st.sampled_from((0, 90, 180, 270)))
    scale = draw(st.floats(0.0135, 0.05))  # the shortest run is 20 points, the furthest jamb at 0.25 m
    sheet = Sheet(id=1, source="plan", page=1, width_pt=WIDTH, height_pt=HEIGHT, rotation=rotation)
    runs = [draw(_line(id, low)) for id, low in (("a", 150.0), ("b", 500.0))]
    return Job(
        settings=JobSettings(name="Any", units=draw(st.sampled_from(("imperial", "metric")))),
        sources={"plan": Source(sha256="plan", name="plan.pdf", size=1)},
        sheets={1: sheet},
        calibrations={"1": Calibration(sheet=1, mx=scale, my=scale * draw(st.sampled_from((1.0, 1.01))))},
        rooms={"R": Room(id="R", name="Any", height=HeightProfile.constant(3.0))},
        runs={run.id: run for run in runs},
    )


def _with(job: Job, edits: bytes) -> Job:
    bare = replace(job, runs={}, rooms={})
    return apply_change(bare, read_edits(edits, bare, known_systems=frozenset()).apply(bare))


@settings(deadline=None, max_examples=25)
@given(job=_jobs())
def test_runs_come_back_from_an_annotated_pdf_as_they_were(job):
    data = _blank(job.sheets[1].rotation)
    plans = PlanSet(
        title="Any",
        author="test",
        at=AT,
        display=Display(system=job.settings.units),
        sheets=tuple(job.sheets.values()),
        files={"plan": data},
        scales=[(None, job.calibrations["1"])],
        runs=measured_runs(job),
    )
    found = read_annotated_pdf(annotated_pdf(plans), job.sheets, scales={1: job.calibrations["1"]})
    assert found.doubts == ()
    again = _with(job, found.edits)
    assert again.runs == job.runs
    assert measure_ready(again)[0].measurement == measure_ready(job)[0].measurement


@settings(deadline=None, max_examples=25)
@given(job=_jobs())
def test_runs_come_back_from_a_drawing_as_they_were(job):
    data = write_dxf(measured_runs(job), Display(system=job.settings.units), title="Any")
    found = read_dxf(data, job.sheets[1], job.calibrations["1"])
    assert found.doubts == ()
    again = _with(job, found.edits)
    assert again.runs == job.runs
    assert measure_ready(again)[0].measurement == measure_ready(job)[0].measurement


@settings(deadline=None, max_examples=25)
@given(job=_jobs())
def test_a_program_that_keeps_only_the_lines_of_a_drawing_keeps_their_length(job):
    job = replace(job, runs={id: replace(run, openings=()) for id, run in job.runs.items()})
    data = write_dxf(measured_runs(job), Display(system=job.settings.units), title="Any")
    document = ezdxf.read(io.StringIO(data.decode("utf-8")))
    for entity in document.modelspace().query("LWPOLYLINE"):
        entity.discard_extension_dict()
    out = io.StringIO()
    document.write(out)
    found = read_dxf(out.getvalue().encode(), job.sheets[1], job.calibrations["1"], height=3.0)
    again = measure_ready(_with(job, found.edits))[0].measurement.total.quantities
    assert again.length == pytest.approx(measure_ready(job)[0].measurement.total.quantities.length, rel=1e-9)
