"""The measurement that a PDF page may carry for a part of itself (ISO 32000-1:2008 §12.9)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from takeoff.errors import CalibrationError
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.document import Matrix, open_page, user_to_sheet
from takeoff.sheet.formats import file_format
from takeoff.sheet.scales import (
    LARGEST_RATIO,
    METRES_PER_POINT_AT_FULL_SIZE,
    SMALLEST_RATIO,
    SPELLINGS,
    parse_scale_note,
    ratio_of,
    ratio_text,
)
from takeoff.units import FOOT, INCH

_UNIT_METRES = {
    "m": 1.0, "meter": 1.0, "metre": 1.0, "meters": 1.0, "metres": 1.0,
    "mm": 0.001, "cm": 0.01, "km": 1000.0,
    "ft": FOOT, "feet": FOOT, "foot": FOOT, "'": FOOT,
    "in": INCH, "inch": INCH, "inches": INCH, '"': INCH,
    "yd": 3 * FOOT, "mi": 5280 * FOOT,
    "pt": METRES_PER_POINT_AT_FULL_SIZE,
}  # fmt: skip


GUESS = "?"
"""Stands before the unit of a drawing that says none."""


def unit_said(hearsay: str) -> str:
    """Say how much a drawing says of its unit.

    Examples
    --------
    >>> unit_said("cm"), unit_said("?m")
    ('the drawing says that its unit is cm', 'the drawing says no unit, m is taken')
    """
    is_guess = hearsay.startswith(GUESS)
    return "the drawing says " + (f"no unit, {hearsay[1:]} is taken" if is_guess else f"that its unit is {hearsay}")


@dataclass(frozen=True, slots=True, kw_only=True)
class EmbeddedScale:
    """A scale that a PDF page carries for a part of itself.

    ``outline_pt`` is the part in sheet points; ``mx`` and ``my`` are metres per sheet point along the unrotated
    page's x and y; ``stated`` is the scale as the file writes it for people. ``hearsay`` is the unit of a drawing that
    its header alone tells: programs leave their own there, whatever is drawn; that of one that says none is a guess.
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
    out. Raises `SheetError` when the file cannot be read.
    """
    if file_format(data, sheet.called) != "pdf":
        return []
    with open_page(data, sheet.page, sheet.called) as page:
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
    def of_object(cls, document: Any, xref: int) -> PdfValue:
        """Return an object of a document by its number."""
        from pymupdf import mupdf

        return cls(mupdf, mupdf.pdf_new_indirect(mupdf.pdf_document_from_fz_document(document.this), xref, 0))

    @classmethod
    def of_page(cls, page: Any) -> PdfValue:
        """Return the page's own dictionary."""
        from pymupdf import mupdf

        document = mupdf.pdf_document_from_fz_document(page.parent.this)
        return cls(mupdf, mupdf.pdf_lookup_page_obj(document, page.number))

    def get(self, key: str) -> PdfValue:
        """Look a key up in a dictionary."""
        return PdfValue(self._mupdf, self._mupdf.pdf_dict_gets(self._value, key))

    def inherited(self, key: str) -> PdfValue:
        """Look a key up in a dictionary, and in those above it."""
        return PdfValue(self._mupdf, self._mupdf.pdf_dict_gets_inheritable(self._value, key))

    def at(self, index: int) -> PdfValue:
        """Take an element of an array."""
        return PdfValue(self._mupdf, self._mupdf.pdf_array_get(self._value, index))

    @property
    def is_dictionary(self) -> bool:
        """Whether it has keys."""
        return bool(self._mupdf.pdf_is_dict(self._value))

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
    a, b, c, d, e, f = matrix
    outline = tuple((a * x + c * y + e, b * x + d * y + f) for x, y in ((x0, y1), (x1, y1), (x1, y0), (x0, y0)))
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
    metres = _UNIT_METRES.get(label.translate(SPELLINGS).strip().rstrip(".").lower())
    return factor * metres if factor and metres and factor > 0 else None


def _disagreement(stated: str, m_per_pt: float) -> tuple[str, ...]:
    """Compare the scale that the file writes for people with the one in its numbers."""
    try:
        written = parse_scale_note(stated)
    except CalibrationError:
        return ()
    if math.isclose(written, m_per_pt, rel_tol=0.005):
        return ()
    return (f"the file's measurement is written as {stated} and its numbers give {ratio_text(m_per_pt)}",)
