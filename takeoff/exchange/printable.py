"""Texts of a job as files of other programs can hold them."""

from __future__ import annotations


def printable(text: str) -> str:
    r"""Put a space in place of each character that cannot be printed; line breaks stay.

    Examples
    --------
    >>> printable("Wash\x07\nroom")
    'Wash \nroom'
    """
    return "".join(c if c.isprintable() or c == "\n" else " " for c in text)


def one_line(text: str) -> str:
    r"""Make a text one line of printable characters with single spaces.

    Examples
    --------
    >>> one_line(" Wash\n  room\x07")
    'Wash room'
    """
    return " ".join(printable(text).split())
