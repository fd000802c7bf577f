"""Names and numbers of rooms from the text that stands inside them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Geometry

from takeoff.sheet.scope_words import without_note
from takeoff.sheet.text import TextLine
from takeoff.trace.texts.printed_sizes import PrintedArea, area_in, size_tag, size_tags

_NUMBER = re.compile(r"(?:[A-Z]{0,2}[-.]?)?\d{1,4}(?:-\d{1,3})?[A-Z]?", re.ASCII)
_SHORT = frozenset({"WC", "W/C", "IT", "JC", "EL", "AV", "MER", "BA"})
"""Names of rooms with fewer than three letters, or with a stroke (common practice, no source)."""
_NO_NAME = re.compile(
    r"[\d'\".:=×@%]|(?<![A-Za-z])/|/(?![A-Za-z])|^(?:CLG|FFL|FFE|AFF|SSL|UP|DN|TYP|NTS|UNO|VIF|TO[WSC]|BOF|DIA|REF|"
    r"CONC|GYP|NPT|SIM|MIN|MAX|CLR|DWG|REV|ADJ|OPP)\b",
    re.IGNORECASE,
)
"""Signs and abbreviations, without their dots, that stand in no name (common practice, no source)."""
_PART = re.compile(
    r"\b(?:WINDOWS?|DOORS?|COLUMNS?|BEAMS?|WALLS?|PIPES?|RAILINGS?|SILLS?|LINTELS?|SLABS?|MANHOLES?|FENESTRATION|PIERS?|"
    r"FOUNDATIONS?|FOOTINGS?|PILASTERS?|INFILL|GUARDRAILS?|HANDRAILS?|GIRTS?|STUDS?|JOISTS?|TRUSS(?:ES)?)(?:\s*\(.*)?$|"
    r"^(?:JANELA|VENTANA|PUERTA|POUTRE|NICHE|FEN[EÊ]TRE|T[UÜ]R|FENSTER|BRH|OKF?F|UKD?|UZ|PROJE[CÇ][AÃ]O)\b|"
    r"\b(?:HE[ABM]|IPE|UNP|UPN|[RSC]HS|[AH][º°] ?A[º°])(?!\w)|"
    r"\b\w*(?:ST(?:UE|Ü)TZE|PUTZ|STURZ|BELAG|BODENPLATTE|ROLLL?ADEN|SONNENSCHUTZ|SAUBERLAUF|D(?:AE|Ä)MMUNG)\b",
    re.IGNORECASE,
)
"""Parts of a building and steel sections, which name no room (ordinary words, no source)."""
_NOTE = re.compile(
    r"\b(?:VER|VOIR|VEDI|SIEHE|SEG[UÚ]N|CONFORME|SELON|LAUT|POR|DETALLE|DETALHE|DETTAGLIO)\b|"
    r"\b(?:TO|BY|ALL|AS|FROM|PER|SEE|REFER|VERIFY|PROVIDE|OVERHEAD|ABOVE|BELOW|BEYOND|ALONG|(?:DEMOLISH|REMOVE|REPAIR|RETAIN|REPLACE|INSTALL|"
    r"RELOCATE|ALIGN)\w*)\b|\b(?:ON|AT)$",
    re.IGNORECASE,
)
"""Words that stand, or end a line, in notes to the builder and in no name, but for OPEN TO BELOW (ordinary words, no
source)."""
_FINISH = re.compile(
    r"\b(?:TILES?|CEILING|FLOORING|CARPET|VINYL|CONCRETE|SCREED|LAMINATE|PARQUET|TIMBER|BODEN|DECKE|PARKETT|FLIESEN|"
    r"ESTRICH|BESTAND|PANELE|P[LŁ]YTKI|GRES|CARRELAGE|PISO|FORRO|SOFFIT)\b",
    re.IGNORECASE,
)
"""Finishes that stand under a name in its block (ordinary words, no source)."""
_COUNTED = re.compile(r"^\d\s+(?:CAR|BED|BAY|STALL|PERSON|POST)\b", re.IGNORECASE)
"""A figure that counts something and is no number of a room."""
_SIGNS = re.compile(r"[\u3040-\u30ff\u3400-\u9fff\uac00-\ud7a3]")
"""Signs of Chinese, Japanese and Korean, of which two make a name (ordinary knowledge, no source)."""
_CLOSE = 1.2
"""Distance of two lines of one name at the most, over the height of their letters (judgement)."""
_IN_BLOCK, _ALIKE = 0.9, 1.7
"""Distance of two lines of one block at the most, over the height of their letters, and the factor between these."""
_OUTSIDE = re.compile(
    r"\b(?:PATIO|PORCH|DECK|TERRACE|BALCONY|VERANDAH?|GARDEN|YARD|COURTYARD|DRIVEWAY|CARPORT|LOGGIA|TERRASSE|BALCON|"
    r"JARDIN|COUR|TERRAZA|TERRAZZA|BALCONE|PATIO|VARANDA|GARTEN|BALKON)\b",
    re.IGNORECASE,
)
"""Names of places in the open (ordinary words in English, French, Spanish, Italian, Portuguese and German)."""

ROUND_MM = 10
MOST_BARE, ROUND_SHARE = 12, 0.6
"""A sheet with this many bare numbers of three figures or more, this part of them whole centimetres, is dimensioned in
bare millimetres (room numbers run on by ones; judgement, no source)."""
MANY_BARE, FAR_APART = 30, 30
"""So is one with this many of them, without feet, whose largest is this many times the least (judgement)."""

_AGAIN = 2.5
"""Times that each number of one form stands on a sheet at the most, on average, where they are those of rooms
(judgement)."""


def has_bare_millimetres(lines: Sequence[TextLine]) -> bool:
    """Tell whether a sheet is dimensioned in bare millimetres, so that a round number is a length and no room's."""
    bare = [line.text.strip() for line in lines if re.fullmatch(r"\d{3,5}", line.text.strip())]
    values = [int(text) for text in bare]
    is_round = len(bare) >= MOST_BARE and sum(map(_is_round, bare)) >= ROUND_SHARE * len(bare)
    is_apart = len(bare) >= MANY_BARE and max(values) > FAR_APART * max(1, min(values))
    return is_round or (is_apart and not any(re.search(r"\d\s*['′]", line.text) for line in lines))


