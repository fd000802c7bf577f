"""What is written to a terminal or a pipe that does not take every character."""

from __future__ import annotations

import codecs
import re
import sys
from typing import Any, TextIO

PLAIN = "takeoff.plain"
"""Name of the error handler that writes a look-alike for a character that an encoding lacks."""

_ALIKE = {
    "±": "+/-", "×": "x", "÷": "/", "−": "-", "–": "-", "—": "-", "“": '"', "”": '"', "‘": "'", "’": "'", "…": "...",
    "·": ".", "•": "*", "²": "2", "³": "3", "µ": "u", "°": " deg ", "½": "1/2", "¼": "1/4", "¾": "3/4", "█": "#",
    "─": "-", "━": "-", "→": "->", "≤": "<=", "≥": ">=", "\u00a0": " ", "\u202f": " ",
}  # fmt: skip


UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ufff9-\uffff]")
"""Characters that steer a terminal or turn the order of what it shows: control characters of ISO 6429, and the marks of
writing direction of Unicode Standard Annex 9."""


def visible(text: str) -> str:
    r"""Write the code of every character that would steer a terminal in its place; lines and tabs stay.

    Examples
    --------
    >>> visible("Wash\x1b[2J \u202etxt")
    'Wash<U+001B>[2J <U+202E>txt'
    """
    return UNSEEN.sub(lambda found: f"<U+{ord(found[0]):04X}>", text)


def one_line(text: str) -> str:
    """Write a text on one line, and let none of it steer a terminal."""
    return visible(" ".join(text.split()))


def look_alike(error: UnicodeError) -> tuple[str, int]:
    """Give the look-alike of what cannot be encoded, ``?`` where there is none, and where to go on.

    Examples
    --------
    >>> register(); "12 m² ± 0.5 m² Ω".encode("ascii", PLAIN)
    b'12 m2 +/- 0.5 m2 ?'
    """
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(_ALIKE.get(c, "?") for c in error.object[error.start : error.end]), error.end


def register() -> None:
    """Make the handler known under its name."""
    codecs.register_error(PLAIN, look_alike)


def takes_all(stream: TextIO) -> bool:
    """Tell whether a stream takes every character."""
    return (stream.encoding or "utf-8").lower().replace("_", "-") in ("utf-8", "utf8")


def soften() -> None:
    """Let stdout and stderr write look-alikes where their encoding lacks a character."""
    register()
    for stream in (sys.stdout, sys.stderr):
        reconfigure: Any = getattr(stream, "reconfigure", None)
        if reconfigure is not None and not takes_all(stream):
            reconfigure(errors=PLAIN)
