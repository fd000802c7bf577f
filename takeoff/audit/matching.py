"""Match stated areas to rooms by number and name, tolerantly, and say how each match came about."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher

from takeoff.audit.areas import RoomAreas
from takeoff.audit.stated import StatedArea
from takeoff.model.walls import Room

ALIKE = 0.8
"""Similarity from which two spellings are one word: one slip in five letters (judgement, no source)."""
GOOD_NAME = 0.75
"""Likeness of names from which a room is matched by its name alone (judgement, no source)."""
WALL_SLACK = 0.31
"""Metres by which a printed length may differ from a wall's: lengths are printed to a foot (common practice, no
source)."""
_LOOKALIKES = str.maketrans("OILSB", "01158")
_AND = re.compile(r" *(?:[&+,;–]|\b(?:and|to|thru|through|und|bis|et)\b) *", re.IGNORECASE)
"""What stands between the numbers of several rooms in one row."""
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


def room_numbers(text: str) -> tuple[str, ...]:
    """List the room numbers of a row that names several; one or none where it names one room.

    Examples
    --------
    >>> room_numbers("101 & 102"), room_numbers("103-105"), room_numbers("1-104")
    (('101', '102'), ('103', '105'), ())
    """
    text = re.sub(r"^(rooms?|rms?|räume|raum)\b\.?", "", text.strip(), flags=re.IGNORECASE).strip()
    parts = _AND.split(text)
    ends = text.split("-")
    if len(ends) == 2 and len(ends[0]) == len(ends[1]):
        parts = ends
    return tuple(parts) if all(re.fullmatch(r"[^\W\d]{0,2}[0-9]+[^\W\d]?", part) for part in parts) else ()


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
    """Match each stated area to a room: by number, by number with look-alike letters, by name, by what numbers share.

    A number wins over a name that does not agree, with a doubt. A room that is stated more than once keeps all of its
    rows, with a doubt. Where several rooms fit equally well none is taken.
    """
    matches = _by_core([_match(s, rooms) for s in stated], rooms)
    places: dict[str, list[str]] = {}
    for m in matches:
        if m.room is not None:
            places.setdefault(m.room, []).append(m.stated.where or m.stated.label)
    return tuple(
        replace(m, doubts=(*m.doubts, f"the room is stated {len(found)} times: {', '.join(found)}"))
        if len(found := places.get(m.room or "", [])) > 1
        else m
        for m in matches
    )


def number_cores(text: str) -> frozenset[str]:
    """Numbers that a room number comes down to without a prefix of building or floor and without a letter behind.

    Examples
    --------
    >>> [sorted(number_cores(t)) for t in ("R-104", "L1-104", "1/104", "104-A", "A104", "Hall")]
    [['104'], ['104'], ['104'], ['104'], ['104'], []]
    """
    last = re.split(r"[-/. _]+(?=[0-9])", unicodedata.normalize("NFKC", text).upper().strip())[-1]
    found = re.fullmatch(r"[^0-9]*0*([0-9]{1,5})[-. ]?[A-Z]?", last)
    return frozenset({found[1]}) if found else frozenset()


def _by_core(matches: Sequence[RoomMatch], rooms: Sequence[Room]) -> list[RoomMatch]:
    """Match rows that found no room by what their number and a free room's have in common, one to one only."""
    taken = {m.room for m in matches}
    own = {r.id: number_cores(r.number or r.name or r.id) for r in rooms if r.id not in taken}
    claims: dict[str, list[RoomMatch]] = {}
    for m in matches:
        for core in number_cores(m.stated.number) if m.room is None else ():
            claims.setdefault(core, []).append(m)
    out = []
    for m in matches:
        is_one = m.room is None and len(room_numbers(m.stated.number)) < 2
        cores = number_cores(m.stated.number) if is_one else frozenset()
        found = [r for r in rooms if cores & own.get(r.id, frozenset())]
        if len(found) == 1 and all(len(claims[c]) == 1 for c in cores):
            room = found[0]
            out.append(_by_number(m.stated, room, f'number "{m.stated.number}" as "{room.number or room.id}"'))
        else:
            out.append(m)
    return out


def match_walls(stated: Sequence[StatedArea], walls: Mapping[str, RoomAreas]) -> tuple[RoomMatch, ...]:
    """Match each row of a table of walls to a wall: by its name, else by length and height, else by length alone.

    Rows and walls are paired so that sizes fit best one to one: a length may differ by what rounding to a whole foot
    or 0.1 m hides. ``walls``: each measured alone, by its name.
    """
    free = dict(walls)
    out: dict[int, RoomMatch] = {}
    for i, s in enumerate(stated):
        named = [id for id in free if plain_number(id) in {plain_number(t) for t in (s.number, s.name) if t}]
        if len(named) == 1:
            out[i] = RoomMatch(stated=s, room=named[0], how="name")
            del free[named[0]]
    pairs = sorted(
        (
            abs(s.length - w.perimeter),
            abs((s.height or 0.0) - (w.height or 0.0)),
            abs(s.area - w.areas["net"][0]),
            i,
            id,
        )
        for i, s in enumerate(stated)
        for id, w in free.items()
        if i not in out and s.length is not None and abs(s.length - w.perimeter) <= WALL_SLACK
        if s.height is None or w.height is None or abs(s.height - w.height) <= WALL_SLACK / 2.0
    )
    # of walls of one printed size the areas tell which is which
    pairs.sort(key=lambda pair: (round(pair[1] / WALL_SLACK), pair[2], pair[0]))
    for _, _, _, i, id in pairs:
        if i not in out and id in free:
            size = "length and height" if stated[i].height is not None else "length"
            out[i] = RoomMatch(stated=stated[i], room=id, how=size)
            del free[id]
    nothing = "no wall of that name or size"
    return tuple(out.get(i, RoomMatch(stated=s, room=None, how=nothing)) for i, s in enumerate(stated))


def _match(stated: StatedArea, rooms: Sequence[Room]) -> RoomMatch:
    wanted = plain_number(stated.number)
    if len(numbers := {plain_number(part) for part in room_numbers(stated.number)}) > 1:
        several = [r for r in rooms if r.number and plain_number(r.number) in numbers]
        if len(several) > 1 and not any(plain_number(r.number) == wanted for r in rooms):
            return _unclear(stated, several, "states several rooms in one row")
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


def _unclear(stated: StatedArea, found: Sequence[Room], why: str = "fits several rooms") -> RoomMatch:
    names = ", ".join(" ".join(t for t in (r.number, r.name) if t) or r.id for r in found)
    return RoomMatch(stated=stated, room=None, how=f"{why}: {names}")
