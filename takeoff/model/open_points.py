"""Where a value came from, and what a figure rests on that nobody has confirmed.

A **basis** stands beside a value that a reader or a default supplied: how it was got, where on the drawing, in which
words. An **open point** is whatever a figure rests on that neither the drawing states nor a person has confirmed. Open
points are never stored: one function derives them from the job. What is stored is that a person settled one: in the
basis of the value itself, or in the job where the point is about no single value.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal, Protocol

How = Literal["stated", "schedule", "note", "measured", "assumed", "unknown", "person"]
"""How a value was got.

``stated``: written on the drawing where it holds (a dimension, a label in the room). ``schedule``: a row of a schedule.
``note``: a note that speaks of more than one place. ``measured``: taken off drawn lines at the sheet's scale.
``assumed``: a default, since the drawing shows none. ``unknown``: kept from a time that did not record it. ``person``:
somebody gave it.
"""

PointKind = Literal[
    "scale",
    "sheet",
    "outline",
    "opening",
    "height",
    "system",
    "cove",
    "unmeasured",
    "overlap",
    "rates",
    "product",
    "job",
]
"""What an open point is about, coarsely: what the list is sorted by where money does not tell."""

SAME = 1e-9
"""Relative difference up to which two numbers are one: what is left of a value after it is written and read."""

Place = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmed:
    """Who confirmed something, and when (ISO 8601)."""

    by: str
    at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """How one field of a value was got.

    Attributes
    ----------
    of
        Name of the field: ``height`` of an opening, ``mx`` of a calibration, ``outline`` of a run.
    taken
        The value that this speaks of, in the field's own unit (`taken_of`). As soon as the field holds another value
        the basis is void, so whoever changes a value need not think of it.
    how
        How it was got.
    text
        The words on the drawing that say it, or why a default was taken: one short clause, no full stop.
    sheet, at_pt
        Where on the drawing it stands, in sheet points.
    low, high
        What it could be, in the field's own unit; ``None`` where nobody can tell.
    code
        Code of a finish schedule by which it was taken, where a person named what the code stands for; a new meaning of
        the code renews it.
    unsure
        Why a reading needs a look although it was read: one short clause. Empty where the drawing says it plainly.
    confirmed
        Who took it as it is, and when.
    """

    of: str
    taken: float | str
    how: How
    text: str = ""
    sheet: int | None = None
    at_pt: Place | None = None
    low: float | None = None
    high: float | None = None
    unsure: str = ""
    code: str = ""
    confirmed: Confirmed | None = None

    @property
    def is_open(self) -> bool:
        """True where the value rests on nothing that the drawing states or a person said."""
        return self.confirmed is None and (self.how in ("assumed", "unknown") or bool(self.unsure))


class HasBasis(Protocol):
    """A model value with bases for some of its fields."""

    @property
    def basis(self) -> tuple[Basis, ...]:
        """Bases, at most one for each field."""
        ...


def taken_of(value: Any) -> float | str:
    """Return what a basis keeps of a field's value: a number, a text, or the ``mark`` of a compound value."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    return float(value) if isinstance(value, int | float) else taken_of(value.mark)


def basis_of(value: HasBasis, field: str) -> Basis | None:
    """Return the basis of a field; ``None`` where it has none, or has another value by now: a person gave it then."""
    found = next((b for b in value.basis if b.of == field), None)
    return found if found is not None and _is_same(found.taken, taken_of(getattr(value, field))) else None


def put_basis(bases: Sequence[Basis], *new: Basis) -> tuple[Basis, ...]:
    """Return bases with these in place of those of the same fields, and the others behind them."""
    fields = {b.of: b for b in new}
    kept = [fields.pop(b.of, b) for b in bases]
    return (*kept, *fields.values())


def _is_same(a: float | str, b: float | str) -> bool:
    return a == b if isinstance(a, str) or isinstance(b, str) else abs(a - b) <= SAME * max(abs(a), abs(b))


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """That a person took something as it is which is in no single value: an open point by its key, as it stood then.

    ``state`` is what the point rested on when it was confirmed; once that is other, the point is open again. ``words``
    is what was confirmed, in plain words.
    """

    key: str
    state: str
    words: str
    confirmed: Confirmed


@dataclass(frozen=True, slots=True, kw_only=True)
class Where:
    """Where an open point is; ``opening`` is the index on its run, ``at_pt`` a place on the sheet to look at.

    ``on``, ``inside`` and ``named`` are what people call the sheet, the room, and the wall with its room.
    """

    sheet: int | None = None
    at_pt: Place | None = None
    region: str | None = None
    room: str | None = None
    run: str | None = None
    opening: int | None = None
    on: str = ""
    inside: str = ""
    named: str = ""

    @property
    def words(self) -> str:
        """Sheet, room and wall, as far as there are any."""
        return ", ".join(part for part in (self.on, self.named or self.inside) if part)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stake:
    """How far the price and the quantities move between the low and the high of what a value could be.

    Money in the estimate's currency, area in m² and length in m; never negative.
    """

    money: float
    area: float
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenPoint:
    """Something a figure rests on that neither the drawing states nor a person has confirmed.

    Attributes
    ----------
    key
        Stays the same as long as it is about the same thing.
    kind, group
        What it is about; points of one group can be confirmed together, such as all sills taken at 3 1/2 ft.
    where
        Where it is.
    what
        What it is about, in the words of the trade: "Sill of window W3".
    taken
        What was taken, in the job's units; empty where nothing was.
    why
        Why that, and why it is open: a sentence.
    settle
        What a person can do about it, a sentence without commands.
    question
        What to ask the architect; empty where that is no question for one.
    assumes
        What a bid says it assumes, a sentence: "Window sills are taken at 1.1 m; the drawings show none."
    field, low, high
        The field in question and what it could be, in its own unit; ``None`` where nobody can tell.
    state
        What it rests on, for `Settled`.
    stake
        The money and quantities at stake; ``None`` until priced, or where no two prices can be told apart.
    confirmed
        Who confirmed it; ``None`` while it is open.
    """

    key: str
    kind: PointKind
    group: str
    where: Where
    what: str
    taken: str
    why: str
    settle: str
    question: str = ""
    assumes: str = ""
    field: str = ""
    low: float | None = None
    high: float | None = None
    state: str = ""
    stake: Stake | None = None
    confirmed: Confirmed | None = None

    @property
    def is_open(self) -> bool:
        """True until a person has confirmed it."""
        return self.confirmed is None
