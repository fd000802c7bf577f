"""What a revision does to a job in quantities, materials and money."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from takeoff.actions.points.finding import sentence
from takeoff.actions.quantities import (
    Priced,
    make_estimate,
    refuse_other_currency,
)
from takeoff.actions.revising import Revision
from takeoff.actions.revision_prices import JobPrices
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.totals import summarise
from takeoff.model.costs import Estimate
from takeoff.model.figures import Measurement
from takeoff.model.plan import Point
from takeoff.model.systems import Catalogue
from takeoff.report.change_order import ChangePicture, write_change_order_pdf
from takeoff.revise.carry import CarriedRun
from takeoff.revise.delta import Delta, Pair, make_delta
from takeoff.sheet.frame import displayed_size, sheet_to_displayed
from takeoff.sheet.render import single_page_pdf

SAME = 1e-3
"""Metres within which lengths and stations of a carried run count as unchanged."""


def revision_delta(
    before: Job, after: Job, revision: Revision | None = None, *, catalogue: Catalogue | None = None
) -> Delta:
    """Compare a job before and after a revision in quantities, materials and money.

    Parameters
    ----------
    before, after
        The job as it was and as it is.
    revision
        The revision between them, for what changed in words.
    catalogue
        What to price with; each job's own where ``None``.

    Raises
    ------
    CalibrationError, GeometryError, CatalogueError
        As `make_estimate`.
    """
    old, new = make_estimate(before, catalogue=catalogue), make_estimate(after, catalogue=catalogue)
    changed = [id for id in dict.fromkeys((*before.runs, *after.runs)) if _differs(before, after, id)]
    steps = {}
    prices = JobPrices(catalogue)
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


def _figures(job: Job, priced: Priced) -> tuple[Measurement, Measurement, Estimate]:
    faces = priced.measured.faces
    rule = priced.measured.measurement.rule
    by_run = summarise(faces, by="run", rooms=job.rooms, rule=rule)
    return priced.measured.measurement, by_run, priced.estimate


def write_change_order(
    store: JobStore, revision: Revision, delta: Delta, path: Path, *, taken: Sequence[str], at: str
) -> Path:
    """Write a revision as a page of figures and a picture of what changed.

    Parameters
    ----------
    store
        The open job, after the revision was accepted.
    revision, delta
        What was compared, and what it comes to.
    path
        The PDF to write.
    taken
        Ids of the runs that were accepted.
    at
        The time, ISO 8601; its date goes on the page.

    Raises
    ------
    ReportError
        When it cannot be written, or when its prices would be in another currency than the job.
    """
    refuse_other_currency(store.job, delta.currency)
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
        date=at[:10],
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
