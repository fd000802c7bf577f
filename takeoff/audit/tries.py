"""Every slip that could have made a stated area: what it would give in one room, worked out in full."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from takeoff.audit.areas import BASES, Basis, RoomAreas, height_that_gives
from takeoff.audit.stated import FACTORS, SIGNS, StatedArea
from takeoff.units import FOOT, INCH, SQUARE_FOOT, Display, UnitSystem

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


GRIDS: Mapping[UnitSystem, tuple[tuple[float, float], ...]] = {
    "imperial": ((FOOT, 0.6), (6 * INCH, 0.2), (4 * INCH, 0.1), (2 * INCH, 0.05), (INCH, 0.02)),
    "metric": ((0.5, 0.5), (0.1, 0.3), (0.05, 0.15), (0.01, 0.02)),
}
"""Steps in m that heights are drawn in, with the share of heights that lie on each (judgement, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Try:
    """A slip tried in one room: what it makes of the stated area and of the measured one, m² (m for a perimeter).

    ``key`` is the same in every room that one slip of the whole schedule would explain. ``u`` is the standard
    uncertainty of ``measured``. ``share`` is how often the slip takes this form, ``fits`` the share of all figures near
    the measured one that the slip would explain in a lone room, as its size is chosen to fit. ``weight`` orders the
    reasons of one difference: how many times likelier it is than no known reason.
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
    weight: float = 0.0

    @property
    def area(self) -> float:
        """The area in m² that the slip gives."""
        return self.measured


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
    """
    slips = _Slips(stated, room, basis, show)
    yield from slips.other_units()
    yield from slips.other_bases()
    yield from slips.other_sums()
    if basis in ("net", "with-returns"):
        yield from slips.other_rules()
    if basis == "net":
        yield from slips.other_heights()
        yield from slips.centrelines()
        yield from slips.walls_left_out()
    yield from slips.other_digits()
    for label, (other, u) in others.items():
        text, arithmetic = f"agrees if the row belongs to {label}", f"measured in {label}: {show.area(other)}"
        yield slips.tried("swapped", text, arithmetic, other, u=u)


class _Slips:
    """The slips tried in one room; ``area`` and ``u`` are those measured on the basis."""

    def __init__(self, stated: StatedArea, room: RoomAreas, basis: Basis, show: Display) -> None:
        self.stated, self.room, self.basis, self.show = stated, room, basis, show.area
        self.long, self.is_imperial = show.length, show.system == "imperial"
        self.area, self.u = room.areas[basis]
        self.gross = room.quantities.gross_area

    def tried(self, kind: ReasonKind, text: str, arithmetic: str, measured: float, key: str = "", **more: float) -> Try:
        """Make a try; its key is its kind where none is given."""
        of = {"stated": self.stated.area, "u": self.u} | more
        return Try(kind=kind, key=key or kind, text=text, arithmetic=arithmetic, measured=measured, **of)

    def other_units(self) -> Iterator[Try]:
        stated, sign_now = self.stated, SIGNS[self.stated.unit]
        units = [(str(unit), factor, SIGNS[unit]) for unit, factor in FACTORS.items()] + [("yd2", SQUARE_YARD, "yd²")]
        for unit, factor, sign in units:
            if unit != stated.unit:
                value = stated.value * factor
                text = f"agrees if the number is in {sign}, not {sign_now}"
                number = f"{stated.value:,.{stated.decimals}f} {sign} = {self.show(value)}"
                arithmetic = f"{number}, measured {self.show(self.area)}"
                yield self.tried("unit", text, arithmetic, self.area, f"unit {unit}", stated=value)
        metres, per_length = LENGTHS[stated.unit]
        walls = self.room.perimeter
        text = f"agrees if it is the length of the room's walls in {per_length}, not an area"
        u = self.u / self.area * walls
        yield self.tried("perimeter", text, f"walls {self.long(walls)}", walls, stated=stated.value * metres, u=u)

    def other_bases(self) -> Iterator[Try]:
        show, gross = self.show, self.gross
        net, returns = self.room.areas["net"][0], self.room.quantities.return_area
        floor = f"floor within the walls: {show(self.room.areas['floor'][0])}" if "floor" in self.room.areas else ""
        lines: dict[Basis, str] = {
            "net": f"gross {show(gross)} − deducted {show(gross - net)} = {show(net)}",
            "gross": f"net {show(net)} + openings {show(gross - net)} = {show(gross)}",
            "with-returns": f"{show(net)} + returns {show(returns)} = {show(net + returns)}",
            "floor": floor,
        }
        for other, (area, u) in self.room.areas.items():
            # a basis that differs by less than the uncertainty explains nothing
            if other not in (self.basis, "centreline") and abs(area - self.area) > u:
                yield self.tried(other, f"agrees if it is the {BASES[other]}", lines[other], area, u=u)

    def other_sums(self) -> Iterator[Try]:
        """What is added to, taken from or scaled on the whole of a room."""
        area, u, show = self.area, self.u, self.show
        deducted = self.gross - area
        if self.basis == "net" and deducted > u:
            arithmetic = f"{show(area)} − openings {show(deducted)} once more = {show(area - deducted)}"
            text = "agrees if the openings were deducted twice"
            yield self.tried("openings twice", text, arithmetic, area - deducted)
        if self.basis in ("net", "gross") and "floor" in self.room.areas:
            floor, u_floor = self.room.areas["floor"]
            arithmetic = f"{show(area)} + ceiling {show(floor)} = {show(area + floor)}"
            text = "agrees if the ceiling is in it"
            yield self.tried("with-ceiling", text, arithmetic, area + floor, u=u + u_floor)
        for waste in WASTES:
            by, share = 1 + waste, 1.0 / len(WASTES)
            text, arithmetic = (
                f"agrees if {waste:.0%} for waste is in it",
                f"{show(area)} × {by:.2f} = {show(area * by)}",
            )
            yield self.tried("waste", text, arithmetic, area * by, f"waste {waste}", u=u * by, share=share)
        for factor, word in SCALES.items():
            by = factor ** (2 if self.basis == "floor" else 1)
            text = f"agrees if lengths were measured at {word} their size"
            arithmetic = f"{show(area)} × {by:g} = {show(area * by)}"
            yield self.tried("scale", text, arithmetic, area * by, f"scale {factor}", u=u * by, share=0.5)

    def other_rules(self) -> Iterator[Try]:
        own, u = self.room.areas["net"]
        gross, show = self.gross, self.show
        seen = {round(own, 6), round(gross, 6)}
        for name, area in self.room.by_rule().items():
            if name == self.room.settings.rule or round(area, 6) in seen:
                continue
            seen.add(round(area, 6))
            kind: ReasonKind = "net" if name == "exact-net" else "rule"
            arithmetic = f"gross {show(gross)} − deducted {show(gross - area)} = {show(area)}"
            yield self.tried(
                kind, f"agrees if it is measured by the rule {name}", arithmetic, area, f"rule {name}", u=u
            )

    def other_heights(self) -> Iterator[Try]:
        room, stated = self.room, self.stated
        solved = height_that_gives(room, stated.area)
        if solved is None or room.height is None or room.walls <= 0.0:
            return
        grids = GRIDS["imperial" if self.is_imperial else "metric"]
        for i, (step, share) in enumerate(grids):
            height = round(solved / step) * step
            if any(abs(height / s - round(height / s)) < 1e-6 for s, _ in grids[:i]):
                continue
            if abs(height - room.height) < 1e-6 or not HEIGHTS[0] <= height <= HEIGHTS[1]:
                continue
            area = room.at_height(height)
            text = f"agrees if the height is {self.long(height)} instead of {self.long(room.height)}"
            arithmetic = self.height_arithmetic(abs(height - room.height), area)
            fits = min(1.0, 4.0 * self.u / (room.walls * step))
            yield self.tried("height", text, arithmetic, area, f"height {height:.3f}", share=share, fits=fits)
            if abs(area - stated.area) <= 2.0 * self.u:
                return  # a finer step always fits and says no more

    def height_arithmetic(self, step: float, area: float) -> str:
        """Say how another height makes another area; ``step`` is the difference of the heights in m."""
        change, walls, show = area - self.area, self.room.walls * step, self.show
        line = f"{show(self.area)} {'+' if change >= 0 else '−'} {self.long(self.room.walls)} × {self.long(step)}"
        if abs(walls - abs(change)) > 0.005:  # openings reach above the lower height, or the rule counts them anew
            line += f" ({show(walls)}, of which openings take {show(walls - abs(change))})"
        return f"{line} = {show(area)}"

    def centrelines(self) -> Iterator[Try]:
        area, per_offset, show = self.area, self.room.per_offset, self.show
        if per_offset <= 0.0:
            return
        step = 2 * INCH if self.is_imperial else 0.05
        for n in range(math.ceil(WALL_LIMITS[0] / step), math.floor(WALL_LIMITS[1] / step) + 1):
            thick = n * step
            gain = per_offset * thick / 2.0
            if abs(area + gain - self.stated.area) <= 2.0 * math.hypot(self.u, self.stated.u_rounding):
                text = f"agrees if it is measured to the centrelines of walls {self.long(thick)} thick"
                arithmetic = f"{show(area)} + {show(gain)} at the corners = {show(area + gain)}"
                fits = min(1.0, 8.0 * self.u / (per_offset * step))
                yield self.tried("centreline", text, arithmetic, area + gain, f"centreline {thick:.3f}", fits=fits)

    def walls_left_out(self) -> Iterator[Try]:
        area, show = self.area, self.show
        for _, length, part in self.room.parts if len(self.room.parts) > 1 else ():
            if part > self.u:
                text = f"agrees if the wall of {self.long(length)} is left out"
                arithmetic = f"{show(area)} − {show(part)} = {show(area - part)}"
                yield self.tried("wall left out", text, arithmetic, area - part)

    def other_digits(self) -> Iterator[Try]:
        stated = self.stated
        if stated.parts:
            return  # a sum has no digits of its own
        digits = f"{stated.value:.{stated.decimals}f}"
        for i in range(len(digits) - 1):
            j = i + 2 if digits[i + 1] == "." else i + 1
            if digits[i] not in (".", digits[j]):
                swapped = digits[:i] + digits[j] + digits[i + 1 : j] + digits[i] + digits[j + 1 :]
                yield self.digits(swapped, "digits", "two digits changed places", share=1.0)
        for factor, side in ((10.0, "to the left"), (0.1, "to the right")):
            shifted = replace(stated, value=stated.value * factor)
            written = f"{shifted.value:.{stated.decimals}f}"
            yield self.digits(written, f"point {factor}", f"the decimal point is one place {side}", share=0.5)

    def digits(self, digits: str, key: str, words: str, *, share: float) -> Try:
        """Try other digits."""
        value, unit = float(digits), self.stated.unit
        text = f"{value:,.{self.stated.decimals}f} {SIGNS[unit]}"
        arithmetic, area = f"{text} against {self.show(self.area)} measured", value * FACTORS[unit]
        return self.tried("digits", f"agrees if {words}: {text}", arithmetic, self.area, key, stated=area, share=share)
