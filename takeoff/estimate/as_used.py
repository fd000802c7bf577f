"""The price with material counted as it is used, of one state of a job after another.

Lots share no material and no hours before packs are made whole, so what a lot takes is worked out again only where it
is another than in the state before.
"""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.estimate.bill import price_lines
from takeoff.estimate.labour import labour_lines
from takeoff.estimate.price import taken_by
from takeoff.model.costs import LabourLine, MaterialNeed
from takeoff.model.cutting import MatLayout
from takeoff.model.figures import Elevation, Lot
from takeoff.model.systems import Catalogue, Product, Rates, Step
from takeoff.system.buildup import build_up
from takeoff.system.check import check_rates
from takeoff.system.mat import hang_lot
from takeoff.system.packs import buy
from takeoff.system.words import UNSAID, Words

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
