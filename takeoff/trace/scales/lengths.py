"""Lengths on a sheet: as they are written, and as they are drawn between two points."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeVar

from takeoff.errors import LengthError
from takeoff.model.plan import KnownDimension, Point
from takeoff.sheet.frame import Box, box_round
from takeoff.sheet.text import RAISED, TextLine, Word
from takeoff.trace.drawing.linework import Floats
from takeoff.units import FOOT, INCH, parse_length

PLACE_PT = 0.2
"""Standard uncertainty in points of the place of a drawn mark: half a thin pen, and coordinates rounded on export."""
_WORDS_AROUND = re.compile(
    r"^(?:±|\+/-|~)\s*|\s*(?:±|\+/-|\bTYP\b\.?|\bCLR\b\.?|\bCLEAR\b|\bO\.?C\.?|\bV\.?I\.?F\.?|\bREF\b\.?|\bU\.?N\.?O\.?)$",
    re.I,
)
_DECIMAL = re.compile(r"\d{1,3}[.,]\d{2,3}")
_TENTHS = re.compile(r"[1-9]\d{0,3}[.,]\d")
_RAISED = re.compile(rf"(\d{{1,3}}(?:[.,]\d\d)?)([{RAISED}])")
_LONG = re.compile(r"([1-9]\d{3,4})[.,](\d{1,3})")
_BETWEEN = re.compile(r"[-–—]+\s*(\d.*?\d)\s*[-–—]+")
"""A length with the ends of the line that is broken for it."""
_WHOLE = re.compile(r"[1-9]\d{1,4}")
_PAIR, _BARE_PAIR = re.compile(r"[\d., ]+[-–]\s*[\d.,]+"), re.compile(r"\d{1,3}[-–](?:\d|1[01])")
"""Two numbers, which are hours or a range, and those that are feet and inches without their marks."""
_IN_FEET = re.compile(r"\d\s*['′’]")


F = TypeVar("F", float, Floats)


def placed_u(length: float, length_pt: F, step: float, place_pt: float = PLACE_PT) -> F:
    """Return the relative standard uncertainty of a length in metres that is drawn over so many sheet points."""
    u: F = (2 * (place_pt / length_pt) ** 2 + (step / length) ** 2 / 12) ** 0.5
    return u


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenLength:
    """A text that is a length in metres, the last place that it shows in metres, and whether its unit is assumed.

    Without a unit a whole number is taken for millimetres, as is one of four or more figures before its decimals; one
    with two or three decimals for metres, and one with a single decimal for centimetres, until the sheet tells another.
    A raised digit is one decimal more: 36⁵ is 36.5.
    """

    text: str
    length: float
    box_pt: Box
    step: float = 0.0
    is_bare: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnLength(WrittenLength):
    """A written length with the two points in sheet points that it is drawn between, and who found it.

    ``place_pt`` is the standard uncertainty of the place of each, in points, and ``u_least`` the least relative one.
    """

    start_pt: Point
    end_pt: Point
    reader: Literal["dimension", "bar", "grid"] = "dimension"
    place_pt: float = PLACE_PT
    u_least: float = 0.0

    @property
    def length_pt(self) -> float:
        """The distance of the points on the sheet, in sheet points."""
        return math.dist(self.start_pt, self.end_pt)

    @property
    def m_per_pt(self) -> float:
        """The scale in metres per sheet point that it gives."""
        return self.length / self.length_pt

    @property
    def u(self) -> float:
        """Relative standard uncertainty of that scale: the place of its ends, and the rounding of the text."""
        return max(placed_u(self.length, self.length_pt, self.step, self.place_pt), self.u_least)

    @property
    def known(self) -> KnownDimension:
        """The length as a calibration takes it."""
        return KnownDimension(start_pt=self.start_pt, end_pt=self.end_pt, length=self.length)


def written_lengths(lines: Sequence[TextLine]) -> list[WrittenLength]:
    r"""Find every length that is written on a sheet; a line with wide gaps may hold several.

    Examples
    --------
    >>> line = TextLine(words=(Word(text="12'-6\"", box_pt=(0, 0, 20, 8)),), box_pt=(0, 0, 20, 8))
    >>> [(found.text, found.length) for found in written_lengths([line])]
    [('12\'-6"', 3.81)]
    """
    found: list[WrittenLength] = []
    for line in lines:
        if not any(sign.isdigit() for sign in line.text):
            continue
        for words in parted_words(line):
            text = " ".join(word.text for word in words)
            read = _read(text)
            if read is not None:
                length, step, is_bare = read
                box = box_round(word.box_pt for word in words)
                found.append(WrittenLength(text=text, length=length, step=step, is_bare=is_bare, box_pt=box))
    if any(one.step < FOOT and _IN_FEET.search(one.text) for one in found):  # beside 10'-8", 12' is whole by chance
        return [replace(one, step=INCH) if one.step == FOOT else one for one in found]
    return found


def parted_words(line: TextLine) -> list[list[Word]]:
    """Part a line of text at gaps wider than its letters are high."""
    groups: list[list[Word]] = []
    for word in line.words:
        if groups:
            a, b = groups[-1][-1].box_pt, word.box_pt
            gap = max(b[0] - a[2], a[0] - b[2], b[1] - a[3], a[1] - b[3])
            if gap <= 0.8 * line.size:
                groups[-1].append(word)
                continue
        groups.append([word])
    return groups


def plain_number(text: str) -> str:
    r"""Return a written length without a second one in brackets, and its raised digit as a decimal (DIN 1356-1).

    Examples
    --------
    >>> plain_number("36⁵"), plain_number("4.24⁵"), plain_number("3810 [12'-6\"]")
    ('36.5', '4.245', '3810')
    """
    plain = text.split("[")[0].strip()
    if between := _BETWEEN.fullmatch(plain):
        plain = between[1]
    raised = _RAISED.fullmatch(plain)
    if raised is None:
        return plain
    return f"{raised[1]}{'' if re.search('[.,]', raised[1]) else '.'}{RAISED.index(raised[2])}"


def _read(text: str) -> tuple[float, float, bool] | None:
    """Return length and last shown place in metres, and whether the unit is assumed; nothing where it is no length."""
    plain = plain_number(text)
    while (shorter := _WORDS_AROUND.sub("", plain)) != plain:
        plain = shorter
    if _DECIMAL.fullmatch(plain):
        return float(plain.replace(",", ".")), 10.0 ** -len(re.split("[.,]", plain)[1]), True
    if _TENTHS.fullmatch(plain):
        return float(plain.replace(",", ".")) / 100, 0.001, True
    if long := _LONG.fullmatch(plain):
        return float(f"{long[1]}.{long[2]}") / 1000, 10.0 ** -(3 + len(long[2])), True
    if _WHOLE.fullmatch(plain):
        return int(plain) / 1000, 0.001, True
    if _PAIR.fullmatch(plain) and not _BARE_PAIR.fullmatch(plain):
        return None
    try:
        length = parse_length(plain)
    except LengthError:
        return None
    return length, last_place(plain), False


def last_place(plain: str) -> float:
    """Return the last place that a length shows, in metres."""
    fraction = re.search(r"/\s*(\d+)", plain.replace("\u2044", "/"))
    if fraction:
        return INCH / int(fraction[1])
    decimals = re.search(r"[.,](\d+)", plain)
    part = 10.0 ** -len(decimals[1]) if decimals else 1.0
    low = plain.lower()
    for unit, metres in (("mm", 0.001), ("cm", 0.01), ("m", 1.0)):
        if low.rstrip(".").endswith(unit):
            return part * metres
    return part * (INCH if re.search(r"[\"″”]|''|in|-", low) else FOOT)
