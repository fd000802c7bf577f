"""Stated areas: what a drawing or a schedule claims of a room, with the unit it claims it in."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from takeoff.errors import InputError
from takeoff.units import SQUARE_FOOT

AreaUnit = Literal["sf", "m2"]

FACTORS: dict[AreaUnit, float] = {"sf": SQUARE_FOOT, "m2": 1.0}
"""Square metres in one of each unit."""
SIGNS: dict[AreaUnit, str] = {"sf": "sf", "m2": "m²"}
"""How each unit is shown."""

_UNIT = re.compile(
    r"(?P<sf>s\.? ?f\.?|sq\.? ?f(?:ee|oo)?t\.?|square f(?:ee|oo)t|ft ?\^? ?[2²]|ft sq)|"
    r"(?P<m2>s\.? ?m\.?|sq\.? ?m(?:et(?:er|re)s?)?\.?|square met(?:er|re)s?|m ?\^? ?[2²]|qm)",
    re.IGNORECASE,
)
_AMOUNT = re.compile(r"(?P<number>[0-9][0-9.,' \u00a0\u2009\u202f]*)(?P<unit>[^0-9].*)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedArea:
    """One stated area: ``value`` in ``unit`` as written, shown with ``decimals`` places.

    ``number`` and ``name`` are the room's as the schedule writes them; ``where`` is the place it was read from.
    ``written`` is what a cell holds that states no figure, such as ``TBD``; the value is then 0. ``side`` names the
    wall of a row, ``length`` and ``height`` (m) are its size where the table has them. ``parts`` are the rows that were
    added up; with ``is_repeated`` nothing in the table tells them apart, so the same area may be stated more than once.
    ``count`` is how many rooms alike the row says. ``box_pt`` is where a row stands on its sheet, in sheet points.
    """

    number: str = ""
    name: str = ""
    value: float
    unit: AreaUnit
    decimals: int = 0
    where: str = ""
    written: str = ""
    side: str = ""
    length: float | None = None
    height: float | None = None
    parts: tuple[StatedArea, ...] = ()
    is_repeated: bool = False
    count: int = 1
    box_pt: tuple[float, float, float, float] | None = None

    def __post_init__(self) -> None:
        """Refuse areas that no room can have."""
        if not self.written and not (math.isfinite(self.value) and self.value > 0):
            raise InputError(
                f"a stated area of {self.value!r}", remedy="Give a number above zero, or leave the row out.",
                where=self.where,
            )  # fmt: skip

    @property
    def is_figure(self) -> bool:
        """True where an area is stated."""
        return not self.written

    @property
    def area(self) -> float:
        """The area in m²."""
        return self.value * FACTORS[self.unit]

    @property
    def u_rounding(self) -> float:
        """Standard uncertainty in m² from rounding to the last place shown (JCGM 100:2008, 4.3.7: rectangular)."""
        one = 0.5 * 10.0**-self.decimals / math.sqrt(3.0) * FACTORS[self.unit]
        return one * math.sqrt(max(len(self.parts), 1))

    @property
    def label(self) -> str:
        """Number and name of the room."""
        return " ".join(t for t in (self.number, self.name) if t) or self.where or "no room named"

    @property
    def text(self) -> str:
        """The area as stated."""
        if self.written:
            return self.written
        rows = f" ({len(self.parts)} rows)" if self.parts else ""
        return f"{self.value:,.{self.decimals}f} {SIGNS[self.unit]}{rows}"


def sum_stated(rows: Sequence[StatedArea], *, is_repeated: bool = False) -> StatedArea:
    """Add up the rows of one room; one row stays as it is, and a row without a figure leaves the room without one.

    Examples
    --------
    >>> north, south = (StatedArea(number="1", value=v, unit="sf", where=w) for v, w in ((10, "row 2"), (12, "row 3")))
    >>> both = sum_stated([north, south])
    >>> both.text, both.where
    ('22 sf (2 rows)', 'rows 2 and 3')
    """
    first = rows[0]
    if len(rows) == 1:
        return first
    places = [row.where.removeprefix("row ") for row in rows]
    where = f"rows {', '.join(places[:-1])} and {places[-1]}"
    lacking = next((row for row in rows if not row.is_figure), None)
    if lacking is not None:
        return replace(lacking, where=where, parts=tuple(rows), is_repeated=is_repeated)
    return replace(
        first,
        value=sum(row.area for row in rows) / FACTORS[first.unit],
        decimals=max(row.decimals for row in rows),
        where=where,
        side="",
        parts=tuple(rows),
        is_repeated=is_repeated,
    )


def read_unit(text: str) -> AreaUnit | None:
    """Find the unit of area that a text names: square feet or square metres; ``None`` where it names none.

    Raises `InputError` when it names both.

    Examples
    --------
    >>> read_unit("Net wall area (SF)"), read_unit("Fläche m²"), read_unit("Area")
    ('sf', 'm2', None)
    """
    words = {m.lastgroup for m in _UNIT.finditer(text) if _stands_alone(text, m)}
    if len(words) > 1:
        raise InputError(f'"{text.strip()}" names both square feet and square metres', remedy="Name the one it is in.")
    return next((unit for unit in FACTORS if unit in words), None)


def _stands_alone(text: str, found: re.Match[str]) -> bool:
    before = text[found.start() - 1 : found.start()]
    after = text[found.end() : found.end() + 1]
    return not before.isalpha() and not after.isalnum()


def read_number(text: str, *, decimal_comma: bool = False) -> tuple[float, int]:
    """Read a number as a schedule writes it: its value and how many decimals it shows.

    ``decimal_comma`` says that a comma parts the decimals and a dot the thousands. Raises `InputError` when it is not
    one number.

    Examples
    --------
    >>> read_number("1,391.5"), read_number("1 391,25", decimal_comma=True)
    ((1391.5, 1), (1391.25, 2))
    """
    plain = re.sub("[’‘]", "'", re.sub(r"[\u00a0\u2009\u202f]", " ", text.strip()))
    point, comma = (",", ".") if decimal_comma else (".", ",")
    pattern = rf"(?P<whole>[0-9]{{1,3}}(?P<parted>[ '{comma}])[0-9]{{3}}(?:(?P=parted)[0-9]{{3}})*|[0-9]+)"
    found = re.fullmatch(rf"{pattern}(?:\{point}(?P<decimals>[0-9]+))?", plain)
    if found is None:
        raise InputError(f'"{text.strip()}" is not a number', remedy="Write it such as 1391.5.")
    decimals = len(found["decimals"] or "")
    return float(f"{re.sub('[^0-9]', '', found['whole'])}.{found['decimals'] or 0}"), decimals


def split_amount(text: str) -> tuple[str, AreaUnit | None]:
    """Part a cell such as ``1,391.5 sf`` into its number, still as text, and its unit.

    Raises `InputError` when it does not begin with a number, or something other than a unit of area follows.

    Examples
    --------
    >>> split_amount("1,391.5 sq. ft.")
    ('1,391.5', 'sf')
    """
    found = _AMOUNT.fullmatch(text.strip())
    if found is None:
        raise InputError(f'"{text.strip()}" is not an area', remedy="Write it such as 1391.5 sf or 129.3 m2.")
    rest = (found["unit"] or "").strip()
    unit = read_unit(rest) if rest else None
    if rest and unit is None:
        raise InputError(f'"{rest}" is not a unit of area', remedy="Write sf or m2.")
    return found["number"].strip(), unit
