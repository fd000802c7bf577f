"""The register of open points: all that a job's figures rest on and nobody has confirmed, from one function.

Window, command, reports and JSON read this one list. See `takeoff.model.open_points` for the shape of a point.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from takeoff.actions.editing import Pending, measure_ready
from takeoff.actions.points.figures import face_points, loose_points, pending_points, price_points
from takeoff.actions.points.finding import Found
from takeoff.actions.points.sheets import finding_points, scale_points, sheet_points
from takeoff.actions.points.stakes import Stakes
from takeoff.actions.points.values import opening_points, outline_points, room_points
from takeoff.actions.quantities import Measured, Priced, catalogue_of, price_measured
from takeoff.errors import TakeoffError
from takeoff.job.job import Job
from takeoff.model.open_points import OpenPoint, PointKind, Stake
from takeoff.model.systems import Catalogue

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
        return f"{said}; {'it moves' if count == 1 else 'they move'} the price by up to {share_words(self.share)}."


def share_words(share: float) -> str:
    """Write a share of the price.

    Examples
    --------
    >>> share_words(0.0), share_words(0.0004), share_words(0.034), share_words(1.7)
    ('0 %', 'less than 0.1 %', '3.4 %', 'more than all of it')
    """
    if share <= 0.0:
        return "0 %"
    if share < 0.001:
        return "less than 0.1 %"
    return "more than all of it" if share > 1.0 else f"{share * 100:.1f} %"


def open_points(
    job: Job,
    *,
    priced: Priced | None = None,
    ready: tuple[Measured, tuple[Pending, ...]] | None = None,
    catalogue: Catalogue | None = None,
    has_stakes: bool = True,
) -> Register:
    """Derive every open point of a job.

    Parameters
    ----------
    job
        The job; it need not be complete.
    priced
        The job as priced, where that is at hand and all of it can be measured.
    ready
        What of the job can be measured, and what each other run lacks, where that is at hand.
    catalogue
        What to price with; the job's own where ``None``.
    has_stakes
        Whether to work out the money at stake; without it the list is in order of kind.
    """
    chosen = priced.catalogue if priced is not None else catalogue or catalogue_of(job)
    found = [*scale_points(job), *sheet_points(job), *outline_points(job), *room_points(job), *loose_points(job)]
    found += [*opening_points(job), *finding_points(job)]
    if priced is None:
        measured, pending = ready or measure_ready(job)
        found += pending_points(job, pending)
        try:
            priced = price_measured(job, measured, catalogue=catalogue)
        except TakeoffError:
            priced = None
    else:
        measured = priced.measured
    found += face_points(job, measured.faces, measured.calibrations)
    if priced is not None:
        found += price_points(job, priced)
    stakes = Stakes(job, chosen) if has_stakes else None
    average = _average(priced)
    points = [_settled(job, _staked(one, stakes, average)) for one in found]
    points.sort(key=lambda p: (not p.is_open, -(p.stake.money if p.stake else 0.0), KIND_ORDER.index(p.kind)))
    price = priced.estimate.line("price").amount if priced is not None and priced.estimate.materials else 0.0
    return Register(points=tuple(points), price=price, currency=chosen.currency)


def _average(priced: Priced | None) -> Stake:
    """What a metre of wall comes to on average: price and area of it."""
    total = priced.measured.measurement.total.quantities if priced is not None else None
    if priced is None or total is None or total.length <= 0.0:
        return Stake(money=0.0, area=0.0, length=1.0)
    price = priced.estimate.line("price").amount
    return Stake(money=price / total.length, area=total.net_area / total.length, length=1.0)


def _staked(found: Found, stakes: Stakes | None, average: Stake) -> OpenPoint:
    stake = found.stake
    if stakes is not None and found.variants:
        stake = stakes.between(found.variants) or stake
    if stake is None and found.wall_length > 0.0:
        by = found.wall_length
        stake = Stake(money=average.money * by, area=average.area * by, length=by)
    return replace(found.point, stake=stake)


def _settled(job: Job, point: OpenPoint) -> OpenPoint:
    """Mark a point that was confirmed as it stands now."""
    known = job.settled.get(point.key)
    if known is None or known.state != point.state or point.confirmed is not None:
        return point
    return replace(point, confirmed=known.confirmed)
