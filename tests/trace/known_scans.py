"""Scans with known truth that were not made by the generator: the sample scan, and reference scans where present."""

from __future__ import annotations

import json
import math

import numpy as np
from PIL import Image
from shapely import Polygon

from takeoff.model.plan import Calibration, Sheet
from takeoff.sheet.files import read_sheets
from takeoff.sheet.render import render_array
from tests.jobs import PLANS
from tests.trace.known_plans import POINT, reference_folder, sample_rooms
from tests.trace.made_scans import Scan
from tests.trace.plans import TrueOpening, TrueRoom


def sample_scan() -> Scan:
    """Return the sample scan with the rooms that its edits trace, at the scale that it was drawn at."""
    data = (PLANS / "facility-scan.png").read_bytes()
    sheet = read_sheets(data, "facility-scan.png")[0][0]
    # the paper was turned by 0.4 degrees and stretched to 0.997 across and 1.002 down (sample_plans/scan.py)
    calibration = Calibration(sheet=1, mx=48 * POINT / 0.997, my=48 * POINT / 1.002)
    rooms = sample_rooms("facility-scan-edits.json", 48 * POINT / math.sqrt(0.997 * 1.002))
    pixels = render_array(data, sheet, dpi=sheet.dpi or 200.0)
    return Scan(pixels=pixels, sheet=sheet, calibration=calibration, rooms=tuple(rooms), label="facility-scan.png")


def reference_scans() -> list[Scan]:
    """Return the reference scans whose rooms are bounded by walls; empty where the folder is absent."""
    folder = reference_folder()
    if folder is None:
        return []
    return [_reference(folder / "ifc_plans", name) for name in ("house_ground", "duplex_level1")]


def _reference(folder, name: str) -> Scan:
    value = json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))
    scan = value["scan"]
    to_pt, to_px = np.array(value["page"]["m_to_pt"]), np.array(scan["pt_to_px"])
    pixels = np.asarray(Image.open(folder / scan["file"]).convert("L"))
    k = 72 / scan["dpi"]
    sheet = Sheet(
        id=1,
        source="",
        page=1,
        width_pt=pixels.shape[1] * k,
        height_pt=pixels.shape[0] * k,
        kind="image",
        dpi=scan["dpi"],
    )
    rooms = []
    for room in [*value["rooms"], *value["regions"]]:
        if room["basis"] != "faces":
            continue
        metres = np.array(room["faces"]["outline"][0])
        paper = metres @ to_pt[:, :2].T + to_pt[:, 2]
        outline = (paper @ to_px[:, :2].T + to_px[:, 2]) * k
        openings = tuple(TrueOpening(side_pt=None, kind=o["kind"], width=o["width"]) for o in room["openings"])
        rooms.append(
            TrueRoom(
                outline_pt=Polygon(outline), columns_pt=(), openings=openings, name=room["long_name"] or "", number=""
            )
        )
    per_m = [float(np.hypot(*(to_px[:, :2] @ to_pt[:, i]))) * k for i in (0, 1)]
    calibration = Calibration(sheet=1, mx=1 / per_m[0], my=1 / per_m[1])
    return Scan(pixels=pixels, sheet=sheet, calibration=calibration, rooms=tuple(rooms), label=f"{name} scan")
