"""Alternates side by side: what each costs, and what it takes that the others do not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from takeoff.errors import InputError
from takeoff.model.costs import Estimate
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
