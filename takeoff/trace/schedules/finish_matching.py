"""What a finish schedule says, laid upon the rooms and systems of a job.

A row belongs to the room with its number, else to the only one with its name. A wall code stands for the system that a
person names for it, that has the code as its id, or whose words are nearest to the code's words in the legend: the last
is a proposal and is told as one.
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from takeoff.errors import InputError
from takeoff.model.systems import System
from takeoff.model.walls import Cove, HeightProfile, Room
from takeoff.trace.schedules.finish_schedule import FinishRow, FinishSchedule
from takeoff.trace.schedules.text_tables import length_in

How = Literal["number", "name"]

NEAR = 0.4
"""Least likeness of a code's words to a system's, 0 to 1."""
CLEAR = 1.15
"""The likeness of the best system is at least so many times that of the next."""
_WORD = re.compile(r"[a-z]{3,}")
_COMMON = {"and", "with", "the", "for", "see", "two", "coat", "coats", "coating", "finish"}
_MAYBE_COVE = re.compile(r"integral|resin|epoxy|urethane|mortar|trowel", re.IGNORECASE)
"""Words of a base that can be laid as a cove (common practice, no source)."""
_OF_WALLS = re.compile(
    r"\b(?:WALL|SIDE|WAINSCOT)S?\b.*\b(?:ONLY|EXCEPT|FULL|GLAZED|TILED?|PANELS?)\b|\b(?:ONLY|EXCEPT)\b.*\b(?:WALL|SIDE)S?\b|"
    r"\b(?:NORTH|EAST|SOUTH|WEST)\b.*\b(?:ONLY|EXCEPT|FULL|GLAZED)\b|\b(?:ONLY|EXCEPT)\b.*\b(?:NORTH|EAST|SOUTH|WEST)\b|"
    r"\b(?:WAINSCOT|BEHIND|ABOVE|BELOW|ELSEWHERE|HALF|EXCEPT|\d+\s+(?:WALL|SIDE|ROOM)S|X\s?\d|TYP\w*\.?\s+OF)\b|\b[2-9]X\b|"
    r"\bTO\s+(?:THE\s+)?(?:\d|\+|UNDERSIDE|U/S|DECK|STRUCT|SOFFIT|CEILING|CLG|ROOF|SLAB|WINDOW|SILL|DOOR|HEAD|FRAME)|"
    r"\d\s*(?:['\"’”]|MM|M|CM|IN|FT)(?!\w)|\b(?:SLOP|VAULT|VARI|DROPP)\w*|"
    r"\b(?:N\.?I\.?C|NOT\s+(?:IN\s+CONTRACT|USED)|DELETED?|OMIT(?:TED)?|ALT(?:ERNATE)?|FUTURE|PHASE|TENANT|OWNER|OTHERS?|"
    r"EXIST\w*|REMAIN|RE-?USED?|SHELL|T\.?B\.?D|VERIFY|CONFIRM|HOLD|TILED?|ACOUSTIC|NO\s+WORK|BY\s+\w+)\b|"
    r"\bNO\b.*\b(?:COAT|FINISH)|\bELEV|\b(?:SEE|PER|REFER)\b|\b\w{1,2}\s*/\s*[A-Z]{1,2}[-.]?\d|"
    r"^\W*(?:(?:FINISH\s+)?NOTES?\b[^A-Z]*|[A-Z]|\d{1,2}(?:\W+\d{1,2})*\W*)$",
    re.IGNORECASE,
)
"""What remarks say that changes which walls are coated, or how high, how often, or whether; or that something else says
it (common practice, no source)."""
_OF_OTHERS = re.compile(
    r"\b(?:FLOOR|BASE|COVE|CEILING|CLG|DOOR|FRAME|WINDOW|SILL|REVEAL|LIGHT|FIXTURE)S?\b", re.IGNORECASE
)
_IS_PLACE = re.compile(r"\b(?:TO|ABOVE|BELOW|BEHIND|OVER|UNDER|FROM|BETWEEN|SLOPED)\s+(?:THE\s+)?$|\d", re.IGNORECASE)
"""What stands before such a word where it only says how far: EPOXY TO 8', PAINT ABOVE CEILING."""
_HIGH_CEILING = re.compile(r"\b(?:CEILING|CLG)\b.*\d", re.IGNORECASE)
_OF_ANY = frozenset(("room", "rm", "area", "space", "and", "of", "no"))
"""Words in names of rooms that tell none from another."""
_NO_BASE = re.compile(r"^\W*(?:no|none|without)\b", re.IGNORECASE)
_LENGTH = r"(\d[\d\s./'\"′″-]*(?:mm|cm|m|in|ft|'|\"|′|″))"


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeMeaning:
    """A wall code, the system that it stands for, and how that was found; no system where it was not."""

    code: str
    words: str
    system: str | None
    how: Literal["named", "id", "words", ""]


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishedRoom:
    """A room as the schedule would have it, the row that says so, and how they were matched.

    ``changes`` names in words what differs from the room as it was.
    """

    room: Room
    row: FinishRow
    how: How
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScheduleMatch:
    """A schedule laid upon a job: rooms with what they get, and everything that could not be matched."""

    rooms: tuple[FinishedRoom, ...]
    codes: tuple[CodeMeaning, ...]
    rows_left: tuple[FinishRow, ...]
    rooms_left: tuple[Room, ...]
    doubts: tuple[str, ...]
    schedule: FinishSchedule


