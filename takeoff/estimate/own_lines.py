"""Lines of one's own in a price: what each is counted by, and what it comes to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from takeoff.estimate.money import to_cents
from takeoff.model.costs import Arithmetic, PriceLine
from takeoff.model.systems import OwnLine
from takeoff.system.words import Words, percent
from takeoff.units import format_money

OWN = "own:"
"""What the id of an own line begins with among price lines."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """What lines are counted by: rooms, m² and m of coated wall, man-hours, and what is on site.

    ``visits``, ``days`` and ``phases`` are those of the plan of days; where none is priced, whole crew days and one.
    """

    rooms: int
    area: float
    length: float
    hours: float
    visits: int
    days: int
    phases: int


def own_lines(
    lines: Sequence[OwnLine], counts: Counts, sums: Mapping[str, float], *, currency: str, words: Words
) -> tuple[PriceLine, ...]:
    """Return price lines for lines of one's own.

    Parameters
    ----------
    lines
        Those to work out.
    counts, sums
        What they are counted by; and the sums that a fraction can be of, by name.
    currency, words
        For the arithmetic.
    """
    return tuple(_line(line, counts, sums, currency, words) for line in lines)


def _line(line: OwnLine, counts: Counts, sums: Mapping[str, float], currency: str, words: Words) -> PriceLine:
    def money(value: float) -> str:
        return format_money(value, currency)

    if line.per == "fraction":
        amount = to_cents(line.amount * sums[line.of])
        how = f"{percent(line.amount)} of {OF_WORDS[line.of]}, {money(sums[line.of])}"
    elif line.per == "job":
        amount, how = to_cents(line.amount), "A sum for the job."
    elif line.per in ("area", "length"):
        value = counts.area if line.per == "area" else counts.length
        amount = to_cents(line.amount * value)
        said = words.area(value) if line.per == "area" else words.length(value)
        how = f"{said} at {money(line.amount)} a {'m²' if line.per == 'area' else 'm'}"
    else:
        value = {
            "phase": counts.phases,
            "visit": counts.visits,
            "day": counts.days,
            "room": counts.rooms,
            "hour": counts.hours,
        }[line.per]
        amount = to_cents(line.amount * value)
        how = f"{value:g} {NOUNS[line.per]} × {money(line.amount)}" if line.per != "hour" else (
            f"{value:.2f} man-hours × {money(line.amount)}"
        )  # fmt: skip
    return PriceLine(id=OWN + line.id, label=line.label, amount=amount, arithmetic=Arithmetic(lines=(how,)))


NOUNS = {"phase": "phases", "visit": "visits", "day": "days on site", "room": "rooms"}
OF_WORDS = {
    "material": "material",
    "labour": "labour",
    "direct": "the direct cost above",
    "price": "the price before lines of the price",
}
