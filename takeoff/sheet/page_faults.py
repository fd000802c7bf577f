"""What is wrong with a page of a PDF and would not be seen from what is read of it, a sentence each."""

from __future__ import annotations

import re
import zlib
from collections.abc import Collection, Iterator
from typing import Any

from takeoff.sheet.embedded import PdfValue
from takeoff.sheet.formats import BLANK, HIDDEN
from takeoff.sheet.text import numbered_fonts, page_rows

NO_SIZE = "the file does not say how large the page is, and 8½ × 11 in were taken: check its scale with a dimension"
BAD_PICTURE = "a picture on it is damaged, ends early or is packed in an unknown way: what it shows may be missing"
FORM = "it is a form that is made only as some programs show it: print it to PDF from such a program"
BAD_LETTERS = (
    "its letters are stored as others than those that are drawn: names, dimensions and scale read from it may be wrong"
)
NUMBERED = (
    "letters of it are stored as numbers of their pictures alone, and are read in the usual order of fonts: check "
    "names and dimensions"
)
_FILTERS = {
    "ASCIIHexDecode", "AHx", "ASCII85Decode", "A85", "LZWDecode", "LZW", "FlateDecode", "Fl", "RunLengthDecode", "RL",
    "CCITTFaxDecode", "CCF", "JBIG2Decode", "DCTDecode", "DCT", "JPXDecode", "Crypt",
}  # fmt: skip
"""Ways a stream may be packed (ISO 32000-1:2008 tables 6 and 94, from memory)."""
_END = b"\xff\xd9"
"""What JPEG and JPEG 2000 data end with (ITU-T T.81 table B.1, T.800 table A.2, from memory)."""
_END_OF_FAX = 0x001001
"""What fax data of group 4 end with, at any bit, unless they say otherwise (ITU-T T.6 §2.4.1.1 and ISO 32000-1:2008
table 11, from memory)."""
_TAIL = 64 * 1024
_STEP = 1 << 22
_TINY = 64.0
"""Dots along the longer side at which it is seen whether a page shows anything."""
_PLAIN = ("WinAnsiEncoding", "MacRomanEncoding", "StandardEncoding")
_TOUNICODE = re.compile(rb"begin(bfchar|bfrange)(.*?)endbf", re.DOTALL)
_ENTRY = re.compile(rb"<\s*([0-9A-Fa-f]+)\s*>|\[([^\]]*)\]")
_SYMBOLIC = 4
"""Bit of a font's flags: its codes are its own (ISO 32000-1 table 123, from memory)."""
_WRONG = 2
"""Letters or figures of a font that are stored as others, from which on its texts are doubted (judgement)."""


def page_faults(
    document: Any, page: Any, images: Collection[int], *, is_picture: bool, is_empty: bool, has_masks: bool
) -> Iterator[str]:
    """Say what is wrong with a page.

    ``images`` are the object numbers of its pictures; ``is_picture`` says that they cover it or are all there is,
    ``is_empty`` that it has no path, picture or text, ``has_masks`` that what it has may be drawn through soft masks.
    """
    own = PdfValue.of_page(page)
    if not _has_size(own):
        yield NO_SIZE
    kept = own.get("Annots")
    kinds = [kept.at(index).get("Subtype").text for index in range(kept.length)] if is_empty else []
    notes = sum(kind not in ("Link", "Popup", "Widget") for kind in kinds)
    if notes:
        many = "1 annotation" if notes == 1 else f"{notes} annotations"
        yield f"{BLANK} but {many}, not traced: print it to PDF with its annotations as part of the page"
    elif is_empty or (is_picture and _is_blank(page)):
        yield BLANK
    elif has_masks and _is_blank(page):
        yield HIDDEN
    if not all(_is_whole(document, xref) for xref in images):
        yield BAD_PICTURE
    if document.xref_get_key(document.pdf_catalog(), "NeedsRendering")[1] == "true":
        yield FORM
    fonts = [xref for xref, *_ in page.get_fonts()]
    if any(_misleads(document, xref) for xref in fonts):
        yield BAD_LETTERS
    if any(_is_untold(document, xref) for xref in fonts) and numbered_fonts(page_rows(page)):
        yield NUMBERED


def _has_size(page: PdfValue) -> bool:
    """Tell whether the boxes of a page leave something of it (ISO 32000-1:2008 §14.11.2)."""
    sides = _box(page, "MediaBox")
    if sides is None:
        return False
    crop = _box(page, "CropBox") or sides
    return max(sides[0], crop[0]) < min(sides[2], crop[2]) and max(sides[1], crop[1]) < min(sides[3], crop[3])


