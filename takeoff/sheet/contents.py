"""What a page of a PDF draws, in numbers and within limits: its resources, its streams, forms within forms."""

from __future__ import annotations

import re
import zlib
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from takeoff.errors import SheetError
from takeoff.sheet.document import pdf_engine
from takeoff.sheet.embedded import PdfValue
from takeoff.sheet.formats import MAX_CONTENT_BYTES, MAX_DRAWN_BYTES, check_pixels

_NAMED = re.compile(r"/([^\s/<>()\[\]]+) (\d+) 0 R")
_DRAWS = re.compile(rb"/([^\s/<>()\[\]]+)\s+Do\b")
_INLINE = re.compile(rb"BI[\s/](.{,400}?)\sID\s", re.DOTALL)
_OF_INLINE = re.compile(rb"/(W|H|BPC|F)(?:idth|eight|ilter)?[\s/\[]+(\w+)")
"""A picture that is written into a stream, and its keys (ISO 32000-1:2008 §8.9.7)."""
_MOST_ABOVE, _MOST_DEEP = 50, 40
"""Levels of a document's tree of pages, and of forms within forms, that are followed: PDFium draws no deeper ones."""
_MOST_PARTS = 10_000
"""Parts that the condition of a layer may have: a sheet has hundreds of layers at the most (judgement)."""

Form = tuple[int, str, int]
"""A form: the object number of what draws it (0 for the page), the name it has there, and its own object number."""


class Resources(NamedTuple):
    """What a page may use: pictures (object number: pixels across and down), forms, fonts and soft masks."""

    images: dict[int, tuple[int, int]]
    forms: list[Form]
    has_fonts: bool
    has_masks: bool


def page_resources(document: Any, page: Any, where: str = "") -> Resources:
    """Read what a page may use.

    Raises `SheetError` when it cannot be read, or the condition of a layer has no end.
    """
    images: dict[int, tuple[int, int]] = {}
    forms: dict[Form, None] = {}
    has_fonts, has_masks, waiting, seen = False, False, [(0, _holder(document, page.xref))], set[int]()
    try:
        while waiting:
            by, holder = waiting.pop()
            has_fonts = has_fonts or document.xref_get_key(holder, "Resources/Font")[0] != "null"
            has_masks = has_masks or _is_masked(document, holder)
            for _, xref in named_objects(document, holder, "Resources/Properties"):
                _refuse_tangled(PdfValue.of_object(document, xref), where)
            for name, xref in named_objects(document, holder, "Resources/XObject"):
                _refuse_tangled(PdfValue.of_object(document, xref).get("OC"), where)
                if document.xref_get_key(xref, "Subtype")[1] == "/Image":
                    width, height = (int(document.xref_get_key(xref, key)[1]) for key in ("Width", "Height"))
                    images[xref] = (width, height)
                    continue
                if xref != by:
                    forms[by, name, xref] = None
                if xref not in seen:
                    seen.add(xref)
                    waiting.append((xref, xref))
        return Resources(images, list(forms), has_fonts, has_masks)
    except (ValueError, TypeError) as error:
        raise SheetError(
            "the page is damaged and cannot be read", remedy="Export or download the file again.", where=where
        ) from error


def _is_masked(document: Any, holder: int) -> bool:
    """Tell whether a page or form may draw through a soft mask (ISO 32000-1:2008 §11.6.5.1)."""
    states = named_objects(document, holder, "Resources/ExtGState")
    kinds = [document.xref_get_key(xref, "SMask")[0] for _, xref in states]
    return not {"dict", "xref"}.isdisjoint(kinds) or bool(
        re.search(r"/SMask\s*(?:<<|\d)", document.xref_get_key(holder, "Resources/ExtGState")[1])
    )


def _refuse_tangled(condition: PdfValue, where: str) -> None:
    """Refuse the condition of a layer that holds itself, or a part of it over and over (ISO 32000-1 §8.11.2.2).

    Such a one has no meaning: one PDF engine draws what is on the layer, another hides it or never ends.
    """
    waiting = [condition]
    for _ in range(_MOST_PARTS):
        if not waiting:
            return
        part = waiting.pop()
        waiting += [part.get("VE")] if part.is_dictionary else [part.at(index) for index in range(part.length)]
    raise SheetError(
        f"the condition of a layer holds itself or has more than {_MOST_PARTS:,} parts",
        remedy="The file may be damaged or made to harm. Plot the sheet again without layers.",
        where=where,
    )


def pictures_on(page: Any) -> list[tuple[float, int]]:
    """Return the area of each picture as it stands on a page, in square points, and its pixels."""
    shown = [(image["transform"][:4], image["width"] * image["height"]) for image in page.get_image_info()]
    return [(abs(a * d - b * c), pixels) for (a, b, c, d), pixels in shown]


def _holder(document: Any, xref: int) -> int:
    """Return the page, or the one of those above it whose resources it has (ISO 32000-1 §7.7.3.4, from memory)."""
    for _ in range(_MOST_ABOVE):
        kind, above = document.xref_get_key(xref, "Parent")
        if document.xref_get_key(xref, "Resources")[0] != "null" or kind != "xref":
            break
        xref = int(above.split()[0])
    return xref


