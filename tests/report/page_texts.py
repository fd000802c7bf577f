"""What another library than the one that sets the pages (typst) reads on them: PDFium."""

from __future__ import annotations

from pathlib import Path

import pypdfium2


def page_texts(pdf: bytes | Path) -> list[str]:
    """The text of each page, with one space between words."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [" ".join(page.get_textpage().get_text_range().split()) for page in document]
    finally:
        document.close()