def _box(page: PdfValue, key: str) -> tuple[float, float, float, float] | None:
    box = page.inherited(key)
    a, b, c, d = (box.at(index).number for index in range(4))
    if a is None or b is None or c is None or d is None:
        return None
    return min(a, c), min(b, d), max(a, c), max(b, d)


def _is_blank(page: Any) -> bool:
    """Tell whether a page shows the same everywhere, drawn very small."""
    scale = _TINY / max(page.rect.width, page.rect.height)
    return bool(page.get_pixmap(matrix=page.rotation_matrix.__class__(scale, scale)).is_unicolor)


def _is_whole(document: Any, xref: int) -> bool:
    """Tell whether a picture's data is there to its end, where its form tells that."""
    filters = re.findall(r"/(\w+)", document.xref_get_key(xref, "Filter")[1])
    if not set(filters) <= _FILTERS:
        return False
    first = filters[0] if filters else ""
    raw: bytes = document.xref_stream_raw(xref) or b""
    if first in ("DCTDecode", "DCT", "JPXDecode"):
        return _END in raw[-_TAIL:]
    if first in ("CCITTFaxDecode", "CCF"):
        by, ends = (document.xref_get_key(xref, f"DecodeParms/{key}")[1] for key in ("K", "EndOfBlock"))
        tail = int.from_bytes(raw[-5:])
        is_ended = any(tail >> bits & 0xFFFFFF == _END_OF_FAX for bits in range(16))
        return is_ended or not by.startswith("-") or ends == "false"
    if first not in ("FlateDecode", "Fl"):
        return True
    unpacker = zlib.decompressobj()
    try:
        while raw and not unpacker.eof:
            unpacker.decompress(raw, _STEP)
            raw = unpacker.unconsumed_tail
    except zlib.error:
        return False
    return unpacker.eof


def _misleads(document: Any, xref: int) -> bool:
    """Tell whether a font with plain codes says of its letters or figures that they are others (ISO 32000-1 §9.10.3).

    Where it has codes of its own nothing tells.
    """
    if not xref or document.xref_get_key(xref, "ToUnicode")[0] != "xref":
        return False
    if document.xref_get_key(xref, "Subtype")[1] == "/TrueType":
        flags = document.xref_get_key(xref, "FontDescriptor/Flags")[1]
        if flags.isdecimal() and int(flags) & _SYMBOLIC:
            return False
    kind, encoding = document.xref_get_key(xref, "Encoding")
    if kind == "name" and encoding.strip("/") not in _PLAIN:
        return False
    if kind not in ("name", "null") or (kind == "null" and document.xref_get_key(xref, "FontDescriptor")[0] != "null"):
        return False
    stored = _stored(document.xref_stream(int(document.xref_get_key(xref, "ToUnicode")[1].split()[0])) or b"")
    return sum(_is_other(chr(code), letter) for code, letter in stored.items()) >= _WRONG


def _is_untold(document: Any, xref: int) -> bool:
    """Tell whether a font of many letters may not say which they are; one kept in the page itself has no number."""
    return not xref or (
        document.xref_get_key(xref, "Subtype")[1] == "/Type0" and document.xref_get_key(xref, "ToUnicode")[0] == "null"
    )


def _is_other(drawn: str, stored: str) -> bool:
    is_plain = all(letter.isascii() and letter.isalnum() for letter in (drawn, stored)) and len(stored) == 1
    return is_plain and drawn.lower() != stored.lower()


def _stored(table: bytes) -> dict[int, str]:
    """Read which letter each code below 128 is stored as."""
    found: dict[int, str] = {}
    for kind, body in _TOUNICODE.findall(table):
        entries = [(single, many) for single, many in _ENTRY.findall(body)]
        size = 2 if kind == b"bfchar" else 3
        for n in range(0, len(entries) - size + 1, size):
            low, high = int(entries[n][0] or b"80", 16), int(entries[n + size - 2][0] or b"0", 16)
            single, many = entries[n + size - 1]
            listed = re.findall(rb"[0-9A-Fa-f]+", many)
            for code in range(low, min(high, 127) + 1):
                text = listed[code - low] if code - low < len(listed) else single
                offset = 0 if listed else code - low
                if len(text) == 4:
                    found[code] = chr(int(text, 16) + offset)
    return found
