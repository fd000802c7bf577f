"""Words that change what rooms count for: not in the contract (N.I.C., by others, alternate), built often, how high.

General notes that say so speak of rooms that a reader cannot tell for sure: no figure follows them by itself, and each
is an open point. The words are common practice in North American drawings, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from takeoff.errors import LengthError
from takeoff.model.plan import Finding
from takeoff.sheet.text import TextLine
from takeoff.units import parse_length

_OUT = (
    r"N\.\s?I\.\s?C\.?|NIC|NOT\s+IN\s+(?:THE\s+)?(?:CONTRACT|SCOPE)|NO\s+WORK|BY\s+(?:OTHERS|OWNER|TENANT|LANDLORD)|"
    r"(?:EXISTING|EXIST\.?|\(E\))\s+TO\s+REMAIN|E\.T\.R\.?|NOT\s+USED|UNFINISHED|"
    r"(?:(?:ADD|DEDUCT|BID)\s+)?(?:ALTERNATE(?:\s+(?:NO\.?\s*)?#?(?:\d{1,2}|[A-Z]))?|"
    r"ALT\.?\s+(?:NO\.?\s*)?#?(?:\d{1,2}|[A-Z]))|"
    r"PHASE\s+(?:[2-9]|II|III|IV|TWO|THREE)"
)
_ALONE = re.compile(rf"\W?\s*(?:AREA\s+|ROOM\s+)?(?:{_OUT}|EXISTING|ALT\.?)\s*\W?", re.IGNORECASE)
_BEHIND = re.compile(rf"(?P<name>.+?)\s*(?:[-–:,]\s*|\()(?:{_OUT}|EXISTING)\s*\)?", re.IGNORECASE)
_TYPICAL = r"(?:TYP(?:ICAL|\.)?|SIM(?:ILAR|\.)?)"
_COUNT = r"(?:(?:OF|FOR|[X×])\s*)?\(?\d{1,3}\)?(?:\s+(?:ROOMS?|UNITS?|LOCATIONS|PLACES|FLOORS|TOTAL))?"
_SO_MANY = rf"{_TYPICAL}\s*[-:,]?\s*{_COUNT}|\(?\d{{1,3}}\)?\s*[X×]?\s*{_TYPICAL}|\d{{1,3}}\s+(?:UNITS|ALIKE)"
_MANY_ALONE = re.compile(rf"\W?\s*(?:{_SO_MANY})\s*\W?", re.IGNORECASE)
_MANY_BEHIND = re.compile(rf"(?P<name>.*[^\W\d].*?)(?:\s*[-–:,(]\s*|\s+)(?:{_SO_MANY}|{_TYPICAL})\s*\)?", re.IGNORECASE)
_NAMED = re.compile(r"(?:FUTURE|SHELL)\b.*", re.IGNORECASE)
_AMONG = re.compile(rf"(?<!\w)(?:{_OUT})(?!\w)", re.IGNORECASE)

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


def without_note(text: str) -> str:
    """Return what a line says before such a note, and nothing where it is one and nothing else.

    Examples
    --------
    >>> without_note("STORAGE (N.I.C.)"), without_note("N.I.C."), without_note("BATH (TYP. OF 6)")
    ('STORAGE', '', 'BATH')
    """
    text = text.strip()
    behind = _BEHIND.fullmatch(text) or _MANY_BEHIND.fullmatch(text)
    return "" if _ALONE.fullmatch(text) or _MANY_ALONE.fullmatch(text) else behind["name"] if behind else text


def scope_line(inside: Sequence[TextLine]) -> TextLine | None:
    """Return the line, of those inside a room, that says that it is not, or perhaps not, in the contract.

    A note that names something else, such as the counter in the room, is none.
    """
    for line in inside:
        text = line.text.strip()
        if _ALONE.fullmatch(text) or _BEHIND.fullmatch(text) or _NAMED.fullmatch(text):
            return line
    return None


def several_line(inside: Sequence[TextLine]) -> TextLine | None:
    """Return the line, of those inside a room, that says that the room is built several times.

    Alone it must say how often: a bare "TYP." may be of anything in the room.
    """
    lines = ((line, line.text.strip()) for line in inside)
    return next((one for one, text in lines if _MANY_ALONE.fullmatch(text) or _MANY_BEHIND.fullmatch(text)), None)


def scope_remark(remarks: str) -> bool:
    """Tell whether the remarks of a finish schedule say so of a room.

    Examples
    --------
    >>> scope_remark("Walls by others"), scope_remark("Seal the floor")
    (True, False)
    """
    return _AMONG.search(remarks) is not None or _ALONE.fullmatch(remarks.strip()) is not None


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
        said = f"a note on it says “{text}”, and no"
        if _COATING.search(text) and (_gives_height(text) or _FULL.search(text)):
            told = Finding(about="extent", text=f"{said} height was taken from it", at_pt=first.middle_pt)
            found.setdefault(told.text, told)
        if scope_remark(text):
            told = Finding(about="scope", text=f"{said} room was left out for it", at_pt=first.middle_pt)
            found.setdefault(told.text, told)
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
