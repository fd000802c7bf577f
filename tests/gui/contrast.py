"""How legible colours are on one another, and which text stands on which ground."""

from __future__ import annotations

TEXT_PAIRS: tuple[tuple[str, str], ...] = (
    ("text", "ground"),
    ("text", "card"),
    ("text", "chosen"),
    ("quiet", "ground"),
    ("quiet", "card"),
    ("accent_text", "accent"),
    ("accent", "card"),
    ("accent", "ground"),
    ("good", "ground"),
    ("good", "card"),
    ("warn", "ground"),
    ("warn", "card"),
    ("refuse", "ground"),
    ("refuse", "card"),
)
"""Every text colour with every ground that it is put on."""


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, by WCAG 2.2.

    Examples
    --------
    >>> contrast("#000000", "#FFFFFF")
    21.0
    """
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b
