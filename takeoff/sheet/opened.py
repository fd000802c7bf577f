"""Sheets kept open, so that part after part of one can be drawn without reading the file again.

Pages are drawn by PDFium, which may run in one thread at a time: `PDFIUM_TURN` is held for each call of it, also where
a single picture is drawn (`takeoff.sheet.render`). A page can be drawn in slices, so that nobody waits long for a turn
and a drawing that is no longer wanted ends early.
"""

from __future__ import annotations

import contextlib
import math
import threading
from abc import ABC, abstractmethod
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from takeoff.errors import SheetError
from takeoff.model.plan import Sheet
from takeoff.sheet.document import open_document
from takeoff.sheet.formats import file_format
from takeoff.sheet.frame import displayed_size
from takeoff.sheet.layers import NOTES, LayerLook, without_layers
from takeoff.sheet.picture import open_picture

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL.Image import Image

PDFIUM_TURN = threading.Lock()
"""Held while PDFium works: the library is one, whoever calls it."""

PixelBox = tuple[int, int, int, int]
"""Left, top, right and bottom in pixels of the whole sheet as displayed."""

DIMMED_SHARE = 0.25
"""Strength at which a dimmed layer is drawn: seen, and well behind the rest."""
_CLEAR, _FINEST, _MOST = 0.75, 4, 3_000_000
"""Pixels a point from which a page is drawn as it is; a smaller one is drawn up to so many times as large, in so many
pixels at the most, and reduced: PDFium draws no stroke thinner than a pixel, and all ran together (judgement)."""
_SLICES_BEFORE_A_LOOK = 8
"""PDFium asks after every hundred drawn objects or so whether to pause."""
_LEAST_LEVEL = 1024
"""A reduced copy of a picture is made while its longer side stays above this many pixels."""


class OpenSheet(ABC):
    """A sheet that is ready to be drawn; use and close it in one thread."""

    def draw(self, whole: tuple[int, int], box: PixelBox) -> NDArray[np.uint8]:
        """Draw part of the sheet as displayed on white, as height × width × 3 (red, green, blue).

        Parameters
        ----------
        whole
            Width and height of the whole sheet as displayed in pixels; it sets the scale.
        box
            The part to draw, in the same pixels, within the whole.
        """
        pixels = self.draw_while(whole, box, lambda: True)
        assert pixels is not None
        return pixels

    @abstractmethod
    def draw_while(
        self, whole: tuple[int, int], box: PixelBox, is_wanted: Callable[[], bool]
    ) -> NDArray[np.uint8] | None:
        """Draw as `draw`, but give up and return ``None`` as soon as ``is_wanted``, asked now and then, says no."""

    @abstractmethod
    def close(self) -> None:
        """Let go of the file."""


def open_sheet(data: bytes, sheet: Sheet, look: LayerLook | None = None) -> OpenSheet:
    """Open one sheet of a plan file for drawing, all as the file has it or with layers dimmed or hidden.

    Raises `SheetError` when the file or the page cannot be read.
    """
    if file_format(data, sheet.called) == "pdf":
        return OpenPage(data, sheet) if look is None else DimmedPage(data, sheet, look)
    return OpenPicture(open_picture(data, sheet.page, sheet.called))


