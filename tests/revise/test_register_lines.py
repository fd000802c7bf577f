from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from takeoff.errors import SheetError
from takeoff.revise.register_lines import register_lines
from takeoff.revise.registration import Aim, Floats, ends_in
from takeoff.sheet.files import read_sheets
from takeoff.trace.drawing.linework import read_linework
from tests.jobs import PLANS
from tests.revise.conftest import Drawing

FOCUS = (150.0, 250.0, 1700.0, 1280.0)
M_PER_PT = 48 * 0.0254 / 72
CORNERS = np.array([(150.0, 250.0), (1700.0, 250.0), (1700.0, 1280.0), (150.0, 1280.0)])


def worst(made: object, matrix: Floats, shift: Floats) -> float:
    """Largest error at the corners of the plan in metres on the building."""
    off = made.carry_all(CORNERS) - (CORNERS @ matrix.T + shift)  # type: ignore[attr-defined]
    return float(np.hypot(*off.T).max()) * M_PER_PT / made.scale  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("degrees", "scale", "stretch"),
    [(0, 1, 1), (5, 1, 1), (-5, 1, 1.004), (2.3, 0.5, 1), (-4.2, 2.0, 0.997), (0.4, 0.9412, 1.002), (90, 1, 1)],
)
def test_a_new_issue_is_registered_through_turn_scale_stretch_and_noise(
    drawings: dict[str, Drawing],
    turned: Callable[..., tuple[Floats, Floats]],
    degrees: float,
    scale: float,
    stretch: float,
) -> None:
    rng = np.random.default_rng(11)
    lines = drawings["A"].lines
    matrix, shift = turned(degrees, scale, stretch, (137.3, -48.9))
    new = (lines.reshape(-1, 2) @ matrix.T + shift).reshape(-1, 4)
    new = new[rng.random(len(new)) > 0.25] + rng.normal(0.0, 0.01, (1, 4))
    low, high = new.min(), new.max()
    stray = rng.uniform(low, high, (200, 2))
    new = np.concatenate([new, np.concatenate([stray, stray + rng.normal(0, 40, (200, 2))], 1)])
    made = register_lines(lines, new, focus_pt=FOCUS, m_per_pt=M_PER_PT, limit=0.01)
    assert worst(made, matrix, shift) < 0.001
    assert made.kind == ("affine" if stretch != 1 else "similarity")


def test_revision_b_lies_where_the_script_drew_it(drawings: dict[str, Drawing]) -> None:
    made = register_lines(
        drawings["A"].lines, drawings["B"].lines, focus_pt=FOCUS, m_per_pt=M_PER_PT, limit=0.01
    )  # fmt: skip
    # frames of the two issues: x0 198 and 216, y0 318 and 307.5
    assert worst(made, np.eye(2), np.array([18.0, -10.5])) < 0.0005


def test_the_metric_plan_registers_onto_the_imperial_one(drawings: dict[str, Drawing]) -> None:
    data = (PLANS / "facility-metric.pdf").read_bytes()
    metric = read_linework(data, read_sheets(data, "metric")[0][0]).pieces.segments
    made = register_lines(drawings["A"].lines, metric, focus_pt=FOCUS, m_per_pt=M_PER_PT, limit=0.01)
    assert made.scale == pytest.approx(48 / 50, abs=1e-6)


def test_a_title_block_that_moved_alone_does_not_take_the_plan_with_it(drawings: dict[str, Drawing]) -> None:
    lines = drawings["A"].lines
    beside = lines[:, [0, 2]].min(1) > 1700
    new = lines + np.where(beside[:, None], np.array([300.0, 200.0, 300.0, 200.0]), 5.0)
    made = register_lines(lines, new, focus_pt=FOCUS, m_per_pt=M_PER_PT, limit=0.01)
    assert made.carry((500.0, 500.0)) == pytest.approx((505.0, 505.0), abs=0.01)


def test_of_two_plans_alike_the_one_is_taken_that_the_rest_of_the_sheet_tells(drawings: dict[str, Drawing]) -> None:
    """Of two storeys on a sheet a third of the first one's lines was drawn anew; the other one fits it better."""
    plan = drawings["A"].lines
    plan = plan[ends_in(plan, FOCUS)]
    twin = plan + np.array([2000.0, 0.0, 2000.0, 0.0])
    changed = plan[np.arange(len(plan)) % 3 > 0]
    aim = Aim(focus_pt=FOCUS, m_per_pt=M_PER_PT, limit=0.01)
    for by in (0.0, 7.0):
        made = register_lines(np.concatenate([plan, twin]), np.concatenate([changed, twin]) + by, **aim)
        assert made.carry((500.0, 500.0)) == pytest.approx((500.0 + by, 500.0 + by), abs=0.01)
    for old, new in ((np.concatenate([plan, twin]), twin), (plan, np.concatenate([plan, twin]))):
        with pytest.raises(SheetError, match=r"fits in more than one place.*--points"):
            register_lines(old, new, **aim)


def test_another_drawing_is_refused(drawings: dict[str, Drawing]) -> None:
    data = drawings["A"].data
    schedule = read_linework(data, read_sheets(data, "set")[0][2]).pieces.segments
    with pytest.raises(SheetError, match=r"Look whether it is a new revision of this sheet.*--points"):
        register_lines(drawings["A"].lines, schedule, focus_pt=FOCUS, m_per_pt=M_PER_PT, limit=0.01)


def test_a_sheet_with_next_to_nothing_on_it_is_refused(drawings: dict[str, Drawing]) -> None:
    with pytest.raises(SheetError, match="too few lines"):
        register_lines(drawings["A"].lines, np.zeros((3, 4)), focus_pt=FOCUS, m_per_pt=M_PER_PT, limit=0.01)


def test_a_real_house_of_two_issues_registers_at_the_ratio_of_their_scales() -> None:
    """The older issue was shrunk for printing: 8.184 points to the foot by its dimensions, the newer has 18."""
    folder = os.environ.get("TAKEOFF_REFERENCE")
    if not folder:
        pytest.skip("TAKEOFF_REFERENCE does not name the folder of reference plans")
    lines = []
    for name in ("house_rev_2013-07-18.pdf", "house_rev_2013-10-12.pdf"):
        data = (Path(folder) / "real_plans" / name).read_bytes()
        lines.append(read_linework(data, read_sheets(data, name)[0][0]).pieces.segments)
    made = register_lines(lines[0], lines[1], focus_pt=(0, 0, 1224, 792), m_per_pt=0.0372, limit=0.02)
    assert made.scale == pytest.approx(18 / 8.184, rel=5e-4)
    assert abs(made.turn) < 1e-4
