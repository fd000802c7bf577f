"""Readings of a scale as votes, the groups of those that agree, and how likely they agree by chance.

A text that was matched to a line not its own gives a scale at random. On the sheets looked at, such scales scatter over
a factor of about thirty, evenly in their logarithm; so the number of them that lie near any one scale is known, and a
scale is claimed only where more agree than chance explains.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely

from takeoff.model.plan import KnownDimension, Point

SCATTER = 3.4
"""Natural logarithm of the factor over which scales from texts at the wrong lines scatter: about 30 (measured on 79
texts of a plotted office plan, 1:73 to 1:3953 at the outside)."""


def chance_of(support: int, tolerances: Sequence[float]) -> float:
    """Return the probability that chance makes ``support`` readings agree, at any scale; 1 at the most.

    ``tolerances`` are of all readings how far each may lie from a scale and still agree with it, relative.

    Examples
    --------
    >>> round(chance_of(2, [0.005] * 2), 4), round(chance_of(2, [0.005] * 10), 2), chance_of(5, [0.005] * 10) < 1e-5
    (0.0117, 0.29, True)
    """
    return min(1.0, len(tolerances) * chance_at(support - 1, tolerances))


def chance_at(support: int, tolerances: Sequence[float]) -> float:
    """Return the probability that chance makes so many readings or more agree with one scale that is known otherwise.

    Examples
    --------
    >>> round(chance_at(1, [0.005] * 2), 4), round(chance_at(1, [0.02] * 26), 2)
    (0.0059, 0.26)
    """
    mean = sum(2.0 * tolerance / SCATTER for tolerance in tolerances)
    fewer = sum(math.exp(-mean) * mean**count / math.factorial(count) for count in range(support))
    return max(0.0, 1.0 - fewer)


Reader = Literal["note", "dimension", "bar", "grid", "embedded"]

AGREE = 0.005
"""Scales closer than this are one whatever their uncertainties (common practice, no source)."""
APART = 3.0
"""Scales further apart than this many standard uncertainties disagree: three standard deviations of a normal
distribution hold 99.7 % of it (common practice for control limits, no source)."""
FINE = 0.01
"""A reading must be this certain for others to gather round it."""
U_LEAST = 0.0002
"""Least uncertainty of a group: coordinates of a PDF to a hundredth of a point over a foot of paper."""
CLAIM, SURE = 0.05, 0.01
"""Greatest probability of chance at which a group's scale is claimed, and is claimed without a word (our choice)."""
MIXED = 1.1
"""Lengths that differ by less than this factor make no sure scale together: room numbers in boxes agree too."""
AROUND_PT = 12.0
"""Points round what lengths are measured at that belong to the same part of a sheet: a line of text and a half."""
ALIKE = 0.01
"""Equal lengths whose drawn spans differ by less than this are one reading, not two."""


_KINDS: dict[Reader, str] = {"dimension": "dimensions", "grid": "grid lines", "bar": "scale bars"}

