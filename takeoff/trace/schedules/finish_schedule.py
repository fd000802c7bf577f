"""The finish schedule of a text sheet, read as a table: rooms with their wall finish, base and height.

A *heading row* is a row of text that names a room's number, its walls and its base or height. A row of the table is
what stands level with a room number. Codes are explained by a legend: a code alone, with words to its right.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from takeoff.errors import InputError
from takeoff.model.plan import Sheet
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Linework
from takeoff.trace.schedules.heading_rows import BARE, kinds_by, title_over
from takeoff.trace.schedules.tables import Form, Schedule, Table, may_show, read_on, read_tables, told_once
from takeoff.trace.schedules.text_tables import Cell, Row, beside, cells_of, length_in, ways_to_read

_NUMBER = re.compile(r"[A-Z]{0,3}[-.]?\d{1,4}(?:[-.]\d{1,3})?[A-Z]?", re.IGNORECASE | re.ASCII)
_CODE = re.compile(r"[A-Z]{1,4}-?\d{1,3}[A-Z]?", re.IGNORECASE | re.ASCII)
_TO = re.compile(
    r"(?P<code>[A-Z]{1,4}-?\d{0,3}[A-Z]?)\s*(?:,|\(|@|(?:UP\s+)?TO\b)?\s*(?P<top>\d[^A-Z()]*(?:MM|CM|M|IN|FT)?)\s*"
    r"(?:\(?(?:A\.?F\.?F\.?|HIGH|WAINSCOT))?\)?",
    re.IGNORECASE | re.ASCII,
)
"""A code with the height that it reaches, such as W1 TO 4'-0"."""
_SIDE = re.compile(
    r"(?:WALLS?(?:\s+FINISH(?:ES)?)?\W+|(?:WAND|WÄNDE|MUROS|PAREDES|MURS)\s+)?(N|E|S|W|O|L)(?:ORTH|AST|OUTH|EST)?\.?(?:\W+WALLS?)?",
    re.IGNORECASE,
)
_LETTERS = {"NOSW": {"O": "E"}, "ENOS": {"O": "W"}, "LNOS": {"L": "E", "O": "W"}}
"""Which side O and L are beside the other letters: east in German, west and east in Spanish, French and Portuguese."""
_ONE_SIDE = r"(?:N(?:ORTH)?|E(?:AST)?|S(?:OUTH)?|W(?:EST)?)\b\.?"
_SIDES = rf"{_ONE_SIDE}(?:(?:\s*[,&+/]\s*|\s+AND\s+|\s+){_ONE_SIDE})*(?:\s*WALLS?\b)?"
_CODE_OF_SIDES = re.compile(
    rf"(?P<code>{_CODE.pattern})\s*[-–@:(]?\s*(?:ON\s+)?(?P<sides>{_SIDES})\s*\)?|"
    rf"(?P<before>{_SIDES})\s*[-–=:]?\s*(?P<behind>{_CODE.pattern})",
    re.IGNORECASE | re.ASCII,
)
"""A code with the sides that have it, such as W1 (N & E) or S, W: W2."""
_SEVERAL = re.compile(rf"{_CODE.pattern}(?:\s*(?:[/,;&+]|\bAND\b|\bOR\b)\s*{_CODE.pattern})+", re.IGNORECASE | re.ASCII)
_ALL = r"ALL(?:\s+WALLS?)?"
_ALL_WALLS = re.compile(
    rf"{_ALL}\s*:?\s*(?P<code>{_CODE.pattern})|(?P<before>{_CODE.pattern})\s*[-–,(]?\s*{_ALL}\)?",
    re.IGNORECASE | re.ASCII,
)
_REFERS = "".join(rf"(?<!\b{word})" for word in ("TO", "AS", "SEE", "OR", "AND", "OVER", "WITH", "MATCH", "LIKE"))
"""Not behind a word after which a code is spoken of and not explained."""
_OF_ROOMS = re.compile(r"\b(?:ALL|EVERY|EACH|EXCEPT|UNLESS|U\.?N\.?O|ELSEWHERE|TYPICAL)\b", re.IGNORECASE)
"""Words of notes that are of several rooms (ordinary words, no source)."""
_SAME_AS = re.compile(
    r"\bSAME\s+AS\b|\bSEE\s+(?:RM\.?|ROOM)\b|\bMATCH\s+(?:RM\.?|ROOM)\b|\bWIE\s+RAUM\b", re.IGNORECASE
)
"""Words that send to another row (ordinary words, no source)."""
_NONE = re.compile(r"|-+|–|—|N/?A|NONE|\.", re.IGNORECASE)
_HEADINGS = (
    (
        "number",
        re.compile(
            r"(?:(?:ROOM|RM|SPACE|RAUM)\.?\s*)?(?:N[OR]\b\.?|N°|NUMBER|N[UÚ]M\b\.?|#)|ROOM|RM\.?|CLAVE|C[OÓ]DIGO", re.I
        ),
    ),
    (
        "name",
        re.compile(
            r"(?:(?:ROOM|RM|SPACE)\.?\s*)?NAME|ROOM|SPACE|DESCRIPTION|RAUM|BEZEICHNUNG|LOCAL|NOMBRE|PI[EÈ]CE|AMBIENTE",
            re.I,
        ),
    ),
    ("base", re.compile(r".*\bBASE\b.*|COVE|SOCKEL|Z[OÓ]CALO|PLINTHE|RODAP[EÉ]", re.I)),
    (
        "height",
        re.compile(
            r"(?:WALLS?\s+|COATING\s+|FINISH\s+|WAINSCOT\s+)*(?:HEIGHT|HT\.?|HGT\.?)|TOP(?:\s+OF.*)?|HÖHE|ALTURA|HAUTEUR",
            re.I,
        ),
    ),
    (
        "wall",
        re.compile(
            r"(?!.*\b(?:THICK|CONSTR)).*\b(?:WALLS?|WAINSCOT)\b.*|[NESWOL]|NORTH|EAST|SOUTH|WEST|NORD|OST|S[UÜ]D|NORTE|ESTE?|SU[RL]|L?OESTE|LESTE|OUEST|(?:WAND|WÄNDE|MUROS|PAREDES|MURS)(?:\s+[NESWOL])?",
            re.I,
        ),
    ),
    (
        "ceiling height",
        re.compile(
            r"(?:CEILING|CLG\.?)\s+(?:HEIGHT|HT\.?|HGT\.?)|RAUMHÖHE|ALTURA PLAF[OÓ]N|HAUTEUR SOUS PLAFOND|PÉ-DIREITO",
            re.I,
        ),
    ),
    ("floor", re.compile(r".*\bFLOOR\b.*|BODEN|PISO|SOL", re.I)),
    ("ceiling", re.compile(r".*\b(?:CEILING|CLG)\b.*|DECKE|PLAF[OÓ]ND?|CIELO|TETO|FORRO", re.I)),
    ("remarks", re.compile(r"REMARKS?|NOTES?|COMMENTS?|BEMERKUNG(?:EN)?|OBS(?:ERVA\w*)?\.?", re.I)),
)
"""What headings say (common trade words, from memory)."""
_kind = kinds_by(_HEADINGS)
SAME = 0.0254
"""Metres within which two heights are one: an inch."""
LEAST = 1.2
"""Metres of a height without a unit at the least: 108 are inches, no millimetres (judgement)."""
FAR = 12.0
"""Heights of a code within which what stands beside it says what it stands for (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WallFinish:
    """What a schedule says of the walls on one side of a room: N, E, S or W; its code, the height in metres it reaches.

    ``code`` is empty where it says that there is no finish, ``top`` is ``None`` where it gives no height.
    """

    side: str
    code: str = ""
    top: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishRow:
    """A row of the schedule as written; ``height`` is in metres, ``None`` where its text is not one length.

    ``by_side`` is what it says of each side, where its columns are of sides.
    """

    number: str
    name: str = ""
    walls: tuple[str, ...] = ()
    by_side: tuple[WallFinish, ...] = ()
    base: str = ""
    height: float | None = None
    height_text: str = ""
    remarks: str = ""

    @property
    def unread_height(self) -> str:
        """What it says of the height where that is not one length; empty where it says nothing."""
        return "" if self.height is not None or _NONE.fullmatch(self.height_text) else self.height_text

    @property
    def wall(self) -> str:
        """The code of the walls where all have the same, to the same height; empty otherwise."""
        codes = {code.upper() for code in self.walls}
        sides = {(wall.code.upper(), wall.top) for wall in self.by_side}
        return self.walls[0] if len(codes) == 1 and len(sides) < 2 else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishSchedule(Schedule[FinishRow]):
    """The rows of a schedule, and what its codes stand for."""

    legend: Mapping[str, str] = field(default_factory=dict)


def read_finish_table(linework: Linework, lines: Sequence[TextLine], sheet: Sheet) -> FinishSchedule:
    """Read the finish schedule of a sheet.

    Raises `InputError` when the sheet shows no such table.

    Parameters
    ----------
    linework, lines
        What is drawn and written on the sheet, in sheet points.
    sheet
        The sheet, for its size and rotation.
    """
    read = [
        found for way in ways_to_read(lines, sheet) if (found := _read(linework, cells_of(lines, way, linework), way))
    ]
    if not read:
        raise InputError(
            "no finish schedule was found: no row of headings names room number, walls and base or height",
            remedy="Choose the sheet that shows it as text, or set the rooms' systems yourself.",
            where=sheet.called,
        )
    return next((schedule for schedule in read if schedule.rows), read[0])


def _read(linework: Linework, cells: Sequence[Cell], sheet: Sheet) -> FinishSchedule | None:
    tables, doubts, parts = read_tables(cells, linework, sheet, _FORM)
    if not (tables or doubts):
        return None
    found: list[FinishRow] = []
    for table in tables:
        rows, told = _rows(table, table.rows, sheet)
        found += rows
        doubts += told if rows or told else ["its headings were found, and no row under them was read"]
    kept, twice = told_once("room", [(row.number, row) for row in found], lambda row: row)
    own = {cell for table in tables for row in table.rows for cell in row.cells}
    beside = [cell for cell in cells if cell not in own]
    codes = {code.upper() for row in kept for code in (*row.walls, row.base) if code}
    doubts += twice + [f"a note beside the schedule may change rows of it: “{said}”" for said in _notes(beside, codes)]
    legend = _legend(beside, codes)
    return FinishSchedule(rows=tuple(kept), legend=legend, doubts=tuple(doubts), tables=tables, parts=parts)


def joined_finishes(found: Sequence[FinishSchedule]) -> list[FinishSchedule]:
    """Read rows without headings, of the schedules of a set in order, by the tables of the sheets before them."""
    return read_on(found, _FORM, _rows)


def may_show_finishes(lines: Sequence[TextLine], sheet: Sheet) -> bool:
    """Tell from its text alone whether a sheet may show a finish schedule."""
    return may_show(lines, sheet, _FORM)


def _is_schedule(row: Sequence[Cell], cells: Sequence[Cell]) -> bool:
    title, kinds = title_over(row, cells), {_kind(cell.text) for cell in row}
    if re.search("DOOR|WINDOW|OPENING", title) and "FINISH" not in title:
        return False
    return {"number", "wall"} <= kinds and bool({"base", "height", "ceiling height"} & kinds)


_FORM = Form(
    _kind, ("wall", "base"), ("number",), _NUMBER, ("wall", "base"), lambda t: _CODE.fullmatch(t) is not None,
    _is_schedule, title_over,
)  # fmt: skip


def _sides(headings: Sequence[str]) -> list[str]:
    """Return the side that each heading is of; all empty where not every column of walls is of a side of its own."""
    found = [said[1].upper() if (said := _SIDE.fullmatch(text)) else "" for text in headings]
    walls = [side for text, side in zip(headings, found, strict=True) if _kind(text) == "wall"]
    own = _LETTERS.get("".join(sorted(walls)), {})
    is_told = len(walls) > 1 and len({*walls} - {"", *("OL" if not own else "")}) == len(walls)
    return [own.get(side, side) for side in found] if is_told else [""] * len(found)


def _told_by_sides(text: str) -> list[tuple[str, str]]:
    """Return each side with its code where one cell tells them, a side that it leaves out without; else its codes."""
    if (every := _ALL_WALLS.fullmatch(text)) is not None:
        return [("", every["code"] or every["before"])]
    pairs = [
        (side[0].upper(), one["code"] or one["behind"])
        for one in _CODE_OF_SIDES.finditer(text)
        for side in re.findall(rf"\b{_ONE_SIDE}", one["sides"] or one["before"], re.IGNORECASE)
    ]
    told = dict(pairs)
    rest = _CODE_OF_SIDES.sub("", text).upper().replace("AND", "").strip(" ,;/&.")
    if not told or rest or len(pairs) > len(told):
        return [("", code) for code in (_CODE.findall(text) if _SEVERAL.fullmatch(text) else [text])]
    return [(side, told.get(side, "")) for side in "NESW"]


def _wall(text: str) -> tuple[str, float | None]:
    """Read a wall's code, and the height that it reaches where that stands beside it."""
    said = _TO.fullmatch(text)
    top = length_in(said["top"].strip()) if said and not _CODE.fullmatch(text) else None
    return (said["code"], top) if said and top is not None else (text, None)


