"""A plain rectangular room, measured, and the sample job."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from takeoff.audit.areas import RoomAreas, room_areas
from takeoff.job.job import Job
from takeoff.measure.rules import MeasureSettings
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Opening, Room, Run
from tests.jobs import sample_on


@pytest.fixture
def measured_room() -> Callable[..., RoomAreas]:
    """Measure a room of ``width`` × ``depth`` × ``height`` metres, drawn at 0.01 m to the point."""

    def measure(
        width: float = 6.0,
        depth: float = 4.0,
        height: float = 3.0,
        *,
        openings: tuple[Opening, ...] = (),
        thickness: float = 0.0,
        rule: str = "exact-net",
        u_scale: float = 0.001,
        name: str = "Process",
    ) -> RoomAreas:
        w, d = width * 100, depth * 100
        run = Run(
            id="a", sheet=1, room="R1", points_pt=((0, 0), (w, 0), (w, d), (0, d)), closed=True, face="right",
            openings=openings, thickness=thickness,
        )  # fmt: skip
        room = Room(id="R1", name=name, number="104", height=HeightProfile.constant(height))
        scale = Calibration(sheet=1, mx=0.01, my=0.01, u_scale=u_scale, pick=0.2)
        return room_areas(room, (run,), {"a": scale}, settings=MeasureSettings(rule=rule, height_u=0.005))

    return measure


@pytest.fixture(scope="session")
def sample_job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """The sample building as traced."""
    with sample_on(tmp_path_factory.mktemp("job") / "a.takeoff") as store:
        return store.job
