"""What several readings of a sheet's scale come to: readings are votes; votes that differ are never averaged.

What is drawn was shrunk with the drawing and what is written was not, so drawn lengths that confirm each other more
often than chance explains win over a note, a scale bar and a measurement in the file. A note that nothing bears out is
hearsay: it is taken and told. A reading is **sure** where it has no doubts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from takeoff.model.plan import Point
from takeoff.sheet.embedded import GUESS
from takeoff.sheet.scales import ratio_text
from takeoff.trace.scales.bare_numbers import settle_units
from takeoff.trace.scales.groups import (
    APART,
    FINE,
    TELLING,
    Reader,
    ScaleVote,
    VoteGroup,
    agrees_with,
    group_votes,
    is_agreed,
    is_near,
    is_same,
)
from takeoff.trace.scales.scale_doubts import (
    WELL_KNOWN,
    Case,
    has_bar,
    is_alone,
    is_off,
    narrow_doors,
    others_written,
    part_doubts,
    stretch_doubts,
    told_of,
)
from takeoff.trace.scales.signs import Signs

TOO_COARSE = 0.1
"""A reading less certain than this tells nothing: a wall's thickness in whole inches."""
NO_SIGNS = Signs()
CLOSE = 0.002
"""A stated scale this far from the sheet's dimensions is theirs, however certain both are: what a printer stretches
(common practice, no source)."""
FITTED = 0.0015
"""Natural logarithm by which many lengths differ from a note of their print at the most: twice the 0.07 % met on sheets
whose scale is known (measured)."""
ENOUGH_APART = 2
"""A group needs this many times fewer lengths than another to be passed over for a stated scale that it confirms."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleReading:
    """What the votes come to.

    ``m_per_pt`` is the scale in metres per sheet point, ``None`` where nothing can be read or nothing outweighs the
    rest; ``u`` its relative standard uncertainty; ``reader`` what it is taken from, and ``stated`` the note's words
    where that is a note. ``doubts`` are sentences about what does not agree; ``others`` the scales that speak against
    it, in metres per sheet point; ``main`` the drawn lengths that tell most; ``refuted`` what is
    stated and they leave nothing to; ``parts`` lengths beside them that confirm
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
    refuted: tuple[str, ...] = ()
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


def weigh_votes(votes: Sequence[ScaleVote], signs: Signs = NO_SIGNS) -> ScaleReading:
    """Weigh the votes on one sheet's scale, in any order and of notes each scale once, against each other.

    ``signs`` is what else the sheet shows.
    """
    embedded = tuple(vote for vote in votes if vote.reader == "embedded")
    notes = tuple(vote for vote in votes if vote.reader == "note")
    drawn = [vote for vote in votes if vote.known is not None and vote.u <= TOO_COARSE]
    drawn, unit_doubts = settle_units(drawn, [v.m_per_pt for v in (*embedded, *notes) if not v.is_bare], signs)
    groups = tuple(group_votes(drawn))
    rough = tuple(vote for vote in drawn if vote.reader == "bar" and vote.u > FINE)
    main = _main_group(groups, (*embedded, *notes))
    refuted = _refuted(embedded, notes, main, signs, is_unit_told=not unit_doubts)
    embedded, notes = (tuple(vote for vote in votes if vote not in refuted) for votes in (embedded, notes))
    case = Case(embedded, notes, groups, main, signs, rough)
    chosen = _chosen(case)
    parts = tuple(group for group in groups if case.main is not None and _lies_apart(group, case.main))
    is_main = chosen is not None and case.main is not None and is_agreed(case.main, chosen.m_per_pt, chosen.u)
    doubts = [*told_of(case, chosen), *part_doubts(case, parts), *(stretch_doubts(case) if is_main else ())]
    is_group = main is not None and len(main.votes) > 1
    if chosen is None or chosen is case.main or (embedded and is_group):
        doubts = [*unit_doubts, *doubts]
    scale = chosen.m_per_pt if chosen is not None else None
    against = [vote.m_per_pt for vote in (*embedded, *notes, *rough)] + ([case.main.m_per_pt] if case.main else [])
    return ScaleReading(
        m_per_pt=scale,
        u=chosen.u if chosen is not None else 0.0,
        reader=_reader(chosen),
        stated=chosen.text if isinstance(chosen, ScaleVote) else "",
        votes=tuple(replace(v, agrees=scale is not None and is_near(v, scale)) for v in (*embedded, *notes, *drawn)),
        doubts=tuple(doubts),
        others=tuple(other for other in against if scale is not None and not is_same(other, scale)),
        main=case.main,
        refuted=tuple(
            f"unit: {vote.text.lstrip(GUESS)}" if vote.reader == "embedded" else vote.text for vote in refuted
        ),
        parts=parts,
        signs=signs,
    )


def _main_group(groups: Sequence[VoteGroup], stated: Sequence[ScaleVote]) -> VoteGroup | None:
    """Return the group with most support; one that is stated too wins over one with less than twice its support."""
    if not groups:
        return None
    best = max(groups, key=lambda group: (group.support, -group.u))
    for group in groups:
        if ENOUGH_APART * group.support > best.support and any(agrees_with(vote, group) for vote in stated):
            return group
    return best


