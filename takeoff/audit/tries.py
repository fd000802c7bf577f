"""Every slip that could have made a stated area: what it would give in one room, worked out in full."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from takeoff.audit.areas import BASES, Basis, RoomAreas, height_that_gives
from takeoff.audit.stated import FACTORS, SIGNS, StatedArea
from takeoff.units import FOOT, INCH, SQUARE_FOOT, Display

ReasonKind = Literal[
    "unit",
    "scale",
    "floor",
    "gross",
    "net",
    "with-returns",
    "with-ceiling",
    "waste",
    "perimeter",
    "openings twice",
    "wall left out",
    "rule",
    "height",
    "digits",
    "centreline",
    "swapped",
]

SQUARE_YARD = 9.0 * SQUARE_FOOT
LENGTHS: Mapping[str, tuple[float, str]] = {"sf": (FOOT, "ft"), "m2": (1.0, "m")}
"""Length unit that goes with a unit of area: metres in one, and its sign."""
WASTES = (0.05, 0.10, 0.15, 0.20)
"""Allowances for waste that are added to areas (common practice, no source)."""
SCALES: Mapping[float, str] = {0.5: "half", 2.0: "twice"}
"""Factors on drawn lengths that a print at half or double size makes, and their words."""
HEIGHTS = (1.8, 15.0)
"""Heights in m that a wall's coating may be stated with: 6 ft to 49 ft (judgement, no source)."""
WALL_LIMITS = (0.075, 0.61)
"""Thicknesses in m that a wall between centrelines may have: 3 in to 24 in (judgement, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Try:
    """A slip tried in one room: what it makes of the stated area and of the measured one, m² (m for a perimeter).

    ``key`` is the same in every room that one slip of the whole schedule would explain. ``u`` is the standard
    uncertainty of ``measured``. ``share`` is how often the slip takes this form, ``fits`` the share of all figures near
    the measured one that the slip would explain in a lone room, as its size is chosen to fit.
    """

    kind: ReasonKind
    key: str
    text: str
    arithmetic: str
    stated: float
    measured: float
    u: float
    share: float = 1.0
    fits: float = 0.0


def tries(
    stated: StatedArea, room: RoomAreas, basis: Basis, others: Mapping[str, tuple[float, float]], show: Display
) -> Iterator[Try]:
    """Try every slip in one room.

    Parameters
    ----------
    stated, room, basis
        What the schedule says, the room's measured areas, and what the stated area was taken to be an area of.
    others
        Measured area and standard uncertainty of other rooms, by label; m².
    show
        How figures are shown.
    """
    yield from _other_units(stated, room, basis, show)
    yield from _other_bases(stated, room, basis, show)
    yield from _other_sums(stated, room, basis, show)
    if basis in ("net", "with-returns"):
        yield from _other_rules(stated, room, show)
    if basis == "net":
        yield from _other_heights(stated, room, show)
        yield from _centrelines(stated, room, show)
        yield from _walls_left_out(stated, room, show)
    yield from _other_digits(stated, *room.areas[basis], show)
    for label, (other, u_other) in others.items():
        yield Try(
            kind="swapped", key="swapped", text=f"agrees if the row belongs to {label}",
            arithmetic=f"measured in {label}: {show.area(other)}", stated=stated.area, measured=other, u=u_other,
        )  # fmt: skip


def _other_units(stated: StatedArea, room: RoomAreas, basis: Basis, show: Display) -> Iterator[Try]:
    area, u = room.areas[basis]
    units = [(str(unit), factor, SIGNS[unit]) for unit, factor in FACTORS.items()] + [("yd2", SQUARE_YARD, "yd²")]
    for unit, factor, sign in units:
        if unit != stated.unit:
            value = stated.value * factor
            yield Try(
                kind="unit", key=f"unit {unit}",
                text=f"agrees if the number is in {sign}, not {SIGNS[stated.unit]}",
                arithmetic=f"{stated.value:,.{stated.decimals}f} {sign} = {show.area(value)}, "
                f"measured {show.area(area)}",
                stated=value, measured=area, u=u,
            )  # fmt: skip
    metres, per_length = LENGTHS[stated.unit]
    yield Try(
        kind="perimeter", key="perimeter",
        text=f"agrees if it is the length of the room's walls in {per_length}, not an area",
        arithmetic=f"walls {show.length(room.perimeter)}",
        stated=stated.value * metres, measured=room.perimeter, u=u / area * room.perimeter,
    )  # fmt: skip


def _other_bases(stated: StatedArea, room: RoomAreas, basis: Basis, show: Display) -> Iterator[Try]:
    net, returns = room.areas["net"][0], room.quantities.return_area
    gross = room.quantities.gross_area
    lines: dict[Basis, str] = {
        "net": f"gross {show.area(gross)} − deducted {show.area(gross - net)} = {show.area(net)}",
        "gross": f"net {show.area(net)} + openings {show.area(gross - net)} = {show.area(gross)}",
        "with-returns": f"{show.area(net)} + returns {show.area(returns)} = {show.area(net + returns)}",
        "floor": f"floor within the walls: {show.area(room.areas['floor'][0])}" if "floor" in room.areas else "",
    }
    for other, (area, u) in room.areas.items():
        # a basis that differs by less than the uncertainty explains nothing
        if other in (basis, "centreline") or abs(area - room.areas[basis][0]) <= u:
            continue
        yield Try(
            kind=other, key=other, text=f"agrees if it is the {BASES[other]}", arithmetic=lines[other],
            stated=stated.area, measured=area, u=u,
        )  # fmt: skip


def _other_sums(stated: StatedArea, room: RoomAreas, basis: Basis, show: Display) -> Iterator[Try]:
    """What is added to, taken from or scaled on the whole of a room."""
    area, u = room.areas[basis]
    deducted = room.quantities.gross_area - area
    if basis == "net" and deducted > u:
        yield Try(
            kind="openings twice", key="openings twice", text="agrees if the openings were deducted twice",
            arithmetic=f"{show.area(area)} − openings {show.area(deducted)} once more = {show.area(area - deducted)}",
            stated=stated.area, measured=area - deducted, u=u,
        )  # fmt: skip
    if basis in ("net", "gross") and "floor" in room.areas:
        floor, u_floor = room.areas["floor"]
        yield Try(
            kind="with-ceiling", key="with-ceiling", text="agrees if the ceiling is in it",
            arithmetic=f"{show.area(area)} + ceiling {show.area(floor)} = {show.area(area + floor)}",
            stated=stated.area, measured=area + floor, u=u + u_floor,
        )  # fmt: skip
    for waste in WASTES:
        yield Try(
            kind="waste", key=f"waste {waste}", text=f"agrees if {waste:.0%} for waste is in it",
            arithmetic=f"{show.area(area)} × {1 + waste:.2f} = {show.area(area * (1 + waste))}",
            stated=stated.area, measured=area * (1 + waste), u=u * (1 + waste), share=1.0 / len(WASTES),
        )  # fmt: skip
    for factor, word in SCALES.items():
        power = 2 if basis == "floor" else 1
        yield Try(
            kind="scale", key=f"scale {factor}", text=f"agrees if lengths were measured at {word} their size",
            arithmetic=f"{show.area(area)} × {factor**power:g} = {show.area(area * factor**power)}",
            stated=stated.area, measured=area * factor**power, u=u * factor**power, share=0.5,
        )  # fmt: skip


def _other_rules(stated: StatedArea, room: RoomAreas, show: Display) -> Iterator[Try]:
    own, u = room.areas["net"]
    gross = room.quantities.gross_area
    seen = {round(own, 6), round(gross, 6)}
    for name, area in room.by_rule().items():
        if name == room.settings.rule or round(area, 6) in seen:
            continue
        seen.add(round(area, 6))
        yield Try(
            kind="net" if name == "exact-net" else "rule", key=f"rule {name}",
            text=f"agrees if it is measured by the rule {name}",
            arithmetic=f"gross {show.area(gross)} − deducted {show.area(gross - area)} = {show.area(area)}",
            stated=stated.area, measured=area, u=u,
        )  # fmt: skip


def _grids(show: Display) -> tuple[tuple[float, float], ...]:
    """Steps in m that heights are drawn in, with the share of heights that lie on each (judgement, no source)."""
    if show.system == "imperial":
        return ((FOOT, 0.6), (6 * INCH, 0.2), (4 * INCH, 0.1), (2 * INCH, 0.05), (INCH, 0.02))
    return ((0.5, 0.5), (0.1, 0.3), (0.05, 0.15), (0.01, 0.02))


def _other_heights(stated: StatedArea, room: RoomAreas, show: Display) -> Iterator[Try]:
    solved = height_that_gives(room, stated.area)
    if solved is None or room.height is None or room.walls <= 0.0:
        return
    u = room.areas["net"][1]
    for i, (step, share) in enumerate(_grids(show)):
        height = round(solved / step) * step
        if any(abs(height / s - round(height / s)) < 1e-6 for s, _ in _grids(show)[:i]):
            continue
        if abs(height - room.height) < 1e-6 or not HEIGHTS[0] <= height <= HEIGHTS[1]:
            continue
        area = room.at_height(height)
        yield Try(
            kind="height", key=f"height {height:.3f}",
            text=f"agrees if the height is {show.length(height)} instead of {show.length(room.height)}",
            arithmetic=_height_arithmetic(room, height, area, show),
            stated=stated.area, measured=area, u=u, share=share, fits=min(1.0, 4.0 * u / (room.walls * step)),
        )  # fmt: skip
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


def _centrelines(stated: StatedArea, room: RoomAreas, show: Display) -> Iterator[Try]:
    if room.per_offset <= 0.0:
        return
    area, u = room.areas["net"]
    step = 2 * INCH if show.system == "imperial" else 0.05
    for n in range(math.ceil(WALL_LIMITS[0] / step), math.floor(WALL_LIMITS[1] / step) + 1):
        thickness = n * step
        gain = room.per_offset * thickness / 2.0
        if abs(area + gain - stated.area) > 2.0 * math.hypot(u, stated.u_rounding):
            continue
        yield Try(
            kind="centreline", key=f"centreline {thickness:.3f}",
            text=f"agrees if it is measured to the centrelines of walls {show.length(thickness)} thick",
            arithmetic=f"{show.area(area)} + {show.area(gain)} at the corners = {show.area(area + gain)}",
            stated=stated.area, measured=area + gain, u=u, fits=min(1.0, 8.0 * u / (room.per_offset * step)),
        )  # fmt: skip


def _walls_left_out(stated: StatedArea, room: RoomAreas, show: Display) -> Iterator[Try]:
    area, u = room.areas["net"]
    if len(room.parts) < 2:
        return
    for _, length, part in room.parts:
        if part > u:
            yield Try(
                kind="wall left out", key="wall left out",
                text=f"agrees if the wall of {show.length(length)} is left out",
                arithmetic=f"{show.area(area)} − {show.area(part)} = {show.area(area - part)}",
                stated=stated.area, measured=area - part, u=u,
            )  # fmt: skip


def _other_digits(stated: StatedArea, area: float, u: float, show: Display) -> Iterator[Try]:
    if stated.parts:
        return  # a sum has no digits of its own
    digits = f"{stated.value:.{stated.decimals}f}"
    for i in range(len(digits) - 1):
        j = i + 2 if digits[i + 1] == "." else i + 1
        if digits[i] in (".", digits[j]):
            continue
        swapped = digits[:i] + digits[j] + digits[i + 1 : j] + digits[i] + digits[j + 1 :]
        yield _digits(stated, swapped, "digits", "two digits changed places", area, u, show, share=1.0)
    for factor, words in ((10.0, "the decimal point is one place to the left"), (0.1, "… to the right")):
        words = words.replace("…", "the decimal point is one place")
        shifted = replace(stated, value=stated.value * factor)
        written = f"{shifted.value:.{stated.decimals}f}"
        yield _digits(stated, written, f"point {factor}", words, area, u, show, share=0.5)


def _digits(
    stated: StatedArea, digits: str, key: str, words: str, area: float, u: float, show: Display, *, share: float
) -> Try:
    value = float(digits)
    text = f"{value:,.{stated.decimals}f} {SIGNS[stated.unit]}"
    return Try(
        kind="digits", key=key, text=f"agrees if {words}: {text}",
        arithmetic=f"{text} against {show.area(area)} measured",
        stated=value * FACTORS[stated.unit], measured=area, u=u, share=share,
    )  # fmt: skip
