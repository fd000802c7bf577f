"""What several readings of a sheet's scale come to: readings are votes; votes that differ are never averaged.

What is drawn was shrunk with the drawing and what is written was not, so drawn lengths that confirm each other more
often than chance explains win over a note, a scale bar and a measurement in the file. A note that nothing bears out is
hearsay: it is taken and told, unless the sheet names its own paper. A reading is **sure** where it has no doubts.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from takeoff.sheet.scales import ratio_text
from takeoff.trace.scales.bare_numbers import is_plausible, settle_units
from takeoff.trace.scales.groups import (
    APART,
    FINE,
    Reader,
    ScaleVote,
    VoteGroup,
    agrees_with,
    group_votes,
    is_agreed,
    is_near,
    is_same,
)
from takeoff.trace.scales.signs import SMALL_LETTERS_M, Signs
from takeoff.units import INCH

TOO_COARSE = 0.1
"""A reading less certain than this tells nothing: a wall's thickness in whole inches."""
DIMENSIONED = (0.00035, 1.8)
"""Metres per sheet point that a dimension may give, 1:1 to 1:5000; beyond, a number is no dimension (our choice)."""
WELL_KNOWN = 0.0025
"""A scale from dimensions less certain than this is doubted: half a hundredth of every length, at k = 2."""
NO_SIGNS = Signs()
AROUND_PT = 12.0
"""Points round what a part's dimensions were measured at that belong to the part: a line of text and a half."""
NEAR_BAR = 0.05
"""Natural logarithm by which dimensions may be off a note that a scale bar confirms, and fall to both: lines that were
set loosely, as in a mark-up; a plan at another scale is further off (judgement)."""
ENOUGH_APART = 2
"""A group needs this many times fewer lengths than another to be passed over for a stated scale that it confirms."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleReading:
    """What the votes come to.

    ``m_per_pt`` is the scale in metres per sheet point, ``None`` where nothing can be read or nothing outweighs the
    rest; ``u`` its relative standard uncertainty; ``reader`` what it is taken from, and ``stated`` the note's words
    where that is a note. ``doubts`` are sentences about what does not agree; ``others`` the scales that speak against
    it, in metres per sheet point; ``main`` the drawn lengths that tell most; ``parts`` lengths beside them that confirm
    each other at another scale; ``signs`` what else the sheet shows.
    """

    m_per_pt: float | None
    u: float
    reader: Reader | None
    votes: tuple[ScaleVote, ...]
    stated: str = ""
    doubts: tuple[str, ...] = ()
    others: tuple[float, ...] = ()
    main: VoteGroup | None = None
    parts: tuple[VoteGroup, ...] = ()
    signs: Signs = NO_SIGNS

    @property
    def agreeing(self) -> tuple[ScaleVote, ...]:
        """The votes from drawn lengths that lie with the scale, the surest first."""
        drawn = [vote for vote in self.votes if vote.agrees and vote.known is not None]
        return tuple(sorted(drawn, key=lambda vote: vote.u))

    @property
    def is_borne_out(self) -> bool:
        """True where drawn lengths agree with the scale."""
        return self.m_per_pt is not None and self.main is not None and is_agreed(self.main, self.m_per_pt, self.u)


@dataclass(frozen=True, slots=True)
class _Case:
    """The votes of a sheet, sorted: what is stated, what its drawn lengths come to, and bars too short to tell it."""

    embedded: tuple[ScaleVote, ...]
    notes: tuple[ScaleVote, ...]
    groups: tuple[VoteGroup, ...]
    main: VoteGroup | None
    signs: Signs
    rough: tuple[ScaleVote, ...] = ()

    @property
    def stated(self) -> tuple[ScaleVote, ...]:
        return (*self.embedded, *self.notes)


def weigh_votes(votes: Sequence[ScaleVote], signs: Signs | None = None) -> ScaleReading:
    """Weigh the votes on one sheet's scale against each other.

    Parameters
    ----------
    votes
        In any order. Of notes, each scale once.
    signs
        What else the sheet shows.
    """
    signs = signs or NO_SIGNS
    embedded = tuple(vote for vote in votes if vote.reader == "embedded")
    notes = tuple(vote for vote in votes if vote.reader == "note")
    drawn = [vote for vote in votes if vote.known is not None and vote.u <= TOO_COARSE and _is_dimensioned(vote)]
    units = [vote.m_per_pt for vote in (*embedded, *notes) if not vote.is_bare]
    drawn, unit_doubts = settle_units(drawn, units, signs)
    groups = tuple(group_votes(drawn))
    rough = tuple(vote for vote in drawn if vote.reader == "bar" and vote.u > FINE)
    main = _main_group(groups, (*embedded, *notes))
    if embedded and main is not None and main.is_sure and agrees_with(embedded[0], main):
        notes = tuple(note for note in notes if agrees_with(note, main))  # both leave nothing to another one
    case = _Case(embedded, notes, groups, main, signs, rough)
    chosen = _chosen(case)
    parts = tuple(group for group in groups if case.main is not None and _lies_apart(group, case.main))
    doubts = [*_told(case, chosen), *_part_doubts(case, parts)]
    if chosen is case.main or embedded:
        doubts = [*unit_doubts, *doubts]
    scale = chosen.m_per_pt if chosen is not None else None
    against = [vote.m_per_pt for vote in (*case.stated, *case.rough)] + ([case.main.m_per_pt] if case.main else [])
    return ScaleReading(
        m_per_pt=scale,
        u=chosen.u if chosen is not None else 0.0,
        reader=_reader(chosen),
        stated=chosen.text if isinstance(chosen, ScaleVote) else "",
        votes=tuple(replace(v, agrees=scale is not None and is_near(v, scale)) for v in (*embedded, *notes, *drawn)),
        doubts=tuple(doubts),
        others=tuple(other for other in against if scale is not None and not is_same(other, scale)),
        main=case.main,
        parts=parts,
        signs=signs,
    )


def _is_dimensioned(vote: ScaleVote) -> bool:
    low, high = (0.001 * DIMENSIONED[0], 1000 * DIMENSIONED[1]) if vote.is_bare else DIMENSIONED
    return low <= vote.m_per_pt <= high


def _main_group(groups: Sequence[VoteGroup], stated: Sequence[ScaleVote]) -> VoteGroup | None:
    """Return the group with most support; one that is stated too wins over one with less than twice its support."""
    if not groups:
        return None
    best = max(groups, key=lambda group: (group.support, -group.u))
    for group in groups:
        is_close = _has_bar(group) and abs(math.log(group.m_per_pt / best.m_per_pt)) < NEAR_BAR
        is_enough = is_close or ENOUGH_APART * group.support > best.support
        if is_enough and any(agrees_with(vote, group) for vote in stated):
            return group
    return best


def _chosen(case: _Case) -> ScaleVote | VoteGroup | None:
    """Return what the scale is taken from."""
    main, signs = case.main, case.signs
    if case.embedded:
        is_refuted = main is not None and main.is_sure and not agrees_with(case.embedded[0], main)
        return main if is_refuted else case.embedded[0]
    if main is not None:
        confirmed = [note for note in case.notes if agrees_with(note, main)]
        if confirmed:
            return confirmed[0]
        if main.is_claim or _has_bar(main):
            return main
        if _is_alone(case) and not main.votes[0].is_bare and (not case.notes or signs.is_size_assumed):
            return main
    if len(case.notes) != 1 or signs.is_size_assumed or signs.doors_fit(case.notes[0].m_per_pt) is False:
        return None
    return case.notes[0]


def _reader(chosen: ScaleVote | VoteGroup | None) -> Reader | None:
    if isinstance(chosen, VoteGroup):
        return "dimension" if any(vote.reader == "dimension" for vote in chosen.votes) else "bar"
    return chosen.reader if chosen is not None else None


def _has_bar(group: VoteGroup) -> bool:
    return any(vote.reader == "bar" for vote in group.votes)


def _is_alone(case: _Case) -> bool:
    """Tell whether a single length, however often, is all that is drawn, or two that agree."""
    return len(case.groups) == 1 and case.groups[0].support < 3


def _told(case: _Case, chosen: ScaleVote | VoteGroup | None) -> list[str]:
    """Say what does not agree and what nothing bears out, with the figures."""
    told = _disagreements(case, chosen)
    if chosen is None:
        return told + _nothing_found(case)
    if isinstance(chosen, VoteGroup):
        told += _group_doubts(chosen, is_stated=any(agrees_with(vote, chosen) for vote in case.stated))
    elif chosen.reader == "note":
        told += _note_doubts(case, chosen)
    elif chosen.is_bare and not told and not _is_confirmed(case, chosen):
        told.append(
            f"the drawing says that its unit is {chosen.text}, and nothing drawn confirms that: check it with a "
            "dimension"
        )
    if case.signs.doors_fit(chosen.m_per_pt) is False:
        told.append(f"by the scale {ratio_text(chosen.m_per_pt)} the doors would be {_door(case, chosen)} wide")
    elif isinstance(chosen, ScaleVote) and case.main is not None and agrees_with(chosen, case.main):
        lengths = [vote.known.length for vote in case.main.votes if vote.known is not None]
        if len(lengths) > 1 and not is_plausible(lengths, chosen.m_per_pt, case.signs):
            told.append(f"by the scale {ratio_text(chosen.m_per_pt)} the longest dimension is {max(lengths):,.4g} m")
    return told


def _is_confirmed(case: _Case, stated: ScaleVote) -> bool:
    """Tell whether drawn lengths or the doors bear a stated scale out."""
    is_drawn = case.main is not None and case.main.is_claim and agrees_with(stated, case.main)
    return is_drawn or case.signs.doors_fit(stated.m_per_pt) is True


def _disagreements(case: _Case, chosen: ScaleVote | VoteGroup | None) -> list[str]:
    """Say which stated scale the drawn lengths contradict, and which others are written."""
    told: list[str] = []
    main = case.main
    is_one = _is_alone(case) and main is not None and not main.votes[0].is_bare
    if main is not None and (main.is_claim or _has_bar(main) or is_one) and (chosen is not None or len(case.notes) < 2):
        for vote, says in ((case.embedded[:1], "the embedded measurement gives"), (case.notes[:1], "the note says")):
            if vote and not agrees_with(vote[0], main):
                told.append(f"{says} {ratio_text(vote[0].m_per_pt)}, {main.name} {ratio_text(main.m_per_pt)}")
    if case.embedded and case.notes and not any(is_same(case.embedded[0].m_per_pt, n.m_per_pt) for n in case.notes):
        both = ratio_text(case.notes[0].m_per_pt), ratio_text(case.embedded[0].m_per_pt)
        told.append(f"the note says {both[0]}, the embedded measurement gives {both[1]}")
    told += [
        f"the scale bar “{bar.text}” gives about {ratio_text(bar.m_per_pt)}"
        for bar in case.rough
        if chosen is not None and abs(math.log(bar.m_per_pt / chosen.m_per_pt)) > max(NEAR_BAR, APART * bar.u)
    ]
    if chosen is not None and len(case.notes) > 1:
        others = [note for note in case.notes if not is_same(note.m_per_pt, chosen.m_per_pt)]
        if others:
            told.append(
                f"other scales are written on it too: {', '.join(note.text for note in others)}; outline the parts "
                "that are drawn at them"
            )
    return told


def _nothing_found(case: _Case) -> list[str]:
    """Say why there is no scale."""
    told: list[str] = []
    if len(case.notes) > 1:
        told.append(
            f"several scales are written on it: {', '.join(note.text for note in case.notes)}; outline each part that "
            "has a scale of its own"
        )
    elif case.notes and case.signs.is_size_assumed:
        told.append(
            f"the note says “{case.notes[0].text}”, but nobody knows how large this picture was on paper, so a note "
            "tells nothing"
        )
    elif case.notes:
        told.append(
            f"the note says {ratio_text(case.notes[0].m_per_pt)}, but the doors would be {_door(case, case.notes[0])} "
            "wide"
        )
    count = sum(len(group.votes) for group in case.groups)
    if count > 1:
        told.append(f"{count} lengths were found on it, and they agree no better than chance would have them")
    elif case.main is not None and case.main.votes[0].is_bare:
        told.append(f"one dimension alone, “{case.main.votes[0].text}”, was found, and it has no unit")
    return told


def _group_doubts(group: VoteGroup, *, is_stated: bool) -> list[str]:
    """Say how little a scale rests on that drawn lengths give."""
    if group.support == 1 and not is_stated:
        vote = group.votes[0]
        if vote.reader == "bar":
            unit = ", whose unit is taken for metres," if vote.is_bare else ","
            return [f"a scale bar alone, “{vote.text}”{unit} tells the scale: check it with a dimension"]
        return [f"one dimension alone, “{vote.text}”, tells the scale: check it with another"]
    told: list[str] = []
    if not group.is_sure and not is_stated:
        lengths = " and ".join(f"“{vote.text}”" for vote in group.votes[:2])
        told.append(f"{group.support} dimensions alone, {lengths}, tell the scale: check it with another")
    if group.u > WELL_KNOWN:
        told.append(f"the dimensions tell the scale to ± {2 * group.u:.1%} only: check it with a longer one")
    return told


def _note_doubts(case: _Case, note: ScaleVote) -> list[str]:
    """Say where a note rests on nothing but itself."""
    main = case.main
    if main is not None and agrees_with(note, main):
        if main.u > WELL_KNOWN:
            return [f"the dimensions confirm the note to ± {2 * main.u:.1%} only: check it with a longer one"]
        return []
    if case.signs.is_paper_named and not re.search("HALF|REDUCED|VERKLEIN", case.signs.warning, re.IGNORECASE):
        return []
    told = f"nothing confirms the note “{note.text}”, and a print may have been reduced: check it with a dimension"
    letters = case.signs.letters_m
    if letters is not None and letters < SMALL_LETTERS_M:
        told += f"; its letters are only {1000 * letters:.1f} mm high, as on a reduced print"
    if case.signs.warning:
        told += f"; the sheet says “{case.signs.warning}”"
    return [told]


def _lies_apart(group: VoteGroup, main: VoteGroup) -> bool:
    """Tell whether lengths that confirm each other at their own scale stand in a part of the sheet of their own."""
    if group is main or not group.is_sure:
        return False
    return not box_of(group).intersects(box_of(main))


def box_of(group: VoteGroup) -> shapely.Polygon:
    """Return the box in sheet points round everything that a group was measured at, as wide again as its texts are."""
    ends = [end for vote in group.votes if vote.known for end in (vote.known.start_pt, vote.known.end_pt)]
    points = shapely.MultiPoint([*ends, *(vote.at_pt for vote in group.votes)])
    return shapely.box(*points.buffer(AROUND_PT).bounds)


def _part_doubts(case: _Case, parts: Sequence[VoteGroup]) -> list[str]:
    """Say which lengths confirm each other at another scale among those of the main one."""
    count = sum(len(group.votes) for group in case.groups)
    other = [g for g in case.groups if g.is_sure and g is not case.main and g not in parts]
    return [
        f"{len(group.votes)} of {count} lengths, such as {' and '.join(f'“{v.text}”' for v in group.votes[:2])}, give "
        f"{ratio_text(group.m_per_pt)}: a part of the sheet may have a scale of its own"
        for group in other
    ]


def _door(case: _Case, at: ScaleVote | VoteGroup) -> str:
    return door_text(case.signs, at.m_per_pt)


def door_text(signs: Signs, m_per_pt: float) -> str:
    """Write how wide the doors of a sheet are at a scale, in metres and inches."""
    door = signs.door(m_per_pt) or 0.0
    return f"{door:.2f} m ({door / INCH:.0f} in)"
