"""Scale readers: the written note, and the measurement that a PDF page may carry.

A scale is metres of building per sheet point. 1:N is N × 0.0254 / 72 metres per point; n inches of paper to the foot is
1:(12/n) (derived).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from takeoff.errors import CalibrationError, LengthError
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.document import Matrix, open_page, user_to_sheet
from takeoff.sheet.formats import file_format
from takeoff.units import FOOT, INCH, parse_length

METRES_PER_POINT_AT_FULL_SIZE = 0.0254 / 72
"""Metres of paper in a sheet point, which is the scale of a drawing at 1:1."""
LARGEST_RATIO = 100_000.0
SMALLEST_RATIO = 0.1
"""No plan is drawn outside 10:1 to 1:100000 (common practice, no source)."""

USUAL_SCALES: tuple[tuple[str, float], ...] = (
    ('3" = 1\'-0"', 4.0),
    ('1-1/2" = 1\'-0"', 8.0),
    ('1" = 1\'-0"', 12.0),
    ('3/4" = 1\'-0"', 16.0),
    ('1/2" = 1\'-0"', 24.0),
    ('3/8" = 1\'-0"', 32.0),
    ('1/4" = 1\'-0"', 48.0),
    ('3/16" = 1\'-0"', 64.0),
    ('1/8" = 1\'-0"', 96.0),
    ('3/32" = 1\'-0"', 128.0),
    ('1/16" = 1\'-0"', 192.0),
    ("1\" = 10'", 120.0),
    ("1\" = 20'", 240.0),
    ("1\" = 30'", 360.0),
    ("1\" = 40'", 480.0),
    ("1:5", 5.0),
    ("1:10", 10.0),
    ("1:20", 20.0),
    ("1:25", 25.0),
    ("1:50", 50.0),
    ("1:75", 75.0),
    ("1:100", 100.0),
    ("1:125", 125.0),
    ("1:200", 200.0),
    ("1:250", 250.0),
    ("1:500", 500.0),
    ("1:1000", 1000.0),
)
"""Note and N of 1:N of the scales in use; metric ones after ISO 5455 clause 5, with 1:25, 1:75, 1:125 and 1:250."""

_SPELLINGS = str.maketrans({"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'", "–": "-", "−": "-", "∶": ":"})
_FRACTION = r"(?:\d+[ -]+\d+/\d+|\d+/\d+|\d+(?:\.\d+)?|\.\d+)"
_PAPER_UNIT = r"(?:\"|inch(?:es)?\b|in\b\.?|mm\b|cm\b|m\b)"
_REAL = (
    r"(?:\d+(?:\.\d+)?\s*(?:'|ft\b\.?|feet\b|foot\b)(?:\s*-?\s*" + _FRACTION + r"\s*(?:\"|in\b\.?|inch(?:es)?\b))?"
    r"|" + _FRACTION + r"\s*(?:\"|in\b\.?|inch(?:es)?\b)|\d+(?:\.\d+)?\s*(?:mm|cm|m)\b)"
)
_EQUATION = re.compile(rf"(?<![\d/.-])({_FRACTION}\s*{_PAPER_UNIT})\s*(?:=|equals)\s*({_REAL})", re.IGNORECASE)
_RATIO = re.compile(
    r"(?<![\d:.,-])(\d+(?:\.\d+)?)\s*:\s*(\d{1,3}(?:[ ,]\d{3})+|\d+(?:\.\d{1,2}(?!\d))?)(?![\w:]|[.,]\d)"
)
"""Three decimals are left to a person: 1:1.000 is a thousand to some and one to others."""
_BESIDE = re.compile(
    r"(?:plan|drawing|drawn|sheet)?\s*(?:scale|sc|m|ma(?:ß|ss)stab|escala|[eé]chelle|scala|schaal|skala|at|is|of)*"
    r"|@?\s*(?:A[0-4]|ARCH [A-E]|ANSI [A-E])",
    re.IGNORECASE,
)
"""What may stand beside a scale that a person types."""
_BARE = re.compile(
    rf"^\s*(?:scale\s*[:=]?\s*)?({_FRACTION}\s*(?:\"|inch(?:es)?\b|in\b\.?))\s*(?:scale)?\s*$", re.IGNORECASE
)
_NO_SCALE = re.compile(r"\bn\.?t\.?s\b\.?|\bnot\s+to\s+scale\b|\bno\s+scale\b|\bas\s+(?:noted|shown|indicated)\b", re.I)
_REMEDY = 'Write it as 1/4" = 1\'-0", 1" = 10\' or 1:50, or calibrate with a known dimension.'

_UNIT_METRES = {
    "m": 1.0, "meter": 1.0, "metre": 1.0, "meters": 1.0, "metres": 1.0,
    "mm": 0.001, "cm": 0.01, "km": 1000.0,
    "ft": FOOT, "feet": FOOT, "foot": FOOT, "'": FOOT,
    "in": INCH, "inch": INCH, "inches": INCH, '"': INCH,
    "yd": 3 * FOOT, "mi": 5280 * FOOT,
    "pt": METRES_PER_POINT_AT_FULL_SIZE,
}  # fmt: skip


def ratio_of(m_per_pt: float) -> float:
    """Return the N of 1:N for a scale in metres per sheet point."""
    return m_per_pt / METRES_PER_POINT_AT_FULL_SIZE


def ratio_text(m_per_pt: float) -> str:
    """Write a scale in metres per sheet point as a ratio, to a tenth.

    Examples
    --------
    >>> ratio_text(50 * 0.0254 / 72), ratio_text(105.58 * 0.0254 / 72)
    ('1:50', '1:105.6')
    """
    ratio = ratio_of(m_per_pt)
    return f"1:{ratio:.1f}".removesuffix(".0") if ratio >= 1 else f"{1 / ratio:.1f}".removesuffix(".0") + ":1"


def parse_scale_note(text: str) -> float:
    r"""Read a written scale, in metres per sheet point.

    Reads paper = building (``1/4" = 1'-0"``, ``1" = 10'``, ``1 cm = 1 m``), ratios (``1:50``, ``M 1:20``) and paper to
    the foot (``SCALE: 1/8"``). Words around the first two are passed over.

    Raises
    ------
    CalibrationError
        When the text gives no scale, says that there is none, gives two that differ, or one that no plan has.

    Examples
    --------
    >>> round(parse_scale_note("SCALE: 1/4\" = 1'-0\""), 8) == round(0.3048 / 18, 8)
    True
    >>> round(parse_scale_note("M 1:50"), 8)
    0.01763889
    """
    plain = _plain(text)
    ratios = _stated_ratios(plain)
    if not ratios:
        said = _NO_SCALE.search(plain)
        if said:
            raise CalibrationError(
                f"the note says “{said[0]}”: the drawing states no scale of its own",
                remedy="Calibrate with a known dimension.",
            )
        raise CalibrationError(f"“{text.strip()[:60]}” is not a scale", remedy=_REMEDY)
    if max(ratios) > min(ratios) * 1.001:
        both = " and ".join(f"1:{ratio:g}" for ratio in ratios)
        raise CalibrationError(f"the note “{plain[:60]}” gives {both}", remedy="Enter the one that is meant.")
    ratio = ratios[0]
    if not SMALLEST_RATIO <= ratio <= LARGEST_RATIO:
        raise CalibrationError(f"the note “{plain[:60]}” gives 1:{ratio:g}, which no plan has", remedy=_REMEDY)
    return ratio * METRES_PER_POINT_AT_FULL_SIZE


def parse_scale(text: str) -> float:
    r"""Read a scale that a person typed, in metres per sheet point: as `parse_scale_note`, but whole or not at all.

    Raises
    ------
    CalibrationError
        When the text gives no scale, or holds anything that is not part of one.

    Examples
    --------
    >>> round(parse_scale("Scale 1:50 @ A1"), 8)
    0.01763889
    >>> parse_scale("1:10O")
    Traceback (most recent call last):
    takeoff.errors.CalibrationError: ...
    """
    scale = parse_scale_note(text)
    plain = _plain(text)
    rest = "" if _BARE.match(plain) else _RATIO.sub("|", _EQUATION.sub("|", plain))
    for part in rest.split("|"):
        if not _BESIDE.fullmatch(part.strip(" \t:=,;.()[]")):
            raise CalibrationError(
                f"“{text.strip()[:60]}” is not a scale: “{part.strip()[:30]}” is no part of one", remedy=_REMEDY
            )
    return scale


def _plain(text: str) -> str:
    """Write a note with plain signs; a scale in words, 1/4 inch to the foot or 1/48th scale, as others are written.

    Examples
    --------
    >>> _plain("1/4 inch to 1 ft scale"), _plain("SCALE: 1/8” TO THE FOOT"), _plain("1/48th scale")
    ('1/4 inch = 1 ft scale', 'SCALE: 1/8" = 1 FT', '1:48')
    """
    plain = text.translate(_SPELLINGS).replace("''", '"').strip()
    if "scale" not in plain.lower():
        return plain
    plain = re.sub(r"\s+to\s+(?:the|a)\s+foot\b", " = 1 FT", plain, flags=re.IGNORECASE)
    plain = re.sub(r"\s+to\s+(?=1\b)", " = ", plain, flags=re.IGNORECASE)
    return re.sub(r"\b1/(\d+)(?:st|nd|rd|th)\s+scale\b", r"1:\1", plain, flags=re.IGNORECASE)


def _stated_ratios(plain: str) -> list[float]:
    """Find every scale in a text, as N of 1:N."""
    ratios: list[float] = []
    pairs: list[tuple[str, str]] = [(found[1], found[2]) for found in _EQUATION.finditer(plain)]
    bare = _BARE.match(plain)
    if bare and not pairs:
        pairs.append((bare[1], "1'"))
    for paper, real in pairs:
        try:
            lengths = parse_length(paper), parse_length(real)
        except LengthError as error:
            raise CalibrationError(f"“{plain[:60]}” is not a scale: {error.message}", remedy=_REMEDY) from error
        if min(lengths) <= 0:
            raise CalibrationError(f"“{plain[:60]}” has a length of zero", remedy=_REMEDY)
        ratios.append(lengths[1] / lengths[0])
    for found in _RATIO.finditer(_EQUATION.sub(" ", plain)):
        paper_part, real_part = float(found[1]), float(re.sub("[ ,]", "", found[2]))
        if paper_part <= 0 or real_part <= 0:
            raise CalibrationError(f"“{plain[:60]}” has a length of zero", remedy=_REMEDY)
        ratios.append(real_part / paper_part)
    return ratios


@dataclass(frozen=True, slots=True, kw_only=True)
class EmbeddedScale:
    """A scale that a PDF page carries for a part of itself.

    ``outline_pt`` is the part in sheet points; ``mx`` and ``my`` are metres per sheet point along the unrotated
    page's x and y; ``stated`` is the scale as the file writes it for people. ``hearsay`` is the unit of a drawing that
    its header alone tells: programs leave their own there, whatever is drawn.
    """

    name: str
    outline_pt: tuple[Point, ...]
    mx: float
    my: float
    stated: str = ""
    hearsay: str = ""
    doubts: tuple[str, ...] = ()


def embedded_scale(data: bytes, sheet: Sheet) -> list[EmbeddedScale]:
    """Read the rectilinear measurements of a page's viewports (ISO 32000-1:2008 §12.9).

    They come in the order in which they win: the standard searches the array of viewports from last to first, and the
    first whose box holds a point gives its scale. A viewport without a rectilinear measurement in known units is left
    out.

    Raises
    ------
    SheetError
        When the file cannot be read.
    """
    if file_format(data, f"sheet {sheet.id}") != "pdf":
        return []
    with open_page(data, sheet.page, f"sheet {sheet.id}") as page:
        viewports = PdfValue.of_page(page).get("VP")
        matrix = user_to_sheet(page)
        found = [_viewport(viewports.at(index), matrix) for index in reversed(range(viewports.length))]
        return [scale for scale in found if scale is not None]


class PdfValue:
    """A value inside a PDF file; what is not there reads as nothing."""

    __slots__ = ("_mupdf", "_value")

    def __init__(self, mupdf: Any, value: Any) -> None:
        self._mupdf = mupdf
        self._value = value

    @classmethod
    def of_page(cls, page: Any) -> PdfValue:
        """Return the page's own dictionary."""
        from pymupdf import mupdf

        document = mupdf.pdf_document_from_fz_document(page.parent.this)
        return cls(mupdf, mupdf.pdf_lookup_page_obj(document, page.number))

    def get(self, key: str) -> PdfValue:
        """Look a key up in a dictionary."""
        return PdfValue(self._mupdf, self._mupdf.pdf_dict_gets(self._value, key))

    def at(self, index: int) -> PdfValue:
        """Take an element of an array."""
        return PdfValue(self._mupdf, self._mupdf.pdf_array_get(self._value, index))

    @property
    def length(self) -> int:
        """Number of elements of an array, otherwise 0."""
        return int(self._mupdf.pdf_array_len(self._value)) if self._mupdf.pdf_is_array(self._value) else 0

    @property
    def number(self) -> float | None:
        """The number, if it is one."""
        return float(self._mupdf.pdf_to_real(self._value)) if self._mupdf.pdf_is_number(self._value) else None

    @property
    def text(self) -> str:
        """The name or text string, if it is one."""
        if self._mupdf.pdf_is_name(self._value):
            return str(self._mupdf.pdf_to_name(self._value))
        return str(self._mupdf.pdf_to_text_string(self._value)) if self._mupdf.pdf_is_string(self._value) else ""


def _viewport(viewport: PdfValue, matrix: Matrix) -> EmbeddedScale | None:
    """Read one viewport, or nothing if it carries no rectilinear measurement of its own."""
    measure, box = viewport.get("Measure"), viewport.get("BBox")
    corners = [box.at(index).number for index in range(box.length)]
    factors = rectilinear_scale(measure, matrix)
    if factors is None or len(corners) != 4 or None in corners:
        return None
    mx, my = factors
    x0, y0, x1, y1 = (float(value) for value in corners if value is not None)
    outline = tuple(_moved(matrix, x, y) for x, y in ((x0, y1), (x1, y1), (x1, y0), (x0, y0)))
    stated = measure.get("R").text
    return EmbeddedScale(
        name=viewport.get("Name").text,
        outline_pt=outline,
        mx=mx,
        my=my,
        stated=stated,
        hearsay=measure.get("HeaderUnit").text,
        doubts=_disagreement(stated, math.sqrt(mx * my)),
    )


def rectilinear_scale(measure: PdfValue, matrix: Matrix) -> tuple[float, float] | None:
    """Read metres per sheet point along x and y from a measure dictionary (ISO 32000-1:2008 §12.9, type RL).

    ``matrix`` leads from the page's user space to sheet points. There is none where the dictionary is not rectilinear,
    its units are not known, or its scale is one that no plan has.
    """
    if measure.get("Subtype").text not in ("", "RL"):
        return None
    along_x = _first_factor(measure.get("X"), unit_of=measure.get("X"))
    if along_x is None:
        return None
    along_y = along_x
    if measure.get("Y").length:
        in_x_unit = measure.get("CYX").number
        unit = measure.get("X") if in_x_unit else measure.get("Y")
        factor = _first_factor(measure.get("Y"), unit_of=unit)
        if factor is None:
            return None
        along_y = factor * (in_x_unit or 1.0)
    mx, my = along_x / math.hypot(matrix[0], matrix[1]), along_y / math.hypot(matrix[2], matrix[3])
    return (mx, my) if all(SMALLEST_RATIO <= ratio_of(scale) <= LARGEST_RATIO for scale in (mx, my)) else None


def _first_factor(formats: PdfValue, *, unit_of: PdfValue) -> float | None:
    """Return metres per unit of user space: the first C of ``formats`` gives the first, largest unit of ``unit_of``."""
    factor = formats.at(0).get("C").number
    label = unit_of.at(0).get("U").text
    metres = _UNIT_METRES.get(label.translate(_SPELLINGS).strip().rstrip(".").lower())
    return factor * metres if factor and metres and factor > 0 else None


def _moved(matrix: Matrix, x: float, y: float) -> Point:
    """Apply a matrix to a point."""
    a, b, c, d, e, f = matrix
    return (a * x + c * y + e, b * x + d * y + f)


def _disagreement(stated: str, m_per_pt: float) -> tuple[str, ...]:
    """Compare the scale that the file writes for people with the one in its numbers."""
    try:
        written = parse_scale_note(stated)
    except CalibrationError:
        return ()
    if math.isclose(written, m_per_pt, rel_tol=0.005):
        return ()
    return (f"the file's measurement is written as {stated} and its numbers give {ratio_text(m_per_pt)}",)
