"""Scans of made-up plans: the sheet as a scanner would see it, with the truth moved along.

`scan_plan` is the same for the same plan and quality. The paper lies askew on the glass, the scanner stretches its two
directions differently, and the picture is blurred, noisy and dirty.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely import Polygon
from shapely.affinity import affine_transform

from takeoff.model.plan import Calibration, Sheet
from takeoff.sheet.files import read_sheets
from takeoff.sheet.frame import sheet_to_displayed
from takeoff.sheet.render import render_array
from tests.trace.plans import Plan, TrueRoom

QUALITIES = ("clean", "good", "fair", "poor")


@dataclass(frozen=True, kw_only=True)
class Scan:
    """A scanned plan: its pixels, the sheet and scale that they make, and the true rooms in its sheet points."""

    pixels: NDArray[np.uint8]
    sheet: Sheet
    calibration: Calibration
    rooms: tuple[TrueRoom, ...]
    label: str


def scan_plan(plan: Plan, quality: str, dpi: float = 200.0) -> Scan:
    """Scan a plan."""
    rng = random.Random(f"scan {plan.seed} {plan.kind} {quality}")
    drawn = read_sheets(plan.data, "plan.pdf")[0][0]
    page = cv2.cvtColor(render_array(plan.data, drawn, dpi=dpi), cv2.COLOR_RGB2GRAY)
    turn = 0.0 if quality == "clean" else math.radians(rng.uniform(-1.2, 1.2))
    stretch = (1.0, 1.0) if quality == "clean" else (rng.uniform(0.995, 1.005), rng.uniform(0.995, 1.005))
    c, s = math.cos(turn), math.sin(turn)
    matrix = np.array([[c * stretch[0], -s * stretch[0], 0.0], [s * stretch[1], c * stretch[1], 0.0]])
    height, width = page.shape
    corners = np.array([(0, 0), (width, 0), (0, height), (width, height)]) @ matrix[:, :2].T
    matrix[:, 2] = -corners.min(0)
    size = tuple(int(v) for v in np.ceil(corners.max(0) - corners.min(0)))
    # pixel edges count from 0, pixel middles from 0.5
    to_middles = matrix.copy()
    to_middles[:, 2] += matrix[:, :2] @ (0.5, 0.5) - 0.5
    pixels = cv2.warpAffine(page, to_middles, size, flags=cv2.INTER_LINEAR, borderValue=255)
    pixels = _worn(pixels, quality, np.random.default_rng(rng.randrange(2**31)))
    sheet = Sheet(
        id=1, source="", page=1, width_pt=size[0] * 72 / dpi, height_pt=size[1] * 72 / dpi, kind="image", dpi=dpi
    )
    calibration = Calibration(sheet=1, mx=plan.m_per_pt / stretch[0], my=plan.m_per_pt / stretch[1])
    k = dpi / 72

    def to_scan(x: float, y: float) -> tuple[float, float]:
        at = matrix @ (*(v * k for v in sheet_to_displayed(drawn, x, y)), 1.0)
        return (float(at[0] / k), float(at[1] / k))

    origin, right, down = to_scan(0, 0), to_scan(1, 0), to_scan(0, 1)
    affine = (right[0] - origin[0], down[0] - origin[0], right[1] - origin[1], down[1] - origin[1], *origin)

    def moved(shape: Polygon) -> Polygon:
        return affine_transform(shape, affine)

    rooms = tuple(
        replace(
            room,
            outline_pt=moved(room.outline_pt),
            columns_pt=tuple(moved(c) for c in room.columns_pt),
            openings=tuple(
                replace(o, side_pt=None if o.side_pt is None else tuple(to_scan(*p) for p in o.side_pt))
                for o in room.openings
            ),
        )
        for room in plan.rooms
    )
    return Scan(
        pixels=pixels, sheet=sheet, calibration=calibration, rooms=rooms, label=f"{plan.kind} {plan.seed} {quality}"
    )


def _worn(clean: NDArray[np.uint8], quality: str, rng: np.random.Generator) -> NDArray[np.uint8]:
    """Blur the picture, shade it, add noise and dirt, and pack it as JPEG."""
    if quality == "clean":
        return clean
    blur, noise, specks, jpeg, paper, shade = {
        "good": (0.6, 2.5, 200, 90, 250.0, 0.0),
        "fair": (0.8, 5.0, 900, 70, 242.0, 0.04),
        "poor": (1.1, 9.0, 3000, 45, 228.0, 0.10),
    }[quality]
    height, width = clean.shape
    grey = cv2.GaussianBlur(clean, (0, 0), blur).astype(np.float32) * (paper / 255)
    grey *= 1.0 - shade * np.linspace(0, 1, width, dtype=np.float32)[None, :]
    grey += rng.standard_normal(grey.shape, dtype=np.float32) * noise
    for x, y, size, tone in zip(
        rng.integers(0, width - 4, specks),
        rng.integers(0, height - 4, specks),
        rng.integers(1, 4, specks),
        rng.integers(40, 180, specks),
        strict=True,
    ):
        grey[y : y + size, x : x + size] = np.minimum(grey[y : y + size, x : x + size], tone)
    levels = np.clip(np.rint(grey), 0, 255).astype(np.uint8)
    return cv2.imdecode(cv2.imencode(".jpg", levels, [cv2.IMWRITE_JPEG_QUALITY, jpeg])[1], cv2.IMREAD_GRAYSCALE)
