"""What the drawings share: how an SVG file begins, and writing that is read over lines."""

from __future__ import annotations

from xml.sax.saxutils import escape


def svg_head(width: float, height: float, look: str) -> str:
    """Begin a drawing of so many points, with the attributes of its writing."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.2f}pt" height="{height:.2f}pt" '
        f'viewBox="0 0 {width:.2f} {height:.2f}" {look}>'
    )


def svg_text(words: str, x: float, y: float, look: str = "", *, edge: float = 1.6) -> str:
    """Write words on a white edge of so many points, which keeps them apart from the lines under them."""
    white = f'stroke="#FFFFFF" stroke-width="{edge:.2f}" stroke-linejoin="round" paint-order="stroke"'
    return f'<text x="{x:.2f}" y="{y:.2f}" {look} {white}>{escape(words)}</text>'
