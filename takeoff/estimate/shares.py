"""The price shared out to rooms and to systems, so that the shares add up to it exactly."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from takeoff.estimate.money import add, share_out
from takeoff.model.costs import LabourLine, MaterialLine, MaterialNeed, RoomPrice


def share_by_room(
    price: float,
    areas: Mapping[tuple[str, str], float],
    materials: Sequence[MaterialLine],
    labour: Sequence[LabourLine],
    *,
    names: Mapping[str, str],
) -> tuple[RoomPrice, ...]:
    """Share the price to the rooms in ``names`` (id to name); ``areas`` are net m² by room and system.

    A product's cost goes to rooms by what they need of it, labour where it falls, and the price in proportion to both;
    where no room has a cost, by net area.
    """
    return _shares(
        price,
        names,
        areas=[(room, area) for (room, _), area in areas.items()],
        material=[(need.room, part) for line in materials for need, part in _parts(line)],
        labour=[(line.room, line.cost) for line in labour],
    )


def share_by_system(
    price: float,
    areas: Mapping[tuple[str, str], float],
    materials: Sequence[MaterialLine],
    labour: Sequence[LabourLine],
    *,
    names: Mapping[str, str],
) -> tuple[RoomPrice, ...]:
    """Share the price to the systems in ``names`` (id to name) by the same rule as to rooms."""
    return _shares(
        price,
        names,
        areas=[(system, area) for (_, system), area in areas.items()],
        material=[(need.system, part) for line in materials for need, part in _parts(line)],
        labour=[(line.system, line.cost) for line in labour],
    )


def _shares(
    price: float,
    labels: Mapping[str, str],
    *,
    areas: Sequence[tuple[str, float]],
    material: Sequence[tuple[str, float]],
    labour: Sequence[tuple[str, float]],
) -> tuple[RoomPrice, ...]:
    area = {id: math.fsum(parts) for id, parts in _by_id(labels, areas).items()}
    materials = {id: add(parts) for id, parts in _by_id(labels, material).items()}
    labours = {id: add(parts) for id, parts in _by_id(labels, labour).items()}
    direct = [add((materials[id], labours[id])) for id in labels]
    prices = share_out(price, direct if any(direct) else list(area.values()))
    return tuple(
        RoomPrice(id=id, label=label, area=area[id], material=materials[id], labour=labours[id], price=part)
        for (id, label), part in zip(labels.items(), prices, strict=True)
    )


def _by_id(labels: Iterable[str], parts: Iterable[tuple[str, float]]) -> dict[str, list[float]]:
    """Group what falls to each id; what falls to another is left out."""
    groups: dict[str, list[float]] = {id: [] for id in labels}
    for id, part in parts:
        if id in groups:
            groups[id].append(part)
    return groups


def _parts(line: MaterialLine) -> list[tuple[MaterialNeed, float]]:
    """Split a line's cost over the needs that it covers."""
    return list(zip(line.needs, share_out(line.cost, [need.needed for need in line.needs]), strict=True))