class OpenPage(OpenSheet):
    """A page of a PDF. A file that had to be repaired is written anew first."""

    def __init__(self, data: bytes, sheet: Sheet, *, marks: bool = True) -> None:
        self._marks = marks
        with PDFIUM_TURN:
            self._document, self._page = _page_or_repaired(data, sheet)
        self._points = displayed_size(sheet)[0]

    @property
    def page(self) -> Any:
        """The page as PDFium holds it; `PDFIUM_TURN` is held while it is used."""
        return self._page

    def draw_while(
        self, whole: tuple[int, int], box: PixelBox, is_wanted: Callable[[], bool]
    ) -> NDArray[np.uint8] | None:
        """Draw part of the page in slices; see `OpenSheet.draw_while`."""
        import cv2
        import numpy as np
        from pypdfium2 import raw

        size = (box[2] - box[0], box[3] - box[1])
        finer = min(_FINEST, math.ceil(_CLEAR * self._points / whole[0]), math.isqrt(_MOST // (size[0] * size[1])))
        if finer > 1:
            whole, (left, top, right, bottom) = (whole[0] * finer, whole[1] * finer), box
            box = (left * finer, top * finer, right * finer, bottom * finer)
        pause = _pause()
        with PDFIUM_TURN:
            pixels, bitmap = _white_bitmap(box)
            flags = raw.FPDF_REVERSE_BYTE_ORDER | (raw.FPDF_ANNOT if self._marks else 0)  # red first
            state = raw.FPDF_RenderPageBitmap_Start(bitmap, self._page, -box[0], -box[1], *whole, 0, flags, pause)
        while state == raw.FPDF_RENDER_TOBECONTINUED and is_wanted():
            with PDFIUM_TURN:
                state = raw.FPDF_RenderPage_Continue(self._page, pause)
        with PDFIUM_TURN:
            raw.FPDF_RenderPage_Close(self._page)
            raw.FPDFBitmap_Destroy(bitmap)
        if state == raw.FPDF_RENDER_TOBECONTINUED:
            return None
        return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8) if finer > 1 else pixels

    def close(self) -> None:
        """Let go of the page and its file."""
        with PDFIUM_TURN:
            self._page.close()
            self._document.close()


class DimmedPage(OpenSheet):
    """A page of a PDF with layers hidden or dimmed: what is dimmed is the part of it that is faded into the rest."""

    def __init__(self, data: bytes, sheet: Sheet, look: LayerLook) -> None:
        self._all = _page_without(data, sheet, look.hidden)
        self._clear = _page_without(data, sheet, look.hidden | look.dimmed) if look.dimmed else None

    def draw_while(
        self, whole: tuple[int, int], box: PixelBox, is_wanted: Callable[[], bool]
    ) -> NDArray[np.uint8] | None:
        """Draw part of the page in slices; see `OpenSheet.draw_while`."""
        import cv2
        import numpy as np

        pixels = self._all.draw_while(whole, box, is_wanted)
        if pixels is None or self._clear is None:
            return pixels
        rest = self._clear.draw_while(whole, box, is_wanted)
        if rest is None:
            return None
        return np.asarray(cv2.addWeighted(pixels, DIMMED_SHARE, rest, 1.0 - DIMMED_SHARE, 0.0), dtype=np.uint8)

    def close(self) -> None:
        """Let go of the page and its file."""
        for page in (self._all, self._clear):
            if page is not None:
                page.close()


class OpenPicture(OpenSheet):
    """An upright picture in gray or RGB that is a sheet; reduced copies are made when they are first needed."""

    def __init__(self, picture: Image) -> None:
        self._levels = [picture]

    def draw_while(
        self, whole: tuple[int, int], box: PixelBox, is_wanted: Callable[[], bool]
    ) -> NDArray[np.uint8] | None:
        """Draw part of the picture; see `OpenSheet.draw_while`. It is short enough to be asked about once."""
        import cv2
        import numpy as np
        from PIL import Image

        if not is_wanted():
            return None
        picture = self._level(max(whole))
        across, down = picture.width / whole[0], picture.height / whole[1]
        part = (box[0] * across, box[1] * down, min(box[2] * across, picture.width), min(box[3] * down, picture.height))
        size = (box[2] - box[0], box[3] - box[1])
        is_as_it_is = size == picture.size and part == (0, 0, *size)
        shown = np.asarray(picture if is_as_it_is else picture.resize(size, Image.Resampling.BILINEAR, box=part))
        return np.asarray(cv2.cvtColor(shown, cv2.COLOR_GRAY2RGB), np.uint8) if shown.ndim == 2 else shown

    def close(self) -> None:
        """Let go of the picture."""
        self._levels.clear()

    def _level(self, longer: int) -> Image:
        """Return the smallest copy whose longer side is at least ``longer`` pixels, or the picture itself."""
        at = 0
        while max(self._levels[at].size) // 2 >= max(longer, _LEAST_LEVEL):
            at += 1
            if at == len(self._levels):
                self._levels.append(self._levels[-1].reduce(2))
        return self._levels[at]


def _page_without(data: bytes, sheet: Sheet, hidden: frozenset[str]) -> OpenPage:
    return OpenPage(without_layers(data, hidden), sheet, marks=NOTES not in hidden)


def _white_bitmap(box: PixelBox) -> tuple[NDArray[np.uint8], Any]:
    """Make white pixels of the size of a box, height × width × 3, and the bitmap that draws into them."""
    import numpy as np
    from pypdfium2 import raw

    width, height = box[2] - box[0], box[3] - box[1]
    pixels = np.full((height, width, 3), 255, dtype=np.uint8)
    return pixels, raw.FPDFBitmap_CreateEx(width, height, raw.FPDFBitmap_BGR, pixels.ctypes.data, 3 * width)


def _pause() -> Any:
    """Make the question that PDFium asks while it draws: yes, pause, once in `_SLICES_BEFORE_A_LOOK` times."""
    from pypdfium2 import raw

    asked = 0

    def need_to_pause(_: Any) -> bool:
        nonlocal asked
        asked += 1
        return asked % _SLICES_BEFORE_A_LOOK == 0

    question = dict(raw.IFSDK_PAUSE._fields_)["NeedToPauseNow"](need_to_pause)
    return raw.IFSDK_PAUSE(version=1, NeedToPauseNow=question, user=None)


def _page_or_repaired(data: bytes, sheet: Sheet) -> tuple[Any, Any]:
    """Open a PDF and its page for drawing; a file that had to be repaired is written anew first."""
    import pypdfium2 as pdfium

    with contextlib.suppress(pdfium.PdfiumError):
        return _opened_page(data, sheet.page)
    with open_document(data, sheet.called) as repaired:
        written: bytes = repaired.tobytes()
    try:
        return _opened_page(written, sheet.page)
    except pdfium.PdfiumError as error:
        raise SheetError(
            f"page {sheet.page} is damaged and cannot be drawn",
            remedy="Export or download the file again.",
            where=sheet.called,
        ) from error


def _opened_page(data: bytes, page: int) -> tuple[Any, Any]:
    """Open a PDF and one page of it, counted from 1."""
    import pypdfium2 as pdfium

    document = pdfium.PdfDocument(data)
    try:
        return document, document[page - 1]
    except pdfium.PdfiumError:
        document.close()
        raise
