"""The title block: a sheet's number, title, scale, revision and date from the text along its right or bottom edge.

Title blocks follow no one standard, so this is a reading that a person can correct: the words nearest to a label win,
then the largest letters. The places are those of the sheet as displayed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from statistics import median

from takeoff.model.plan import Sheet
from takeoff.sheet.frame import Box, box_to_displayed, displayed_size
from takeoff.sheet.text import TextLine, scale_notes
from takeoff.sheet.uses import HEADING, use_of_title

RIGHT_STRIP = 0.25
BOTTOM_STRIP = 0.20
"""Part of the displayed width and height in which a title block is looked for (common practice, no source)."""
MANY = 3
"""So many bare numbers of one size along the edges are the names of grid lines, and none is the sheet's (judgement)."""
_AS_LARGE = 1.1
"""Times that letters may be larger than others and are as large still (judgement)."""
LARGE = 2.0
"""A letter and one or two digits without a label are a mark in the plan or a paper, and no number of a sheet, below
this many times the height of most texts (measured: marks up to 1.4, numbers of sheets from 4)."""
ENOUGH = 10
"""Texts on a sheet that tell how high most are, at least (judgement)."""
LEVEL = 4.0
"""Times that a value beneath a label must be nearer than one beside it (measured on the title blocks at hand)."""

