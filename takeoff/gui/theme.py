"""Colours and type of the window, light and dark. Contrast is held to WCAG 2.2 AA by a test. No toolkit in here."""

from __future__ import annotations

from dataclasses import dataclass

Pair = tuple[str, str]
"""A colour in light and in dark."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Theme:
    """Colours by what they are for; each in light and in dark."""

    ground: Pair = ("#EEF1F2", "#1B2226")
    card: Pair = ("#FFFFFF", "#252E33")
    line: Pair = ("#C3CCD0", "#3D4A50")
    text: Pair = ("#14201F", "#EAF0F0")
    quiet: Pair = ("#4A5A5C", "#A9B8BA")
    accent: Pair = ("#005A87", "#7CC4EC")
    accent_text: Pair = ("#FFFFFF", "#0C1A22")
    disabled: Pair = ("#8A979A", "#75868A")
    chosen: Pair = ("#CFE4F0", "#20465A")
    good: Pair = ("#00614A", "#5FD3AE")
    warn: Pair = ("#8A3E00", "#FFB27A")
    refuse: Pair = ("#A1203A", "#FF9AA8")
    desk: Pair = ("#C9D1D3", "#12181B")
    coated: Pair = ("#CFE4F0", "#2E5468")

    def of(self, name: str, is_dark: bool) -> str:
        """Return one colour."""
        pair: Pair = getattr(self, name)
        return pair[1] if is_dark else pair[0]


THEME = Theme()
