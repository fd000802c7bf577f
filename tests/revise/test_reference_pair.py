"""Two revisions of a real house, kept outside the project (TAKEOFF_REFERENCE): the older plan is a picture under lines.

The outline of the utility room was drawn by eye over the older sheet. What is true was measured by eye on both sheets
at 900 and 410 dpi from the same axis, a pixel of the older picture being 27 mm on the building; the newer sheet prints
85 1/2" from the room's outer wall to the middle of the partition, which is drawn 4 5/8" thick.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from takeoff.actions.comparing import compare_revision
from takeoff.actions.revising import Revision
from takeoff.job.edits import Batch, PutRun, SetCalibration
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Opening, Run
from tests.jobs import job_on

INCH, FOOT_PT = 0.0254, 8.184
OUTLINE = ((424.88, 214.04), (511.33, 214.04), (511.33, 284.06), (464.65, 284.06), (464.65, 270.81), (424.88, 270.81))
DOOR_AT_PT, DOOR_PT = 74.43, 21.90
PICTURE = 0.027


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Revision:
    folder = os.environ.get("TAKEOFF_REFERENCE")
    if not folder:
        pytest.skip("TAKEOFF_REFERENCE does not name the folder of reference plans")
    old, new = (Path(folder) / "real_plans" / f"house_rev_2013-{day}.pdf" for day in ("07-18", "10-12"))
    scale = 12 * INCH / FOOT_PT
    door = Opening(at=DOOR_AT_PT * scale, width=DOOR_PT * scale, height=2.1, sill=0.0, kind="door")
    run = Run(
        id="u", sheet=1, closed=True, face="right", points_pt=OUTLINE, openings=(door,),
        height=HeightProfile.constant(2.4),
    )  # fmt: skip
    path = tmp_path_factory.mktemp("pair") / "house.takeoff"
    with job_on(path, old) as store:
        put = (SetCalibration(calibration=Calibration(sheet=1, mx=scale, my=scale, pick=0.5)), PutRun(run=run))
        store.do(Batch(title="Trace", edits=put))
        return compare_revision(store, store.job.sheets[1], new.name, new.read_bytes(), page=1)


def test_it_lies_where_the_ratio_of_the_printed_scales_puts_it(found: Revision) -> None:
    assert found.registration.scale == pytest.approx(18 / FOOT_PT, rel=5e-4)
    assert abs(found.registration.turn) < 2e-4
    assert found.registration.u < 0.005


def test_the_door_that_moved_is_measured(found: Revision) -> None:
    (one,) = found.runs
    (door,) = one.openings
    assert door.verdict == "moved"
    assert door.by == pytest.approx(-0.25, abs=PICTURE)


def test_the_partition_stays_where_the_newer_sheet_dimensions_it(found: Revision) -> None:
    (one,) = found.runs
    assert one.after is not None
    ends = [found.scales[0].to_metres(p) for p in one.after.points_pt]
    assert ends[5][1] - ends[0][1] == pytest.approx((85.5 - 4.625 / 2) * INCH, abs=PICTURE)


def test_nothing_of_it_is_taken_without_a_look(found: Revision) -> None:
    assert [(one.verdict, one.sure) for one in found.runs] == [("look at it", False)]
