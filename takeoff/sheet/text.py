"""The text of vector sheets with its places, and the scale notes in it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from typing import Any

from takeoff.apart import apart
from takeoff.errors import CalibrationError
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.document import open_page
from takeoff.sheet.formats import file_format
from takeoff.sheet.frame import Box, box_round, meets
from takeoff.sheet.scales import parse_scale_note

RAISED = "⁰¹²³⁴⁵⁶⁷⁸⁹"
"""Digits that stand raised and small, as half a centimetre does in 36⁵ and a square in m²: how they are given."""
_RAISE = str.maketrans("0123456789", RAISED)
_SMALL, _HIGH = 0.8, 0.15
"""Raised digits are smaller than this part of the letters before them, and stand this part of those higher: most
typesetters raise by a third and shrink to 58 to 70 % (from memory)."""
_HALVED = re.compile(r"(?:2|4|8|16|32|64)(?!\d)")
_FRACTION = re.compile(r"\d{1,2}/(?:2|4|8|16|32|64)")
"""What inches are halved into, and a part of them (usage)."""
_SHIFT, _LAST = 29, 97
"""What lies between the number of a letter's picture and its code in ASCII, and the number of the last one."""
_WHITE = 240
"""Least red, green and blue of 255 of what is no ink on white paper (judgement)."""

Rows = dict[tuple[int, int], dict[str, Any]]
"""Lines of a page's text, by block and line, as the engine gives them."""

_SLOPE = re.compile(
    r"\b(?:SLOP(?:E|ED|ING)|FALLS?|GRADIENT|GRAD(?:E|ING)|RAMP|PITCH|MIX|MORTAR|CEMENT|CONCRETE|GEF[AÄ]LLE|NEIGUNG|PENTE|"
    r"PENDIENTE|PENDENZA|DECLIVIDADE|INCLINA\w+|RAMPA|UKLON|УКЛОН)\b",
    re.IGNORECASE,
)
"""Words beside which 1:50 is a slope, or what a mortar is mixed of (ordinary words, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """A word and its box in sheet points."""

    text: str
    box_pt: Box


@dataclass(frozen=True, kw_only=True)
class TextLine:
    """Words that stand on one line, in reading order, the box round them in sheet points, and whether they are bold.

    ``is_recognised`` tells that they were read from a picture, or from letters that are lines.
    """

    words: tuple[Word, ...]
    box_pt: Box
    is_bold: bool = False
    is_recognised: bool = False

    @cached_property
    def text(self) -> str:
        """The words with one space between them."""
        return " ".join(word.text for word in self.words)

    @property
    def size(self) -> float:
        """Height of the letters in points: the lesser side of the box, as a line may run up the sheet."""
        return min(self.box_pt[2] - self.box_pt[0], self.box_pt[3] - self.box_pt[1])

    @property
    def middle_pt(self) -> tuple[float, float]:
        """The middle of the box in sheet points."""
        return _middle(self.box_pt)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleNote:
    """A written scale: its text, what it says in metres per sheet point, and its box in sheet points."""

    text: str
    m_per_pt: float
    box_pt: Box


@apart
def read_lines(data: bytes, sheet: Sheet) -> list[TextLine]:
    """Read the lines of text of a PDF page; a picture has none.

    Raises `SheetError` when the file cannot be read.
    """
    if file_format(data, sheet.called) != "pdf":
        return []
    with open_page(data, sheet.page, sheet.called) as page:
        return lines_of_page(page)


def scale_notes(lines: list[TextLine]) -> list[ScaleNote]:
    """Pick the lines that state a scale."""
    notes: list[ScaleNote] = []
    for line in lines:
        text = line.text
        if len(text) > 80 or _SLOPE.search(text) or not (re.search("[:=]|scale|1/[0-9]+[05]", text, re.I)):
            continue  # a bare length such as 1/2" is a scale only where the word stands beside it
        try:
            notes.append(ScaleNote(text=text, m_per_pt=parse_scale_note(text), box_pt=line.box_pt))
        except CalibrationError:
            continue
    return notes


def lines_of_page(page: Any) -> list[TextLine]:
    """Read the lines of an open page."""
    read = _text_of(page)
    rows = page_rows(page, "dict", read)
    raised, bold, unseen = _raised_digits(rows), _bold_lines(rows), _unseen_lines(page, rows)
    lines: dict[tuple[int, int], list[Word]] = {}
    for x0, y0, x1, y1, text, block, line, _ in page.get_text("words", textpage=read):
        for digits, (x, y) in raised.get((block, line), ()):
            if x0 < x < x1 and y0 < y < y1:
                text = _with_raised(text, digits)
        lines.setdefault((block, line), []).append(Word(text=text, box_pt=(x0, y0, x1, y1)))
    if numbered := numbered_fonts(rows):
        lines |= _numbered_lines(page_rows(page, "rawdict", read), numbered)
    lines |= _stacked_lines(rows, lambda: page_rows(page, "rawdict", read))
    printed = [
        TextLine(words=tuple(words), box_pt=box_round(word.box_pt for word in words), is_bold=place in bold)
        for place, words in lines.items()
        if words and place not in unseen
    ]
    at: dict[str, list[Box]] = {}
    for line in printed:
        at.setdefault(line.text, []).append(line.box_pt)
    noted = noted_lines(page)
    return [*printed, *(line for line in noted if not any(meets(line.box_pt, box) for box in at.get(line.text, ())))]


def _text_of(page: Any) -> Any:
    import pymupdf

    return page.get_textpage(flags=pymupdf.TEXTFLAGS_WORDS & ~pymupdf.TEXT_PRESERVE_IMAGES)


def page_rows(page: Any, how: str = "dict", read: Any = None) -> Rows:
    """Return the lines of a page's text as the engine gives them, by block and line; ``read`` is what it read."""
    blocks = enumerate(page.get_text(how, textpage=read or _text_of(page))["blocks"])
    return {(place, row): line for place, block in blocks for row, line in enumerate(block.get("lines", ()))}


