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
    r"N\.\s?I\.\s?C\.?|NIC|"
    r"(?:NOT\s+(?:IN|PART\s+OF)|OUT\s+OF|OUTSIDE(?:\s+OF)?)\s+(?:(?:THE|THIS)\s+)?(?:CONTRACT|SCOPE|WORK)|"
    r"NOT\s+INCLUDED|EXCLUDED|(?:UNDER\s+)?SEPARATE\s+(?:CONTRACT|PERMIT)|"
    r"NO\s+(?:NEW\s+)?WORK(?:\s+(?:IN\s+)?THIS\s+AREA)?|"
    r"(?:WORK\s+)?BY\s+(?:OTHERS|OWNER|TENANT|LANDLORD|G\.?C\.?|(?:GENERAL\s+)?CONTRACTOR)|"
    r"(?:EXISTING|EXIST\.?|\(E\))\s+TO\s+REMAIN|E\.?T\.?R\.?|NOT\s+USED|UNFIN(?:ISHED|\.)|T\.?B\.?D\.?|ON\s+HOLD|"
    r"(?:TO\s+BE\s+)?DEMOLISH(?:ED)?|"
    r"(?:(?:ADD(?:ITIVE)?|DEDUCT(?:IVE)?|BID)\s+)*"
    r"(?:ALTERNATE(?:\s+(?:BID\s+)?(?:NO\.?\s*)?#?(?:\d{1,2}|[A-Z]))?|ALT\.?\s+(?:NO\.?\s*)?#?(?:\d{1,2}|[A-Z]))|"
    r"OPTION(?:AL|\s+(?:\d{1,2}|[A-Z]))|(?:PHASE|PH\.?)\s+(?:[2-9][A-Z]?|1?[B-Z]|II|III|IV|TWO|THREE)|"
    r"BAUSEITS|NICHT\s+IM\s+AUFTRAG|HORS\s+(?:LOT|MARCH[EÉ])|PAR\s+(?:D')?AUTRES|"
    r"FUERA\s+DE\s+CONTRATO|POR\s+OTROS|ESCLUSO"
)
_AS_IS = r"EXISTING|EXIST\.|EXIST|\(E\)|BESTAND|EXISTANT|EXISTENTE|ESISTENTE"
_ALONE = re.compile(rf"\W?\s*(?:AREA\s+(?:OF\s+)?|ROOM\s+)?(?:{_OUT}|{_AS_IS}|ALT\.?)\s*\W?", re.IGNORECASE)
_THINGS = (
    "CASEWORK", "MILLWORK", "COUNTER", "CABINETS", "EQUIPMENT", "FURNITURE", "FIXTURES", "SHELVING", "TILE", "DOOR",
)  # fmt: skip
_NO_THING = "".join(rf"(?<!\b{thing})" for thing in _THINGS)
_BEHIND = re.compile(
    rf"(?P<name>.+?)(?:\s*(?:[-–:,]\s*|\()(?:{_OUT}|{_AS_IS}|FUTURE|DEMO)\s*\)?|{_NO_THING}\s+(?:{_OUT}|\(E\)))",
    re.IGNORECASE,
)
_NAMED = re.compile(
    r"(?:(?:FUTURE|(?:(?:COLD|WARM|VANILLA)\s+)?SHELL)\b.*|"
    r"(?:EXIST(?:ING|\.)|\(E\))\s+(?:ROOM|SPACE|AREA|CONDITIONS|OFFICES?|STORAGE|TOILETS?|KITCHEN|LAB))",
    re.IGNORECASE,
)
_AMONG = re.compile(rf"(?<!\w)(?:{_OUT})(?!\w)", re.IGNORECASE)

