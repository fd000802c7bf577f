"""What is wrong with a JSON file, in words for who wrote it."""

from __future__ import annotations

import codecs
import re

_TYPES = {
    "float": "a number",
    "int": "a whole number",
    "str": "a text",
    "array": "a list",
    "object": "an object in braces",
    "bool": "true or false",
    "null": "null",
}


def types_in_words(message: str) -> str:
    """Say what a validator found without its names of types.

    Examples
    --------
    >>> types_in_words("Expected `float | null`, got `str`"), types_in_words("Expected `array` of length 2")
    ('expected a number, got a text', 'expected a list of length 2')
    >>> types_in_words("Object missing required field `at`")
    'the key "at" is missing'
    """
    missing = re.fullmatch(r"Object missing required field `(\w+)`", message)
    if missing:
        return f'the key "{missing[1]}" is missing'
    text = message[:1].lower() + message[1:]
    return re.sub(r"`(\w+)(?: \| \w+)*`", lambda m: _TYPES.get(m[1], m[0]), text)


def not_json(data: bytes, error: Exception) -> str:
    """Say why a file is not JSON in UTF-8, and at which line and column.

    Examples
    --------
    >>> not_json(b'{"a": }', ValueError("JSON is malformed: invalid character (byte 6)"))
    'line 1, column 7: invalid character'
    """
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "it is written in UTF-16: save it as UTF-8"
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        return f"line {line} has a character that is not UTF-8: save it as UTF-8"
    if not text.strip():
        return "it is empty"
    said = str(error).removeprefix("JSON is malformed: ")
    at = re.search(r" \(byte (\d+)\)$", said)
    if at is None:
        return "it ends early: a bracket, brace or quotation mark is not closed" if "truncated" in said else said
    before = data[: int(at[1])].decode("utf-8", "ignore")
    column = len(before) - before.rfind("\n")
    return f"line {before.count(chr(10)) + 1}, column {column}: {said[: at.start()]}"