_NUMBER = re.compile(r"[A-Z]{1,3}[-.]?\d{1,4}(?:[.-]\d{1,3})?[A-Z]?")
_GRID_NAME = re.compile(r"[A-Z]{0,2}(?:[.-]?\d{1,2})?", re.IGNORECASE)
_NUMBER_LABEL = re.compile(r"(?:(?:SHEET|DRAWING|DWG)\b\.?\s*)?(?:NO\b\.?|NUMBER\b|#)?\s*[:#]?\s*", re.IGNORECASE)
_SHEETS = (
    "SHEET|DRAWING|DWG|PLAN|BLATT|ZEICHN(?:UNGS?)?|TAVOLA|DISEGNO|PLANO|L[ÁA]MINA|HOJA|PLANCHE|FOLIO|DESSIN|PRANCHA|"
    "FOLHA|DESENHO|TEKENINGS?|BLAD|ЛИСТ"
)
_NUMBERED = re.compile(
    rf"(?:{_SHEETS})\.?[\s-]*(?:NR|N[O°º]?|NUMMER|NUMBER|N[ÚU]MERO|#)\.?\s*:?|ЛИСТ\s*:?", re.IGNORECASE
)
_NUMBER_VALUE = re.compile(r"(?=.*\d)[A-Z0-9][A-Z0-9.\-/]{0,11}", re.IGNORECASE)
"""A number that stands at its label may have any form; labels in the languages that sheets at hand are in."""
_MARK = re.compile(r"[A-Z]\d{1,2}")
_PAPER = re.compile(r"[AB][0-5]")
_SIZE_LABEL = re.compile(r"(?:PAPER|SHEET)?\s*(?:SIZE|FORMAT)\s*:?|.*@", re.IGNORECASE)
_NOT_NUMBER = re.compile(r"(?:REV|NO|RM|FT|IN|MAX|MIN|TYP|FAX|TEL|EXT|WIC|WC|BED|BR|CL|BTH|LAV|KIT)[-.]?\d")
"""What is counted otherwise, rooms too: their numbers stand where a title block may be (ordinary words, no source)."""
_TITLE_LABEL = re.compile(
    r"(?:(?:(?:SHEET|DRAWING|DWG\.?|DRG\.?)\s+)?TITLE|(?:SHEET|DRAWING|DWG\.?|DRG\.?)\s+NAME|SUBJECT|TOPIC)(?!\s+OF\b)\s*"
    r"[:–-]?\s*(.*)|(?:ZEICHNUNG|PLANINHALT|PLANTITEL|BEZEICHNUNG|OGGETTO|"
    r"TITOLO|ELABORATO|T[ÍI]TULO|CONTENIDO|PLANO|TITRE|INTITUL[ÉE]|D[ÉE]SIGNATION|CONTE[ÚU]DO|ASSUNTO|ONDERWERP|"
    r"OMSCHRIJVING|НАИМЕНОВАНИЕ)\s*(?::\s*(.*))?",
    re.IGNORECASE,
)
_WORDS = re.compile(r"[^\W\d_]{3}|[^\x00-\u2fff]")
_TITLE_WORD = re.compile(
    r"\b(?:(?:FLOOR)?PLANS?|ELEVATIONS?|SECTIONS?|DETAILS?|SCHEDULES?|LAYOUT|NOTES|LEGEND|PERSPECTIVES?|"
    r"R\.?C\.?P\.?|GRUNDRISSE?|SCHNITTE?|"
    r"ANSICHT(?:EN)?|PIANT[AE]|PROSPETT[OI]|SEZION[EI]|PLANTAS?|ALZADOS?|CORTES?|FACHADAS?|COUPES?|FA[CÇ]ADES?|"
    r"PLATTEGROND(?:EN)?|DOORSNEDEN?|GEVELS?|ПЛАН|РАЗРЕЗ|ФАСАД)\b",
    re.IGNORECASE,
)
_NOTE = re.compile(r".*[.:]|\d{1,2}[.)] .*")
"""What heads a list of notes, or is one of them: no title, and no part of one."""
_BARE_TITLE = re.compile(r"(?:FLOOR\s+)?PLANS?", re.IGNORECASE)
_REVISION = re.compile(
    r"\bREV(?:ISION)?\b\.?\s*(?:NO\b\.?)?\s*[:#]?\s*(?!NO\b)([A-Z]{1,2}\d?|\d{1,3})\b(?![/.-]\d)", re.IGNORECASE
)
_REVISION_LABEL = re.compile(
    r"(?:REV(?:ISI(?:ON|[ÓO]N|ONE))?|REVIS[ÃA]O|WIJZIGING|ИЗМ)\b\.?\s*(?:NO\b\.?)?\s*[:#]?", re.IGNORECASE
)
_INDEX = re.compile(r"(?:PLAN)?INDEX|[ÍI]NDICE", re.IGNORECASE)
_INDEX_VALUE = re.compile(r"[A-Za-z]|\d{1,2}")
_REVISION_VALUE = re.compile(r"[A-Z]\d?|\d{1,2}|P\d{1,2}|C\d{1,2}")
_MONTH = r"(?:JAN|FEB|MAR|APR|MAY|JUN|JUL|AUG|SEP|OCT|NOV|DEC)[A-Z]*\.?"
_DATE = re.compile(
    r"(?<!\d)(?:\d{4}[-./]\d{1,2}[-./]\d{1,2}|\d{1,2}[-./]\d{1,2}[-./](?:\d{4}|\d{2})"
    rf"|\d{{1,2}}[ -]{_MONTH}[ -]\d{{2,4}}|{_MONTH} \d{{1,2}},? \d{{4}})(?!\d)",
    re.IGNORECASE,
)
_STAMP = re.compile(
    r"VOID|SUPERSEDED|PRELIMINARY|NOT FOR CONSTRUCTION|(?:ISSUED )?FOR REVIEW(?: ONLY)?|FOR REFERENCE ONLY|"
    r"PROGRESS (?:SET|PRINT|DRAWINGS?)|\d{2} ?% (?:CD|DD|SD|CONSTRUCTION DOCUMENTS|DESIGN DEVELOPMENT)S?"
)
"""What is stamped, in capitals, on sheets that are not to be built or bid from (common practice, no source)."""
_DATE_WORD = r"(?:DATE|DATED|DATUM|DATA(?=\s*:|\s*$)|FECHA|DATO|ДАТА)"
_SCALE_WORD = r"(?:SCALE|MA(?:SS|ß)STAB|SCALA|ESCALA|[ÉE]CHELLE|SCHAAL|МАСШТАБ)"
_NO_ONE_SCALE = re.compile(r"\bAS\s+(?:NOTED|SHOWN|INDICATED)\b|\bN\.?T\.?S\b\.?|\bNOT\s+TO\s+SCALE\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class _Placed:
    """A line and its box as displayed."""

    line: TextLine
    box: Box

    @property
    def text(self) -> str:
        return self.line.text


def stamps_of(lines: Sequence[TextLine]) -> tuple[str, ...]:
    """Return what is stamped on a sheet that is not to be built from, such as PRELIMINARY; each once, as written."""
    found: dict[str, None] = {}
    for line in lines:
        for part in re.split(r"\s*[-–:;/,*()]+\s*", " ".join(line.text.split())):
            if _STAMP.fullmatch(part):
                found[part] = None
    return tuple(found)


def with_title_block(sheet: Sheet, lines: Sequence[TextLine]) -> Sheet:
    """Return a sheet with what its title block says, as written in its lines of text; empty where nothing was found."""
    across, down = displayed_size(sheet)
    placed = [_Placed(line, box_to_displayed(sheet, line.box_pt)) for line in lines]
    edge = [
        at for at in placed if _middle(at)[0] > across * (1 - RIGHT_STRIP) or _middle(at)[1] > down * (1 - BOTTOM_STRIP)
    ]
    short = [at for at in placed if _GRID_NAME.fullmatch(at.text)]
    usual = median(line.size for line in lines) if len(lines) >= ENOUGH else 0.0
    number = _number([at for at in edge if not _is_grid_line(at, short)], (across, down), usual)
    return replace(
        sheet,
        number=number.line.words[-1].text if number else _at_label(edge, _NUMBERED, _NUMBER_VALUE.fullmatch),
        title=_labelled_title(edge, number) or _title(edge, placed, number),
        scale_note=_scale_note(edge, placed, _middle(number) if number else (across, down)),
        revision=next((found[1] for at in edge if (found := _REVISION.search(at.text))), "")
        or _at_label(edge, _REVISION_LABEL, _REVISION_VALUE.fullmatch)
        or _at_label(edge, _INDEX, _INDEX_VALUE.fullmatch),
        date=_date(edge),
    )


def _middle(at: _Placed) -> tuple[float, float]:
    return ((at.box[0] + at.box[2]) / 2, (at.box[1] + at.box[3]) / 2)


def _number(edge: list[_Placed], corner: tuple[float, float], usual: float) -> _Placed | None:
    """Find the sheet number: alone on its line or after its label, the largest, then the nearest to the corner."""
    found: list[tuple[float, float, _Placed]] = []
    for at in edge:
        last = at.line.words[-1].text
        label = at.text[: -len(last)].strip()
        if not _NUMBER.fullmatch(last) or _NOT_NUMBER.match(last) or not _NUMBER_LABEL.fullmatch(label):
            continue
        sized = (other for other in edge if _SIZE_LABEL.fullmatch(other.text) and _follows(other, at))
        is_small = _MARK.fullmatch(last) and at.line.size < LARGE * usual
        if not label and (is_small or (_PAPER.fullmatch(last) and any(sized))):
            continue
        x, y = _middle(at)
        word = at.line.words[-1].box_pt
        size = min(word[2] - word[0], word[3] - word[1])
        found.append((round(size), -(corner[0] - x) - (corner[1] - y), at))
    if not found:
        return None
    largest, _, best = max(found, key=lambda entry: entry[:2])
    alike = {at.text for size, _, at in found if size == largest}
    return best if len(best.line.words) > 1 or len(alike) < MANY else None


def _is_grid_line(at: _Placed, short: list[_Placed]) -> bool:
    """Tell whether a text is the name of a grid line: others as ``short`` and as large stand in one row with it."""
    if not _GRID_NAME.fullmatch(at.text):
        return False
    height, middle = at.box[3] - at.box[1], _middle(at)
    alike = [_middle(other) for other in short if abs(other.box[3] - other.box[1] - height) < 0.1 * height]
    return any(sum(abs(one[way] - middle[way]) < 0.3 * height for one in alike) > MANY for way in (0, 1))


def _follows(label: _Placed, at: _Placed) -> bool:
    """Tell whether a line stands right of its label or just beneath it."""
    height = label.line.size
    beside = abs(_middle(at)[1] - _middle(label)[1]) < height and 0 <= at.box[0] - label.box[2] < 12 * height
    beneath = 0 < _middle(at)[1] - _middle(label)[1] < 4 * height + at.line.size and (
        at.box[0] < label.box[2] + 2 * height and at.box[2] > label.box[0] - 2 * height
    )
    return at is not label and (beside or beneath)


def _labelled_title(edge: list[_Placed], number: _Placed | None) -> str:
    """Find the title after its label."""
    for label in edge:
        found = _TITLE_LABEL.fullmatch(label.text)
        if found and _WORDS.search(inline := found[1] or found[2] or ""):
            return _whole_title(label, edge, inline.strip())
        if found:
            after = [at for at in edge if _follows(label, at) and at is not number and _is_title(at.text)]
            if after:
                first = min(after, key=lambda at: (round(at.box[1]), at.box[0]))
                return _whole_title(first, edge, first.text)
    return ""


def _is_title(text: str) -> bool:
    """Tell whether a text has words and is no label."""
    return _WORDS.search(text) is not None and not text.endswith(":")


def _title(edge: list[_Placed], placed: list[_Placed], number: _Placed | None) -> str:
    """Find the title that has no label: the largest line with a title word, or what stands on the number."""
    titled = [at for at in edge if _TITLE_WORD.search(at.text) and len(at.text) <= 60 and not _NOTE.fullmatch(at.text)]
    if not titled and number:
        size = number.line.size
        titled = [
            at
            for at in edge
            if 0 <= number.box[1] - at.box[3] + size / 4 < size * 1.25
            and abs(at.box[0] - number.box[0]) < size
            and _is_title(at.text)
            and not _NOTE.fullmatch(at.text)
        ]
    if not titled:
        return ""
    largest = max(titled, key=lambda at: (round(at.line.size), -at.box[1]))
    if _BARE_TITLE.fullmatch(largest.text):  # which floor it is stands above
        largest = next((at for at in edge if _goes_on(largest, at, at)), largest)
    is_caption = number is None and _is_caption(largest.line, [at.line for at in placed])
    return "" if is_caption else _whole_title(largest, edge, largest.text)


def _is_caption(title: TextLine, lines: Sequence[TextLine]) -> bool:
    """Tell whether a title without a number names but one view or table of several, and no plan.

    Then a floor plan is named in letters as large, or a table's letters are no larger than most.
    """
    use = use_of_title(title.text)
    if use not in ("elevation", "schedule", "detail"):
        return False
    usual = sorted(line.size for line in lines)[len(lines) // 2]
    large = [line for line in lines if line.size > title.size / _AS_LARGE]
    is_small = use == "schedule" and title.size < HEADING * usual
    return is_small or any(use_of_title(line.text) == "floor plan" for line in large)


def _whole_title(first: _Placed, edge: list[_Placed], text: str) -> str:
    """Add the lines that go on beneath the first line of a title."""
    below = first
    for at in sorted(edge, key=lambda other: other.box[1]):
        if _goes_on(at, below, first):
            text, below = f"{text} {at.text}", at
    return text


def _goes_on(at: _Placed, above: _Placed, first: _Placed) -> bool:
    """Tell whether a line stands close beneath another, as large and as far left as the first or as that centred."""
    size = first.line.size
    is_close = -size / 4 < at.box[1] - above.box[3] < size * 0.4
    offset = min(abs(at.box[0] - first.box[0]), abs(_middle(at)[0] - _middle(first)[0]))
    return is_close and offset < size / 4 and abs(at.line.size - size) < size / 8 and not _NOTE.fullmatch(at.text)


def _scale_note(edge: list[_Placed], placed: list[_Placed], near: tuple[float, float]) -> str:
    """Find the scale: with its word, nearest to the sheet number; then the one that all notes agree on.

    A block that says that its drawings have scales of their own, or none, is registered with those words.
    """
    labels = [at for at in edge if re.fullmatch(rf"(?:{_SCALE_WORD}|M)\s*:?", at.text, re.IGNORECASE)]
    worded = [
        (math.dist(_middle(at), near), said)
        for at in edge
        if (re.search(rf"\b{_SCALE_WORD}\b", at.text, re.IGNORECASE) or any(_follows(label, at) for label in labels))
        and (said := _scale_words(at.line))
    ]
    if worded:
        return min(worded)[1]
    for lines in (edge, placed):
        notes = scale_notes([at.line for at in lines])
        if notes and len({round(note.m_per_pt, 8) for note in notes}) == 1:
            return notes[0].text
    return ""


def _scale_words(line: TextLine) -> str:
    """Return what a line says of the scale, without the word itself."""
    if scale_notes([line]):
        return re.sub(rf"^\s*{_SCALE_WORD}\s*[:=]?\s*", "", line.text, flags=re.IGNORECASE)
    said = _NO_ONE_SCALE.search(line.text)
    return said[0] if said else ""


def _at_label(edge: list[_Placed], label: re.Pattern[str], fits: Callable[[str], object]) -> str:
    """Find the value at the first label that has one: the nearest."""
    for at in edge:
        if label.fullmatch(at.text):
            values = [other for other in edge if _follows(at, other) and fits(other.text)]
            if values:
                return min(values, key=lambda other: _apart(at, other)).text
    return ""


def _apart(label: _Placed, value: _Placed) -> float:
    """Return how far a value stands from its label; one level with it counts as `LEVEL` times as near."""
    (x, y), (left, top) = _middle(value), _middle(label)
    return math.hypot(x - left, y - top) / (LEVEL if abs(y - top) < label.line.size / 2 else 1.0)


def _date(edge: list[_Placed]) -> str:
    """Find the date: on a line with the word, then after a label, then the only one there is."""
    dated = [(at, found[0]) for at in edge if (found := _DATE.search(at.text))]
    for at, date in dated:
        if re.search(rf"\b{_DATE_WORD}\b", at.text, re.IGNORECASE):
            return date
    label = re.compile(rf"(?:ISSUE\s+)?{_DATE_WORD}\s*:?", re.IGNORECASE)
    if value := _at_label(
        [at for at in edge if label.fullmatch(at.text) or _DATE.search(at.text)], label, _DATE.search
    ):
        return next(date for at, date in dated if at.text == value)
    distinct = {date for _, date in dated}
    return distinct.pop() if len(distinct) == 1 else ""
