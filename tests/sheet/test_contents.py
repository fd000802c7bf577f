"""Streams without their paths: the PDF engine reads the same words at the same places in them."""

from __future__ import annotations

import pymupdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.sheet.contents import without_paths
from takeoff.sheet.files import read_sheets

PATHS = st.sampled_from(
    [
        "0 0 m 9 9 l S", "1 1 5 5 re f*", "0 0 m 1 2 3 4 5 6 c 7 8 9 9 v 1 1 2 2 y h B*", "3 3 400 4 re W* n",
        "0.5 w [3 2] 0 d 1 0 0 RG", "0 0 m\n5 0 l\ns", "/P <</MCID 0>> BDC 0 0 m 4 4 l b EMC", "2 2 1 1 re\nb*",
    ]
)  # fmt: skip
MOVES = st.sampled_from(["1 0 0 1 20 10 cm", "2 0 0 2 0 0 cm", "0 1 -1 0 200 0 cm"])
WORDS = st.text(alphabet="ABTESlmnreSf *-'\"", min_size=1, max_size=12)


@st.composite
def streams(draw: st.DrawFn) -> str:
    """Instructions as programs write them: nested states, paths, and text within text objects."""
    parts: list[str] = []
    depth = 0
    for _ in range(draw(st.integers(1, 12))):
        kind = draw(st.sampled_from(["path", "text", "move", "save", "restore"]))
        if kind == "path":
            parts.append(draw(PATHS))
        elif kind == "text":
            at = f"{draw(st.integers(0, 90))} {draw(st.integers(0, 90))} Td"
            parts.append(f"BT/helv 9 Tf {at} ({draw(WORDS)}) Tj[({draw(WORDS)})-20(m l S)]TJ ET")
        elif kind == "move":
            parts.append(draw(MOVES))
        elif kind == "save":
            parts.append("q")
            depth += 1
        elif depth:
            parts.append("Q")
            depth -= 1
    return draw(st.sampled_from([" ", "\n", "\r\n"])).join([*parts, *["Q"] * depth])


def words_of(stream: bytes) -> list[tuple[object, ...]]:
    with pymupdf.open() as document:
        page = document.new_page(width=600, height=600)
        page.insert_text((9, 9), "x", fontname="helv")
        document.update_stream(page.get_contents()[0], stream)
        words: list[tuple[object, ...]] = page.get_text("words")
        return words


@settings(max_examples=150, deadline=None)
@given(streams())
def test_the_engine_reads_the_same_words_at_the_same_places(stream: str) -> None:
    whole = stream.encode()
    light = without_paths(whole)
    assert words_of(light) == words_of(whole)
    assert len(light) <= len(whole)


def test_only_the_paths_go() -> None:
    stream = b"q 1 0 0 1 5 5 cm 0 0 m 9 9 l S 0.5 w /X Do 1 1 2 2 re f* 3 3 4 4 re W n BT (re f S) Tj ET 0 0 m Q"
    assert without_paths(stream) == b"q 1 0 0 1 5 5 cm 0.5 w /X Do 3 3 4 4 re W n BT (re f S) Tj ET Q"


@pytest.mark.parametrize(
    "stream",
    [
        b"0 0 m 9 9 l S BT (a) Tj",
        b"BI /W 1 /H 1 ID \x00 S \x01 EI 0 0 m 9 9 l S",
        b"/Span <</ActualText (m l S)>> BDC 0 0 m 9 9 l S EMC",
        b"BT (THE ET OF) Tj ET 0 0 m 9 9 l S",
        b"(m) Tj 0 0 m 9 9 l S",
        b"",
        b"1 2 3",
    ],
)
def test_what_could_be_mistaken_is_left_whole(stream: bytes) -> None:
    assert without_paths(stream) == stream


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
