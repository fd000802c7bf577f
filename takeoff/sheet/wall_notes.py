"""General notes that say how high walls are coated, or that a room is not in the contract.

No figure follows them by itself: they speak of rooms that a reader cannot tell for sure, so each is an open point. The
words are common practice in North American drawings, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from takeoff.errors import LengthError
from takeoff.model.plan import Finding
from takeoff.sheet.scope_words import scope_remark
from takeoff.sheet.text import TextLine
from takeoff.units import parse_length

LEAST = 0.6
"""Metres under which a height in a note is that of a base or a film, not of a wall coating (judgement, no source)."""
MOST_WORDS = 80
"""Words above which a text is a specification, whose extent a reader of notes cannot tell (judgement, no source)."""
_ITEM = re.compile(r"^\s*(?:\W{0,2}(?:\d{1,2}|[A-Z])[.):]\s|[•·▪-]\s)")
_COATING = re.compile(
    r"\b(?:WALLS?\s+(?:COATINGS?|FINISH(?:ES)?|PROTECTION|LINING|PANEL(?:S|ING)?|SYSTEMS?)|WAINSCOT(?:S|ING)?|"
    r"(?:RESINOUS|EPOXY|URETHANE|POLYASPARTIC|HYGIENIC|SEAMLESS|GLASS[- ]FIBER|FIBERGLASS)\b(?=.*\bWALLS?\b)|"
    r"COAT(?:INGS?)?\b(?=.*\bWALLS?\b)|WALLS?\b(?=.*\bCOAT(?:INGS?|ED)?\b))",
    re.IGNORECASE,
)
_ABOUT = re.compile(r"WALL|WAINSCOT", re.IGNORECASE)
"""What every note of coatings says; a sheet without it is not gone through."""
_LENGTH = (
    r"\d+\s*(?:'|’|′|FT\.?|FEET)(?:\s*-?\s*\d+(?:\s+\d+/\d+)?\s*(?:\"|”|″|IN\.?|INCH(?:ES)?)?)?|"
    r"\d+(?:\.\d+)?\s*M{1,2}\b|\d{2,3}\s*(?:\"|”|″)"
)
_HEIGHT = re.compile(
    rf"(?:\bTO|\bAT|\bOF|\bHEIGHT|\bHIGH|[:=@])\s*(?:A\s+HEIGHT\s+OF\s+)?\+?(?P<to>{_LENGTH})|"
    rf"(?P<high>{_LENGTH})\s*(?:HIGH|TALL|A\.?\s?F\.?\s?F|ABOVE)",
    re.IGNORECASE,
)
_FULL = re.compile(
    r"\bFULL[- ]HEIGHT\b|\bTO\s+(?:THE\s+)?(?:CEILING|CLG\.?|DECK|STRUCTURE|UNDERSIDE|U/S)\b",
    re.IGNORECASE,
)


def wall_notes(lines: Sequence[TextLine]) -> tuple[Finding, ...]:
    """Return the notes of a sheet that say how high walls are coated, or what is not in the contract, each once."""
    found: dict[str, Finding] = {}
    whole = " ".join(line.text for line in lines)
    if not (_ABOUT.search(whole) or scope_remark(whole)):
        return ()
    for text, first in _sentences(lines):
        text = _ITEM.sub("", text, count=1)
        if not 3 < len(text.split()) < MOST_WORDS:
            continue
        if _COATING.search(text) and (_gives_height(text) or _FULL.search(text)):
            said = f"a note on it says “{text}”, and no height was taken from it"
            found.setdefault(said, Finding(about="extent", text=said, at_pt=first.middle_pt))
        if scope_remark(text):
            said = f"a note on it says “{text}”, and no room was left out for it"
            found.setdefault(said, Finding(about="scope", text=said, at_pt=first.middle_pt))
    return tuple(found.values())


def _sentences(lines: Sequence[TextLine]) -> Iterator[tuple[str, TextLine]]:
    """Yield texts with their first line: lines that stand close under one another, begun anew by a number or a dot."""
    start = 0
    for n, line in enumerate(lines):
        after = lines[n + 1] if n + 1 < len(lines) else None
        if after is None or _ITEM.match(after.text) or not _follows(line, after):
            yield " ".join(part.text.strip() for part in lines[start : n + 1]), lines[start]
            start = n + 1


def _follows(line: TextLine, after: TextLine) -> bool:
    """Tell whether a line goes on in the next: as large, right below it, on a page turned by any right angle."""
    steps = sorted(abs(b - a) for a, b in zip(line.box_pt[:2], after.box_pt[:2], strict=True))
    return abs(line.size - after.size) < 0.2 * line.size and steps[0] < 3.0 * line.size and steps[1] < 2.0 * line.size


def _gives_height(text: str) -> bool:
    for found in _HEIGHT.finditer(text):
        try:
            if parse_length(found["to"] or found["high"]) >= LEAST:
                return True
        except LengthError:
            continue
    return False
