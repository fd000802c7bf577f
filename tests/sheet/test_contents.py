"""Streams of pages: what several pages share counts on each."""

from __future__ import annotations

import pymupdf
import pytest

from takeoff.sheet.files import read_sheets


@pytest.mark.parametrize("protection", [pymupdf.PDF_ENCRYPT_NONE, pymupdf.PDF_ENCRYPT_AES_256])
def test_a_large_form_that_every_page_shares_counts_on_each_and_its_text_is_read(protection: int) -> None:
    lines = "".join(f"{n % 600} 0 m {n % 600} 500 l S\n" for n in range(6000))
    with pymupdf.open() as border, pymupdf.open() as document:
        page = border.new_page(width=1000, height=800)
        page.insert_text((880, 760), "A-101", fontsize=24, fontname="helv")
        stream = border.xref_stream(page.get_contents()[0]) + lines.encode()
        border.update_stream(page.get_contents()[0], stream)
        for _ in range(2):
            page = document.new_page(width=1000, height=800)
            page.show_pdf_page(page.rect, border, 0)
        data = document.tobytes(deflate=True, encryption=protection, owner_pw="owner", user_pw="")
    sheets, doubts = read_sheets(data, "set.pdf")
    assert [(sheet.number, sheet.paths) for sheet in sheets] == [("A-101", 6000)] * 2
    assert doubts == []
