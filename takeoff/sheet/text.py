"""The text of vector sheets with its places, and the scale notes in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from takeoff.apart import apart
from takeoff.errors import CalibrationError
from takeoff.model.plan import Sheet
from takeoff.sheet.document import open_page
from takeoff.sheet.formats import file_format
from takeoff.sheet.frame import Box
from takeoff.sheet.scales import parse_scale_note


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """A word and its box in sheet points."""

    text: str
    box_pt: Box


@dataclass(frozen=True, slots=True, kw_only=True)
class TextLine:
    """Words that stand on one line, in reading order, and the box round them in sheet points."""

    words: tuple[Word, ...]
    box_pt: Box

    @property
    def text(self) -> str:
        """The words with one space between them."""
        return " ".join(word.text for word in self.words)

    @property
    def size(self) -> float:
        """Height of the letters in points: the lesser side of the box, as a line may run up the sheet."""
        return min(self.box_pt[2] - self.box_pt[0], self.box_pt[3] - self.box_pt[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleNote:
    """A written scale: its text, what it says in metres per sheet point, and its box in sheet points."""

    text: str
    m_per_pt: float
    box_pt: Box


@apart
def read_lines(data: bytes, sheet: Sheet) -> list[TextLine]:
    """Read the lines of text of a PDF page; a picture has none.

    Raises
    ------
    SheetError
        When the file cannot be read.
    """
    if file_format(data, f"sheet {sheet.id}") != "pdf":
        return []
    with open_page(data, sheet.page, f"sheet {sheet.id}") as page:
        return lines_of_page(page)


def scale_notes(lines: list[TextLine]) -> list[ScaleNote]:
    """Pick the lines that state a scale."""
    notes: list[ScaleNote] = []
    for line in lines:
        text = line.text
        if len(text) > 80 or not any(sign in text for sign in ':="″”'):
            continue
        if not any(sign in text for sign in ":=") and "scale" not in text.lower():
            continue  # a bare length such as 1/2" is a scale only where the word stands beside it
        try:
            notes.append(ScaleNote(text=text, m_per_pt=parse_scale_note(text), box_pt=line.box_pt))
        except CalibrationError:
            continue
    return notes


def lines_of_page(page: Any) -> list[TextLine]:
    """Read the lines of an open page."""
    import pymupdf

    flags = pymupdf.TEXTFLAGS_WORDS & ~pymupdf.TEXT_PRESERVE_IMAGES
    lines: dict[tuple[int, int], list[Word]] = {}
    for x0, y0, x1, y1, text, block, line, _ in page.get_text("words", flags=flags):
        lines.setdefault((block, line), []).append(Word(text=text, box_pt=(x0, y0, x1, y1)))
    return [TextLine(words=tuple(words), box_pt=_round_box(words)) for words in lines.values()]


def _round_box(words: list[Word]) -> Box:
    """Return the box round several words."""
    x0, y0, x1, y1 = zip(*(word.box_pt for word in words), strict=True)
    return (min(x0), min(y0), max(x1), max(y1))
