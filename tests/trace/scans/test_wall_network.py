"""The network as it is shipped, against the one that was trained."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import onnxruntime
import pytest

from takeoff.sheet.frame import displayed_size
from takeoff.trace.scans import wall_network
from takeoff.trace.scans.wall_network import darkness_of
from tests.trace.made_scans import scan_plan
from tests.trace.plans import HELD_OUT, make_plan

TRAINED = Path(__file__).parents[2] / "training" / "walls.onnx"
SIDE = 640
"""Pixels along the pictures that the trained network was written for."""


@pytest.fixture(scope="module")
def crop():
    scan = scan_plan(make_plan(HELD_OUT[0], "outline"), "fair")
    darkness = darkness_of(scan.pixels, displayed_size(scan.sheet), (scan.calibration.mx, scan.calibration.my))[0]
    top, left = ((size - SIDE) // 2 for size in darkness.shape)
    return np.ascontiguousarray(darkness[top : top + SIDE, left : left + SIDE])


def test_the_shipped_network_says_what_the_trained_one_says_in_single_numbers(crop):
    """Its weights are whole numbers of eight bits: at most one pixel in a thousand may change sides."""
    trained = onnxruntime.InferenceSession(TRAINED, providers=["CPUExecutionProvider"])
    true = trained.run(None, {"darkness": crop[None, None]})[0][0]
    network = wall_network._network()
    told = np.stack(list(wall_network._chances(network, crop)))
    assert (true[wall_network.WALL] > 0.5).mean() > 0.01  # there are walls to tell
    assert ((true > 0.5) != (told > 0.5)).mean() < 1e-3
    assert np.abs(true - told).mean() < 2e-3


def test_the_chances_of_a_pixel_make_one(crop):
    told = np.stack(list(wall_network._chances(wall_network._network(), crop)))
    assert told.min() >= 0.0
    assert told.sum(0) == pytest.approx(1.0, abs=1e-3)
