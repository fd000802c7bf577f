"""Raster plan files: PNG, JPEG and TIFF with one or more pages.

A picture's sheet frame is the picture upright (its orientation tag applied), one dot being 72/dpi points. Dots that are
not square, as in faxes, are made square at the finer of the two resolutions.
"""

from __future__ import annotations

import io
import math
import struct
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from takeoff.errors import SheetError
from takeoff.model.plan import Finding, Sheet
from takeoff.sheet.formats import (
    BLANK,
    HIDDEN,
    MAX_PIXELS,
    MAX_SIDE_IN,
    FileFormat,
    check_pixels,
    check_side,
    file_format,
)

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageFile import ImageFile

ASSUMED_DPI = 200.0
"""Dots per inch of a picture that states none: an ordinary plan scan (common practice, no source)."""
LOWEST_DPI = 50.0
HIGHEST_DPI = 2400.0
"""A stated resolution outside these is taken for a mistake (common practice, no source)."""
_SCREEN_DPI = (72.0, 96.0)
"""What programs write into pictures that never were on paper (common practice, no source)."""

_BAND = 256
"""Rows that are put on white at once."""
_ORIENTATION = 0x0112
_SUBFILE = 254
_TURNED = (5, 6, 7, 8)
_BROKEN = (OSError, SyntaxError, ValueError, EOFError, struct.error, IndexError, KeyError, TypeError, ZeroDivisionError)


