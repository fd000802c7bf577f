"""What several readings of a sheet's scale come to: readings are votes; votes that differ are never averaged.

Votes that agree within their uncertainties make a group, and a group's scale is its weighted median. What is drawn was
shrunk with the drawing and what is written was not, so drawn lengths that confirm each other win over a note. One
dimension alone does not: a text can be matched to a line that is not its own. A bar confirms itself, by its labels.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from takeoff.model.plan import KnownDimension, Point
from takeoff.sheet.scales import ratio_text

Reader = Literal["note", "dimension", "bar", "embedded"]

AGREE = 0.005
"""Scales closer than this are one whatever their uncertainties (common practice, no source)."""
APART = 3.0
"""Scales further apart than this many standard uncertainties disagree: three standard deviations of a normal
distribution hold 99.7 % of it (common practice for control limits, no source)."""
TOO_COARSE = 0.1
"""A reading less certain than this tells nothing: a wall's thickness in whole inches."""
SURE = 0.01
"""A reading must be this certain for others to gather round it."""
U_LEAST = 0.0002
"""Least uncertainty of a group: coordinates of a PDF to a hundredth of a point over a foot of paper."""
_BARE = (("centimetres", 0.01), ("millimetres", 0.001), ("metres", 1.0), ("feet", 0.3048), ("inches", 0.0254))


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleVote:
    """One reading of the scale: who reads it, in metres per sheet point, from what text and where.

    ``u`` is the relative standard uncertainty. ``known`` is the length that was measured on the sheet, if one was, and
    ``step`` the last place in metres that its text shows. ``is_bare`` tells that the text has no unit. ``agrees`` tells
    that the vote lies with the scale that was chosen.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleReading:
    """What the votes come to.

    ``m_per_pt`` is the scale in metres per sheet point, ``None`` where nothing can be read or nothing outweighs the
    rest; ``u`` its relative standard uncertainty; ``reader`` what it is taken from, and ``stated`` the note's words
    where that is a note. ``doubts`` are sentences about what does not agree.
    """

    m_per_pt: float | None
    u: float
    reader: Reader | None
    votes: tuple[ScaleVote, ...]
    stated: str = ""
    doubts: tuple[str, ...] = ()

    @property
    def agreeing(self) -> tuple[ScaleVote, ...]:
        """The votes from drawn lengths that lie with the scale, the surest first."""
        drawn = [vote for vote in self.votes if vote.agrees and vote.known is not None]
        return tuple(sorted(drawn, key=lambda vote: vote.u))


@dataclass(frozen=True, slots=True)
class _Group:
    """Drawn lengths that agree: their scale in metres per sheet point and its relative standard uncertainty."""

    m_per_pt: float
    u: float
    votes: tuple[ScaleVote, ...]

    @property
    def support(self) -> int:
        """Number of readings that confirm each other; a bar's labels do."""
        return sum(2 if vote.reader == "bar" else 1 for vote in self.votes)

    @property
    def name(self) -> str:
        """The group in a sentence, its verb included."""
        if len(self.votes) == 1:
            return (
                f"the one {'scale bar' if self.votes[0].reader == 'bar' else 'dimension'} “{self.votes[0].text}” gives"
            )
        return (
            "the dimensions give" if any(vote.reader == "dimension" for vote in self.votes) else "the scale bars give"
        )


def weigh_votes(votes: Sequence[ScaleVote]) -> ScaleReading:
    """Weigh the votes on one sheet's scale against each other.

    Parameters
    ----------
    votes
        In any order. Of notes, each scale once.
    """
    embedded = [vote for vote in votes if vote.reader == "embedded"]
    notes = [vote for vote in votes if vote.reader == "note"]
    drawn = [vote for vote in votes if vote.known is not None and vote.u <= TOO_COARSE]
    drawn, doubts = _with_units(drawn, [*embedded, *notes])
    groups = _groups(drawn)
    main = _main_group(groups, [*embedded, *notes])
    chosen = _chosen(main, embedded, notes)
    if chosen is None and len(notes) > 1:
        doubts.append(f"several scales are written on it: {', '.join(note.text for note in notes)}")
    doubts += _told(chosen, main, groups, embedded, notes)
    scale = chosen.m_per_pt if chosen is not None else None
    return ScaleReading(
        m_per_pt=scale,
        u=chosen.u if chosen is not None else 0.0,
        reader=_reader(chosen),
        stated=chosen.text if isinstance(chosen, ScaleVote) else "",
        votes=tuple(
            replace(vote, agrees=scale is not None and _near(vote, scale)) for vote in (*embedded, *notes, *drawn)
        ),
        doubts=tuple(doubts),
    )


def _chosen(
    main: _Group | None, embedded: Sequence[ScaleVote], notes: Sequence[ScaleVote]
) -> ScaleVote | _Group | None:
    """Return what the scale is taken from."""
    if embedded:
        return embedded[0]
    confirmed = [note for note in notes if main is not None and _agree(note, main)]
    if confirmed:
        return confirmed[0]
    if main is not None and (main.support > 1 or (not notes and not main.votes[0].is_bare)):
        return main
    return notes[0] if len(notes) == 1 else None


def _reader(chosen: ScaleVote | _Group | None) -> Reader | None:
    if isinstance(chosen, _Group):
        return "dimension" if any(vote.reader == "dimension" for vote in chosen.votes) else "bar"
    return chosen.reader if chosen is not None else None


