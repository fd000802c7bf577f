"""A scan of the imperial plan: part of the sheet, turned, stretched, blurred, in sixteen greys with a little dirt."""

from __future__ import annotations

import io
import math

import numpy as np
import pymupdf
from PIL import Image, ImageFilter

Point = tuple[float, float]

DPI = 200
TURN = math.radians(0.4)
STRETCH = (0.997, 1.002)
CORNER: Point = (72.0, 156.0)
"""The sheet point that comes to lie on the top left corner of the image."""
SIZE = (4600, 3700)
SEED = 20260302
PAPER, NOISE, SPECKS = 251.0, 2.6, 900


def to_image_px(sheet_pt: Point) -> Point:
    """Turn a sheet point of A-101 into image pixels from the outer edge of the first pixel, y down.

    The paper is turned on the glass first; then the scanner stretches its own two directions.
    """
    x, y = sheet_pt[0] - CORNER[0], sheet_pt[1] - CORNER[1]
    turned = (x * math.cos(TURN) - y * math.sin(TURN), x * math.sin(TURN) + y * math.cos(TURN))
    return (turned[0] * STRETCH[0] * DPI / 72, turned[1] * STRETCH[1] * DPI / 72)


def to_image_pt(sheet_pt: Point) -> Point:
    """Turn a sheet point of A-101 into image points, 1/72 inch at the image's resolution."""
    x, y = to_image_px(sheet_pt)
    return (x * 72 / DPI, y * 72 / DPI)


def scan_page(page: pymupdf.Page) -> bytes:
    """Draw the page as the scanner saw it and give a grey PNG with its resolution."""
    origin, right, down = to_image_px((0.0, 0.0)), to_image_px((1.0, 0.0)), to_image_px((0.0, 1.0))
    matrix = pymupdf.Matrix(
        right[0] - origin[0], right[1] - origin[1], down[0] - origin[0], down[1] - origin[1], *origin
    )
    whole = page.get_pixmap(matrix=matrix, colorspace=pymupdf.csGRAY, alpha=False)
    picture = Image.frombytes("L", (whole.width, whole.height), whole.samples)
    return _dirty(picture.crop((-whole.x, -whole.y, SIZE[0] - whole.x, SIZE[1] - whole.y)))


def _dirty(clean: Image.Image) -> bytes:
    random = np.random.default_rng(SEED)
    grey = np.asarray(clean.filter(ImageFilter.GaussianBlur(0.7)), dtype=np.float32) * (PAPER / 255)
    for row in grey:
        row += random.standard_normal(row.size, dtype=np.float32) * NOISE
    for x, y, size, tone in zip(
        random.integers(0, SIZE[0] - 4, SPECKS),
        random.integers(0, SIZE[1] - 4, SPECKS),
        random.integers(1, 4, SPECKS),
        random.integers(60, 200, SPECKS),
        strict=True,
    ):
        patch = grey[y : y + size, x : x + size]
        np.minimum(patch, tone, out=patch)
    levels = np.clip(np.rint(grey / 17), 0, 15).astype(np.uint8) * 17
    out = io.BytesIO()
    Image.fromarray(levels).save(out, "PNG", dpi=(DPI, DPI), compress_level=6)
    return out.getvalue()