def numbered_fonts(rows: Rows) -> set[str]:
    """Return the fonts of a page, by name, that say no more of a letter than the number of its picture.

    In them a space and the figures come as control codes: fonts count their pictures in the order of ASCII, the space
    as the third (order of the OpenType specification's table "post", format 1).
    """
    spans = (span for line in rows.values() for span in line["spans"])
    return {span["font"] for span in spans if any(1 < ord(sign) < 32 and sign not in "\t\n\r" for sign in span["text"])}


def _numbered_lines(rows: Rows, fonts: set[str]) -> dict[tuple[int, int], list[Word]]:
    """Read the lines, by block and line, whose letters are numbers of pictures."""
    found: dict[tuple[int, int], list[Word]] = {}
    for place, line in rows.items():
        signs = [(sign["c"], sign["bbox"]) for span in line["spans"] for sign in span["chars"]]
        if not all(span["font"] in fonts for span in line["spans"]) or any(ord(sign) > _LAST for sign, _ in signs):
            continue
        words: list[list[tuple[str, Box]]] = [[]]
        for sign, box in signs:
            if sign in (" ", chr(ord(" ") - _SHIFT)):
                words.append([])
            else:
                words[-1].append((chr(ord(sign) + _SHIFT), box))
        read = [Word(text="".join(a for a, _ in word), box_pt=box_round(b for _, b in word)) for word in words if word]
        if read:
            found[place] = read
    return found


def noted_lines(page: Any) -> list[TextLine]:
    """Read the lines whose letters are drawn as strokes and that the file says in words beside them.

    Drawing programs lay a square annotation over such a line, read only and with nothing of its own to see, that holds
    its text (ISO 32000-1:2008 §12.5.6.8 has the kind of annotation; that use of it was seen in files of six offices).
    """
    import pymupdf

    lines = []
    for note in page.annots(types=(pymupdf.PDF_ANNOT_SQUARE,)):
        text = " ".join(note.info["content"].split())
        is_unseen = note.border["width"] == 0 and not note.colors["fill"]
        if text and is_unseen and note.flags & pymupdf.PDF_ANNOT_IS_READ_ONLY:
            lines.append(_noted_line(text, note.rect, page))
    return lines


def _noted_line(text: str, box: Any, page: Any) -> TextLine:
    """Lay a line into its box; one that is much higher than wide as displayed reads up."""
    shown = box * page.rotation_matrix
    corners = (shown.tl, shown.tr, shown.br, shown.bl)
    first = 3 if len(text) > 1 and shown.height > shown.width else 0
    return laid_line(text, [tuple(at * page.derotation_matrix) for at in (*corners[first:], *corners[:first])])


def _stacked_lines(rows: Rows, signs_of: Callable[[], Rows]) -> dict[tuple[int, int], list[Word]]:
    """Read the lines, by block and line, with a fraction whose figures stand over each other, its stroke being drawn.

    The engine breaks a line between the two figures: the first part has all words then, the other none. ``signs_of``
    gives the lines with each of their signs.
    """
    pairs = [
        (one, other)
        for (one, upper), (other, lower) in pairwise(rows.items())
        if upper["dir"] == lower["dir"]
        and meets(upper["bbox"], lower["bbox"])
        and upper["spans"][-1]["text"][-1:].isdigit()
        and _HALVED.match("".join(span["text"] for span in lower["spans"]))
    ]
    signs = signs_of() if pairs else {}
    found: dict[tuple[int, int], list[Word]] = {}
    for one, other in pairs:
        (dx, dy), size = rows[one]["dir"], rows[other]["spans"][0]["size"]
        both = [[sign for span in signs[p]["spans"] for sign in span["chars"]] for p in (one, other)]
        rises = [[(s["origin"][0] * dy - s["origin"][1] * dx) / size for s in part] for part in both]
        level = rises[0][0] if len(rises[1]) == 1 else rises[1][-1]
        upper, lower = (
            [s["c"] for s, rise in zip(part, own, strict=True) if side * (rise - level) > _HIGH]
            for part, own, side in zip(both, rises, (1, -1), strict=True)
        )
        fraction = f"{''.join(upper)}/{''.join(lower)}"
        if one in found or not _FRACTION.fullmatch(fraction) or float(Fraction(fraction)) >= 1.0:
            continue
        before, after = both[0][: len(both[0]) - len(upper)], both[1][len(lower) :]
        first_part, rest = ("".join(s["c"] for s in part) for part in (before, after))
        text = first_part + " " * first_part[-1:].isdigit() + fraction + rest
        x0, y0, x1, y1 = box_round(tuple(s["bbox"]) for s in (*before, *after))
        corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
        first = round(math.atan2(dy, dx) / math.pi * 2) % 4
        found[one], found[other] = list(laid_line(text, [*corners[first:], *corners[:first]]).words), []
    return found


