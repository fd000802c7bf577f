"""Words that say that a room is not in the contract, or only perhaps: N.I.C., by others, existing to remain, alternate.

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
_NAMED = re.compile(r"(?:FUTURE|SHELL)\b.*", re.IGNORECASE)
_AMONG = re.compile(rf"(?<!\w)(?:{_OUT})(?!\w)", re.IGNORECASE)


def without_note(text: str) -> str:
    """Return what a line says before such a note, and nothing where it is one and nothing else.

    Examples
    --------
    >>> without_note("STORAGE (N.I.C.)"), without_note("N.I.C."), without_note("STORAGE")
    ('STORAGE', '', 'STORAGE')
    """
    text = text.strip()
    behind = _BEHIND.fullmatch(text)
    return "" if _ALONE.fullmatch(text) else behind["name"] if behind else text


def scope_line(inside: Sequence[TextLine]) -> TextLine | None:
    """Return the line, of those inside a room, that says that it is not, or perhaps not, in the contract.

    A note that names something else, such as the counter in the room, is none.
    """
    for line in inside:
        text = line.text.strip()
        if _ALONE.fullmatch(text) or _BEHIND.fullmatch(text) or _NAMED.fullmatch(text):
            return line
    return None


def scope_remark(remarks: str) -> bool:
    """Tell whether the remarks of a finish schedule say so of a room.

    Examples
    --------
    >>> scope_remark("Walls by others"), scope_remark("Seal the floor")
    (True, False)
    """
    return _AMONG.search(remarks) is not None or _ALONE.fullmatch(remarks.strip()) is not None
