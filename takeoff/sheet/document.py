"""PDF files: opening them, and the frame of their pages.

Everything that the PDF engine says about places on a page (words, drawings, pictures) is in sheet points already: it
reports the unrotated, cropped page with UserUnit applied. Only what is read from the file itself (page boxes,
viewports) is in default user space; `user_to_sheet` turns that into sheet points.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from takeoff.errors import SheetError

Matrix = tuple[float, float, float, float, float, float]
"""a, b, c, d, e, f: (x, y) goes to (a x + c y + e, b x + d y + f)."""

_OF_ENGINE = re.compile(r"code=\d+: ")
"""How the engine's own errors begin where it hands them on as others."""


def pdf_engine() -> Any:
    """Load the PDF engine and keep its messages off the terminal; what matters is told as a refusal or a doubt."""
    import pymupdf

    pymupdf.TOOLS.mupdf_display_errors(False)
    pymupdf.TOOLS.mupdf_display_warnings(False)
    return pymupdf


@contextmanager
def open_document(data: bytes, name: str = "") -> Iterator[Any]:
    """Open a PDF for the length of a ``with`` block; gives a `pymupdf.Document`.

    Raises `SheetError` when the file is damaged, needs a password or has no pages.
    """
    engine = pdf_engine()
    damaged = SheetError("the PDF is damaged and cannot be read", remedy="Export or download it again.", where=name)
    try:
        document = engine.open(stream=data, filetype="pdf")
    except (RuntimeError, ValueError, engine.mupdf.FzErrorBase) as error:
        raise damaged from error
    try:
        if document.needs_pass:
            raise SheetError(
                "the PDF is protected by a password", remedy="Save a copy without the password.", where=name
            )
        if document.page_count == 0:
            if document.is_repaired:
                raise damaged
            raise SheetError("the PDF has no pages", remedy="Export it again with its sheets.", where=name)
        yield document
    except (engine.mupdf.FzErrorBase, RuntimeError) as error:
        if isinstance(error, engine.mupdf.FzErrorBase | RecursionError) or _OF_ENGINE.match(str(error)):
            raise damaged from error
        raise
    finally:
        document.close()


def load_page(document: Any, page: int, name: str = "") -> Any:
    """Load a page of an open document, counted from 1; gives a `pymupdf.Page`.

    Raises `SheetError` when there is no such page or it is damaged.
    """
    if not 1 <= page <= document.page_count:
        raise SheetError(
            f"there is no page {page}; the PDF has {document.page_count}",
            remedy="Choose a page of the file.",
            where=name,
        )
    engine = pdf_engine()
    try:
        return document[page - 1]
    except (RuntimeError, ValueError, engine.mupdf.FzErrorBase) as error:
        raise SheetError(
            f"page {page} is damaged and cannot be read", remedy="Export or download the file again.", where=name
        ) from error


@contextmanager
def open_page(data: bytes, page: int, name: str = "") -> Iterator[Any]:
    """Open one page of a PDF, counted from 1, for the length of a ``with`` block; gives a `pymupdf.Page`.

    Its `get_text`, `get_drawings` and `get_image_info` are in sheet points. Raises `SheetError` as `open_document` and
    `load_page`.
    """
    with open_document(data, name) as document:
        yield load_page(document, page, name)


def user_to_sheet(page: Any) -> Matrix:
    """Return the matrix from the page's default user space (y up, UserUnit not applied) to sheet points."""
    rotation = page.rotation
    page.set_rotation(0)
    try:
        a, b, c, d, e, f = page.transformation_matrix
    finally:
        page.set_rotation(rotation)
    return (float(a), float(b), float(c), float(d), float(e), float(f))