def _told(
    chosen: ScaleVote | _Group | None,
    main: _Group | None,
    groups: Sequence[_Group],
    embedded: Sequence[ScaleVote],
    notes: Sequence[ScaleVote],
) -> list[str]:
    """Say what does not agree, with both figures."""
    told: list[str] = []
    if main is None:
        return told
    for vote, says in ((embedded[:1], "the embedded measurement gives"), (notes[:1], "the note says")):
        if vote and chosen is not None and not _agree(vote[0], main):
            told.append(f"{says} {ratio_text(vote[0].m_per_pt)}, {main.name} {ratio_text(main.m_per_pt)}")
    for other in groups:
        if other is not main and other.support > 1:
            lengths = " and ".join(f"“{vote.text}”" for vote in other.votes[:2])
            told.append(
                f"{len(other.votes)} of {sum(len(group.votes) for group in groups)} lengths, such as {lengths}, give "
                f"{ratio_text(other.m_per_pt)}: a part of the sheet may have a scale of its own"
            )
    if chosen is main and main.support == 1:
        told.append(f"one dimension alone, “{main.votes[0].text}”, tells the scale: check it with another")
    if chosen is main and all(vote.is_bare for vote in main.votes) and not notes:
        unit = "metres" if "." in main.votes[0].text or "," in main.votes[0].text else "millimetres"
        told.append(f"the dimensions are written without a unit and taken for {unit}")
    return told


def _main_group(groups: Sequence[_Group], stated: Sequence[ScaleVote]) -> _Group | None:
    """Return the group with most support; one that a note confirms wins over one with less than twice its support."""
    if not groups:
        return None
    best = max(groups, key=lambda group: (group.support, -group.u))
    for group in groups:
        if 2 * group.support > best.support and any(_agree(vote, group) for vote in stated):
            return group
    return best


def _groups(drawn: Sequence[ScaleVote]) -> list[_Group]:
    """Part drawn lengths into groups that agree, the one with most weight first."""
    rest = list(drawn)
    groups: list[_Group] = []
    while any(vote.u <= SURE for vote in rest):
        scale = max(
            (vote for vote in rest if vote.u <= SURE),
            key=lambda centre: (sum(_weight(v) for v in rest if _near(v, centre.m_per_pt)), -centre.u),
        ).m_per_pt
        for _ in range(3):
            members = [vote for vote in rest if _near(vote, scale)]
            scale = _weighted_median(members) if members else scale
        if not members:
            break
        groups.append(_Group(scale, _u_of(members, scale), tuple(sorted(members, key=lambda vote: vote.u))))
        rest = [vote for vote in rest if vote not in members]
    return groups


def _near(vote: ScaleVote, m_per_pt: float) -> bool:
    return abs(math.log(vote.m_per_pt / m_per_pt)) <= max(AGREE, APART * vote.u)


def _agree(vote: ScaleVote, group: _Group) -> bool:
    apart = abs(math.log(vote.m_per_pt / group.m_per_pt))
    return apart <= max(AGREE, APART * math.hypot(vote.u, group.u))


def is_same(one: float, other: float) -> bool:
    """Tell whether two scales in metres per sheet point are one, whatever their uncertainties."""
    return math.isclose(one, other, rel_tol=AGREE)


def _weight(vote: ScaleVote) -> float:
    return 1.0 / math.hypot(vote.u, AGREE)


def _weighted_median(votes: Sequence[ScaleVote]) -> float:
    ordered = sorted(votes, key=lambda vote: vote.m_per_pt)
    weights = np.cumsum([1.0 / max(vote.u, U_LEAST) ** 2 for vote in ordered])
    middle = int(np.searchsorted(weights, weights[-1] / 2))
    return ordered[middle].m_per_pt


def _u_of(votes: Sequence[ScaleVote], scale: float) -> float:
    """Return the uncertainty of a group's scale: of its votes together, or what their scatter says if that is more."""
    stated = 1.0 / math.sqrt(sum(1.0 / max(vote.u, U_LEAST) ** 2 for vote in votes))
    weights = np.array([1.0 / max(vote.u, U_LEAST) ** 2 for vote in votes])
    off = np.log(np.array([vote.m_per_pt for vote in votes]) / scale)
    scatter = math.sqrt(float((weights * off**2).sum() / weights.sum()) / len(votes))
    return max(U_LEAST, stated, scatter)


def _with_units(drawn: Sequence[ScaleVote], stated: Sequence[ScaleVote]) -> tuple[list[ScaleVote], list[str]]:
    """Turn numbers without a unit into the one that the sheet's other readings bear out, if theirs is another."""
    bare = [vote for vote in drawn if vote.is_bare]
    others = [vote for vote in drawn if not vote.is_bare]
    groups = _groups(bare)
    sure = [group for group in _groups(others) if group.support > 1]
    references = [*(vote.m_per_pt for vote in stated), *(group.m_per_pt for group in sure)]
    if not groups or groups[0].support < 2 or any(is_same(groups[0].m_per_pt, scale) for scale in references):
        return list(drawn), []
    is_decimal = not groups[0].votes[0].text.isdigit()
    assumed = 1.0 if is_decimal else 0.001
    for name, unit in _BARE:
        factor = unit / assumed
        if factor != 1 and any(is_same(groups[0].m_per_pt * factor, scale) for scale in references):
            turned = [
                replace(
                    vote,
                    m_per_pt=vote.m_per_pt * factor,
                    known=replace(vote.known, length=vote.known.length * factor) if vote.known else None,
                    step=vote.step * factor,
                )
                if vote.is_bare and vote.text.isdigit() != is_decimal
                else vote
                for vote in drawn
            ]
            return turned, [f"the dimensions are written without a unit and read as {name}, as the scale bears out"]
    return list(drawn), []
