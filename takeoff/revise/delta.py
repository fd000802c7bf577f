"""What a revision does to quantities, materials and money: by room and by change, added and deducted apart."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from takeoff.model.costs import Estimate
from takeoff.model.figures import Measurement, Quantities
from takeoff.units.money import add, places_of, share_out

FIGURES: tuple[str, ...] = (
    "gross_area",
    "deducted_area",
    "net_area",
    "return_area",
    "base_length",
    "termination_length",
    "inside_corner_length",
    "outside_corner_length",
    "cove_length",
)
"""Quantities that a delta lists, m² and m."""

LEAST = 1e-4
"""m² and m within which a figure is the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """A figure before and after."""

    before: float
    after: float

    @property
    def change(self) -> float:
        """After less before."""
        return self.after - self.before

    @property
    def is_same(self) -> bool:
        """True where a quantity is the same before and after."""
        return abs(self.change) <= LEAST


@dataclass(frozen=True, slots=True, kw_only=True)
class DeltaItem:
    """One room or one run: its figures before and after by name, and what it changes the price by.

    ``words`` say what changed, ``room`` is the label of a run's room. The price counts material as it is used; a
    room's is the sum of its runs'.
    """

    id: str
    label: str
    figures: Mapping[str, Pair]
    price_change: float
    room: str = ""
    words: tuple[str, ...] = ()

    @property
    def adds(self) -> bool:
        """True where there is more to coat, or as much at a higher price."""
        change = self.figures["net_area"].change
        return change > LEAST or (abs(change) <= LEAST and self.price_change > 0.0)

    @property
    def is_changed(self) -> bool:
        """True where a figure or the price differs."""
        return self.price_change != 0.0 or not all(p.is_same for p in self.figures.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialDelta:
    """One product: what is bought before and after in its unit, and what that costs."""

    product: str
    name: str
    unit: str
    bought: Pair
    cost: Pair


@dataclass(frozen=True, slots=True, kw_only=True)
class Delta:
    """A revision in figures. Areas m², lengths m, money in ``currency``, time in hours.

    ``rooms`` and ``runs`` are those that changed, runs in the order of their rooms. ``used`` is the price with material
    counted as it is used, at the lowest price per unit. To the cent: the runs of a room sum to the room, and the rooms,
    `whole_packs` and `other` to the change of the price.
    """

    currency: str
    total: Mapping[str, Pair]
    price: Pair
    used: Pair
    hours: Pair
    rooms: tuple[DeltaItem, ...]
    runs: tuple[DeltaItem, ...]
    materials: tuple[MaterialDelta, ...]

    def added(self, figure: str) -> float:
        """What the runs that add to the area change a quantity by."""
        return sum(r.figures[figure].change for r in self.runs if r.adds)

    def deducted(self, figure: str) -> float:
        """What the other runs take from a quantity, positive for less."""
        return sum(-r.figures[figure].change for r in self.runs if not r.adds)

    @property
    def money_added(self) -> float:
        """What the runs that add to the area change the price by: the money beside ``added``."""
        return add(r.price_change for r in self.runs if r.adds)

    @property
    def money_deducted(self) -> float:
        """What the other runs take from the price, positive for less: the money beside ``deducted``."""
        return add(-r.price_change for r in self.runs if not r.adds)

    @property
    def left_over(self) -> Pair:
        """What is paid for material that whole packs leave over, in the price."""
        return Pair(before=add((self.price.before, -self.used.before)), after=add((self.price.after, -self.used.after)))

    @property
    def whole_packs(self) -> float:
        """What the price changes by because packs are whole: `left_over` after less before."""
        return add((self.price.change, -self.used.change))

    @property
    def other(self) -> float:
        """What the price changes by through rooms, settings and rates, where those changed too."""
        return add((self.used.change, -self.money_added, self.money_deducted))


def figures_of(before: Quantities | None, after: Quantities | None) -> dict[str, Pair]:
    """Pair the quantities of one item; one that is missing counts as nothing."""
    none = Quantities()
    return {f: Pair(before=getattr(before or none, f), after=getattr(after or none, f)) for f in FIGURES}


def make_delta(
    before: tuple[Measurement, Measurement, Estimate],
    after: tuple[Measurement, Measurement, Estimate],
    *,
    words: Mapping[str, Sequence[str]],
    steps: Mapping[str, float],
    used: Pair,
) -> Delta:
    """Compare a job before and after a revision.

    Parameters
    ----------
    before, after
        Measurement by room, measurement by run, and estimate.
    steps
        What each changed run adds to the price with material as used, by run id, one taken after the other.
    """
    rooms_before, runs_before, old = before
    rooms_after, runs_after, new = after
    rooms = _paired(rooms_before, rooms_after)
    runs = _paired(runs_before, runs_after)
    room_of = {run: room for m in (rooms_before, rooms_after) for room in m.items for run in room.sources}
    order = list(rooms)

    def place(run: str) -> int:
        return order.index(room_of[run].id) if run in room_of else len(order)

    by_room = [
        DeltaItem(
            id=id,
            label=label,
            figures=figures,
            price_change=add(change for run, change in steps.items() if run in room_of and room_of[run].id == id),
        )
        for id, (label, figures) in rooms.items()
    ]
    by_run = [
        DeltaItem(
            id=id, label=label, figures=figures, price_change=add((steps.get(id, 0.0),)),
            room=room_of[id].label if id in room_of else "", words=tuple(words.get(id, ())),
        )
        for id, (label, figures) in sorted(runs.items(), key=lambda item: place(item[0]))
    ]  # fmt: skip
    return Delta(
        currency=new.currency,
        total=figures_of(rooms_before.total.quantities, rooms_after.total.quantities),
        price=Pair(before=old.line("price").amount, after=new.line("price").amount),
        used=used,
        hours=Pair(before=old.hours, after=new.hours),
        rooms=tuple(r for r in by_room if r.is_changed),
        runs=tuple(r for r in by_run if r.is_changed or r.words),
        materials=_materials(old, new),
    )


def _paired(before: Measurement, after: Measurement) -> dict[str, tuple[str, dict[str, Pair]]]:
    old, new = {i.id: i for i in before.items}, {i.id: i for i in after.items}
    out = {}
    for id in dict.fromkeys((*old, *new)):
        one, two = old.get(id), new.get(id)
        label = (two or one or before.total).label
        out[id] = (label, figures_of(one.quantities if one else None, two.quantities if two else None))
    return out


def _materials(old: Estimate, new: Estimate) -> tuple[MaterialDelta, ...]:
    before, after = ({(m.product, m.colour): m for m in e.materials} for e in (old, new))
    out = []
    for key in dict.fromkeys((*before, *after)):
        a, b = before.get(key), after.get(key)
        line = b or a
        assert line is not None
        bought = Pair(before=a.bought if a else 0.0, after=b.bought if b else 0.0)
        cost = Pair(before=a.cost if a else 0.0, after=b.cost if b else 0.0)
        if abs(bought.change) > 1e-9 or abs(cost.change) > 0.005:
            out.append(MaterialDelta(product=key[0], name=line.name, unit=line.unit, bought=bought, cost=cost))
    return tuple(out)


def amounts_by_cost(
    changes: Sequence[float], total: float, *, areas: Sequence[float], currency: str
) -> tuple[float, ...]:
    """Spread over the rooms what their own changes leave of the whole change, each in proportion to its own.

    Parameters
    ----------
    changes
        Each room's own change of the price, in whole smallest units of the currency.
    total
        The change of the whole price, likewise.
    areas
        Each room's change of area in m², which the rest is spread by where no room changes the price by itself.

    Examples
    --------
    >>> amounts_by_cost([30.0, -10.0], 24.0, areas=[1.0, -1.0], currency="USD")
    (33.0, -9.0)
    """
    rest = add((total, *(-change for change in changes)))
    parts = share_out(abs(rest), [abs(weight) for weight in (changes if any(changes) else areas)], currency)
    return tuple(add((own, math.copysign(part, rest))) for own, part in zip(changes, parts, strict=True))


def amounts_by_unit_price(
    before: Sequence[str], after: Sequence[str], unit_price: str, currency: str
) -> tuple[float, ...]:
    """Price each room's change of area; figures come as they are printed, so that a reader finds the same amounts.

    Examples
    --------
    >>> amounts_by_unit_price(["100.0", "50.0"], ["112.5", "49.0"], "12.25", "USD")
    (153.13, -12.25)
    """
    smallest = Decimal(1).scaleb(-places_of(currency))
    return tuple(
        float(((Decimal(b) - Decimal(a)) * Decimal(unit_price)).quantize(smallest, ROUND_HALF_UP))
        for a, b in zip(before, after, strict=True)
    )