def match_schedule(
    schedule: FinishSchedule,
    rooms: Iterable[Room],
    systems: Mapping[str, System],
    named: Mapping[str, str] | None = None,
) -> ScheduleMatch:
    """Match the rows of a schedule to rooms by number, then by name, and their codes to systems.

    Raises `InputError` when a named system is not in the job.

    Parameters
    ----------
    schedule
        The schedule as read.
    rooms
        The rooms of the job.
    systems
        The systems of the job by id.
    named
        System ids by wall code, as a person names them.
    """
    for code, system in (named or {}).items():
        if system not in systems:
            known = ", ".join(systems) or "none"
            raise InputError(f'there is no system "{system}" for code {code}', remedy=f"Known: {known}.")
    meanings = {
        code: _meaning(code, schedule.legend.get(code, ""), systems, named or {})
        for code in dict.fromkeys(wall.upper() for row in schedule.rows for wall in row.walls)
    }
    doubts = list(schedule.doubts)
    matched: list[FinishedRoom] = []
    pairs, rows_left, left = _paired(schedule.rows, rooms)
    for row, room, how in pairs:
        finished, told = _finished(row, room, meanings, schedule.legend)
        remark = wall_remark(row, {*meanings, *schedule.legend})
        doubts += told
        if remark and finished.system is None:
            doubts.append(f"room {row.number}: its remarks say “{remark}”, and nothing was taken from it")
        changes = tuple(of for of in ("system", "height", "cove") if getattr(room, of) != getattr(finished, of))
        matched.append(FinishedRoom(room=finished, row=row, how=how, changes=changes))
    for meaning in meanings.values():
        if meaning.system is None:
            words = f" “{meaning.words}”" if meaning.words else ""
            doubts.append(f"code {meaning.code}{words} stands for no one system of the job")
    return ScheduleMatch(
        rooms=tuple(matched),
        codes=tuple(meanings.values()),
        rows_left=tuple(rows_left),
        rooms_left=tuple(left),
        doubts=tuple(doubts),
        schedule=schedule,
    )


def _paired(
    rows: Iterable[FinishRow], rooms: Iterable[Room]
) -> tuple[list[tuple[FinishRow, Room, How]], list[FinishRow], list[Room]]:
    """Pair rows with the one room of their number, else of their name; also the rows and rooms that are left."""
    rows_left, left = list(rows), list(rooms)
    pairs: list[tuple[FinishRow, Room, How]] = []
    hows: tuple[How, ...] = ("number", "name")
    for how in hows:
        for row in list(rows_left):
            found = [room for room in left if _is_same(row, room, how)]
            if len(found) == 1:
                pairs.append((row, found[0], how))
                left.remove(found[0])
                rows_left.remove(row)
    return pairs, rows_left, left


def _is_same(row: FinishRow, room: Room, how: How) -> bool:
    if how == "number":
        return bool(row.number) and row.number.casefold() == room.number.strip().casefold()
    return not room.number and bool(row.name) and row.name.casefold() == room.name.strip().casefold()


def is_one_name(one: str, other: str) -> bool:
    """Tell whether two names may be of one room: a word of one is one of the other or abbreviates it, or none is given.

    Examples
    --------
    >>> is_one_name("STOR. RM", "Storage"), is_one_name("Men", "MEN'S TLT"), is_one_name("WASH ROOM", "STORE ROOM")
    (True, True, False)
    """
    words = [
        [word for word in re.findall(r"[^\W\d_]{2,}", name.casefold().replace("'", "")) if word not in _OF_ANY]
        for name in (one, other)
    ]
    return not all(words) or any(_abbreviates(a, b) or _abbreviates(b, a) for a in words[0] for b in words[1])


def _abbreviates(short: str, word: str) -> bool:
    letters = iter(word)
    return short[0] == word[0] and all(letter in letters for letter in short)


def _finished(
    row: FinishRow, room: Room, meanings: Mapping[str, CodeMeaning], legend: Mapping[str, str]
) -> tuple[Room, list[str]]:
    """Return a room as its row would have it, and what the row leaves open."""
    told: list[str] = []
    made = room
    if row.wall:
        system = meanings[row.wall.upper()].system
        made = replace(made, system=system or room.system)
    elif row.walls:
        told.append(walls_differ(row))
    if row.height is not None:
        made = replace(made, height=HeightProfile.constant(row.height))
    words = legend.get(row.base.upper(), row.base)
    if "cove" in words.lower():
        cove = cove_in_words(words)
        if cove is None:
            told.append(f"room {row.number}: base {row.base} is a cove without a height")
        elif room.cove is None or not _agrees(room.cove, cove):
            made = replace(made, cove=cove)
    elif row.base and row.base.upper() in legend and (_NO_BASE.search(words) or not _MAYBE_COVE.search(words)):
        made = replace(made, cove=None)
    elif row.base and any(meanings[wall.upper()].system for wall in row.walls):
        said = f" “{words}”" if words != row.base else ""
        told.append(f"base {row.base}{said} may be a cove, and nothing says so; no cove is taken")
    return made, told


