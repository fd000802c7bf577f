"""A revision cloud says that something in it changed: where nothing is seen to have, a person has to look."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pymupdf
import pytest
import shapely

from takeoff.actions import find_sheet
from takeoff.actions.comparing import compare_revision
from tests.jobs import PLANS
from tests.revise.conftest import job_of


def clouded(middle: tuple[float, float], *, text: str = "") -> bytes:
    """The sample plan with a cloud of eighteen bows about a place, and perhaps a new text in it."""
    x, y, a, b = *middle, 36.0, 24.0
    with pymupdf.open(PLANS / "facility-imperial.pdf") as plan:
        drawn = plan[0].new_shape()
        ends = [(x + a * math.cos(t), y + b * math.sin(t)) for t in (k * math.tau / 18 for k in range(19))]
        for (x0, y0), (x1, y1) in pairwise(ends):
            mx, my, r = (x0 + x1) / 2, (y0 + y1) / 2, math.hypot(x1 - x0, y1 - y0) / 2
            start = math.atan2(y0 - my, x0 - mx)
            bow = [
                (mx + r * math.cos(start + k * math.pi / 8), my + r * math.sin(start + k * math.pi / 8))
                for k in range(9)
            ]
            drawn.draw_polyline(bow)
        drawn.finish(width=0.8, closePath=False)
        drawn.commit()
        if text:
            plan[0].insert_text((x - 20, y + 4), text, fontsize=8)
        return bytes(plan.tobytes())


@pytest.mark.parametrize(("text", "said"), [("", True), ("CH 8'-0\"", False)])
def test_a_cloud_in_a_room_is_asked_about_where_nothing_in_it_is_seen_to_have_changed(
    tmp_path: Path, text: str, said: bool
) -> None:
    with job_of(tmp_path, "A") as store:
        run = max(
            (r for r in store.job.runs.values() if r.closed and len(r.points_pt) > 3),
            key=lambda r: shapely.Polygon(r.points_pt).area,
        )
        xs, ys = zip(*run.points_pt, strict=True)
        found = compare_revision(
            store, find_sheet(store.job, "A-101"), "c.pdf", clouded((sum(xs) / len(xs), sum(ys) / len(ys)), text=text)
        )
        by_run = {one.before.id: one for one in found.runs}
        told = any("a revision cloud stands in it" in note for note in by_run[run.id].notes)
        assert told == said
        own = [one for one in by_run.values() if one.before.room == run.room]
        assert any(one.verdict == "look at it" for one in own)
        others = [one for id, one in by_run.items() if id != run.id and one.before.room != run.room]
        assert all(one.sure for one in others)
