"""What the proposals of a revision come to before they are taken: each alone, and any of them together."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from takeoff.actions.quantities import catalogue_of, lots_of, measure_ready
from takeoff.actions.revising import Revision, revision_edit
from takeoff.errors import TakeoffError
from takeoff.estimate.as_used import AsUsedPrices
from takeoff.job.changes import apply_change
from takeoff.job.job import Job
from takeoff.measure.kept import Kept
from takeoff.model.systems import Catalogue
from takeoff.revise.carry import CarriedRun
from takeoff.revise.delta import Pair
from takeoff.units import format_money, signed

CENT = 0.005
"""Least amount of money that is shown."""
LOOK, CHANGED, STAYS = range(3)
"""In what order proposals come: to be looked at, changed, as it was."""


class JobPrices:
    """Prices of one state of a job after another, material as used; what stays is not measured or worked out again."""

    def __init__(self, catalogue: Catalogue | None = None) -> None:
        self._catalogue = catalogue
        self._kept = Kept()
        self._prices = AsUsedPrices()

    def of(self, job: Job) -> float:
        """The price of a state."""
        return self.with_areas(job)[0]

    def with_areas(self, job: Job) -> tuple[float, dict[str, float]]:
        """The price of a state, and the net area of each run in m²."""
        faces = measure_ready(job, kept=self._kept)[0].faces
        areas: dict[str, float] = {}
        for face in faces:
            areas[face.elevation.run] = areas.get(face.elevation.run, 0.0) + face.quantities.net_area
        chosen = self._catalogue or catalogue_of(job)
        return self._prices.price(lots_of(job, faces, chosen), chosen, chosen.rates), areas


def worth_of_walls(job: Job, walls: Collection[str], prices: JobPrices | None = None) -> float | None:
    """What the price of a job falls by without walls, by their ids; ``None`` where it cannot be priced."""
    prices = prices or JobPrices()
    try:
        without = {id: run for id, run in job.runs.items() if id not in walls}
        return prices.of(job) - prices.of(replace(job, runs=without))
    except TakeoffError:
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceWorth:
    """What one proposal does where it alone is taken, material as used.

    ``net_area`` in m², ``change`` of the price. ``stake`` is the size of that change or, where a wall is to be looked
    at and no other price is offered for it (``is_known`` is false), the price of the whole wall; nothing where it
    cannot be measured yet.
    """

    net_area: Pair
    change: float
    stake: float
    is_known: bool


class RevisionPrices:
    """What the proposals of a revision come to, material as used; the job stays as it is.

    ``worths`` are those of each proposal that changes something or is to be looked at, by its run's id or its new
    room's key; ``whole`` is what the price changes by where all are taken. A job that cannot be priced has no worths,
    and its changes are ``None``.
    """

    def __init__(self, job: Job, revision: Revision) -> None:
        self.revision = revision
        self.currency = catalogue_of(job).currency
        self._prices = JobPrices()
        self._groups = {r.before.id: _group(r) for r in revision.runs}
        self._groups.update({place.key: LOOK for place in revision.rooms_anew})
        self.worths: dict[str, PlaceWorth] = {}
        self.whole: float | None = None
        self._price = math.nan
        try:
            self._price, self._areas = self._prices.with_areas(job)
            self.worths = {id: self._worth(job, id) for id, group in self._groups.items() if group != STAYS}
            self.whole = self.change(job, list(self._groups))
        except TakeoffError:
            self._price, self.worths = math.nan, {}
        self._prices = JobPrices()  # what was kept is not sent from process to process

    def change(self, job: Job, taken: Sequence[str]) -> float | None:
        """What these proposals change the price of the job by that this was made of, all of them taken together.

        Raises
        ------
        TakeoffError
            When they cannot be taken into the job, or it cannot be priced with them.
        """
        if math.isnan(self._price):
            return None
        return self._prices.of(self._revised(job, taken)) - self._price if taken else 0.0

    def in_order(self, job: Job) -> list[tuple[str, float | None]]:
        """Proposals as `rank` orders them, each with what the price changes by where it and all before it are taken.

        ``job`` is the one that this was made of; ``None`` where it cannot be priced.
        """
        order = sorted(self._groups, key=self.rank)
        so_far: list[tuple[str, float | None]] = []
        for k, id in enumerate(order):
            try:
                so_far.append((id, self.change(job, order[: k + 1])))
            except TakeoffError:
                so_far.append((id, None))
        return so_far

    def sort(self, id: str) -> str:
        """What sort of proposal it is: "look", "changed" or "stays"."""
        return ("look", "changed", "stays")[self._groups[id]]

    def rank(self, id: str) -> tuple[int, float]:
        """What a proposal is put in order by: walls to look at, what changed, what stays; most at stake first."""
        return self._groups[id], -self.worths[id].stake if id in self.worths else 0.0

    def words(self, id: str) -> str:
        """Say the price's change of a proposal, or what is at stake; nothing where it stays as it is."""
        worth = self.worths.get(id)
        if worth is None:
            return ""
        if worth.is_known and (abs(worth.change) >= CENT or worth.net_area.is_same):
            return signed(format_money(worth.change, self.currency))
        return f"{format_money(worth.stake, self.currency)} at stake" if worth.stake >= CENT else "no price yet"

    def _revised(self, job: Job, taken: Sequence[str]) -> Job:
        return apply_change(job, revision_edit(job, self.revision, taken).apply(job))

    def _worth(self, job: Job, id: str) -> PlaceWorth:
        runs = {id, *(run for place in self.revision.anew((id,)) for run in place.runs)} & set(job.runs)
        price, areas = self._prices.with_areas(self._revised(job, (id,)))
        change, before = price - self._price, math.fsum(self._areas.get(run, 0.0) for run in runs)
        after = before + math.fsum(areas.values()) - math.fsum(self._areas.values())
        is_measured, stake = any(run in self._areas for run in runs), abs(change)
        is_known = stake >= CENT or (is_measured and self._groups[id] != LOOK)
        if not is_known:
            stake = abs(worth_of_walls(job, runs, self._prices) or 0.0)
        return PlaceWorth(net_area=Pair(before=before, after=after), change=change, stake=stake, is_known=is_known)


def _group(carried: CarriedRun) -> int:
    if carried.verdict == "not on this sheet" or (carried.sure and carried.verdict == "unchanged"):
        return STAYS
    return CHANGED if carried.sure else LOOK
