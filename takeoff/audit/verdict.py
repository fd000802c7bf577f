"""The verdict on a stated area: it agrees, differs beyond measurement, or nothing can be said (JCGM 100:2008)."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType
from typing import Literal

from takeoff.audit.areas import BASES, Basis, RoomAreas
from takeoff.audit.matching import RoomMatch
from takeoff.audit.reasons import Claim, Leading, find_reasons
from takeoff.audit.stated import StatedArea
from takeoff.audit.tries import Try
from takeoff.model.walls import Room
from takeoff.units import Display

Verdict = Literal["agrees", "differs", "cannot say"]

COVERAGE = 2.0
"""Coverage factor k of the expanded uncertainty, about 95 % (JCGM 100:2008, 6.3.3)."""
COARSE = 0.05
"""Expanded uncertainty, as a part of the area, above which an agreement says nothing (judgement, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckLine:
    """One stated area against what was measured; areas in m².

    ``measured`` is ``None`` where the room has no measured area on the basis. ``u`` is the expanded uncertainty (k = 2)
    of ``difference``, stated less measured. ``reason`` says in words why the verdict is what it is. ``height`` is the
    one height in m of most of the room's walls, ``None`` where they slope. ``counts_differ``: table and job have
    another number of such rooms.
    """

    match: RoomMatch
    room_label: str
    verdict: Verdict
    reason: str
    measured: float | None = None
    difference: float | None = None
    u: float | None = None
    height: float | None = None
    causes: tuple[Try, ...] = ()
    counts_differ: bool = False

    @property
    def key(self) -> str:
        """What tells the line from the others: its place in the table, else its room."""
        return self.match.stated.where or self.room_label

    @property
    def relative(self) -> float | None:
        """The difference as a part of the measured area."""
        return None if self.difference is None or not self.measured else self.difference / self.measured

    @property
    def relative_words(self) -> str:
        """That part as signed per cent, nil without a sign; empty where there is none."""
        text = "" if self.relative is None else f"{self.relative:+.1%}".replace("-", "−")
        return text[1:] if text[1:] == "0.0%" else text


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaCheck:
    """A whole check: rule, basis, a line per stated area, and the labels of rooms that nothing is stated of.

    ``leading`` are the reasons that explain several differences, the one that explains most first; ``faults`` is what
    is wrong in the table itself.
    """

    rule: str
    basis: Basis
    lines: tuple[CheckLine, ...]
    unstated: tuple[str, ...]
    leading: tuple[Leading, ...] = ()
    faults: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    def count(self, verdict: Verdict) -> int:
        """Count the lines of a verdict."""
        return sum(line.verdict == verdict for line in self.lines)

    @property
    def differs(self) -> bool:
        """True where a stated area differs beyond measurement."""
        return any(line.verdict == "differs" for line in self.lines)

    @property
    def is_clean(self) -> bool:
        """True where nothing differs, no room is left out or stated twice, and the table's sums and counts hold."""
        return not (self.differs or self.unstated or self.faults or any(line.counts_differ for line in self.lines))


def leading_texts(check: AreaCheck) -> list[str]:
    """Say which reasons explain several differences, how many each explains, and what is left."""
    off = check.count("differs")
    out = []
    for i, lead in enumerate(check.leading):
        left = ", ".join(lead.remaining)
        out.append(
            f"{'Reason that explains most' if i == 0 else 'Of the rest'}: {len(lead.explained)} of {off} that differ "
            f"{lead.text}{f'; left unexplained: {left}' if left else ''}"
        )
    return out


def judge(stated: float, measured: float, u: float) -> tuple[Verdict, float]:
    """Judge a stated area against a measured one.

    ``u``: standard uncertainty of their difference in m².

    Returns
    -------
    Verdict
        "agrees" within the expanded uncertainty, "differs" beyond it; "cannot say" where it agrees only because the
        measurement is coarse.
    float
        The expanded uncertainty in m².

    Examples
    --------
    >>> judge(100.0, 101.0, 0.6), judge(100.0, 103.0, 0.6), judge(100.0, 101.0, 5.0)
    (('agrees', 1.2), ('differs', 1.2), ('cannot say', 10.0))
    """
    expanded = COVERAGE * u
    if abs(stated - measured) > expanded:
        return "differs", expanded
    return ("cannot say" if expanded > COARSE * measured else "agrees"), expanded


def check_rooms(
    matches: Sequence[RoomMatch],
    rooms: Mapping[str, RoomAreas],
    *,
    rule: str,
    basis: Basis,
    labels: Mapping[str, str],
    display: Display,
    faults: tuple[str, ...] = (),
    doubts: tuple[str, ...] = (),
    unmeasured: Mapping[str, str] = MappingProxyType({}),
) -> AreaCheck:
    """Check matched stated areas against measured rooms.

    Parameters
    ----------
    rooms
        Measured rooms by id; those without runs are missing.
    doubts
        What is doubtful about the measurement as a whole.
    unmeasured
        Why a room that has walls could not be measured, by its id.
    """
    lines = [_line(m, rooms, basis, labels, display, unmeasured) for m in matches]
    claims = [
        Claim(label=line.key, stated=line.match.stated, room=rooms[line.match.room], differs=line.verdict == "differs")
        for line in lines
        if line.measured is not None and line.match.room is not None and line.match.stated.is_figure
    ]
    leading, reasons = find_reasons(claims, basis=basis, display=display)
    names = {line.key: line.room_label for line in lines}
    named = {m.room for m in matches}

    def in_rooms(lead: Leading) -> Leading:
        explained, remaining = (tuple(names[key] for key in keys) for keys in (lead.explained, lead.remaining))
        return replace(lead, explained=explained, remaining=remaining)

    return AreaCheck(
        rule=rule,
        basis=basis,
        lines=tuple(replace(line, causes=reasons.get(line.key, ())) for line in lines),
        unstated=tuple(label for id, label in labels.items() if (id in rooms or id in unmeasured) and id not in named),
        leading=tuple(map(in_rooms, leading)),
        faults=(*faults, *_twice(lines)),
        doubts=doubts,
    )


def _twice(lines: Sequence[CheckLine]) -> list[str]:
    places: dict[str, list[str]] = {}
    for line in lines:
        stated = line.match.stated
        if stated.is_repeated:
            places.setdefault(line.room_label or stated.label, []).append(stated.where)
        elif line.match.room is not None:
            places.setdefault(line.room_label, []).append(stated.where)
    repeated = {line.room_label or line.match.stated.label for line in lines if line.match.stated.is_repeated}
    return [
        f"{label} is stated more than once: {', '.join(p for p in where if p)}"
        for label, where in places.items()
        if len(where) > 1 or label in repeated
    ]


def _line(
    match: RoomMatch,
    rooms: Mapping[str, RoomAreas],
    basis: Basis,
    labels: Mapping[str, str],
    display: Display,
    unmeasured: Mapping[str, str],
) -> CheckLine:
    label = labels.get(match.room or "", "")

    def nothing(reason: str) -> CheckLine:
        return CheckLine(match=match, room_label=label, verdict="cannot say", reason=reason)

    if not match.stated.is_figure:
        return nothing(f'the table states no figure: "{match.stated.written}"')
    if match.room is None:
        return nothing(match.how)
    room = rooms.get(match.room)
    if room is None:
        return nothing(unmeasured.get(match.room, "the room has not been traced"))
    found = room.areas.get(basis)
    if found is None:
        return nothing(f"the room's walls give no {BASES[basis]}")
    measured, u_measured = found
    stated, said = match.stated, ""
    if stated.is_repeated:
        stated, said = _said_twice(stated, measured, u_measured)
        match = replace(match, stated=stated)
    stated, alike = _of_one(stated, room.room, measured, u_measured, display)
    said = "; ".join(filter(None, (said, alike)))
    counts_differ = stated.count > 1 and stated.count != room.room.count
    if counts_differ:
        told = f"the table says {stated.count} alike, and the job counts it {room.room.times}"
        match = replace(match, doubts=(*match.doubts, told))
    difference = stated.area - measured
    verdict, expanded = judge(stated.area, measured, math.hypot(u_measured, stated.u_rounding))
    limits = f"the difference of {display.area(abs(difference))} is"
    reason = {
        "agrees": f"{limits} within the uncertainty of {display.area(expanded)}",
        "differs": f"{limits} beyond the uncertainty of {display.area(expanded)}",
        "cannot say": f"the uncertainty of {display.area(expanded)} is too large to tell",
    }[verdict]
    reason += f"; {said}" if said else f"; {stated.where} are added up" if stated.parts else ""
    return CheckLine(
        match=match,
        room_label=label,
        measured=measured,
        difference=difference,
        u=expanded,
        verdict=verdict,
        reason=reason,
        height=room.height,
        counts_differ=counts_differ,
    )


def _off(stated: StatedArea, measured: float, u: float) -> float:
    return abs(stated.area - measured) / math.hypot(u, stated.u_rounding)


def _of_one(stated: StatedArea, room: Room, measured: float, u: float, display: Display) -> tuple[StatedArea, str]:
    """The area of one of a room's copies, where the table or the job has several, and what is said of that.

    An area that fits one room is that of one; any other is taken for that of all of them where this fits better.
    """
    count = stated.count if stated.count > 1 else room.count
    if count == 1:
        return stated, ""
    shared = replace(stated, value=stated.value / count, decimals=stated.decimals + 1)
    best = min((stated, shared), key=partial(_off, measured=measured, u=u))
    if best is stated:
        return stated, f"of {count} alike the area of one is compared"
    return best, f"{stated.text} is taken for all {count} alike, {display.area(best.area)} each"


def _said_twice(stated: StatedArea, measured: float, u: float) -> tuple[StatedArea, str]:
    """Choose what rows of one room mean that nothing tells apart: parts of the room, or the room more than once.

    Their sum is taken unless one row alone fits the measured area better.
    """
    best = min((stated, *stated.parts), key=partial(_off, measured=measured, u=u))
    if best is stated:
        return stated, f"{stated.where} are added up"
    kept = replace(best, where=stated.where, is_repeated=True)
    return kept, f"the room is stated in {stated.where}; {best.where} alone is compared"
