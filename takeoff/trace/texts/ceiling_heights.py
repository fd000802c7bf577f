"""Ceiling heights that are printed in rooms, such as CLG 9'-0" under a name, or CH 2700."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import Geometry

from takeoff.errors import LengthError
from takeoff.model.plan import Point
from takeoff.sheet.text import TextLine
from takeoff.units import parse_length

LOWEST, HIGHEST = 1.8, 30.0
"""Metres between which a printed height is believed (common practice, no source)."""

_WORD = (
    r"(?:C\.?L\.?G\.?|CEIL(?:ING)?\.?|C\.?H\.?)(?:\s*(?:HEIGHT|HGT\.?|HT\.?))?|"
    r"(?:P\.?D\.?|HSP|RH)(?=\s*[:=])"
)
"""PD is the *pé-direito* of Brazil, HSP the *hauteur sous plafond*, RH the *Raumhöhe* (ordinary words, no source)."""
_HEIGHT = (
    r"\d(?:[\d\s.,'\"’”′″/½¼¾⅛⅜⅝⅞~–-]|(?:mm|cm|m|ft|feet|in|inches|to|and|varies|slop(?:es|ed)|min|max|[nsew])\b\.?)*"
)
"""A height, or two of a ceiling that slopes; a note on what the ceiling is made of is none."""
_TAIL = r"(?:\s*A\.?F\.?F\.?(?:L\.?)?)?"
_BEFORE = re.compile(rf"(?:{_WORD})\s*[:=@]?\s*\+?\s*(?P<height>{_HEIGHT}?){_TAIL}", re.IGNORECASE)
_BEHIND = re.compile(rf"\+?\s*(?P<height>{_HEIGHT}?)\s*(?:{_WORD}){_TAIL}", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class CeilingNote:
    """A printed ceiling height: its text, its middle in sheet points, and the height in metres.

    ``height`` is ``None`` where the text does not give one height, as for a ceiling that slopes.
    """

    text: str
    at_pt: Point
    height: float | None


def read_ceiling_notes(lines: Sequence[TextLine]) -> tuple[CeilingNote, ...]:
    """Return the lines of a sheet's text that give the height of a ceiling.

    A bare whole number is millimetres, or centimetres where only that is a height; another bare number is no height.
    """
    notes = []
    for line in lines:
        text = line.text.strip()
        found = _BEFORE.fullmatch(text) or _BEHIND.fullmatch(text)
        if found is not None:
            notes.append(CeilingNote(text=text, at_pt=line.middle_pt, height=_height(found["height"])))
    return tuple(notes)


def notes_inside(shape: Geometry, notes: Sequence[CeilingNote]) -> tuple[CeilingNote, ...]:
    """Return the notes whose middle lies in an area in sheet points."""
    return tuple(note for note in notes if shape.contains(shapely.Point(note.at_pt)))


def one_height(notes: Sequence[CeilingNote]) -> float | None:
    """Return the height in metres that all notes of a room give; nothing where they differ or one gives none."""
    heights = {note.height for note in notes}
    return heights.pop() if len(heights) == 1 else None


def _height(text: str) -> float | None:
    plain = text.strip()
    if re.fullmatch(r"\d{3}", plain):
        plain = f"{plain} cm"  # as millimetres it is under a metre
    try:
        height = parse_length(plain)
    except LengthError:
        return None
    return height if LOWEST <= height <= HIGHEST else None
