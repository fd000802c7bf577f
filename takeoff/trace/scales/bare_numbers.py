"""Dimensions that are written without a unit: in which unit they are.

The sheet's stated scale or its dimensions with units tell, where they agree with the bare ones in one unit. Else the
building tells: how long what is dimensioned is, how wide the doors are, and which scales plans are drawn at.
"""

from __future__ import annotations

import math
import re
import statistics
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from takeoff.sheet.scales import is_usual, ratio_of, ratio_text
from takeoff.trace.scales.groups import ScaleVote, VoteGroup, group_votes, is_same
from takeoff.trace.scales.lengths import plain_number
from takeoff.trace.scales.signs import Signs
from takeoff.units import FOOT, INCH

Form = Literal["whole", "decimal", "tenths"]
"""How a bare number is written: 4200, 4.20 or 42.5."""

METRES = {"millimetres": 0.001, "centimetres": 0.01, "metres": 1.0, "feet": FOOT, "inches": INCH}
ASSUMED: dict[Form, float] = {"whole": 0.001, "decimal": 1.0, "tenths": 0.01}
"""Metres in the unit that `takeoff.trace.scales.lengths` takes for each form."""
_USUAL: dict[Form, dict[str, float]] = {
    "whole": {"millimetres": 1.0, "centimetres": 0.5, "inches": 0.05, "feet": 0.01, "metres": 0.01},
    "decimal": {"metres": 1.0, "centimetres": 0.02, "feet": 0.02, "inches": 0.01, "millimetres": 0.001},
    "tenths": {"centimetres": 1.0, "metres": 0.5, "feet": 0.05, "inches": 0.05, "millimetres": 0.02},
}
"""How usual each unit is in each form, the most usual being 1 (our estimate, no source)."""
_GROUPED = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")
"""A number with three decimals, or a whole one with a sign for thousands."""
ALONE = 1e4
"""How many times likelier than any other a unit is that the building alone tells without a word (our choice)."""
FEET_LEAST = 24.0
"""N of 1:N under which nobody writes feet with decimals: 1/2" = 1'-0" (judgement)."""
RARE = 0.5
"""A unit less usual than this for its form is asked, whatever the doors say, as they may be of another view than the
numbers; without doors all but the most usual unit is, as small things are drawn too (our choice)."""
MIDDLE_M, MIDDLE_SPREAD = 2.5, 3.0
LONGEST_M, LONGEST_SPREAD = 12.0, 4.0
RATIO, RATIO_SPREAD = 90.0, 2.5
"""The middle and the longest dimension of a plan in metres, and N of its 1:N, each with the factor that holds two
thirds of all plans on either side (measured roughly on the sheets with dimensions at hand)."""
PLOTTED, BY_CHANCE = 0.7, 0.05
"""Part of all plans whose scale is one that people draw at, and part of all scales that are such (our estimate)."""
MIDDLE_LIMITS_M = 0.1, 25.0
"""Metres outside which the middle dimension of no plan is (our choice)."""


@dataclass(frozen=True, slots=True)
class _Unit:
    """A unit that bare numbers may be in: how likely, and whether a plan could be so at all."""

    name: str
    factor: float
    score: float
    is_possible: bool


def settle_units(
    drawn: Sequence[ScaleVote], stated: Sequence[float], signs: Signs
) -> tuple[list[ScaleVote], list[str]]:
    """Turn bare numbers into the unit that the sheet bears out; also what is not certain about it, a sentence each.

    ``drawn`` are readings from drawn lengths, bare ones in the unit assumed for their form; ``stated`` scales in metres
    per sheet point that stand elsewhere on the sheet.
    """
    votes = list(drawn)
    told: list[str] = []
    explicit = [group for group in group_votes([vote for vote in votes if not vote.is_bare]) if group.is_claim]
    references = [*stated, *(group.m_per_pt for group in explicit)]
    for form in sorted({form_of(vote.text) for vote in votes if vote.is_bare}, key=_count_of(votes)):
        groups = group_votes([vote for vote in votes if vote.is_bare and form_of(vote.text) == form])
        if not groups or (len(groups[0].votes) < 2 and (references or len(votes) > 1)):
            continue  # one number fits what else there is in one unit or another
        scale = groups[0].m_per_pt
        unit = _unit_of_references(groups[0], form, references)
        if unit is None:
            unit, doubt = _likely_unit(groups[0].votes, scale, form, signs)
            told += doubt
        votes = [_turned(v, unit) if v.is_bare and form_of(v.text) == form else v for v in votes]
        references.append(scale * unit)
    return votes, told


