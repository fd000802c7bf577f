"""What is built from corners is what the set operation gives: net elevations and the cove's band."""

from __future__ import annotations

import random

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.measure.cove_bands import cove_bands
from takeoff.measure.develop import Face, develop
from takeoff.measure.elevation import opening_polygon
from takeoff.measure.side_by_side import side_by_side_nets
from takeoff.model.plan import Calibration
from takeoff.model.walls import Cove, HeightProfile, Opening, Run

SCALE = Calibration(sheet=1, mx=0.01, my=0.01)


def a_face(openings: tuple[Opening, ...], base: float = 0.0) -> Face:
    cove = Cove(height=0.15, toe=0.1, radius=0.025, thickness=0.006, lap=0.02)
    line = ((0.0, 0.0), (800.0, 0.0))
    height = HeightProfile.constant(3.0)
    run = Run(id="a", sheet=1, points_pt=line, height=height, base=base, cove=cove, openings=openings)
    return develop(run, None, SCALE)[0]


def faces_of(seed: int) -> list[Face]:
    """Faces 8 m long with openings on half metres, so that many touch or overlap and many do not."""
    luck = random.Random(seed)

    def opening() -> Opening:
        return Opening(
            at=luck.randint(2, 14) / 2.0,
            width=luck.choice([0.3, 0.5, 1.0]),
            height=luck.choice([0.1, 1.0, 2.1, 3.0]),
            sill=luck.choice([0.0, 0.0, 0.05, 0.9]),
        )

    return [
        a_face(tuple(opening() for _ in range(luck.randint(0, 4))), base=luck.choice([0.0, 0.0, 0.05, 0.9]))
        for _ in range(8)
    ]


def by_set_operation(face: Face) -> shapely.Geometry:
    wall = shapely.box(0.0, face.run.base, face.length, 3.0)
    return wall.difference(shapely.union_all([opening_polygon(o) for o in face.openings]))


@settings(max_examples=50, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_nets_built_from_corners_are_those_of_the_set_operation(seed: int) -> None:
    faces = faces_of(seed)
    for face, net in zip(faces, side_by_side_nets(faces), strict=True):
        if net is not None:
            wanted = by_set_operation(face)
            assert shapely.is_valid(net)
            # the same corners exactly, from whichever corner each ring starts
            assert shapely.normalize(net) == shapely.normalize(wanted)
            assert net.exterior.is_ccw
            assert not any(ring.is_ccw for ring in net.interiors)


def test_openings_apart_from_each_other_need_no_set_operation() -> None:
    door, window = Opening(at=1.0, width=0.9, height=2.1), Opening(at=3.0, width=1.2, height=1.0, sill=0.9)
    apart, touching = a_face((window, door)), a_face((window, door, Opening(at=1.9, width=0.9, height=2.1)))
    nets = side_by_side_nets([apart, touching, a_face(())])
    assert [net is None for net in nets] == [False, True, True]
    # 8 m × 3 m less a door of 0.9 × 2.1 and a window of 1.2 × 1.0, by hand
    assert nets[0].area == pytest.approx(24.0 - 1.89 - 1.2, abs=1e-12)


@settings(max_examples=50, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_the_coves_band_is_the_net_cut_at_its_height(seed: int) -> None:
    faces = faces_of(seed)
    nets = [by_set_operation(face) for face in faces]
    for face, net, band in zip(faces, nets, cove_bands(faces, shapely.from_wkb(shapely.to_wkb(nets))), strict=True):
        wanted = net.intersection(shapely.box(-1.0, -1.0, 9.0, 0.13)).area if face.run.base == 0.0 else 0.0
        assert band == pytest.approx(wanted, abs=1e-12)
