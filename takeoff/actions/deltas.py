"""What a revision does to a job in quantities, materials and money: in all, and wall by wall."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from takeoff.actions import quantities
from takeoff.actions.points.finding import sentence
from takeoff.actions.revising import Revision, revision_edit
from takeoff.errors import TakeoffError
from takeoff.estimate.alternates import AsUsedPrices
from takeoff.job.changes import apply_change
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.kept import Kept
from takeoff.measure.totals import summarise
from takeoff.model.costs import Estimate
from takeoff.model.figures import Measurement
from takeoff.model.plan import Point
from takeoff.model.site import day_of
from takeoff.model.systems import Catalogue
from takeoff.report.change_order import ChangePicture, write_change_order_pdf
from takeoff.revise.carry import CarriedRun
from takeoff.revise.delta import Delta, Pair, make_delta
from takeoff.sheet.frame import displayed_size, sheet_to_displayed
from takeoff.sheet.render import single_page_pdf
from takeoff.units import format_money, signed

SAME = 1e-3
"""Metres within which lengths and stations of a carried run count as unchanged."""


def revision_delta(before: Job, after: Job, revision: Revision | None = None) -> Delta:
    """Compare a job before and after a revision in quantities, materials and money.

    ``revision``: the revision between them, for what changed in words.
    """
    old, new = quantities.make_estimate(before), quantities.make_estimate(after)
    changed = [id for id in dict.fromkeys((*before.runs, *after.runs)) if _differs(before, after, id)]
    steps = {}
    prices = JobPrices()
    used = Pair(after=prices.of(after), before=prices.of(before))
    runs, price = dict(before.runs), used.before
    for id in changed:
        if id in after.runs:
            runs[id] = after.runs[id]
        else:
            runs.pop(id)
        so_far = replace(
            before, runs=dict(runs), sheets=after.sheets, regions=after.regions, calibrations=after.calibrations,
            rooms={**after.rooms, **before.rooms},
        )  # fmt: skip
        next_price = prices.of(so_far)
        steps[id], price = next_price - price, next_price
    words: Mapping[str, Sequence[str]] = {}
    if revision is not None:
        words = {r.before.id: (r.verdict, *r.notes) for r in revision.runs if r.verdict != "unchanged"}
    return make_delta(_figures(before, old), _figures(after, new), words=words, steps=steps, used=used)


def _differs(before: Job, after: Job, id: str) -> bool:
    """Tell whether a run was changed by more than being carried to another sheet."""
    a, b = before.runs.get(id), after.runs.get(id)
    if a is None or b is None:
        return True
    if a == b:
        return False
    if replace(a, sheet=b.sheet, points_pt=b.points_pt, openings=b.openings) != b or len(a.openings) != len(b.openings):
        return True
    scales = before.scale_for(a), after.scale_for(b)
    if scales[0] is None or scales[1] is None:
        return True
    first, second = [scales[0].to_metres(p) for p in a.points_pt], [scales[1].to_metres(p) for p in b.points_pt]
    if len(first) != len(second):
        return True
    sides = [
        abs(math.dist(first[i], first[i - 1]) - math.dist(second[i], second[i - 1])) for i in range(len(first))
    ]  # fmt: skip
    moved = [abs(p.at - q.at) for p, q in zip(a.openings, b.openings, strict=True)]
    alike = [replace(p, at=q.at) == q for p, q in zip(a.openings, b.openings, strict=True)]
    return max(sides) > SAME or max(moved, default=0.0) > SAME or not all(alike)


def _figures(job: Job, priced: quantities.Priced) -> tuple[Measurement, Measurement, Estimate]:
    faces = priced.measured.faces
    rule = priced.measured.measurement.rule
    by_run = summarise(faces, by="run", rooms=job.rooms, rule=rule)
    return priced.measured.measurement, by_run, priced.estimate


def write_change_order(
    store: JobStore, revision: Revision, delta: Delta, path: Path, *, taken: Sequence[str], at: str
) -> Path:
    """Write a revision as a page of figures and a picture of what changed.

    Raises `ReportError` when it cannot be written, or when its prices would be in another currency than the job.

    Parameters
    ----------
    store
        The open job, after the revision was accepted.
    taken
        Ids of the runs that were accepted.
    """
    quantities.refuse_other_currency(store.job, delta.currency)
    settings, sheet, r = store.job.settings, revision.sheet, revision.registration

    def shown(x: float, y: float) -> Point:
        return sheet_to_displayed(sheet, x, y)

    show = settings.display
    on_plan = [c for c in revision.changes if c.on_plan]
    removed, added = revision.lines_of_building()
    picture = ChangePicture(
        page_pdf=single_page_pdf(revision.data, sheet),
        size_pt=displayed_size(sheet),
        removed=tuple((shown(a, b), shown(c, d)) for a, b, c, d in removed.tolist()),
        added=tuple((shown(a, b), shown(c, d)) for a, b, c, d in added.tolist()),
        boxes=tuple((shown(*c.box_pt[:2]), shown(*c.box_pt[2:])) for c in on_plan),
    )
    number = revision.old.number or f"sheet {revision.old.id}"
    issues = [" ".join(t for t in (s.revision, s.date) if t) or "no mark" for s in (revision.old, sheet)]
    return write_change_order_pdf(
        path,
        delta,
        show,
        picture,
        job=settings.name,
        title=f"Change of {number}: {issues[0]} to {issues[1]}",
        date=str(day_of(at)),
        registration=f"The new revision was laid on the old one by {r.pairs} pairs of {r.method}; points are "
        f"carried to {2000 * r.u:.1f} mm on the building (k = 2). {r.share:.0%} of the old drawing was found on the "
        f"new one. {' '.join(map(sentence, revision.doubts))}".strip(),
        changes=(*(c.words(show.length) for c in on_plan), *(w.words(show.length) for w in revision.new_walls)),
        taken=tuple(
            (c.before.id, _found(c) if c.sure else f"not sure, taken by hand: {_found(c)}")
            for c in revision.runs
            if c.before.id in taken
        ),
        left=tuple((c.before.id, _found(c)) for c in revision.runs if c.before.id not in taken),
    )


def _found(carried: CarriedRun) -> str:
    return "; ".join((carried.verdict, *carried.notes))


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
        faces = quantities.measure_ready(job, kept=self._kept)[0].faces
        areas: dict[str, float] = {}
        for face in faces:
            areas[face.elevation.run] = areas.get(face.elevation.run, 0.0) + face.quantities.net_area
        chosen = self._catalogue or quantities.catalogue_of(job)
        return self._prices.price(quantities.lots_of(job, faces, chosen), chosen, chosen.rates), areas


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
        self.currency = quantities.catalogue_of(job).currency
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
        """What these proposals change the price of the job by that this was made of, all of them taken together."""
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
