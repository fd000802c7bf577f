"""Two floors of open building models and scans of them, kept outside the project (TAKEOFF_REFERENCE)."""

from __future__ import annotations

import json
import os
from pathlib import Path

import numpy as np
import pytest

from takeoff.actions import set_scale_ratio
from takeoff.actions.comparing import compare_revision
from takeoff.job.edits import Batch, PutRun
from takeoff.model.walls import HeightProfile, Run
from tests.jobs import job_on


@pytest.fixture(scope="session")
def plans() -> Path:
    folder = os.environ.get("TAKEOFF_REFERENCE")
    if not folder:
        pytest.skip("TAKEOFF_REFERENCE does not name the folder of reference plans")
    return Path(folder) / "ifc_plans"


@pytest.mark.parametrize("name", ["house_ground", "duplex_level1"])
def test_a_150_dpi_scan_of_a_known_plan_changes_nothing(plans: Path, tmp_path: Path, name: str) -> None:
    """Rooms traced on the vector plan from the model's own outlines; the scan's place is known from its making."""
    truth = json.loads((plans / f"{name}.json").read_text())
    plan, scan = f"{name}.pdf", f"{name}_scan.png"
    to_pt, to_px = np.array(truth["page"]["m_to_pt"]), np.array(truth["scan"]["pt_to_px"])
    with job_on(tmp_path / "a.takeoff", (plan, (plans / plan).read_bytes())) as store:
        sheet = store.job.sheets[1]
        ratio = truth["page"]["ratio"]
        set_scale_ratio(store, sheet, f"1:{ratio:g}")
        edits = []
        for i, room in enumerate(truth["rooms"]):
            for k, ring in enumerate((room.get("faces") or room["space"])["outline"]):
                points = np.array(ring[:-1]) @ to_pt[:, :2].T + to_pt[:, 2]
                corners = tuple((float(x), float(y)) for x, y in points)
                height = HeightProfile.constant(2.5)
                run = Run(id=f"{i}-{k}", sheet=1, points_pt=corners, closed=True, face="right", height=height)
                edits.append(PutRun(run=run))
        store.do(Batch(title="Trace", edits=tuple(edits)))
        found = compare_revision(store, sheet, scan, (plans / scan).read_bytes())
        points = np.array([p for run in store.job.runs.values() for p in run.points_pt])
    at = (points @ to_px[:, :2].T + to_px[:, 2]) * 72.0 / (found.sheet.dpi or 72.0)
    scale = found.registration.scale
    off = np.hypot(*(found.registration.carry_all(points) - at).T).max() / scale * ratio * 0.0254 / 72.0
    assert off < 0.0025
    assert off < 2.0 * found.registration.u
    assert [c for c in found.changes if c.on_plan] == []
    unchanged = [r for r in found.runs if r.verdict == "unchanged" and r.sure]
    assert len(unchanged) >= 0.95 * len(found.runs)
