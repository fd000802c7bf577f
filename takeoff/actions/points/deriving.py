"""The register of open points: all that a job's figures rest on and nobody has confirmed, from one function.

Window, command, reports and JSON read this one list. See `takeoff.model.open_points` for the shape of a point.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from dataclasses import replace
from typing import Any

from takeoff.actions.points.doubled_rooms import number_points, twice_points
from takeoff.actions.points.figures import face_points, loose_points, pending_points, price_points
from takeoff.actions.points.finding import Found, Stakes, Words
from takeoff.actions.points.sheets import (
    code_points,
    finding_points,
    scale_points,
    sheet_points,
    unit_points,
)
from takeoff.actions.points.values import opening_points, outline_points, reveal_points, room_points
from takeoff.actions.quantities import (
    Measured,
    Pending,
    Priced,
    catalogue_of,
    measure_ready,
    price_measured,
)
from takeoff.errors import TakeoffError
from takeoff.job.job import Job
from takeoff.measure.totals import in_names
from takeoff.model.open_points import OpenPoint, Stake
from takeoff.model.point_register import KIND_ORDER, Register, can_confirm, is_unpriced
from takeoff.model.systems import Catalogue
from takeoff.units import in_units

FINDERS: tuple[Callable[[Job], Iterator[Found]], ...] = (
    scale_points,
    sheet_points,
    outline_points,
    room_points,
    loose_points,
    opening_points,
    reveal_points,
    finding_points,
    code_points,
    number_points,
    twice_points,
    unit_points,
)
"""What finds the open points that rest on no figure; those of figures and of the price follow."""
TEXTS = ("group", "what", "why", "settle", "assumes")
"""What a point says of itself."""
NAMES_WALLS = ("overlap", "outline", "unmeasured", "sheet")
"""Kinds of points whose sentences name walls by their ids."""
MANY = 200
"""Points from which those that are alike but for their places are worked out once."""


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
        The job as priced, where that is at hand; walls that it does not hold are told as not measured.
    ready
        What of the job can be measured, and what each other run lacks, where that is at hand.
    has_stakes
        Whether to work out the money at stake; without it the list is in order of kind.
    """
    chosen = priced.catalogue if priced is not None else catalogue or catalogue_of(job)
    found = [one for find in FINDERS for one in find(job)]
    if priced is None:
        measured, pending = ready or measure_ready(job)
        try:
            priced = price_measured(job, measured, catalogue=catalogue)
        except TakeoffError:
            priced = None
    else:
        measured = priced.measured
        is_whole = measured.calibrations.keys() >= job.runs.keys()
        pending = ready[1] if ready else () if is_whole else measure_ready(job)[1]
    found += pending_points(job, pending)
    found += face_points(job, measured.faces, measured.calibrations)
    if priced is not None:
        found += price_points(job, priced, has_stakes=has_stakes)
    stakes = Stakes(job, chosen) if has_stakes else None
    average = _average(priced)
    alike: dict[Hashable, Stake | None] | None = {} if len(found) > MANY else None
    words = Words(job)
    points = [_settled(job, _placed(words, _staked(one, stakes, average, alike))) for one in found]
    points.sort(key=_rank)
    price = priced.estimate.line("price").amount if priced is not None and priced.estimate.materials else 0.0
    return Register(points=tuple(points), price=price, currency=chosen.currency)


def _rank(point: OpenPoint) -> tuple[object, ...]:
    """Put first what is missing from the figures, at a price that nobody knows; then by money, then by kind."""
    money = point.stake.money if point.stake is not None else 0.0
    return not point.is_open, not is_unpriced(point), -money, KIND_ORDER.index(point.kind)


def _average(priced: Priced | None) -> Stake:
    """What a metre of wall comes to on average: price and area of it."""
    total = priced.measured.measurement.total.quantities if priced is not None else None
    if priced is None or total is None or total.length <= 0.0:
        return Stake(money=0.0, area=0.0, length=1.0)
    price = priced.estimate.line("price").amount
    return Stake(money=price / total.length, area=total.net_area / total.length, length=1.0)


def _staked(
    found: Found, stakes: Stakes | None, average: Stake, alike: dict[Hashable, Stake | None] | None
) -> OpenPoint:
    """Add what is at stake; ``alike`` keeps that of points which are like others, where there are many."""
    stake = found.stake
    if alike is not None and found.like is not None and found.like in alike:
        stake = alike[found.like]
    elif stakes is not None and found.variants:
        stake = stakes.between(found.variants) or stake
        if alike is not None and found.like is not None:
            alike[found.like] = stake
    if stake is None and found.wall_length > 0.0:
        by = found.wall_length
        stake = Stake(money=average.money * by, area=average.area * by, length=by)
    if stake is not None and not stake.money and not can_confirm(found.point):
        stake = None
    return replace(found.point, stake=stake)


def _placed(words: Words, point: OpenPoint) -> OpenPoint:
    """Say in names what has ids, and in the job's units what readers say in metric ones; key and state stay."""
    job, where = words.job, point.where
    said: dict[str, Any] = {name: in_units(getattr(point, name), words.show) for name in TEXTS}
    if point.kind in NAMES_WALLS:
        said = {name: in_names(text, words.walls) for name, text in said.items()}
    on = words.sheet(where.sheet) if where.sheet in job.sheets else ""
    inside = words.room(where.room) if where.room in job.rooms else ""
    named = words.walls.get(where.run or "", "")
    return replace(point, where=replace(where, on=on, inside=inside, named=named), **said)


def _settled(job: Job, point: OpenPoint) -> OpenPoint:
    """Mark a point that was confirmed as it stands now."""
    known = job.settled.get(point.key)
    if known is None or known.state != point.state or point.confirmed is not None:
        return point
    return replace(point, confirmed=known.confirmed)
