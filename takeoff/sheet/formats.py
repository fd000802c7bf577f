"""Which format a plan file is in, and the limits that every plan file has to keep."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Literal

from takeoff.errors import SheetError

FileFormat = Literal["pdf", "png", "jpeg", "tiff"]

MAX_SIDE_IN, LEAST_SIDE_IN = 200.0, 0.1
"""Longest side of a sheet in inches; the largest page of a PDF without UserUnit (ISO 32000-1 Annex C, memory)."""
MAX_PIXELS = 400_000_000
"""Most pixels one picture may have when unpacked: 36 × 48 in at 450 dpi."""
MAX_PIXELS_OF_PAGE = 3 * MAX_PIXELS
"""Most pixels that the pictures of a page have together: two full ones and what lies over them (judgement)."""
MAX_CONTENT_BYTES = 96 * 1024 * 1024
"""Most bytes of drawing instructions in one piece; a straight line takes about 25, so this is four million of them."""
MAX_DRAWN_BYTES = 10 * MAX_CONTENT_BYTES
"""Most bytes of drawing instructions of a page with its forms as often as they are drawn."""

BLANK = "nothing is drawn on it that can be read"
"""What is said of a page or picture that is the same everywhere."""
HIDDEN = "it shows nothing: what it holds is masked, see-through or white, so plot it again without transparency"
"""What is said of one that holds something, none of which is to be seen."""
BINARY_START = b"AutoCAD Binary DXF\r\n\x1a\0"
"""First bytes of a binary DXF (DXF reference, binary DXF files)."""
_DXF_START = re.compile(rb"(?:\xef\xbb\xbf)?(?:\s*999\r?\n[^\n]{0,2000}\n){0,50}\s*0\s*\r?\n\s*SECTION\s")
_TIFF_STARTS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
_OTHER_STARTS = (
    (b"PK\x03\x04", "a packed archive", "Unpack it and open the plans in it."),
    (b"AC10", "a CAD drawing", "Save it as DXF or plot it to PDF, and open that."),
    (b"GIF8", "a GIF picture", "Save it as PNG or TIFF."),
    (b"BM", "a BMP picture", "Save it as PNG or TIFF."),
    (b"%!PS", "a PostScript file", "Convert it to PDF."),
    (b"ISO-10303-21", "a building model", "Plot its floor plans to PDF or save them as DXF, and open those."),
    (b"\xd0\xcf\x11\xe0", "a file of an office or building program", "Plot its floor plans to PDF, and open those."),
    (b"RIFF", "a WebP picture", "Save it as PNG or TIFF."),
)


def file_format(data: bytes, name: str) -> FileFormat:
    r"""Tell the format of a plan file from its first bytes; ``name`` is for the message alone.

    Raises `SheetError` when the file is empty or in no format that plans are read from.

    Examples
    --------
    >>> file_format(b"%PDF-1.7\n", "plan.pdf")
    'pdf'
    """
    if not data:
        raise SheetError("the file is empty (0 bytes)", remedy="Save or send the plan again.", where=name)
    if b"%PDF-" in data[:1024]:
        return "pdf"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    if data.startswith(b"\xff\xd8\xff"):
        return "jpeg"
    if data.startswith(_TIFF_STARTS):
        return "tiff"
    for start, found, remedy in _OTHER_STARTS:
        if data.startswith(start):
            raise SheetError(f"this is {found}, not a plan file that can be read", remedy=remedy, where=name)
    raise SheetError("this is not a plan file", remedy="Use a PDF, PNG, JPEG, TIFF or DXF file.", where=name)


def is_dxf(data: bytes) -> bool:
    r"""Tell whether a file is a DXF drawing, ASCII or binary, from its first bytes.

    Examples
    --------
    >>> is_dxf(b"999\nfrom a survey\n  0\nSECTION\n"), is_dxf(b"AutoCAD Binary DXF\r\n\x1a\0"), is_dxf(b"%PDF-1.7")
    (True, True, False)
    """
    return data.startswith(BINARY_START) or _DXF_START.match(data) is not None


def check_side(width_pt: float, height_pt: float, where: str) -> None:
    """Refuse a sheet whose longer side is over `MAX_SIDE_IN` or under `LEAST_SIDE_IN`; sides in points."""
    side_in = max(width_pt, height_pt) / 72.0
    if not LEAST_SIDE_IN <= side_in <= MAX_SIDE_IN:
        raise SheetError(
            f"the page is {side_in:.4g} in long; a plan has {LEAST_SIDE_IN:g} to {MAX_SIDE_IN:.0f} in",
            remedy="Plot it again at its paper size.",
            where=where,
        )


def check_pixels(width: int, height: int, where: str, most: int = MAX_PIXELS) -> None:
    """Refuse a picture that would unpack to more than ``most`` pixels."""
    check_pictures([(width, height)], where, most)


def check_pictures(sizes: Collection[tuple[int, int]], where: str, most_of_one: int = MAX_PIXELS) -> None:
    """Refuse a page with a picture that is too large, or with too many; widths and heights in pixels."""
    told = [(f"the picture has {width} × {height} =", width * height, most_of_one) for width, height in sizes]
    whole = sum(pixels for _, pixels, _ in told)
    for said, pixels, most in (*told, (f"its {len(sizes):,} pictures have", whole, MAX_PIXELS_OF_PAGE)):
        if pixels > most:
            raise SheetError(
                f"{said} {pixels / 1e6:.0f} megapixels; the limit is {most / 1e6:.0f}",
                remedy="Scan it again at a lower resolution.",
                where=where,
            )