TELLING, CLOSEST = 5, 0.2
"""Different lengths whose scatter tells how well marks are placed, and the least part of the usual it is taken for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleVote:
    """One reading of the scale: who reads it, in metres per sheet point, from what text and where.

    ``u`` is the relative standard uncertainty. ``known`` is the length that was measured on the sheet, if one was, and
    ``step`` the last place in metres that its text shows. ``is_bare`` tells that the text has no unit, or that
    the unit of a drawing is hearsay, which is then its text. ``agrees`` tells that the vote lies with the scale chosen.
    """

    reader: Reader
    m_per_pt: float
    u: float
    text: str
    at_pt: Point
    known: KnownDimension | None = None
    step: float = 0.0
    is_bare: bool = False
    agrees: bool = False

    @property
    def tolerance(self) -> float:
        """How far from a scale it may lie and agree with it, relative."""
        return max(AGREE, APART * self.u)

    @property
    def span_pt(self) -> float:
        """Length of what was measured, in sheet points."""
        return math.dist(self.known.start_pt, self.known.end_pt) if self.known else 0.0


@dataclass(frozen=True, slots=True)
class VoteGroup:
    """Drawn lengths that agree: their scale in metres per sheet point and its relative standard uncertainty.

    ``support`` counts the different lengths among them, ``chance`` is the probability that as many agree by chance.
    """

    m_per_pt: float
    u: float
    votes: tuple[ScaleVote, ...]
    support: int
    chance: float

    @property
    def spans_pt(self) -> list[tuple[Point, Point]]:
        """The points that its lengths are drawn between."""
        return [(vote.known.start_pt, vote.known.end_pt) for vote in self.votes if vote.known is not None]

    @property
    def box(self) -> shapely.Polygon:
        """The box in sheet points round everything that it was measured at, as wide again as its texts are."""
        ends = [end for span in self.spans_pt for end in span]
        return shapely.box(*shapely.MultiPoint([*ends, *(vote.at_pt for vote in self.votes)]).buffer(AROUND_PT).bounds)

    @property
    def crosses(self) -> bool:
        """True where some of its lengths run along the sheet and others up it."""
        return len({is_along(vote) for vote in self.votes}) == 2

    @property
    def is_claim(self) -> bool:
        """True where its scale may be claimed."""
        return self.chance <= CLAIM

    @property
    def is_sure(self) -> bool:
        """True where it needs nothing else that bears it out."""
        return self.chance <= SURE and self.support > 2

    @property
    def name(self) -> str:
        """The group in a sentence, its verb included."""
        if len(self.votes) == 1:
            kind = "scale bar" if self.votes[0].reader == "bar" else "dimension"
            return f"the one {kind} “{self.votes[0].text}” gives"
        readers = {vote.reader for vote in self.votes}
        return next(f"the {kinds} give" for reader, kinds in _KINDS.items() if reader in readers)


def group_votes(drawn: Sequence[ScaleVote]) -> list[VoteGroup]:
    """Part readings from drawn lengths into groups that agree, the one with most weight first."""
    rest = list(drawn)
    kept = _different(drawn)
    groups: list[VoteGroup] = []
    while any(vote.u <= FINE for vote in rest):
        scale = max(
            (vote for vote in rest if vote.u <= FINE),
            key=lambda centre: (sum(is_near(v, centre.m_per_pt) for v in rest), -centre.u),
        ).m_per_pt
        members: list[ScaleVote] = []
        for _ in range(3):
            members = [vote for vote in rest if is_near(vote, scale)]
            scale = _weighted_median(members) if members else scale
        if not members:
            break
        groups.append(_group(members, scale, kept))
        rest = [vote for vote in rest if vote not in members]
    return groups


def is_near(vote: ScaleVote, m_per_pt: float) -> bool:
    """Tell whether a vote agrees with a scale."""
    return abs(math.log(vote.m_per_pt / m_per_pt)) <= vote.tolerance


def is_along(vote: ScaleVote) -> bool:
    """Tell whether a length runs along the sheet rather than up it."""
    (x0, y0), (x1, y1) = (vote.known.start_pt, vote.known.end_pt) if vote.known else ((0.0, 0.0), (1.0, 0.0))
    return abs(x1 - x0) >= abs(y1 - y0)


def agrees_with(vote: ScaleVote, group: VoteGroup) -> bool:
    """Tell whether a vote agrees with a group, within the uncertainties of both."""
    return is_agreed(group, vote.m_per_pt, vote.u)


def is_agreed(group: VoteGroup, m_per_pt: float, u: float) -> bool:
    """Tell whether a scale with a relative standard uncertainty agrees with a group."""
    return abs(math.log(m_per_pt / group.m_per_pt)) <= max(AGREE, APART * math.hypot(u, group.u))


def is_same(one: float, other: float) -> bool:
    """Tell whether two scales in metres per sheet point are one, whatever their uncertainties."""
    return math.isclose(one, other, rel_tol=AGREE)


def _group(members: Sequence[ScaleVote], scale: float, kept: Sequence[ScaleVote]) -> VoteGroup:
    support = len([vote for vote in kept if vote in members])
    chance = chance_of(support, [vote.tolerance for vote in kept])
    fine = [vote for vote in kept if vote.u <= FINE]
    if len(fine) < len(kept):  # coarse readings agree with anything: the fine ones are asked by themselves too
        chance = min(chance, 2.0 * chance_of(sum(vote in members for vote in fine), [vote.tolerance for vote in fine]))
    spans = [vote.span_pt for vote in members if vote.known is not None]
    if spans and max(spans) < MIXED * min(spans):
        chance = max(chance, (CLAIM + SURE) / 2)
    return VoteGroup(scale, _u_of(members, scale), tuple(sorted(members, key=lambda vote: vote.u)), support, chance)


def _different(drawn: Sequence[ScaleVote]) -> list[ScaleVote]:
    """Leave out a length that is written and drawn as another one is: it tells nothing new."""
    kept: list[ScaleVote] = []
    for vote in sorted(drawn, key=lambda v: v.u):
        if vote.known is None or not any(_is_alike(vote, other) for other in kept):
            kept.append(vote)
    return kept


def _is_alike(one: ScaleVote, other: ScaleVote) -> bool:
    return (
        one.known is not None
        and other.known is not None
        and math.isclose(one.known.length, other.known.length, rel_tol=1e-6)
        and math.isclose(one.span_pt, other.span_pt, rel_tol=ALIKE)
    )


def _weighted_median(votes: Sequence[ScaleVote]) -> float:
    ordered = sorted(votes, key=lambda vote: vote.m_per_pt)
    weights = np.cumsum([1.0 / max(vote.u, U_LEAST) ** 2 for vote in ordered])
    middle = int(np.searchsorted(weights, weights[-1] / 2))
    return ordered[middle].m_per_pt


def spread(votes: Sequence[ScaleVote], scale: float) -> float:
    """Return by what the uncertainties of votes on a scale are to be multiplied: less than 1 where all lie closer.

    That is twice the Birge ratio √(χ² / (n − 1)), where `TELLING` different lengths or more tell it.
    """
    own = _different(votes)
    if len(own) < TELLING:
        return 1.0
    squares = sum((math.log(vote.m_per_pt / scale) / vote.u) ** 2 for vote in own)
    return min(1.0, max(CLOSEST, 2.0 * math.sqrt(squares / (len(own) - 1))))


def _u_of(votes: Sequence[ScaleVote], scale: float) -> float:
    """Return the uncertainty of a group's scale: of its votes together, or what their scatter says if that is more."""
    weights = np.array([1.0 / max(vote.u, U_LEAST) ** 2 for vote in votes])
    off = np.log(np.array([vote.m_per_pt for vote in votes]) / scale)
    scatter = math.sqrt(float((weights * off**2).sum() / weights.sum()) / len(votes))
    return max(U_LEAST, spread(votes, scale) / math.sqrt(weights.sum()), scatter)