def _is_round(number: str) -> bool:
    return len(number) >= 3 and number.isdigit() and int(number) % ROUND_MM == 0


def numbers_of(lines: Sequence[TextLine]) -> list[TextLine]:
    """Return the lines of a sheet that may be numbers of rooms: no lengths, sizes of openings or marks of them.

    Marks of doors, windows or circuits stand there again and again; rooms' stand once, and once more in a schedule.
    What is written as such marks are, with another letter, is a mark as well: V1 beside D1 and W2.
    """
    in_mm = has_bare_millimetres(lines)
    numbers = [(line, text) for line in lines if _NUMBER.fullmatch(text := line.text.strip())]
    every, different = Counter(_form(text) for _, text in numbers), Counter(map(_form, {text for _, text in numbers}))
    again = {_form(text) for _, text in numbers if every[_form(text)] > _AGAIN * different[_form(text)]}
    marks = {(_shape(text), round(line.size)) for line, text in numbers if _form(text) in again and text[0].isalpha()}
    sized = () if in_mm or not any(size_tag(line) for line, _ in numbers) else size_tags(lines, names_of(lines))
    no_numbers = {id(tag.line) for tag in sized}
    return [
        line
        for line, text in numbers
        if _form(text) not in again
        and (_shape(text), round(line.size)) not in marks
        and not (in_mm and text.isdigit() and (len(text) > 3 or _is_round(text)))
        and id(line) not in no_numbers
    ]


def _form(number: str) -> str:
    return re.sub(r"[0-9]", "0", number)


def _shape(number: str) -> str:
    return re.sub(r"[A-Z]", "A", _form(number))


def other_labels(lines: Sequence[TextLine], numbers: Sequence[str], areas: Sequence[PrintedArea]) -> list[TextLine]:
    """Return the lines that give one of the floor ``areas``, or a number that is written as those of rooms are.

    ``numbers`` are those of the rooms that were read; two of one form tell how numbers of rooms are written.
    """
    usual = {form for form, count in Counter(map(_form, filter(None, numbers))).items() if count > 1}
    sizes = [line.size for line in lines if line.text.strip() in numbers]
    places = {one.at_pt for one in areas}
    low, high = 0.85 * min(sizes, default=0.0), 1.15 * max(sizes, default=0.0)
    return [
        line
        for line in lines
        if (low <= line.size <= high and _form(line.text.strip()) in usual)
        or (line.middle_pt in places and size_tag(line) is None)
    ]


def label_lines(shape: Geometry, lines: Sequence[TextLine]) -> list[TextLine]:
    """Return the lines of text whose middle lies in an area, as they are read from the first to the last."""
    middles = np.array([line.middle_pt for line in lines]).reshape(-1, 2)
    inside = np.flatnonzero(shapely.contains_xy(shape, middles[:, 0], middles[:, 1])).tolist()
    return _in_order([lines[i] for i in inside], lines)


