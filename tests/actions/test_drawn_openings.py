"""Openings as they are drawn: each where its gap is, and as wide."""

from __future__ import annotations

import math

import pytest

from takeoff import actions
from takeoff.actions.traced_sheets import drawn_openings
from tests.jobs import job_on

FOOT = 0.3048


def test_the_drawn_openings_of_the_sample_plan_have_the_widths_of_its_opening_schedule(tmp_path):
    """Its schedule prints 6'-0" for the pair of leaves 104A and 3'-0" for the single leaf 107A."""
    plan = actions.sample_plans() / "facility-imperial.pdf"
    with job_on(tmp_path / "a.takeoff", plan) as store:
        actions.set_scale_note(store, store.job.sheets[1], '1/4" = 1\'-0"')
        found = list(drawn_openings(actions.read_sheet_trace(store, 1)))
    assert len(found) > 10
    for place, width in (((534.0, 735.0), 6 * FOOT), ((1407.0, 735.0), 3 * FOOT)):
        nearest = min(found, key=lambda o: math.dist(o[0], place))
        assert math.dist(nearest[0], place) < 60.0
        assert nearest[1].width == pytest.approx(width, abs=0.03)
