"""What is told of a scale: what does not agree with it, what nothing bears out, and why there is none."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.sheet.calibrate import LEAF
from takeoff.sheet.embedded import GUESS, unit_said
from takeoff.sheet.scales import ratio_of, ratio_text
from takeoff.trace.scales.groups import (
    AGREE,
    APART,
    SCATTER,
    SURE,
    ScaleVote,
    VoteGroup,
    agrees_with,
    chance_at,
    is_along,
    is_same,
)
from takeoff.trace.scales.signs import FEWEST_DOORS, SMALL_LETTERS_M, Signs

NOTHING = "no dimension on the sheet confirms it"
"""Why a scale that was only stated is open."""
NEAR_BAR = 0.05
"""Natural logarithm by which a short scale bar may be off a scale and not speak against it (judgement)."""
WELL_KNOWN = 0.0025
"""A scale from dimensions less certain than this is doubted: half a hundredth of every length, at k = 2."""
ALIKE_DOORS = 0.22
"""Natural logarithm by which the middle doors of two halves of a plan differ at the most: a quarter (judgement)."""
OTHER_DOORS = 0.4
"""The same where the scale is stated: doors on a plan at the next usual scale are half as wide again (judgement)."""
MAP = 4.0, 400.0
"""Times that a map is smaller than the plan that it is beside, and N of its 1:N, at the least (judgement)."""
DOORS = math.log(LEAF[1] / LEAF[0]) / SCATTER
"""Part of all scales at which the doors of a sheet are as wide as doors are."""
STRETCHED = 0.3
"""Natural logarithm by which a drawing that was stretched one way may be off (judgement)."""


@dataclass(frozen=True, slots=True)
class Case:
    """The votes of a sheet, sorted: what is stated, what its drawn lengths come to, and bars too short to tell it."""

    embedded: tuple[ScaleVote, ...]
    notes: tuple[ScaleVote, ...]
    groups: tuple[VoteGroup, ...]
    main: VoteGroup | None
    signs: Signs
    rough: tuple[ScaleVote, ...] = ()


def told_of(case: Case, chosen: ScaleVote | VoteGroup | None) -> list[str]:
    """Say what does not agree and what nothing bears out, with the figures."""
    told = _disagreements(case, chosen)
    if chosen is None:
        return told + _nothing_found(case)
    if isinstance(chosen, VoteGroup):
        is_stated = any(agrees_with(vote, chosen) for vote in (*case.embedded, *case.notes))
        told += _group_doubts(chosen, case.signs, is_stated=is_stated)
        told += _doors_beside(chosen, case.signs, is_stated=is_stated)
    elif chosen.reader == "note":
        told += _note_doubts(case, chosen)
    elif chosen.reader == "bar":
        note = f"the note says {ratio_text(case.notes[0].m_per_pt)}, but " if case.notes else ""
        bar = f"the scale bar “{chosen.text}” gives about {ratio_text(chosen.m_per_pt)}"
        told.append(f"{note}{bar}: check it with a dimension")
    elif chosen.is_bare and not told and not _is_confirmed(case, chosen):
        told.append(f"{unit_said(chosen.text)}, and nothing drawn confirms that: check it with a dimension")
    if case.signs.doors_fit(chosen.m_per_pt) is False:
        told.append(f"by the scale {ratio_text(chosen.m_per_pt)} {narrow_doors(case.signs, chosen.m_per_pt)}")
    return told


def _is_confirmed(case: Case, stated: ScaleVote) -> bool:
    """Tell whether drawn lengths or the doors bear a stated scale out; one door does not where no unit is said."""
    is_drawn = case.main is not None and case.main.is_claim and agrees_with(stated, case.main)
    enough = len(case.signs.doors) >= (FEWEST_DOORS if stated.text.startswith(GUESS) else 1)
    return is_drawn or (enough and case.signs.doors_fit(stated.m_per_pt) is True)


def _disagreements(case: Case, chosen: ScaleVote | VoteGroup | None) -> list[str]:
    """Say which stated scale the drawn lengths contradict, and which others are written."""
    told: list[str] = []
    main = case.main
    is_one = is_alone(case) and main is not None and not main.votes[0].is_bare
    if main is not None and (main.is_claim or has_bar(main) or is_one) and (chosen is not None or len(case.notes) < 2):
        notes = () if any(agrees_with(note, main) for note in case.notes) else case.notes[:1]
        for vote, says in ((case.embedded[:1], "the embedded measurement gives"), (notes, "the note says")):
            if vote and not agrees_with(vote[0], main):
                told.append(f"{says} {ratio_text(vote[0].m_per_pt)}, {main.name} {ratio_text(main.m_per_pt)}")
    if case.embedded and case.notes and not any(is_same(case.embedded[0].m_per_pt, n.m_per_pt) for n in case.notes):
        both = ratio_text(case.notes[0].m_per_pt), ratio_text(case.embedded[0].m_per_pt)
        told.append(f"the note says {both[0]}, the embedded measurement gives {both[1]}")
    told += [
        f"the scale bar “{bar.text}” gives about {ratio_text(bar.m_per_pt)}"
        for bar in case.rough
        if chosen is not None and is_off(bar, chosen.m_per_pt)
    ]
    if chosen is not None:
        told += others_written(case.notes, chosen.m_per_pt, main, case.signs)
    return told


def others_written(notes: Sequence[ScaleVote], m_per_pt: float, main: VoteGroup | None, signs: Signs) -> list[str]:
    """Say which of several written scales differ from the one taken; that of a map beside a plan says nothing."""
    is_all = main is not None and main.is_sure and signs.spans_all(main)
    others = [n for n in notes if not is_same(n.m_per_pt, m_per_pt) and not (is_all and _is_map(n.m_per_pt, m_per_pt))]
    if len(notes) < 2 or not others:
        return []
    written = ", ".join(note.text for note in others)
    return [f"other scales are written on it too: {written}; outline the parts that are drawn at them"]


def _is_map(m_per_pt: float, of_plan: float) -> bool:
    """Tell whether a scale is that of a map beside a plan: no room can be measured on it."""
    return m_per_pt > MAP[0] * of_plan and ratio_of(m_per_pt) >= MAP[1]


def _nothing_found(case: Case) -> list[str]:
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
        note = case.notes[0].m_per_pt
        told.append(f"the note says {ratio_text(note)}, but {narrow_doors(case.signs, note)}")
    count, main = sum(len(group.votes) for group in case.groups), case.main
    if main is None:
        return told
    found = f"one dimension alone, “{main.votes[0].text}”, was found, and by it"
    if count > 1:
        found = (
            f"{count} lengths were found on it, and they agree no better than chance would have them; by "
            f"{len(main.votes)} of them, such as “{main.votes[0].text}”,"
        )
    return [*told, f"{found} the scale were {ratio_text(main.m_per_pt)}"]


def _group_doubts(group: VoteGroup, signs: Signs, *, is_stated: bool) -> list[str]:
    """Say how little a scale rests on that drawn lengths give.

    Two that cross are enough where the doors are doors by it: chance makes two lengths and the doors agree as rarely.
    """
    if group.support == 1 and not is_stated:
        vote = group.votes[0]
        if vote.reader == "bar":
            unit = ", whose unit is taken for metres," if vote.is_bare else ","
            return [f"a scale bar alone, “{vote.text}”{unit} tells the scale: check it with a dimension"]
        return [f"one dimension alone, “{vote.text}”, tells the scale: check it with another"]
    told: list[str] = []
    is_third = group.crosses and group.support == 2 and signs.doors_fit(group.m_per_pt) is True
    if not (group.is_sure or is_stated or (is_third and DOORS * group.chance <= SURE)):
        lengths = " and ".join(f"“{vote.text}”" for vote in group.votes[:2])
        told.append(f"{group.support} dimensions alone, {lengths}, tell the scale: check it with another")
    if group.u > WELL_KNOWN:
        told.append(f"the dimensions tell the scale to ± {2 * group.u:.1%} only: check it with a longer one")
    return told


def _doors_beside(group: VoteGroup, signs: Signs, *, is_stated: bool) -> list[str]:
    """Say where a plan with doors stands beside what is dimensioned: a sheet may show parts at several scales.

    Where the scale is stated too only doors that are wider or narrower than those within tell it.
    """
    within, beside = (part.door(1.0) for part in signs.parted(group.spans_pt))
    if beside is None or (within is None and is_stated):
        return []
    if within is not None and abs(math.log(within / beside)) < (OTHER_DOORS if is_stated else ALIKE_DOORS):
        return []
    return ["doors stand beside what the dimensions span, on what may have a scale of its own: check it there"]


def _note_doubts(case: Case, note: ScaleVote) -> list[str]:
    """Say where a note rests on nothing but itself."""
    main = case.main
    if main is not None and agrees_with(note, main):
        every = [vote for group in case.groups for vote in group.votes]
        if chance_at(main.support, [vote.tolerance for vote in every]) > SURE and not has_bar(main):
            return [
                f"{len(main.votes)} of {len(every)} lengths confirm the note, as chance would have it: check it with a "
                "dimension"
            ]
        if main.u > WELL_KNOWN:
            return [f"the dimensions confirm the note to ± {2 * main.u:.1%} only: check it with a longer one"]
        return _doors_beside(main, case.signs, is_stated=True)
    told = NOTHING
    letters = case.signs.letters_m
    if letters is not None and letters < SMALL_LETTERS_M:
        told += f"; its letters are only {1000 * letters:.1f} mm high, as on a reduced print"
    if case.signs.warning:
        told += f"; the sheet says “{case.signs.warning}”"
    return [told]


def stretch_doubts(case: Case) -> list[str]:
    """Say where a drawing may be stretched one way: lengths across those that agree give another scale not far off.

    Lengths that run one way say nothing of the other where neither circles nor the file show that it is alike. Where a
    note says what they do, one length across them is more likely at a wrong line.
    """
    main, stretch = case.main, case.signs.stretch
    ways = [is_along(vote) for vote in main.votes if vote.reader == "dimension"] if main is not None else []
    is_stated = main is not None and any(agrees_with(note, main) for note in case.notes)
    if main is None or not ways or not (len(main.votes) > 1 or is_stated):
        return []
    way = 2 * sum(ways) >= len(ways)
    across = [g for g in case.groups if g is not main and all(is_along(vote) is not way for vote in g.votes)]
    off = [
        group
        for group in across
        if abs(math.log(group.m_per_pt / main.m_per_pt)) < STRETCHED
        and len(group.votes) >= max(ways.count(not way), 2 if is_stated else 1)
    ]
    if len(across) > 1 and not (main.crosses or is_stated):
        off = off or across  # none of several across them agrees
    runs = f"the lengths that agree run {'along' if way else 'up'} the sheet, and"
    if off:
        gives = f"“{off[0].votes[0].text}” across them gives {ratio_text(off[0].m_per_pt)}"
        return [f"{runs} {gives}: the drawing may be stretched"]
    if main.crosses or case.embedded or (stretch is not None and abs(stretch) <= AGREE):
        return []
    shows = "nothing shows that it is not"
    if stretch is not None:
        shows = f"circles are {math.exp(stretch):.1%} as high as wide: it may be"
    return [f"{runs} {shows} stretched: check one across them"]


def part_doubts(case: Case, parts: Sequence[VoteGroup]) -> list[str]:
    """Say which lengths confirm each other at another scale among those of the main one."""
    count = sum(len(group.votes) for group in case.groups)
    other = [g for g in case.groups if g.is_sure and g is not case.main and g not in parts]
    return [
        f"{len(group.votes)} of {count} lengths, such as {' and '.join(f'“{v.text}”' for v in group.votes[:2])}, give "
        f"{ratio_text(group.m_per_pt)}: a part of the sheet may have a scale of its own"
        for group in other
    ]


def is_alone(case: Case) -> bool:
    """Tell whether a single length, however often, is all that is drawn, or two that agree."""
    return len(case.groups) == 1 and case.groups[0].support < 3


def has_bar(group: VoteGroup) -> bool:
    """Tell whether a scale bar is in a group."""
    return any(vote.reader == "bar" for vote in group.votes)


def is_off(bar: ScaleVote, m_per_pt: float) -> bool:
    """Tell whether a short scale bar speaks against a scale."""
    return abs(math.log(bar.m_per_pt / m_per_pt)) > max(NEAR_BAR, APART * bar.u)


def narrow_doors(signs: Signs, m_per_pt: float) -> str:
    """Say how wide the doors of a sheet are at a scale, as they cannot be."""
    return f"the doors would be {signs.door(m_per_pt) or 0.0:.2f} m wide"
