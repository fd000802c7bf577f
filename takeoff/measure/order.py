"""The one order that rooms and runs are listed in: numbers in texts count as numbers, so that 9 comes before 10."""

from __future__ import annotations

import re

NaturalKey = tuple[tuple[bool, int, str], ...]


def natural_key(text: str) -> tuple[bool, NaturalKey, str]:
    """Return what to sort a text by: digits by their value, letters without regard to case, an empty text last.

    Examples
    --------
    >>> sorted(["10 Store", "9 Wash", "101A Lab", "", "101 Corridor"], key=natural_key)
    ['9 Wash', '10 Store', '101 Corridor', '101A Lab', '']
    """
    parts = re.split(r"([0-9]+)", text.casefold().strip())
    key = tuple((n % 2 == 0, int(part) if n % 2 else 0, part) for n, part in enumerate(parts) if part.strip())
    return (not key, key, text)
