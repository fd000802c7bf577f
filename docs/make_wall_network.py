"""Draw the picture of what the network sees, for the docs: ``python docs/make_wall_network.py``."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from takeoff.sheet.files import read_sheets
from takeoff.sheet.frame import displayed_size
from takeoff.sheet.render import render_array
from takeoff.trace.scans.wall_network import LOW, PASSAGE, SWING, WALL, WINDOW, read_walls

HERE = Path(__file__).parent
COLOURS = {WALL: (66, 60, 200), SWING: (90, 160, 0), PASSAGE: (0, 160, 230), WINDOW: (200, 110, 0), LOW: (200, 0, 160)}
"""Blue, green, red."""
SCALE = 48 * 0.0254 / 72
"""Metres per point of the sample scan."""


def main() -> None:
    """Ask the network about the sample scan and draw a part of it."""
    data = (HERE.parent / "sample_plans" / "facility-scan.png").read_bytes()
    sheet = read_sheets(data, "facility-scan.png")[0][0]
    grey = cv2.cvtColor(render_array(data, sheet, dpi=sheet.dpi or 200.0), cv2.COLOR_RGB2GRAY)
    field = read_walls(grey, displayed_size(sheet), (SCALE, SCALE))
    height, width = field.darkness.shape
    drawn = cv2.resize(grey, (width, height), interpolation=cv2.INTER_AREA)
    # the noise of the paper would make the file large
    shown = np.repeat(np.where(drawn > 232, 255, drawn)[:, :, None], 3, 2).astype(float)
    for row, colour in COLOURS.items():
        share = 0.65 * field.chances[row][:, :, None]
        shown = shown * (1 - share) + np.array(colour) * share
    solid = np.argwhere(field.chances[WALL] > 0.8)
    (top, left), (bottom, right) = solid.min(0), solid.max(0)
    part = shown[max(0, top - 40) : bottom + 40, max(0, left - 40) : right + 40].astype(np.uint8)
    part = cv2.resize(part, None, fx=1000 / part.shape[1], fy=1000 / part.shape[1], interpolation=cv2.INTER_AREA)
    picture = Image.fromarray(part[:, :, ::-1]).quantize(64, Image.Quantize.FASTOCTREE)
    picture.save(HERE / "pictures" / "wall-network.png", optimize=True)


if __name__ == "__main__":
    main()