def wall_remark(row: FinishRow, codes: Collection[str]) -> str:
    """Return what the remarks of a row say of its walls beside their code; empty where they say nothing of them.

    Parameters
    ----------
    row
        A row of the schedule.
    codes
        The codes that the schedule knows.

    Examples
    --------
    >>> row = FinishRow(number="1", walls=("W1",), remarks="Seal floor to 4 in; W2 behind sink; new lights")
    >>> wall_remark(row, ["W1", "W2"])
    'W2 behind sink'
    """
    known, said = {code.upper() for code in codes}, []
    for clause in re.split(r"\s*[;\n]\s*|\.\s+", row.remarks):
        other = _OF_OTHERS.search(clause)
        before = clause[: other.start()] if other else clause
        is_named = not known.isdisjoint(word.upper() for word in re.findall(r"[\w-]+", before))
        is_own = (not other or _IS_PLACE.search(before)) and _OF_WALLS.search(clause)
        if is_own or is_named or _HIGH_CEILING.search(clause):
            said.append(clause.strip())
    return "; ".join(said)


def walls_differ(row: FinishRow) -> str:
    """Say that the walls of a room have several finishes."""
    said = ", ".join(f"{wall.side} {wall.code or '-'}" for wall in row.by_side) or ", ".join(row.walls)
    return f"room {row.number}: its walls differ ({said}); set the system of each wall"


def cove_in_words(words: str) -> Cove | None:
    r"""Read a cove from the words of a legend: its height, and its radius if they give one; lengths in metres.

    What they leave open is as is usual (`takeoff.model.walls.Cove.usual`).

    Examples
    --------
    >>> cove = cove_in_words('Integral cove base, 4" high, 1" radius')
    >>> cove.height, cove.radius
    (0.1016, 0.0254)
    """
    height = _length_at(words, rf"{_LENGTH}\s*(?:high|height|tall|integral|cove|base)", rf"cove[^\d]*{_LENGTH}")
    if not height:
        return None
    radius = _length_at(words, rf"{_LENGTH}\s*rad", rf"radius[^\d]*{_LENGTH}")
    return Cove.usual(height, radius=min(radius, height) if radius else None)


def _length_at(words: str, *patterns: str) -> float | None:
    for pattern in patterns:
        found = re.search(pattern, words, re.IGNORECASE)
        if found and (length := length_in(found[1])) is not None:
            return length
    return None


def _agrees(cove: Cove, stated: Cove) -> bool:
    """Tell whether a room's cove is the stated one: thickness and returns are the room's own affair."""
    return math.isclose(cove.height, stated.height, abs_tol=5e-4) and math.isclose(
        cove.radius, stated.radius, abs_tol=5e-4
    )


def _meaning(code: str, words: str, systems: Mapping[str, System], named: Mapping[str, str]) -> CodeMeaning:
    """Find the system that a wall code stands for."""
    by_hand = {key.upper(): value for key, value in named.items()}.get(code)
    if by_hand is not None:
        return CodeMeaning(code=code, words=words, system=by_hand, how="named")
    ids = [id for id in systems if id.upper() == code]
    if ids:
        return CodeMeaning(code=code, words=words, system=ids[0], how="id")
    nearest = _nearest(words, systems)
    return CodeMeaning(code=code, words=words, system=nearest, how="words" if nearest else "")


def _nearest(words: str, systems: Mapping[str, System]) -> str | None:
    """Return the system whose id or name is most like some words, if one is clearly so."""
    asked = _stems(words)
    if not asked or not systems:
        return None
    bags = {id: (_stems(id), _stems(system.name)) for id, system in systems.items()}
    weights = _rarity([one | two for one, two in bags.values()])
    likeness = {id: max(_cosine(asked, bag, weights) for bag in both) for id, both in bags.items()}
    ranked = sorted(likeness, key=lambda id: -likeness[id])
    best = likeness[ranked[0]]
    is_clear = len(ranked) == 1 or best >= CLEAR * likeness[ranked[1]]
    return ranked[0] if best >= NEAR and is_clear else None


def _stems(text: str) -> set[str]:
    """Return the telling words of a text, cut so that ``filler`` and ``filled`` are one."""
    return {word[:4] for word in _WORD.findall(text.lower()) if word not in _COMMON}


def _rarity(bags: Sequence[set[str]]) -> dict[str, float]:
    """Return a weight for each word: the fewer systems have it, the more it tells."""
    every = set().union(*bags)
    return {word: math.log(1 + len(bags) / sum(word in bag for bag in bags)) for word in every}


def _cosine(one: set[str], other: set[str], weights: Mapping[str, float]) -> float:
    """Return how alike two sets of words are; a word that no system has counts as a common one."""
    least = math.log(2)

    def mass(words: set[str]) -> float:
        return sum(weights.get(word, least) ** 2 for word in words)

    return mass(one & other) / math.sqrt(mass(one) * mass(other)) if one and other else 0.0
