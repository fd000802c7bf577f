"""Totals by room, run and system, kept while measured faces come and go: the very figures of `summarise`."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from operator import attrgetter

from takeoff.measure.exact_sum import rounded, whole
from takeoff.measure.faces import MeasuredFace
from takeoff.measure.totals import By, item_label, item_order
from takeoff.measure.uncertainty import Spread
from takeoff.model.figures import QUANTITY_FIELDS, MeasuredItem, Measurement, Quantities, Uncertainty
from takeoff.model.walls import Room

_figures = attrgetter(*QUANTITY_FIELDS)
_WAYS: tuple[By, ...] = ("room", "run", "system")


def group_of(face: MeasuredFace, by: By) -> str:
    """Key of the room, run or system that a face belongs to; empty where there is none."""
    e = face.elevation
    return (e.room if by == "room" else e.run if by == "run" else e.system) or ""


class _Correlated:
    """Sum of squares of sums: what has one key adds up first, and the keys' sums then add as squares."""

    def __init__(self) -> None:
        self.squares = 0
        self._sums: dict[str, tuple[int, int, int]] = {}

    def shift(self, key: str, amount: int, count: int) -> None:
        """Add an amount to a key's sum; ``count`` is 1 for one that comes, −1 for one that goes."""
        total, members, square = self._sums.get(key, (0, 0, 0))
        self.squares -= square
        total += amount
        members += count
        if members:
            value = rounded(total)
            square = whole(value * value)
            self.squares += square
            self._sums[key] = (total, members, square)
        else:
            del self._sums[key]


class _Group:
    """Sums over one room, run, system or the whole."""

    def __init__(self) -> None:
        self.members = 0
        self.sources: tuple[str, ...] = ()
        self.doubts: tuple[str, ...] = ()
        self._sums = [0] * len(QUANTITY_FIELDS)
        self._scale_area, self._scale_base, self._heights = _Correlated(), _Correlated(), _Correlated()
        self._pick_area = self._pick_base = 0

    def shift(self, amounts: Sequence[int], spread: Spread, count: int) -> None:
        """Add what a face has (``count`` 1) or take it away (−1)."""
        if self.members:
            self._sums = [a + b for a, b in zip(self._sums, amounts, strict=True)]
        else:
            self._sums = list(amounts)
        self.members += count
        self._scale_area.shift(spread.scale_key, count * whole(spread.scale_area), count)
        self._scale_base.shift(spread.scale_key, count * whole(spread.scale_base), count)
        self._heights.shift(spread.height_key, count * whole(spread.height_area), count)
        self._pick_area += count * whole(spread.pick_area * spread.pick_area)
        self._pick_base += count * whole(spread.pick_base * spread.pick_base)

    def item(self, key: str, label: str) -> MeasuredItem:
        """Line of a measurement."""
        area = rounded(self._scale_area.squares + self._heights.squares + self._pick_area)
        base = rounded(self._scale_base.squares + self._pick_base)
        return MeasuredItem(
            id=key,
            label=label,
            quantities=Quantities(**dict(zip(QUANTITY_FIELDS, map(rounded, self._sums), strict=True))),
            u=Uncertainty(net_area=2.0 * math.sqrt(area), base_length=2.0 * math.sqrt(base)),
            sources=self.sources,
            doubts=self.doubts,
        )


class KeptTotals:
    """Totals of measured faces by room, run and system."""

    def __init__(self) -> None:
        """Start without faces."""
        self._groups: dict[By, dict[str, _Group]] = {by: {} for by in _WAYS}
        self._items: dict[By, dict[str, MeasuredItem]] = {by: {} for by in _WAYS}
        self._order: dict[By, dict[str, tuple[object, ...]]] = {by: {} for by in _WAYS}
        self._whole = _Group()

    def update(
        self,
        gone: Sequence[MeasuredFace],
        come: Sequence[MeasuredFace],
        faces: Sequence[MeasuredFace],
        *,
        rooms: Mapping[str, Room],
        rule: str,
    ) -> dict[By, Measurement]:
        """Take faces out, put faces in, and sum again where that matters.

        Parameters
        ----------
        gone, come
            Faces that are no more, and new ones, each in the order of the runs.
        faces
            All faces that there are now.
        rooms, rule
            As for `summarise`.
        """
        touched: dict[By, dict[str, _Group]] = {by: {} for by in _WAYS}
        for changed, count in ((gone, -1), (come, 1)):
            for face in changed:
                amounts = [count * whole(v) for v in _figures(face.quantities)]
                self._whole.shift(amounts, face.spread, count)
                for by, groups in self._groups.items():
                    key = group_of(face, by)
                    group = groups.setdefault(key, _Group())
                    group.shift(amounts, face.spread, count)
                    touched[by][key] = group
        if [_standing(f) for f in gone] != [_standing(f) for f in come]:
            self._list_members(faces, touched)
        total = self._whole.item("total", "Total")
        out: dict[By, Measurement] = {}
        for by, groups in touched.items():
            items, order = self._items[by], self._order[by]
            is_sorted = True
            for key, group in groups.items():
                if group.members:
                    label = item_label(key, by, rooms)
                    if key not in items or items[key].label != label:
                        is_sorted = False
                        order[key] = item_order(key, label)
                    items[key] = group.item(key, label)
                else:
                    del self._groups[by][key]
                    items.pop(key, None)
                    order.pop(key, None)
            if not is_sorted:
                self._items[by] = items = {key: items[key] for key in sorted(items, key=order.__getitem__)}
            out[by] = Measurement(by=by, rule=rule, items=tuple(items.values()), total=total)
        return out

    def _list_members(self, faces: Sequence[MeasuredFace], touched: Mapping[By, Mapping[str, _Group]]) -> None:
        """List runs and doubts of the whole and of the touched groups."""
        self._whole.sources, self._whole.doubts = _members(faces)
        for by, groups in touched.items():
            parts: dict[str, list[MeasuredFace]] = {key: [] for key in groups}
            for face in faces:
                if (key := group_of(face, by)) in parts:
                    parts[key].append(face)
            for key, part in parts.items():
                groups[key].sources, groups[key].doubts = _members(part)


def _standing(face: MeasuredFace) -> tuple[object, ...]:
    """What a group's list of runs and doubts depends on."""
    e = face.elevation
    return e.run, e.room, e.system, face.doubts


def _members(faces: Sequence[MeasuredFace]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return tuple(dict.fromkeys(f.elevation.run for f in faces)), tuple(d for f in faces for d in f.doubts)