def _rows(table: Table, under: Sequence[Row], sheet: Sheet) -> tuple[list[FinishRow], list[str]]:
    """Read rows of a table."""
    columns, sides = table.columns, _sides([cell.text for cell in table.heading])
    rows: list[FinishRow] = []
    doubts: list[str] = []
    has_height = any(column.kind == "height" for column in columns)
    for row in under:
        texts = dict(reversed([(c.kind, text) for c, text in zip(columns, row.texts, strict=True) if c.kind]))
        written = [(side, text) for c, side, text in zip(columns, sides, row.texts, strict=True) if c.kind == "wall"]
        if len(written) == 1:
            written = _told_by_sides(written[0][1])
        walls = [(side, *_wall("" if _NONE.fullmatch(text) else text)) for side, text in written]
        if not walls[0][0] and len({bool(code) for _, code, _ in walls}) > 1:
            doubts.append(f"room {row.key}: not every column of its walls has a finish")
        height_text = texts.get("height" if has_height else "ceiling height", "")
        height = length_in(height_text)
        if height is not None and height < LEAST and BARE.fullmatch(height_text):
            height = None
        tops = {top for _, code, top in walls if code}
        if len(tops) == 1 and (top := tops.pop()) is not None:
            said = next(text for _, text in written if _wall(text)[1] is not None)
            if has_height and height is not None and abs(height - top) > SAME:
                height, height_text = None, f"{height_text}, and its walls {said}"
            else:
                height, height_text = top, said
        base = texts.get("base", "")
        made = FinishRow(
            number=row.key,
            name=texts.get("name", ""),
            walls=tuple(code for _, code, _ in walls if code),
            by_side=tuple(WallFinish(side=side, code=code, top=top) for side, code, top in walls if side),
            base="" if _NONE.fullmatch(base) else base,
            height=height,
            height_text=height_text,
            remarks=texts.get("remarks", ""),
        )
        if said := next(filter(_SAME_AS.search, row.texts), ""):
            doubts.append(f"room {row.key}: it says “{said}”, and nothing was taken from another row")
        if made.unread_height:
            doubts.append(f"room {row.key}: the height “{height_text}” is not one length")
        rows.append(made)
    if not has_height and any(row.height == length_in(row.height_text) is not None for row in rows):
        doubts.append("the schedule gives ceiling heights, and they are taken for the top of the coating")
    return rows, doubts


