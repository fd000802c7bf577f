"""Pictures of sheets as displayed.

Pages are drawn by PDFium, which was the quicker engine on large sheets and leaves the interpreter free while it works;
it draws strokes thinner than a pixel one pixel wide. Pictures that stand on a page can be drawn alone: some programs
print a plan as tiles of pictures under notes that are lines and text.
"""

from __future__ import annotations

import io
import math
from contextlib import closing
from typing import TYPE_CHECKING, Any

from takeoff.apart import apart
from takeoff.errors import SheetError
from takeoff.model.plan import Sheet
from takeoff.sheet.contents import pictures_on
from takeoff.sheet.document import load_page, open_document, open_page
from takeoff.sheet.formats import check_pixels, file_format
from takeoff.sheet.frame import Box, box_to_displayed, displayed_size
from takeoff.sheet.opened import PDFIUM_TURN, OpenPage, open_sheet
from takeoff.sheet.picture import open_picture

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_DEEPEST = 6
"""Forms within forms that are looked through for pictures."""


def full_pixels(sheet: Sheet, dpi: float) -> tuple[int, int]:
    """Return the width and height in pixels of the whole sheet as displayed at ``dpi``, each rounded to a pixel.

    Displayed point x falls on pixel x × width in pixels / width in points; so for y. Raises `SheetError` when the
    resolution is not a positive number.
    """
    if not (math.isfinite(dpi) and dpi > 0):
        raise SheetError(f"{dpi!r} dots per inch is no resolution", remedy="Use a positive number, such as 150.")
    width, height = displayed_size(sheet)
    return max(1, round(width * dpi / 72)), max(1, round(height * dpi / 72))


def pixel_box(sheet: Sheet, dpi: float, clip_pt: Box | None = None) -> tuple[int, int, int, int]:
    """Return left, top, right, bottom of the rendered part in pixels of the whole sheet as displayed at ``dpi``.

    Raises `SheetError` when the box lies off the sheet, or the picture would be too large.

    Parameters
    ----------
    sheet
        The sheet.
    dpi
        Pixels per inch of the sheet.
    clip_pt
        A box in sheet points; it is widened to whole pixels and cut to the sheet. ``None`` is the whole sheet.
    """
    width, height = full_pixels(sheet, dpi)
    if clip_pt is None:
        box = (0, 0, width, height)
    else:
        shown = box_to_displayed(sheet, clip_pt)
        across, down = displayed_size(sheet)
        box = (
            max(0, math.floor(shown[0] * width / across)),
            max(0, math.floor(shown[1] * height / down)),
            min(width, math.ceil(shown[2] * width / across)),
            min(height, math.ceil(shown[3] * height / down)),
        )
    if box[2] <= box[0] or box[3] <= box[1]:
        raise SheetError("the part to show lies off the sheet", where=sheet.called)
    check_pixels(box[2] - box[0], box[3] - box[1], f"{sheet.called} at {dpi:g} dpi")
    return box


@apart
def render_array(data: bytes, sheet: Sheet, *, dpi: float, clip_pt: Box | None = None) -> NDArray[np.uint8]:
    """Draw a sheet as displayed on white, as an array of height × width × 3 (red, green, blue).

    Raises `SheetError` when the file cannot be read or the picture would be too large.

    Parameters
    ----------
    data
        Bytes of the plan file.
    sheet
        The sheet of it.
    dpi
        Pixels per inch of the sheet.
    clip_pt
        Draw only this box in sheet points, widened to whole pixels (`pixel_box`).
    """
    box = pixel_box(sheet, dpi, clip_pt)
    with closing(open_sheet(data, sheet)) as opened:
        return opened.draw(full_pixels(sheet, dpi), box)


def darkest(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return the least of the three colours of every pixel, height × width: ink of any colour is dark in it."""
    import numpy as np

    # a sixth of the time of ``pixels.min(axis=2)``
    return np.minimum(np.minimum(pixels[..., 0], pixels[..., 1]), pixels[..., 2])


def grey(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return how light every pixel is, height × width: a third of the memory where colours no longer matter."""
    import cv2
    import numpy as np

    return np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), np.uint8)


@apart
def single_page_pdf(data: bytes, sheet: Sheet) -> bytes:
    """Make a PDF of one page that is the sheet as displayed: rotation, crop and UserUnit baked in, at true size.

    Marks that were made as annotations are baked in too. A picture is put on a page of its true size. Raises
    `SheetError` when the file cannot be read.
    """
    import pymupdf

    width, height = displayed_size(sheet)
    with pymupdf.open() as target:
        page = target.new_page(width=width, height=height)
        if file_format(data, sheet.called) == "pdf":
            where = sheet.called
            with open_document(data, where) as source:
                load_page(source, sheet.page, where)
                source.select([sheet.page - 1])
                shown = load_page(source, 1, where)
                if shown.first_annot is not None or shown.first_widget is not None:
                    del shown  # no page may be held open while marks are baked in
                    source.bake()
                shown = load_page(source, 1, where)
                if shown.get_contents():
                    shown.set_rotation(0)
                    page.show_pdf_page(page.rect, source, 0, rotate=-sheet.rotation)
        else:
            page.insert_image(page.rect, stream=_embeddable(data, sheet))
        written: bytes = target.tobytes(garbage=3, deflate=True, no_new_id=True)
        return written


def _embeddable(data: bytes, sheet: Sheet) -> bytes:
    """Return a picture as bytes that a PDF can hold: an upright JPEG as it is, anything else as PNG."""
    from PIL.JpegImagePlugin import JpegImageFile

    picture = open_picture(data, sheet.page, sheet.called)
    if file_format(data, "") == "jpeg":
        with JpegImageFile(io.BytesIO(data)) as jpeg:  # whether it needs no turning or stretching
            if jpeg.getexif().get(0x0112, 1) == 1 and jpeg.size == picture.size:
                return data
    target = io.BytesIO()
    picture.save(target, "PNG")
    return target.getvalue()


def cover_of_pictures(data: bytes, sheet: Sheet) -> float:
    """Return the share of a page that pictures cover, 1.0 at the most; tiles that overlap count for all of themselves.

    Raises `SheetError` when the file or the page cannot be read.
    """
    if file_format(data, sheet.called) != "pdf":
        return 1.0
    with open_page(data, sheet.page, sheet.called) as page:
        covered = sum(area for area, _ in pictures_on(page))
    return min(1.0, covered / (sheet.width_pt * sheet.height_pt))


def render_pictures(data: bytes, sheet: Sheet, *, dpi: float, clip_pt: Box | None = None) -> NDArray[np.uint8]:
    """Draw the pictures of a page alone, as `render_array` draws all of it.

    Raises `SheetError` when the file cannot be read or the picture would be too large.
    """
    box = pixel_box(sheet, dpi, clip_pt)
    with closing(OpenPage(data, sheet, marks=False)) as page:
        with PDFIUM_TURN:
            keep_pictures(page.page)
        return page.draw(full_pixels(sheet, dpi), box)


def keep_pictures(page: Any) -> None:
    """Take everything but pictures, and forms that hold one, off a page of PDFium that is open."""
    from pypdfium2.raw import FPDF_PAGEOBJ_FORM as FORM
    from pypdfium2.raw import FPDF_PAGEOBJ_IMAGE as IMAGE

    for thing in list(page.get_objects(max_depth=1)):
        inside = page.get_objects([IMAGE], max_depth=_DEEPEST, form=thing) if thing.type == FORM else ()
        if thing.type != IMAGE and next(iter(inside), None) is None:
            page.remove_obj(thing)
