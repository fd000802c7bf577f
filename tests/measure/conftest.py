"""Walls in metres: one sheet point is one metre, and a vertex is picked to half a millimetre."""

from __future__ import annotations

import pytest

from takeoff.measure.faces import measure_faces
from takeoff.measure.rules import MeasureSettings
from takeoff.measure.totals import sum_quantities
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Opening, Run


@pytest.fixture(scope="session")
def scale():
    return Calibration(sheet=1, mx=1.0, my=1.0, pick=0.0005)


@pytest.fixture(scope="session")
def wall():
    """Make a run from points in metres; ``height`` is a number or (station, height) pairs, openings may be dicts."""

    def make(points, *, id="a", height=3.0, openings=(), sheet=1, **rest):
        if isinstance(height, int | float):
            height = HeightProfile.constant(height)
        elif height is not None:
            height = HeightProfile(points=tuple(tuple(p) for p in height))
        made = tuple(o if isinstance(o, Opening) else Opening(**o) for o in openings)
        points = tuple(tuple(p) for p in points)
        return Run(id=id, sheet=sheet, points_pt=points, height=height, openings=made, **rest)

    return make


@pytest.fixture(scope="session")
def measure(scale):
    """Measure runs, all on one scale unless told, and give their faces."""

    def faces(*runs, rooms=(), scales=None, **settings):
        calibrations = {r.id: (scales or {}).get(r.id, scale) for r in runs}
        return measure_faces(runs, {r.id: r for r in rooms}, calibrations, settings=MeasureSettings(**settings))

    return faces


@pytest.fixture(scope="session")
def figures(measure):
    """Measure runs and give the sum of their quantities."""

    def total(*runs, **rest):
        return sum_quantities([f.quantities for f in measure(*runs, **rest)])

    return total