def names_in(shape: Geometry, lines: Sequence[TextLine]) -> list[TextLine]:
    """Return the lines in an area that read as the name of a room, the largest lettering first."""
    return _largest(names_of(label_lines(shape, lines)))


def _largest(named: Sequence[TextLine]) -> list[TextLine]:
    tallest = max((line.size for line in named), default=0.0)
    return [line for line in named if line.size > 0.9 * tallest]


def names_of(lines: Sequence[TextLine]) -> tuple[TextLine, ...]:
    """Return the lines of text that read as the name of a room, wherever they stand.

    Of a block of lines the name is on top or in bold; under it stand finishes, levels and an area. A block that tells
    the builder something holds none.
    """
    names: set[int] = set()
    for block in blocks_of(lines):
        named = [line for line in block if _is_name(line.text)]
        is_label = any(area_in(line.text) is not None for line in block)
        if not is_label:
            named = _without_notes(block, named)
        elif any(line.is_bold for line in named):
            named = [line for line in named if line.is_bold]
        names.update(id(line) for line in named if line is named[0] or not _FINISH.search(line.text))
    return tuple(line for line in lines if id(line) in names)


def _without_notes(block: Sequence[TextLine], named: Sequence[TextLine]) -> list[TextLine]:
    """Leave out what tells the builder something: lines of one size without another between them, one of them such."""
    sentences: list[list[TextLine]] = [[]]
    for line in block:
        is_said = line in named or _is_note(line.text)
        if not is_said or (sentences[-1] and abs(line.size - sentences[-1][-1].size) > 0.1 * line.size):
            sentences.append([])
        if is_said:
            sentences[-1].append(line)
    told = [line for said in sentences if any(_is_note(one.text) for one in said) for line in said]
    return [line for line in named if line not in told]


def blocks_of(lines: Sequence[TextLine]) -> list[list[TextLine]]:
    """Part lines into blocks: lines of about one size close under one another, from top to bottom as they are read."""
    if not lines:
        return []
    way = [_along(line) for line in lines]
    down = _reading_down(lines)
    boxes = np.array([line.box_pt for line in lines])
    size = np.array([line.size for line in lines])
    reach = boxes.copy()
    for i, along in enumerate(way):
        side = (1 - along) + (2 if down[along] > 0 else 0)
        reach[i, side] += down[along] * _IN_BLOCK * size[i]
    above, under = shapely.STRtree(shapely.box(*boxes.T)).query(shapely.box(*reach.T))
    pairs = []
    for i, j in zip(above.tolist(), under.tolist(), strict=True):
        axis, sign = 1 - way[i], down[way[i]]
        step = sign * (boxes[j, axis] + boxes[j, axis + 2] - boxes[i, axis] - boxes[i, axis + 2]) / 2
        if way[i] == way[j] and step > 0.5 * size[i] and max(size[i], size[j]) < _ALIKE * min(size[i], size[j]):
            pairs.append((float(step), i, j))
    after: dict[int, int] = {}
    for _, i, j in sorted(pairs):
        if i not in after and j not in after.values():
            after[i] = j
    blocks = []
    for first in sorted(set(range(len(lines))) - set(after.values())):
        block = [first]
        while block[-1] in after:
            block.append(after[block[-1]])
        blocks.append([lines[i] for i in block])
    return blocks


def _reading_down(lines: Sequence[TextLine]) -> tuple[int, int]:
    """Tell which way the next line stands, for lines along x and along y: towards higher coordinates (1) or lower.

    Lines along y that are read downwards have the next one to their left.
    """
    downwards = sum(
        1 if line.words[-1].box_pt[1] > line.words[0].box_pt[1] else -1
        for line in lines
        if _along(line) and len(line.words) > 1
    )
    return 1, (-1 if downwards > 0 else 1)


def _in_order(lines: Sequence[TextLine], sheet: Sequence[TextLine]) -> list[TextLine]:
    """Sort lines as all on their sheet are read; those that are written another way than most of them come last."""
    down = _reading_down(sheet)
    usual = 2 * sum(map(_along, lines)) > len(lines)
    return sorted(lines, key=lambda one: (_along(one) != usual, down[_along(one)] * one.box_pt[1 - _along(one)]))