def _notes(cells: Sequence[Cell], codes: Collection[str]) -> list[str]:
    """Return the texts that say of rooms together which of the codes they have: all baths W2."""
    known = "|".join(map(re.escape, sorted(codes))) or _CODE.pattern
    code = re.compile(rf"(?<![\w-])(?:{known}|[A-Z]{{1,3}}-?\d{{1,2}})(?![\w-])", re.IGNORECASE)
    return [cell.text for cell in cells if _OF_ROOMS.search(cell.text) and code.search(cell.text)]


def _legend(cells: Sequence[Cell], codes: Collection[str]) -> dict[str, str]:
    """Read what codes stand for: a code with words behind it, in one cell or in the next on the same level.

    One cell may tell several: its words end where another of the ``codes`` of the rows begins.
    """
    legend: dict[str, str] = {}
    known = "|".join(map(re.escape, sorted(codes, key=len, reverse=True))) or _CODE.pattern
    entry = re.compile(rf"(?P<code>{_CODE.pattern}|{known})(?:\s+|\s*[-–—=:]\s*)(?P<words>[A-Z].*)", re.I | re.A)
    begins = re.compile(rf"{_REFERS} (?=(?:{known})(?:\s|\s*[-–—=:])\s*[A-Z])", re.I | re.A)
    for cell in cells:
        told = [found for part in begins.split(cell.text) if (found := entry.fullmatch(part)) is not None]
        entries = [(found["code"], found["words"]) for found in told]
        is_code = not entries and _CODE.fullmatch(cell.text) is not None
        if is_code and (near := beside(cell, cells)) and near.box[0] - cell.box[2] <= FAR * cell.size:
            entries = [(cell.text, near.text.lstrip("-–=: "))]
        for code, words in entries:
            if len(re.findall("[A-Za-z]{3,}", words)) > 1 or (len(entries) > 1 and words):
                legend.setdefault(code.upper(), words.strip())
    return legend
