"""What measuring depends on; measuring rules: named functions from a wall and its openings to the area that is paid.

Each takes a ``RuledFace`` and gives m². The exact net area is for ordering, a rule's figure for payment. Rules with
thresholds are step functions: they are not additive when a run is split through an opening. No rule deducts more than
the openings' true area; coated returns are added only where the rule says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from takeoff.errors import InputError

ROUNDING = 1e-7
"""Metres: rounding of set operations on coordinates of up to some hundred metres, with a wide margin."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureSettings:
    """Turn in radians from which a vertex is a corner, standard uncertainty of a height in m, rule."""

    corner_threshold: float = math.radians(10.0)
    height_u: float = 0.01
    rule: str = "exact-net"

    def __post_init__(self) -> None:
        if not 0.0 < self.corner_threshold < math.pi:
            raise InputError("the corner threshold must lie between 0° and 180°", remedy="10° is usual.")
        if not 0.0 <= self.height_u < 1.0:
            raise InputError(f"a height uncertainty of {self.height_u!r} m", remedy="Give metres, for example 0.01.")


EXACT_NET = "exact-net"
"""The rule that asks for nothing but the net area."""

_SLACK = 1e-6
"""m²; a limit is in whole hundredths, so a square millimetre either way is rounding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RuledOpening:
    """One opening clipped to its wall, m²; ``touches_edge`` where it meets the wall's boundary.

    ``parts`` are its areas on each wall where it lies round a corner; empty where it lies on one wall.
    """

    area: float
    touches_edge: bool
    returns: float = 0.0
    parts: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RuledFace:
    """A face as a rule sees it; areas in m². ``net`` is gross less the union of the openings."""

    gross: float
    net: float
    openings: tuple[RuledOpening, ...]

    def less(self, deduction: float) -> float:
        """Gross less a deduction that never exceeds the openings' true area."""
        return self.gross - min(max(deduction, 0.0), self.gross - self.net)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A measuring rule: name, one-line summary, published source, and the function.

    With ``joins_touching`` openings that touch or overlap count as one.
    """

    name: str
    summary: str
    source: str
    measured_area: Callable[[RuledFace], float]
    joins_touching: bool = False


def _exceeds(area: float, limit: float) -> bool:
    """Tell whether an area is over a limit by more than rounding: 2.00 × 1.50 m is not over 3 m²."""
    return area > limit + _SLACK


def _less(deducted: Callable[[RuledOpening], float]) -> Callable[[RuledFace], float]:
    return lambda face: face.less(sum(map(deducted, face.openings)))


def _over(limit: float, share_below: float = 0.0) -> Callable[[RuledFace], float]:
    """Deduct openings over a limit, their returns added, and ``share_below`` of those of 0.5 m² up to it (IS 1200)."""

    def area(face: RuledFace) -> float:
        large = [o for o in face.openings if _exceeds(o.area, limit)]
        middle = sum(o.area for o in face.openings if _exceeds(o.area, 0.5) and not _exceeds(o.area, limit))
        return face.less(sum(o.area for o in large) + share_below * middle) + sum(o.returns for o in large)

    return area


def _void_within(limit: float) -> Callable[[RuledFace], float]:
    """Leave voids up to a limit undeducted only where they lie wholly inside the measured area."""
    return _less(lambda o: o.area * (o.touches_edge or _exceeds(o.area, limit)))


_IS = "IS 1200 (Part 13):1994, cl. 3.2.1 and 3.2.2"
_ALL = (
    Rule(
        name=EXACT_NET,
        summary="Gross area less the union of all openings.",
        source="true area, no published rule",
        measured_area=lambda face: face.net,
    ),
    Rule(
        name="is1200-13",
        summary="One face treated, its reveal at least as wide as the other's: openings up to 3 m² are not deducted, "
        "larger ones are, with their coated reveals added.",
        source=f"{_IS}; the one-face wording from memory",
        measured_area=_over(3.0),
    ),
    Rule(
        name="is1200-13-narrow",
        summary="One face treated, its reveal narrower than the other's: openings over 0.5 m² are deducted; over 3 m² "
        "their coated reveals are added.",
        source=f"{_IS}; the one-face wording from memory",
        measured_area=_over(3.0, share_below=1.0),
    ),
    Rule(
        name="is1200-13-both",
        summary="Both faces treated: of openings over 0.5 up to 3 m² half is deducted on each face, larger ones in "
        "full with their coated reveals added.",
        source=_IS,
        measured_area=_over(3.0, share_below=0.5),
    ),
    Rule(
        name="din18363",
        summary="Openings up to 2.5 m² are measured over, larger ones deducted, each wall by itself at a corner; "
        "openings that touch are one; reveals are an item of their own.",
        source="VOB/C ATV DIN 18363, section 5 (numbering of 2006 to 2012)",
        measured_area=_less(lambda o: sum(p for p in (o.parts or (o.area,)) if _exceeds(p, 2.5))),
        joins_touching=True,
    ),
    Rule(
        name="smm7",
        summary="Voids up to 0.50 m² wholly within the area are not deducted; voids at its boundary always are.",
        source="SMM7 (1988, revised 1998), General Rule 3.4",
        measured_area=_void_within(0.50),
    ),
    Rule(
        name="nrm2",
        summary="Voids up to 1.00 m² wholly within the area are not deducted; voids at its boundary always are.",
        source="NRM2 (2012), sections 28 and 29; the limit from memory",
        measured_area=_void_within(1.00),
    ),
    Rule(
        name="us-7-yards",
        summary="Openings under 7 square yards (63 ft²) are not deducted, larger ones in full.",
        source="United States plastering custom, Building Trades Pocketbook, about 1900",
        measured_area=_less(lambda o: o.area * (o.area > 63.0 * 0.3048**2 - _SLACK)),
    ),
    Rule(
        name="us-half",
        summary="Half of every opening is deducted.",
        source="Cyclopedia of Carpentry and Building, about 1900",
        measured_area=_less(lambda o: o.area / 2.0),
    ),
    Rule(
        name="us-third",
        summary="One third of every opening is deducted.",
        source="Armstrong, Cyclopedia of Painting, 1908, Wall Work",
        measured_area=_less(lambda o: o.area / 3.0),
    ),
)

RULES: Mapping[str, Rule] = MappingProxyType({r.name: r for r in _ALL})


def rule_named(name: str) -> Rule:
    """Return a measuring rule.

    Raises `InputError` if there is none of that name; the message lists those there are.
    """
    if name not in RULES:
        raise InputError(f'there is no measuring rule "{name}"', remedy=f"Known rules: {', '.join(RULES)}.")
    return RULES[name]