def room_label(shape: Geometry, lines: Sequence[TextLine]) -> tuple[str, str]:
    """Return the name and the number of a room; empty where none is read.

    The name is the one with an area or a size under it, else the largest lettering without figures, with what stands
    close under it in the same size; the number is the number that stands nearest to the name.
    """
    within = label_lines(shape, lines)
    with_area = {id(x) for block in blocks_of(within) if any(area_in(y.text) for y in block) for x in block}
    names = _largest(names_of(within))
    names = [name for name in names if id(name) in with_area] or names
    numbers = label_lines(shape, numbers_of(lines)) if any(_NUMBER.fullmatch(x.text.strip()) for x in within) else []
    if not names:
        return "", (numbers[0].text.strip() if len(numbers) == 1 else "")
    name = [names[0]]
    for line in names[1:]:  # a finish that is written in small letters beneath a name in capitals is none of it
        if _gap(line, name[-1]) < _CLOSE * line.size and line.text.isupper() == name[0].text.isupper():
            name.append(line)
    words = " ".join(line.text.strip() for line in name)
    close = [
        line
        for line in numbers
        if _gap(line, name[-1]) < 4.0 * name[-1].size  # what is read another way than the name is a dimension
        and (len(line.text.strip()) < 3 or _along(line) == _along(names[0]))
    ]
    split = re.fullmatch(rf"(?:(?P<a>{_NUMBER.pattern})\s+)?(?P<n>.+?)(?:\s+(?P<b>{_NUMBER.pattern}))?", words)
    if not close and split and (split["a"] or split["b"]) and not _COUNTED.match(words):
        number = split["a"] or split["b"]
        return split["n"], "" if _is_round(number) and has_bare_millimetres(lines) else number
    nearest = min(close, key=lambda line: _gap(line, name[-1]), default=None)
    return words, nearest.text.strip() if nearest else ""


def groups_of_names(shape: Geometry, lines: Sequence[TextLine]) -> int:
    """Count the names in an area, lines that belong together as one."""
    return len(stacked(names_in(shape, lines), lines))


def stacked(names: Sequence[TextLine], lines: Sequence[TextLine]) -> list[list[TextLine]]:
    """Put the lines of one name together: close under one another, or with one of the ``lines`` between them.

    Such a line is no name by itself, as the middle one of OFFICE / NO. 2 / ANNEXE, and no number or area of a room.
    """
    stacks: list[list[TextLine]] = []
    for line in _in_order(names, lines):
        own = next((s for s in stacks if _is_under(line, s[-1]) and _goes_on(line, s[-1], lines)), None)
        if own is None:
            stacks.append([line])
        else:
            own.append(line)
    return stacks


def _goes_on(line: TextLine, above: TextLine, lines: Sequence[TextLine]) -> bool:
    gap, close = _gap(line, above), _CLOSE * line.size
    if gap < close or gap > 3 * close:
        return gap < close
    between = (one for one in lines if _is_under(one, above) and _is_under(line, one))
    return any(
        max(_gap(one, above), _gap(line, one)) < close and one.size < 1.5 * line.size
        for one in between
        if not (_is_name(one.text) or _NUMBER.fullmatch(one.text.strip()) or area_in(one.text))
    )


def _along(line: TextLine) -> int:
    """Tell whether a line is written along x (0) or along y (1), as on a sheet that is displayed turned."""
    x0, y0, x1, y1 = line.box_pt
    return int(y1 - y0 > x1 - x0)


def _is_under(line: TextLine, above: TextLine) -> bool:
    way = _along(above)
    return above.box_pt[way] < line.box_pt[way + 2] and line.box_pt[way] < above.box_pt[way + 2]


def is_outside(name: str) -> bool:
    """Tell whether a name is that of a place in the open.

    Examples
    --------
    >>> is_outside("FRONT PATIO"), is_outside("PATIENT ROOM")
    (True, False)
    """
    return _OUTSIDE.search(name) is not None


def _is_name(text: str) -> bool:
    if len(text.split()) > 3 and text.rstrip().endswith("."):
        return False  # a sentence
    plain = re.sub(r"(?<=[^\W\d])\.", "", without_note(text))  # W.I.C., MSTR. BATH
    if plain.upper() in _SHORT:
        return True
    if area_in(text) is not None:
        return False
    letters = sum(c.isalpha() for c in plain)
    bare = re.sub(r"\s*\b\d{1,4}[A-Z]?$|^\d{1,4}[A-Z]?\b\s*", "", plain)
    least = 2 if _SIGNS.search(plain) else 3
    is_word = letters >= least and letters > 0.6 * len(bare.replace(" ", ""))
    return is_word and not _NO_NAME.search(bare) and not _PART.search(bare)


def _is_note(text: str) -> bool:
    return _NOTE.search(without_note(text)) is not None and not re.match(r"\s*OPEN\s+TO\b", text, re.IGNORECASE)


def _gap(one: TextLine, other: TextLine) -> float:
    """Return the distance between the boxes of two lines."""
    return float(shapely.box(*one.box_pt).distance(shapely.box(*other.box_pt)))
