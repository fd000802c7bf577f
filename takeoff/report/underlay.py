"""What drawings and pages share: the page under the marks as a picture, how an SVG file begins, writing over lines."""

from __future__ import annotations

from html import escape


def svg_head(width: float, height: float, look: str) -> str:
    """Begin a drawing of so many points, with the attributes of its writing."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.2f}pt" height="{height:.2f}pt" '
        f'viewBox="0 0 {width:.2f} {height:.2f}" {look}>'
    )


def svg_text(words: str, x: float, y: float, look: str = "", *, edge: float = 1.6) -> str:
    """Write words on a white edge of so many points, which keeps them apart from the lines under them."""
    white = f'stroke="#FFFFFF" stroke-width="{edge:.2f}" stroke-linejoin="round" paint-order="stroke"'
    return f'<text x="{x:.2f}" y="{y:.2f}" {look} {white}>{escape(words, quote=False)}</text>'


LARGEST_DRAWING = 1_500_000
"""Bytes of vector drawing to carry; a busier or scanned page becomes a picture of dots."""

PIXELS = 3300
"""Longer side of a scanned or very busy plan: 300 dots to the inch on letter paper."""

LARGEST_PIXELS = 7000
"""Longer side at the most, where a small part of a scan is shown."""


def page_picture(page_pdf: bytes, size_pt: tuple[float, float], *, pixels: int) -> tuple[str, bytes]:
    """Turn a page into a drawing (``svg``), or a picture (``jpg``) with so many ``pixels`` along its longer side."""
    import pymupdf

    with pymupdf.open(stream=page_pdf, filetype="pdf") as document:
        page = document[0]
        if not page.get_images():
            drawing = page.get_svg_image(text_as_path=True).encode("utf-8")
            if len(drawing) <= LARGEST_DRAWING:
                return "svg", drawing
        zoom = pixels / max(size_pt)
        dots = page.get_pixmap(matrix=pymupdf.Matrix(zoom, zoom), alpha=False)
        return "jpg", bytes(dots.tobytes("jpeg", jpg_quality=85))
