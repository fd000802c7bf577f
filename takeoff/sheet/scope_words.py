"""Words of a room that change what it counts for: not in the contract (N.I.C., by others, alternate), or built often.

The words are common practice in North American drawings, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from takeoff.sheet.text import TextLine

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
