"""Rooms that a new revision parts or joins are proposed as the new sheet draws them, and taken in place of the old."""

from __future__ import annotations

from pathlib import Path

import pytest

from takeoff.actions import measure_ready, undo
from takeoff.actions.comparing import compare_revision
from takeoff.actions.deltas import RevisionPrices
from takeoff.actions.revising import accept_revision
from tests.revise.made_cases import Case, cases, job_of, pair_of
from tests.trace.plans import Building

NEAR = 0.02
"""Part of a floor's area within which traced rooms agree with what was built."""


def case(group: str) -> Case:
    return next(c for c in cases() if c.group == group)


def floors(building: Building) -> list[float]:
    return sorted(room.area for room in building.rooms)


@pytest.mark.parametrize("group", ["room parted", "rooms joined"])
def test_the_rooms_that_the_new_sheet_draws_take_the_place_of_the_old_walls(group: str, tmp_path: Path) -> None:
    pair = pair_of(case(group))
    with job_of(pair, tmp_path / "a.takeoff", 1) as store:
        before = store.job
        found = compare_revision(store, before.sheets[1], pair.new.name, pair.new.data)
        (place,) = found.rooms_anew
        for run in place.runs:
            one = next(r for r in found.runs if r.before.id == run)
            assert one.verdict == "look at it"
            assert any("drawn in place of" in note for note in one.notes)
        # neither "sure" nor "all" takes what a person has to look at
        assert not {r.before.id for r in found.chosen("all")} & set(place.runs)
        wanted = [*(r.before.id for r in found.chosen("all")), place.key]
        worth = RevisionPrices(before, found).worths[place.key]
        accept_revision(store, found, wanted)
        drawn = {wall.id for _, walls in place.rooms for wall in walls}
        for of, job, ids in ((worth.net_area.before, before, place.runs), (worth.net_area.after, store.job, drawn)):
            items = measure_ready(job, by="run")[0].measurement.items
            assert of == pytest.approx(sum(i.quantities.net_area for i in items if i.id in ids), abs=1e-6)
            assert of > 0.0
        assert {run.sheet for run in store.job.runs.values()} == {found.sheet.id}
        # what was built is the source of the areas
        scale = store.job.calibration_of(found.sheet.id)
        got = sorted(
            abs(sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(w, [*w[1:], w[0]], strict=True))) / 2 * scale.mx**2
            for w in (run.points_pt for run in store.job.runs.values() if not run.id.count("column"))
        )
        assert got == pytest.approx(floors(pair.second.building), rel=NEAR)
        undo(store)
        assert store.job == before