def named_objects(document: Any, xref: int, key: str) -> list[tuple[str, int]]:
    """Return the names and object numbers of a dictionary in an object of a PDF."""
    kind, text = document.xref_get_key(xref, key)
    if kind == "xref":
        text = document.xref_object(int(text.split()[0]), compressed=True)
    found = [(name, int(number)) for name, number in _NAMED.findall(text)] if kind != "null" else []
    return [(name, number) for name, number in found if 0 < number < document.xref_length()]


class Stream(NamedTuple):
    """What was found in a stream: its painted paths, whether it is whole, its bytes, and how often it draws by name."""

    paths: int
    whole: bool
    size: int = 0
    draws: Mapping[str, int] = {}


def count_page(
    document: Any, page: Any, streams: dict[int, Stream], forms: Sequence[Form] = (), where: str = ""
) -> tuple[int, bool]:
    """Count the painted paths of a page and of the given forms (`page_resources`).

    Raises `SheetError` when a stream unpacks to more than `MAX_CONTENT_BYTES`, or forms are drawn so often that it
    comes to more than `MAX_DRAWN_BYTES`.

    Parameters
    ----------
    document, page
        The open PDF and a page of it.
    streams
        By object number. What is missing is added; keep it for all pages of one document.
    forms
        The forms that the page may use.
    where
        For messages.

    Returns
    -------
    paths
        Of all streams together.
    complete
        False when a stream is damaged or may end early.
    """
    engine = pdf_engine()
    contents = list(page.get_contents())
    xrefs = list(dict.fromkeys([*contents, *(form for _, _, form in forms)]))
    for xref in xrefs:
        if xref in streams:
            continue
        try:
            stream, whole = _unpacked(document, xref, where)
        except (ValueError, engine.mupdf.FzErrorBase):
            stream, whole = b"", False
        whole &= _holds_its_pictures(stream, where)
        draws = Counter(name.decode("latin-1") for name in _DRAWS.findall(stream))
        streams[xref] = Stream(count_paths(stream), whole, len(stream), draws)
    _refuse_endless(contents, forms, streams, where)
    found = [streams[xref] for xref in xrefs]
    return sum(stream.paths for stream in found), all(stream.whole for stream in found)


def _holds_its_pictures(stream: bytes, where: str) -> bool:
    """Tell whether the pictures written into a stream end before it does; one that is too large is refused."""
    is_whole = True
    for found in _INLINE.finditer(stream):
        keys = dict(_OF_INLINE.findall(found[1]))
        sizes = (keys.get(key, b"1") for key in (b"W", b"H", b"BPC"))
        width, height, bits = (int(size) if size.isdigit() else 1 for size in sizes)
        check_pixels(width, height, where)
        is_whole &= b"F" in keys or found.end() + height * (width * bits // 8) <= len(stream)
    return is_whole


def _refuse_endless(contents: list[int], forms: Sequence[Form], streams: Mapping[int, Stream], where: str) -> None:
    """Refuse a page whose forms draw one another too often, or too deep."""
    draws: Counter[str] = Counter()
    for xref in contents:
        draws.update(streams[xref].draws)
    by = [(form, outer, (draws if outer == 0 else streams[outer].draws).get(name, 0)) for outer, name, form in forms]
    size = {0: sum(streams[xref].size for xref in contents)} | {form: streams[form].size for _, _, form in forms}
    whole, fault = size, f"its forms are nested more than {_MOST_DEEP} deep"
    for _ in range(_MOST_DEEP + 1):
        after = dict(size)
        for form, outer, times in by:
            after[outer] += times * whole[form]
        if after[0] > MAX_DRAWN_BYTES:
            fault = f"its forms draw one another until there are {MAX_DRAWN_BYTES // 2**20:,} MiB of instructions"
            break
        if after == whole:
            return
        whole = after
    raise SheetError(fault, remedy="The file may be damaged or made to harm. Plot the sheet again.", where=where)


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
    _refuse_large(len(packed), where)
    for step in (part.strip() for part in filters):
        if step in ("RunLengthDecode", "RL"):
            _refuse_large(_length_of_runs(packed), where)
        if step not in ("FlateDecode", "Fl"):
            return _by_engine(document, xref, where), whole
        unpacker = zlib.decompressobj()
        try:
            packed = unpacker.decompress(packed, MAX_CONTENT_BYTES + 1)
        except zlib.error:
            return _by_engine(document, xref, where), False
        _refuse_large(len(packed), where)
        whole = whole and unpacker.eof
    if filters and document.xref_get_key(xref, "DecodeParms")[0] != "null":
        return _by_engine(document, xref, where), whole
    return packed, whole


def _by_engine(document: Any, xref: int, where: str) -> bytes:
    """Unpack one stream as the engine does, which knows no limit."""
    stream: bytes = document.xref_stream(xref) or b""
    _refuse_large(len(stream), where)
    return stream


def _length_of_runs(packed: bytes) -> int:
    """Return what runs of bytes unpack to (ISO 32000-1 §7.4.5, from memory); counting ends where it is too much."""
    size = at = 0
    while at < len(packed) and packed[at] != 128 and size <= MAX_CONTENT_BYTES:
        count = packed[at]
        size += count + 1 if count < 128 else 257 - count
        at += count + 2 if count < 128 else 2
    return size


def _refuse_large(size: int, where: str) -> None:
    if size > MAX_CONTENT_BYTES:
        raise SheetError(
            f"the page unpacks to more than {MAX_CONTENT_BYTES // 2**20} MiB of drawing instructions",
            remedy="Plot the sheet again with less detail.",
            where=where,
        )
