"""Which slips explain the differences of a schedule: tried in every room, the one that explains most rooms first."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from takeoff.audit.areas import Basis, RoomAreas
from takeoff.audit.stated import StatedArea
from takeoff.audit.tries import ReasonKind, Try, tries
from takeoff.units import Display

PRIOR: Mapping[ReasonKind, float] = {
    "unit": 0.2,
    "floor": 0.2,
    "gross": 0.2,
    "net": 0.2,
    "height": 0.15,
    "with-returns": 0.1,
    "digits": 0.1,
    "scale": 0.1,
    "wall left out": 0.1,
    "openings twice": 0.05,
    "with-ceiling": 0.05,
    "waste": 0.1,
    "perimeter": 0.05,
    "rule": 0.1,
    "swapped": 0.1,
    "centreline": 0.05,
}
"""How often each slip is met before the figures are looked at (judgement, no source)."""
UNKNOWN = 0.1
"""How often a figure is wrong for a reason that no slip here describes (judgement, no source)."""
SPREAD = 1.0
"""Such a figure lies anywhere within this part of the measured one, above or below (judgement, no source)."""
MOST = 3
"""Reasons offered for one difference."""
BROKEN = math.log(1e-3)
"""What a room that agrees, and would not if the slip ran through the schedule, counts against it."""
LOCAL: frozenset[ReasonKind] = frozenset({"digits", "swapped", "wall left out"})
"""Slips that happen in single rooms: rooms without them say nothing against them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leading:
    """A reason that explains several differences of one schedule: a sentence, the rooms it explains, what remains."""

    kind: ReasonKind
    key: str
    text: str
    explained: tuple[str, ...]
    remaining: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """A stated area with its room, as the reasons see it; ``differs`` tells the verdict."""

    label: str
    stated: StatedArea
    room: RoomAreas
    differs: bool


def find_reasons(
    claims: Sequence[Claim], *, basis: Basis, display: Display
) -> tuple[tuple[Leading, ...], dict[str, tuple[Try, ...]]]:
    """Find the reasons of a schedule's differences.

    Each slip is tried in every room. A slip that runs through a schedule explains many rooms with one and the same
    change, which chance does not do; one that would spoil rooms that agree is set back for each of them. ``claims``:
    the stated areas that have a measured room, those that agree among them. Gives the reasons that explain two rooms or
    more, the one that explains most first, each with what it leaves; and for the label of each claim that differs its
    own reasons, the likeliest first, none where none is likely.
    """
    differing = [c for c in claims if c.differs]
    areas = {c.label: c.room.areas[basis] for c in differing}
    found: dict[str, dict[str, tuple[Try, float]]] = {}
    broken: dict[str, int] = {}
    for claim in claims:
        others = {label: area for label, area in areas.items() if label != claim.label} if claim.differs else {}
        attempts = list(tries(claim.stated, claim.room, basis, others, display))
        if claim.differs:
            found[claim.label] = _fitting(claim, attempts)
        else:
            for attempt in attempts:
                if attempt.kind not in LOCAL and not _off(claim.stated, attempt) <= 2.0:
                    broken[attempt.key] = broken.get(attempt.key, 0) + 1
    leading = _leading([c.label for c in differing], found, broken) if len(differing) > 1 else []
    led = {label: lead.key for lead in reversed(leading) for label in lead.explained}
    reasons = {c.label: _own(found[c.label], led.get(c.label)) for c in differing}
    return tuple(leading), reasons


def _off(stated: StatedArea, attempt: Try) -> float:
    """How many standard uncertainties the slip leaves between the two figures."""
    u = math.hypot(attempt.u, stated.u_rounding * attempt.stated / stated.area)
    return abs(attempt.stated - attempt.measured) / u if u > 0 else math.inf


def _fitting(claim: Claim, attempts: Sequence[Try]) -> dict[str, tuple[Try, float]]:
    """The slips that make a claim agree, by key, each with how many times likelier than chance it makes the figure."""
    counts: dict[str, int] = {}
    for attempt in attempts:
        counts[attempt.key] = counts.get(attempt.key, 0) + 1
    out: dict[str, tuple[Try, float]] = {}
    for attempt in attempts:
        off = _off(claim.stated, attempt)
        if off > 2.0:
            continue
        u = math.hypot(attempt.u, claim.stated.u_rounding * attempt.stated / claim.stated.area)
        # a figure of unknown reason falls within 2 u of the slip's by this chance
        chance = min(1.0, counts[attempt.key] * 4.0 * u / (2.0 * SPREAD * attempt.measured))
        evidence = math.exp(-0.5 * off * off) / max(chance, 1e-6)
        if attempt.key not in out or evidence > out[attempt.key][1]:
            out[attempt.key] = (attempt, evidence)
    return out


def _leading(
    labels: Sequence[str], found: Mapping[str, Mapping[str, tuple[Try, float]]], broken: Mapping[str, int]
) -> list[Leading]:
    """Reasons that explain two rooms or more, each looked for among the rooms that those before it leave."""
    left = list(labels)
    leading: list[Leading] = []
    while len(left) > 1:
        scores: dict[str, tuple[float, Try]] = {}
        for key in dict.fromkeys(key for label in left for key in found[label]):
            members = [found[label][key] for label in left if key in found[label]]
            first = members[0][0]
            score = sum(math.log(evidence) for _, evidence in members) + BROKEN * broken.get(key, 0)
            score += math.log(PRIOR[first.kind] * first.share / UNKNOWN)
            if len(members) > 1 and score > 0.0:
                scores[key] = (score, first)
        if not scores:
            return leading
        key = max(scores, key=lambda k: scores[k][0])
        first = scores[key][1]
        explained = tuple(label for label in left if key in found[label])
        left = [label for label in left if label not in explained]
        leading.append(
            Leading(kind=first.kind, key=key, text=_words(first), explained=explained, remaining=tuple(left))
        )
    return leading


def _words(attempt: Try) -> str:
    """The reason for several rooms together, where its sentence for one room names that room's own figures."""
    return {
        "wall left out": "agree if one wall of each is left out",
        "digits": "agree if digits changed places" if attempt.key == "digits" else "agree with the decimal point moved",
        "swapped": "agree if the rows belong to one another's rooms",
        "height": attempt.text.replace("agrees", "agree").split(" instead of ")[0],
    }.get(attempt.kind, attempt.text.replace("agrees if it is", "agree if they are").replace("agrees", "agree"))


def _own(found: Mapping[str, tuple[Try, float]], led: str | None) -> tuple[Try, ...]:
    """Reasons of one room: the one that leads in the schedule first, then those likelier than no known reason."""
    causes = []
    for key, (attempt, evidence) in found.items():
        weight = PRIOR[attempt.kind] * attempt.share * min(evidence, 1.0 / max(attempt.fits, 1e-6)) / UNKNOWN
        if key == led or weight > 1.0:
            causes.append(replace(attempt, weight=weight))
    causes.sort(key=lambda c: (c.key != led, -c.weight))
    return tuple(causes[:MOST])