_TYPICAL = r"(?:TYP(?:ICAL|\.)?|SIM(?:ILAR|\.)?)"
_LIKE = rf"(?:{_TYPICAL}|SAME|REPEAT(?:S|ED)?|IDENTICAL|ALIKE|MIRROR(?:ED)?|OPP(?:OSITE|\.)?(?:\s+HAND)?)"
_PLACE = (
    r"(?:LEVELS?|LVLS?\.?|FLOORS?|FLRS?\.?|STORE?YS?|STORIES|UNITS?|ROOMS?|SUITES?|APARTMENTS?|BUILDINGS?|BLDGS?\.?|"
    r"NIVEAUX|[EÉ]TAGES?|PLANTAS?|PIANI|GESCHOSSE?|VERDIEPING(?:EN)?)"
)
_TO = r"\s*(?:[-–/&,+]|\b(?:TO|THRU|THROUGH|AND|BIS|UND|ET|[AÀYE])\b)\s*"
_ORDINAL = r"(?:\d{1,2}(?:ST|ND|RD|TH)|FIRST|SECOND|THIRD|FOURTH|FIFTH|SIXTH|SEVENTH|EIGHTH|NINTH|TENTH)"
_ONE = rf"(?:[LBR]?\+?\d{{1,4}}[A-Z]?\b|{_ORDINAL}\b|[A-Z](?![\w-]))"
_RANGE = (
    rf"(?:{_PLACE}\s+{_ONE}(?:{_TO}{_ONE})+|{_ORDINAL}(?:{_TO}{_ORDINAL})+\b|"
    rf"[LR]\+?\d{{1,2}}(?:{_TO}[LR]\+?\d{{1,2}})+|\b\d{{1,2}}/?F{_TO}\d{{1,2}}/?F\b|\b\d{{1,2}}\.?{_TO}\d{{1,2}}\.?\s*(?:{_PLACE}|OG|OBERGESCHOSS)\b|"
    r"\b\d{3}[A-Z]?(?:\s*(?:[-–/]|\b(?:TO|THRU|THROUGH)\b)\s*\d{3}[A-Z]?)+\b)(?![\d:/\"'.])"
)
"""Floors, units or rooms from one to another, or several named."""
_TIMES = (
    r"(?:UNITS|LOCATIONS|PLACES|PLCS\.?|FLOORS|LEVELS|ROOMS|TIMES|ALIKE|SIMILAR|SUCH|TOTAL|THUS|REQ'?D\.?|REQUIRED)"
)
_COUNT = rf"\(?\d{{1,3}}\)?(?:\s+{_TIMES})?"
_OFTEN = (
    rf"\(?\d{{1,3}}\)?\s+(?:{_TIMES}|UNITS\s+ALIKE)|(?:\bX\s|(?-i:\bx)|×)\s*\d{{1,3}}\b(?!['\"′])(?:\s+{_TIMES})?|"
    r"\bQTY\.?\s*[:=]?\s*\d{1,3}|\(\s*[X×]\s*\d{1,3}\s*\)"
)
"""How often, in numbers."""
_EVERY = rf"(?:(?:ALL|EACH|EA\.?|EVERY|OTHER|UPPER)\s+{_PLACE}|{_RANGE}|{_ORDINAL}\s+{_PLACE})"
_SO_MANY = (
    rf"{_LIKE}[\s:,-]*(?:(?:OF|FOR|[X×]|AT|@|ON|IN)\s*)?(?:{_COUNT}|{_EVERY})|\(?\d{{1,3}}\)?\s*[X×]?\s*{_TYPICAL}|"
    rf"{_OFTEN}|{_RANGE}|MIRRORED|OPP(?:OSITE|\.)\s+HAND(?:\s+SIM\.?)?|SIM\.\s+OPP\.(?:\s+HAND)?"
)
_MANY_ALONE = re.compile(rf"\W?\s*(?:{_SO_MANY})\s*\W?", re.IGNORECASE)
_MANY_BEHIND = re.compile(
    rf"(?P<name>[\W\d]*[^\W\d].*?)(?:\s*[-–:,(]\s*|(?<!\d)\s+)(?:{_SO_MANY}|{_TYPICAL})\s*\)?", re.IGNORECASE
)
_MANY_TITLE = re.compile(
    rf"\bTYP(?:ICAL\b|\b)|\b(?:SIMILAR|SIM|MIRROR(?:ED)?|OPP(?:OSITE|\b)|PROTOTYPE|REPEAT)\b|\bSTANDARD\s+{_PLACE}|"
    rf"\bUNITS?\s+(?:TYPE\s+)?(?:[A-Z]\d?\b|PLANS?\b)|\b(?:TYPE|MODULE)\s+(?:[A-Z]\d?|\d{{1,2}})\b|"
    rf"\b(?:UPPER|OTHER|ALL)\s+(?:FLOORS|LEVELS)\b|{_RANGE}|{_OFTEN}|"
    r"\bREGELGESCHO|\bTYPISCH|\bT[IÍ]PIC[OA]\b|\b(?:PLANTA|PIANO)\s+TIPO\b|\bCOURANTE?S?\b",
    re.IGNORECASE,
)
"""Titles of plans that are built more than once (common practice, no source)."""