def read_pictures(data: bytes, name: str, source: str) -> list[Sheet]:
    """Check every picture of a raster file by unpacking it, and register it; ``source`` is the file's SHA-256.

    Reduced copies that a TIFF carries beside its pages are passed over; ``page`` still counts them. Raises `SheetError`
    when the file is damaged, ends early, or holds a picture that is too large.
    """
    import numpy as np

    sheets: list[Sheet] = []
    with _opened(data, name) as picture:
        for index in range(getattr(picture, "n_frames", 1)):
            where = f"{name}, page {index + 1}"
            picture.seek(index)
            # one with transparency is held twice: as it is, and on white
            check_pixels(picture.width, picture.height, where, MAX_PIXELS // (1 + _is_see_through(picture)))
            if int(getattr(picture, "tag_v2", {}).get(_SUBFILE, 0)) & 0b101:
                continue  # a reduced copy or a mask of another one (NewSubfileType bits 0 and 2)
            width, height, dpi, _, doubts = _measure(picture)
            check_pixels(width, height, where)
            size = (width * 72 / dpi, height * 72 / dpi)
            check_side(*size, where)
            picture.draft(None, (max(picture.width // 8, 1), max(picture.height // 8, 1)))
            picture.load()
            bands = (band for _, band in _bands_on_white(picture)) if _is_see_through(picture) else (picture,)
            extremes = np.array([np.reshape(band.getextrema(), (-1, 2)) for band in bands])
            if (extremes[..., 0].min(0) == extremes[..., 1].max(0)).all():
                doubts.append(
                    BLANK if all(low == high for low, high in np.reshape(picture.getextrema(), (-1, 2))) else HIDDEN
                )
            told = tuple(Finding(about="file", text=doubt) for doubt in doubts)
            sheet = Sheet(id=index + 1, source=source, page=index + 1, width_pt=size[0], height_pt=size[1])
            sheets.append(replace(sheet, kind="image", dpi=dpi, findings=told))
    return sheets


def is_size_known(data: bytes, page: int, name: str = "") -> bool:
    """Tell whether a picture, counted from 1, says how large it is on paper, as a scanner does.

    Raises `SheetError` when the file is damaged.
    """
    with _opened(data, name) as picture:
        picture.seek(page - 1)
        return _measure(picture)[3]


def open_picture(data: bytes, page: int, name: str = "") -> Image:
    """Unpack one picture, counted from 1: upright, square dots, in gray (``L``) or ``RGB``, on a white ground.

    Raises `SheetError` when the file is damaged or has no such page.
    """
    from PIL import Image, ImageOps

    with _opened(data, name) as picture:
        if not 1 <= page <= getattr(picture, "n_frames", 1):
            raise SheetError(f"there is no page {page}", remedy="Choose a page of the file.", where=name)
        picture.seek(page - 1)
        check_pixels(picture.width, picture.height, f"{name}, page {page}")
        size = _measure(picture)[:2]
        ImageOps.exif_transpose(picture, in_place=True)
        upright = _plain(picture)
        if upright.size != size:
            upright = upright.resize(size, Image.Resampling.BICUBIC)
        return upright


@contextmanager
def _opened(data: bytes, name: str) -> Iterator[ImageFile]:
    """Open a picture without unpacking it, and turn every way it can be broken into one refusal.

    The format's own class is opened, so that the size limit is ours and not the library's process-wide one.
    """
    from PIL.Image import DecompressionBombError
    from PIL.JpegImagePlugin import JpegImageFile
    from PIL.PngImagePlugin import PngImageFile
    from PIL.TiffImagePlugin import TiffImageFile

    classes: dict[FileFormat, type[ImageFile]] = {"png": PngImageFile, "jpeg": JpegImageFile, "tiff": TiffImageFile}
    found = file_format(data, name)
    if found == "pdf":
        raise SheetError("this is a PDF, not a picture", remedy="Open it as a PDF.", where=name)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with classes[found](io.BytesIO(data)) as picture:
                yield picture
    except SheetError:
        raise
    except DecompressionBombError as error:  # its own limit for a piece that is packed as one
        raise SheetError(
            "the picture is packed in pieces too large to read",
            remedy="Scan it again at a lower resolution.",
            where=name,
        ) from error
    except _BROKEN as error:
        raise SheetError(
            f"the {found.upper()} file is damaged or ends early", remedy="Scan or download it again.", where=name
        ) from error


def _measure(picture: ImageFile) -> tuple[int, int, float, bool, list[str]]:
    """Measure an open picture: width and height upright in square dots, dpi, whether its size is stated, and doubts."""
    width, height = picture.size
    dpi_x, dpi_y, doubts = _resolution(picture)
    is_stated = not doubts
    if picture.getexif().get(_ORIENTATION, 1) in _TURNED:
        if picture.format != "TIFF":  # a TIFF's size is given upright already
            width, height = height, width
        dpi_x, dpi_y = dpi_y, dpi_x
    dpi = max(dpi_x, dpi_y)
    if not math.isclose(dpi_x, dpi_y, rel_tol=0.002):
        doubts.append(f"the dots are not square ({dpi_x:g} × {dpi_y:g} dpi); they were made square")
        width, height = round(width * dpi / dpi_x), round(height * dpi / dpi_y)
    is_known = is_stated and not any(math.isclose(dpi, screen, abs_tol=0.5) for screen in _SCREEN_DPI)
    return width, height, dpi, is_known, doubts


def _resolution(picture: ImageFile) -> tuple[float, float, list[str]]:
    """Read dots per inch along x and y; a missing or absurd one gives `ASSUMED_DPI`, or more to fit, and a doubt."""
    assumed = ASSUMED_DPI * max(1, math.ceil(max(picture.size) / ASSUMED_DPI / MAX_SIDE_IN))
    remedy = f"{assumed:g} dpi is assumed: its size on paper is a guess, so calibrate it with a known dimension"
    stated = picture.info.get("dpi")
    if stated is None:
        return assumed, assumed, [f"the picture states no dots per inch; {remedy}"]
    dpi_x, dpi_y = (float(value) for value in stated)
    if not all(LOWEST_DPI <= value <= HIGHEST_DPI for value in (dpi_x, dpi_y)):
        return assumed, assumed, [f"the picture states {dpi_x:g} × {dpi_y:g} dpi; {remedy}"]
    return dpi_x, dpi_y, []


def _plain(picture: Image) -> Image:
    """Turn any colour mode into gray or RGB on white."""
    import cv2
    import numpy as np
    from PIL import Image

    if picture.mode.startswith(("I", "F")):
        values = np.nan_to_num(np.asarray(picture, dtype=np.float32))
        most = values.max()
        white = 65535.0 if picture.mode.startswith("I;16") or most > 255 else 1.0 if most <= 1.0 else 255.0
        return Image.fromarray((values * (255.0 / white)).clip(0, 255).astype(np.uint8))
    if picture.mode == "P":  # its colours are few, and all may be grey
        colours = picture.crop((0, 0, 256, 1))
        colours.putdata(range(256))
        table = np.asarray(_on_white(colours))[0]
        if (table == table[:, :1]).all():
            return Image.fromarray(cv2.LUT(np.asarray(picture), table[:, 0].copy()))
    if picture.mode == "P" or _is_see_through(picture):
        return _on_white(picture)
    return picture.convert("L" if picture.mode in ("1", "L") else "RGB")


def _on_white(picture: Image) -> Image:
    """Put a picture on white, band by band: all of it in four channels takes much memory."""
    from PIL import Image

    made = Image.new("RGB", picture.size)
    for top, band in _bands_on_white(picture):
        made.paste(band, (0, top))
    return made


def _bands_on_white(picture: Image) -> Iterator[tuple[int, Image]]:
    from PIL import Image

    for top in range(0, picture.height, _BAND):
        band = picture.crop((0, top, picture.width, min(top + _BAND, picture.height))).convert("RGBA")
        yield top, Image.alpha_composite(Image.new("RGBA", band.size, "white"), band).convert("RGB")


def _is_see_through(picture: Image) -> bool:
    return picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info
