"""A scale that a person states, against what the sheet shows: its dimensions and its doors."""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely

from takeoff.model.plan import Point
from takeoff.sheet.scales import ratio_text
from takeoff.trace.scales.groups import APART, VoteGroup
from takeoff.trace.scales.scale_doubts import door_text
from takeoff.trace.scales.scale_weighing import ScaleReading, weigh_votes

CLOSE = 0.002
"""A stated scale this far from the sheet's dimensions is theirs, however certain both are: what a printer stretches
(common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a sheet says of a scale.

    ``is_borne_out`` tells that drawn lengths agree; ``against`` are sentences about what speaks against it, ``others``
    the scales in metres per sheet point that do.
    """

    is_borne_out: bool
    against: tuple[str, ...] = ()
    others: tuple[float, ...] = ()


def judge_scale(
    reading: ScaleReading, m_per_pt: float, u: float, *, outline_pt: tuple[Point, ...] | None = None
) -> Verdict:
    """Weigh a stated scale against the readings of a sheet.

    Parameters
    ----------
    reading
        What was read on the sheet.
    m_per_pt, u
        The scale in metres per sheet point and its relative standard uncertainty.
    outline_pt
        The part of the sheet that it is for; the whole sheet where ``None``.
    """
    if outline_pt is not None:
        part = shapely.Polygon(outline_pt)
        inside = [
            v for v in reading.votes if v.known is not None and part.covers(_middle(v.known.start_pt, v.known.end_pt))
        ]
        main, doors = weigh_votes(inside).main, None
    else:
        main, doors = reading.main, reading.signs.doors_fit(m_per_pt)
    against: list[str] = []
    others: list[float] = []
    speaks = main is not None and (main.is_claim or (len(main.votes) == 1 and not main.votes[0].is_bare))
    if main is not None and speaks:
        if abs(math.log(m_per_pt / main.m_per_pt)) <= max(CLOSE, APART * math.hypot(u, main.u)):
            return Verdict(is_borne_out=main.is_claim)
        against.append(_contradiction(main, m_per_pt))
        others.append(main.m_per_pt)
    if doors is False:
        against.append(f"by {ratio_text(m_per_pt)} the doors would be {door_text(reading.signs, m_per_pt)} wide")
    return Verdict(is_borne_out=False, against=tuple(against), others=tuple(others))


def _contradiction(main: VoteGroup, m_per_pt: float) -> str:
    """Say what the drawn lengths give, and what would become of one."""
    longest = max(main.votes, key=lambda vote: vote.span_pt)
    part = m_per_pt / longest.m_per_pt
    would = f"{part:.0%}" if part < 2 and not 0.95 < part < 1.05 else f"{part:.4g} times"
    return (
        f"{main.name} {ratio_text(main.m_per_pt)}; by {ratio_text(m_per_pt)} the line of “{longest.text}” would be "
        f"{would} as long as that"
    )


def _middle(start: Point, end: Point) -> shapely.Point:
    return shapely.Point((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