_CODES = re.compile(
    r"(?:WALLS?\s*[:=-]?\s*)?[A-Z]{1,4}-?\d{1,2}[A-Z]?(?:\s*[/,&+]\s*[A-Z]{1,4}-?\d{1,2}[A-Z]?)*"
    r"(?:\s+(?:TO|@|ABOVE|BELOW|UP|WALLS?|ON|AT|BEHIND|FULL|ALL|NORTH|SOUTH|EAST|WEST)\b.*)?",
    re.IGNORECASE,
)
"""Finish codes: letters and one or two figures, and which part of the walls they are of."""
_PLAN = re.compile(r"\b(?:PLANS?|GRUNDRISSE?|PIANT[AE]|PLANTAS?|PLATTEGROND)\b", re.IGNORECASE)
_LONGEST = 120
"""Letters of a note in a room, or of a title, at the most: a longer text is prose (judgement, no source)."""
_MOST_HEADING = 12
"""Words that a heading of a plan, or a note that a plan is typical, has at the most (judgement, no source)."""
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
    r"\bFULL[- ]HEIGHT\b|\bTO\s+(?:THE\s+)?(?:CEILING|CLG\.?|DECK|STRUCTURE|UNDERSIDE|U/S)\b", re.IGNORECASE
)


def without_note(text: str) -> str:
    """Return what a line says before such a note, and nothing where it is one and nothing else.

    Examples
    --------
    >>> without_note("STORAGE (N.I.C.)"), without_note("N.I.C."), without_note("BATH (TYP. OF 6)")
    ('STORAGE', '', 'BATH')
    """
    text = text.strip()
    if len(text) > _LONGEST:
        return text
    behind = _BEHIND.fullmatch(text) or _MANY_BEHIND.fullmatch(text)
    return "" if _ALONE.fullmatch(text) or _MANY_ALONE.fullmatch(text) else behind["name"] if behind else text


def scope_line(inside: Sequence[TextLine]) -> TextLine | None:
    """Return the line, of those inside a room, that says that it is not, or perhaps not, in the contract.

    A note that names something else, such as the counter in the room, is none.
    """
    return _first_of(inside, _ALONE, _BEHIND, _NAMED)


def several_line(inside: Sequence[TextLine]) -> TextLine | None:
    """Return the line, of those inside a room, that says that the room is built several times.

    Alone it must say how often: a bare "TYP." may be of anything in the room.
    """
    return _first_of(inside, _MANY_ALONE, _MANY_BEHIND)


def _first_of(inside: Sequence[TextLine], *notes: re.Pattern[str]) -> TextLine | None:
    lines = ((line, line.text.strip()) for line in inside)
    return next((one for one, text in lines if len(text) <= _LONGEST and any(n.fullmatch(text) for n in notes)), None)


def finish_codes(inside: Sequence[TextLine]) -> str:
    """Return the finish codes that stand alone in a room, or with the part of its walls that each is of, as written."""
    texts = (line.text.strip() for line in inside)
    return "; ".join(dict.fromkeys(text for text in texts if _CODES.fullmatch(text)))[:_LONGEST]


def stands_for_several(title: str) -> bool:
    """Tell whether a plan is by its title one of several floors or units.

    Examples
    --------
    >>> stands_for_several("Levels 2-5 floor plan"), stands_for_several("Second floor plan")
    (True, False)
    """
    return _MANY_TITLE.search(" ".join(title.split())[:_LONGEST]) is not None


def scope_remark(remarks: str) -> bool:
    """Tell whether the remarks of a finish schedule say so of a room.

    Examples
    --------
    >>> scope_remark("Walls by others"), scope_remark("Seal the floor")
    (True, False)
    """
    return _AMONG.search(remarks) is not None or _ALONE.fullmatch(remarks.strip()) is not None


def wall_notes(lines: Sequence[TextLine]) -> tuple[Finding, ...]:
    """Return the notes on how high walls are coated, what is not in the contract, how often a plan is built."""
    found: dict[str, Finding] = {}
    for line in lines:
        if len(line.text.split()) <= _MOST_HEADING and _PLAN.search(line.text) and stands_for_several(line.text):
            said = f"“{line.text.strip()}” stands on it, and its walls are counted once"
            found.setdefault(said, Finding(about="times", text=said, at_pt=line.middle_pt))
    whole = " ".join(line.text for line in lines)
    if not (_ABOUT.search(whole) or scope_remark(whole)):
        return tuple(found.values())
    for text, first in _sentences(lines):
        text = _ITEM.sub("", text, count=1)
        if not 3 < len(text.split()) < MOST_WORDS:
            continue
        said = f"a note on it says “{text}”, and no"
        if _COATING.search(text) and (height_in(text) or _FULL.search(text)):
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


def height_in(text: str) -> float | None:
    r"""Return the first height of a wall coating in a note, in metres.

    Examples
    --------
    >>> height_in("W2 TO 4'-0\" AFF"), height_in("BASE TO 4\"")
    (1.2192, None)
    """
    for found in _HEIGHT.finditer(text):
        try:
            if (height := parse_length(found["to"] or found["high"])) >= LEAST:
                return height
        except LengthError:
            continue
    return None
