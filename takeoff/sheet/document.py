"""PDF files: opening them, the frame of their pages, and what is drawn on a page in numbers.

Everything that the PDF engine says about places on a page (words, drawings, pictures) is in sheet points already: it
reports the unrotated, cropped page with UserUnit applied. Only what is read from the file itself (page boxes,
viewports) is in default user space; `user_to_sheet` turns that into sheet points.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from takeoff.errors import SheetError
from takeoff.sheet.formats import MAX_CONTENT_BYTES
from takeoff.sheet.text_only import without_paths

Matrix = tuple[float, float, float, float, float, float]
"""a, b, c, d, e, f: (x, y) goes to (a x + c y + e, b x + d y + f)."""

_LARGE = 64 * 1024
"""Bytes above which a stream is worth lightening."""


def _engine() -> Any:
    """Load the PDF engine and keep its messages off the terminal; what matters is told as a refusal or a doubt."""
    import pymupdf

    pymupdf.TOOLS.mupdf_display_errors(False)
    pymupdf.TOOLS.mupdf_display_warnings(False)
    return pymupdf


@contextmanager
def open_document(data: bytes, name: str = "") -> Iterator[Any]:
    """Open a PDF for the length of a ``with`` block; gives a `pymupdf.Document`.

    Raises
    ------
    SheetError
        When the file is damaged, needs a password or has no pages.
    """
    engine = _engine()
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
        try:
            count = document.page_count
        except RuntimeError as error:
            raise damaged from error
        if count == 0:
            if document.is_repaired:
                raise damaged
            raise SheetError("the PDF has no pages", remedy="Export it again with its sheets.", where=name)
        yield document
    except engine.mupdf.FzErrorBase as error:
        raise damaged from error
    finally:
        document.close()


def ends_early(document: Any, data: bytes) -> bool:
    """Tell whether an open PDF was cut short: it had to be put together again, and its end mark is missing."""
    return bool(document.is_repaired) and b"%%EOF" not in data[-2048:]


def load_page(document: Any, page: int, name: str = "") -> Any:
    """Load a page of an open document, counted from 1; gives a `pymupdf.Page`.

    Raises
    ------
    SheetError
        When there is no such page or it is damaged.
    """
    if not 1 <= page <= document.page_count:
        raise SheetError(
            f"there is no page {page}; the PDF has {document.page_count}",
            remedy="Choose a page of the file.",
            where=name,
        )
    engine = _engine()
    try:
        return document[page - 1]
    except (RuntimeError, ValueError, engine.mupdf.FzErrorBase) as error:
        raise SheetError(
            f"page {page} is damaged and cannot be read", remedy="Export or download the file again.", where=name
        ) from error


@contextmanager
def open_page(data: bytes, page: int, name: str = "") -> Iterator[Any]:
    """Open one page of a PDF, counted from 1, for the length of a ``with`` block; gives a `pymupdf.Page`.

    Its `get_text`, `get_drawings` and `get_image_info` are in sheet points.

    Raises
    ------
    SheetError
        As `open_document` and `load_page`.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class PageResources:
    """What a page may use: pictures (width and height in pixels), forms (their object numbers), and whether fonts."""

    images: tuple[tuple[int, int], ...]
    forms: tuple[int, ...]
    has_fonts: bool


def page_resources(document: Any, page: Any, where: str = "") -> PageResources:
    """Read what a page may use.

    Raises
    ------
    SheetError
        When they cannot be read.
    """
    try:
        images = document.get_page_images(page.number, full=True)
        forms = document.get_page_xobjects(page.number)
        return PageResources(
            images=tuple((int(image[2]), int(image[3])) for image in images),
            forms=tuple(int(form[0]) for form in forms),
            has_fonts=bool(document.get_page_fonts(page.number)),
        )
    except (ValueError, TypeError) as error:
        raise SheetError(
            "the page is damaged and cannot be read", remedy="Export or download the file again.", where=where
        ) from error


def count_page(
    document: Any, page: Any, counts: dict[int, tuple[int, bool]], forms: Sequence[int] = (), where: str = ""
) -> tuple[int, bool]:
    """Count the painted paths of a page and of the given forms (`PageResources`).

    The open document is changed in memory: large streams lose the paths once they are counted, so that reading the
    page's text is quick.

    Parameters
    ----------
    document, page
        The open PDF and a page of it.
    counts
        By object number of a stream: its paths and whether it is whole. What is missing is added; keep it for all pages
        of one document.
    forms
        Object numbers of forms.
    where
        For messages.

    Returns
    -------
    paths
        Of all streams together.
    complete
        False when a stream is damaged or may end early.

    Raises
    ------
    SheetError
        When a stream unpacks to more than `MAX_CONTENT_BYTES`.
    """
    engine = _engine()
    xrefs = list(dict.fromkeys([*page.get_contents(), *forms]))
    for xref in xrefs:
        if xref in counts:
            continue
        try:
            stream, whole = _unpacked(document, xref, where)
            if whole and len(stream) > _LARGE:
                light = without_paths(stream)
                if len(light) < len(stream):
                    document.update_stream(xref, light, compress=False)
        except (ValueError, engine.mupdf.FzErrorBase):
            stream, whole = b"", False
        counts[xref] = (count_paths(stream), whole)
    return sum(counts[xref][0] for xref in xrefs), all(counts[xref][1] for xref in xrefs)


def count_paths(stream: bytes) -> int:
    r"""Count the painted paths in an unpacked content stream.

    Every path-painting operator counts (S s F f f* B B* b b*; ISO 32000-1 table 60, from memory). The count is for the
    register: such a letter standing alone in a text or in a picture written into the stream counts too.

    Examples
    --------
    >>> count_paths(b"0 0 m 10 0 l S 0 0 5 5 re f* q Q\n")
    2
    """
    import numpy as np

    kinds = bytearray(256)
    for kind, letters in enumerate((b"\0\t\n\f\r []<>", b"SsFfBb", b"*"), start=1):
        for letter in letters:
            kinds[letter] = kind
    told = np.frombuffer(b"".join((b"\1", stream.translate(kinds), b"\1\1")), np.uint8)
    at = np.flatnonzero(told == 2)
    after = told[at + 1]
    ends = (after == 1) | ((after == 3) & (told[at + 2] == 1))
    return int(np.count_nonzero((told[at - 1] == 1) & ends))


def _unpacked(document: Any, xref: int, where: str) -> tuple[bytes, bool]:
    """Unpack one stream with a limit on its size; the second value is False when it is not whole."""
    packed: bytes = document.xref_stream_raw(xref) or b""
    filters = [part for part in document.xref_get_key(xref, "Filter")[1].strip("[]").split("/") if part.strip()]
    whole = True
    for step in (part.strip() for part in filters):
        if step not in ("FlateDecode", "Fl"):
            return document.xref_stream(xref) or b"", whole
        unpacker = zlib.decompressobj()
        try:
            packed = unpacker.decompress(packed, MAX_CONTENT_BYTES + 1)
        except zlib.error:
            return document.xref_stream(xref) or b"", False
        if len(packed) > MAX_CONTENT_BYTES:
            raise SheetError(
                f"the page unpacks to more than {MAX_CONTENT_BYTES // 2**20} MiB of drawing instructions",
                remedy="Plot the sheet again with less detail.",
                where=where,
            )
        whole = whole and unpacker.eof
    if filters and document.xref_get_key(xref, "DecodeParms")[0] != "null":
        return document.xref_stream(xref) or b"", whole
    return packed, whole
