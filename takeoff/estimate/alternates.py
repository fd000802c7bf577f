"""Alternates side by side, and the price with material counted as it is used, of one state of a job after another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from takeoff.errors import InputError
from takeoff.estimate.bill import price_lines
from takeoff.estimate.labour import labour_lines
from takeoff.estimate.price import taken_by
from takeoff.model.costs import Estimate, LabourLine, MaterialNeed
from takeoff.model.cut_lists import MatLayout
from takeoff.model.figures import Elevation, Lot
from takeoff.model.systems import Catalogue, Product, Rates, Step
from takeoff.system.buildup import build_up
from takeoff.system.catalogue_check import check_rates
from takeoff.system.mat import hang_lot
from takeoff.system.packs import buy
from takeoff.system.words import UNSAID, Words
from takeoff.units.money import add

RowKind = Literal["total", "material", "labour", "price"]


@dataclass(frozen=True, slots=True, kw_only=True)
class AlternateRow:
    """One figure of every alternate, in their order; None where it has no such line.

    ``unit`` is the currency, ``h``, ``days``, ``m2`` or the product's unit with its ``amount`` rows.
    """

    kind: RowKind
    id: str
    label: str
    unit: str
    values: tuple[float | None, ...]

    @property
    def differs(self) -> bool:
        """True where the alternates are not all the same."""
        return any(value != self.values[0] for value in self.values)

    @property
    def differences(self) -> tuple[float, ...]:
        """Each value less the first one's; a missing line counts nothing."""
        first = self.values[0] or 0.0
        return tuple(round((value or 0.0) - first, 6) for value in self.values)


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Alternates side by side; the first is what the others are compared with."""

    currency: str
    names: tuple[str, ...]
    rows: tuple[AlternateRow, ...]
    notes: tuple[str, ...]

    def row(self, kind: RowKind, id: str) -> AlternateRow:
        """Return the row of this kind and id."""
        return next(row for row in self.rows if (row.kind, row.id) == (kind, id))

    @property
    def what_differs(self) -> tuple[AlternateRow, ...]:
        """The rows that are not all the same."""
        return tuple(row for row in self.rows if row.differs)


def compare(alternates: Sequence[tuple[str, Estimate]]) -> Comparison:
    """Put named alternates side by side: totals, price lines, materials by product, labour by step.

    Raises `InputError` when there are fewer than two, two have one name, or they are priced in different currencies.
    """
    names = tuple(name for name, _ in alternates)
    estimates = [estimate for _, estimate in alternates]
    if len(alternates) < 2 or len(set(names)) < len(names):
        raise InputError(f"{len(set(names))} alternates by name", remedy="Give two or more, each its own name.")
    currencies = sorted({estimate.currency for estimate in estimates})
    if len(currencies) > 1:
        raise InputError(f"alternates are priced in {' and '.join(currencies)}", remedy="Price them in one currency.")
    currency = currencies[0]
    rows = [
        AlternateRow(kind="total", id=id, label=label, unit=unit, values=tuple(getattr(e, id) for e in estimates))
        for id, label, unit in (
            ("net_area", "Net area", "m2"),
            ("hours", "Man-hours", "h"),
            ("crew_days", "Crew days", "days"),
            ("price_per_area", "Price per m²", currency),
        )
    ]
    taken: dict[RowKind, list[list[tuple[str, str, float]]]] = {
        "price": [[(line.id, line.label, line.amount) for line in e.price] for e in estimates],
        "material": [[(line.product, line.name, line.cost) for line in e.materials] for e in estimates],
        "labour": [[(line.step, line.name, line.cost) for line in e.labour] for e in estimates],
    }
    for kind, lines in taken.items():
        rows += _money_rows(kind, lines, currency)
    return Comparison(currency=currency, names=names, rows=tuple(rows), notes=_notes(names, estimates))


def _money_rows(kind: RowKind, lines: Sequence[Sequence[tuple[str, str, float]]], currency: str) -> list[AlternateRow]:
    """Gather lines by id and label, in the order in which they first come; lines with the same add up."""
    keys = dict.fromkeys((id, label) for own in lines for id, label, _ in own)
    rows = []
    for id, label in keys:
        found = [[amount for i, name, amount in own if (i, name) == (id, label)] for own in lines]
        values = tuple(add(amounts) if amounts else None for amounts in found)
        rows.append(AlternateRow(kind=kind, id=id, label=label, unit=currency, values=values))
    return rows


def _notes(names: Sequence[str], estimates: Sequence[Estimate]) -> tuple[str, ...]:
    """Say what makes the alternates unlike in scope: areas that differ, products that only one takes."""
    notes = []
    if len({round(estimate.net_area, 3) for estimate in estimates}) > 1:
        notes.append("The alternates do not cover the same net area.")
    for name, estimate in zip(names, estimates, strict=True):
        others = {line.product for other in estimates if other is not estimate for line in other.materials}
        only = [line.name for line in estimate.materials if line.product not in others]
        if only:
            notes.append(f'Only "{name}" takes: {"; ".join(only)}.')
        if estimate.doubts:
            notes.append(f'Open in "{name}": {" ".join(estimate.doubts)}')
    return tuple(notes)


HUNG_BY = ("basis", "loss", "lap", "trim_top", "trim_base", "wraps_corners", "direction", "at_openings")
"""What of a step decides how its mat hangs."""
_Work = tuple[Lot, Sequence[MaterialNeed], Sequence[LabourLine]]


class AsUsedPrices:
    """Prices with material as it is used; ``worked_out`` counts the lots that were worked out for them."""

    def __init__(self) -> None:
        self.worked_out = 0
        self._terms: tuple[Catalogue, Rates] | None = None
        self._kept: dict[tuple[object, ...], _Work] = {}
        self._mats: dict[tuple[object, ...], tuple[list[tuple[object, ...]], tuple[MatLayout, ...]]] = {}

    def price(self, lots: Sequence[Lot], catalogue: Catalogue, rates: Rates) -> float:
        """Price a state by the lines of `takeoff.estimate.price`, material at the lowest price per unit."""
        if self._terms != (catalogue, rates):
            check_rates(rates)
            self._terms, self._kept = (catalogue, rates), {}
        rooms = {lot.room for lot in lots}
        self._mats = {way: mat for way, mat in self._mats.items() if way[0] in rooms}
        works = [self._work(lot, catalogue, rates) for lot in lots]
        self._kept = {_key(lot): work for lot, work in zip(lots, works, strict=True)}
        materials = buy([need for _, needs, _ in works for need in needs], catalogue, as_used=True, words=UNSAID)
        labour = [line for _, _, lines in works for line in lines]
        taken = taken_by(lots, catalogue, rates, materials, labour, kind="as used")
        lines = price_lines(taken, rates, currency=catalogue.currency, words=UNSAID)
        return lines[-1].amount

    def _work(self, lot: Lot, catalogue: Catalogue, rates: Rates) -> _Work:
        kept = self._kept.get(_key(lot))
        if kept is not None and kept[0] == lot:
            return kept
        self.worked_out += 1
        needs = build_up((lot,), catalogue, substrate=rates.substrate, words=UNSAID, hang=self._hang)
        return lot, needs, labour_lines((lot,), catalogue, rates, words=UNSAID)

    def _hang(self, lot: Lot, step: Step, product: Product, words: Words) -> tuple[MatLayout, ...]:
        """Hang a mat on a room's faces once for all systems that hang it alike."""
        way = (lot.room, product, *(getattr(step, name) for name in HUNG_BY))
        faces = [_shape(face) for face in lot.faces]
        if way not in self._mats or self._mats[way][0] != faces:
            self._mats[way] = faces, hang_lot(lot, step, product, words)
        return self._mats[way][1]


def _shape(elevation: Elevation) -> tuple[object, ...]:
    """What mat is hung on: a face without its system."""
    return elevation.key, elevation.wall, elevation.net, elevation.corners, elevation.openings, elevation.returns


def _key(lot: Lot) -> tuple[object, ...]:
    return lot.room, lot.system, lot.substrate, lot.colour