def form_of(text: str) -> Form:
    """Return how a bare number is written."""
    plain = plain_number(text).replace(",", ".")
    if len(plain.partition(".")[0]) > 3 or "." not in plain:
        return "whole"
    return "tenths" if len(plain.rstrip("0123456789")) == len(plain) - 1 else "decimal"


def _count_of(votes: Sequence[ScaleVote]):  # type: ignore[no-untyped-def]
    plain = [vote.text for vote in votes if vote.is_bare and not _GROUPED.fullmatch(vote.text)]
    return lambda form: -sum(form_of(text) == form for text in plain)


def _unit_of_references(group: VoteGroup, form: Form, references: Sequence[float]) -> float | None:
    """Return the factor to the unit in which bare numbers agree with a scale that is known; their own first."""
    factors = [metres / ASSUMED[form] for metres in METRES.values()]
    if form == "decimal" and all(_GROUPED.fullmatch(vote.text) for vote in group.votes):
        factors += [1000 * metres for metres in METRES.values()]
    agreeing = [factor for factor in factors if any(is_same(group.m_per_pt * factor, known) for known in references)]
    return 1.0 if 1.0 in agreeing else next(iter(agreeing), None)


def _likely_unit(votes: Sequence[ScaleVote], scale: float, form: Form, signs: Signs) -> tuple[float, list[str]]:
    """Return the factor to the unit that makes the likeliest building, and a doubt where another is possible too."""
    lengths = [vote.known.length for vote in votes if vote.known is not None]
    units = [_rated(name, metres / ASSUMED[form], lengths, scale, form, signs) for name, metres in METRES.items()]
    best = max(units, key=lambda unit: (unit.is_possible, unit.score))
    doors = {unit.name for unit in units if signs.doors_fit(scale * unit.factor)}
    others = [
        unit for unit in units if unit is not best and unit.is_possible and unit.score > best.score - math.log(ALONE)
    ]
    if signs.is_part and not doors:  # no size of buildings tells it
        best, *others = sorted({best, *others, *units[:1]}, key=lambda unit: -_USUAL[form][unit.name])
    usual = max(units, key=lambda unit: _USUAL[form][unit.name])
    if usual not in (best, *others) and _USUAL[form][best.name] < (RARE if doors else 1.0):
        others.append(usual)
    if not others and best.is_possible:
        return best.factor, []
    which = " or ".join(f"{unit.name}, {ratio_text(scale * unit.factor)}" for unit in others) or "nothing else"
    return best.factor, [
        f"the dimensions are written without a unit and taken for {best.name}, {ratio_text(scale * best.factor)}; they "
        f"could be {which}"
    ]


def _rated(name: str, factor: float, lengths: Sequence[float], scale: float, form: Form, signs: Signs) -> _Unit:
    own = [length * factor for length in lengths]
    score = math.log(_USUAL[form][name])
    for value, centre, spread in (
        (statistics.median(own), MIDDLE_M, MIDDLE_SPREAD),
        (max(own), LONGEST_M, LONGEST_SPREAD),
        (ratio_of(scale * factor), RATIO, RATIO_SPREAD),
    ):
        score -= (math.log(value / centre) / math.log(spread)) ** 2 / 2
    is_drawn_at = is_usual(ratio_of(scale * factor))
    score += math.log(PLOTTED / BY_CHANCE if is_drawn_at else (1.0 - PLOTTED) / (1.0 - BY_CHANCE))
    is_large = form == "decimal" and name == "feet" and ratio_of(scale * factor) < FEET_LEAST
    is_built = MIDDLE_LIMITS_M[0] <= statistics.median(own) <= MIDDLE_LIMITS_M[1]
    is_possible = is_built and not is_large and signs.doors_fit(scale * factor) is not False
    return _Unit(name, factor, score, is_possible)


def _turned(vote: ScaleVote, factor: float) -> ScaleVote:
    if factor == 1.0:
        return vote
    return replace(
        vote,
        m_per_pt=vote.m_per_pt * factor,
        known=replace(vote.known, length=vote.known.length * factor) if vote.known else None,
        step=vote.step * factor,
    )
