"""Pages set so that every name prints: letters of all scripts come from the open fonts in the PDF library.

What no font has, and what is no character to be seen, becomes a box. Texts come as data, never as markup. Here is too
what drawings and pages share: the page under the marks as a picture, how an SVG file begins, writing over lines.
"""

from __future__ import annotations

import functools
import io
import json
import re
import tempfile
import unicodedata
from collections.abc import Iterable, Mapping
from html import escape
from pathlib import Path
from typing import Any, Literal

from takeoff.errors import ReportError

LAYOUTS = Path(__file__).parent
PARTS = "parts.typ"
"""What the layouts share."""
STANDARD: Literal["ua-1"] = "ua-1"
"""Accessible PDF, ISO 14289-1: tags, headings, described pictures, title and language."""
BOX = "\u25a1"
"""What stands for a character that cannot be shown: white square."""
SCRIPTS = (
    *("THAI", "ARABIC", "HEBREW", "DEVANAGARI", "GREEK", "CYRILLIC", "BENGALI", "TAMIL", "KHMER", "GEORGIAN"),
    *("ARMENIAN", "ETHIOPIC", "LAO", "GUJARATI", "GURMUKHI", "TELUGU", "KANNADA", "MALAYALAM", "SINHALA", "HAN"),
)
"""Scripts whose letters are printed besides Latin; the font of HAN has kana and hangul too."""
_OWN = 0x0250
"""First character after the Latin letters that the layouts' own fonts have (Unicode, Latin Extended-B ends here)."""
_UNSEEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\u200e\u200f\u202a-\u202e\u2066-\u2069\ufff9-\uffff]"
)
"""Characters that XML or the setting refuses, and marks that turn the order of what is read."""
_LINES = re.compile("[\u2028\u2029]")


def seen(text: str) -> str:
    r"""Put a box for every character that cannot be seen, and a space for a break of line or paragraph.

    Examples
    --------
    >>> seen("Wash\x1b \u2028two")
    'Wash□  two'
    """
    return _UNSEEN.sub(BOX, _LINES.sub(" ", text))


def set_layout(layout: str, data: dict[str, Any], files: Mapping[str, bytes], *, remedy: str) -> bytes:
    """Set the pages of a typst layout; where that cannot be, a `ReportError` has the remedy.

    The layout reads ``data`` as ``report.json`` and shows the pictures in ``files`` by the names in the data.
    """
    import typst

    drawings = {name: made.decode(errors="replace") for name, made in files.items() if name.endswith(".svg")}
    strange = _strange([json.dumps(data, ensure_ascii=False), *drawings.values()])
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        fonts = folder / "fonts"
        boxes = {ord(c): BOX for c in strange - _put_fonts(fonts, strange)}
        cleaned = {name: seen(drawn).translate(boxes).encode() for name, drawn in drawings.items()}
        own = {name: LAYOUTS.joinpath(name).read_bytes() for name in (layout, PARTS)}
        texts = {"report.json": json.dumps(_cleaned(data, boxes)).encode()}
        for name, made in (own | dict(files) | cleaned | texts).items():
            (folder / name).write_bytes(made)
        try:
            return bytes(
                typst.compile(
                    str(folder / layout),
                    root=str(folder),
                    format="pdf",
                    pdf_standards=STANDARD,
                    timestamp=0,
                    font_paths=[str(fonts)] if strange else [],
                )
            )
        except typst.TypstError as error:
            raise ReportError(f"the pages could not be set: {error}", remedy=remedy) from error


def _cleaned(value: Any, boxes: dict[int, str]) -> Any:
    if isinstance(value, str):
        return seen(value).translate(boxes)
    if isinstance(value, dict):
        return {key: _cleaned(content, boxes) for key, content in value.items()}
    return [_cleaned(content, boxes) for content in value] if isinstance(value, list | tuple) else value


def _strange(texts: Iterable[str]) -> set[str]:
    """Characters that the layouts' own fonts may lack: letters, marks and signs past Latin, Greek and Cyrillic."""
    return {c for c in set[str]().union(*texts) if ord(c) >= _OWN and _is_strange(c)}


