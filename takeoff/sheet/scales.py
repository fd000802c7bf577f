"""Written scales: notes, ratios, and what is usual.

A scale is metres of building per sheet point. 1:N is N × 0.0254 / 72 metres per point; n inches of paper to the foot is
1:(12/n) (derived).
"""

from __future__ import annotations

import math
import re

from takeoff.errors import CalibrationError, LengthError
from takeoff.units import UnitSystem, parse_length

METRES_PER_POINT_AT_FULL_SIZE = 0.0254 / 72
"""Metres of paper in a sheet point, which is the scale of a drawing at 1:1."""
LARGEST_RATIO = 100_000.0
SMALLEST_RATIO = 0.1
"""No plan is drawn outside 10:1 to 1:100000 (common practice, no source)."""

USUAL_NOTES: tuple[tuple[str, float], ...] = (
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
)
"""Notes of imperial scales in use, and N of 1:N (common practice, no source)."""

USUAL_LEADS, USUAL_OFF = (1.0, 1.25, 1.5, 2.0, 2.5, 5.0, 7.5), 0.005
"""What N of 1:N begins with on metric drawings, and the part by which one that was measured is off (common practice, no
source)."""

SPELLINGS = str.maketrans({"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'", "–": "-", "−": "-", "∶": ":"})
_FRACTION = r"(?:\d+[ -]+\d+/\d+|\d+/\d+|\d+(?:\.\d+)?|\.\d+)"
_PAPER_UNIT = r"(?:\"|inch(?:es)?\b|in\b\.?|mm\b|cm\b|m\b)"
_REAL = (
    r"(?:\d+(?:\.\d+)?\s*(?:'|ft\b\.?|feet\b|foot\b)(?:\s*-?\s*" + _FRACTION + r"\s*(?:\"|in\b\.?|inch(?:es)?\b))?"
    r"|" + _FRACTION + r"\s*(?:\"|in\b\.?|inch(?:es)?\b)|\d+(?:\.\d+)?\s*(?:mm|cm|m)\b)"
)
_EQUATION = re.compile(rf"(?<![\d/.-])({_FRACTION}\s*{_PAPER_UNIT})\s*(?:=|equals)\s*({_REAL})", re.IGNORECASE)
_RATIO = re.compile(
    r"(?<![\d.,-])(?<!\d:)(\d+(?:\.\d+)?)\s*:\s*(\d{1,3}(?:[ ,]\d{3})+|\d+(?:\.\d{1,2}(?!\d))?)(?![\w:]|[.,]\d)"
)
"""Three decimals are left to a person: 1:1.000 is a thousand to some and one to others."""
_SLASHED = re.compile(
    r"(\b(?:scale|esc(?:ala)?|[eé]ch(?:elle)?|scala|skala|ma(?:ß|ss)stab)\b[\s.:=]*1)/\s*(\d*[05])(?![\d\"'.,/]|\s*(?:in\b|=))",
    re.IGNORECASE,
)
"""1/50 where the word for a scale stands before it; no inch is parted by a number that ends in 5 or 0."""
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


def ratio_of(m_per_pt: float) -> float:
    """Return the N of 1:N for a scale in metres per sheet point."""
    return m_per_pt / METRES_PER_POINT_AT_FULL_SIZE


def is_usual(ratio: float) -> bool:
    """Tell whether people draw at 1:``ratio``, within what dimensions tell it to."""
    lead = ratio / 10.0 ** math.floor(math.log10(ratio) + USUAL_OFF)
    usual = (*((lead, one) for one in USUAL_LEADS), *((ratio, note) for _, note in USUAL_NOTES))
    return any(math.isclose(own, one, rel_tol=USUAL_OFF) for own, one in usual)


def scale_text(ratio: float, system: UnitSystem) -> str:
    r"""Write 1:``ratio`` as it is written where a person's units are used: in inches to a foot where that is usual.

    Examples
    --------
    >>> scale_text(96.0, "imperial"), scale_text(96.0, "metric")
    ('1/8" = 1\'-0"', '1:96')
    """
    plain = f"1:{ratio:.4g}"
    usual = (note for note, n in USUAL_NOTES if plain == f"1:{n:.4g}")
    return next(usual, plain) if system == "imperial" else plain


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
    the foot (``SCALE: 1/8"``). Words around the first two are passed over. Raises `CalibrationError` when the text
    gives no scale, says that there is none, gives two that differ, or one that no plan has.

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

    Raises `CalibrationError` when the text gives no scale, or holds anything that is not part of one.

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
    >>> _plain("1/4 inch to 1 ft scale"), _plain("SCALE: 1/8” TO THE FOOT"), _plain("1/48th scale"), _plain("ESC. 1/50")
    ('1/4 inch = 1 ft scale', 'SCALE: 1/8" = 1 FT', '1:48', 'ESC. 1:50')
    """
    plain = text.translate(SPELLINGS).replace("''", '"').strip()
    plain = _SLASHED.sub(r"\1:\2", plain)
    if "scale" not in plain.lower():
        return plain
    plain = re.sub(r"\s+to\s+(?:the|a)\s+foot\b", " = 1 FT", plain, flags=re.IGNORECASE)
    plain = re.sub(r"\s+to\s+(?=1\b)", " = ", plain, flags=re.IGNORECASE)
    return re.sub(r"\b1/(\d+)(?:st|nd|rd|th)\s+scale\b", r"1:\1", plain, flags=re.IGNORECASE)


def _stated_ratios(plain: str) -> list[float]:
    """Find every scale in a text, as N of 1:N."""
    pairs: list[tuple[str, str]] = [(found[1], found[2]) for found in _EQUATION.finditer(plain)]
    bare = _BARE.match(plain)
    if bare and not pairs:
        pairs.append((bare[1], "1'"))
    try:
        lengths = [(parse_length(paper), parse_length(real)) for paper, real in pairs]
    except LengthError as error:
        raise CalibrationError(f"“{plain[:60]}” is not a scale: {error.message}", remedy=_REMEDY) from error
    for found in _RATIO.finditer(_EQUATION.sub(" ", plain)):
        lengths.append((float(found[1]), float(re.sub("[ ,]", "", found[2]))))
    if any(min(pair) <= 0 for pair in lengths):
        raise CalibrationError(f"“{plain[:60]}” has a length of zero", remedy=_REMEDY)
    return [real / paper for paper, real in lengths]