def _chosen(case: Case) -> ScaleVote | VoteGroup | None:
    """Return what the scale is taken from."""
    main, signs = case.main, case.signs
    if case.embedded:
        is_refuted = main is not None and main.is_sure and not agrees_with(case.embedded[0], main)
        return main if is_refuted else case.embedded[0]
    if main is not None:
        confirmed = [note for note in case.notes if agrees_with(note, main)]
        if confirmed:
            return main if _is_fitted(main, confirmed[0]) else confirmed[0]
        if main.is_claim or has_bar(main):
            return main
        if is_alone(case) and not main.votes[0].is_bare and (not case.notes or signs.is_size_assumed):
            return main
    if len(case.notes) < 2:
        for bar in case.rough:
            if not case.notes or is_off(bar, case.notes[0].m_per_pt):
                return bar
    if len(case.notes) != 1 or signs.is_size_assumed or signs.doors_fit(case.notes[0].m_per_pt) is False:
        return None
    return case.notes[0]


def _is_fitted(main: VoteGroup, note: ScaleVote) -> bool:
    """Tell whether a print was made to fit its paper: many lengths know its scale better than its note."""
    off = abs(math.log(note.m_per_pt / main.m_per_pt))
    return main.is_sure and main.support >= TELLING and off > max(FITTED, APART * main.u)


def _reader(chosen: ScaleVote | VoteGroup | None) -> Reader | None:
    if isinstance(chosen, VoteGroup):
        readers = {vote.reader for vote in chosen.votes}
        return next(reader for reader in ("dimension", "grid", "bar") if reader in readers)
    return chosen.reader if chosen is not None else None


def _refuted(
    embedded: Sequence[ScaleVote],
    notes: Sequence[ScaleVote],
    main: VoteGroup | None,
    signs: Signs,
    *,
    is_unit_told: bool,
) -> tuple[ScaleVote, ...]:
    """Return the notes, or the unit in a drawing's header, that nothing is left to.

    Many lengths tell its scale that are of all of the sheet, or at which its doors are doors and at what is stated are
    not; no doors speak against them; and they cross, or doors speak against what is stated.
    """
    if main is None or not main.is_sure:
        return ()
    claims = (*embedded, *notes)
    if len(claims) != 1 or agrees_with(claims[0], main) or main.support < TELLING or main.u > WELL_KNOWN:
        return ()
    are_doors, are_none = signs.doors_fit(main.m_per_pt), signs.doors_fit(claims[0].m_per_pt) is False
    if are_doors is False or not (signs.spans_all(main) or (are_doors and are_none)):
        return ()  # such as a site plan beside the plan
    if embedded:  # units are so far apart that doors which are none in one tell
        return claims if claims[0].is_bare and is_unit_told and are_none else ()
    return claims if main.crosses or are_none else ()


def _lies_apart(group: VoteGroup, main: VoteGroup) -> bool:
    """Tell whether lengths that confirm each other at their own scale stand in a part of the sheet of their own."""
    if group is main or not group.is_sure:
        return False
    return not group.box.intersects(main.box)


def judge_scale(
    reading: ScaleReading, m_per_pt: float, u: float, outline_pt: tuple[Point, ...] | None = None
) -> tuple[bool, tuple[str, ...], tuple[float, ...]]:
    """Weigh a scale that a person states, and its relative standard uncertainty, against the readings of a sheet.

    ``outline_pt`` is the part of the sheet that it is for. Tells whether drawn lengths agree, in sentences what speaks
    against it, and the scales in metres per sheet point that do.
    """
    main, doors = reading.main, reading.signs.doors_fit(m_per_pt)
    if outline_pt is not None:
        part = shapely.Polygon(outline_pt)
        spans = [(v, shapely.LineString([v.known.start_pt, v.known.end_pt])) for v in reading.votes if v.known]
        main, doors = weigh_votes([vote for vote, span in spans if part.covers(span.centroid)]).main, None
    notes = [vote for vote in reading.votes if vote.reader == "note" and outline_pt is None]
    against = others_written(notes, m_per_pt, main, reading.signs)
    speaks = main is not None and (main.is_claim or (len(main.votes) == 1 and not main.votes[0].is_bare))
    if main is not None and speaks:
        if abs(math.log(m_per_pt / main.m_per_pt)) <= max(CLOSE, APART * math.hypot(u, main.u)):
            return main.is_claim, tuple(against), ()
        longest = max(main.votes, key=lambda vote: vote.span_pt)
        times = m_per_pt / longest.m_per_pt
        would = f"{times:.0%}" if times < 2 and not 0.95 < times < 1.05 else f"{times:.4g} times"
        against.append(
            f"{main.name} {ratio_text(main.m_per_pt)}; by {ratio_text(m_per_pt)} the line of “{longest.text}” would "
            f"be {would} as long as that"
        )
    others = (main.m_per_pt,) if main is not None and against else ()
    if doors is False:
        against.append(f"by {ratio_text(m_per_pt)} {narrow_doors(reading.signs, m_per_pt)}")
    return False, tuple(against), others