def _is_strange(c: str) -> bool:
    if unicodedata.category(c)[0] in "CLMN" or ord(c) > 0xFFFF:
        return not ("GREEK" in unicodedata.name(c, "") or "CYRILLIC" in unicodedata.name(c, "")) or ord(c) > 0x04FF
    return ord(c) > 0x2BFF


def _put_fonts(folder: Path, wanted: set[str]) -> set[str]:
    """Put the fonts of the characters wanted into a folder; gives those that some font has."""
    had: set[str] = set()
    for script in SCRIPTS if wanted else ():
        data, glyphs = _font(script)
        found = {c for c in wanted - had if ord(c) in glyphs}
        if found:
            folder.mkdir(exist_ok=True)
            (folder / f"{script}.ttf").write_bytes(_named(data) if script == "HAN" else data)
            had |= found
    return had


@functools.cache
def _font(script: str) -> tuple[bytes, frozenset[int]]:
    """The PDF library's font of a script (Noto and Droid fonts, SIL Open Font and Apache licences), and what it has."""
    import pymupdf
    from pymupdf import mupdf

    start, size, _ = mupdf.fz_lookup_noto_font(getattr(mupdf, f"UCDN_SCRIPT_{script}"), 0)
    if not size:
        return b"", frozenset()
    data = bytes(mupdf.python_memoryview_from_memory(start, size, 0))
    return data, frozenset(pymupdf.Font(fontbuffer=data).valid_codepoints())


def _named(data: bytes) -> bytes:
    """Give a font the full and the PostScript name (ids 4 and 6 of its table of names), without which none is taken."""
    from fontTools.ttLib import TTFont

    font = TTFont(io.BytesIO(data), recalcTimestamp=False)
    names = font["name"]
    family = names.getDebugName(1)
    for number, name in ((4, family), (6, family.replace(" ", ""))):
        if not names.getDebugName(number):
            names.setName(name, number, 3, 1, 0x409)
    out = io.BytesIO()
    font.save(out)
    return out.getvalue()


def svg_head(width: float, height: float, look: str) -> str:
    """Begin a drawing of so many points, with the attributes of its writing."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.2f}pt" height="{height:.2f}pt" '
        f'viewBox="0 0 {width:.2f} {height:.2f}" {look}>'
    )


def svg_text(words: str, x: float, y: float, look: str = "", *, edge: float = 1.6) -> str:
    """Write words on a white edge of so many points, which keeps them apart from the lines under them."""
    white = f'stroke="#FFFFFF" stroke-width="{edge:.2f}" stroke-linejoin="round" paint-order="stroke"'
    return f'<text x="{x:.2f}" y="{y:.2f}" {look} {white}>{escape(words, quote=False)}</text>'


LARGEST_DRAWING = 1_500_000
"""Bytes of vector drawing to carry; a busier or scanned page becomes a picture of dots."""

PIXELS = 3300
"""Longer side of a scanned or very busy plan: 300 dots to the inch on letter paper."""

LARGEST_PIXELS = 7000
"""Longer side at the most, where a small part of a scan is shown."""


def page_picture(page_pdf: bytes, size_pt: tuple[float, float], *, pixels: int) -> tuple[str, bytes]:
    """Turn a page into a drawing (``svg``), or a picture (``jpg``) with so many ``pixels`` along its longer side."""
    import pymupdf

    with pymupdf.open(stream=page_pdf, filetype="pdf") as document:
        page = document[0]
        if not page.get_images():
            drawing = page.get_svg_image(text_as_path=True).encode("utf-8")
            if len(drawing) <= LARGEST_DRAWING:
                return "svg", drawing
        zoom = pixels / max(size_pt)
        dots = page.get_pixmap(matrix=pymupdf.Matrix(zoom, zoom), alpha=False)
        return "jpg", bytes(dots.tobytes("jpeg", jpg_quality=85))
