"""Pictures that stand on a page of a PDF: how much of it they cover, and the page drawn with nothing but them.

Some programs print a plan as tiles of pictures under notes that are lines and text.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from takeoff.model.plan import Sheet
from takeoff.sheet.document import open_page
from takeoff.sheet.formats import file_format
from takeoff.sheet.frame import Box
from takeoff.sheet.opened import PDFIUM_TURN, OpenPage
from takeoff.sheet.render import full_pixels, pixel_box

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_DEEPEST = 6
"""Forms within forms that are looked through for pictures."""


def cover_of_pictures(data: bytes, sheet: Sheet) -> float:
    """Return the share of a page that pictures cover, 1.0 at the most; tiles that overlap count for all of themselves.

    Raises
    ------
    SheetError
        When the file or the page cannot be read.
    """
    if file_format(data, f"sheet {sheet.id}") != "pdf":
        return 1.0
    with open_page(data, sheet.page, f"sheet {sheet.id}") as page:
        covered = 0.0
        for image in page.get_image_info():
            a, b, c, d = image["transform"][:4]
            covered += abs(a * d - b * c)
    return min(1.0, covered / (sheet.width_pt * sheet.height_pt))


def render_pictures(data: bytes, sheet: Sheet, *, dpi: float, clip_pt: Box | None = None) -> NDArray[np.uint8]:
    """Draw the pictures of a page alone, as `takeoff.sheet.render.render_array` draws all of it.

    Raises
    ------
    SheetError
        When the file cannot be read or the picture would be too large.
    """
    box = pixel_box(sheet, dpi, clip_pt)
    page = OpenPage(data, sheet)
    try:
        with PDFIUM_TURN:
            keep_pictures(page.page)
        return page.draw(full_pixels(sheet, dpi), box, marks=False)
    finally:
        page.close()


def keep_pictures(page: Any) -> None:
    """Take everything but pictures, and forms that hold one, off a page of PDFium that is open."""
    from pypdfium2 import raw

    for thing in list(page.get_objects(max_depth=1)):
        if thing.type != raw.FPDF_PAGEOBJ_IMAGE and not _holds_picture(thing.raw, 0):
            page.remove_obj(thing)


def _holds_picture(thing: Any, depth: int) -> bool:
    """Tell whether a page object is a picture, or a form with one in it."""
    from pypdfium2 import raw

    kind = raw.FPDFPageObj_GetType(thing)
    if kind != raw.FPDF_PAGEOBJ_FORM or depth == _DEEPEST:
        return bool(kind == raw.FPDF_PAGEOBJ_IMAGE)
    count = raw.FPDFFormObj_CountObjects(thing)
    return any(_holds_picture(raw.FPDFFormObj_GetObject(thing, i), depth + 1) for i in range(count))