def laid_line(text: str, corners: Sequence[Point]) -> TextLine:
    """Make a line from the corners of its box in sheet points, along it first; words share it out by their letters."""
    a, b, c, d = corners
    words = []
    for found in re.finditer(r"\S+", text):
        low, high = found.start() / len(text), found.end() / len(text)
        ends = [_towards(a, b, low), _towards(a, b, high), _towards(d, c, low), _towards(d, c, high)]
        words.append(Word(text=found[0], box_pt=box_round((*end, *end) for end in ends)))
    return TextLine(words=tuple(words), box_pt=box_round((*end, *end) for end in corners))


def _middle(box: Box) -> Point:
    return ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)


def _towards(a: Point, b: Point, part: float) -> Point:
    return (a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part)


def _unseen_lines(page: Any, rows: Rows) -> set[tuple[int, int]]:
    """Return the lines that leave no ink: white ones, and letters that are not painted.

    Those that stand on a picture or on something drawn are no such lines: white letters on a bar, text behind a scan.
    """
    import numpy as np
    import pymupdf

    pale = {
        place: pymupdf.Rect(line["bbox"])
        for place, line in rows.items()
        if all(s["alpha"] == 0 or min(s["color"].to_bytes(3)) >= _WHITE for s in line["spans"])
    }
    pictures = [pymupdf.Rect(info["bbox"]) for info in page.get_image_info()] if pale else []
    pale = {place: box for place, box in pale.items() if not any(box.intersects(other) for other in pictures)}
    if not pale:
        return set()
    shown = page.get_pixmap(colorspace=pymupdf.csGRAY)
    pixels = np.frombuffer(shown.samples, np.uint8).reshape(shown.height, shown.stride)

    def is_blank(box: Any) -> bool:
        at = (box * page.rotation_matrix).round()
        part = pixels[max(at.y0 - shown.y, 0) : at.y1 - shown.y, max(at.x0 - shown.x, 0) : at.x1 - shown.x]
        return bool((part >= _WHITE).all())

    return {place for place, box in pale.items() if is_blank(box)}


def _bold_lines(rows: Rows) -> set[tuple[int, int]]:
    """Return the lines that are set in a bold typeface."""
    from pymupdf import TEXT_FONT_BOLD as BOLD

    return {
        place
        for place, line in rows.items()
        if (spans := line["spans"])
        and all(s["flags"] & BOLD or "bold" in s["font"].lower() for s in spans if s["text"].strip())
    }


def _raised_digits(rows: Rows) -> dict[tuple[int, int], list[tuple[str, tuple[float, float]]]]:
    """Return the raised digits by line, with the middle of their box."""
    found: dict[tuple[int, int], list[tuple[str, tuple[float, float]]]] = {}
    for place, line in rows.items():
        (dx, dy), spans = line["dir"], line["spans"]
        for before, span in pairwise(spans):
            digits = span["text"].strip()
            (ax, ay), (bx, by) = before["origin"], span["origin"]
            is_high = (bx - ax) * dy - (by - ay) * dx > _HIGH * before["size"]
            is_beside = before["text"][-1:].isalnum() and digits.isdecimal() and digits.isascii()
            if is_high and is_beside and span["size"] < _SMALL * before["size"]:
                found.setdefault(place, []).append((digits, _middle(span["bbox"])))
    return found


def _with_raised(word: str, digits: str) -> str:
    """Write a word with its raised digits as such; before a stroke they are a numerator, which a space parts.

    Examples
    --------
    >>> _with_raised("365", "5"), _with_raised("m2", "2"), _with_raised("41/2", "1")
    ('36⁵', 'm²', '4 1/2')
    """
    if word.endswith(digits):
        return word.removesuffix(digits) + digits.translate(_RAISE)
    return re.sub(rf"(?<=\d){digits}(?=[/⁄])", f" {digits}", word, count=1)
