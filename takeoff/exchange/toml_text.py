"""TOML files from anybody, read with a limit to what they may ask of the reader."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from takeoff.errors import InputError

LONGEST_KEY = 20
"""Parts of a key; the reader's work grows with their square."""
LONGEST_NUMBER = 30
"""Digits of a number."""
_KEY = re.compile(r'^[ \t]*\[{0,2}[ \t]*((?:[\w-]+|"[^"\n]*"|\'[^\'\n]*\')(?:[ \t]*\.[ \t]*|(?=[ \t]*[=\]])))+', re.M)


def read_toml(data: bytes) -> dict[str, Any]:
    """Read a TOML file in UTF-8.

    Raises
    ------
    InputError
        When it is not TOML or not UTF-8, or its keys, numbers or brackets go beyond what any file of a person has.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError("it is not UTF-8 text", remedy="Save it as UTF-8.") from error
    for line, words in enumerate(text.splitlines(), start=1):
        key = words.split("=", 1)[0]
        if key.count(".") >= LONGEST_KEY:
            raise InputError(f"line {line} has a key of {key.count('.') + 1:,} parts", remedy="Correct the line.")
        if re.search(rf"\d{{{LONGEST_NUMBER},}}", words):
            raise InputError(f"line {line} has a number of more than {LONGEST_NUMBER} digits", remedy="Correct it.")
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise InputError("its brackets are nested too deep", remedy="Correct the file.") from error
    except ValueError as error:
        raise InputError(f"it is not TOML: {error}", remedy="Correct the line named.") from error
