"""Match stated areas to rooms by number and name, tolerantly, and say how each match came about."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher

from takeoff.audit.stated import StatedArea
from takeoff.model.walls import Room

ALIKE = 0.8
"""Similarity from which two spellings are one word: one slip in five letters (judgement, no source)."""
GOOD_NAME = 0.75
"""Likeness of names from which a room is matched by its name alone (judgement, no source)."""
_LOOKALIKES = str.maketrans("OILSB", "01158")
_NOISE = frozenset({"room", "rm", "no", "the", "area", "and"})


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomMatch:
    """A stated area and the room it belongs to (id, or ``None``), how it was found, and what is doubtful."""

    stated: StatedArea
    room: str | None
    how: str
    doubts: tuple[str, ...] = ()


def plain_number(text: str) -> str:
    """Bring a room number into one form: no "room", no blanks, dots or hyphens, no leading zeros.

    Examples
    --------
    >>> plain_number("Rm. 0104-A"), plain_number("104a"), plain_number("#B-07")
    ('104A', '104A', 'B7')
    """
    plain = unicodedata.normalize("NFKC", text).upper()
    plain = re.sub(r"\b(ROOM|RM|NO|NUMBER|NR)\b\.?|[^0-9A-Z]", "", plain)
    return re.sub(r"(?<![0-9])0+(?=[0-9])", "", plain)


def name_words(text: str) -> tuple[str, ...]:
    """List the words of a room name that tell rooms apart, in lower case."""
    plain = unicodedata.normalize("NFKD", text).casefold()
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    return tuple(w for w in re.findall(r"[a-z0-9]+", plain) if w not in _NOISE)


def name_likeness(one: str, other: str) -> float:
    """Tell how alike two room names are, 0 to 1; abbreviations and slips of the pen count as the word.

    Examples
    --------
    >>> name_likeness("STOR. RM", "Store"), round(name_likeness("Recieving", "Receiving"), 1)
    (1.0, 1.0)
    >>> name_likeness("Wash", "Process")
    0.0
    """
    first, second = name_words(one), name_words(other)
    if not first or not second:
        return 0.0
    if "".join(first) == "".join(second):
        return 1.0
    left = list(second)
    found = 0
    for word in first:
        hit = next((w for w in left if _one_word(word, w)), None)
        if hit is not None:
            left.remove(hit)
            found += 1
    return 2.0 * found / (len(first) + len(second))


def _one_word(a: str, b: str) -> bool:
    short, long = sorted((a, b), key=len)
    if short.isdigit() or long.isdigit():
        return short == long
    if len(short) >= 3 and long.startswith(short):
        return True
    # consonants alone, as in CORR or MTG: first letters agree and the letters come in order
    if len(short) >= 3 and short[0] == long[0] and not set(short[1:]) & set("aeiou"):
        letters = iter(long)
        return all(c in letters for c in short)
    return SequenceMatcher(None, short, long).ratio() >= ALIKE


def match_rooms(stated: Sequence[StatedArea], rooms: Sequence[Room]) -> tuple[RoomMatch, ...]:
    """Match each stated area to a room: by number, else by number with look-alike letters, else by name.

    A number wins over a name that does not agree, with a doubt. A room that is stated more than once keeps all of its
    rows, with a doubt. Where several rooms fit equally well none is taken.
    """
    matches = [_match(s, rooms) for s in stated]
    counts: dict[str, list[str]] = {}
    for m in matches:
        if m.room is not None:
            counts.setdefault(m.room, []).append(m.stated.where or m.stated.label)
    out = []
    for m in matches:
        places = counts.get(m.room or "", [])
        doubts = (*m.doubts, f"the room is stated {len(places)} times: {', '.join(places)}") if len(places) > 1 else ()
        out.append(RoomMatch(stated=m.stated, room=m.room, how=m.how, doubts=doubts or m.doubts))
    return tuple(out)


def _match(stated: StatedArea, rooms: Sequence[Room]) -> RoomMatch:
    wanted = plain_number(stated.number)
    for how, same in (("number", False), ("number, letters that look like digits", True)):
        if not wanted:
            break
        found = [r for r in rooms if r.number and _numbered(r.number, same) == _numbered(stated.number, same)]
        if len(found) > 1 and stated.name:
            found = [r for r in found if name_likeness(stated.name, r.name) >= GOOD_NAME] or found
        if len(found) == 1:
            return _by_number(stated, found[0], how)
        if found:
            return _unclear(stated, found)
    best = sorted(((name_likeness(stated.name, r.name), r) for r in rooms), key=lambda pair: -pair[0])
    good = [(score, r) for score, r in best if score >= GOOD_NAME]
    top = [r for score, r in good if score == good[0][0]]
    if len(top) == 1:
        room = top[0]
        doubts: tuple[str, ...] = ()
        if wanted and room.number:
            doubts = (f"the schedule gives it the number {stated.number}, the job {room.number}",)
        return RoomMatch(stated=stated, room=room.id, how=f'name "{stated.name}" as "{room.name}"', doubts=doubts)
    if top:
        return _unclear(stated, top)
    return RoomMatch(stated=stated, room=None, how="no room of that number or name")


def _numbered(text: str, is_lookalike: bool) -> str:
    plain = plain_number(text)
    return plain.translate(_LOOKALIKES) if is_lookalike and any(c.isdigit() for c in plain) else plain


def _by_number(stated: StatedArea, room: Room, how: str) -> RoomMatch:
    if not (stated.name and room.name):
        return RoomMatch(stated=stated, room=room.id, how=how)
    if name_likeness(stated.name, room.name) >= 0.5:
        return RoomMatch(stated=stated, room=room.id, how=f"{how} and name")
    doubt = f'room {room.number} is called "{stated.name}" in the schedule and "{room.name}" in the job'
    return RoomMatch(stated=stated, room=room.id, how=how, doubts=(doubt,))


def _unclear(stated: StatedArea, found: Sequence[Room]) -> RoomMatch:
    names = ", ".join(" ".join(t for t in (r.number, r.name) if t) or r.id for r in found)
    return RoomMatch(stated=stated, room=None, how=f"fits several rooms: {names}")
