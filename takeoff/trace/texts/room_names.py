"""Names and numbers of rooms from the text that stands inside them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Geometry

from takeoff.sheet.text import TextLine
from takeoff.trace.texts.printed_areas import area_in
from takeoff.trace.texts.scope_words import without_note
from takeoff.trace.texts.size_tags import size_tag, size_tags

_NUMBER = re.compile(r"(?:[A-Z]{0,2}[-.]?)?\d{1,4}(?:-\d{1,3})?[A-Z]?", re.ASCII)
_SHORT = frozenset({"WC", "W/C", "IT", "JC", "EL", "AV", "MER", "BA"})
"""Names of rooms with fewer than three letters, or with a stroke (common practice, no source)."""
_NO_NAME = re.compile(r"[\d'\".:=×x@%]|(?<![A-Za-z])/|/(?![A-Za-z])|^(?:CLG|FFL|UP|DN|TYP|N\.?T\.?S)\b", re.IGNORECASE)


ROUND_MM = 10
MOST_BARE, ROUND_SHARE = 12, 0.6
"""A sheet with this many bare numbers of three figures or more, this part of them whole centimetres, is dimensioned in
bare millimetres (room numbers run on by ones; judgement, no source)."""


def has_bare_millimetres(lines: Sequence[TextLine]) -> bool:
    """Tell whether a sheet is dimensioned in bare millimetres, so that a round number is a length and no room's."""
    bare = [line.text.strip() for line in lines if re.fullmatch(r"\d{3,5}", line.text.strip())]
    return len(bare) >= MOST_BARE and sum(_is_round(text) for text in bare) >= ROUND_SHARE * len(bare)


def _is_round(number: str) -> bool:
    return len(number) >= 3 and number.isdigit() and int(number) % ROUND_MM == 0


def other_labels(lines: Sequence[TextLine], numbers: Sequence[str]) -> list[TextLine]:
    """Return the lines that give a floor area, or a number that is written as those of rooms are.

    ``numbers`` are those of the rooms that were read; two of one form tell how numbers of rooms are written.
    """
    forms = Counter(re.sub(r"[0-9]", "0", number) for number in numbers if number)
    usual = {form for form, count in forms.items() if count > 1}
    sizes = [line.size for line in lines if line.text.strip() in numbers]
    low, high = 0.85 * min(sizes, default=0.0), 1.15 * max(sizes, default=0.0)
    return [
        line
        for line in lines
        if (low <= line.size <= high and re.sub(r"[0-9]", "0", line.text.strip()) in usual)
        or (area_in(line.text) is not None and size_tag(line) is None)
    ]


def label_lines(shape: Geometry, lines: Sequence[TextLine]) -> list[TextLine]:
    """Return the lines of text whose middle lies in an area, top to bottom."""
    middles = np.array([line.middle_pt for line in lines]).reshape(-1, 2)
    inside = np.flatnonzero(shapely.contains_xy(shape, middles[:, 0], middles[:, 1])).tolist()
    return sorted((lines[i] for i in inside), key=lambda line: line.box_pt[1])


def names_in(shape: Geometry, lines: Sequence[TextLine]) -> list[TextLine]:
    """Return the lines in an area that read as the name of a room, the largest lettering first."""
    named = [line for line in label_lines(shape, lines) if _is_name(line.text)]
    if not named:
        return []
    tallest = max(line.size for line in named)
    return [line for line in named if line.size > 0.9 * tallest]


def names_of(lines: Sequence[TextLine]) -> tuple[TextLine, ...]:
    """Return the lines of text that read as the name of a room, wherever they stand."""
    return tuple(line for line in lines if _is_name(line.text))


def room_label(shape: Geometry, lines: Sequence[TextLine]) -> tuple[str, str]:
    """Return the name and the number of a room; empty where none is read.

    The name is the largest lettering without figures, with what stands close under it in the same size; the number is
    the number that stands nearest to the name.
    """
    names = names_in(shape, lines)
    in_mm = has_bare_millimetres(lines)
    inside = [(line, line.text.strip()) for line in label_lines(shape, lines)]
    sizes = () if in_mm else size_tags(lines, names_of(lines))
    no_numbers = {id(tag.line) for tag in sizes}
    numbers = [
        line
        for line, text in inside
        if _NUMBER.fullmatch(text) and not (in_mm and _is_round(text)) and id(line) not in no_numbers
    ]
    if not names:
        return "", (numbers[0].text.strip() if len(numbers) == 1 else "")
    name = [names[0]]
    for line in names[1:]:
        if _gap(line, name[-1]) < 1.2 * line.size:
            name.append(line)
    words = " ".join(line.text.strip() for line in name)
    close = [line for line in numbers if _gap(line, name[-1]) < 4.0 * name[-1].size]
    split = re.fullmatch(rf"(?:(?P<a>{_NUMBER.pattern})\s+)?(?P<n>.+?)(?:\s+(?P<b>{_NUMBER.pattern}))?", words)
    if not close and split and (split["a"] or split["b"]):
        number = split["a"] or split["b"]
        return split["n"], "" if in_mm and _is_round(number) else number
    nearest = min(close, key=lambda line: _gap(line, name[-1]), default=None)
    return words, nearest.text.strip() if nearest else ""


def groups_of_names(shape: Geometry, lines: Sequence[TextLine]) -> int:
    """Count the names in an area, lines that belong together as one."""
    count = 0
    before: TextLine | None = None
    for line in sorted(names_in(shape, lines), key=lambda n: n.box_pt[1]):
        if before is None or _gap(line, before) >= 1.2 * line.size:
            count += 1
        before = line
    return count


def _is_name(text: str) -> bool:
    plain = without_note(text)
    if plain.upper() in _SHORT:
        return True
    letters = sum(c.isalpha() for c in plain)
    bare = re.sub(r"\s*\b\d{1,4}[A-Z]?$|^\d{1,4}[A-Z]?\b\s*", "", plain)
    return letters >= 3 and letters > 0.6 * len(bare.replace(" ", "")) and not _NO_NAME.search(bare)


def _gap(one: TextLine, other: TextLine) -> float:
    """Return the distance between the boxes of two lines."""
    return float(shapely.box(*one.box_pt).distance(shapely.box(*other.box_pt)))
