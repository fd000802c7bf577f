"""Likely causes of a difference, each tried out in full: it is offered only where the areas then agree."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from takeoff.audit.areas import BASES, Basis, RoomAreas, height_that_gives
from takeoff.audit.stated import FACTORS, SIGNS, StatedArea
from takeoff.measure.rules import RULES
from takeoff.units import FOOT, INCH, Display

CauseKind = Literal[
    "unit", "floor", "gross", "net", "with-returns", "rule", "height", "digits", "centreline", "swapped"
]

PRIOR: Mapping[CauseKind, float] = {
    "unit": 0.2,
    "floor": 0.2,
    "gross": 0.2,
    "net": 0.2,
    "height": 0.15,
    "with-returns": 0.1,
    "digits": 0.1,
    "rule": 0.05,
    "swapped": 0.05,
    "centreline": 0.03,
}
"""How often each slip is met before the figures are looked at (judgement, no source); it only orders the causes."""
MOST = 3
"""Causes offered for one difference."""
WALL_LIMITS = (0.075, 0.61)
"""Thicknesses in m that a wall between centrelines may have: 3 in to 24 in (judgement, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One cause that would make the areas agree: in one sentence, with its arithmetic, and the area it gives in m².

    ``weight`` orders the causes of one difference; it is no probability.
    """

    kind: CauseKind
    text: str
    arithmetic: str
    area: float
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Try:
    """A hypothesis: the stated area it makes of the stated one, and the measured area it makes of the room."""

    kind: CauseKind
    text: str
    arithmetic: str
    stated: float
    measured: float
    u: float
    share: float = 1.0


def likely_causes(
    stated: StatedArea,
    room: RoomAreas,
    *,
    basis: Basis,
    others: Mapping[str, tuple[float, float]],
    display: Display,
) -> tuple[Cause, ...]:
    """Find causes that would make a stated area agree with the measured room, the likeliest first.

    Parameters
    ----------
    stated
        What the schedule says.
    room
        The room's measured areas.
    basis
        What the stated area was taken to be an area of.
    others
        Measured area and standard uncertainty of other rooms whose stated areas differ too, by label; m².
    display
        How figures are shown.
    """
    found = []
    for t in _tries(stated, room, basis, others, display):
        u = math.hypot(t.u, stated.u_rounding * t.stated / stated.area)
        off = abs(t.stated - t.measured) / u if u > 0 else math.inf
        if off <= 2.0:
            weight = PRIOR[t.kind] * t.share * math.exp(-0.5 * off * off)
            found.append(Cause(kind=t.kind, text=t.text, arithmetic=t.arithmetic, area=t.measured, weight=weight))
    found.sort(key=lambda c: -c.weight)
    return tuple(found[:MOST])


def _tries(
    stated: StatedArea, room: RoomAreas, basis: Basis, others: Mapping[str, tuple[float, float]], show: Display
) -> Iterator[_Try]:
    area, u = room.areas[basis]
    yield from _other_units(stated, area, u, show)
    yield from _other_bases(stated, room, basis, show)
    if basis in ("net", "with-returns"):
        yield from _other_rules(stated, room, show)
    if basis == "net":
        yield from _other_heights(stated, room, show)
        yield from _centrelines(stated, room, show)
    yield from _other_digits(stated, area, u, show)
    for label, (other, u_other) in others.items():
        yield _Try(
            kind="swapped",
            text=f"agrees if the row belongs to {label}",
            arithmetic=f"measured in {label}: {show.area(other)}",
            stated=stated.area,
            measured=other,
            u=u_other,
        )


def _other_units(stated: StatedArea, area: float, u: float, show: Display) -> Iterator[_Try]:
    for unit, factor in FACTORS.items():
        if unit != stated.unit:
            value = stated.value * factor
            yield _Try(
                kind="unit",
                text=f"agrees if the number is in {SIGNS[unit]}, not {SIGNS[stated.unit]}",
                arithmetic=f"{stated.value:,.{stated.decimals}f} {SIGNS[unit]} = {show.area(value)}, "
                f"measured {show.area(area)}",
                stated=value,
                measured=area,
                u=u,
            )


def _other_bases(stated: StatedArea, room: RoomAreas, basis: Basis, show: Display) -> Iterator[_Try]:
    q = room.quantities
    lines: dict[Basis, str] = {
        "net": f"gross {show.area(q.gross_area)} − deducted {show.area(q.gross_area - room.areas['net'][0])}"
        f" = {show.area(room.areas['net'][0])}",
        "gross": f"net {show.area(room.areas['net'][0])} + openings "
        f"{show.area(q.gross_area - room.areas['net'][0])} = {show.area(q.gross_area)}",
        "with-returns": f"{show.area(room.areas['net'][0])} + returns {show.area(q.return_area)}"
        f" = {show.area(room.areas['with-returns'][0])}",
        "floor": f"floor within the walls: {show.area(room.areas['floor'][0])}" if "floor" in room.areas else "",
        "centreline": "",
    }
    for other, (area, u) in room.areas.items():
        # a basis that differs by less than the uncertainty explains nothing
        if other in (basis, "centreline") or abs(area - room.areas[basis][0]) <= u:
            continue
        yield _Try(
            kind=other,
            text=f"agrees if it is the {BASES[other]}",
            arithmetic=lines[other],
            stated=stated.area,
            measured=area,
            u=u,
        )


def _other_rules(stated: StatedArea, room: RoomAreas, show: Display) -> Iterator[_Try]:
    own, u = room.areas["net"]
    seen = {round(own, 6), round(room.quantities.gross_area, 6)}
    for name in RULES:
        area = room.under_rule(name)
        if name == room.settings.rule or round(area, 6) in seen:
            continue
        seen.add(round(area, 6))
        yield _Try(
            kind="net" if name == "exact-net" else "rule",
            text=f"agrees if it is measured by the rule {name}",
            arithmetic=f"gross {show.area(room.quantities.gross_area)} − deducted "
            f"{show.area(room.quantities.gross_area - area)} = {show.area(area)}",
            stated=stated.area,
            measured=area,
            u=u,
        )


def _grids(show: Display) -> tuple[tuple[float, float], ...]:
    """Steps in m that heights are drawn in, with the share of heights that lie on each (judgement, no source)."""
    if show.system == "imperial":
        return ((FOOT, 0.6), (6 * INCH, 0.2), (4 * INCH, 0.1), (2 * INCH, 0.05), (INCH, 0.02))
    return ((0.5, 0.5), (0.1, 0.3), (0.05, 0.15), (0.01, 0.02))


def _other_heights(stated: StatedArea, room: RoomAreas, show: Display) -> Iterator[_Try]:
    solved = height_that_gives(room, stated.area)
    if solved is None or room.height is None or room.walls <= 0.0:
        return
    u = room.areas["net"][1]
    for i, (step, share) in enumerate(_grids(show)):
        height = round(solved / step) * step
        if height <= 0.0 or any(abs(height / s - round(height / s)) < 1e-6 for s, _ in _grids(show)[:i]):
            continue
        if abs(height - room.height) < 1e-6:
            continue
        area = room.at_height(height)
        yield _Try(
            kind="height",
            text=f"agrees if the height is {show.length(height)} instead of {show.length(room.height)}",
            arithmetic=_height_arithmetic(room, height, area, show),
            stated=stated.area,
            measured=area,
            u=u,
            share=share,
        )
        if abs(area - stated.area) <= 2.0 * u:
            return  # a finer step always fits and says no more


def _height_arithmetic(room: RoomAreas, height: float, area: float, show: Display) -> str:
    change = area - room.areas["net"][0]
    sign = "+" if change >= 0 else "−"
    assert room.height is not None
    step = abs(height - room.height)
    walls = room.walls * step
    line = f"{show.area(room.areas['net'][0])} {sign} {show.length(room.walls)} × {show.length(step)}"
    if abs(walls - abs(change)) > 0.005:  # openings reach above the lower height, or the rule counts them anew
        line += f" ({show.area(walls)}, of which openings take {show.area(walls - abs(change))})"
    return f"{line} = {show.area(area)}"


def _centrelines(stated: StatedArea, room: RoomAreas, show: Display) -> Iterator[_Try]:
    if room.per_offset <= 0.0:
        return
    area, u = room.areas["net"]
    step = 2 * INCH if show.system == "imperial" else 0.05
    solved = 2.0 * (stated.area - area) / room.per_offset
    thickness = round(solved / step) * step
    if not WALL_LIMITS[0] <= thickness <= WALL_LIMITS[1]:
        return
    gain = room.per_offset * thickness / 2.0
    yield _Try(
        kind="centreline",
        text=f"agrees if it is measured to the centrelines of walls {show.length(thickness)} thick",
        arithmetic=f"{show.area(area)} + {show.area(gain)} at the corners = {show.area(area + gain)}",
        stated=stated.area,
        measured=area + gain,
        u=u,
    )


def _other_digits(stated: StatedArea, area: float, u: float, show: Display) -> Iterator[_Try]:
    digits = f"{stated.value:.{stated.decimals}f}"
    for i in range(len(digits) - 1):
        j = i + 2 if digits[i + 1] == "." else i + 1
        if digits[i] in (".", digits[j]):
            continue
        swapped = digits[:i] + digits[j] + digits[i + 1 : j] + digits[i] + digits[j + 1 :]
        yield _digits(stated, swapped, "two digits changed places", area, u, show, share=1.0)
    for factor, words in ((10.0, "the decimal point is one place to the left"), (0.1, "… to the right")):
        words = words.replace("…", "the decimal point is one place")
        shifted = replace(stated, value=stated.value * factor)
        yield _digits(stated, f"{shifted.value:.{stated.decimals}f}", words, area, u, show, share=0.5)


def _digits(stated: StatedArea, digits: str, words: str, area: float, u: float, show: Display, *, share: float) -> _Try:
    value = float(digits)
    text = f"{value:,.{stated.decimals}f} {SIGNS[stated.unit]}"
    return _Try(
        kind="digits",
        text=f"agrees if {words}: {text}",
        arithmetic=f"{text} against {show.area(area)} measured",
        stated=value * FACTORS[stated.unit],
        measured=area,
        u=u,
        share=share,
    )
