"""The list of a job's open points: how many are open, what share of the price they move, what is settled together."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

from takeoff.model.open_points import OpenPoint, PointKind
from takeoff.units import Display

KIND_ORDER: tuple[PointKind, ...] = (
    "scale", "sheet", "unmeasured", "outline", "height", "system", "overlap", "opening", "cove", "rates", "product",
    "job",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Register:
    """All open points of a job, those with most money at stake first, then the confirmed ones.

    ``price`` is that of the estimate in ``currency``, 0 where nothing can be priced.
    """

    points: tuple[OpenPoint, ...]
    price: float
    currency: str

    @property
    def open(self) -> tuple[OpenPoint, ...]:
        """Points that nobody has confirmed."""
        return tuple(point for point in self.points if point.is_open)

    @property
    def confirmed(self) -> tuple[OpenPoint, ...]:
        """Points that a person took as they are."""
        return tuple(point for point in self.points if not point.is_open)

    @property
    def money(self) -> float:
        """Money at stake in the open points, added up: that they all lie at their worst ends."""
        return sum(point.stake.money for point in self.open if point.stake is not None)

    @property
    def share(self) -> float:
        """Money at stake in the open points as a part of the price; 0 where there is no price."""
        return self.money / self.price if self.price > 0.0 else 0.0

    def lines(self, show: Display, *, most: int | None = None) -> tuple[str, ...]:
        """Say the open points, a line for each group, those with most money first; ``most`` leaves the rest out."""
        groups = grouped(self.open)
        said = [group.line(show) for group in groups[:most]]
        left = len(groups) - len(said)
        return (*said, f"And {left} more.") if left else tuple(said)

    def words(self) -> str:
        """Say how many are open, and what share of the price they carry.

        Examples
        --------
        >>> Register(points=(), price=100.0, currency="USD").words()
        'No open points.'
        """
        count = len(self.open)
        if not count:
            return "No open points."
        said = f"{count} open point{'s' * (count != 1)}"
        if self.price <= 0.0:
            return f"{said}."
        return f"{said}; {'it' if count == 1 else 'they'} could move the price by {share_words(self.share)}."


def share_words(share: float) -> str:
    """Write a share of the price.

    Examples
    --------
    >>> share_words(0.0), share_words(0.0004), share_words(0.034), share_words(1.7)
    ('nothing', 'less than 0.1 %', 'up to 3.4 %', 'more than 100 %')
    """
    if share <= 0.0:
        return "nothing"
    if share < 0.001:
        return "less than 0.1 %"
    return "more than 100 %" if share > 1.0 else f"up to {share * 100:.1f} %"


@dataclass(frozen=True, slots=True, kw_only=True)
class PointGroup:
    """Open points that are settled together; ``key`` is that of the only one, or made of what they have in common."""

    key: str
    points: tuple[OpenPoint, ...]

    @property
    def money(self) -> float:
        """Money at stake in all of them."""
        return sum(point.stake.money for point in self.points if point.stake is not None)

    @property
    def is_priced(self) -> bool:
        """Whether the money at stake is known of any."""
        return any(point.stake is not None for point in self.points)

    @property
    def label(self) -> str:
        """What they are about."""
        first = self.points[0]
        if len(self.points) == 1:
            return first.what or first.group
        return f"{len(self.points)} × {first.group.rstrip('.')}"

    @property
    def place(self) -> str:
        """Where they are: sheet, room and wall of one, sheets and rooms of several."""
        if len(self.points) == 1:
            return self.points[0].where.words
        sheets = list(dict.fromkeys(p.where.on for p in self.points if p.where.on))
        rooms = list(dict.fromkeys(p.where.inside for p in self.points if p.where.inside))
        more = [f"{len(rooms) - 4} more rooms"] if len(rooms) > 5 else rooms[4:]
        return ", ".join((*sheets, *rooms[:4], *more))

    def line(self, show: Display) -> str:
        """Say it in one line: what, what was taken, where, why, and the money at stake."""
        first = self.points[0]
        taken = f": {first.taken}" if first.taken and first.taken not in self.label else ""
        place = ", ".join(part for part in self.place.split(", ") if part.lower() not in self.label.lower())
        place = f" ({place})" if place else ""
        money = f" At stake: {show.money(self.money)}." if self.is_priced and self.money > 0.0 else ""
        if self.label in (first.why, first.group):
            return f"{first.why}{money}"
        why = "" if first.why.rstrip(".").lower() in self.label.lower() else f" {first.why}"
        return f"{self.label}{taken}{place}.{why}{money}"


def grouped(points: Iterable[OpenPoint], *, together: bool = True) -> tuple[PointGroup, ...]:
    """Put points of one group together, open and confirmed ones apart, the groups with most money first."""
    groups: dict[tuple[str, object], list[OpenPoint]] = {}
    for point in points:
        name = point.group if together else point.key
        groups.setdefault((name, point.confirmed if point.confirmed else None), []).append(point)
    made = [
        PointGroup(key=members[0].key if len(members) == 1 else group_key(name), points=tuple(members))
        for (name, _), members in groups.items()
    ]
    return tuple(sorted(made, key=lambda g: (not g.points[0].is_open, not is_unpriced(g.points[0]), -g.money)))


def group_key(group: str) -> str:
    """Return a short key of a group, which stays the same as long as the group's words do."""
    return f"group-{hashlib.sha256(group.encode()).hexdigest()[:6]}"


def is_unpriced(point: OpenPoint) -> bool:
    """Tell whether something is missing from the figures at a price that nobody knows."""
    return point.stake is None and not can_confirm(point)


def can_confirm(point: OpenPoint) -> bool:
    """Tell whether a point can be taken as it is: not where a value is missing or a wall is not in the figures."""
    return point.kind != "unmeasured" and not (point.kind in ("height", "system") and not point.taken)
