"""The verdict on a stated area: it agrees, differs beyond measurement, or nothing can be said (JCGM 100:2008)."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from takeoff.audit.areas import BASES, Basis, RoomAreas
from takeoff.audit.causes import Cause, likely_causes
from takeoff.audit.matching import RoomMatch
from takeoff.errors import InputError
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
    one height in m of most of the room's walls, ``None`` where they slope.
    """

    match: RoomMatch
    room_label: str
    measured: float | None
    difference: float | None
    u: float | None
    verdict: Verdict
    reason: str
    height: float | None = None
    causes: tuple[Cause, ...] = ()

    @property
    def relative(self) -> float | None:
        """The difference as a part of the measured area."""
        return None if self.difference is None or not self.measured else self.difference / self.measured


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaCheck:
    """A whole check: rule, basis, a line per stated area, and the labels of rooms that nothing is stated of."""

    rule: str
    basis: Basis
    lines: tuple[CheckLine, ...]
    unstated: tuple[str, ...]
    doubts: tuple[str, ...] = ()

    def count(self, verdict: Verdict) -> int:
        """Count the lines of a verdict."""
        return sum(line.verdict == verdict for line in self.lines)

    @property
    def differs(self) -> bool:
        """True where a stated area differs beyond measurement."""
        return any(line.verdict == "differs" for line in self.lines)


def judge(stated: float, measured: float, u: float) -> tuple[Verdict, float]:
    """Judge a stated area against a measured one.

    Parameters
    ----------
    stated, measured
        Areas in m².
    u
        Standard uncertainty of their difference in m².

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
    doubts: tuple[str, ...] = (),
) -> AreaCheck:
    """Check matched stated areas against measured rooms.

    Parameters
    ----------
    matches
        Stated areas with their rooms.
    rooms
        Measured rooms by id; those without runs are missing.
    rule, basis
        Measuring rule of the rooms, and what the stated areas are taken to be areas of.
    labels
        Label of every room by id.
    display
        How figures are shown in sentences.
    doubts
        What is doubtful about the measurement as a whole.

    Raises
    ------
    InputError
        For a basis that is none, or when nothing is stated.
    """
    if basis not in BASES:
        raise InputError(f'there is no basis "{basis}"', remedy=f"Known bases: {', '.join(BASES)}.")
    if not matches:
        raise InputError("there is no stated area to check", remedy="Give a table with a row for each room.")
    lines = [_line(m, rooms, basis, labels, display) for m in matches]
    lines = [_with_causes(line, lines, rooms, basis, display) for line in lines]
    named = {m.room for m in matches}
    return AreaCheck(
        rule=rule,
        basis=basis,
        lines=tuple(lines),
        unstated=tuple(label for id, label in labels.items() if id in rooms and id not in named),
        doubts=doubts,
    )


def _line(
    match: RoomMatch, rooms: Mapping[str, RoomAreas], basis: Basis, labels: Mapping[str, str], display: Display
) -> CheckLine:
    label = labels.get(match.room or "", "")

    def nothing(reason: str) -> CheckLine:
        return CheckLine(
            match=match, room_label=label, measured=None, difference=None, u=None, verdict="cannot say", reason=reason
        )

    if match.room is None:
        return nothing(match.how)
    if match.room not in rooms:
        return nothing("the room has not been traced")
    found = rooms[match.room].areas.get(basis)
    if found is None:
        return nothing(f"the room's runs give no {BASES[basis]}")
    measured, u_measured = found
    difference = match.stated.area - measured
    verdict, expanded = judge(match.stated.area, measured, math.hypot(u_measured, match.stated.u_rounding))
    limits = f"the difference of {display.area(abs(difference))} is"
    reason = {
        "agrees": f"{limits} within the uncertainty of {display.area(expanded)}",
        "differs": f"{limits} beyond the uncertainty of {display.area(expanded)}",
        "cannot say": f"the uncertainty of {display.area(expanded)} is too large to tell",
    }[verdict]
    return CheckLine(
        match=match,
        room_label=label,
        measured=measured,
        difference=difference,
        u=expanded,
        verdict=verdict,
        reason=reason,
        height=rooms[match.room].height,
    )


def _with_causes(
    line: CheckLine, lines: Sequence[CheckLine], rooms: Mapping[str, RoomAreas], basis: Basis, display: Display
) -> CheckLine:
    if line.verdict != "differs" or line.match.room is None:
        return line
    others = {
        other.room_label: rooms[other.match.room].areas[basis]
        for other in lines
        if other is not line and other.verdict == "differs" and other.match.room not in (None, line.match.room)
        if other.match.room is not None and basis in rooms[other.match.room].areas
    }
    causes = likely_causes(line.match.stated, rooms[line.match.room], basis=basis, others=others, display=display)
    return replace(line, causes=causes)
